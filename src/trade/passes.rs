//! In how many rounds a joint is drawn down, and to what torque in each.

use super::Torque;
use super::quantity::Share;

/// What one pass aims at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Goal {
    /// A share of the full torque, in the pattern's order.
    Share(Share),
    /// A torque, in the pattern's order.
    Torque(Torque),
    /// The full torque, all the way round by number, until nothing moves.
    Check,
}

/// One pass as it is called.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pass {
    pub torque: Torque,
    pub order: PassOrder,
}

/// In which order a pass goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PassOrder {
    Pattern,
    /// By number, all the way round.
    Round,
}

/// Why passes do not add up.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PassError {
    #[error("There is no pass: write at least one, such as 100 %")]
    None,
    #[error("Pass {0} is a share of {1}: write a share above 0 and at most 100 %")]
    Share(usize, Share),
    #[error("Pass {number} goes to {torque}, beyond the full torque of {full}")]
    Beyond {
        number: usize,
        torque: Torque,
        full: Torque,
    },
    #[error("Pass {number} falls to {torque}, after {before}")]
    Falls {
        number: usize,
        torque: Torque,
        before: Torque,
    },
    #[error("The passes end at {last}, below the full torque of {full}: add a pass at 100 %")]
    Short { last: Torque, full: Torque },
    #[error("Pass {number} of {torque} is below the first mark of a scale in steps of {step}")]
    BelowScale {
        number: usize,
        torque: Torque,
        step: Torque,
    },
}

/// Passes for a wheel: half, then full (common practice, no source).
pub const WHEEL: [Goal; 2] = [Goal::Share(Share::percent(50.0)), FULL];

/// Passes for a gasketed joint of up to 8 bolts: 30, 60 and 100 %, then all the way round at 100 %
/// (public piping practice: two procedures print the same).
pub const GASKET: [Goal; 4] = [
    Goal::Share(Share::percent(30.0)),
    Goal::Share(Share::percent(60.0)),
    FULL,
    Goal::Check,
];

/// Passes for a gasketed joint of 12 bolts and more: 20, 40, 80 and 100 %, then all the way round
/// (public piping procedure).
pub const LARGE_GASKET: [Goal; 5] = [
    Goal::Share(Share::percent(20.0)),
    Goal::Share(Share::percent(40.0)),
    Goal::Share(Share::percent(80.0)),
    FULL,
    Goal::Check,
];

const FULL: Goal = Goal::Share(Share::percent(100.0));

/// Works out the passes that lead to `full`. Shares are rounded down to the wrench's `step`, never
/// above the share; without a step to whole units. The full torque itself is never rounded here.
///
/// # Errors
/// [`PassError`] when a pass goes beyond the full torque, falls, is not on the scale, or when the
/// last pass in the pattern's order is not the full torque.
pub fn passes(full: Torque, goals: &[Goal], step: Option<Torque>) -> Result<Vec<Pass>, PassError> {
    // Torques that differ by less than this are the same figure in two units.
    const SAME: f64 = 0.05;
    let mut passes: Vec<Pass> = Vec::new();
    for (at, goal) in goals.iter().enumerate() {
        let number = at + 1;
        let (torque, order) = match *goal {
            Goal::Check => (full, PassOrder::Round),
            Goal::Torque(torque) => (torque, PassOrder::Pattern),
            Goal::Share(share) => (part(full, share, step, number)?, PassOrder::Pattern),
        };
        if torque.newton_metres() > full.newton_metres() + SAME {
            return Err(PassError::Beyond {
                number,
                torque,
                full,
            });
        }
        if let Some(before) = passes.last()
            && torque.newton_metres() < before.torque.newton_metres() - SAME
        {
            return Err(PassError::Falls {
                number,
                torque,
                before: before.torque,
            });
        }
        passes.push(Pass { torque, order });
    }
    let in_order = |pass: &&Pass| pass.order == PassOrder::Pattern;
    let last = passes.iter().rfind(in_order).ok_or(PassError::None)?.torque;
    if last.newton_metres() < full.newton_metres() - SAME {
        return Err(PassError::Short { last, full });
    }
    Ok(passes)
}

fn part(
    full: Torque,
    share: Share,
    step: Option<Torque>,
    number: usize,
) -> Result<Torque, PassError> {
    let ones = share.in_ones();
    if !(ones > 0.0 && ones <= 1.0) {
        return Err(PassError::Share(number, share));
    }
    if ones == 1.0 {
        return Ok(full);
    }
    let Some(step) = step else {
        return Ok(full.share(ones));
    };
    let torque = Torque::computed(full.value_in(full.unit()) * ones, full.unit());
    torque.down_to_mark(step).ok_or(PassError::BelowScale {
        number,
        torque,
        step,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn torque(text: &str) -> Torque {
        text.parse().unwrap()
    }

    #[test]
    fn passes_are_rounded_down_to_the_scale_and_end_in_full() {
        let made = passes(torque("47 N·m"), &GASKET, Some(torque("2 N·m"))).unwrap();
        let shown: Vec<_> = made.iter().map(|pass| pass.torque.to_string()).collect();
        assert_eq!(shown, ["14 N·m", "28 N·m", "47 N·m", "47 N·m"]);
        assert_eq!(made[3].order, PassOrder::Round);
    }

    #[test]
    fn passes_that_do_not_add_up_are_refused() {
        let full = torque("80 N·m");
        let share = |percent| Goal::Share(Share::percent(percent));
        let refused = |goals: &[Goal]| passes(full, goals, None).unwrap_err().to_string();
        assert_eq!(
            refused(&[share(50.0)]),
            "The passes end at 40 N·m, below the full torque of 80 N·m: add a pass at 100 %"
        );
        assert_eq!(
            refused(&[share(70.0), share(40.0), FULL]),
            "Pass 2 falls to 32 N·m, after 56 N·m"
        );
        assert_eq!(
            refused(&[Goal::Torque(torque("60 lbf·ft"))]),
            "Pass 1 goes to 60 lbf·ft, beyond the full torque of 80 N·m"
        );
        assert!(refused(&[share(130.0)]).starts_with("Pass 1 is a share of 130 %"));
        assert!(refused(&[Goal::Check]).starts_with("There is no pass"));
        let coarse = passes(full, &[share(5.0), FULL], Some(torque("5 N·m")));
        assert!(matches!(coarse, Err(PassError::BelowScale { .. })));
    }
}
