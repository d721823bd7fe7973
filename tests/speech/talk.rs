//! What must not become a command: talk, words by themselves, sentences that come near a command,
//! noise and silence.

use std::path::Path;

use crate::Order;
use crate::clips;
use crate::clips::Clip;
use crate::corpus_file::Folder;
use crate::corpus_file::Head;
use crate::corpus_file::NoiseBegins;
use crate::mixing::Scene;
use crate::mixing::Utterance;
use crate::mixing::samples_in;
use crate::mixing::with_bed;
use crate::mouth::Mouth;
use crate::mouth::label;
use crate::noises::Noises;
use crate::sentences::HOLDING;
use crate::sentences::NEAR;
use crate::split::SPEEDS;
use crate::texts::Phrases;

/// A recording is closed when the clips in it are that long, in seconds.
const LENGTH: f64 = 180.0;
/// Between clips of running talk, and between words by themselves; seconds.
const TALK_PAUSES: std::ops::RangeInclusive<f64> = 0.2..=0.6;
const WORD_PAUSES: std::ops::RangeInclusive<f64> = 0.3..=1.0;
const SENTENCE_PAUSES: std::ops::RangeInclusive<f64> = 0.6..=1.5;
/// Talk is recorded without noise, and once more that many decibels above noise.
const RATIO: f64 = 10.0;
/// Noise alone is as loud as where a command would be that many decibels above it.
const ALONE_RATIO: f64 = 5.0;
const ALONE_LENGTH: f64 = 120.0;
/// In one recording of so many a reading is wanted, so that talk can become a number.
const READING_EVERY: usize = 3;
/// Recordings of each sort in a small corpus.
const SMALL: usize = 2;

struct Maker<'a> {
    order: &'a Order,
    noises: &'a Noises,
    phrases: Phrases,
    count: usize,
}

/// Makes a part's recordings of what is no command; tells what is missing.
///
/// # Errors
///
/// One line where a voice cannot speak or a file cannot be written.
pub fn make(
    order: &Order,
    sound: Option<&Path>,
    mouth: &mut Mouth,
    noises: &Noises,
    to: &mut Folder,
) -> Result<(), String> {
    let mut maker = Maker {
        order,
        noises,
        phrases: Phrases::of_the_program(order.call_sign)?,
        count: 0,
    };
    for (folder, pauses) in [("talk", TALK_PAUSES), ("words", WORD_PAUSES)] {
        let found = match sound {
            None => Err(String::from("No folder of sound was given")),
            Some(sound) => clips::of_folder(&sound.join(folder)),
        };
        match found.and_then(|files| unpacked(order, &files)) {
            Err(why) => order.left_out(&format!("real {folder}. {why}")),
            Ok(recordings) => {
                for utterances in recordings {
                    let head = maker.head(true, "people");
                    maker.record(folder, head, &utterances, pauses.clone(), to)?;
                }
            }
        }
    }
    maker.sentences(mouth, to)?;
    maker.without_speech(to)?;
    println!("{} talk: {}", order.part, to.account());
    Ok(())
}

/// This part's clips, shuffled and grouped into recordings.
fn unpacked(order: &Order, files: &[Clip]) -> Result<Vec<Vec<Utterance>>, String> {
    let mut mine: Vec<&Clip> = files
        .iter()
        .enumerate()
        .filter(|(n, _)| order.part.has(*n))
        .map(|(_, clip)| clip)
        .collect();
    order.random("talk").shuffle(&mut mine);
    let mut recordings = vec![Vec::new()];
    let mut length = 0;
    for clip in mine {
        if length >= samples_in(LENGTH) {
            if order.small && recordings.len() == SMALL {
                break;
            }
            recordings.push(Vec::new());
            length = 0;
        }
        let utterance = Utterance::new("", clip.samples()?);
        length += utterance.sound.len();
        if let Some(last) = recordings.last_mut() {
            last.push(utterance);
        }
    }
    Ok(recordings)
}

impl Maker<'_> {
    fn head(&mut self, real: bool, voice: &str) -> Head {
        self.count += 1;
        let wanted = self.count.is_multiple_of(READING_EVERY);
        Head {
            real,
            voice: String::from(voice),
            phrases: self.phrases.all(),
            grave: self.phrases.grave(),
            digits: wanted.then(|| String::from("3")),
            ..Head::new("talk", self.order.part)
        }
    }

    /// The same talk without noise and in noise.
    fn record(
        &mut self,
        sort: &str,
        head: Head,
        utterances: &[Utterance],
        pauses: std::ops::RangeInclusive<f64>,
        to: &mut Folder,
    ) -> Result<(), String> {
        for ratio in [None, Some(RATIO)] {
            let noise = self.noises.at(self.count, ratio);
            if ratio.is_some() && noise.is_none() {
                continue;
            }
            let scene = Scene {
                noise,
                begins: NoiseBegins::Before,
                room: None,
            };
            let what = format!("{sort} {} {ratio:?}", self.count);
            let mut random = self.order.random(&what);
            let (samples, _) = scene.record(utterances, pauses.clone(), &mut random);
            let head = head.clone().in_noise(noise);
            let name = format!("{sort}-{:03}-{}", self.count, head.short());
            to.keep(&name, &head, &samples, &[])?;
        }
        Ok(())
    }

    fn sentences(&mut self, mouth: &mut Mouth, to: &mut Folder) -> Result<(), String> {
        let voices = mouth.voices().to_vec();
        let most = if self.order.small {
            SMALL
        } else {
            voices.len()
        };
        for (n, mut voice) in voices.into_iter().take(most).enumerate() {
            voice.speed = SPEEDS[n % SPEEDS.len()];
            for (sort, sentences) in [("near", NEAR), ("holding", HOLDING)] {
                let mut texts: Vec<String> = sentences.iter().copied().map(String::from).collect();
                self.order
                    .random(&format!("{sort} {n}"))
                    .shuffle(&mut texts);
                let utterances = mouth.say(&voice, &texts)?;
                let head = self.head(false, &label(&voice));
                self.record(sort, head, &utterances, SENTENCE_PAUSES, to)?;
            }
        }
        Ok(())
    }

    fn without_speech(&mut self, to: &mut Folder) -> Result<(), String> {
        let length = samples_in(ALONE_LENGTH);
        for n in 0..self.noises.tracks.len() {
            let noise = self.noises.at(n, Some(ALONE_RATIO));
            let scene = Scene {
                noise,
                begins: NoiseBegins::Before,
                room: None,
            };
            let mut random = self.order.random(&format!("alone {n}"));
            let samples = scene.record_nothing(length, &mut random);
            let head = self.head(false, "none").in_noise(noise);
            to.keep(&format!("alone-{}", head.short()), &head, &samples, &[])?;
        }
        let head = self.head(false, "none");
        to.keep("silence-digital", &head, &vec![0; length], &[])?;
        let faint = with_bed(vec![0.0; length], &mut self.order.random("faint"));
        let head = self.head(false, "none");
        to.keep("silence-faint", &head, &faint, &[])
    }
}
