//! Which shim brings a valve clearance right.

use super::quantity::{Length, LengthDifference};
use super::worked::neat;
use super::{Answer, Worked};

/// The clearance wanted, from least to most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    least: Length,
    most: Length,
}

/// Why no shim can be chosen.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ShimError {
    #[error("A clearance goes from a smaller to a larger gap, not from {0} to {1}")]
    Clearance(Length, Length),
    #[error("{what} of {value} is outside {least} to {most}: measure again")]
    Reading {
        what: &'static str,
        value: Length,
        least: Length,
        most: Length,
    },
    #[error("No sizes of shim are given: write the smallest, the largest and the step")]
    NoSizes,
    #[error("No shim from {least} to {most} gives the clearance: {needed:.3} is needed")]
    OutOfSizes {
        needed: Length,
        least: Length,
        most: Length,
    },
    #[error(
        "The nearest shim, {shim:.3}, leaves {gap:.3}, outside {least} to {most}: finer sizes are needed"
    )]
    TooCoarse {
        shim: Length,
        gap: Length,
        least: Length,
        most: Length,
    },
}

impl Clearance {
    /// Makes a wanted clearance.
    ///
    /// # Errors
    /// [`ShimError::Clearance`] unless `least` is at most `most`.
    pub fn between(least: Length, most: Length) -> Result<Clearance, ShimError> {
        if least <= most {
            Ok(Clearance { least, most })
        } else {
            Err(ShimError::Clearance(least, most))
        }
    }

    /// Returns the gap halfway between.
    pub fn middle(self) -> Length {
        (self.least + self.most) / 2.0
    }
}

/// The shim to put in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shim {
    /// What the sum comes to.
    pub needed: Length,
    /// The nearest size there is.
    pub size: Length,
    /// The gap it will leave.
    pub gap: Length,
    /// By how much it is thicker than the old one.
    pub thicker: LengthDifference,
}

impl From<Shim> for Answer {
    fn from(shim: Shim) -> Answer {
        Answer::Named(vec![
            ("shim", shim.size.into()),
            ("needed", shim.needed.into()),
            ("leaves", shim.gap.into()),
        ])
    }
}

/// Returns the sizes from `least` to `most` in steps of `step`, both ends included.
///
/// # Errors
/// [`ShimError::NoSizes`] unless the step is above 0 and the ends rise.
pub fn sizes(least: Length, most: Length, step: Length) -> Result<Vec<Length>, ShimError> {
    let steps = (most - least) / step;
    if !(step.in_millimetres() > 0.0 && (0.0..=10_000.0).contains(&steps)) {
        return Err(ShimError::NoSizes);
    }
    // The small excess keeps the last size, which division may put just below a whole step.
    let count = (steps + 1e-6).floor() as u32;
    Ok((0..=count).map(|at| least + step * f64::from(at)).collect())
}

/// Chooses the shim: N = T + (A − V), T the old shim, A the gap measured, V the middle of the gap wanted;
/// of two equally near sizes the thinner one, since a tight valve burns.
///
/// # Errors
/// [`ShimError`] when a reading cannot be (gap above 3 mm, shim 0.5 to 10 mm), when the sizes do not
/// reach, or when even the nearest leaves a gap outside the wanted one.
///
/// Source: the formula as workshop manuals print it.
pub fn choose_shim(
    old: Length,
    measured: Length,
    wanted: Clearance,
    sizes: &[Length],
) -> Result<Worked<Shim>, ShimError> {
    let mm = Length::millimetres;
    held("A clearance", measured, mm(0.0), mm(3.0))?;
    held("A shim", old, mm(0.5), mm(10.0))?;
    let needed = old + (measured - wanted.middle());
    let off = |size: &Length| (needed.in_millimetres() - size.in_millimetres()).abs();
    // Sizes that are equally near differ in the last digits: a thicker one must be nearer by more.
    let mut ordered = sizes.to_vec();
    ordered.sort_by(|a, b| a.in_millimetres().total_cmp(&b.in_millimetres()));
    let (least, most) = match (ordered.first(), ordered.last()) {
        (Some(least), Some(most)) => (*least, *most),
        _ => return Err(ShimError::NoSizes),
    };
    let size = ordered
        .into_iter()
        .reduce(|best, next| {
            if off(&next) < off(&best) - 1e-9 {
                next
            } else {
                best
            }
        })
        .ok_or(ShimError::NoSizes)?;
    let gap = measured + (old - size);
    let inside = |gap: Length| {
        gap.in_millimetres() >= wanted.least.in_millimetres() - 1e-9
            && gap.in_millimetres() <= wanted.most.in_millimetres() + 1e-9
    };
    let exact_only = wanted.least == wanted.most;
    if !inside(gap) && (size == least || size == most) && !between(needed, least, most) {
        return Err(ShimError::OutOfSizes {
            needed,
            least,
            most,
        });
    }
    if !inside(gap) && !exact_only {
        return Err(ShimError::TooCoarse {
            shim: size,
            gap,
            least: wanted.least,
            most: wanted.most,
        });
    }
    let thicker = LengthDifference::millimetres(size.in_millimetres() - old.in_millimetres());
    let unit = old.unit();
    let formula = format!(
        "{old} + ({measured} − {}) = {} {}, nearest {}",
        neat(wanted.middle().value_in(unit)),
        neat(needed.value_in(unit)),
        unit.symbol(),
        neat(size.value_in(unit)),
    );
    let shim = Shim {
        needed,
        size,
        gap,
        thicker,
    };
    Ok(
        Worked::new(shim, formula, "N = T + (A − V): workshop manuals").caution(
            "A thicker shim makes a smaller gap. Turn the engine by hand and measure again.",
        ),
    )
}

fn held(what: &'static str, value: Length, least: Length, most: Length) -> Result<(), ShimError> {
    if between(value, least, most) {
        Ok(())
    } else {
        Err(ShimError::Reading {
            what,
            value,
            least,
            most,
        })
    }
}

fn between(value: Length, least: Length, most: Length) -> bool {
    let slack = 1e-9;
    value.in_millimetres() >= least.in_millimetres() - slack
        && value.in_millimetres() <= most.in_millimetres() + slack
}
