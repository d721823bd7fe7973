//! What helps hearing, each of which can be left out to measure what it is worth.

use clap::ValueEnum;

/// One of the aids.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Aid {
    /// The slow gain that brings speech to the level the recogniser hears best.
    Gain,
    /// The stream in which steady noise is suppressed.
    Suppression,
    /// The stream in which what is not a voice is taken out.
    Denoising,
    /// The score against the model's own graph.
    Score,
    /// What another network makes of what was said.
    Opinion,
}

impl Aid {
    /// The aid called `name` on the command line.
    pub fn named(name: &str) -> Option<Aid> {
        Aid::from_str(name, false).ok()
    }

    /// The name that [`Aid::named`] knows it by.
    pub fn name(self) -> String {
        let value = self.to_possible_value();
        value.map_or_else(String::new, |value| value.get_name().to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_aid_is_found_by_its_name() {
        for aid in Aid::value_variants() {
            assert_eq!(Aid::named(&aid.name()), Some(*aid));
        }
        assert_eq!(Aid::named("voice"), None);
    }
}
