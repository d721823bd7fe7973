//! Spoken numbers: digits one by one, "point" before the decimals.
//!
//! Cardinals ("one hundred ten") are not taken unless a person switches them on, see
//! [`super::cardinals`]: the recogniser makes another number of one in six of them, of digits one by
//! one of one in a hundred.

use super::DigitCount;

/// The words that a reading is made of, as the grammar holds them.
pub use crate::procedure::FIGURES as WORDS;

/// Returns the character that a word stands for. The radio-telephony forms count too.
fn character(word: &str) -> Option<char> {
    let word = match word {
        "niner" => "nine",
        "fife" => "five",
        word => word,
    };
    WORDS
        .iter()
        .zip("0123456789.".chars())
        .find_map(|(&known, digit)| (known == word).then_some(digit))
}

/// Returns the digits of `words` (`one one zero` gives `110`), or nothing where any other word is
/// among them or there is none.
pub fn digits(words: &str) -> Option<String> {
    let text: Option<String> = words.split_whitespace().map(character).collect();
    text.filter(|text| !text.is_empty())
}

/// Returns the words that say `digits` (`0.35` gives `zero point three five`), or nothing where it
/// holds anything but digits and points.
pub fn words(digits: &str) -> Option<String> {
    let words: Option<Vec<&str>> = digits
        .chars()
        .map(|c| match c {
            '.' => Some("point"),
            c => c.to_digit(10).map(|digit| WORDS[digit as usize]),
        })
        .collect();
    words
        .filter(|words| !words.is_empty())
        .map(|words| words.join(" "))
}

/// Returns the words that may stand at each place of a reading of `count` digits.
pub fn by_place(count: DigitCount) -> impl Iterator<Item = &'static [&'static str]> {
    let (digits, point) = WORDS.split_at(10);
    let whole = std::iter::repeat_n(digits, count.whole.into());
    let point = std::iter::repeat_n(point, usize::from(count.decimals > 0));
    whole
        .chain(point)
        .chain(std::iter::repeat_n(digits, count.decimals.into()))
}

impl DigitCount {
    /// Returns whether `digits` has exactly this many digits before and after the point.
    pub fn fits(self, digits: &str) -> bool {
        let (whole, decimals) = match digits.split_once('.') {
            Some((whole, decimals)) => (whole, Some(decimals)),
            None => (digits, None),
        };
        let counts = |text: &str, count: u8| {
            text.len() == usize::from(count) && text.bytes().all(|b| b.is_ascii_digit())
        };
        counts(whole, self.whole)
            && match decimals {
                Some(decimals) => self.decimals > 0 && counts(decimals, self.decimals),
                None => self.decimals == 0,
            }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_read_one_by_one() {
        for (said, read) in [
            ("one one zero", Some("110")),
            ("zero point three five", Some("0.35")),
            ("niner fife", Some("95")),
            ("one hundred", None),
            ("[unk] one", None),
            ("oh", None),
            ("", None),
        ] {
            assert_eq!(digits(said).as_deref(), read, "{said}");
        }
    }

    #[test]
    fn what_is_said_is_read_back_the_same() {
        for number in ["0", "110", "0.35", "19.8", "9876543210"] {
            let said = words(number).unwrap();
            assert_eq!(digits(&said).as_deref(), Some(number));
        }
        assert_eq!(words("-4"), None);
        assert_eq!(words(""), None);
    }

    #[test]
    fn a_place_has_a_digit_or_the_point() {
        let count = |whole, decimals| DigitCount {
            whole,
            decimals,
            ..DigitCount::default()
        };
        let places = |count| by_place(count).map(<[_]>::len).collect::<Vec<_>>();
        assert_eq!(places(count(2, 1)), [10, 10, 1, 10]);
        assert_eq!(places(count(3, 0)), [10, 10, 10]);
        let first = by_place(count(1, 1)).map(|words| words[0]);
        assert_eq!(first.collect::<Vec<_>>(), ["zero", "point", "zero"]);
    }

    #[test]
    fn only_the_full_count_fits() {
        let whole = DigitCount {
            whole: 3,
            decimals: 0,
            ..DigitCount::default()
        };
        let decimal = DigitCount {
            whole: 1,
            decimals: 2,
            ..DigitCount::default()
        };
        for (count, text, fits) in [
            (whole, "110", true),
            (whole, "11", false),
            (whole, "1100", false),
            (whole, "11.0", false),
            (whole, "110.", false),
            (decimal, "0.35", true),
            (decimal, "0.3", false),
            (decimal, "035", false),
            (decimal, "0.3.", false),
            (decimal, ".35", false),
            (decimal, "", false),
        ] {
            assert_eq!(count.fits(text), fits, "{text}");
        }
    }
}
