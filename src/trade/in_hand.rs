//! The wrench and adapter in hand: what to dial on them for a torque, and whether they can prove it.

use super::quantity::Share;
use super::torque_band::TorqueBand;
use super::wrench::{Adapter, Between, Tools, Turning, Wrench};
use super::{Torque, Verdict};

/// A wrench of the person's own, with what stands on its square.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InHand<'a> {
    pub wrench: &'a Wrench,
    pub adapter: Option<&'a Adapter>,
}

/// What to dial, and what speaks against this wrench.
#[derive(Debug, Clone, PartialEq)]
pub struct Dial {
    /// `Warn` where the wrench is not the one for it, `Refuse` where it cannot do it at all.
    pub verdict: Verdict,
    /// `the long wrench with the open end: dial 96 N·m`, or why not.
    pub words: String,
    /// Cautions, in whole sentences.
    pub more: Vec<String>,
}

impl Tools {
    /// Returns the wrench of this name.
    pub fn wrench(&self, name: &str) -> Option<&Wrench> {
        self.wrenches.iter().find(|wrench| wrench.name == name)
    }

    /// Returns the names of all tools.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        let wrenches = self.wrenches.iter().map(|wrench| wrench.name.as_str());
        wrenches.chain(self.adapters.iter().map(|adapter| adapter.name.as_str()))
    }

    /// Returns the adapter of this name.
    pub fn adapter(&self, name: &str) -> Option<&Adapter> {
        self.adapters.iter().find(|adapter| adapter.name == name)
    }
}

impl InHand<'_> {
    /// Returns what both are called.
    pub fn called(&self) -> String {
        match self.adapter {
            None => self.wrench.name.clone(),
            Some(adapter) => format!("{} with {}", self.wrench.name, adapter.name),
        }
    }

    /// Returns what to dial for `target`, and whether that proves the `band`.
    ///
    /// Sources: those of [`Wrench::setting`] and [`TorqueBand::proved_by`].
    pub fn dial(&self, target: Torque, band: Option<TorqueBand>, turning: Turning) -> Dial {
        let between = self.adapter.map_or(Between::Nothing, Between::Adapter);
        let worked = match self.wrench.setting(target, between, turning) {
            Ok(worked) => worked,
            Err(why) => {
                return Dial {
                    verdict: Verdict::Refuse,
                    words: why.to_string(),
                    more: Vec::new(),
                };
            }
        };
        let setting = worked.result;
        let mut dial = Dial {
            verdict: Verdict::Go,
            words: format!("{}: dial {}", self.called(), setting.dial),
            more: worked.cautions,
        };
        if let Some(band) = band {
            let class: Share = self.wrench.deviation;
            let proof = band.proved_by(setting.at_fastener, class);
            if proof.result.proved {
                dial.words
                    .push_str(&format!(", which proves the band within ±{class}"));
            } else {
                dial.verdict = Verdict::Warn;
                dial.words
                    .push_str(&format!(", which does not prove {band} within ±{class}"));
                dial.more.extend(proof.cautions);
            }
        }
        dial
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tools() -> Tools {
        Tools::from_ron(
            r#"(
                wrenches: [(name: "long wrench", length: "450 mm", lowest: "40 N·m",
                            highest: "200 N·m", step: "1 N·m", deviation: "4 %")],
                adapters: [(name: "open end", length: "50 mm", most: "120 N·m")],
            )"#,
        )
        .unwrap()
    }

    fn dial(adapter: Option<&str>, target: &str, band: Option<&str>, turning: Turning) -> Dial {
        let tools = tools();
        let in_hand = InHand {
            wrench: tools.wrench("long wrench").unwrap(),
            adapter: adapter.map(|name| tools.adapter(name).unwrap()),
        };
        let band = band.map(|band| band.parse().unwrap());
        in_hand.dial(target.parse().unwrap(), band, turning)
    }

    /// 110 × 450/(450 + 50) = 99 by hand.
    #[test]
    fn the_setting_is_said_with_the_tools() {
        let plain = dial(None, "110 N·m", None, Turning::Clockwise);
        assert_eq!(plain.words, "long wrench: dial 110 N·m");
        let longer = dial(Some("open end"), "110 N·m", None, Turning::Clockwise);
        assert_eq!(longer.words, "long wrench with open end: dial 99 N·m");
        assert!(!longer.more.is_empty());
    }

    #[test]
    fn a_band_is_proved_or_not() {
        let wide = dial(None, "110 N·m", Some("110 ± 6 N·m"), Turning::Clockwise);
        assert_eq!(wide.verdict, Verdict::Go);
        let narrow = dial(None, "110 N·m", Some("110 ± 2 N·m"), Turning::Clockwise);
        assert_eq!(narrow.verdict, Verdict::Warn);
        assert!(narrow.words.contains("does not prove"), "{}", narrow.words);
    }

    #[test]
    fn a_wrench_that_cannot_says_so() {
        for (adapter, target, turning) in [
            (None, "20 N·m", Turning::Clockwise),
            (None, "300 N·m", Turning::Clockwise),
            (None, "110 N·m", Turning::Anticlockwise),
            (Some("open end"), "150 N·m", Turning::Clockwise),
        ] {
            let refused = dial(adapter, target, None, turning);
            assert_eq!(refused.verdict, Verdict::Refuse, "{target}");
        }
    }
}
