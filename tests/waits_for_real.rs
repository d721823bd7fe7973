//! Waits in the real program: stopped and continued, killed, started after a wait has ended, and with the clock
//! set under it.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "support/begun.rs"]
mod begun;
#[path = "support/follow.rs"]
mod follow;
#[path = "support/program.rs"]
mod program;
#[path = "support/pulse.rs"]
mod pulse;

use std::path::PathBuf;
use std::process::Command;
use std::time::Duration;

use benchcall::record::Store;
use benchcall::run::{Event, Time};
use chrono::TimeDelta;
use follow::Follower;
use program::Program;

const PATIENCE: Duration = Duration::from_secs(60);

fn signal(program: &Program, signal: &str) {
    let id = program.0.id().to_string();
    let sent = Command::new("sh")
        .args(["-c", &format!("kill -{signal} {id}")])
        .status();
    assert!(sent.unwrap().success());
}

fn time(line: &serde_json::Value) -> Time {
    line["at"].as_str().unwrap().parse().unwrap()
}

/// Returns what has happened to waits by the record, in its order.
fn recorded(folder: &std::path::Path, procedure: &str) -> Vec<Event> {
    let store = Store::open(&folder.join("data")).unwrap();
    let unfinished = store.unfinished(procedure).unwrap().unwrap();
    let entries = store.entries(unfinished.id).unwrap();
    entries.into_iter().flat_map(|entry| entry.events).collect()
}

fn ended_at(events: &[Event]) -> Vec<Time> {
    let ended = events.iter().filter_map(|event| match event {
        Event::WaitEnded { at, .. } => Some(*at),
        _ => None,
    });
    ended.collect()
}

fn due(events: &[Event]) -> Time {
    let due = events.iter().find_map(|event| match event {
        Event::WaitBegan { due, .. } => Some(*due),
        _ => None,
    });
    due.unwrap()
}

/// Stopped over the end of a wait and continued: the wait ended when it was due, both clocks went on, and
/// nobody is told that they differ.
#[test]
fn a_stopped_process_finds_its_waits_ended_in_time() {
    let folder = tempfile::tempdir().unwrap();
    let procedure = begun::begun(folder.path(), &[20], TimeDelta::seconds(10));
    let mut trace = Follower::new(folder.path().join("trace.jsonl"));
    let mut command = Program::command(folder.path(), &procedure);
    let program = Program::start(command.args(["--resume", "--silent", "--deaf"]));
    let (_, line) = trace.wait_for("the job", PATIENCE, |line| line["event"] == "resumed job");
    let due = due(&recorded(folder.path(), &procedure));
    assert!(time(&line) < due, "the machine is too busy for this test");
    signal(&program, "STOP");
    let left = (due - chrono::Utc::now()).to_std().unwrap_or_default();
    std::thread::sleep(left + Duration::from_secs(4));
    let continued = chrono::Utc::now();
    signal(&program, "CONT");
    let (_, line) = trace.wait_for("its end", PATIENCE, |line| line["event"] == "wait ended");
    assert!(time(&line) >= continued, "it was stopped over the end");
    assert_eq!(line["may_say"][0]["say"], "next instruction");
    // Longer than a look at the clocks takes.
    trace.wait_for("the next call", PATIENCE, |line| {
        line["event"] == "called again"
    });
    program.kill();
    let events = recorded(folder.path(), &procedure);
    assert_eq!(ended_at(&events), [due]);
    let differed = |event: &Event| matches!(event, Event::ClockDiffered { .. });
    assert!(!events.iter().any(differed), "{events:?}");
}

/// A wait that ended while there was no power is told at the start, and called until it is answered, over
/// a kill too.
#[test]
fn an_end_while_the_power_was_off_is_called_after_the_start() {
    let folder = tempfile::tempdir().unwrap();
    let procedure = begun::begun(folder.path(), &[60, 86_400], TimeDelta::hours(2));
    let begun = due(&recorded(folder.path(), &procedure));
    let mut trace = Follower::new(folder.path().join("trace.jsonl"));
    for round in 0..2 {
        let mut command = Program::command(folder.path(), &procedure);
        command.args(["--resume", "--silent", "--deaf"]);
        let program = Program::start(&mut command);
        let called = |line: &serde_json::Value| {
            line["may_say"][0]["say"] == "next instruction" && line["by"] != "program"
        };
        trace.wait_for("the call", PATIENCE * 2, called);
        program.kill();
        let events = recorded(folder.path(), &procedure);
        assert_eq!(ended_at(&events), [begun], "round {round}");
    }
}

/// The library that sets the clock that a program reads; the machine's own stays as it is.
fn clock_setter() -> Option<PathBuf> {
    let folders = std::fs::read_dir("/usr/lib").ok()?.flatten();
    let mut found = folders.map(|one| one.path().join("faketime/libfaketimeMT.so.1"));
    found.find(|path| path.exists())
}

/// The wall clock is set while the program runs, forward and back; the monotonic one goes on. The person is
/// told both readings, each time once, and the wait ends by the wall clock.
#[test]
fn a_clock_that_is_set_under_the_program_is_told() {
    let Some(library) = clock_setter() else {
        pulse::untested(
            "a clock set under the program",
            "faketime (Debian: faketime)",
        );
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let procedure = begun::begun(folder.path(), &[7_200], TimeDelta::seconds(10));
    let due = due(&recorded(folder.path(), &procedure));
    let offset = folder.path().join("offset");
    // Renamed, so that no half of it is read.
    let set = |seconds: i64| {
        let new = folder.path().join("offset.new");
        std::fs::write(&new, format!("{seconds:+}\n")).unwrap();
        std::fs::rename(new, &offset).unwrap();
    };
    set(0);
    let mut trace = Follower::new(folder.path().join("trace.jsonl"));
    let mut command = Program::command(folder.path(), &procedure);
    command
        .args(["--resume", "--silent", "--deaf"])
        .env("LD_PRELOAD", library)
        .env("FAKETIME_TIMESTAMP_FILE", &offset)
        .env("FAKETIME_NO_CACHE", "1")
        .env("FAKETIME_DONT_FAKE_MONOTONIC", "1")
        .env("DONT_FAKE_MONOTONIC", "1");
    let program = Program::start(&mut command);
    trace.wait_for("the job", PATIENCE, |line| line["event"] == "resumed job");
    for seconds in [600, -1_800, 7_300] {
        set(seconds);
        trace.wait_for("the difference", PATIENCE, |line| {
            line["event"] == "clock differed"
        });
    }
    let (_, line) = trace.wait_for("the end", PATIENCE, |line| line["event"] == "wait ended");
    assert!(time(&line) >= due);
    program.kill();
    let events = recorded(folder.path(), &procedure);
    let apart = events.iter().filter_map(|event| match event {
        Event::ClockDiffered { wall, passed } => Some((*wall - *passed).as_seconds_f64()),
        _ => None,
    });
    let apart: Vec<f64> = apart.collect();
    // From zero, from 600 s forward, from 1,800 s back.
    let wanted = [600.0, -2_400.0, 9_100.0];
    assert_eq!(apart.len(), wanted.len(), "{apart:?}");
    for (apart, wanted) in apart.iter().zip(wanted) {
        assert!((apart - wanted).abs() < 1.0, "{apart} s, not {wanted}");
    }
    assert_eq!(ended_at(&events), [due]);
}
