//! The whole program against a real sound server: audio is played into the capture device until the
//! job is finished; the trace and the database are read afterwards.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "support/follow.rs"]
mod follow;
#[path = "support/program.rs"]
mod program;
#[path = "support/pulse.rs"]
mod pulse;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use benchcall::record::Store;
use benchcall::rehearse::voices::{SyntheticVoice, voice_named};
use benchcall::run::{Claim, Event};
use follow::Follower;
use program::{Program, is_to_be_said_again, spoken, way_forward};
use pulse::Pulse;
use serde_json::Value;

/// How often one thing is said before the test gives up.
const MOST_TRIES: u32 = 6;
/// Both tests hear in real time, which two recognisers at once are too much for on a small machine.
static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());

fn voices() -> Option<Vec<SyntheticVoice>> {
    let voices: Result<Vec<_>, _> = ["espeak-ng:en-us", "flite:slt", "flite:rms", "festival"]
        .map(voice_named)
        .into_iter()
        .collect();
    match voices {
        Ok(voices) => Some(voices),
        Err(why) => {
            pulse::untested("a job by voice through the sound server", &why);
            None
        }
    }
}

/// How answers fared, and how long after the end of speech they came.
#[derive(Default)]
struct Measured {
    said: u32,
    at_once: u32,
    delays: Vec<f64>,
}

/// Says the way forward until the job is done.
fn answer_until_done(
    pulse: &Pulse,
    folder: &Path,
    voices: &[SyntheticVoice],
    trace: &mut Follower,
    measured: &mut Measured,
    stop_after: usize,
) -> Value {
    let (_, mut line) = trace.wait_for("listening", Duration::from_secs(60), |line| {
        line["event"] == "listening"
    });
    let mut taken = 0;
    let mut tries = 0;
    while !line["done"].as_bool().unwrap() && taken < stop_after {
        let words = way_forward(&line);
        let voice = &voices[(measured.said as usize) % voices.len()];
        let (wav, speech) = spoken(folder, voice, &[&words], 0.0);
        measured.said += 1;
        tries += 1;
        assert!(tries <= MOST_TRIES, "{words:?} was not understood: {line}");
        let begun = Instant::now();
        pulse.play(&wav);
        // Playing ends some time after the speech has: count from its end in the file.
        let played = begun.elapsed().as_secs_f64();
        let deadline = Instant::now() + Duration::from_millis(2500);
        let mut answered = false;
        while Instant::now() < deadline && !answered {
            for next in std::mem::take(&mut trace.unseen()) {
                if next["by"] == "voice" && !answered {
                    answered = true;
                    if !is_to_be_said_again(next["event"].as_str().unwrap()) {
                        measured.at_once += u32::from(tries == 1);
                        measured
                            .delays
                            .push(begun.elapsed().as_secs_f64() - speech.max(played - 0.2));
                        tries = 0;
                        taken += 1;
                    }
                }
                line = next;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        // One command can have several events, and the microphone opens again after it.
        std::thread::sleep(Duration::from_millis(350));
        for next in trace.unseen() {
            line = next;
        }
    }
    line
}

/// The sockets of a process and its children that could reach a network.
fn network_sockets(pid: u32) -> Vec<String> {
    let mut inodes = BTreeSet::new();
    for table in ["tcp", "tcp6", "udp", "udp6", "raw", "raw6"] {
        let text = fs::read_to_string(format!("/proc/{pid}/net/{table}")).unwrap_or_default();
        inodes.extend(
            text.lines()
                .skip(1)
                .filter_map(|line| line.split_whitespace().nth(9).map(str::to_string)),
        );
    }
    let mut found = Vec::new();
    for process in family(pid) {
        for entry in fs::read_dir(format!("/proc/{process}/fd"))
            .into_iter()
            .flatten()
            .flatten()
        {
            let Ok(target) = fs::read_link(entry.path()) else {
                continue;
            };
            let target = target.to_string_lossy().into_owned();
            let inode = target
                .strip_prefix("socket:[")
                .and_then(|rest| rest.strip_suffix(']'));
            if inode.is_some_and(|inode| inodes.contains(inode)) {
                found.push(format!("process {process}: {target}"));
            }
        }
    }
    found
}

fn family(pid: u32) -> Vec<u32> {
    let mut all = vec![pid];
    let tasks = format!("/proc/{pid}/task");
    for task in fs::read_dir(tasks).into_iter().flatten().flatten() {
        let children = fs::read_to_string(task.path().join("children")).unwrap_or_default();
        for child in children
            .split_whitespace()
            .filter_map(|child| child.parse().ok())
        {
            all.extend(family(child));
        }
    }
    all
}

#[test]
fn a_wheel_goes_back_on_by_voice() {
    let _alone = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    let (Some(pulse), Some(voices)) = (Pulse::start(), voices()) else {
        return;
    };
    if !benchcall::hear::has_ears() {
        pulse::untested(
            "a job by voice",
            "the speech library and model (./models-fetch.sh)",
        );
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let mut command = Program::command(folder.path(), "procedures/wheel-refit.ron");
    pulse.give_to(&mut command);
    let program = Program::start(command.args(["--new", "--silent", "--until-done"]));
    let mut trace = Follower::new(folder.path().join("trace.jsonl"));
    let mut measured = Measured::default();

    // The job is broken off in the middle by kill -9 and taken up where it was.
    let before = answer_until_done(
        &pulse,
        folder.path(),
        &voices,
        &mut trace,
        &mut measured,
        16,
    );
    assert_eq!(
        network_sockets(program.0.id()),
        Vec::<String>::new(),
        "a socket to a network"
    );
    assert!(
        family(program.0.id()).len() >= 2,
        "the recogniser is a child process"
    );
    program.kill();
    let mut command = Program::command(folder.path(), "procedures/wheel-refit.ron");
    pulse.give_to(&mut command);
    let program = Program::start(command.args(["--resume", "--silent", "--until-done"]));
    let (_, after) = trace.wait_for("the job again", Duration::from_secs(60), |line| {
        line["event"] == "resumed job"
    });
    for same in ["job", "step", "may_say", "wants"] {
        assert_eq!(before[same], after[same], "{same} after the kill");
    }
    let last = answer_until_done(
        &pulse,
        folder.path(),
        &voices,
        &mut trace,
        &mut measured,
        usize::MAX,
    );
    assert_eq!(last["done"], true);
    assert_eq!(program.end(Duration::from_secs(10)), Some(0));

    let store = Store::open(&folder.path().join("data")).unwrap();
    let entries = store.entries(last["job"].as_i64().unwrap()).unwrap();
    let events: Vec<&Event> = entries.iter().flat_map(|entry| &entry.events).collect();
    let bolts = |step: &str| {
        let bolt = |event: &&&Event| matches!(event, Event::Claimed { step: at, claim: Claim::Bolt { .. } } if at.as_str() == step);
        events.iter().filter(bolt).count()
    };
    assert_eq!(bolts("tighten"), 15, "five nuts in three passes");
    assert_eq!(bolts("light-pass"), 5);
    let holds = events.iter().filter(|event| {
        matches!(
            event,
            Event::Claimed {
                claim: Claim::Hold { .. },
                ..
            }
        )
    });
    assert_eq!(holds.count(), 2);
    let readings = events
        .iter()
        .filter(|event| matches!(event, Event::ReadingTaken { .. }));
    assert_eq!(readings.count(), 2);
    assert_eq!(events.last(), Some(&&Event::Finished));
    // The record and the trace tell the same.
    let told: Vec<String> = trace
        .lines()
        .iter()
        .filter(|line| ["voice", "key"].contains(&line["by"].as_str().unwrap()))
        .map(|line| line["event"].as_str().unwrap().to_string())
        .filter(|event| event != "refused")
        .collect();
    let recorded: Vec<String> = entries
        .iter()
        .filter(|entry| entry.by == "voice")
        .flat_map(|entry| entry.events.iter().map(|event| event.name().to_string()))
        .collect();
    assert_eq!(told, recorded);

    measured.delays.sort_by(f64::total_cmp);
    let at = |share: f64| measured.delays[((measured.delays.len() - 1) as f64 * share) as usize];
    println!(
        "said {}, understood at once {}; end of speech to trace: median {:.2} s, p95 {:.2} s",
        measured.said,
        measured.at_once,
        at(0.5),
        at(0.95)
    );
}

/// The program speaks through the loudspeaker, and what it says there is no answer.
#[test]
fn its_own_voice_is_heard_and_not_believed() {
    let _alone = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    let (Some(pulse), Some(voices)) = (Pulse::start(), voices()) else {
        return;
    };
    if !benchcall::hear::has_ears() {
        pulse::untested(
            "its own voice",
            "the speech library and model (./models-fetch.sh)",
        );
        return;
    }
    // The loudspeaker sounds into the room.
    pulse.sound_into_room(200);
    let folder = tempfile::tempdir().unwrap();
    let mut command = Program::command(folder.path(), "procedures/pump-cover.ron");
    pulse.give_to(&mut command);
    let _program = Program::start(command.arg("--new"));
    let mut trace = Follower::new(folder.path().join("trace.jsonl"));
    let patience = Duration::from_secs(60);
    trace.wait_for("the voice", patience, |line| line["event"] == "speaking");
    trace.wait_for("the voice's end", patience, |line| {
        line["event"] == "spoken"
    });
    // Asked for help, it says the very words that would be commands.
    let (wav, _) = spoken(folder.path(), &voices[0], &["assistance required"], 0.0);
    std::thread::sleep(Duration::from_secs(1));
    let mut told = false;
    for _ in 0..MOST_TRIES {
        pulse.play(&wav);
        let until = Instant::now() + Duration::from_secs(15);
        while !told && Instant::now() < until {
            std::thread::sleep(Duration::from_millis(20));
            told = trace.unseen().iter().any(|line| line["event"] == "told");
        }
        if told {
            break;
        }
    }
    assert!(told, "help was asked for and not given");
    trace.wait_for("the help's end", patience, |line| line["event"] == "spoken");
    std::thread::sleep(Duration::from_secs(2));
    let by_voice: Vec<_> = trace
        .lines()
        .iter()
        .filter(|line| line["by"] == "voice")
        .cloned()
        .collect();
    assert_eq!(
        by_voice.len(),
        1,
        "its own words became commands: {by_voice:?}"
    );
}
