//! No bytes whatever make the reader panic, and every finding lies inside the file.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fmt::Write as _;

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{
    LARGEST_FILE, Look, MOST_FINDINGS, NoModel, Speech, check_file, draw, refused,
};
use proptest::prelude::*;

const SOUND: &str = include_str!("../procedures/wheel-refit.ron");

/// Reads `bytes` and draws what is found; all that must hold for any file is asserted here.
#[track_caller]
fn holds(bytes: &[u8]) {
    let (procedure, findings) = check_file("any.ron", bytes, &Speech::standard(&NoModel, &CmuDict));
    assert_eq!(procedure.is_some(), !refused(&findings));
    assert!(findings.len() <= MOST_FINDINGS + 1);
    for finding in &findings {
        assert!(finding.span.start <= finding.span.end, "{finding:?}");
        assert!(finding.span.end <= bytes.len(), "{finding:?}");
        assert!(finding.message.chars().count() < 1000, "{finding:?}");
        assert!(
            finding.message.starts_with(|c: char| !c.is_lowercase()),
            "{finding:?}"
        );
        assert!(!finding.message.ends_with('.'), "{finding:?}");
    }
    draw(
        "any.ron",
        &String::from_utf8_lossy(bytes),
        &findings,
        Look::Coloured,
    );
}

/// A change that a slip of the hand makes.
#[derive(Debug, Clone)]
enum Edit {
    Delete(usize, usize),
    Insert(usize, String),
    Replace(usize, u8),
    Truncate(usize),
    /// Copies a piece to another place.
    Copy(usize, usize, usize),
}

fn edit() -> impl Strategy<Value = Edit> {
    let at = 0..SOUND.len();
    let signs = "[()\\[\\]{}:,\"'#/*\\\\a-z0-9 \n·“-]{1,4}";
    prop_oneof![
        (at.clone(), 1..40_usize).prop_map(|(at, count)| Edit::Delete(at, count)),
        (at.clone(), signs).prop_map(|(at, text)| Edit::Insert(at, text)),
        (at.clone(), any::<u8>()).prop_map(|(at, byte)| Edit::Replace(at, byte)),
        at.clone().prop_map(Edit::Truncate),
        (at.clone(), 1..400_usize, at).prop_map(|(from, count, to)| Edit::Copy(from, count, to)),
    ]
}

fn apply(edit: Edit, bytes: &mut Vec<u8>) {
    let within = |at: usize| at.min(bytes.len());
    match edit {
        Edit::Delete(at, count) => {
            let range = within(at)..within(at + count);
            bytes.drain(range);
        }
        Edit::Insert(at, text) => {
            let at = within(at);
            bytes.splice(at..at, text.bytes());
        }
        Edit::Replace(at, byte) => {
            if let Some(old) = bytes.get_mut(at) {
                *old = byte;
            }
        }
        Edit::Truncate(at) => bytes.truncate(at),
        Edit::Copy(from, count, to) => {
            let piece = bytes[within(from)..within(from + count)].to_vec();
            let to = within(to);
            bytes.splice(to..to, piece);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 400,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_sound_file_with_slips(edits in prop::collection::vec(edit(), 1..6)) {
        let mut bytes = SOUND.as_bytes().to_vec();
        for edit in edits {
            apply(edit, &mut bytes);
        }
        holds(&bytes);
    }

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        holds(&bytes);
    }

    #[test]
    fn any_signs_of_the_notation(text in "\\(?[()\\[\\]{}:,;\"'#/*\\\\a-c0-9. \nr·“é-]{0,300}") {
        holds(text.as_bytes());
    }
}

/// Files as bad as they come, a quarter as large as may be. Time is measured by hand, not here: each
/// must only come to an end.
#[test]
fn hostile_files_come_to_an_end() {
    let head = "(title: \"t\", subject: \"s\", ";
    let pieces = [
        "(",
        "[",
        "((",
        "{\"",
        ",",
        ":",
        "a:",
        "a:1,",
        "\"",
        "\"a\"",
        "\"a\",",
        "\"a\"b",
        "r#\"",
        "/*",
        "/**/",
        "//\n",
        "#![",
        "#![]",
        "'a",
        "“",
        "“a”",
        "\\",
        "@",
        ";",
        "\n",
        " ",
        "a b ",
        "a(",
        "a(b:[",
        "1 x",
        "é",
        "1e9",
        "(id:\"a\",say:\"a\"),",
        "{id:1},",
        ")",
        "]",
        "\"\\",
        "a:[",
        "id:\"",
    ];
    let mut files: Vec<String> = Vec::new();
    for piece in pieces {
        for start in [
            "",
            head,
            &format!("{head}steps: [(id: \"a\", say: \"b\", after: ["),
        ] {
            files.push(format!(
                "{start}{}",
                piece.repeat((LARGEST_FILE / 4 - start.len()) / piece.len())
            ));
        }
    }
    for file in files {
        holds(file.as_bytes());
    }
}

/// Files that are right in their outline and as large as may be, so that the rules have most to do.
#[test]
fn large_files_come_to_an_end() {
    for file in [
        many_steps(),
        long_lists(),
        unlike_ids(),
        one_long_text(),
        many_holds(),
        many_conditions(),
    ] {
        assert!(file.len() <= LARGEST_FILE, "{}", file.len());
        holds(file.as_bytes());
    }
}

const HEAD: &str = "(title: \"t\", subject: \"s\", conditions: [\"c\"], steps: [\n";

fn many_steps() -> String {
    let mut file = HEAD.to_owned();
    let mut number = 0;
    while file.len() < LARGEST_FILE - 100 {
        writeln!(file, "(id: \"s{number}\", say: \"x\"),").unwrap();
        number += 1;
    }
    file + "])"
}

/// Each of 500 steps waits for 200 later ones, and all for each other.
fn long_lists() -> String {
    let mut file = HEAD.to_owned();
    for number in 0..500 {
        write!(
            file,
            "(id: \"s{number}\", say: \"x\", sets: [\"c\"], after: ["
        )
        .unwrap();
        for other in 0..200 {
            write!(file, "\"s{}\",", (number + other + 1) % 500).unwrap();
        }
        file.push_str("]),\n");
    }
    file + "])"
}

/// No `after` names a step, but each is like all of them.
fn unlike_ids() -> String {
    let long = "abcdefghijklmnopqrstuvwxyz0123456789";
    let mut file = HEAD.to_owned();
    for number in 0..500 {
        write!(file, "(id: \"{long}{number}\", say: \"x\", after: [").unwrap();
        for other in 0..40 {
            write!(file, "\"{long}x{other}\",").unwrap();
        }
        file.push_str("]),\n");
    }
    file + "])"
}

fn one_long_text() -> String {
    let long = "a".repeat(LARGEST_FILE - 200);
    format!("{HEAD}(id: \"{long}\", say: \"x\")])")
}

fn many_holds() -> String {
    let answer = "abcdefgh ".repeat(8);
    let mut file = HEAD.to_owned();
    for number in 0..500 {
        let answer = answer.trim();
        writeln!(
            file,
            "(id: \"s{number}\", say: \"x\", sets: [\"c\"], forbidden_while: [\"c\"], hold: (ask: \"x\", answer: \"{answer}\")),"
        )
        .unwrap();
    }
    file + "])"
}

/// Each step sets, clears, needs and is forbidden by the same conditions.
fn many_conditions() -> String {
    let all: String = (0..200).map(|number| format!("\"c{number}\",")).collect();
    let mut file = format!("(title: \"t\", subject: \"s\", conditions: [{all}], steps: [\n");
    let mut number = 0;
    while file.len() < LARGEST_FILE - 5 * all.len() {
        writeln!(
            file,
            "(id: \"s{number}\", say: \"x\", sets: [{all}], clears: [{all}], needs: [{all}], forbidden_while: [{all}]),"
        )
        .unwrap();
        number += 1;
    }
    file + "])"
}
