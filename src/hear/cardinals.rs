//! Numbers as a workshop says them: "one hundred and ten", "one ten", "ninety five and a half". They
//! are taken only where a person switches them on, and never at once.
//!
//! A closed set of forms, not an adder: what is none of them is no number. "nine five" is 95 and never
//! fourteen, "twenty to thirty" is nothing and never fifty.

use super::{DigitCount, numbers};

/// The words that cardinals need beside the digits. "oh" is understood but left out: heard, it takes
/// the place of one "four" in five.
const WORDS: [&str; 29] = [
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
    "twenty",
    "thirty",
    "forty",
    "fifty",
    "sixty",
    "seventy",
    "eighty",
    "ninety",
    "hundred",
    "thousand",
    "and",
    "a",
    "double",
    "nought",
    "nil",
    "half",
    "quarter",
    "quarters",
    "thou",
];
/// How many of [`WORDS`] stand for ten to nineteen, and for the tens from twenty.
const TEENS: usize = 10;
const TENS: usize = 8;
/// The words from here on need decimals.
const PARTS: usize = 25;

/// Returns the words beside the digits that the grammar holds for a reading of `count` digits.
pub(super) fn words(count: DigitCount) -> &'static [&'static str] {
    match count.decimals {
        0 => &WORDS[..PARTS],
        _ => &WORDS,
    }
}

/// Returns `said` as the digits of a reading of `count` digits, or nothing where it is no number in
/// one of the known forms or does not fit.
///
/// Places before the point are filled with zeros where a cardinal was said ("ninety five" is `095` of
/// three digits); digits one by one must be complete, and so must be what is said after "point".
pub fn reading(said: &str, count: DigitCount) -> Option<String> {
    let said = said.replace('-', " ");
    let words: Vec<&str> = said.split_whitespace().collect();
    let (whole, decimals) = split(&words, count)?;
    let text = match decimals.as_str() {
        "" => whole,
        decimals => format!("{whole}.{decimals}"),
    };
    count.fits(&text).then_some(text)
}

/// Returns the digits before and after the point.
fn split(words: &[&str], count: DigitCount) -> Option<(String, String)> {
    if let [number @ .., "thou"] = words {
        let thousandths = value(number).or_else(|| one_by_one(number)?.parse().ok())?;
        let whole = filled(thousandths / 1000, count);
        let decimals = format!("{:03}", thousandths % 1000);
        return Some((whole, lengthened(&decimals, count)?));
    }
    if let Some((number, part)) = part(words) {
        return Some((before(number, count)?, lengthened(part, count)?));
    }
    match words.iter().position(|&word| word == "point") {
        Some(at) => Some((before(&words[..at], count)?, after(&words[at + 1..])?)),
        None if words.is_empty() => None,
        None => Some((before(words, count)?, String::new())),
    }
}

/// Splits a half or a quarter off the end.
fn part<'a, 'b>(words: &'a [&'b str]) -> Option<(&'a [&'b str], &'static str)> {
    let (number, part) = match words {
        [number @ .., "a", "half"] => (number, "5"),
        [number @ .., "a", "quarter"] => (number, "25"),
        [number @ .., "three", "quarters"] => (number, "75"),
        _ => return None,
    };
    match number {
        [] => Some((number, part)),
        [number @ .., "and"] if !number.is_empty() => Some((number, part)),
        _ => None,
    }
}

/// Returns the digits before the point; none said are a zero.
fn before(words: &[&str], count: DigitCount) -> Option<String> {
    if words.is_empty() {
        return Some(filled(0, count));
    }
    if let Some(digits) = one_by_one(words) {
        return Some(digits);
    }
    let elided = (count.whole == 3).then(|| elided_hundred(words)).flatten();
    Some(filled(value(words).or(elided)?, count))
}

/// Returns the digits after the point: one by one, or two of them as one number.
fn after(words: &[&str]) -> Option<String> {
    one_by_one(words).or_else(|| Some(below_hundred(words)?.to_string()))
}

fn filled(value: u32, count: DigitCount) -> String {
    format!("{value:0width$}", width = usize::from(count.whole))
}

/// Returns exact `decimals` with the zeros that they are short of; nothing where they are too many.
fn lengthened(decimals: &str, count: DigitCount) -> Option<String> {
    let width = usize::from(count.decimals);
    let shortened = decimals.trim_end_matches('0');
    (shortened.len() <= width).then(|| format!("{shortened:0<width$}"))
}

fn one_by_one(words: &[&str]) -> Option<String> {
    let mut digits = String::new();
    let mut words = words.iter();
    while let Some(&word) = words.next() {
        match word {
            "oh" | "nought" | "nil" => digits.push('0'),
            "double" => {
                let digit = unit(words.next()?)?;
                digits.push_str(&format!("{digit}{digit}"));
            }
            word => digits.push_str(&unit(word)?.to_string()),
        }
    }
    (!digits.is_empty()).then_some(digits)
}

fn unit(word: &str) -> Option<u32> {
    numbers::digits(word)?.parse().ok()
}

fn teen(word: &str) -> Option<u32> {
    let at = WORDS[..TEENS].iter().position(|&known| known == word)?;
    Some(10 + at as u32)
}

fn tens(word: &str) -> Option<u32> {
    let at = WORDS[TEENS..TEENS + TENS]
        .iter()
        .position(|&known| known == word)?;
    Some(20 + 10 * at as u32)
}

/// Ten to ninety nine.
fn below_hundred(words: &[&str]) -> Option<u32> {
    match words {
        [word] => teen(word).or_else(|| tens(word)),
        [first, second] => Some(tens(first)? + unit(second).filter(|&unit| unit > 0)?),
        _ => None,
    }
}

/// A cardinal that is said in full: ten to 9999.
fn value(words: &[&str]) -> Option<u32> {
    if let Some(at) = words.iter().position(|&word| word == "thousand") {
        let thousands = 1000 * one_or_a(&words[..at])?;
        return Some(thousands + rest(&words[at + 1..], true)?);
    }
    if let Some(at) = words.iter().position(|&word| word == "hundred") {
        // Also "twelve hundred", but nobody says "twenty hundred".
        let many = below_hundred(&words[..at]).filter(|many| many % 10 != 0);
        let hundreds = 100 * one_or_a(&words[..at]).or(many)?;
        return Some(hundreds + rest(&words[at + 1..], false)?);
    }
    below_hundred(words)
}

fn one_or_a(words: &[&str]) -> Option<u32> {
    match words {
        ["a"] => Some(1),
        [word] => unit(word).filter(|&unit| unit > 0),
        _ => None,
    }
}

/// What follows a hundred or a thousand: nothing, or a smaller number with or without "and".
fn rest(words: &[&str], hundreds: bool) -> Option<u32> {
    let (words, joined) = match words {
        [] => return Some(0),
        ["and", words @ ..] => (words, true),
        words => (words, false),
    };
    if let Some(at) = words.iter().position(|&word| word == "hundred") {
        let count = one_or_a(&words[..at]).filter(|_| hundreds && !joined)?;
        return Some(100 * count + rest(&words[at + 1..], false)?);
    }
    let small = match words {
        [word] => unit(word).filter(|&unit| unit > 0),
        _ => None,
    };
    small.or_else(|| below_hundred(words))
}

/// "one ten", "two fifty", "one twenty five": the word "hundred" is left out.
fn elided_hundred(words: &[&str]) -> Option<u32> {
    let (first, rest) = words.split_first()?;
    Some(100 * unit(first).filter(|&unit| unit > 0)? + below_hundred(rest)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(said: &str, whole: u8, decimals: u8) -> Option<String> {
        let count = DigitCount {
            whole,
            decimals,
            cardinals: true,
        };
        reading(said, count)
    }

    #[test]
    fn a_workshop_is_understood() {
        for (said, whole, decimals, wanted) in [
            ("one hundred ten", 3, 0, "110"),
            ("one hundred and ten", 3, 0, "110"),
            ("a hundred and five", 3, 0, "105"),
            ("one ten", 3, 0, "110"),
            ("one twenty five", 3, 0, "125"),
            ("two fifty", 3, 0, "250"),
            ("one oh five", 3, 0, "105"),
            ("one zero five", 3, 0, "105"),
            ("one one zero", 3, 0, "110"),
            ("twelve hundred", 4, 0, "1200"),
            ("a thousand", 4, 0, "1000"),
            ("two thousand one hundred and five", 4, 0, "2105"),
            ("ninety five", 3, 0, "095"),
            ("ninety-five", 2, 0, "95"),
            ("ninety five point five", 2, 1, "95.5"),
            ("nine five point five", 2, 1, "95.5"),
            ("point five", 1, 1, "0.5"),
            ("point oh five", 1, 2, "0.05"),
            ("point forty two", 1, 2, "0.42"),
            ("one hundred twenty three point four five", 3, 2, "123.45"),
            ("ninety five and a half", 2, 1, "95.5"),
            ("ninety five and a quarter", 2, 2, "95.25"),
            ("ninety five and a half", 2, 2, "95.50"),
            ("one hundred and three quarters", 3, 2, "100.75"),
            ("three quarters", 1, 2, "0.75"),
            ("double five", 2, 0, "55"),
            ("nought point two five", 1, 2, "0.25"),
            ("nil", 1, 0, "0"),
            ("ten thou", 1, 3, "0.010"),
            ("ten thou", 1, 2, "0.01"),
            ("four thou", 1, 3, "0.004"),
        ] {
            assert_eq!(
                read(said, whole, decimals).as_deref(),
                Some(wanted),
                "{said}"
            );
        }
    }

    #[test]
    fn nothing_is_added_up_or_guessed() {
        for (said, whole, decimals) in [
            ("twenty to thirty", 2, 0),
            ("twenty thirty", 2, 0),
            ("twenty thirty", 4, 0),
            ("ten ten", 3, 0),
            ("twenty ten", 3, 0),
            ("one one ten", 3, 0),
            ("hundred", 3, 0),
            ("and ten", 2, 0),
            ("one hundred and", 3, 0),
            ("one hundred and and ten", 3, 0),
            ("one hundred hundred", 3, 0),
            ("one hundred zero", 3, 0),
            ("twenty hundred", 4, 0),
            ("twenty zero", 2, 0),
            ("zero ten", 3, 0),
            ("one ten", 2, 0),
            ("one ten", 4, 0),
            ("two fifty", 1, 2),
            ("one one", 3, 0),
            ("five", 2, 0),
            ("one one zero five", 3, 0),
            ("one thousand", 3, 0),
            ("ninety five", 2, 1),
            ("ninety five point five", 2, 2),
            ("ninety five point five", 2, 0),
            ("point", 1, 1),
            ("point five point five", 1, 1),
            ("ninety five and a quarter", 2, 1),
            ("ninety five a half", 2, 1),
            ("ninety five and", 2, 1),
            ("and a half", 1, 1),
            ("double", 1, 0),
            ("double ten", 2, 0),
            ("double double five", 2, 0),
            ("five double", 2, 0),
            ("four thou", 1, 2),
            ("thou", 1, 3),
            ("ten point five thou", 1, 3),
            ("[unk] ten", 2, 0),
            ("", 1, 0),
        ] {
            assert_eq!(read(said, whole, decimals), None, "{said}");
        }
    }

    #[test]
    fn the_words_are_where_the_forms_look_for_them() {
        assert_eq!(teen("nineteen"), Some(19));
        assert_eq!(tens("twenty"), Some(20));
        assert_eq!(tens("ninety"), Some(90));
        assert_eq!(tens("hundred"), None);
        assert_eq!(WORDS[PARTS], "half");
    }
}
