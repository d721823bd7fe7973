//! The microphone check on recordings with known faults, and through a sound server.
#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "support/pulse.rs"]
mod pulse;

use std::path::Path;
use std::process::{Command, Output};

use benchcall::microphone::analysis::{Analysis, analyse};
use benchcall::microphone::{picture, words};

const RATE: u32 = 16_000;

/// Even noise of that level, in dBFS.
fn room(seconds: f32, dbfs: f32) -> Vec<f32> {
    let mut dice = fastrand::Rng::with_seed(11);
    let loud = 10f32.powf(dbfs / 20.0) * 3f32.sqrt();
    let count = (seconds * RATE as f32) as usize;
    (0..count)
        .map(|_| loud * (2.0 * dice.f32() - 1.0))
        .collect()
}

/// Adds a voice: overtones in syllables, a second of words in every two and a half.
fn speak(sound: &mut [f32], dbfs: f32) {
    let loud = 10f32.powf(dbfs / 20.0);
    let mut dice = fastrand::Rng::with_seed(4);
    let mut syllable = (0.0, 1.0, 600.0);
    for (i, sample) in sound.iter_mut().enumerate() {
        let time = i as f32 / RATE as f32;
        if (time + 1.5) % 2.5 >= 1.0 {
            continue;
        }
        if time - syllable.0 > 0.2 {
            syllable = (time, 0.4 + 0.6 * dice.f32(), 400.0 + 900.0 * dice.f32());
        }
        let rise = (std::f32::consts::PI * (time - syllable.0) / 0.2).sin();
        let voice: f32 = (1..30)
            .map(|n| {
                let away = (n as f32 * 120.0 - syllable.2) / 500.0;
                let turn = std::f32::consts::TAU * 120.0 * n as f32 * time;
                turn.sin() * (0.1 / n as f32 + (-away * away).exp())
            })
            .sum();
        *sample += loud * syllable.1 * rise * voice;
    }
}

fn steps(sound: &[f32]) -> Vec<i16> {
    sound.iter().map(|s| (s * 32_768.0) as i16).collect()
}

fn found(sound: &[f32]) -> Analysis {
    analyse(&steps(sound), RATE)
}

fn write(path: &Path, sound: &[f32]) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(path, spec).unwrap();
    for sample in steps(sound) {
        writer.write_sample(sample).unwrap();
    }
    writer.finalize().unwrap();
}

fn benchcall(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_benchcall"));
    command.args(arguments);
    command
}

fn told(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

#[test]
fn a_clear_voice_needs_no_change() {
    let mut sound = room(20.0, -65.0);
    speak(&mut sound, -20.0);
    let found = found(&sound);
    assert!(found.ratio.unwrap() > 30.0, "{found:?}");
    assert_eq!(words::Expect::of(found.ratio), words::Expect::Readings);
    assert_eq!(words::advice(&found), Vec::<String>::new());
    assert_eq!((found.clipped, found.dead_pieces), (0.0, 0));
    assert_eq!(found.hum, None);
}

#[test]
fn noise_decides_what_is_to_be_expected() {
    let ratio = |noise: f32| {
        let mut sound = room(20.0, noise);
        speak(&mut sound, -20.0);
        found(&sound).ratio.unwrap()
    };
    let quiet = ratio(-60.0);
    for noise in [-45.0, -38.0, -30.0] {
        let lost = quiet - ratio(noise);
        println!("noise {noise}: {lost:.1} dB lost");
        // What the noise gains the ratio loses.
        assert!((lost - (noise + 60.0)).abs() < 2.0, "{noise}: {lost}");
    }
    let loud = words::Expect::of(Some(5.0));
    assert!(loud.words().contains("pedal"));
    assert_eq!(words::Expect::of(Some(12.0)), words::Expect::Commands);
}

#[test]
fn hum_of_either_mains_is_found_with_its_level() {
    for mains in [50, 60] {
        let mut sound = room(10.0, -60.0);
        for (i, sample) in sound.iter_mut().enumerate() {
            let turn = std::f32::consts::TAU * mains as f32 * i as f32 / RATE as f32;
            // −30 dBFS, and an overtone 10 dB below.
            *sample += 0.0447 * turn.sin() + 0.0141 * (3.0 * turn).sin();
        }
        let found = found(&sound);
        let hum = found.hum.unwrap();
        assert_eq!(hum.mains, mains);
        assert!((hum.level + 29.6).abs() < 1.0, "{hum:?}");
        let advice = words::advice(&found).join("\n");
        assert!(advice.contains(&format!("{mains} Hz")), "{advice}");
    }
}

#[test]
fn clipping_faint_speech_constant_part_and_gaps_are_named() {
    let advice = |sound: &[f32]| words::advice(&found(sound)).join("\n");
    let mut clipped = room(10.0, -60.0);
    speak(&mut clipped, 0.0);
    assert!(advice(&clipped).contains("gain down"));

    let mut faint = room(20.0, -80.0);
    speak(&mut faint, -52.0);
    assert!(advice(&faint).contains("faint"));

    let mut constant = room(5.0, -60.0);
    constant.iter_mut().for_each(|s| *s += 0.05);
    assert!((found(&constant).constant - 0.05).abs() < 0.001);
    assert!(advice(&constant).contains("constant part"));

    let mut gaps = room(10.0, -40.0);
    for gap in gaps.chunks_mut(RATE as usize) {
        gap[..800].fill(0.0);
    }
    let found = found(&gaps);
    assert_eq!(found.dead_pieces, 10);
    assert!((found.dead - 0.05).abs() < 0.001, "{}", found.dead);
    assert!(advice(&gaps).contains("missing"));
    assert!(advice(&vec![0.0; 5 * RATE as usize]).contains("no sound at all"));
}

#[test]
fn the_picture_names_axes_curves_and_bands() {
    let mut sound = room(10.0, -50.0);
    speak(&mut sound, -20.0);
    let svg = picture::svg(&found(&sound));
    for label in ["Frequency in Hz", "dBFS", "speech", "noise", "vowels"] {
        assert!(svg.contains(label), "{label}");
    }
    assert_eq!(svg.matches("<polyline").count(), 2);
}

#[test]
fn a_recording_is_checked_from_the_command_line() {
    let folder = tempfile::tempdir().unwrap();
    let wav = folder.path().join("said.wav");
    let mut sound = room(12.0, -60.0);
    speak(&mut sound, -20.0);
    write(&wav, &sound);
    let svg = folder.path().join("said.svg");
    let from = wav.to_str().unwrap();
    let output = benchcall(&["hear", "--quick", "--from", from, "--picture"])
        .arg(&svg)
        .output()
        .unwrap();
    let told_quick = told(&output);
    assert_eq!(output.status.code(), Some(0), "{told_quick}");
    assert!(told_quick.contains("16000 Hz"), "{told_quick}");
    assert!(told_quick.contains("12.0 s"), "{told_quick}");
    assert!(svg.exists());

    // Without a model the levels are measured all the same.
    let output = benchcall(&["hear", "--from", from])
        .env("BENCHCALL_MODELS", folder.path())
        .output()
        .unwrap();
    assert!(told(&output).contains("Only levels"), "{}", told(&output));
    assert!(told(&output).contains("ratio"), "{}", told(&output));

    write(&wav, &vec![0.0; 4 * RATE as usize]);
    let output = benchcall(&["hear", "--quick", "--from", from])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(4), "{}", told(&output));

    let output = benchcall(&["hear", "--quick", "--from", "nothing.wav"])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", told(&output));
    assert!(told(&output).contains("nothing.wav"));
}

#[test]
fn a_microphone_that_is_not_there_is_named() {
    let output = benchcall(&["hear", "--quick", "--microphone", "no such one"])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", told(&output));
    assert!(told(&output).contains("benchcall devices"));
}

#[test]
fn sound_that_is_captured_is_measured_and_a_lost_device_told() {
    let Some(mut server) = pulse::Pulse::start() else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let wav = folder.path().join("said.wav");
    let mut sound = room(12.0, -50.0);
    speak(&mut sound, -20.0);
    write(&wav, &sound);
    let quick = || {
        let mut command = benchcall(&["hear", "--quick"]);
        server.give_to(&mut command);
        command.stdout(std::process::Stdio::piped());
        command.spawn().unwrap()
    };
    let child = quick();
    server.play(&wav);
    let output = child.wait_with_output().unwrap();
    println!("{}", told(&output));
    assert_eq!(output.status.code(), Some(0), "{}", told(&output));

    let child = quick();
    std::thread::sleep(std::time::Duration::from_secs(4));
    server.kill();
    let output = child.wait_with_output().unwrap();
    assert!(
        told(&output).contains("lost in between"),
        "{}",
        told(&output)
    );
    assert!(told(&output).contains("noise"), "{}", told(&output));
}
