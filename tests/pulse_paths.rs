//! The sound paths through a real sound server: what the voice says reaches the loudspeaker, and
//! what sounds in the room reaches the microphone.
//!
//! The audio system reads its settings from the environment once in a process, so each test runs
//! its inner half in a process of its own: this test binary again, with the server's environment.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::env;
use std::fs;
use std::io::BufRead;
use std::io::BufReader;
use std::path::Path;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::sync::mpsc;
use std::time::Duration;

use benchcall::speak::Voice;
use benchcall::speak::VoiceNews;
use benchcall::speak::VoiceOptions;
use benchcall::speak::sound::Sound;
use benchcall::speak::sound::active_rms;
use benchcall::speak::sound::power;
use cpal::traits::DeviceTrait;
use cpal::traits::HostTrait;
use cpal::traits::StreamTrait;
use pulse::Pulse;

#[path = "support/pulse.rs"]
mod pulse;

const INNER: &str = "BENCHCALL_INNER_HALF";
const ENGINE: &[(&str, &str)] = &[("espeak-ng", "espeak-ng")];
const PATIENCE: Duration = Duration::from_secs(30);

/// The file or directory for the inner half, where this is it.
fn inner_half() -> Option<String> {
    env::var(INNER).ok()
}

/// Runs the inner half of a test: the test of that name again, on that server.
fn run_inner(pulse: &Pulse, test: &str, file: &Path) -> Child {
    let mut command = Command::new(env::current_exe().unwrap());
    command
        .args(["--exact", test, "--nocapture", "--test-threads=1"])
        .env(INNER, file)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped());
    pulse.give_to(&mut command);
    command.spawn().unwrap()
}

/// Waits until the inner half has written this line.
fn wait_for_line(child: &mut Child, wanted: &str) {
    let lines = BufReader::new(child.stdout.as_mut().unwrap()).lines();
    let mut seen = Vec::new();
    for line in lines {
        let line = line.unwrap();
        if line.ends_with(wanted) {
            return;
        }
        seen.push(line);
    }
    panic!(
        "the inner half did not say \"{wanted}\":\n{}",
        seen.join("\n")
    );
}

fn start_voice() -> (Voice, mpsc::Receiver<VoiceNews>) {
    let (sender, news) = mpsc::channel();
    let voice = Voice::start(VoiceOptions::default(), move |item| drop(sender.send(item)));
    (voice.unwrap(), news)
}

#[track_caller]
fn expect(news: &mpsc::Receiver<VoiceNews>, expected: VoiceNews) {
    assert_eq!(news.recv_timeout(PATIENCE), Ok(expected));
}

#[test]
fn what_the_voice_says_reaches_the_loudspeaker() {
    if inner_half().is_some() {
        let (voice, news) = start_voice();
        voice.say("Tighten nut three to one hundred ten newton metres.");
        expect(&news, VoiceNews::Began);
        expect(&news, VoiceNews::Ended);
        return;
    }
    if !pulse::has_tools("speech through the loudspeaker", ENGINE) {
        return;
    }
    let Some(pulse) = Pulse::start() else { return };
    let place = tempfile::tempdir().unwrap();
    let wav = place.path().join("speaker.wav");
    let recording = pulse.record_speaker(&wav);
    let mut child = run_inner(&pulse, "what_the_voice_says_reaches_the_loudspeaker", &wav);
    assert!(child.wait().unwrap().success());
    recording.finish().unwrap();

    let heard = Sound::from_wav(&fs::read(&wav).unwrap()).unwrap();
    let level = 20.0 * active_rms(&heard.samples, heard.rate).log10();
    assert!((-35.0..-5.0).contains(&level), "speech at {level} dBFS");
    let length = heard.trimmed().length().as_secs_f64();
    assert!((2.0..6.0).contains(&length), "{length} s of speech");
}

#[test]
fn a_hushed_voice_is_silent_and_something_new_is_heard() {
    if inner_half().is_some() {
        let (voice, news) = start_voice();
        voice
            .say("A very long caution. It goes on and on, and nobody wants to hear all of it now.");
        expect(&news, VoiceNews::Began);
        std::thread::sleep(Duration::from_millis(500));
        voice.hush();
        expect(&news, VoiceNews::Ended);
        std::thread::sleep(Duration::from_millis(1_000));
        voice.say("One.");
        expect(&news, VoiceNews::Began);
        // Replaced while it sounds.
        voice.say("Nut three.");
        expect(&news, VoiceNews::Ended);
        expect(&news, VoiceNews::Began);
        expect(&news, VoiceNews::Ended);
        return;
    }
    if !pulse::has_tools("hushing speech", ENGINE) {
        return;
    }
    let Some(pulse) = Pulse::start() else { return };
    let place = tempfile::tempdir().unwrap();
    let wav = place.path().join("speaker.wav");
    let recording = pulse.record_speaker(&wav);
    let mut child = run_inner(
        &pulse,
        "a_hushed_voice_is_silent_and_something_new_is_heard",
        &wav,
    );
    assert!(child.wait().unwrap().success());
    recording.finish().unwrap();

    let heard = Sound::from_wav(&fs::read(&wav).unwrap()).unwrap().trimmed();
    let tenth = heard.rate as usize / 10;
    let loud: Vec<bool> = heard
        .samples
        .chunks(tenth)
        .map(|part| power(part) > 1e-6)
        .collect();
    let longest_pause = loud.split(|&loud| loud).map(<[bool]>::len).max().unwrap();
    assert!(
        (7..=12).contains(&longest_pause),
        "pause of {longest_pause} tenths: {loud:?}"
    );
    let first = loud.iter().position(|&loud| !loud).unwrap();
    assert!(first <= 8, "hushed after {first} tenths: {loud:?}");
    let last = loud.iter().rev().take_while(|&&loud| loud).count();
    assert!(last >= 3, "then {last} tenths of speech: {loud:?}");
}

#[test]
fn a_lost_loudspeaker_is_reported_and_found_again() {
    if inner_half().is_some() {
        let (voice, news) = start_voice();
        voice.say(
            "A very long caution. It goes on and on, and somebody pulls the plug before it ends.",
        );
        expect(&news, VoiceNews::Began);
        println!("\nspeaking");
        let failed = news.recv_timeout(PATIENCE).unwrap();
        assert!(
            matches!(&failed, VoiceNews::Failed { why } if why.starts_with("The loudspeaker")),
            "{failed:?}"
        );
        expect(&news, VoiceNews::Ended);
        voice.say("Nobody can hear this.");
        let failed = news.recv_timeout(PATIENCE).unwrap();
        assert!(
            matches!(&failed, VoiceNews::Failed { why } if why.starts_with("Not said: the loudspeaker cannot be opened")),
            "{failed:?}"
        );
        expect(&news, VoiceNews::Ended);
        println!("lost");
        let mut line = String::new();
        std::io::stdin().read_line(&mut line).unwrap();
        voice.say("Back again.");
        expect(&news, VoiceNews::Began);
        expect(&news, VoiceNews::Ended);
        return;
    }
    if !pulse::has_tools("losing the loudspeaker", ENGINE) {
        return;
    }
    let Some(mut pulse) = Pulse::start() else {
        return;
    };
    let test = "a_lost_loudspeaker_is_reported_and_found_again";
    let mut child = run_inner(&pulse, test, Path::new("none"));
    wait_for_line(&mut child, "speaking");
    pulse.kill();
    wait_for_line(&mut child, "lost");
    pulse.start_again();
    // The end of its input lets it go on.
    drop(child.stdin.take());
    assert!(child.wait().unwrap().success());
}

#[test]
fn what_sounds_in_the_room_reaches_the_microphone() {
    if let Some(file) = inner_half() {
        return capture_into(Path::new(&file));
    }
    let Some(pulse) = Pulse::start() else { return };
    let place = tempfile::tempdir().unwrap();
    let (played, captured) = (
        place.path().join("tone.wav"),
        place.path().join("heard.wav"),
    );
    write(&played, 16_000, &tone(16_000, 16_000));
    let test = "what_sounds_in_the_room_reaches_the_microphone";
    let mut child = run_inner(&pulse, test, &captured);
    wait_for_line(&mut child, "listening");
    pulse.play(&played);
    drop(child.stdin.take());
    assert!(child.wait().unwrap().success());

    let heard = Sound::from_wav(&fs::read(&captured).unwrap()).unwrap();
    let share = share_of_tone(&heard.trimmed());
    assert!(share > 0.9, "only {share} of what was heard is the tone");
}

/// Captures from the default microphone until the standard input ends.
fn capture_into(file: &Path) {
    let device = cpal::default_host().default_input_device().unwrap();
    let config = device.default_input_config().unwrap();
    let (rate, channels) = (config.sample_rate(), usize::from(config.channels()));
    let mut wanted = config.config();
    wanted.buffer_size = cpal::BufferSize::Fixed(rate / 40);
    let (sender, pieces) = mpsc::channel();
    let stream = device
        .build_input_stream::<f32, _, _>(
            wanted,
            move |data, _| drop(sender.send(data.to_vec())),
            |error| eprintln!("capture: {error}"),
            None,
        )
        .unwrap();
    stream.play().unwrap();
    let first = pieces.recv_timeout(PATIENCE).unwrap();
    println!("\nlistening");
    std::io::stdin().read_line(&mut String::new()).unwrap();
    std::thread::sleep(Duration::from_millis(300));
    drop(stream);
    let all: Vec<f32> = [first]
        .into_iter()
        .chain(pieces.try_iter())
        .flatten()
        .collect();
    let mono: Vec<i16> = all
        .chunks_exact(channels)
        .map(|frame| (frame[0] * 32_767.0) as i16)
        .collect();
    write(file, rate, &mono);
}

/// 600 Hz.
fn tone(rate: u32, count: usize) -> Vec<i16> {
    let step = std::f64::consts::TAU * 600.0 / f64::from(rate);
    (0..count)
        .map(|n| ((n as f64 * step).sin() * 8_000.0) as i16)
        .collect()
}

/// The share of a sound's power that is the tone of 600 Hz, in pieces of 50 ms.
fn share_of_tone(sound: &Sound) -> f64 {
    let step = std::f64::consts::TAU * 600.0 / f64::from(sound.rate);
    let (mut of_tone, mut all) = (0.0, 0.0);
    for piece in sound.samples.chunks_exact(sound.rate as usize / 20) {
        let (mut s, mut c) = (0.0, 0.0);
        for (n, &sample) in piece.iter().enumerate() {
            s += f64::from(sample) * (n as f64 * step).sin();
            c += f64::from(sample) * (n as f64 * step).cos();
            all += f64::from(sample).powi(2);
        }
        of_tone += (s * s + c * c) * 2.0 / piece.len() as f64;
    }
    assert!(all > 0.0, "nothing was heard");
    of_tone / all
}

fn write(path: &Path, rate: u32, samples: &[i16]) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(path, spec).unwrap();
    for &sample in samples {
        writer.write_sample(sample).unwrap();
    }
    writer.finalize().unwrap();
}
