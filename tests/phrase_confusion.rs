//! Whether the recogniser takes one of two phrases for the other, and how far apart their sounds are:
//! what the gate's threshold rests on.
//!
//! `phrase_confusion.tsv` is the whole table, as measured: both phrases of each pair said by five
//! synthetic voices among the standard phrases, in quiet and at 10 and 5 dB of the invented compressor.
//! `BENCHCALL_CALIBRATE=FILE` measures it again (half an hour); without it a small part is heard.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod ears;

use std::fmt::Write;

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{NEAR, STANDARD_PHRASES, Sounds};
use benchcall::rehearse::room::{Decibel, RATE, Room};
use benchcall::rehearse::voices::{SyntheticVoice, voice_named};
use ears::{After, at_hand, hear, vocabulary};

/// Pairs from one changed sound to nothing in common.
const PAIRS: &[(&str, &str)] = &[
    // One word, or one sound of it.
    ("work complete", "word complete"),
    ("work complete", "work completed"),
    ("work complete", "works complete"),
    ("standing by", "stand by"),
    ("standing by", "standing dry"),
    ("stop stop", "top top"),
    ("stop stop", "shop stop"),
    ("say again", "way again"),
    ("say again", "pay again"),
    ("read torque", "red torque"),
    ("read torque", "need torque"),
    ("part missing", "parts missing"),
    ("parts list", "part list"),
    ("voice note", "voice notes"),
    ("wheel turns free", "wheel turned free"),
    ("pin seated", "pins seated"),
    ("thirteen done", "thirty done"),
    ("fifteen done", "fifty done"),
    ("disregard", "this guard"),
    ("begin countdown", "began countdown"),
    ("remain silent", "remains silent"),
    ("resume procedure", "assume procedure"),
    ("accept deviation", "except deviation"),
    ("cover sealed", "cover seated"),
    ("bolts greased", "bolt greased"),
    // One word of another sound.
    ("valve open", "valve closed"),
    ("brake on", "brake off"),
    ("drain plug in", "drain plug out"),
    ("left wheel down", "right wheel down"),
    ("wheel on ground", "wheel off ground"),
    ("tool missing", "part missing"),
    ("measure again", "say again"),
    ("next instruction", "previous instruction"),
    ("next instruction", "last instruction"),
    ("work complete", "wheel complete"),
    ("front axle clear", "rear axle clear"),
    // Other words, of alike build or not.
    ("read torque", "great fork"),
    ("say again", "stay in"),
    ("tyre carries load", "shaft all clear"),
    ("work complete", "resume procedure"),
];

const VOICES: [&str; 5] = [
    "flite:slt",
    "flite:rms",
    "espeak-ng:en-us",
    "festival:kal_diphone",
    "flite:awb",
];

const NOISES: [Option<Decibel>; 3] = [None, Some(Decibel(10.0)), Some(Decibel(5.0))];

/// What came of saying one phrase of a pair.
#[derive(Debug, Default, Clone, Copy)]
struct Tally {
    said: u32,
    understood: u32,
    /// Taken for the other one of the pair, and of these surely.
    confused: u32,
    surely: u32,
}

/// Samples before a phrase and after it.
const BEFORE: usize = RATE as usize;
const AFTER: usize = 3 * RATE as usize / 2;

/// Has both phrases of a pair said by every voice, among the standard phrases, while a machine runs.
fn hear_pair(pair: (&str, &str), voices: &[SyntheticVoice], noise: Option<Decibel>) -> Tally {
    let (one, other) = pair;
    let mut phrases = STANDARD_PHRASES.to_vec();
    phrases.retain(|phrase| *phrase != one && *phrase != other);
    phrases.extend([one, other]);
    let mut room = Room::new(noise, 1);
    let mut said = Vec::new();
    let mut begins = BEFORE;
    for voice in voices {
        for (phrase, wrong) in [(one, other), (other, one)] {
            let speech = voice.render(phrase).unwrap();
            said.push((begins, phrase, wrong));
            begins += speech.len() + AFTER + BEFORE;
            room.queue(vec![0; BEFORE]);
            room.queue(speech);
            room.queue(vec![0; AFTER]);
        }
    }
    let (mut sound, mut chunk) = (Vec::new(), Vec::new());
    while room.busy() {
        room.next_chunk(&mut chunk);
        sound.append(&mut chunk);
    }
    let last = sound.iter().rposition(|s| s.abs() > 500).unwrap_or(0);
    let heard = hear(RATE, &[sound], vocabulary(&phrases));
    let mut tally = Tally::default();
    for (i, (begins, phrase, wrong)) in said.iter().enumerate() {
        let ends = said.get(i + 1).map_or(usize::MAX, |next| next.0);
        let here = |h: &&After| {
            let at = last as f32 + h.seconds * RATE as f32;
            (*begins..ends).contains(&(at as usize))
        };
        let first = heard.iter().find(here).map(|h| &h.heard);
        tally.said += 1;
        tally.understood += u32::from(first.is_some_and(|h| h.text == *phrase));
        tally.confused += u32::from(first.is_some_and(|h| h.text == *wrong));
        tally.surely += u32::from(first.is_some_and(|h| h.text == *wrong && h.sure));
    }
    tally
}

fn apart(one: &str, other: &str) -> f64 {
    Sounds::of(one, &CmuDict).distance(&Sounds::of(other, &CmuDict))
}

/// Every pair of which one was ever taken for the other is refused by the gate, and what the gate lets
/// pass was never taken for anything of its pair.
#[test]
fn the_threshold_lies_above_every_pair_that_was_confused() {
    let mut rows: Vec<(f64, &str, u32, u32, u32)> = Vec::new();
    for line in include_str!("phrase_confusion.tsv").lines().skip(1) {
        let columns: Vec<&str> = line.split('\t').collect();
        let [said, understood, confused] = [2, 3, 4].map(|i| columns[i].parse().unwrap());
        rows.push((
            apart(columns[0], columns[1]),
            line,
            said,
            understood,
            confused,
        ));
    }
    rows.sort_by(|one, other| one.0.total_cmp(&other.0));
    for (distance, line, ..) in &rows {
        println!("{distance:.2}\t{line}");
    }
    for (from, to) in [(0.0, 0.15), (0.15, NEAR), (NEAR, 1.0)] {
        let band = rows.iter().filter(|row| (from..to).contains(&row.0));
        let (mut said, mut understood, mut confused) = (0, 0, 0);
        for row in band {
            said += row.2;
            understood += row.3;
            confused += row.4;
        }
        println!("{from:.2} to {to:.2}: said {said}, understood {understood}, confused {confused}");
    }
    let refused = rows.iter().filter(|row| row.0 < NEAR).count();
    assert!(
        refused >= 20 && rows.len() - refused >= 7,
        "{refused} of {}",
        rows.len()
    );
    for (distance, line, .., confused) in &rows {
        assert!(*distance < NEAR || *confused == 0, "{distance:.2} {line}");
    }
}

#[test]
fn the_recogniser_confuses_only_what_the_gate_refuses() {
    let tools = ["ears", "flite", "espeak-ng", "festival"];
    if !at_hand("confusion of near phrases", &tools) {
        return;
    }
    let all = std::env::var_os("BENCHCALL_CALIBRATE");
    let (step, most) = if all.is_some() { (1, 5) } else { (13, 2) };
    let voices: Vec<SyntheticVoice> = VOICES
        .iter()
        .take(most)
        .map(|name| voice_named(name).unwrap())
        .collect();
    let mut table = String::from("one\tother\tsaid\tunderstood\tconfused\tsurely\tby noise\n");
    for (one, other) in PAIRS.iter().copied().step_by(step) {
        write!(table, "{one}\t{other}").unwrap();
        let mut sum = Tally::default();
        let mut each = String::new();
        for noise in NOISES {
            let tally = hear_pair((one, other), &voices, noise);
            write!(each, " {}/{}", tally.understood, tally.confused).unwrap();
            sum.said += tally.said;
            sum.understood += tally.understood;
            sum.confused += tally.confused;
            sum.surely += tally.surely;
        }
        let Tally {
            said,
            understood,
            confused,
            surely,
        } = sum;
        let row = format!("\t{said}\t{understood}\t{confused}\t{surely}\t{each}\n");
        let distance = apart(one, other);
        print!("{distance:.2}\t{one}\t{other}{row}");
        assert!(
            all.is_some() || distance < NEAR || sum.confused == 0,
            "{one} / {other}"
        );
        write!(table, "{row}").unwrap();
    }
    if let Some(file) = all {
        std::fs::write(file, table).unwrap();
    }
}
