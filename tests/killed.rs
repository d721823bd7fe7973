//! Killed at any instant, the program comes back to the same step, bolt and wait: nothing that was
//! acknowledged is lost.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "support/follow.rs"]
mod follow;
#[path = "support/program.rs"]
mod program;
#[path = "support/pulse.rs"]
mod pulse;

use std::path::Path;
use std::time::Duration;

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{self, NoModel, Speech};
use benchcall::record::Store;
use benchcall::rehearse::voices::voice_named;
use benchcall::run::Run;
use follow::Follower;
use program::{Program, spoken};

const PROCEDURE: &str = r#"
(
    title: "Close the pump cover",
    subject: "Volunteers' fire engine, pump (invented data)",
    steps: [
        (id: "cover", say: "Set the cover on."),
        (id: "soak", say: "Oil the bearing.", wait: (name: "soak", lasts: "1 h", meanwhile: true)),
        (id: "bolts", say: "Tighten.", fasten: (bolts: 6, torque: "40 N·m", passes: [0.4, 0.7, 1.0])),
        (id: "last", say: "Wipe it down.", after: ["soak"]),
    ],
)
"#;

const PATIENCE: Duration = Duration::from_secs(60);

fn file(folder: &Path) -> String {
    let path = folder.join("pump.ron");
    std::fs::write(&path, PROCEDURE).unwrap();
    path.to_str().unwrap().to_string()
}

#[test]
fn a_kill_at_any_instant_loses_nothing_acknowledged() {
    let Ok(voice) = voice_named("flite:slt") else {
        pulse::untested("kill -9 in the middle of a job", "flite (Debian: flite)");
        return;
    };
    if !benchcall::hear::has_ears() {
        pulse::untested(
            "kill -9 in the middle of a job",
            "the speech library and model",
        );
        return;
    }
    let mut random = fastrand::Rng::with_seed(3);
    for round in 0..5 {
        let folder = tempfile::tempdir().unwrap();
        let procedure = file(folder.path());
        let mut said = vec!["work complete", "begin countdown"];
        said.extend(["work complete"; 12]);
        let (wav, _) = spoken(folder.path(), &voice, &said, 1.2);
        let mut command = Program::command(folder.path(), &procedure);
        command
            .args(["--new", "--silent", "--fast", "--hear"])
            .arg(&wav);
        let program = Program::start(&mut command);
        let mut trace = Follower::new(folder.path().join("trace.jsonl"));
        let wanted = 1 + random.usize(0..11);
        for _ in 0..wanted {
            trace.wait_for("a command", PATIENCE, |line| line["by"] == "voice");
        }
        std::thread::sleep(Duration::from_micros(random.u64(0..60_000)));
        program.kill();

        let acknowledged: Vec<String> = trace
            .lines()
            .iter()
            .filter(|line| line["by"] == "voice" && line["event"] != "refused")
            .map(|line| line["event"].as_str().unwrap().to_string())
            .collect();
        assert!(!acknowledged.is_empty());
        let store = Store::open(&folder.path().join("data")).unwrap();
        let unfinished = store
            .unfinished(
                Path::new(&procedure)
                    .canonicalize()
                    .unwrap()
                    .to_str()
                    .unwrap(),
            )
            .unwrap()
            .expect("the job is there and unfinished");
        let entries = store.entries(unfinished.id).unwrap();
        let recorded: Vec<String> = entries
            .iter()
            .filter(|entry| entry.by == "voice")
            .flat_map(|entry| entry.events.iter().map(|event| event.name().to_string()))
            .collect();
        assert!(
            recorded.starts_with(&acknowledged),
            "round {round}: {acknowledged:?} {recorded:?}"
        );
        assert!(
            recorded.len() <= acknowledged.len() + 1,
            "one command can be between"
        );

        let read = procedure::read(
            "pump.ron",
            PROCEDURE.as_bytes(),
            &Speech::standard(&NoModel, &CmuDict),
        )
        .unwrap();
        let mut run = Run::new(read);
        entries
            .iter()
            .flat_map(|entry| &entry.events)
            .for_each(|event| run.apply(event));
        let mut command = Program::command(folder.path(), &procedure);
        let again = Program::start(command.args(["--resume", "--silent", "--deaf"]));
        let (_, line) = trace.wait_for("the job again", PATIENCE, |line| {
            line["event"] == "resumed job"
        });
        assert_eq!(
            line["step"],
            run.step().unwrap().id.as_str(),
            "round {round}"
        );

        // A second program on the same job is refused, by name and with the cure.
        let second = Program::command(folder.path(), &procedure)
            .args(["--resume", "--silent", "--deaf"])
            .output()
            .unwrap();
        assert_eq!(second.status.code(), Some(1));
        let words = String::from_utf8_lossy(&second.stderr).into_owned();
        assert!(
            words.contains("open in another benchcall") && words.contains("--new"),
            "{words}"
        );
        again.kill();
    }
}

/// An unfinished job is offered, and gone on with or begun anew by voice.
#[test]
fn an_unfinished_job_is_offered_by_voice() {
    let Ok(voice) = voice_named("flite:slt") else {
        pulse::untested("the offer of an unfinished job", "flite (Debian: flite)");
        return;
    };
    if !benchcall::hear::has_ears() {
        pulse::untested(
            "the offer of an unfinished job",
            "the speech library and model",
        );
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let procedure = file(folder.path());
    let mut trace = Follower::new(folder.path().join("trace.jsonl"));
    let mut run = |said: &[&str], args: &[&str], until: &str| {
        let (wav, _) = spoken(folder.path(), &voice, said, 1.2);
        let mut command = Program::command(folder.path(), &procedure);
        command
            .args(args)
            .args(["--silent", "--fast", "--hear"])
            .arg(&wav);
        let program = Program::start(&mut command);
        let (_, line) = trace.wait_for(until, PATIENCE, |line| line["event"] == until);
        program.kill();
        line
    };
    let first = run(&["work complete"], &["--new"], "work done");
    let resumed = run(&["resume procedure"], &[], "resumed job");
    assert_eq!(resumed["job"], first["job"]);
    assert_eq!(resumed["step"], "soak");
    let anew = run(&["begin afresh"], &[], "began");
    assert_ne!(anew["job"], first["job"]);
    assert_eq!(anew["step"], "cover");
}

/// A voice note that was being recorded is lost, and another can be made.
#[test]
fn a_note_that_was_being_recorded_is_ended() {
    let Ok(voice) = voice_named("flite:slt") else {
        pulse::untested("kill -9 in a voice note", "flite (Debian: flite)");
        return;
    };
    if !benchcall::hear::has_ears() {
        pulse::untested("kill -9 in a voice note", "the speech library and model");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let procedure = file(folder.path());
    let mut trace = Follower::new(folder.path().join("trace.jsonl"));
    let (wav, _) = spoken(
        folder.path(),
        &voice,
        &["voice note", "the gasket is worn"],
        1.2,
    );
    let mut command = Program::command(folder.path(), &procedure);
    command.args(["--new", "--silent", "--hear"]).arg(&wav);
    let program = Program::start(&mut command);
    let may_note = |line: &serde_json::Value| {
        let may_say = line["may_say"].as_array().unwrap();
        may_say.iter().any(|item| item["say"] == "voice note")
    };
    let (_, line) = trace.wait_for("a note", PATIENCE, |line| line["event"] == "note began");
    assert!(!may_note(&line));
    program.kill();

    let mut command = Program::command(folder.path(), &procedure);
    let again = Program::start(command.args(["--resume", "--silent", "--deaf"]));
    let (_, line) = trace.wait_for("its loss", PATIENCE, |line| line["event"] == "note lost");
    assert!(may_note(&line), "{line}");
    again.kill();
}
