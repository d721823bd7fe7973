//! The synthetic voices of one part, and what they have said already.

use std::collections::HashMap;

use benchcall::rehearse::voices::SyntheticVoice;
use benchcall::rehearse::voices::voices_here;

use crate::Order;
use crate::mixing::Utterance;

/// A part's voices that this machine has.
#[derive(Debug)]
pub struct Mouth {
    voices: Vec<SyntheticVoice>,
    said: HashMap<(String, String), Utterance>,
}

/// `flite:slt@0.85`.
pub fn label(voice: &SyntheticVoice) -> String {
    format!("{voice}@{:?}", voice.speed)
}

impl Mouth {
    /// Looks for the voices of a part, and tells which are missing.
    pub fn new(order: &Order) -> Self {
        let here = voices_here();
        let mut voices = Vec::new();
        for (engine, name) in order.part.share().voices {
            let found = here.iter().find(|v| v.engine == *engine && v.name == *name);
            match found {
                Some(voice) => voices.push(voice.clone()),
                None => order.left_out(&format!(
                    "voice {}:{name}, which is not here",
                    engine.name()
                )),
            }
        }
        Self {
            voices,
            said: HashMap::new(),
        }
    }

    /// The voices, at their usual speed.
    pub fn voices(&self) -> &[SyntheticVoice] {
        &self.voices
    }

    /// What a voice makes of each text; nothing is rendered twice.
    ///
    /// # Errors
    ///
    /// One line where the voice cannot speak.
    pub fn say(
        &mut self,
        voice: &SyntheticVoice,
        texts: &[String],
    ) -> Result<Vec<Utterance>, String> {
        let label = label(voice);
        let key = |text: &String| (label.clone(), text.clone());
        let mut new: Vec<&str> = texts
            .iter()
            .filter(|text| !self.said.contains_key(&key(text)))
            .map(String::as_str)
            .collect();
        new.sort_unstable();
        new.dedup();
        if !new.is_empty() {
            for (text, sound) in new.iter().zip(voice.render_all(&new)?) {
                let utterance = Utterance::new(text, sound);
                self.said.insert(key(&String::from(*text)), utterance);
            }
        }
        let said = texts.iter().filter_map(|text| self.said.get(&key(text)));
        Ok(said.cloned().collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use benchcall::rehearse::voices::SpeechEngine;

    #[test]
    fn every_engine_says_several_texts_in_their_order() {
        let here = voices_here();
        for engine in ["espeak-ng", "flite", "festival", "piper"] {
            let Some(voice) = here.iter().find(|v| v.engine.name() == engine) else {
                println!("UNTESTED: speech by {engine}, which is not here");
                // The last is never asked for: it does not come with the system's packages.
                let may_be_missing = engine == SpeechEngine::Piper.name();
                assert!(may_be_missing || std::env::var_os("BENCHCALL_ALL_TESTS").is_none());
                continue;
            };
            let texts = [
                "say again",
                "assistance required, he said \"now\"",
                "say again",
            ];
            let spoken = voice.render_all(&texts).unwrap();
            assert_eq!(spoken.len(), 3, "{voice}");
            assert_eq!(
                spoken[0], spoken[2],
                "{voice}: the same text, the same sound"
            );
            assert!(spoken[1].len() > spoken[0].len() * 3 / 2, "{voice}");
            let slow = SyntheticVoice {
                speed: 0.8,
                ..voice.clone()
            };
            let stretched = slow.render("say again").unwrap().len() as f32 / spoken[0].len() as f32;
            assert!((1.05..1.45).contains(&stretched), "{voice}: {stretched}");
        }
    }
}
