//! The command line as its user meets it: help, exit codes, complaints with their cure.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::path::Path;
use std::process::{Command, Output, Stdio};

fn benchcall(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_benchcall"))
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("BENCHCALL_DATA")
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn help_teaches_and_every_command_of_the_readme_exists() {
    let help = text(&benchcall(&["--help"]).stdout);
    for taught in [
        "work complete",
        "stop",
        "hold opens only",
        "Page Down",
        "come first",
    ] {
        assert!(
            help.contains(taught),
            "{taught:?} is not in the help:\n{help}"
        );
    }
    let readme =
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    let commands: Vec<&str> = readme
        .lines()
        .filter_map(|line| line.strip_prefix("    benchcall "))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(commands.len() >= 6, "the README shows {commands:?}");
    for command in commands {
        let output = benchcall(&[command, "--help"]);
        assert!(
            output.status.success(),
            "{command}: {}",
            text(&output.stderr)
        );
    }
    for option in [
        "--full", "--silent", "--text", "--resume", "--new", "--data", "--trace",
    ] {
        assert!(readme.contains(option), "{option} is not in the README");
        let help = text(&benchcall(&["run", "--help"]).stdout);
        assert!(
            help.contains(option),
            "{option} is in the README and not in the program"
        );
    }
}

#[test]
fn the_shipped_procedures_pass_the_checker() {
    let output = benchcall(&[
        "check",
        "procedures/wheel-refit.ron",
        "procedures/pump-cover.ron",
    ]);
    assert!(
        output.status.success(),
        "{}{}",
        text(&output.stdout),
        text(&output.stderr)
    );
}

#[test]
fn a_wrong_file_is_drawn_with_its_place_and_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("wrong.ron");
    std::fs::write(
        &path,
        "Procedure(\n    title: \"Reel\",\n    subject: \"invented\",\n    steps: [\n        (id: \"a\", \
         say: \"Do it.\", wiat: (name: \"cure\", lasts: \"5 min\")),\n    ],\n)\n",
    )
    .unwrap();
    let path = path.to_str().unwrap();
    let checked = benchcall(&["check", path]);
    assert_eq!(checked.status.code(), Some(1));
    let drawn = text(&checked.stdout);
    assert!(drawn.contains("wrong.ron:5:"), "{drawn}");
    assert!(drawn.contains("did you mean `wait`"), "{drawn}");
    let run = benchcall(&["run", path, "--silent", "--deaf"]);
    assert_eq!(run.status.code(), Some(1), "{}", text(&run.stderr));
}

#[test]
fn trouble_names_its_file_and_its_cure() {
    let missing = benchcall(&["check", "no-such.ron"]);
    assert_eq!(missing.status.code(), Some(3));
    assert!(text(&missing.stderr).contains("no-such.ron"));

    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    std::fs::write(&data, "a file where the folder should be").unwrap();
    let spoiled = benchcall(&[
        "run",
        "procedures/pump-cover.ron",
        "--deaf",
        "--silent",
        "--data",
        data.to_str().unwrap(),
    ]);
    assert_eq!(spoiled.status.code(), Some(3));
    assert!(text(&spoiled.stderr).contains(data.to_str().unwrap()));

    let data = folder.path().join("fresh");
    let nothing = benchcall(&[
        "run",
        "procedures/pump-cover.ron",
        "--deaf",
        "--silent",
        "--resume",
        "--data",
        data.to_str().unwrap(),
    ]);
    assert_eq!(nothing.status.code(), Some(1));
    let words = text(&nothing.stderr);
    assert!(
        words.contains("no unfinished job") && words.contains("Do:"),
        "{words}"
    );
}

#[test]
fn completions_name_the_commands() {
    for shell in ["bash", "zsh", "fish"] {
        let completions = text(&benchcall(&["completions", shell]).stdout);
        assert!(completions.contains("rehearse"), "{shell}");
    }
}

#[test]
fn a_step_that_cannot_be_read_from_there_is_refused_by_name() {
    let check = |distance: &str| {
        benchcall(&[
            "check",
            "procedures/wheel-refit.ron",
            "--read-from",
            distance,
        ])
    };
    let far = check("8m");
    assert_eq!(far.status.code(), Some(1));
    let said = text(&far.stdout);
    assert!(
        said.contains("Step `chocks` cannot be read from 8 m"),
        "{said}"
    );
    for near in ["0.8 m", "3m"] {
        let near = check(near);
        assert!(near.status.success(), "{}", text(&near.stdout));
    }
    assert_eq!(check("3").status.code(), Some(2));
}

#[test]
fn tools_that_cannot_be_called_by_name_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("tools.ron");
    let wrench = "(name: \"stop stop\", length: \"450 mm\", lowest: \"40 N·m\", \
                  highest: \"200 N·m\", step: \"1 N·m\", deviation: \"4 %\")";
    std::fs::write(&file, format!("(wrenches: [{wrench}])")).unwrap();
    let file = file.to_str().unwrap();
    let run = [
        "run",
        "procedures/wheel-refit.ron",
        "--deaf",
        "--tools",
        file,
    ];
    let refused = benchcall(&run);
    assert_eq!(refused.status.code(), Some(1));
    let said = text(&refused.stderr);
    assert!(
        said.contains("The tool \"stop stop\" cannot be called"),
        "{said}"
    );
    assert!(said.contains("Do: "), "{said}");
}

#[test]
fn procedures_that_are_not_safe_together_are_not_run_together() {
    let data = tempfile::tempdir().unwrap();
    let unsafe_two = [
        "tests/proof/unguarded_for_another-a.ron",
        "tests/proof/unguarded_for_another-b.ron",
    ];
    for one in unsafe_two {
        assert!(benchcall(&["check", one]).status.success(), "{one}");
    }
    let mut run = vec!["run"];
    run.extend(unsafe_two);
    run.extend(["--text", "--deaf", "--silent", "--new", "--data"]);
    run.push(data.path().to_str().unwrap());
    let refused = benchcall(&run);
    let told = text(&refused.stderr);
    assert!(!refused.status.success());
    for part in ["not safe to be open together", "benchcall check"] {
        assert!(told.contains(part), "{told}");
    }
}
