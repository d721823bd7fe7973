//! What is said in a recording: the plain text file beside it. Pure.
//!
//! Header lines `key: value`, a blank line, then lines of `START<TAB>END<TAB>words` in seconds, or
//! the one line `nothing`. Without times the one phrase is what the whole recording says.

use clap::ValueEnum;
use serde::Serialize;

use crate::hear::{DigitCount, numbers};
use crate::procedure::STANDARD_PHRASES;

/// Said by a file with no words for the program in it.
const NOTHING: &str = "nothing";

/// One transcript.
#[derive(Debug, Clone, PartialEq)]
pub struct Transcript {
    pub about: About,
    /// What may be said, without the grave phrases.
    pub phrases: Vec<String>,
    /// What may be said and opens a hold.
    pub grave: Vec<String>,
    /// Set where a reading is wanted.
    pub digits: Option<DigitCount>,
    pub said: Said,
}

/// How the recording came about.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct About {
    pub made: Made,
    pub kind: Kind,
    pub part: Option<Part>,
    pub voice: Option<String>,
    /// None where it is clean.
    pub noise: Option<String>,
    /// Speech above noise, in dB.
    pub ratio: Option<f32>,
    pub onset: Option<Onset>,
    pub room: Option<Room>,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Made {
    Synthetic,
    Real,
    /// The transcript does not tell.
    #[default]
    Untold,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, ValueEnum)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    #[default]
    Commands,
    Readings,
    Talk,
    People,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ValueEnum)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    Tuning,
    HeldOut,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Onset {
    Steady,
    WithSpeech,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Room {
    Dry,
    Workshop,
}

/// What the recording holds for the program to hear.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    Nothing,
    /// This, anywhere between the recording's beginning and its end.
    Whole(Words),
    Lines(Vec<Spoken>),
}

/// What is said once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    /// A phrase, or a reading's digits.
    pub text: String,
    pub is_reading: bool,
}

/// Words with their time.
#[derive(Debug, Clone, PartialEq)]
pub struct Spoken {
    /// In seconds from the recording's beginning.
    pub start: f64,
    pub end: f64,
    pub words: Words,
}

/// What is wrong with a transcript.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mistake {
    /// Counted from 1.
    pub line: usize,
    pub what: String,
    pub cure: String,
}

impl Transcript {
    /// Reads the transcript in `text`.
    ///
    /// # Errors
    /// Every mistake in it, in the order of their lines.
    pub fn read(text: &str) -> Result<Transcript, Vec<Mistake>> {
        let lines: Vec<(usize, &str)> = (1..).zip(text.trim_end().lines()).collect();
        let has_header = lines.first().is_some_and(|(_, line)| line.contains(':'));
        let header_ends = lines.iter().position(|(_, line)| line.trim().is_empty());
        let (header, body) = match (has_header, header_ends) {
            (false, _) => (&lines[..0], &lines[..]),
            (true, Some(end)) => (&lines[..end], &lines[end..]),
            (true, None) => (&lines[..], &lines[..0]),
        };
        let mut reader = Reader::default();
        for &(number, line) in header {
            reader.header(number, line.trim());
        }
        let body: Vec<(usize, &str)> = body
            .iter()
            .filter(|(_, line)| !line.trim().is_empty())
            .copied()
            .collect();
        reader.finish(&body, lines.len().max(1))
    }
}

#[derive(Default)]
struct Reader {
    about: About,
    kind_told: bool,
    phrases: Option<Vec<String>>,
    grave: Vec<String>,
    digits: Option<DigitCount>,
    mistakes: Vec<Mistake>,
}

impl Reader {
    fn mistake(&mut self, line: usize, what: impl Into<String>, cure: impl Into<String>) {
        self.mistakes.push(Mistake {
            line,
            what: what.into(),
            cure: cure.into(),
        });
    }

    fn header(&mut self, number: usize, line: &str) {
        let Some((key, value)) = line.split_once(':') else {
            return self.mistake(
                number,
                format!("`{line}` is no `key: value`"),
                "put a blank line between the header and what is said",
            );
        };
        let value = value.trim();
        let told = match key.trim() {
            "made" => one_of(&mut self.about.made, value, MADE),
            "kind" => {
                self.kind_told = true;
                one_of(&mut self.about.kind, value, KINDS)
            }
            "part" => one_of(&mut self.about.part, value, PARTS),
            "onset" => one_of(&mut self.about.onset, value, ONSETS),
            "room" => one_of(&mut self.about.room, value, ROOMS),
            "voice" => {
                self.about.voice = Some(value.to_string());
                Ok(())
            }
            "noise" => {
                self.about.noise = (value != "none").then(|| value.to_string());
                Ok(())
            }
            "ratio" => match value.parse::<f32>() {
                Ok(ratio) if ratio.is_finite() => {
                    self.about.ratio = Some(ratio);
                    Ok(())
                }
                _ => Err("a number of dB without its unit, such as `10`".to_string()),
            },
            "phrases" => phrases(value).map(|all| self.phrases = Some(all)),
            "grave" => phrases(value).map(|all| self.grave = all),
            "digits" => digit_count(value).map(|count| self.digits = Some(count)),
            other => {
                return self.mistake(
                    number,
                    format!("There is no key `{other}`"),
                    "write one of made, kind, part, voice, noise, ratio, onset, room, phrases, \
                     grave, digits",
                );
            }
        };
        if let Err(wanted) = told {
            self.mistake(
                number,
                format!("`{}` cannot be `{value}`", key.trim()),
                format!("write {wanted}"),
            );
        }
    }

    fn finish(mut self, body: &[(usize, &str)], last: usize) -> Result<Transcript, Vec<Mistake>> {
        let standard = || STANDARD_PHRASES.iter().map(|p| p.to_string()).collect();
        let mut phrases = self.phrases.take().unwrap_or_else(standard);
        phrases.retain(|phrase| !self.grave.contains(phrase));
        let said = match body {
            [] => {
                self.mistake(
                    last,
                    "What is said is missing",
                    "write `START<TAB>END<TAB>words` or `nothing` after a blank line",
                );
                Said::Nothing
            }
            [(_, line)] if line.trim() == NOTHING => Said::Nothing,
            [(number, line)] if !is_timed(line) => {
                let words = self.words(*number, line.trim(), &phrases);
                words.map_or(Said::Nothing, Said::Whole)
            }
            lines => Said::Lines(self.lines(lines, &phrases)),
        };
        if !self.kind_told {
            self.about.kind = match (&said, self.digits) {
                (Said::Nothing, _) => Kind::Talk,
                (_, Some(_)) => Kind::Readings,
                _ => Kind::Commands,
            };
        }
        if !self.mistakes.is_empty() {
            return Err(self.mistakes);
        }
        Ok(Transcript {
            about: self.about,
            phrases,
            grave: self.grave,
            digits: self.digits,
            said,
        })
    }

    fn lines(&mut self, lines: &[(usize, &str)], phrases: &[String]) -> Vec<Spoken> {
        let mut all: Vec<Spoken> = Vec::new();
        for &(number, line) in lines {
            let fields: Vec<&str> = line.split('\t').collect();
            let &[start, end, words] = fields.as_slice() else {
                self.mistake(
                    number,
                    format!("`{}` is no line of speech", line.trim()),
                    "write `START<TAB>END<TAB>words`, with tabs between them",
                );
                continue;
            };
            let (Some(start), Some(end)) = (seconds(start), seconds(end)) else {
                self.mistake(
                    number,
                    format!("`{start}` to `{end}` is no time"),
                    "write seconds from the beginning, such as `2.50`",
                );
                continue;
            };
            let before = all.last().map_or(0.0, |spoken| spoken.end);
            if end <= start {
                self.mistake(
                    number,
                    format!("It ends at {end} s, before it starts at {start} s"),
                    "write the start first, then a later end",
                );
            } else if start < before {
                self.mistake(
                    number,
                    format!(
                        "It starts at {start} s, before the line above has ended at {before} s"
                    ),
                    "write the lines in the order of their times, without an overlap",
                );
            }
            if let Some(words) = self.words(number, words.trim(), phrases) {
                all.push(Spoken { start, end, words });
            }
        }
        all
    }

    fn words(&mut self, number: usize, words: &str, phrases: &[String]) -> Option<Words> {
        if phrases
            .iter()
            .chain(&self.grave)
            .any(|known| known == words)
        {
            return Some(Words {
                text: words.to_string(),
                is_reading: false,
            });
        }
        match (numbers::digits(words), self.digits) {
            (Some(digits), Some(count)) if count.fits(&digits) => Some(Words {
                text: digits,
                is_reading: true,
            }),
            (Some(_), Some(_)) => {
                self.mistake(
                    number,
                    format!("`{words}` has not the digits that the header tells"),
                    "say so many digits, or write their count after `digits:`",
                );
                None
            }
            (Some(_), None) => {
                self.mistake(
                    number,
                    format!("`{words}` is a reading, but none is wanted"),
                    "write `digits: 3` into the header, or `digits: 1.2` for decimals",
                );
                None
            }
            (None, _) => {
                self.mistake(
                    number,
                    format!("`{words}` is not among what may be said in this recording"),
                    "correct it, list it after `phrases:` or `grave:`, or write `nothing`",
                );
                None
            }
        }
    }
}

const MADE: &[(&str, Made)] = &[("synthetic", Made::Synthetic), ("real", Made::Real)];
const KINDS: &[(&str, Kind)] = &[
    ("commands", Kind::Commands),
    ("readings", Kind::Readings),
    ("talk", Kind::Talk),
    ("people", Kind::People),
];
const PARTS: &[(&str, Option<Part>)] = &[
    ("tuning", Some(Part::Tuning)),
    ("held-out", Some(Part::HeldOut)),
];
const ONSETS: &[(&str, Option<Onset>)] = &[
    ("steady", Some(Onset::Steady)),
    ("with speech", Some(Onset::WithSpeech)),
];
const ROOMS: &[(&str, Option<Room>)] =
    &[("dry", Some(Room::Dry)), ("workshop", Some(Room::Workshop))];

impl Made {
    /// Returns its word for people.
    pub fn word(self) -> &'static str {
        MADE.iter()
            .find_map(|(word, made)| (*made == self).then_some(*word))
            .unwrap_or("untold")
    }
}

impl Kind {
    /// Returns its word for people.
    pub fn word(self) -> &'static str {
        KINDS
            .iter()
            .find_map(|(word, kind)| (*kind == self).then_some(*word))
            .unwrap_or_default()
    }
}

fn one_of<T: Copy>(place: &mut T, value: &str, known: &[(&str, T)]) -> Result<(), String> {
    match known.iter().find(|(word, _)| *word == value) {
        Some((_, found)) => {
            *place = *found;
            Ok(())
        }
        None => {
            let words: Vec<String> = known.iter().map(|(word, _)| format!("`{word}`")).collect();
            Err(words.join(" or "))
        }
    }
}

fn phrases(value: &str) -> Result<Vec<String>, String> {
    let all: Vec<String> = value.split(';').map(|p| p.trim().to_string()).collect();
    let spelled = |phrase: &String| {
        !phrase.is_empty()
            && phrase
                .chars()
                .all(|c| c.is_ascii_lowercase() || c == '\'' || c == ' ')
    };
    if all.iter().all(spelled) {
        Ok(all)
    } else {
        Err("phrases of a-z, ' and spaces with `;` between them".to_string())
    }
}

fn digit_count(value: &str) -> Result<DigitCount, String> {
    let (whole, decimals) = value.split_once('.').unwrap_or((value, "0"));
    match (whole.parse(), decimals.parse()) {
        (Ok(whole @ 1..=9), Ok(decimals @ 0..=9)) => Ok(DigitCount {
            whole,
            decimals,
            cardinals: false,
        }),
        _ => Err("the whole digits, such as `3`, or with decimals, such as `1.2`".to_string()),
    }
}

fn is_timed(line: &str) -> bool {
    line.contains('\t') || line.trim().starts_with(|c: char| c.is_ascii_digit())
}

fn seconds(text: &str) -> Option<f64> {
    text.trim()
        .parse()
        .ok()
        .filter(|seconds: &f64| seconds.is_finite() && *seconds >= 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_is_read() {
        let text = "made: synthetic\nkind: readings\npart: held-out\nvoice: flite:slt@1.0\n\
                    noise: impact wrench\nratio: 10\nonset: with speech\nroom: workshop\n\
                    phrases: say again; work complete\ngrave: wheel on ground\ndigits: 1.2\n\n\
                    0.5\t1.25\tsay again\n2\t3\twheel on ground\n4\t6\tzero point three five\n";
        let read = Transcript::read(text).unwrap();
        assert_eq!(
            read.about,
            About {
                made: Made::Synthetic,
                kind: Kind::Readings,
                part: Some(Part::HeldOut),
                voice: Some("flite:slt@1.0".into()),
                noise: Some("impact wrench".into()),
                ratio: Some(10.0),
                onset: Some(Onset::WithSpeech),
                room: Some(Room::Workshop),
            }
        );
        assert_eq!(read.phrases, ["say again", "work complete"]);
        assert_eq!(read.grave, ["wheel on ground"]);
        let Said::Lines(lines) = &read.said else {
            panic!("{:?}", read.said);
        };
        let texts: Vec<&str> = lines.iter().map(|l| l.words.text.as_str()).collect();
        assert_eq!(texts, ["say again", "wheel on ground", "0.35"]);
        assert!(lines[2].words.is_reading);
        assert_eq!((lines[0].start, lines[0].end), (0.5, 1.25));
    }

    #[test]
    fn a_bare_phrase_is_what_the_whole_recording_says() {
        let read = Transcript::read("work complete\n").unwrap();
        assert!(matches!(&read.said, Said::Whole(words) if words.text == "work complete"));
        assert_eq!(read.about.kind, Kind::Commands);
        assert_eq!(read.phrases.len(), STANDARD_PHRASES.len());
        let talk = Transcript::read("nothing").unwrap();
        assert_eq!((talk.said, talk.about.kind), (Said::Nothing, Kind::Talk));
        let headed = Transcript::read("digits: 3\n\none one zero\n").unwrap();
        assert!(matches!(&headed.said, Said::Whole(words) if words.is_reading));
    }

    #[track_caller]
    fn check_mistake(text: &str, line: usize, part: &str) {
        let mistakes = Transcript::read(text).unwrap_err();
        assert!(
            mistakes
                .iter()
                .any(|m| m.line == line && format!("{}: {}", m.what, m.cure).contains(part)),
            "{mistakes:?}"
        );
    }

    #[test]
    fn mistakes_name_their_line_and_cure() {
        check_mistake("colour: red\n\nnothing", 1, "no key `colour`");
        check_mistake("made: up\n\nnothing", 1, "`synthetic` or `real`");
        check_mistake("ratio: 10dB\n\nnothing", 1, "without its unit");
        check_mistake("digits: 0\n\nnothing", 1, "`1.2`");
        check_mistake("phrases: a; ; b\n\nnothing", 1, "`;`");
        check_mistake("made: real\nnothing", 2, "blank line");
        check_mistake("made: real\n", 1, "is missing");
        check_mistake("", 1, "is missing");
        check_mistake("1.0 2.0 say again", 1, "tabs");
        check_mistake("2\t1\tsay again", 1, "later end");
        check_mistake("1\t2\tsay again\n1.5\t3\tsay again", 2, "overlap");
        check_mistake("x\t2\tsay again", 1, "is no time");
        check_mistake("1\t2\tsey again", 1, "not among");
        check_mistake("1\t2\tone one", 1, "none is wanted");
        check_mistake("digits: 3\n\n1\t2\tone one", 3, "not the digits");
        check_mistake("nothing\nsay again", 1, "no line of speech");
    }

    #[test]
    fn all_mistakes_are_told_at_once() {
        let mistakes = Transcript::read("made: up\ncolour: red\n\n2\t1\tsey again").unwrap_err();
        assert_eq!(
            mistakes.iter().map(|m| m.line).collect::<Vec<_>>(),
            [1, 2, 4, 4]
        );
    }
}
