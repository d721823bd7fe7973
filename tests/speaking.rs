//! The voice's orders and news, on ALSA's null device and with engines that misbehave.
//!
//! The null device takes sound as fast as it is given, so nothing here says anything about time.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::sync::mpsc;
use std::time::Duration;
use std::time::Instant;

use benchcall::rehearse::voices::SyntheticVoice;
use benchcall::rehearse::voices::voice_named;
use benchcall::rehearse::voices::voices_here;
use benchcall::speak::Voice;
use benchcall::speak::VoiceNews;
use benchcall::speak::VoiceOptions;
use benchcall::speak::sound::active_rms;

#[path = "support/pulse.rs"]
mod pulse;

/// Longer than an engine is waited for.
const PATIENCE: Duration = Duration::from_secs(20);

struct Bench {
    voice: Voice,
    news: mpsc::Receiver<VoiceNews>,
    _place: tempfile::TempDir,
}

/// A voice with an engine that is a shell script; `$TEXT` holds what it is to say.
fn bench(script: &str) -> Bench {
    let place = tempfile::tempdir().unwrap();
    let engine = place.path().join("engine");
    let wav = place.path().join("second.wav");
    write_a_second_of_sound(&wav);
    let script = format!("#!/bin/sh\nWAV={}\nTEXT=$(cat)\n{script}\n", wav.display());
    fs::write(&engine, script).unwrap();
    fs::set_permissions(&engine, fs::Permissions::from_mode(0o755)).unwrap();
    let (sender, news) = mpsc::channel();
    let options = VoiceOptions {
        engine: Some(engine.display().to_string()),
        device: Some(String::from("null")),
        ..VoiceOptions::default()
    };
    let voice = Voice::start(options, move |item| drop(sender.send(item))).unwrap();
    Bench {
        voice,
        news,
        _place: place,
    }
}

fn write_a_second_of_sound(path: &std::path::Path) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 22_050,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(path, spec).unwrap();
    for n in 0..22_050 {
        writer
            .write_sample(if n % 40 < 20 { 9_000_i16 } else { -9_000 })
            .unwrap();
    }
    writer.finalize().unwrap();
}

impl Bench {
    /// The next news in short.
    fn next(&self) -> String {
        match self.news.recv_timeout(PATIENCE) {
            Ok(item) => short(item),
            Err(e) => format!("no news: {e}"),
        }
    }

    #[track_caller]
    fn expect(&self, expected: &[&str]) {
        let news: Vec<_> = expected.iter().map(|_| self.next()).collect();
        assert_eq!(news, expected);
    }

    /// Checks the next news, and that there is no more of it once the voice is gone.
    #[track_caller]
    fn expect_only(self, expected: &[&str]) {
        self.expect(expected);
        drop(self.voice);
        let rest: Vec<_> = self.news.iter().map(short).collect();
        assert!(rest.is_empty(), "and then {rest:?}");
    }
}

/// `began`, `ended`, or why it failed.
fn short(news: VoiceNews) -> String {
    match news {
        VoiceNews::Began => String::from("began"),
        VoiceNews::Ended => String::from("ended"),
        VoiceNews::Failed { why } => why,
    }
}

#[test]
fn what_is_said_begins_and_ends() {
    let bench = bench("cat $WAV");
    bench.voice.say("Start all five nuts by hand");
    bench.expect(&["began", "ended"]);
    bench.voice.say("Start all five nuts by hand");
    bench.expect_only(&["began", "ended"]);
}

#[test]
fn the_same_again_is_passed_over_and_something_else_replaces_it() {
    let bench = bench("sleep 0.3; cat $WAV");
    bench.voice.say("Start all five nuts by hand");
    bench.voice.say("Start all five\nnuts by hand");
    bench.expect(&["began", "ended"]);

    bench.voice.say("one");
    bench.voice.say("two");
    bench.expect_only(&["ended", "began", "ended"]);
}

#[test]
fn a_hushed_text_ends() {
    let bench = bench("sleep 0.3; cat $WAV");
    bench.voice.say("not yet rendered");
    bench.voice.hush();
    bench.voice.hush();
    bench.expect_only(&["ended"]);
}

#[test]
fn a_text_without_words_ends_at_once() {
    let bench = bench("cat $WAV");
    bench.voice.say("\u{7} …");
    bench.expect_only(&["ended"]);
}

#[test]
fn the_engine_is_asked_once_for_a_prepared_text() {
    let bench = bench("echo \"$TEXT\" >> ${0}-asked; cat $WAV");
    bench.voice.prepare("lower the axle");
    bench.voice.prepare("lower the axle");
    bench.voice.say("lower the axle");
    bench.expect(&["began", "ended"]);
    bench.voice.say("lower the axle");
    bench.expect(&["began", "ended"]);
    let asked = fs::read_to_string(bench._place.path().join("engine-asked")).unwrap();
    assert_eq!(asked, "lower the axle\n");
}

#[test]
fn an_engine_that_fails_is_quoted_and_tried_again() {
    let bench =
        bench("[ -e $0-ready ] && exec cat $WAV; touch $0-ready; echo 'no such voice' >&2; exit 2");
    bench.voice.say("work complete");
    let why = bench.next();
    assert!(why.starts_with("Not said: "), "{why}");
    assert!(
        why.ends_with("engine failed (exit status: 2): no such voice"),
        "{why}"
    );
    assert_eq!(bench.next(), "ended");
    bench.voice.say("work complete");
    bench.expect(&["began", "ended"]);
}

#[test]
fn an_engine_that_gives_no_sound_is_reported() {
    for script in [
        "echo no sound",
        "true",
        "head -c 30 $WAV",
        "head -c 44 $WAV",
    ] {
        let bench = bench(script);
        bench.voice.say("work complete");
        let why = bench.next();
        assert!(why.starts_with("Not said: "), "{script}: {why}");
        bench.expect_only(&["ended"]);
    }
}

#[test]
fn an_engine_that_hangs_is_stopped() {
    let bench = bench("echo $$ > $0-pid; exec sleep 600");
    let start = Instant::now();
    bench.voice.say("work complete");
    let why = bench.next();
    assert!(
        why.ends_with("had not ended within 10 s and was stopped"),
        "{why}"
    );
    assert_eq!(bench.next(), "ended");
    assert!(start.elapsed() >= Duration::from_secs(9));
    let pid = fs::read_to_string(bench._place.path().join("engine-pid")).unwrap();
    assert!(!fs::exists(format!("/proc/{}", pid.trim())).unwrap());
}

#[test]
fn dropping_the_voice_ends_what_is_said() {
    let Bench {
        voice,
        news,
        _place,
    } = bench("sleep 0.3; cat $WAV");
    voice.say("work complete");
    drop(voice);
    assert_eq!(news.recv_timeout(PATIENCE), Ok(VoiceNews::Ended));
    assert_eq!(
        news.recv_timeout(PATIENCE),
        Err(mpsc::RecvTimeoutError::Disconnected)
    );
}

#[test]
fn a_missing_loudspeaker_is_named() {
    let options = VoiceOptions {
        engine: Some(String::from("sh")),
        device: Some(String::from("no such device")),
        ..VoiceOptions::default()
    };
    let why = Voice::start(options, |_| {}).unwrap_err().to_string();
    assert!(
        why.starts_with("No speech: no loudspeaker no such device; there is: "),
        "{why}"
    );
    assert!(why.contains("null"), "{why}");
}

#[test]
fn every_synthetic_voice_of_this_machine_speaks() {
    let engines = [
        ("espeak-ng", "espeak-ng"),
        ("flite", "flite"),
        ("text2wave", "festival and festvox-kallpc16k"),
    ];
    let whole = pulse::has_tools("synthetic voices of three engines", &engines);
    let voices = voices_here();
    if whole {
        let first: Vec<_> = voices.iter().take(3).map(|voice| voice.engine).collect();
        assert!(
            first[0] != first[1] && first[1] != first[2] && first[0] != first[2],
            "{first:?}"
        );
    }
    for voice in voices {
        let samples = voice.render("work complete").unwrap();
        let seconds = samples.len() as f64 / 16_000.0;
        assert!((0.4..2.5).contains(&seconds), "{voice}: {seconds} s");
        // A voice with high peaks stays below −20 dBFS.
        let level = 20.0 * active_rms(&samples, 16_000).log10();
        assert!((-24.0..-19.5).contains(&level), "{voice}: {level} dBFS");
        let fast = SyntheticVoice {
            speed: 1.5,
            ..voice.clone()
        };
        let ratio = samples.len() as f64 / fast.render("work complete").unwrap().len() as f64;
        assert!(
            (1.2..1.8).contains(&ratio),
            "{voice}: {ratio} times as fast"
        );
        assert_eq!(voice_named(&voice.to_string()), Ok(voice));
    }
}

#[test]
fn a_synthetic_voice_that_is_not_here_is_named() {
    let why = voice_named("flite:nobody").unwrap_err();
    assert!(why.starts_with("No voice"), "{why}");
}
