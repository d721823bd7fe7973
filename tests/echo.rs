//! The program's own voice in the room: its words are never taken for a command, and a stop is heard
//! over them.
//!
//! What the loudspeaker says is made by the same engine with the same settings as the program's own
//! voice, goes through a modelled room (a delay, a direct sound, reflections that die away in 0.3 s)
//! and is mixed with a person at conversation level, −22 dBFS. The canceller is given what was played
//! a piece at a time, as the loudspeaker would.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod ears;
#[path = "support/follow.rs"]
mod follow;
#[path = "support/program.rs"]
mod program;
#[path = "support/pulse.rs"]
mod pulse;

use std::sync::{Arc, Mutex, mpsc};
use std::time::Duration;

use benchcall::dictionary::CmuDict;
use benchcall::hear::{EarNews, Ears, EarsOptions, Pace, Source, SourceKind, SourceState};
use benchcall::procedure::{self, NoModel, Speech};
use benchcall::speak::sound::{Sound, active_rms, to_sample};
use benchcall::understand;
use ears::Voice;

const RATE: u32 = 16_000;
/// The person's level, dBFS.
const PERSON: f64 = -22.0;
/// Pieces of 30 ms.
const PIECE: usize = RATE as usize * 3 / 100;

/// One text that the program says, and when in it a person says "stop stop".
struct Said {
    text: String,
    stop: Option<(Voice, f64)>,
}

fn said(text: &str) -> Said {
    Said {
        text: text.into(),
        stop: None,
    }
}

/// Somebody's words at 16 kHz without silence around.
fn speech(voice: Voice, text: &str) -> Vec<i16> {
    let (rate, mut all) = voice.speak(&[text]);
    let samples = all.swap_remove(0);
    Sound { rate, samples }
        .trimmed()
        .at_rate(RATE)
        .unwrap()
        .samples
}

/// What a room makes of a sound, at a level of its active parts in dBFS.
fn in_room(sound: &[i16], delay_ms: usize, level: f64, seed: u64) -> Vec<f32> {
    let mut random = fastrand::Rng::with_seed(seed);
    let delay = delay_ms * RATE as usize / 1_000;
    let mut heard = vec![0.0_f32; sound.len() + delay + 5_000];
    let mut add = |at: usize, gain: f32| {
        for (heard, &sample) in heard[delay + at..].iter_mut().zip(sound) {
            *heard += gain * f32::from(sample);
        }
    };
    add(0, 1.0);
    for _ in 0..120 {
        let at = 40 + random.usize(0..4_800);
        let decay = (-6.9 * at as f32 / 4_800.0).exp();
        add(at, (random.f32() - 0.5) * 1.2 * decay);
    }
    let whole: Vec<i16> = heard.iter().map(|&s| to_sample(s * 0.3)).collect();
    let gain = (10_f64.powf(level / 20.0) / active_rms(&whole, RATE)) as f32 * 0.3;
    heard.iter().map(|s| s * gain).collect()
}

/// A room in which the program says one text after another.
struct Room {
    captured: Vec<i16>,
    /// Where each text begins and ends, with what is played of it.
    texts: Vec<(usize, usize, Vec<i16>)>,
    at: usize,
    /// The text being said, once it has begun.
    saying: usize,
    begun: bool,
    ears: Arc<Mutex<Option<Ears>>>,
    position: Arc<Mutex<usize>>,
}

impl Source for Room {
    fn rate(&self) -> u32 {
        RATE
    }

    fn next(&mut self, samples: &mut Vec<i16>) -> SourceState {
        let end = (self.at + PIECE).min(self.captured.len());
        if end == self.at {
            return SourceState::Ended;
        }
        let ears = self.ears.lock().unwrap();
        let ears = ears.as_ref().unwrap();
        if let Some((begins, ends, played)) = self.texts.get(self.saying) {
            if self.at >= *begins && !self.begun {
                self.begun = true;
                ears.loudspeaker()(RATE, Vec::new());
                ears.speaking(Some(understand::stop_vocabulary()));
            }
            if self.begun {
                let from = self.at - begins;
                let piece: Vec<i16> = (from..from + PIECE)
                    .map(|n| played.get(n).copied().unwrap_or(0))
                    .collect();
                ears.loudspeaker()(RATE, piece);
                if end >= *ends {
                    ears.speaking(None);
                    self.begun = false;
                    self.saying += 1;
                }
            }
        }
        samples.extend_from_slice(&self.captured[self.at..end]);
        self.at = end;
        *self.position.lock().unwrap() = end;
        SourceState::Sound
    }
}

/// Says all texts through a room; returns what was heard, with the text in or after which it was.
fn overheard(all: &[Said], echo_level: f64, delay_ms: usize) -> Vec<(usize, String)> {
    let pause = RATE as usize;
    let mut captured = vec![0.0_f32; pause];
    let mut texts = Vec::new();
    for (n, Said { text, stop }) in all.iter().enumerate() {
        let played = program_says(text);
        let begins = captured.len();
        // The loudspeaker's buffers hold a little more or less each time.
        let delay_ms = delay_ms + (n * 7) % 20;
        let echo = in_room(&played, delay_ms, PERSON + echo_level, 3);
        captured.resize(begins + echo.len() + 2 * pause, 0.0);
        for (heard, echo) in captured[begins..].iter_mut().zip(&echo) {
            *heard += echo;
        }
        if let Some((voice, at)) = stop {
            let words = in_room(&speech(*voice, "stop stop"), 0, PERSON, 8);
            let from = begins + (at * f64::from(RATE)) as usize;
            for (heard, word) in captured[from..].iter_mut().zip(&words) {
                *heard += word;
            }
        }
        // The program knows of a small part of the delay only.
        texts.push((begins, begins + played.len() + RATE as usize / 20, played));
    }
    let mut random = fastrand::Rng::with_seed(1);
    let captured = captured
        .iter()
        .map(|s| to_sample(s * 0.8 + (random.f32() - 0.5) * 30.0))
        .collect();
    let begins: Vec<usize> = texts.iter().map(|(begins, ..)| *begins).collect();
    let position = Arc::new(Mutex::new(0));
    let ears = Arc::new(Mutex::new(None));
    let room = Room {
        captured,
        texts,
        at: 0,
        saying: 0,
        begun: false,
        ears: Arc::clone(&ears),
        position: Arc::clone(&position),
    };
    let (send, news) = mpsc::channel();
    let mut held = ears.lock().unwrap();
    let started = Ears::start(
        EarsOptions {
            without: Vec::new(),
            program: ears::program(),
            model: benchcall::hear::model_place().unwrap(),
            source: SourceKind::Fed {
                source: Box::new(room),
                pace: Pace::Fast,
            },
        },
        move |what| {
            let position = *position.lock().unwrap();
            let _ = send.send((position, what));
        },
    );
    started.listen_for(ears::vocabulary(&ears::PHRASES));
    *held = Some(started);
    drop(held);
    let mut heard = Vec::new();
    loop {
        let (position, what) = news.recv_timeout(Duration::from_secs(120)).unwrap();
        match what {
            EarNews::Heard(what) => {
                let text = begins.iter().rposition(|begins| *begins <= position);
                heard.push((text.unwrap_or(0), what.text));
            }
            EarNews::Lost { why } => panic!("{why}"),
            EarNews::SourceEnded => break,
            _ => {}
        }
    }
    // Ears end on their own thread, so they are not dropped under the room's lock.
    let ended = ears.lock().unwrap().take();
    drop(ended);
    heard
}

/// What the program's own voice makes of a text.
fn program_says(text: &str) -> Vec<i16> {
    speech(Voice::Espeak("en-us"), text)
}

/// How many of the texts were made to be like commands.
const LIKE_COMMANDS: usize = 6;

/// Everything that the demonstrations say, and what is most like a command.
fn texts() -> Vec<String> {
    let mut texts: Vec<String> = [
        "Say: work complete.",
        "Say stop stop.",
        "You may say: work complete, say again, or voice note. In danger say stop stop, and leave the load alone.",
        "Stop stop.",
        "Stop the engine. Stop. Stop stop stop.",
        "Next instruction. Work complete.",
    ]
    .map(String::from)
    .to_vec();
    for name in ["pump-cover.ron", "wheel-refit.ron"] {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("procedures")
            .join(name);
        let bytes = std::fs::read(path).unwrap();
        let procedure =
            procedure::read(name, &bytes, &Speech::standard(&NoModel, &CmuDict)).unwrap();
        for step in &procedure.steps {
            texts.push(format!(
                "{} {}",
                step.say,
                step.more.as_ref().map_or("", |more| more.as_str())
            ));
        }
    }
    texts
}

const TOOLS: [&str; 3] = ["ears", "espeak-ng", "flite"];

#[test]
fn the_loudspeakers_own_words_never_become_a_command() {
    if !ears::at_hand("the program's own words", &TOOLS) {
        return;
    }
    let all: Vec<Said> = texts().iter().map(|text| said(text)).collect();
    // What is most like a command, the demonstrations in two.
    for (level, delay_ms, all) in [
        (0.0, 20, &all[..LIKE_COMMANDS]),
        (6.0, 400, &all[..LIKE_COMMANDS]),
        (0.0, 120, &all[..]),
        (6.0, 120, &all[LIKE_COMMANDS..]),
    ] {
        let heard = overheard(all, level, delay_ms);
        let (many, rooms) = (all.len(), format!("{level} dB, {delay_ms} ms"));
        println!("own words, {many} texts at {rooms}: {heard:?}");
        assert!(heard.is_empty(), "{rooms}: {heard:?}");
    }
}

#[test]
fn a_stop_is_heard_over_the_programs_own_voice() {
    if !ears::at_hand("a stop over the program's own voice", &TOOLS) {
        return;
    }
    let voices = [
        Voice::Flite("slt"),
        Voice::Flite("rms"),
        Voice::Flite("awb"),
        Voice::Espeak("en-gb+f3"),
    ];
    let texts = texts();
    let long: Vec<&String> = texts[LIKE_COMMANDS..]
        .iter()
        .filter(|text| text.len() > 90)
        .collect();
    // The first text makes the room known; nobody speaks in it.
    let mut all = vec![said(long[0])];
    for (n, voice) in voices.iter().cycle().take(6).enumerate() {
        all.push(Said {
            text: long[1 + n % (long.len() - 1)].clone(),
            stop: Some((*voice, 1.0 + 0.4 * (n % 5) as f64)),
        });
    }
    let mut missed = Vec::new();
    for (level, delay_ms, wanted) in [
        (-30.0, 120, 5),
        (-10.0, 20, 5),
        (0.0, 120, 5),
        (0.0, 400, 5),
        (6.0, 20, 5),
    ] {
        let heard = overheard(&all, level, delay_ms);
        let is_stop = |text: &String| text.starts_with("stop stop");
        assert!(heard.iter().all(|(_, text)| is_stop(text)), "{heard:?}");
        let stops = (1..all.len()).filter(|n| heard.iter().any(|(text, _)| text == n));
        let stops = stops.count();
        let of = all.len() - 1;
        println!("stops at {level} dB of echo, {delay_ms} ms: {stops} of {of}; {heard:?}");
        if stops < wanted {
            missed.push((level, delay_ms, stops));
        }
    }
    assert!(missed.is_empty(), "{missed:?}");
}

/// The whole program in a room that hears its loudspeaker through the sound server, with a procedure that
/// says something.
#[cfg(target_os = "linux")]
struct Speaking {
    _program: program::Program,
    trace: follow::Follower,
    folder: tempfile::TempDir,
    pulse: pulse::Pulse,
}

#[cfg(target_os = "linux")]
const PATIENCE: Duration = Duration::from_secs(60);

#[cfg(target_os = "linux")]
impl Speaking {
    /// Starts it with a step for each text; the loudspeaker sounds `late_ms` late. `None` where something is
    /// missing that `what` needs.
    fn start(what: &str, texts: &[&str], late_ms: u32) -> Option<Speaking> {
        if !ears::at_hand(what, &TOOLS) {
            return None;
        }
        let pulse = pulse::Pulse::start()?;
        pulse.sound_into_room(late_ms);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("look.ron");
        let steps: String = (texts.iter().enumerate())
            .map(|(n, text)| format!("(id: \"step-{n}\", say: \"{text}\"), "))
            .collect();
        let procedure = format!(
            "(title: \"Look over it\", subject: \"Volunteers' fire engine (invented data)\", \
             steps: [{steps}])"
        );
        std::fs::write(&path, procedure).unwrap();
        let mut command = program::Program::command(folder.path(), path.to_str().unwrap());
        command.arg("--new");
        pulse.give_to(&mut command);
        Some(Speaking {
            _program: program::Program::start(&mut command),
            trace: follow::Follower::new(folder.path().join("trace.jsonl")),
            folder,
            pulse,
        })
    }

    /// Waits for the next event of that name.
    fn wait_for(&mut self, what: &str, event: &str) {
        self.trace
            .wait_for(what, PATIENCE, |line| line["event"] == event);
    }

    /// How many events of that name there were.
    fn count(&mut self, event: &str) -> usize {
        let lines = self.trace.lines().iter();
        lines.filter(|line| line["event"] == event).count()
    }

    /// Everything that was understood by voice.
    fn by_voice(&mut self) -> Vec<serde_json::Value> {
        let lines = self.trace.lines().iter();
        lines
            .filter(|line| line["by"] == "voice")
            .cloned()
            .collect()
    }

    /// Waits until it says nothing.
    fn wait_until_quiet(&mut self) {
        loop {
            std::thread::sleep(Duration::from_millis(700));
            if !program::speaks(self.trace.lines()) {
                return;
            }
        }
    }

    /// Has words recorded by a voice, in a folder of their own: files are named by their words.
    fn words(&self, voice: &str, words: &str) -> std::path::PathBuf {
        let person = benchcall::rehearse::voices::voice_named(voice).unwrap();
        let own = self.folder.path().join(voice.replace(':', "-"));
        std::fs::create_dir_all(&own).unwrap();
        program::spoken(&own, &person, &[words], 0.0).0
    }

    /// Plays words until the event comes; asked back or missed, they are said again, as a person would.
    fn answer(&mut self, voice: &str, words: &str, event: &str) {
        let wav = self.words(voice, words);
        for _ in 0..6 {
            let known = self.count(event);
            self.pulse.play(&wav);
            std::thread::sleep(Duration::from_millis(1_000));
            if self.count(event) > known {
                return;
            }
            self.wait_until_quiet();
        }
        let lines = self.trace.lines();
        panic!("{words:?} by {voice} leads to nothing: {lines:?}");
    }
}

/// It does not hear itself, and hears the person when it has ended.
#[cfg(target_os = "linux")]
#[test]
fn the_program_does_not_hear_itself_through_the_sound_server() {
    let text = "Say nothing yet. Look at the pump cover from above and from below, and count the \
                screws twice. Then turn the shaft by hand, slowly, and listen for a rubbing sound. \
                Work complete comes later.";
    let what = "the program's own words through the sound server";
    let Some(mut speaking) = Speaking::start(what, &[text], 60) else {
        return;
    };
    let again = speaking.words("flite:slt", "say again");
    speaking.wait_for("the end of the call", "spoken");
    std::thread::sleep(Duration::from_millis(600));
    let heard = speaking.by_voice();
    assert!(heard.is_empty(), "its own words: {heard:?}");

    speaking.pulse.play(&again);
    speaking.wait_for("the call again", "speaking");
    speaking.wait_for("its end", "spoken");
    std::thread::sleep(Duration::from_millis(600));
    let heard = speaking.by_voice();
    assert_eq!(heard.len(), 1, "more than \"say again\": {heard:?}");
}

/// The same with a text that begins like a stop, while the loudspeaker's delay differs from text to text.
#[cfg(target_os = "linux")]
#[test]
fn a_text_that_begins_like_a_stop_is_none_through_the_sound_server() {
    let texts = [
        "Lift the wheel on, up to the hub face.",
        "Start all five nuts by hand.",
        "Start all five nuts by hand.",
        "Start all five nuts by hand.",
    ];
    let what = "a text like a stop through the sound server";
    let Some(mut speaking) = Speaking::start(what, &texts, 60) else {
        return;
    };
    for n in 0..texts.len() {
        speaking.wait_for("a call", "speaking");
        speaking.wait_for("its end", "spoken");
        std::thread::sleep(Duration::from_millis(900));
        assert_eq!(speaking.count("stopped"), 0, "its own words, text {n}");
        if n + 1 < texts.len() {
            speaking.answer("flite:slt", "work complete", "work done");
        }
    }
}

/// Persons who say "stop stop" while the program speaks, in real time.
#[cfg(target_os = "linux")]
#[test]
#[ignore = "a measurement: how many are heard hangs on how busy the machine is"]
fn stops_over_the_programs_own_voice_are_counted_through_the_sound_server() {
    /// Who, and how many milliseconds the program speaks before they do.
    const PERSONS: [(&str, u64); 4] = [
        ("flite:slt", 600),
        ("flite:rms", 1_400),
        ("flite:awb", 2_200),
        ("espeak-ng:en-gb+f3", 1_000),
    ];
    let text = "Look at the pump cover from above and from below, and count the screws twice. Then \
                turn the shaft by hand, slowly, and feel for a place where it rubs on the housing.";
    let what = "a stop through the sound server";
    let Some(mut speaking) = Speaking::start(what, &[text], 120) else {
        return;
    };
    speaking.wait_for("the end of the call", "spoken");
    let mut heard = Vec::new();
    for (voice, before) in PERSONS {
        let stop = speaking.words(voice, "stop stop");
        speaking.wait_until_quiet();
        let known = speaking.count("stopped");
        speaking.answer(voice, "say again", "told");
        std::thread::sleep(Duration::from_millis(before));
        assert_eq!(speaking.count("stopped"), known, "before {voice} spoke");
        speaking.pulse.play(&stop);
        speaking.wait_until_quiet();
        let stopped = speaking.count("stopped") > known;
        heard.push((voice, stopped));
        if stopped {
            speaking.answer(voice, "resume procedure", "resumed");
        }
    }
    println!("stops through the sound server: {heard:?}");
}
