//! An answer on paper: for people, and as JSON.

use serde::ser::{SerializeMap, SerializeSeq};
use serde::{Serialize, Serializer};

use crate::trade::{Answer, Verdict, Worked};

/// Said last wherever a figure can hurt someone.
const MAKER_FIRST: &str = "The maker's data come first: where they differ, they hold.";

/// A worked sum, ready to be written.
#[derive(Debug)]
pub struct Reckoning {
    answer: Answer,
    formula: String,
    source: String,
    cautions: Vec<String>,
    verdict: Verdict,
}

impl Reckoning {
    /// Takes a sum that cannot hurt anybody.
    pub fn of<T: Into<Answer>>(worked: Worked<T>) -> Reckoning {
        Reckoning {
            answer: worked.result.into(),
            formula: worked.formula,
            source: worked.source.into(),
            cautions: worked.cautions,
            verdict: Verdict::Go,
        }
    }

    /// Takes a sum whose figure can hurt someone, and says that the maker's data come first.
    pub fn of_danger<T: Into<Answer>>(worked: Worked<T>) -> Reckoning {
        let mut reckoning = Reckoning::of(worked);
        reckoning.cautions.push(MAKER_FIRST.into());
        reckoning
    }

    /// Puts the working that led to this sum's figures before its own.
    pub fn after<T>(mut self, earlier: &Worked<T>) -> Reckoning {
        self.formula = format!("{}; {}", earlier.formula, self.formula);
        self.source = format!("{}; {}", earlier.source, self.source);
        let mut cautions = earlier.cautions.clone();
        cautions.append(&mut self.cautions);
        self.cautions = cautions;
        self
    }

    /// Sets what the gate says.
    pub fn judged(self, verdict: Verdict) -> Reckoning {
        Reckoning { verdict, ..self }
    }

    /// Sets the gate to refuse where the question is answered with no.
    pub fn refused_if(self, no: bool) -> Reckoning {
        if no {
            self.judged(Verdict::Refuse)
        } else {
            self
        }
    }

    /// Returns whether the answer is no.
    pub fn says_no(&self) -> bool {
        self.verdict == Verdict::Refuse
    }

    /// Returns the answer for people: the result on a line of its own, then its other parts, the worked
    /// line, the source and the cautions. `bold` makes the result stand out on a terminal.
    pub fn text(&self, bold: bool) -> String {
        let mut result = lines(&self.answer);
        // A list has no main part: all of it is the result.
        let main = match self.answer {
            Answer::List(_) => result.len(),
            _ => 1,
        };
        let parts = result.split_off(main.min(result.len()));
        let result = result.join("\n");
        let mut text = if bold {
            format!("\x1b[1m{result}\x1b[0m\n")
        } else {
            format!("{result}\n")
        };
        for part in parts {
            text.push_str(&format!("  {part}\n"));
        }
        text.push_str(&format!(
            "\nWorked:  {}\nSource:  {}\n",
            self.formula, self.source
        ));
        for caution in &self.cautions {
            text.push_str(&format!("Caution: {caution}\n"));
        }
        text
    }

    /// Returns the answer as one JSON object.
    ///
    /// # Errors
    /// None that is known; the writer's own.
    pub fn json(&self) -> serde_json::Result<String> {
        serde_json::to_string_pretty(&Written {
            result: Part(&self.answer, false),
            unit: match &self.answer {
                Answer::Figure { unit, .. } => Some(unit),
                _ => None,
            },
            formula: &self.formula,
            source: &self.source,
            cautions: &self.cautions,
        })
    }
}

/// Returns the lines of an answer, the main one first.
fn lines(answer: &Answer) -> Vec<String> {
    match answer {
        Answer::Named(parts) => parts
            .iter()
            .flat_map(|(name, part)| match part {
                Answer::Named(_) => {
                    let inner = lines(part).into_iter();
                    inner.map(|line| format!("{name}: {line}")).collect()
                }
                // Each on a line of its own, and none where there is none.
                Answer::List(list) => list.iter().map(|one| format!("{name}: {one}")).collect(),
                _ => vec![format!("{name} {part}")],
            })
            .collect(),
        Answer::List(list)
            if !list
                .iter()
                .all(|part| matches!(part, Answer::Figure { .. })) =>
        {
            let numbered = list.iter().enumerate();
            numbered
                .map(|(at, part)| format!("{}. {part}", at + 1))
                .collect()
        }
        _ => vec![answer.to_string()],
    }
}

#[derive(Serialize)]
struct Written<'a> {
    result: Part<'a>,
    unit: Option<&'a str>,
    formula: &'a str,
    source: &'a str,
    cautions: &'a [String],
}

/// A part of an answer, and whether its unit goes with it.
struct Part<'a>(&'a Answer, bool);

impl Serialize for Part<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Part(answer, with_unit) = self;
        match answer {
            Answer::Figure { value, unit } if *with_unit && !unit.is_empty() => {
                let mut map = serializer.serialize_map(Some(2))?;
                map.serialize_entry("result", value)?;
                map.serialize_entry("unit", unit)?;
                map.end()
            }
            Answer::Figure { value, .. } => serializer.serialize_f64(*value),
            Answer::Words(words) => serializer.serialize_str(words),
            Answer::Named(parts) => {
                let mut map = serializer.serialize_map(Some(parts.len()))?;
                for (name, part) in parts {
                    map.serialize_entry(name, &Part(part, true))?;
                }
                map.end()
            }
            Answer::List(list) => {
                let mut seq = serializer.serialize_seq(Some(list.len()))?;
                for part in list {
                    seq.serialize_element(&Part(part, true))?;
                }
                seq.end()
            }
        }
    }
}
