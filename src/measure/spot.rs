//! Keyword matching: what of the text of a free recogniser would count as a command. Pure.

use super::transcript::Words;
use crate::hear::{DigitCount, numbers};

/// Something found in a text, with the place of its last word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    pub words: Words,
    /// Counted from 0.
    pub last: usize,
}

/// Returns each of `phrases` whose words stand together in `text`, the longest first where two begin
/// together, and each run of digits that has exactly `digits`.
pub fn spot(text: &[&str], phrases: &[String], digits: Option<DigitCount>) -> Vec<Found> {
    let mut all = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let phrase = phrases
            .iter()
            .map(|phrase| (phrase, phrase.split(' ').count()))
            .filter(|(phrase, count)| {
                text.len() - at >= *count
                    && phrase.split(' ').eq(text[at..at + count].iter().copied())
            })
            .max_by_key(|(_, count)| *count);
        if let Some((phrase, count)) = phrase {
            all.push(Found {
                words: Words {
                    text: phrase.clone(),
                    is_reading: false,
                },
                last: at + count - 1,
            });
            at += count;
            continue;
        }
        let run = text[at..]
            .iter()
            .take_while(|word| numbers::digits(word).is_some())
            .count();
        let reading = numbers::digits(&text[at..at + run].join(" "));
        if let Some(reading) = reading
            && digits.is_some_and(|count| count.fits(&reading))
        {
            all.push(Found {
                words: Words {
                    text: reading,
                    is_reading: true,
                },
                last: at + run - 1,
            });
        }
        at += run.max(1);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, digits: Option<(u8, u8)>, expected: &[(&str, usize)]) {
        let phrases = ["stop stop", "stop stop stop", "say again"].map(String::from);
        let words: Vec<&str> = text.split(' ').collect();
        let digits = digits.map(|(whole, decimals)| DigitCount {
            whole,
            decimals,
            cardinals: false,
        });
        let found = spot(&words, &phrases, digits);
        let found: Vec<(&str, usize)> = found
            .iter()
            .map(|found| (found.words.text.as_str(), found.last))
            .collect();
        assert_eq!(found, expected, "{text}");
    }

    #[test]
    fn phrases_and_readings_are_found_where_they_stand_together() {
        check("please say again now", None, &[("say again", 2)]);
        check("say it again", None, &[]);
        check("stop stop stop", None, &[("stop stop stop", 2)]);
        check(
            "say again stop stop",
            None,
            &[("say again", 1), ("stop stop", 3)],
        );
        check("it is one one zero", Some((3, 0)), &[("110", 4)]);
        check("one one zero", None, &[]);
        check("one one zero two", Some((3, 0)), &[]);
        check("zero point three five", Some((1, 2)), &[("0.35", 3)]);
    }
}
