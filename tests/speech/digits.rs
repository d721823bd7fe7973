//! Readings by real people: single digits that three people spoke, joined.

use std::collections::BTreeMap;
use std::path::Path;

use benchcall::hear::numbers;
use benchcall::rehearse::room::SPEECH_LEVEL;
use benchcall::rehearse::room::brought_to_level;

use crate::Order;
use crate::clips;
use crate::corpus_file::Folder;
use crate::corpus_file::Head;
use crate::corpus_file::NoiseBegins;
use crate::mixing::Scene;
use crate::mixing::Utterance;
use crate::mixing::samples_in;
use crate::noises::Noises;
use crate::readings::format_name;
use crate::readings::readings;

/// Nobody in the folder says "point".
const FORMATS: [(usize, usize); 3] = [(2, 0), (3, 0), (4, 0)];
/// Decibels above noise, and how many readings of each person and format.
const RATIOS: [(Option<f64>, usize); 4] = [
    (None, 70),
    (Some(20.0), 25),
    (Some(10.0), 25),
    (Some(5.0), 25),
];
/// The readings that a small corpus has of them, one in so many.
const SMALL: usize = 5;
/// From one digit to the next, in seconds; the clips are cut tight.
const GAP: std::ops::RangeInclusive<f64> = 0.08..=0.25;
/// Silence between readings, in seconds.
const PAUSES: std::ops::RangeInclusive<f64> = 1.5..=2.5;
/// The clips are cut within sound: they get ends as soft as this, in seconds, so as not to click.
const FADE: f64 = 0.002;

/// The clips of each person, by digit.
type Spoken = BTreeMap<String, [Vec<Vec<i16>>; 10]>;

/// Makes a part's recordings of joined digits; tells where there are none.
///
/// # Errors
///
/// One line where a file cannot be written.
pub fn make(
    order: &Order,
    sound: Option<&Path>,
    noises: &Noises,
    to: &mut Folder,
) -> Result<(), String> {
    let Some(sound) = sound else {
        order.left_out("real digits, for no folder of sound was given");
        return Ok(());
    };
    let spoken = match spoken(order, &sound.join("digits")) {
        Ok(spoken) => spoken,
        Err(why) => {
            order.left_out(&format!("real digits. {why}"));
            return Ok(());
        }
    };
    let mut n = 0;
    for (person, digits) in &spoken {
        for format in FORMATS {
            for (ratio, count) in RATIOS {
                n += 1;
                let mut random = order.random(&format!("real readings {n}"));
                let count = if order.small { count / SMALL } else { count };
                let utterances: Vec<Utterance> = readings(format, count, &mut random)
                    .iter()
                    .filter_map(|reading| joined(reading, digits, &mut random))
                    .collect();
                let noise = noises.at(n, ratio);
                let scene = Scene {
                    noise,
                    begins: NoiseBegins::Before,
                    room: None,
                };
                let (samples, said) = scene.record(&utterances, PAUSES, &mut random);
                let head = Head {
                    real: true,
                    voice: person.clone(),
                    digits: Some(format_name(format)),
                    ..Head::new("readings", order.part).in_noise(noise)
                };
                to.keep(
                    &format!("real-{n:03}-{}", head.short()),
                    &head,
                    &samples,
                    &said,
                )?;
            }
        }
    }
    println!("{} readings of real digits: {}", order.part, to.account());
    Ok(())
}

/// The takes of this part from files named `digit_person_take`.
fn spoken(order: &Order, folder: &Path) -> Result<Spoken, String> {
    let mut spoken = Spoken::new();
    for clip in clips::of_folder(folder)? {
        let mut parts = clip.name().split('_');
        let (digit, person, take) = (parts.next(), parts.next(), parts.next());
        let digit = digit.and_then(|digit| digit.parse::<usize>().ok());
        let take = take.and_then(|take| take.parse::<usize>().ok());
        if let (Some(digit @ 0..=9), Some(person), Some(take)) = (digit, person, take)
            && order.part.has(take)
        {
            let of_person = spoken.entry(String::from(person)).or_default();
            of_person[digit].push(soft(brought_to_level(clip.samples()?, SPEECH_LEVEL)));
        }
    }
    spoken.retain(|_, digits| digits.iter().all(|takes| !takes.is_empty()));
    if spoken.is_empty() {
        return Err(format!(
            "Nobody says all ten digits in {}",
            folder.display()
        ));
    }
    Ok(spoken)
}

fn soft(mut clip: Vec<i16>) -> Vec<i16> {
    let fade = samples_in(FADE).min(clip.len() / 2);
    let last = clip.len().saturating_sub(1);
    for n in 0..fade {
        for at in [n, last - n] {
            clip[at] = (f64::from(clip[at]) * n as f64 / fade as f64) as i16;
        }
    }
    clip
}

/// One reading of one person; the gaps are filled by the recording's own faint noise.
fn joined(
    reading: &str,
    digits: &[Vec<Vec<i16>>; 10],
    random: &mut fastrand::Rng,
) -> Option<Utterance> {
    let mut sound = Vec::new();
    for digit in reading.chars() {
        if !sound.is_empty() {
            let gap = GAP.start() + random.f64() * (GAP.end() - GAP.start());
            sound.resize(sound.len() + samples_in(gap), 0);
        }
        let takes = digits.get(digit.to_digit(10)? as usize)?;
        sound.extend(random.choice(takes)?);
    }
    Some(Utterance::new(&numbers::words(reading)?, sound))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_joined_in_their_order_with_gaps() {
        let digits: [Vec<Vec<i16>>; 10] =
            std::array::from_fn(|digit| vec![vec![1_000 + digit as i16; 1_600]; 2]);
        let mut random = fastrand::Rng::with_seed(1);
        let one = joined("309", &digits, &mut random).unwrap();
        assert_eq!(one.words, "three zero nine");
        let rest = one.sound.len() - 3 * 1_600;
        assert!((2 * 1_280..=2 * 4_000).contains(&rest), "{rest}");
        assert_eq!(one.sound[1_600..1_600 + 1_280], [0; 1_280]);
        assert!(joined("3.9", &digits, &mut random).is_none());
    }

    #[test]
    fn clips_begin_and_end_softly() {
        let clip = soft(vec![3_200; 100]);
        assert_eq!(
            (clip[0], clip[16], clip[50], clip[99]),
            (0, 1_600, 3_200, 0)
        );
        assert!(soft(Vec::new()).is_empty());
    }
}
