//! Every kind of finding, as it is drawn: `procedure_errors/NAME.ron` is read, and what is wrong with
//! it must be drawn as `NAME.txt` says. `BENCHCALL_UPDATE=1` writes the texts anew; each is then read
//! by a person before it is kept.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::path::{Path, PathBuf};

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{
    LARGEST_FILE, Look, NoModel, Procedure, Severity, Speech, Words, check_file, check_judged,
    draw, read, refused,
};
use benchcall::prove::judge;

/// A model that knows every word but one.
struct NoChocks;

impl Words for NoChocks {
    fn unknown(&self, words: &[&str]) -> Vec<String> {
        let unknown = words.iter().filter(|word| **word == "chocks");
        unknown.map(|word| (*word).to_owned()).collect()
    }
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/procedure_errors")
}

fn drawn(name: &str, bytes: &[u8]) -> String {
    let speech = Speech::standard(&NoChocks, &CmuDict);
    let (procedure, findings) = check_judged(name, bytes, &speech, &judge);
    assert_eq!(procedure.is_none(), refused(&findings), "{name}");
    assert!(!findings.is_empty(), "{name} has nothing wrong with it");
    draw(
        name,
        &String::from_utf8_lossy(bytes),
        &findings,
        Look::Plain,
    )
}

#[test]
fn every_finding_is_drawn_as_expected() {
    let update = std::env::var_os("BENCHCALL_UPDATE").is_some();
    let mut wrong = Vec::new();
    let mut count = 0;
    let mut files: Vec<PathBuf> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    files.sort();
    for path in &files {
        if path.extension().unwrap() != "ron" {
            assert!(path.with_extension("ron").exists(), "{path:?} has no input");
            continue;
        }
        count += 1;
        let name = path.file_name().unwrap().to_str().unwrap();
        let drawn = drawn(name, &fs::read(path).unwrap());
        let expected = path.with_extension("txt");
        if update {
            fs::write(&expected, drawn).unwrap();
        } else if fs::read_to_string(&expected).unwrap_or_default() != drawn {
            wrong.push(format!("{name} is now drawn as\n{drawn}"));
        }
    }
    assert!(count > 0, "no inputs in {:?}", folder());
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_file_that_is_too_large_is_refused_with_its_size() {
    let (procedure, findings) = check_file(
        "wheel.ron",
        &vec![b' '; 2 * LARGEST_FILE],
        &Speech::standard(&NoModel, &CmuDict),
    );
    assert!(procedure.is_none());
    assert_eq!(findings.len(), 1);
    assert_eq!(
        findings[0].message,
        "A procedure file has at most 1 MiB, but wheel.ron has 2.0 MiB"
    );
}

#[test]
fn without_a_model_phrases_are_advised_about_and_the_procedure_is_read() {
    let source = br#"(title: "Lower", subject: "Fire engine", steps: [
        (id: "lower", say: "Lower.", hold: (ask: "Down?", answer: "tyre carries load")),
    ])"#;
    let (procedure, findings) =
        check_file("lower.ron", source, &Speech::standard(&NoModel, &CmuDict));
    assert!(procedure.is_some());
    let severities: Vec<Severity> = findings.iter().map(|finding| finding.severity).collect();
    assert_eq!(severities, [Severity::Advice]);
    assert_eq!(
        findings[0].message,
        "The words of phrases are not checked: there is no speech model"
    );
}

/// The program's own procedures break no rule and call in short sentences.
#[test]
fn the_procedures_that_come_with_the_program_are_sound() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    let mut count = 0;
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.to_str().unwrap();
        let bytes = fs::read(&path).unwrap();
        let (procedure, findings) =
            check_file(name, &bytes, &Speech::standard(&NoChocks, &CmuDict));
        let source = String::from_utf8(bytes).unwrap();
        assert!(
            findings.is_empty(),
            "{}",
            draw(name, &source, &findings, Look::Plain)
        );
        let procedure = procedure.unwrap();
        for step in &procedure.steps {
            let length = step.say.as_str().chars().count();
            assert!(
                length <= 100,
                "{name}: {} is called in {length} characters",
                step.id
            );
        }
        count += 1;
    }
    assert!(count >= 2);
}

/// What other editors and other authors write for the same.
#[test]
fn other_ways_to_write_the_same_are_read_the_same() {
    let plain = r#"(title: "Lower", subject: "Fire engine", steps: [
        (id: "lower", say: "Lower.", fasten: (bolts: 4, passes: [(torque: "20 N·m"), (torque: "30 N·m")])),
    ])"#;
    let expected = read(
        "plain.ron",
        plain.as_bytes(),
        &Speech::standard(&NoChocks, &CmuDict),
    );
    assert!(expected.is_ok(), "{expected:?}");
    let named = plain
        .replacen('(', "Procedure(", 1)
        .replace("(id", "Step(id")
        .replace("(bolts", "Fasten(bolts")
        .replace("(torque", "Pass(torque");
    for other in [
        plain.replace('\n', "\r\n"),
        format!("\u{feff}{plain}"),
        format!(
            "/* a note /* within */ */ {} // the end",
            plain.replace("],", "], // one\n")
        ),
        plain.replace("\"Lower.\"", "r#\"Lower.\"#"),
        plain.replace("Lower.", "Low\\u{65}r."),
        named,
    ] {
        assert_eq!(
            read(
                "other.ron",
                other.as_bytes(),
                &Speech::standard(&NoChocks, &CmuDict)
            ),
            expected,
            "{other}"
        );
    }
}

/// The record keeps a job's procedure as JSON.
#[test]
fn a_procedure_kept_as_json_comes_back_the_same() {
    for name in ["wheel-refit", "pump-cover"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("procedures/{name}.ron"));
        let procedure = read(
            name,
            &fs::read(path).unwrap(),
            &Speech::standard(&NoChocks, &CmuDict),
        )
        .unwrap();
        let kept = serde_json::to_string(&procedure).unwrap();
        let back: Procedure = serde_json::from_str(&kept).unwrap();
        assert_eq!(back, procedure);
    }
}
