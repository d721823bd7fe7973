//! What is typed beside plain quantities: a choice of words, and several readings in one text.

use std::str::FromStr;

use clap::builder::{PossibleValuesParser, TypedValueParser};

use crate::trade::quantity::QuantityError;

/// Reads one of `words`, and returns what stands beside it.
pub fn one_of<T>(words: &'static [(&'static str, T)]) -> impl TypedValueParser<Value = T> + use<T>
where
    T: Copy + Send + Sync + 'static,
{
    let typed = words.iter().map(|(word, _)| *word);
    PossibleValuesParser::new(typed).try_map(move |chosen| {
        let found = words
            .iter()
            .find(|(word, _)| word.eq_ignore_ascii_case(&chosen));
        found.map(|(_, meant)| *meant).ok_or("no such word")
    })
}

/// Reads how many there are of something.
pub fn count(text: &str) -> Result<u32, String> {
    let whole = text.trim().parse();
    whole.map_err(|_| format!("how many is a whole number, such as 12, not \"{text}\""))
}

/// Readings in one text, each with its unit or with the unit once at the end: `22.05 22.03 22.04 mm`.
#[derive(Debug, Clone)]
pub struct Readings<Q>(pub Vec<Q>);

impl<Q> FromStr for Readings<Q>
where
    Q: FromStr<Err = QuantityError>,
{
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Readings<Q>, QuantityError> {
        let words: Vec<&str> = text.split_whitespace().collect();
        let each: Result<Vec<Q>, _> = words.iter().map(|word| word.parse()).collect();
        if let (Ok(readings), false) = (each, words.is_empty()) {
            return Ok(Readings(readings));
        }
        let numbers = words.iter().take_while(|word| is_number(word)).count();
        let (numbers, unit) = words.split_at(numbers);
        if numbers.is_empty() {
            return Ok(Readings(vec![text.parse()?]));
        }
        let unit = unit.join(" ");
        let readings = numbers
            .iter()
            .map(|number| format!("{number} {unit}").parse());
        Ok(Readings(readings.collect::<Result<_, _>>()?))
    }
}

fn is_number(word: &str) -> bool {
    word.chars()
        .all(|c| c.is_ascii_digit() || ".,-−+/".contains(c))
}

/// Takes a text apart at `between`, spaces taken off.
pub fn two<'a>(text: &'a str, between: &str) -> Option<(&'a str, &'a str)> {
    let (before, after) = text.split_once(between)?;
    Some((before.trim(), after.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::quantity::{Length, LengthDifference};

    #[test]
    fn readings_take_their_unit_from_the_end() {
        let count = |text: &str| text.parse::<Readings<Length>>().map(|r| r.0.len()).ok();
        assert_eq!(count("22.05 22.03 22.04 mm"), Some(3));
        assert_eq!(count("22.05mm 22.03mm"), Some(2));
        assert_eq!(count("22.05 mm"), Some(1));
        assert_eq!(count("22.05 22.03"), None);
        assert_eq!(count(""), None);
        let signed: Readings<LengthDifference> = "0.02 -0.03 mm".parse().unwrap();
        assert_eq!(signed.0[1].in_millimetres(), -0.03);
    }
}
