//! The one table of what belongs to which part: thresholds are set on the tuning part only, and the
//! figures are taken on the held-out one.

use std::fmt;

use benchcall::rehearse::voices::SpeechEngine;

/// A part of the corpus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    Tuning,
    HeldOut,
}

/// How fast the voices speak.
pub const SPEEDS: [f32; 3] = [0.85, 1.0, 1.2];

/// What a part is made of.
#[derive(Debug)]
pub struct Share {
    /// Engine and voice. The same person's voice is never in both parts: `slt` is in two engines, and
    /// so is `kal`.
    pub voices: &'static [(SpeechEngine, &'static str)],
    pub machines: &'static [Machine],
    /// Classes of real noise: the names of the clips before `__`, `-` as a space.
    pub classes: &'static [&'static str],
}

/// A noise that is made here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Machine {
    Compressor,
    Grinder,
    ImpactWrench,
    RadioTalk,
}

const TUNING: Share = Share {
    voices: &[
        (SpeechEngine::EspeakNg, "en-us"),
        (SpeechEngine::Flite, "slt"),
        (SpeechEngine::Festival, "cmu_us_slt_arctic_hts"),
        (SpeechEngine::EspeakNg, "en-us+f2"),
        (SpeechEngine::Flite, "rms"),
        (SpeechEngine::EspeakNg, "en-gb+m7"),
        (SpeechEngine::EspeakNg, "en-gb-x-rp"),
        (SpeechEngine::EspeakNg, "en-us+f4"),
    ],
    machines: &[Machine::Compressor, Machine::Grinder],
    classes: &[
        "chainsaw",
        "rain",
        "clock tick",
        "dog bark",
        "person sneeze",
    ],
};

const HELD_OUT: Share = Share {
    voices: &[
        (SpeechEngine::EspeakNg, "en-us+m3"),
        (SpeechEngine::Flite, "awb"),
        (SpeechEngine::Festival, "kal_diphone"),
        (SpeechEngine::Piper, "joe"),
        (SpeechEngine::EspeakNg, "en-gb+f3"),
        (SpeechEngine::Flite, "kal16"),
        (SpeechEngine::Festival, "ked_diphone"),
        (SpeechEngine::EspeakNg, "en-gb-scotland"),
    ],
    machines: &[
        Machine::ImpactWrench,
        Machine::RadioTalk,
        // It starts with another seed than the tuning part's.
        Machine::Compressor,
    ],
    classes: &[
        "helicopter",
        "sea waves",
        "fire crackling",
        "baby cry",
        "rooster",
    ],
};

/// Who talks on the radio; in no part as a person who gives commands. `kal` is the one that sounds as
/// over a telephone.
pub const RADIO_VOICES: [(SpeechEngine, &str); 3] = [
    (SpeechEngine::EspeakNg, "en-029"),
    (SpeechEngine::EspeakNg, "en-gb"),
    (SpeechEngine::Flite, "kal"),
];

impl Part {
    /// What belongs to it.
    pub fn share(self) -> &'static Share {
        match self {
            Self::Tuning => &TUNING,
            Self::HeldOut => &HELD_OUT,
        }
    }

    /// Whether the clip of that number among its like belongs to this part: every second does.
    pub fn has(self, number: usize) -> bool {
        number.is_multiple_of(2) == (self == Self::Tuning)
    }
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Tuning => "tuning",
            Self::HeldOut => "held-out",
        })
    }
}

impl Machine {
    /// Its name in the transcripts.
    pub fn name(self) -> &'static str {
        match self {
            Self::Compressor => "compressor",
            Self::Grinder => "grinder",
            Self::ImpactWrench => "impact wrench",
            Self::RadioTalk => "radio talk",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parts_share_no_voice_and_no_class_of_noise() {
        let person = |name: &str| name.replace("16", "").replace("cmu_us_", "");
        for (engine, voice) in TUNING.voices.iter().chain(&RADIO_VOICES) {
            for (other_engine, other) in HELD_OUT.voices {
                assert!(engine != other_engine || voice != other);
                let (one, two) = (person(voice), person(other));
                assert!(one.split('_').next() != two.split('_').next() || *voice == "kal");
            }
        }
        assert!(!TUNING.classes.iter().any(|c| HELD_OUT.classes.contains(c)));
    }

    #[test]
    fn held_out_voices_are_eight_of_four_engines() {
        let mut engines: Vec<&str> = HELD_OUT.voices.iter().map(|(e, _)| e.name()).collect();
        assert!(engines.len() >= 8);
        engines.sort_unstable();
        engines.dedup();
        assert_eq!(engines.len(), 4);
    }
}
