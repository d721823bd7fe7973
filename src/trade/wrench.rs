//! What to dial on a torque wrench, with or without an adapter on its square.

use serde::{Deserialize, Serialize};

use super::quantity::{Angle, Length, Share};
use super::torque::TorqueUnit;
use super::worked::neat;
use super::{Answer, Torque, Worked};

/// The tools a person owns; read from a small RON file.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tools {
    #[serde(default)]
    pub wrenches: Vec<Wrench>,
    #[serde(default)]
    pub adapters: Vec<Adapter>,
}

impl Tools {
    /// Reads a tools file.
    ///
    /// # Errors
    /// Where the text is no RON, a field is missing or unknown, or a quantity cannot be read.
    pub fn from_ron(text: &str) -> Result<Tools, ron::error::SpannedError> {
        ron::Options::default()
            .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
            .from_str(text)
    }
}

/// A torque wrench, as its plate, handle and certificate say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wrench {
    /// How the person calls it.
    pub name: String,
    /// From the centre of the drive square to the mark on the grip.
    pub length: Length,
    /// The lowest mark of the scale.
    pub lowest: Torque,
    /// The highest mark of the scale.
    pub highest: Torque,
    /// From mark to mark.
    pub step: Torque,
    /// By how much it may deviate from its setting, to either side: `"4 %"`.
    pub deviation: Share,
    /// The ways it is rated to measure.
    #[serde(default)]
    pub measures: Measures,
}

/// The ways a wrench is rated to measure.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Measures {
    /// Clockwise only, as most click wrenches: what a plate does not say is not assumed.
    #[default]
    Clockwise,
    BothWays,
}

/// An adapter that moves the fastener away from the drive square: an open end, a ring, a bar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Adapter {
    /// How the person calls it.
    pub name: String,
    /// From the centre of the drive square to the centre of the fastener.
    pub length: Length,
    /// How it stands on the wrench: 0° straight ahead, 90° square to the handle, 180° pointing back
    /// along it.
    #[serde(default = "straight_ahead")]
    pub angle: Angle,
    /// The most it is rated for at the fastener.
    #[serde(default)]
    pub most: Option<Torque>,
}

fn straight_ahead() -> Angle {
    Angle::degrees(0.0)
}

/// What stands between wrench and fastener.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Between<'a> {
    Nothing,
    /// An extension along the axis of the fastener. It changes nothing (US Navy aviation training
    /// manual; supplier guidance).
    SocketExtension,
    Adapter(&'a Adapter),
}

/// Which way the fastener is tightened.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Turning {
    #[default]
    Clockwise,
    /// A left-hand thread, or slackening against the wrench.
    Anticlockwise,
}

/// What to dial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// What the sum comes to, in the unit of the wrench's scale.
    pub exact: Torque,
    /// The mark to dial: the largest one not above it.
    pub dial: Torque,
    /// What the fastener gets at that mark if the wrench is right.
    pub at_fastener: Torque,
    /// The least and the most the fastener gets within the wrench's deviation.
    pub within: (Torque, Torque),
}

impl From<Setting> for Answer {
    fn from(setting: Setting) -> Answer {
        Answer::Named(vec![
            ("dial", setting.dial.into()),
            ("exact", setting.exact.into()),
            ("at the fastener", setting.at_fastener.into()),
            ("least", setting.within.0.into()),
            ("most", setting.within.1.into()),
        ])
    }
}

/// Why a wrench cannot do it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WrenchError {
    #[error("The length of {0} must be above 0: measure from the square's centre")]
    Length(String),
    #[error(
        "An adapter stands at 0° to 180° to the handle, not {given}: write {nearest}, 0° is straight ahead"
    )]
    Angle { given: Angle, nearest: Angle },
    #[error(
        "With {0} pointing back the fastener lies at or behind the grip: turn the adapter, 90° needs \
         no correction"
    )]
    NoArm(String),
    #[error("{name} is rated to {most}, below the {target} asked for")]
    AdapterTooWeak {
        name: String,
        most: Torque,
        target: Torque,
    },
    #[error("{0} measures clockwise only: take a wrench rated both ways for this fastener")]
    WrongWay(String),
    #[error(
        "{wrench} would stand at {setting:.1}, below {floor:.1} where it may be relied on ({why}): \
         take a smaller wrench"
    )]
    TooLow {
        wrench: String,
        setting: Torque,
        floor: Torque,
        why: &'static str,
    },
    #[error(
        "{wrench} would have to stand at {setting:.1}, beyond its {highest}: take a larger one"
    )]
    TooHigh {
        wrench: String,
        setting: Torque,
        highest: Torque,
    },
    #[error("{0}: the scale must rise from a lowest to a highest mark in steps, in one unit")]
    Scale(String),
}

const SOURCE: &str = "S = T·L/(L + E·cos θ): US Army TM 9-254 fig. 4-6; NAVEDTRA 14014. Range: ISO \
                      6789-1:2017 (from 20 % of the highest mark, not below the lowest)";

impl Wrench {
    /// Works out what to dial for `target` at the fastener: S = T·L / (L + E·cos θ), where L is the
    /// wrench from square to grip, E the adapter from square to fastener, and θ its angle from straight
    /// ahead. At 90° nothing changes.
    ///
    /// The setting must lie between the lowest mark, or 20 % of the highest if that is more, and the
    /// highest mark. The mark dialled is never above the sum.
    ///
    /// # Errors
    /// [`WrenchError`] when the wrench cannot do it; each says what to take instead.
    pub fn setting(
        &self,
        target: Torque,
        between: Between<'_>,
        turning: Turning,
    ) -> Result<Worked<Setting>, WrenchError> {
        self.check(turning)?;
        let arm = arm(self.length, between, target)?;
        let unit = self.step.unit();
        let exact = Torque::computed(target.value_in(unit) / arm, unit);
        self.in_range(exact)?;
        let dial = exact.down_to_mark(self.step).ok_or(WrenchError::TooLow {
            wrench: self.name.clone(),
            setting: exact,
            floor: self.step,
            why: "its first mark",
        })?;
        let at = |factor: f64| Torque::computed(dial.value_in(unit) * arm * factor, unit);
        let a = self.deviation.in_ones();
        let setting = Setting {
            exact,
            dial,
            at_fastener: at(1.0),
            within: (at(1.0 - a), at(1.0 + a)),
        };
        let formula = written(target, unit, self.length, between, exact);
        let worked = Worked::new(setting, formula, SOURCE);
        let worked = match between {
            Between::Adapter(_) => worked.caution(
                "Hold the grip at its mark only, and keep the adapter at this angle: the sum holds for \
                 no other.",
            ),
            _ => worked,
        };
        Ok(match turning {
            Turning::Clockwise => worked,
            Turning::Anticlockwise => worked.caution("Tighten anticlockwise."),
        })
    }

    /// Returns the lowest setting it may be relied on, and why.
    pub fn floor(&self) -> (Torque, &'static str) {
        let fifth = Torque::computed(
            self.highest.value_in(self.highest.unit()) * 0.2,
            self.highest.unit(),
        );
        if fifth.newton_metres() > self.lowest.newton_metres() {
            (fifth, "20 % of its highest mark")
        } else {
            (self.lowest, "its lowest mark")
        }
    }

    fn check(&self, turning: Turning) -> Result<(), WrenchError> {
        let rises = self.lowest.newton_metres() < self.highest.newton_metres()
            && self.step.newton_metres() < self.highest.newton_metres()
            && self.lowest.unit() == self.step.unit()
            && self.highest.unit() == self.step.unit();
        if !rises {
            return Err(WrenchError::Scale(self.name.clone()));
        }
        if self.length <= Length::millimetres(0.0) {
            return Err(WrenchError::Length(self.name.clone()));
        }
        if turning == Turning::Anticlockwise && self.measures == Measures::Clockwise {
            return Err(WrenchError::WrongWay(self.name.clone()));
        }
        Ok(())
    }

    fn in_range(&self, exact: Torque) -> Result<(), WrenchError> {
        let (floor, why) = self.floor();
        // A setting on the end mark counts as on it, whatever conversion left in the last digits.
        let slack = 1e-9 * self.highest.newton_metres();
        if exact.newton_metres() < floor.newton_metres() - slack {
            return Err(WrenchError::TooLow {
                wrench: self.name.clone(),
                setting: exact,
                floor,
                why,
            });
        }
        if exact.newton_metres() > self.highest.newton_metres() + slack {
            return Err(WrenchError::TooHigh {
                wrench: self.name.clone(),
                setting: exact,
                highest: self.highest,
            });
        }
        Ok(())
    }
}

/// Works out what a wrench of `length` must show for `target` at the fastener, whatever its scale: the
/// sum of [`Wrench::setting`] without its range and marks.
///
/// # Errors
/// [`WrenchError`] for a length or an angle that cannot be, and for an adapter rated for less.
pub fn shown_by_lever(
    target: Torque,
    length: Length,
    between: Between<'_>,
) -> Result<Worked<Torque>, WrenchError> {
    if length <= Length::millimetres(0.0) {
        return Err(WrenchError::Length("the wrench".into()));
    }
    let unit = target.unit();
    let shown = target.value_in(unit) / arm(length, between, target)?;
    let shown = Torque::computed(shown, unit);
    let formula = written(target, unit, length, between, shown);
    Ok(Worked::new(shown, formula, SOURCE).caution(
        "The range and the marks of the wrench were not given: set it to the next mark below, and only \
         if that is at least 20 % of its highest and not below its lowest.",
    ))
}

/// Returns the formula of a setting with the numbers in it.
fn written(
    target: Torque,
    unit: TorqueUnit,
    length: Length,
    between: Between<'_>,
    shown: Torque,
) -> String {
    let wanted = neat(target.value_in(unit));
    let symbol = unit.symbol();
    match between {
        Between::Adapter(adapter) => format!(
            "{wanted} {symbol} × {length} / ({length} + {e} × cos {angle}) = {s} {symbol}",
            e = adapter.length,
            angle = adapter.angle,
            s = neat(shown.value_in(unit)),
        ),
        _ => format!("{wanted} {symbol}, nothing between that changes it"),
    }
}

/// Returns (L + E·cos θ) / L: what the fastener gets for each unit the wrench shows.
fn arm(length: Length, between: Between<'_>, target: Torque) -> Result<f64, WrenchError> {
    let Between::Adapter(adapter) = between else {
        return Ok(1.0);
    };
    if adapter.length <= Length::millimetres(0.0) {
        return Err(WrenchError::Length(adapter.name.clone()));
    }
    if !(0.0..=180.0).contains(&adapter.angle.in_degrees()) {
        let above = adapter.angle.in_degrees() > 180.0;
        return Err(WrenchError::Angle {
            given: adapter.angle,
            nearest: Angle::degrees(if above { 180.0 } else { 0.0 }),
        });
    }
    if let Some(most) = adapter.most
        && most.newton_metres() < target.newton_metres()
    {
        return Err(WrenchError::AdapterTooWeak {
            name: adapter.name.clone(),
            most,
            target,
        });
    }
    let ahead = adapter.length / length * adapter.angle.in_radians().cos();
    let arm = 1.0 + ahead;
    if arm <= 0.0 {
        return Err(WrenchError::NoArm(adapter.name.clone()));
    }
    Ok(arm)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TOOLS: &str = r#"(
        wrenches: [
            (name: "the half-inch wrench", length: "450 mm", lowest: "40 N·m", highest: "200 N·m",
             step: "1 N·m", deviation: "4 %"),
        ],
        adapters: [
            (name: "the open end", length: "50 mm", most: "120 N·m"),
            (name: "the long bar", length: "500 mm", angle: "180°"),
        ],
    )"#;

    fn tools() -> Tools {
        Tools::from_ron(TOOLS).unwrap()
    }

    fn torque(text: &str) -> Torque {
        text.parse().unwrap()
    }

    #[test]
    fn tools_are_read_from_a_file_and_written_back() {
        let tools = tools();
        let again = Tools::from_ron(&ron::to_string(&tools).unwrap()).unwrap();
        assert_eq!(again, tools);
        assert_eq!(tools.adapters[0].angle, Angle::degrees(0.0));
    }

    #[test]
    fn the_mark_dialled_is_never_above_the_sum() {
        let tools = tools();
        let worked = tools.wrenches[0]
            .setting(
                torque("110 N·m"),
                Between::Adapter(&tools.adapters[0]),
                Turning::Clockwise,
            )
            .unwrap();
        assert_eq!(worked.result.dial.to_string(), "99 N·m");
        assert_eq!(
            worked.formula,
            "110 N·m × 450 mm / (450 mm + 50 mm × cos 0 °) = 99 N·m"
        );
        assert!(worked.cautions[0].starts_with("Hold the grip"));
    }

    #[test]
    fn what_a_wrench_cannot_do_is_refused_with_the_cure() {
        let tools = tools();
        let refused = |target: &str, between: Between<'_>, turning| {
            let wrench = &tools.wrenches[0];
            wrench
                .setting(torque(target), between, turning)
                .unwrap_err()
                .to_string()
        };
        assert_eq!(
            refused("35 N·m", Between::Nothing, Turning::Clockwise),
            "the half-inch wrench would stand at 35.0 N·m, below 40.0 N·m where it may be relied on \
             (its lowest mark): take a smaller wrench"
        );
        assert_eq!(
            refused("210 N·m", Between::SocketExtension, Turning::Clockwise),
            "the half-inch wrench would have to stand at 210.0 N·m, beyond its 200 N·m: take a larger \
             one"
        );
        assert_eq!(
            refused("110 N·m", Between::Nothing, Turning::Anticlockwise),
            "the half-inch wrench measures clockwise only: take a wrench rated both ways for this \
             fastener"
        );
        let weak = Between::Adapter(&tools.adapters[0]);
        assert!(refused("130 N·m", weak, Turning::Clockwise).contains("rated to 120 N·m"));
        let back = Between::Adapter(&tools.adapters[1]);
        assert!(refused("110 N·m", back, Turning::Clockwise).contains("90° needs no correction"));
    }
}
