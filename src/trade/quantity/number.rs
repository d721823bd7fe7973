//! Numbers and units as people write them.

use super::QuantityError;

/// Reads the number a text begins with, and returns it with what follows it.
///
/// Understands `12`, `0.35`, `0,35`, `1/2`, `1 1/2`, `1½`, `1 500` and a minus in any of its shapes.
/// `Ok(None)`: the text begins with no number.
///
/// # Errors
/// [`QuantityError::Comma`] for `1,500`, which is fifteen hundred to some and one and a half to others.
pub(in crate::trade) fn leading_number(text: &str) -> Result<Option<(f64, &str)>, QuantityError> {
    let text = text.trim_start();
    let (sign, unsigned) = match text.strip_prefix(['-', '−', '–']) {
        Some(rest) => (-1.0, rest.trim_start()),
        None => match text.strip_prefix("minus ") {
            Some(rest) => (-1.0, rest.trim_start()),
            None => (1.0, text.strip_prefix('+').unwrap_or(text)),
        },
    };
    let Some((value, rest)) = whole_or_decimal(unsigned)? else {
        let fraction = leading_vulgar(unsigned);
        return Ok(fraction.map(|(value, rest)| (sign * value, rest.trim_start())));
    };
    let (value, rest) = with_fraction(value, unsigned, rest);
    Ok(Some((sign * value, rest.trim_start())))
}

/// Returns the digits at the start of `text`, and what follows them.
fn digits(text: &str) -> (&str, &str) {
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len());
    text.split_at(end)
}

fn whole_or_decimal(text: &str) -> Result<Option<(f64, &str)>, QuantityError> {
    let (first, mut rest) = digits(text);
    let mut number = String::from(first);
    // Thousands set apart by spaces: groups of exactly three, after at most three.
    while !first.is_empty() && first.len() <= 3 {
        let Some((group, after)) = rest.strip_prefix([' ', '\u{a0}', '\u{202f}']).map(digits)
        else {
            break;
        };
        if group.len() != 3 || after.starts_with('/') {
            break;
        }
        number.push_str(group);
        rest = after;
    }
    if let Some(after) = rest.strip_prefix(['.', ',']) {
        let (decimals, after) = digits(after);
        if !decimals.is_empty() {
            let comma = rest.starts_with(',');
            if comma && decimals.len() == 3 && number != "0" {
                return Err(QuantityError::Comma(format!("{number},{decimals}")));
            }
            number.push('.');
            number.push_str(decimals);
            rest = after;
        }
    }
    Ok(number.parse().ok().map(|value: f64| (value, rest)))
}

/// Takes in the fraction that follows a whole number, or that the whole number is the top of.
fn with_fraction<'a>(value: f64, text: &'a str, rest: &'a str) -> (f64, &'a str) {
    if let Some((fraction, after)) = leading_vulgar(rest.trim_start()) {
        return (value + fraction, after);
    }
    let whole = !text[..text.len() - rest.len()].contains(['.', ',']);
    if whole && let Some((bottom, after)) = bottom_of(rest) {
        return (value / bottom, after);
    }
    if whole && rest.starts_with([' ', '-']) {
        let (top, below) = digits(&rest[1..]);
        if let (Ok(top), Some((bottom, after))) = (top.parse::<f64>(), bottom_of(below)) {
            return (value + top / bottom, after);
        }
    }
    (value, rest)
}

/// Reads `/8` and returns 8.
fn bottom_of(text: &str) -> Option<(f64, &str)> {
    let (bottom, after) = digits(text.strip_prefix(['/', '⁄'])?);
    let bottom: f64 = bottom.parse().ok()?;
    (bottom > 0.0).then_some((bottom, after))
}

fn leading_vulgar(text: &str) -> Option<(f64, &str)> {
    let first = text.chars().next()?;
    let value = match first {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        _ => return None,
    };
    Some((value, &text[first.len_utf8()..]))
}

/// Brings a unit to the shape its forms are listed in: lower case, one space between words for any
/// separator, plain digits for powers, `u` for micro.
pub(in crate::trade) fn normal(unit: &str) -> String {
    let mut shape = String::with_capacity(unit.len());
    for c in unit.trim().chars() {
        match c {
            '²' => shape.push('2'),
            '³' => shape.push('3'),
            '^' => {}
            'µ' | 'μ' => shape.push('u'),
            'º' | '˚' => shape.push('°'),
            '′' | '’' => shape.push('\''),
            '″' | '”' => shape.push('"'),
            '·' | '⋅' | '∙' | '•' | '×' | '*' | '-' | '–' | '‑' | '.' | '_' => {
                shape.push(' ');
            }
            _ if c.is_whitespace() => shape.push(' '),
            _ => shape.extend(c.to_lowercase()),
        }
    }
    let words: Vec<_> = shape.split_whitespace().collect();
    words.join(" ")
}
