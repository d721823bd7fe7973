use super::*;
use crate::hear::bands::HOP;

const RATE: u32 = 16_000;
/// A second of words, and a second and a half without.
const WORDS: f32 = 1.0;
const ROUND: f32 = 2.5;

fn seconds(seconds: f32) -> usize {
    (seconds * RATE as f32) as usize
}

/// A voice made of the overtones of 120 Hz, in syllables of uneven length and loudness.
fn words(length: usize, dice: &mut fastrand::Rng) -> Vec<f32> {
    let mut sound = vec![0.0; length];
    let mut from = 0;
    while from < length {
        let rest = length - from;
        if from % seconds(ROUND) >= seconds(WORDS) {
            from = (from / seconds(ROUND) + 1) * seconds(ROUND);
            continue;
        }
        let syllable = seconds(0.14 + 0.12 * dice.f32()).min(rest);
        let loud = 0.3 + 0.7 * dice.f32();
        let pitch = 110.0 + 30.0 * dice.f32();
        let formant = 400.0 + 900.0 * dice.f32();
        for i in 0..syllable {
            let rise = (std::f32::consts::PI * i as f32 / syllable as f32).sin();
            let turn = std::f32::consts::TAU * pitch * i as f32 / RATE as f32;
            let voice: f32 = (1..30)
                .map(|n| {
                    let away = (n as f32 * pitch - formant) / 500.0;
                    (turn * n as f32).sin() * (0.1 / n as f32 + (-away * away).exp())
                })
                .sum();
            sound[from + i] = loud * rise * voice;
        }
        from += syllable + seconds(0.03);
    }
    sound
}

/// The noises: even, falling with frequency, of an engine, of a grinder, of rain.
fn noise(kind: &str, length: usize, dice: &mut fastrand::Rng) -> Vec<f32> {
    let (mut low, mut lower, mut drop) = (0.0, 0.0, 0.0);
    let mut before = 0.0;
    (0..length)
        .map(|i| {
            let time = i as f32 / RATE as f32;
            let turn = std::f32::consts::TAU * time;
            let white = dice.f32() * 2.0 - 1.0;
            low = 0.95 * low + 0.05 * white;
            lower = 0.7 * lower + 0.3 * white;
            match kind {
                "white" => white,
                "brown" => low,
                "engine" => {
                    let overtones: f32 = (1..20)
                        .map(|n| (turn * 27.0 * n as f32 + n as f32).sin() / n as f32)
                        .sum();
                    0.3 * overtones + 0.8 * lower * (1.0 + 0.5 * (turn * 27.0).sin())
                }
                "grinder" => {
                    let high = white - before;
                    before = white;
                    high * (1.0 + 0.1 * (turn * 11.0).sin()) + 0.5 * (turn * 630.0).sin()
                }
                _ => {
                    if dice.f32() < 0.004 {
                        drop = 1.0;
                    }
                    drop *= 0.97;
                    white * (0.3 + drop)
                }
            }
        })
        .collect()
}

const NOISES: [&str; 5] = ["white", "brown", "engine", "grinder", "rain"];

fn powers(sound: &[f32]) -> Vec<f32> {
    let sound: Vec<i16> = sound.iter().map(|s| (s * 8_000.0) as i16).collect();
    let mut powers = Vec::new();
    Cutter::new(RATE).take(&sound, |frame| powers.push(frame.power()));
    powers
}

/// The mean square of the words alone, over the time in which they are said.
fn said(words: &[f32]) -> f32 {
    let round = (ROUND / HOP) as usize;
    let while_said = |i: usize| i % round < (WORDS / HOP) as usize;
    let powers = powers(words);
    let said = powers.iter().enumerate().filter(|(i, _)| while_said(*i));
    mean(said.map(|(_, &power)| power)).unwrap()
}

/// Words and a noise so that the words are `ratio` dB above it; full scale is 1.
fn mixed(words: &[f32], noise: &[f32], ratio: f32) -> Vec<i16> {
    let of_noise = mean(powers(noise).into_iter()).unwrap();
    let gain = (said(words) / of_noise).sqrt() * 10f32.powf(-ratio / 20.0);
    let both = words.iter().zip(noise).map(|(w, n)| w + gain * n);
    both.map(|s| (s * 3_000.0).clamp(-32_768.0, 32_767.0) as i16)
        .collect()
}

fn read(sound: &[i16]) -> Meter {
    let mut meter = Meter::new(RATE);
    for piece in sound.chunks(480) {
        meter.take(piece, RATE);
    }
    meter
}

#[test]
fn known_ratios_are_read_in_every_noise() {
    let mut worst: f32 = 0.0;
    for kind in NOISES {
        for ratio in [0.0, 5.0, 10.0, 15.0, 20.0, 30.0] {
            let mut dice = fastrand::Rng::with_seed(7);
            let words = words(seconds(30.0), &mut dice);
            let noise = noise(kind, seconds(30.0), &mut dice);
            let reading = read(&mixed(&words, &noise, ratio)).reading();
            let read = reading.ratio.unwrap_or(f32::NAN);
            println!("{kind:8} {ratio:4}: {:.1}", read - ratio);
            assert!((read - ratio).abs() < 3.0, "{kind} {ratio}: {read}");
            worst = worst.max((read - ratio).abs());
        }
    }
    println!("worst {worst:.1} dB");
}

#[test]
fn steady_noise_is_not_speech_even_when_it_starts() {
    for kind in NOISES {
        let mut dice = fastrand::Rng::with_seed(5);
        let mut noise = noise(kind, seconds(40.0), &mut dice);
        // A machine that is switched on, and off again.
        for (i, sample) in noise.iter_mut().enumerate() {
            *sample *= if (10.0..30.0).contains(&(i as f32 / RATE as f32)) {
                0.5
            } else {
                0.02
            };
        }
        let sound: Vec<i16> = noise.iter().map(|s| (s * 8_000.0) as i16).collect();
        let reading = read(&sound).reading();
        assert_eq!(reading.ratio, None, "{kind}");
        assert_eq!(reading.loudness, Loudness::Unknown, "{kind}");
        assert!(!reading.talk, "{kind}");
    }
}

#[test]
fn the_room_is_read_alone() {
    let mut dice = fastrand::Rng::with_seed(5);
    let noise = noise("white", seconds(5.0), &mut dice);
    let sound: Vec<i16> = noise.iter().map(|s| (s * 1_000.0) as i16).collect();
    let wanted = decibels(mean(powers(&noise).into_iter()).unwrap()) - 18.06;
    let reading = read(&sound).reading();
    assert!(
        (reading.noise - wanted).abs() < 1.0,
        "{reading:?}, {wanted}"
    );
}

#[test]
fn a_machine_that_starts_between_words_lowers_the_ratio() {
    let mut dice = fastrand::Rng::with_seed(9);
    let words = words(seconds(30.0), &mut dice);
    let noise = noise("engine", seconds(30.0), &mut dice);
    let mut sound = mixed(&words, &noise, 30.0);
    let loud = mixed(&words, &noise, 3.0);
    let before = read(&sound[..seconds(15.0)]).reading();
    assert_eq!(before.loudness, Loudness::Good, "{before:?}");
    sound[seconds(15.0)..].copy_from_slice(&loud[seconds(15.0)..]);
    let after = read(&sound).reading();
    assert_eq!(after.loudness, Loudness::TooLoud, "{after:?}");
}

#[test]
fn what_is_said_of_the_noise_does_not_flicker() {
    assert_eq!(loudness(13.0, Loudness::Good), Loudness::TooLoudForReadings);
    assert_eq!(loudness(15.0, Loudness::Good), Loudness::Good);
    let worse = Loudness::TooLoudForReadings;
    assert_eq!(loudness(15.0, worse), worse);
    assert_eq!(loudness(16.5, worse), Loudness::Good);
    assert_eq!(loudness(7.0, worse), Loudness::TooLoud);
    assert_eq!(loudness(9.0, worse), worse);
    assert_eq!(loudness(9.0, Loudness::TooLoud), Loudness::TooLoud);
    assert_eq!(loudness(11.0, Loudness::TooLoud), worse);
    assert_eq!(loudness(17.0, Loudness::TooLoud), Loudness::Good);

    let mut dice = fastrand::Rng::with_seed(7);
    let words = words(seconds(60.0), &mut dice);
    let noise = noise("engine", seconds(60.0), &mut dice);
    let mut meter = Meter::new(RATE);
    let mut changes = 0;
    let mut before = Loudness::Unknown;
    for piece in mixed(&words, &noise, READINGS).chunks(480) {
        meter.take(piece, RATE);
        changes += usize::from(meter.reading().loudness != before);
        before = meter.reading().loudness;
    }
    assert!(changes <= 3, "{changes} changes in a minute at the bound");
}

#[test]
fn knocks_silence_and_other_rates_are_taken() {
    let mut sound = vec![0; seconds(10.0)];
    for blow in (seconds(2.0)..seconds(9.0)).step_by(seconds(0.7)) {
        for (i, sample) in sound[blow..blow + 400].iter_mut().enumerate() {
            *sample = (20_000.0 * (-(i as f32) / 80.0).exp()) as i16;
        }
    }
    let mut meter = read(&sound);
    assert_eq!(meter.reading().ratio, None);
    meter.take(&[0; 4_800], 48_000);
    meter.take(&[], 48_000);
    assert_eq!(meter.reading().dbfs, SILENCE);
}
