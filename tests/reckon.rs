//! The trade's sums as they are typed: every topic for people and as JSON, what is refused, and
//! published examples that are wrong.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::process::{Command, Output, Stdio};

use benchcall::command_line::CommandLine;
use clap::CommandFactory;
use serde_json::Value;

fn reckon(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_benchcall"))
        .arg("reckon")
        .args(args)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// Takes a command apart as a shell does with words in plain or double quotes.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            _ => words.last_mut().unwrap().push(c),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// Runs a command line after `benchcall reckon`; the output and the exit code.
fn run(line: &str) -> (Output, i32) {
    let words = words(line);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let output = reckon(&words);
    let code = output.status.code().unwrap();
    (output, code)
}

/// Returns every topic with the examples of its help.
fn topics() -> Vec<(String, Vec<String>)> {
    let command = CommandLine::command();
    let reckon = command.find_subcommand("reckon").unwrap();
    let examples = |topic: &clap::Command| {
        let help = topic.get_after_help().map(ToString::to_string);
        help.unwrap_or_default()
            .lines()
            .filter_map(|line| line.trim().strip_prefix("benchcall reckon "))
            .map(str::to_owned)
            .collect()
    };
    reckon
        .get_subcommands()
        .map(|topic| (topic.get_name().to_owned(), examples(topic)))
        .collect()
}

#[test]
fn every_topic_has_an_example_that_runs_for_people_and_as_json() {
    for (topic, examples) in topics() {
        assert!(!examples.is_empty(), "{topic} has no example in its help");
        for example in examples {
            assert!(example.starts_with(&topic), "{topic}: {example}");
            let (output, code) = run(&example);
            let said = text(&output.stdout);
            assert!(
                code == 0 || code == 5,
                "{example}: {code}\n{}",
                text(&output.stderr)
            );
            let mut lines = said.lines();
            assert!(!lines.next().unwrap().trim().is_empty(), "{said}");
            for part in ["\nWorked:  ", "\nSource:  "] {
                let at = said
                    .find(part)
                    .unwrap_or_else(|| panic!("{example}\n{said}"));
                let line = said[at + part.len()..].lines().next().unwrap();
                assert!(line.len() > 2, "{example}\n{said}");
            }
            let (output, json_code) = run(&format!("{example} --json"));
            assert_eq!(json_code, code, "{example}");
            let json: Value = serde_json::from_slice(&output.stdout).unwrap();
            let keys: Vec<&String> = json.as_object().unwrap().keys().collect();
            let mut wanted = vec!["result", "unit", "formula", "source", "cautions"];
            wanted.sort_unstable();
            assert_eq!(keys, wanted, "{example}");
            assert!(!json["result"].is_null(), "{example}");
            assert!(json["cautions"].is_array(), "{example}");
            for part in ["formula", "source"] {
                assert!(!json[part].as_str().unwrap().is_empty(), "{example}");
            }
        }
    }
}

/// The first line for people, a part of the rest, and the exit code.
#[test]
fn topics_answer_what_was_asked() {
    for (line, first, part, wanted) in [
        (
            "torque \"80 ft-lb\" --in N·m --step \"5 N·m\"",
            "dial 105 N·m",
            "exact 108.5 N·m",
            0,
        ),
        ("torque 11mkg", "107.9 N·m", "9.807 N·m/kgf·m", 0),
        (
            "band \"47 ± 5 N·m\" --class \"4 %\"",
            "band proved",
            "45.12 to 48.88",
            0,
        ),
        (
            "band \"47 ± 1 N·m\" --class \"4 %\"",
            "band not proved",
            "No setting of this wrench",
            5,
        ),
        (
            "order --bolts 12",
            "1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12",
            "12 bolts",
            0,
        ),
        (
            "order --bolts 5 --slacken",
            "4, 2, 5, 3, 1",
            "in reverse",
            0,
        ),
        ("order --bolts 3 --by-hand 2,1,3", "2, 1, 3", "own order", 0),
        (
            "passes \"110 N·m\" --shares \"50 %,100 %\" --check",
            "1. torque 55 N·m, order by the pattern",
            "3. torque 110 N·m, order all the way round",
            0,
        ),
        (
            "wrench --torque \"110 N·m\" --length \"400 mm\" --adapter \"80 mm\" --angle \"90 deg\"",
            "110 N·m",
            "cos 90",
            0,
        ),
        (
            "thread M12x1.5 --class 8.8",
            "proof load 51.1 kN",
            "88.1 mm² × 580 MPa",
            0,
        ),
        (
            "preload \"17 lb-ft\" --thread 5/16-18 --nut-factor 0.2 --class \"grade 5\"",
            "verdict go",
            "preload: middle",
            0,
        ),
        (
            "lubricant --stated dry --actual greased",
            "verdict refuse",
            "do not guess a figure",
            5,
        ),
        ("engagement M10 --into aluminium", "20 mm", "2 × 10 mm", 0),
        (
            "nut-turns M14x1.5 --counted \"8 turns\"",
            "needed 10 turns",
            "do not drive on it",
            5,
        ),
    ] {
        let (output, code) = run(line);
        let said = text(&output.stdout);
        assert_eq!(code, wanted, "{line}\n{said}{}", text(&output.stderr));
        assert_eq!(said.lines().next(), Some(first), "{line}\n{said}");
        assert!(said.contains(part), "{line}: no {part:?} in\n{said}");
    }
}

#[test]
fn what_cannot_be_names_the_range_and_what_to_type() {
    for (line, wanted, part) in [
        ("torque 80", 2, "A torque is a number and a unit"),
        (
            "wrench --torque \"110 N·m\" --length \"-400 mm\"",
            2,
            "A length goes from 0 mm to 1000000 mm, not -400 mm: type 0 mm",
        ),
        (
            "wrench --torque \"110 N·m\" --length \"400 mm\" --adapter \"80 mm\" --angle \"200 deg\"",
            1,
            "0° to 180° to the handle, not 200 °: write 180 °",
        ),
        ("thread M12 --class 8.7", 2, "write a class (4.6, 4.8,"),
        ("thread M12x1.4", 2, "write M12×1.75 or M12×1.5"),
        ("thread 3/8-16 --class 8.8", 1, "grades with unified"),
        ("order --bolts 65", 1, "1 to 64 bolts"),
        ("order --bolts 48 --together 5", 1, "write 4 to a group"),
        ("order --bolts 5 --by-hand 1,2,3,4", 1, "leaves out bolt 5"),
        ("torque \"80 ft-lb\" --in Nmm", 2, "write N·m, lbf·ft"),
        ("lubricant --actual wet", 2, "possible values: dry, oiled"),
    ] {
        let (output, code) = run(line);
        let said = text(&output.stderr);
        assert_eq!(code, wanted, "{line}\n{said}");
        assert!(said.contains(part), "{line}: no {part:?} in\n{said}");
        assert!(output.stdout.is_empty(), "{line}");
    }
}

/// A homework page gives 5/16 in grade 5 bolts 8400 lbf and 1083.6 lbf·in: three times what they bear.
#[test]
fn the_published_preload_beyond_proof_is_refused() {
    let line = "preload \"1083.6 lbf·in\" --thread 5/16-18 --nut-factor 0.2 --class \"grade 5\"";
    let (output, code) = run(line);
    let said = text(&output.stdout);
    assert_eq!(code, 5, "{said}");
    assert!(said.starts_with("verdict refuse\n"), "{said}");
    assert!(said.contains("stretched for good"), "{said}");
}
