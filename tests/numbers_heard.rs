//! Digits that people said, joined to readings and heard by the real recogniser.
//!
//! BENCHCALL_SOUND names the folder with `digits` and `noise`; BENCHCALL_READINGS is how many readings
//! each speaker says (12 where it is not set).

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod ears;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use benchcall::hear::{DigitCount, Vocabulary};
use ears::{After, at_hand, hear, vocabulary, wav};

/// What the recordings hold.
const RATE: u32 = 8_000;
const SPEAKERS: [&str; 3] = ["george", "jackson", "yweweler"];
/// The trimming of the recordings has cut the s off every "six" of this speaker: nobody could tell.
const CUT: (&str, char) = ("yweweler", '6');

/// Numbers that only look like chance, the same every time.
struct Chance(u64);

impl Chance {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % limit
    }
}

/// Unpacks recordings to 8 kHz, once each.
struct Sounds {
    folder: PathBuf,
    unpacked: tempfile::TempDir,
    known: BTreeMap<String, Vec<f32>>,
}

impl Sounds {
    fn get(&mut self, name: &str) -> &[f32] {
        if !self.known.contains_key(name) {
            let path = self.unpacked.path().join("one.wav");
            let status = Command::new("sox")
                .args(["-D", "-V1", "-v", "0.7"])
                .arg(self.folder.join(name))
                .args(["-b", "16", "-r", &RATE.to_string()])
                .arg(&path)
                .status()
                .unwrap();
            assert!(status.success(), "{name}");
            let sound = wav(&path).1.into_iter().map(f32::from).collect();
            self.known.insert(name.into(), sound);
        }
        &self.known[name]
    }
}

fn loud(sound: &[f32]) -> f32 {
    (sound.iter().map(|s| s * s).sum::<f32>() / sound.len().max(1) as f32).sqrt()
}

/// The held-out takes: those of odd number. No threshold was set on them.
fn takes(folder: &Path) -> Vec<usize> {
    (0..50)
        .filter(|take| take % 2 == 1)
        .filter(|take| folder.join(format!("digits/0_george_{take}.ogg")).exists())
        .collect()
}

/// Every second noise is held out.
fn noises(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder.join("noise"))
        .unwrap()
        .map(|entry| format!("noise/{}", entry.unwrap().file_name().to_string_lossy()))
        .filter(|name| name.ends_with(".ogg"))
        .collect();
    names.sort();
    names.into_iter().skip(1).step_by(2).collect()
}

struct Table {
    right: u32,
    asked_right: u32,
    asked_wrong: u32,
    missed: u32,
    wrong: u32,
}

#[test]
fn readings_that_people_said() {
    // The recordings are not ours to pass on, so no machine can be told to have them.
    let Ok(folder) = std::env::var("BENCHCALL_SOUND") else {
        println!("left out: readings that people said, for BENCHCALL_SOUND names no folder");
        return;
    };
    if !at_hand("readings that people said", &["ears", "sox", &folder]) {
        return;
    }
    let folder = PathBuf::from(folder);
    let each = std::env::var("BENCHCALL_READINGS").map_or(12, |n| n.parse().unwrap());
    let takes = takes(&folder);
    let noises = noises(&folder);
    let mut sounds = Sounds {
        folder,
        unpacked: tempfile::tempdir().unwrap(),
        known: BTreeMap::new(),
    };
    let mut chance = Chance(1959);
    for snr in [None, Some(20), Some(10), Some(5)] {
        let mut table = Table {
            right: 0,
            asked_right: 0,
            asked_wrong: 0,
            missed: 0,
            wrong: 0,
        };
        let mut cut = Table {
            right: 0,
            asked_right: 0,
            asked_wrong: 0,
            missed: 0,
            wrong: 0,
        };
        for speaker in SPEAKERS {
            let readings: Vec<String> = (0..each)
                .map(|i| match i % 4 {
                    // Those that are told apart least when said as one number.
                    0 => format!(
                        "{}{}",
                        1 + chance.below(9),
                        ["13", "30", "15", "50"][chance.below(4)]
                    ),
                    _ => format!("{:03}", chance.below(1_000)),
                })
                .collect();
            let clips: Vec<Vec<i16>> = readings
                .iter()
                .map(|reading| {
                    let clean = said(&mut sounds, reading, speaker, &takes, &mut chance);
                    let noise = noises[chance.below(noises.len())].clone();
                    mixed(&clean, snr.map(|snr| (sounds.get(&noise), snr)))
                })
                .collect();
            let heard = hear(RATE, &clips, wanted());
            for (i, reading) in readings.iter().enumerate() {
                let of_clip: Vec<&After> = heard.iter().filter(|one| one.clip == i).collect();
                let is_cut = speaker == CUT.0 && reading.contains(CUT.1);
                let table = if is_cut { &mut cut } else { &mut table };
                // The first answer counts: it is read back, and what follows is another saying.
                match of_clip.first().map(|one| &one.heard) {
                    None => table.missed += 1,
                    Some(one) if one.sure && one.text == *reading => table.right += 1,
                    Some(one) if one.sure => {
                        table.wrong += 1;
                        println!("WRONG: {speaker} said {reading} at {snr:?} dB: {one:?}");
                    }
                    Some(one) if one.text == *reading => table.asked_right += 1,
                    Some(_) => table.asked_wrong += 1,
                }
            }
        }
        let name = snr.map_or("clean".into(), |snr| format!("{snr} dB"));
        for (what, t) in [("", &table), (", six cut short", &cut)] {
            println!(
                "{name}{what}: {} right at once, {} asked back, {} asked back wrong, {} missed, {} wrong",
                t.right, t.asked_right, t.asked_wrong, t.missed, t.wrong
            );
        }
        assert_eq!(table.wrong, 0, "{name}");
        let all = table.right + table.asked_right + table.asked_wrong + table.missed;
        if snr.is_none() {
            assert!(
                (table.right + table.asked_right) * 100 >= all * 75,
                "{name}"
            );
        }
    }
}

fn wanted() -> Vocabulary {
    let mut vocabulary = vocabulary(&["confirm reading", "disregard", "say again", "stop stop"]);
    vocabulary.digits = Some(DigitCount {
        whole: 3,
        ..DigitCount::default()
    });
    vocabulary
}

/// Joins the digits of `reading`, 0.08 to 0.25 s apart, to active speech of −20 dBFS.
fn said(
    sounds: &mut Sounds,
    reading: &str,
    speaker: &str,
    takes: &[usize],
    chance: &mut Chance,
) -> Vec<f32> {
    let mut sound = Vec::new();
    let mut active = Vec::new();
    for digit in reading.chars() {
        if !sound.is_empty() {
            let gap = RATE as usize * (80 + chance.below(170)) / 1_000;
            sound.resize(sound.len() + gap, 0.0);
        }
        let take = takes[chance.below(takes.len())];
        let one = sounds.get(&format!("digits/{digit}_{speaker}_{take}.ogg"));
        sound.extend_from_slice(one);
        active.extend_from_slice(one);
    }
    let gain = 3_277.0 / loud(&active);
    sound.iter().map(|s| s * gain).collect()
}

/// Puts `sound` into a room with noise so many dB below it, 0.6 s before and 0.8 s after.
fn mixed(sound: &[f32], noise: Option<(&[f32], i32)>) -> Vec<i16> {
    let before = RATE as usize * 6 / 10;
    let mut room = vec![0.0; before];
    room.extend_from_slice(sound);
    room.resize(room.len() + RATE as usize * 8 / 10, 0.0);
    if let Some((noise, snr)) = noise {
        let length = room.len().min(noise.len());
        let gain = 3_277.0 / 10f32.powf(snr as f32 / 20.0) / loud(&noise[..length]).max(1.0);
        for (sample, noise) in room.iter_mut().zip(noise.iter().cycle()) {
            *sample += noise * gain;
        }
    }
    room.iter()
        .map(|s| s.clamp(-32_768.0, 32_767.0) as i16)
        .collect()
}
