//! The measuring bench on a small corpus made on the spot: table, JSON, and what is wrong in it.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod ears;

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use ears::{Voice, at_hand, program};
use serde_json::Value;

/// Speaks `texts` with pauses into `NAME.wav`, and writes `NAME.txt` with `header` and the times at
/// which `written` was said.
fn record(folder: &Path, name: &str, header: &str, texts: &[&str], written: &[&str]) {
    let (rate, clips) = Voice::Flite("slt").speak(texts);
    let mut sound = vec![0; 2 * rate as usize];
    let mut lines = String::new();
    let seconds = |samples: usize| samples as f64 / f64::from(rate);
    for (clip, words) in clips.iter().zip(written) {
        let start = seconds(sound.len());
        let loud = clip.iter().rposition(|s| s.abs() > 500).unwrap();
        let end = seconds(sound.len() + loud);
        lines += &format!("{start:.3}\t{end:.3}\t{words}\n");
        sound.extend_from_slice(clip);
        sound.resize(sound.len() + 2 * rate as usize, 0);
    }
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(folder.join(format!("{name}.wav")), spec).unwrap();
    for sample in sound {
        writer.write_sample(sample).unwrap();
    }
    writer.finalize().unwrap();
    fs::write(
        folder.join(format!("{name}.txt")),
        format!("{header}{lines}"),
    )
    .unwrap();
}

fn measure(folder: &Path, more: &[&str]) -> Output {
    let output = Command::new(program())
        .args(["hear", "--measure"])
        .arg(folder)
        .args(more)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    output
}

/// Returns the measurements without what differs from run to run.
fn measured(folder: &Path, more: &[&str]) -> Value {
    let output = measure(folder, &[&["--json"], more].concat());
    let mut json: Value = serde_json::from_slice(&output.stdout).unwrap();
    for listener in json["listeners"].as_array_mut().unwrap() {
        let cost = listener.as_object_mut().unwrap().remove("cost").unwrap();
        assert!(cost["sound"].as_f64().unwrap() > 1.0, "{cost}");
        assert!(cost["wall"].as_f64().unwrap() > 0.0, "{cost}");
    }
    json
}

fn small_corpus(folder: &Path) {
    let below = folder.join("below");
    fs::create_dir(&below).unwrap();
    let said = ["work complete", "read torque", "say again"];
    // The first is right, the second was not what was said, the third neither said nor heard there.
    record(
        folder,
        "commands",
        "made: synthetic\nkind: commands\npart: held-out\nvoice: flite:slt\n\n",
        &said,
        &["work complete", "parts list", "say again"],
    );
    record(
        &below,
        "readings",
        "made: synthetic\nkind: readings\npart: tuning\ndigits: 3\nphrases: say again\n\n",
        &["one one zero"],
        &["one one zero"],
    );
    let (rate, clips) = Voice::Flite("awb").speak(&["read torque"]);
    let spec = hound::WavSpec {
        channels: 2,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    // A command in what is said to hold none, in stereo and without any header.
    let mut writer = hound::WavWriter::create(below.join("talk.wav"), spec).unwrap();
    for sample in &clips[0] {
        writer.write_sample(*sample).unwrap();
        writer.write_sample(*sample).unwrap();
    }
    writer.finalize().unwrap();
    fs::write(below.join("talk.txt"), "nothing\n").unwrap();
}

#[test]
fn recordings_are_scored_by_their_transcripts() {
    if !at_hand("the measuring bench", &["ears", "flite"]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    small_corpus(folder.path());
    let json = measured(folder.path(), &["--by", "phrase,voice"]);
    let benchcall = &json["listeners"][0];
    let events = benchcall["events"].as_array().unwrap();
    let outcomes: Vec<(&str, &str, &str)> = events
        .iter()
        .map(|event| {
            let text = |key: &str| event[key].as_str().unwrap_or("-");
            (text("said"), text("heard"), text("outcome"))
        })
        .collect();
    assert_eq!(
        outcomes,
        [
            ("110", "110", "at_once"),
            ("-", "read torque", "false_command"),
            ("work complete", "work complete", "at_once"),
            ("parts list", "read torque", "another"),
            ("say again", "say again", "at_once"),
        ]
    );
    let delay = events[2]["delay"].as_f64().unwrap();
    assert!((-0.3..1.0).contains(&delay), "{delay}");
    assert_eq!(events[3]["delay"], Value::Null);
    assert!(events[2]["score"].as_f64().unwrap() > -0.1);
    let rows = benchcall["spoken"].as_array().unwrap();
    let all = &rows[0];
    assert_eq!(
        (&all["by"], &all["made"]),
        (&"all".into(), &"synthetic".into())
    );
    assert_eq!(
        (&all["said"], &all["at_once"]["count"]),
        (&3.into(), &2.into())
    );
    assert_eq!(all["another"]["count"], 1);
    let sound = benchcall["sound"].as_array().unwrap();
    let talk = sound.iter().find(|row| row["made"] == "untold").unwrap();
    assert_eq!(talk["commands"]["count"], 1);
    assert_eq!(json["recordings"].as_array().unwrap().len(), 3);

    let together = measured(folder.path(), &["--by", "phrase,voice", "--jobs", "3"]);
    assert_eq!(json, together, "it depends on how many were heard at once");
    let part = measured(
        folder.path(),
        &["--part", "held-out", "--by", "phrase,voice"],
    );
    let events_of = |json: &Value, file: &str| -> Vec<Value> {
        let events = json["listeners"][0]["events"].as_array().unwrap();
        let of_file = events.iter().filter(|event| event["file"] == file);
        of_file.cloned().collect()
    };
    assert_eq!(part["recordings"].as_array().unwrap().len(), 1);
    assert_eq!(
        events_of(&part, "commands.wav"),
        events_of(&json, "commands.wav"),
        "it depends on what else was heard"
    );
}

#[test]
fn the_table_says_what_it_stands_on() {
    if !at_hand("the table of the measuring bench", &["ears", "flite"]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    small_corpus(folder.path());
    let output = measure(folder.path(), &["--only", "commands", "--by", "voice"]);
    let text = String::from_utf8(output.stdout).unwrap();
    let all = text.lines().find(|line| line.starts_with("all ")).unwrap();
    let columns: Vec<&str> = all.split_whitespace().collect();
    assert_eq!(columns[..4], ["all", "synthetic", "3", "66.7"], "{text}");
    for part in [
        "by voice\nflite:slt",
        "taken for another",
        "no real person was heard",
        "times real time",
        "95 % intervals",
    ] {
        assert!(text.contains(part), "{part:?} is not in\n{text}");
    }
    assert!(!text.contains("Readings"), "{text}");
}

#[test]
fn others_hear_the_same_beside() {
    for (listener, option, tools) in [
        ("open vocabulary", "open-vocabulary", &["ears", "flite"][..]),
        (
            "pocketsphinx",
            "pocketsphinx",
            &["ears", "flite", "pocketsphinx_continuous"],
        ),
    ] {
        if at_hand(&format!("{listener} beside the program"), tools) {
            check_beside(listener, option);
        }
    }
}

fn check_beside(listener: &str, option: &str) {
    let folder = tempfile::tempdir().unwrap();
    let said = ["next instruction", "parts list"];
    let header = "made: synthetic\n\n";
    record(folder.path(), "commands", header, &said, &said);
    let json = measured(folder.path(), &["--beside", option]);
    let listeners = json["listeners"].as_array().unwrap();
    let names: Vec<&str> = listeners
        .iter()
        .map(|listener| listener["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["benchcall", listener]);
    for listener in listeners {
        let all = &listener["spoken"][0];
        assert_eq!(all["said"], 2, "{listener}");
        assert!(all["at_once"]["count"].as_u64().unwrap() >= 1, "{listener}");
    }
    let delay = |i: usize| listeners[i]["spoken"][0]["delay"]["median"].as_f64();
    match listener {
        // The library's own end of speech comes later than belief.
        "open vocabulary" => assert!(delay(0) < delay(1), "{:?} {:?}", delay(0), delay(1)),
        _ => assert_eq!(delay(1), None),
    }
}

#[test]
fn mistakes_in_transcripts_are_told_before_anything_runs() {
    if !at_hand("transcripts with mistakes", &["ears"]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("alone.txt"), "nothing\n").unwrap();
    let refused = |parts: &[&str]| {
        let output = Command::new(program())
            .args(["hear", "--measure"])
            .arg(folder.path())
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(1));
        let text = String::from_utf8(output.stderr).unwrap();
        for part in parts {
            assert!(text.contains(part), "{part:?} is not in\n{text}");
        }
    };
    refused(&["1 mistake in", "alone.txt", "alone.wav"]);

    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(folder.path().join("alone.wav"), spec).unwrap();
    for _ in 0..16_000 {
        writer.write_sample(0_i16).unwrap();
    }
    writer.finalize().unwrap();
    let text = "colour: red\n\n0.1\t0.5\tsay again\n0.7\t3.0\tsey again\n";
    fs::write(folder.path().join("alone.txt"), text).unwrap();
    refused(&["2 mistakes", "alone.txt:1: ", "alone.txt:4: `sey again`"]);
    fs::write(folder.path().join("alone.txt"), "0.1\t3.0\tsay again\n").unwrap();
    refused(&["alone.txt:1: It ends at 3 s, after the recording at 1.00 s"]);
    fs::write(
        folder.path().join("alone.txt"),
        "phrases: xyzzyish thing\n\nnothing\n",
    )
    .unwrap();
    refused(&["alone.txt: `xyzzyish` could never be heard"]);
    fs::write(folder.path().join("alone.txt"), "nothing\n").unwrap();
    fs::rename(folder.path().join("alone.wav"), folder.path().join("a.bin")).unwrap();
    fs::remove_file(folder.path().join("alone.txt")).unwrap();
    refused(&["There is no recording in"]);
}
