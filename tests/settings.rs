//! Settings files: what is read, and every finding as it is drawn (`settings_errors/NAME.ron` and
//! `NAME.txt`; `BENCHCALL_UPDATE=1` writes the texts anew, to be read by a person).

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::path::{Path, PathBuf};

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{Finding, Look, NoModel, Severity, Words, draw};
use benchcall::settings::{self, Settings};

/// A model that knows every word but one.
struct NoChocks;

impl Words for NoChocks {
    fn unknown(&self, words: &[&str]) -> Vec<String> {
        let unknown = words.iter().filter(|word| **word == "chocks");
        unknown.map(|word| (*word).to_owned()).collect()
    }
}

fn read(source: &str) -> (Option<Settings>, Vec<Finding>) {
    settings::read("settings.ron", source.as_bytes(), &NoChocks, &CmuDict)
}

#[test]
fn every_finding_is_drawn_as_expected() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/settings_errors");
    let update = std::env::var_os("BENCHCALL_UPDATE").is_some();
    let mut paths: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().unwrap() == "ron")
        .collect();
    paths.sort();
    assert!(paths.len() >= 15, "{paths:?}");
    let mut wrong = Vec::new();
    for path in paths {
        let name = path.file_name().unwrap().to_str().unwrap();
        let source = fs::read_to_string(&path).unwrap();
        let (settings, findings) = settings::read(name, source.as_bytes(), &NoChocks, &CmuDict);
        assert_eq!(settings, None, "{name}");
        let drawn = draw(name, &source, &findings, Look::Plain);
        let expected = path.with_extension("txt");
        if update {
            fs::write(&expected, drawn).unwrap();
        } else if fs::read_to_string(&expected).unwrap_or_default() != drawn {
            wrong.push(format!("{name} is now drawn as\n{drawn}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn what_is_written_is_set() {
    let (settings, findings) = read(
        r#"Settings(
            phrases: {
                "work complete": "job is finished", // shorter
                "stop stop": "halt all work",
            },
            call_sign: "workshop",
            cardinals: true,
        )"#,
    );
    assert_eq!(findings, []);
    let settings = settings.unwrap();
    assert_eq!(settings.phrases["work complete"], "job is finished");
    assert_eq!(settings.phrases["stop stop"], "halt all work");
    assert_eq!(settings.phrases.len(), 2);
    assert_eq!(settings.call_sign.as_deref(), Some("workshop"));
    assert!(settings.cardinals);
}

#[test]
fn nothing_written_is_nothing_set() {
    for source in [
        "",
        "()",
        "// later\n",
        "(phrases: {})",
        "(cardinals: false)",
    ] {
        assert_eq!(
            read(source),
            (Some(Settings::default()), Vec::new()),
            "{source:?}"
        );
    }
}

/// One phrase may take the words that another has given up.
#[test]
fn words_that_another_phrase_has_given_up_are_free() {
    let (settings, findings) = read(
        r#"(phrases: {"work complete": "job is finished", "next instruction": "work completed"})"#,
    );
    assert_eq!(findings, []);
    assert!(settings.is_some());
    let (settings, _) = read(r#"(phrases: {"next instruction": "work completed"})"#);
    assert!(settings.is_none());
}

#[test]
fn without_a_model_it_is_said_once_and_the_sounds_are_judged_all_the_same() {
    let source = br#"(phrases: {"parts list": "show all parts", "voice note": "record a note"})"#;
    let (settings, findings) = settings::read("s.ron", source, &NoModel, &CmuDict);
    assert!(settings.is_some());
    assert_eq!(findings.len(), 1);
    assert_eq!(findings[0].severity, Severity::Advice);
    let (settings, _) = settings::read(
        "s.ron",
        br#"(phrases: {"parts list": "voice notes"})"#,
        &NoModel,
        &CmuDict,
    );
    assert!(settings.is_none());
}

#[test]
fn bytes_that_are_no_text_are_refused() {
    let (settings, findings) = settings::read("s.ron", b"(\xff)", &NoChocks, &CmuDict);
    assert!(settings.is_none());
    assert_eq!(findings[0].message, "Byte 2 of s.ron is no UTF-8 text");
}
