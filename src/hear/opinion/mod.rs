//! A second opinion on which phrase was said: a network that was trained on other speech than the recogniser, hears
//! more of it in noise, and is asked how well each phrase fits.
//!
//! How likely the network holds a phrase is set against how likely it holds it where there is only noise: it knows
//! which texts are common, and everything here may be said.

pub mod layers;
pub mod network;
pub mod spectrum;
pub mod tokens;
pub mod weights;

use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use network::{Heard, Network, Told};
use spectrum::RATE;
use tokens::{Tokens, Tree};
use weights::Weights;

use super::decoder::{Gains, Opinion};
use super::level::{FaintNoise, floats};
use super::{DigitCount, numbers};
use crate::speak::sound::Sound;

/// The folder beside the speech model, and the files in it.
const FOLDER: &str = "opinion";
const WEIGHTS: &str = "model.bin";
const VOCABULARY: &str = "vocabulary.txt";
/// What is heard is made so long, in seconds: the network was trained on longer sound than one phrase.
const LENGTH: f32 = 6.0;
/// What is taken for only noise, as root mean square in steps of 16-bit sound, and its length in seconds.
const ONLY_NOISE: [f32; 2] = [100.0, 1_000.0];
const NOISE_LENGTH: f32 = 1.5;
/// So many beginnings of a reading are followed.
const MOST_BEGUN: usize = 10;

/// The network, and what it knows of the phrases.
pub struct SecondOpinion {
    network: Network,
    tokens: Tokens,
    /// What only noise is heard as.
    noise: Vec<Heard>,
    /// How likely a phrase is there.
    in_noise: HashMap<String, f32>,
    last: Option<Known>,
}

struct Known {
    phrases: Arc<[String]>,
    tree: Tree,
    told: Told,
}

/// Returns the folder of the network that lies beside the speech model in the folder `model`, if there is one.
pub fn folder(model: &Path) -> Option<PathBuf> {
    let folder = model.canonicalize().ok()?.parent()?.join(FOLDER);
    folder.join(WEIGHTS).is_file().then_some(folder)
}

impl SecondOpinion {
    /// Loads the network that lies beside the speech model in the folder `model`; none where there is none, or
    /// another.
    pub fn beside(model: &Path) -> Option<SecondOpinion> {
        let folder = folder(model)?;
        let weights = Weights::read(fs::read(folder.join(WEIGHTS)).ok()?)?;
        let network = Network::of(&weights)?;
        let tokens = Tokens::read(&fs::read_to_string(folder.join(VOCABULARY)).ok()?);
        if tokens.count() != network.pieces() {
            return None;
        }
        let mut faint = FaintNoise::default();
        let noise = ONLY_NOISE.map(|level| {
            let mut sound = vec![0; (NOISE_LENGTH * RATE as f32) as usize];
            faint.add_to(&mut sound, level);
            network.hear(&spectrum::mel(&as_heard(&sound, RATE)))
        });
        Some(SecondOpinion {
            noise: noise.into(),
            network,
            tokens,
            in_noise: HashMap::new(),
            last: None,
        })
    }

    /// Gets ready to be asked about `phrases`.
    pub fn prepare(&mut self, phrases: &Arc<[String]>) {
        let last = self.last.as_ref();
        if last.is_some_and(|known| known.phrases == *phrases) {
            return;
        }
        self.learn(phrases);
        let tree = self.tokens.tree(phrases.iter());
        self.last = tree.map(|tree| Known {
            phrases: Arc::clone(phrases),
            told: self.network.told(&tree),
            tree,
        });
    }

    /// Works out how likely those of `phrases` are in noise alone of which that is not known.
    fn learn(&mut self, phrases: &[String]) {
        let is_new = |phrase: &&String| !self.in_noise.contains_key(*phrase);
        let tree = self.tokens.tree(phrases.iter().filter(is_new));
        let Some(tree) = tree.filter(|tree| !tree.phrases.is_empty()) else {
            return;
        };
        let told = self.network.told(&tree);
        let mut mean = vec![0.0; tree.phrases.len()];
        for noise in &self.noise {
            let all = self.network.likelihoods(noise, &tree, &told);
            let share = 1.0 / self.noise.len() as f32;
            mean.iter_mut()
                .zip(all)
                .for_each(|(mean, one)| *mean += share * one);
        }
        let new = tree.phrases.into_iter().map(|(phrase, _)| phrase);
        self.in_noise.extend(new.zip(mean));
    }

    /// Returns which of `phrases` fits best what was said in `sound` of `rate` Hz.
    pub fn of(&mut self, sound: &[i16], rate: u32, phrases: &Arc<[String]>) -> Option<Opinion> {
        let (gains, _) = self.with_words(sound, rate, phrases, |_| false)?;
        gains.best()
    }

    /// Returns how well each fits, and how many words the likeliest free text has where that is wanted.
    pub fn with_words(
        &mut self,
        sound: &[i16],
        rate: u32,
        phrases: &Arc<[String]>,
        is_wanted: impl FnOnce(&Gains) -> bool,
    ) -> Option<(Gains, Option<usize>)> {
        let heard = self.hear(sound, rate);
        self.prepare(phrases);
        let known = self.last.as_ref()?;
        let gains = self.gains(known, &heard);
        let words = is_wanted(&gains).then(|| {
            let free = self.network.freely(&heard, &known.tree, &known.told);
            self.tokens.words(&free)
        });
        Some((gains, words))
    }

    /// Returns which reading of `count` digits, said one by one, fits best what was said in `sound` of `rate` Hz, in
    /// words; those of `also` are looked at in any case. None where the sound is too long to be heard as a whole.
    pub fn reading(
        &mut self,
        sound: &[i16],
        rate: u32,
        count: DigitCount,
        also: &[String],
    ) -> Option<Opinion> {
        if sound.len() as f32 > LENGTH * rate as f32 {
            return None;
        }
        let heard = self.hear(sound, rate);
        let mut begun = vec![String::new()];
        for words in numbers::by_place(count) {
            let longer = |begun: String| words.iter().map(move |word| format!("{begun} {word}"));
            begun = self.likeliest(begun.into_iter().flat_map(longer).collect(), &heard)?;
        }
        let whole = begun.iter().map(|words| words.trim_start().to_string());
        let mut all: Vec<String> = whole.chain(also.iter().cloned()).collect();
        all.sort_unstable();
        all.dedup();
        self.prepare(&all.into());
        self.gains(self.last.as_ref()?, &heard).best()
    }

    /// Returns the likeliest of several beginnings of what was said.
    fn likeliest(&self, begun: Vec<String>, heard: &Heard) -> Option<Vec<String>> {
        let tree = self.tokens.tree(begun.iter())?;
        let told = self.network.told(&tree);
        let mut fits: Vec<_> = self
            .network
            .beginnings(heard, &tree, &told)
            .into_iter()
            .zip(tree.phrases)
            .collect();
        fits.sort_by(|(a, _), (b, _)| b.total_cmp(a));
        let best = fits.into_iter().take(MOST_BEGUN);
        Some(best.map(|(_, (words, _))| words).collect())
    }

    fn hear(&self, sound: &[i16], rate: u32) -> Heard {
        self.network.hear(&spectrum::mel(&as_heard(sound, rate)))
    }

    fn gains(&self, known: &Known, heard: &Heard) -> Gains {
        let likelihoods = self.network.likelihoods(heard, &known.tree, &known.told);
        let phrases = known.tree.phrases.iter().zip(likelihoods);
        let gains = phrases.filter_map(|((phrase, _), likelihood)| {
            Some((phrase.clone(), likelihood - self.in_noise.get(phrase)?))
        });
        Gains(gains.collect())
    }
}

/// Returns `sound` at the network's rate and length, with silence after it.
fn as_heard(sound: &[i16], rate: u32) -> Vec<f32> {
    let sound = Sound {
        rate,
        samples: sound.to_vec(),
    };
    let brought = sound.at_rate(RATE);
    let mut heard = brought.map_or_else(|_| Vec::new(), |sound| floats(&sound.samples));
    heard.resize((LENGTH * RATE as f32) as usize, 0.0);
    heard
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::hear::{model_place, untested};

    /// The network, if it was fetched; it fails where everything has to be tested.
    pub(crate) fn loaded() -> Option<SecondOpinion> {
        let opened = model_place().and_then(|model| SecondOpinion::beside(&model));
        opened.or_else(|| untested("the second opinion's network (./models-fetch.sh)"))
    }

    /// One of the recordings of real people in Debian's `pocketsphinx-testdata`, 16 kHz, if it is installed.
    pub(crate) fn human(name: &str) -> Option<Vec<i16>> {
        let place = Path::new("/usr/share/pocketsphinx/test/data").join(name);
        let Ok(bytes) = fs::read(place) else {
            return untested("recordings of pocketsphinx-testdata (./models-fetch.sh --tests)");
        };
        let samples = bytes.as_chunks::<2>().0.iter();
        Some(samples.map(|&two| i16::from_le_bytes(two)).collect())
    }

    #[test]
    fn what_somebody_said_fits_best_at_any_rate_and_softly() {
        let (Some(mut second), Some(sound)) = (loaded(), human("goforward.raw")) else {
            return;
        };
        let phrases: Arc<[String]> = [
            "say again",
            "go forward ten meters",
            "forward ten minutes",
            "work complete",
        ]
        .map(str::to_string)
        .into();
        for softer in [1, 10] {
            let samples: Vec<i16> = sound.iter().map(|s| s / softer).collect();
            let at_half: Vec<i16> = samples.chunks(2).map(|two| two[0]).collect();
            for (samples, rate) in [(samples, RATE), (at_half, RATE / 2)] {
                let opinion = second.of(&samples, rate, &phrases).unwrap();
                assert_eq!(opinion.phrase, "go forward ten meters", "{rate}");
                assert!(opinion.gain > 15.0 && opinion.lead > 10.0, "{opinion:?}");
            }
        }
        let others: Arc<[String]> = ["say again", "work complete"].map(str::to_string).into();
        for is_wanted in [true, false] {
            let opinion = second.with_words(&sound, RATE, &others, |_| is_wanted);
            let (gains, words) = opinion.unwrap();
            let opinion = gains.best().unwrap();
            assert!(opinion.gain < 5.0, "{opinion:?}");
            assert_eq!(words.map(|words| words >= 5), is_wanted.then_some(true));
        }
    }

    #[test]
    fn figures_that_somebody_said_one_by_one_fit_best_as_a_reading() {
        // "Two nine three four zero", as its name says.
        let (Some(mut second), Some(sound)) = (loaded(), human("tidigits/dhd.2934z.raw")) else {
            return;
        };
        let count = |whole| DigitCount {
            whole,
            ..DigitCount::default()
        };
        let right = "two nine three four zero";
        let wrong = "two nine three four one".to_string();
        for also in [vec![], vec![wrong, right.to_string()]] {
            let opinion = second.reading(&sound, RATE, count(5), &also).unwrap();
            assert_eq!(opinion.phrase, right);
            assert!(opinion.gain > 10.0 && opinion.lead > 2.0, "{opinion:?}");
        }
        // With another count nothing stands out.
        let short = second.reading(&sound, RATE, count(3), &[]).unwrap();
        assert!(short.lead < 2.0, "{short:?}");
        let long = vec![0; (LENGTH * RATE as f32) as usize + 1];
        assert_eq!(second.reading(&long, RATE, count(3), &[]), None);
    }
}
