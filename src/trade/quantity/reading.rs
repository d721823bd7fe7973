//! How a written quantity is taken apart, and held to its range.

use super::QuantityError;
use super::number::{leading_number, normal};

/// What the reading of a text needs to know of a unit.
pub(super) trait Unit: Copy + PartialEq + 'static {
    const ALL: &'static [Self];
    /// Returns how many of the base unit one of this unit is.
    fn factor(self) -> f64;
    fn symbol(self) -> &'static str;
    /// Returns the ways people write it, in the shape that [`normal`] gives.
    fn forms(self) -> &'static [&'static str];
    /// Returns unit texts that must not be guessed, each with what to write instead.
    fn doubtful() -> &'static [(&'static str, &'static str)];
}

/// How messages speak of a kind of quantity, and which values a person may write.
pub(super) struct Kind {
    pub(super) what: &'static str,
    pub(super) example: &'static str,
    /// In the base unit.
    pub(super) least: f64,
    pub(super) most: f64,
}

fn unit_list<U: Unit>() -> String {
    let symbols: Vec<_> = U::ALL.iter().map(|unit| unit.symbol()).collect();
    match symbols.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => symbols.concat(),
    }
}

/// Reads a number and a unit, or several of falling size (`1 h 30 min`), which add up to a value in
/// the last unit.
pub(super) fn read<U: Unit>(kind: &Kind, text: &str) -> Result<(f64, U), QuantityError> {
    let (value, unit) = parts::<U>(kind, text.trim(), f64::INFINITY)?;
    within(kind, value, unit, text.trim())?;
    Ok((value, unit))
}

fn parts<U: Unit>(kind: &Kind, text: &str, below: f64) -> Result<(f64, U), QuantityError> {
    let no_number = || QuantityError::NoNumber {
        what: kind.what,
        example: kind.example,
        written: text.into(),
    };
    let (value, rest) = leading_number(text)?.ok_or_else(no_number)?;
    if rest.is_empty() {
        return Err(QuantityError::NoUnit {
            number: text.into(),
            units: unit_list::<U>(),
            example: kind.example,
        });
    }
    if let Some(unit) = unit_of::<U>(rest)? {
        return if unit.factor() < below {
            Ok((value, unit))
        } else {
            Err(no_number())
        };
    }
    for cut in cuts(rest) {
        let (head, tail) = rest.split_at(cut);
        if let Some(unit) = unit_of::<U>(head)?
            && unit.factor() < below
        {
            let (less, last) = parts::<U>(kind, tail.trim_start(), unit.factor())?;
            let more = value * unit.factor() / last.factor();
            return Ok((
                if value < 0.0 {
                    more - less
                } else {
                    more + less
                },
                last,
            ));
        }
    }
    Err(QuantityError::UnknownUnit {
        what: kind.what,
        unit: rest.into(),
        units: unit_list::<U>(),
        example: kind.example,
    })
}

/// Returns where a unit may end and a smaller part begin: before each digit.
fn cuts(rest: &str) -> impl Iterator<Item = usize> {
    rest.char_indices()
        .filter(|&(at, c)| at > 0 && c.is_ascii_digit())
        .map(|(at, _)| at)
}

fn unit_of<U: Unit>(text: &str) -> Result<Option<U>, QuantityError> {
    let shape = normal(text);
    if let Some((_, instead)) = U::doubtful().iter().find(|(form, _)| *form == shape) {
        return Err(QuantityError::ManyMeanings {
            unit: text.trim().into(),
            instead,
        });
    }
    let known = |unit: &&U| unit.forms().contains(&shape.as_str());
    Ok(U::ALL.iter().find(known).copied())
}

/// Refuses a written value outside the range of its kind, naming the nearest one inside.
fn within<U: Unit>(kind: &Kind, value: f64, unit: U, written: &str) -> Result<(), QuantityError> {
    let base = value * unit.factor();
    // A range holds to its ends as written in another unit: 6.561679… ft is 2 m.
    let slack = 1e-12 * base.abs();
    if base >= kind.least - slack && base <= kind.most + slack {
        return Ok(());
    }
    let said = |base: f64| format!("{} {}", base / unit.factor(), unit.symbol());
    Err(QuantityError::OutOfRange {
        what: kind.what,
        least: said(kind.least),
        most: said(kind.most),
        written: written.into(),
        nearest: said(if base < kind.least {
            kind.least
        } else {
            kind.most
        }),
    })
}
