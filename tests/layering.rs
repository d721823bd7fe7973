//! Reads the imports: the pure rooms use no clock, file, thread, sound, window or database.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::path::{Path, PathBuf};

const PURE: [&str; 48] = [
    "src/prove",
    "src/procedure",
    "src/trade",
    "src/run",
    "src/plan",
    "src/settings/read.rs",
    "src/wording.rs",
    "src/show/view.rs",
    "src/show/compose.rs",
    "src/show/words.rs",
    "src/show/sum_words.rs",
    "src/show/spoken_words.rs",
    "src/show/aloud.rs",
    "src/show/wait_words.rs",
    "src/show/plan_words.rs",
    "src/show/shelf_words.rs",
    "src/clock/agreement.rs",
    "src/clock/hours.rs",
    "src/hear/over_noise.rs",
    "src/show/keys.rs",
    "src/hear/belief.rs",
    "src/hear/belief/opinion.rs",
    "src/hear/belief/verifying.rs",
    "src/hear/opinion/network.rs",
    "src/hear/opinion/spectrum.rs",
    "src/hear/opinion/tokens.rs",
    "src/hear/opinion/weights.rs",
    "src/hear/utterance.rs",
    "src/hear/decoder.rs",
    "src/hear/stream.rs",
    "src/hear/numbers.rs",
    "src/hear/reading.rs",
    "src/hear/phrase.rs",
    "src/hear/cardinals.rs",
    "src/hear/narrow.rs",
    "src/hear/suppression.rs",
    "src/hear/denoised.rs",
    "src/hear/meter.rs",
    "src/hear/talk.rs",
    "src/hear/bands.rs",
    "src/hear/echo_filter.rs",
    "src/hear/forms.rs",
    "src/measure/transcript.rs",
    "src/measure/score.rs",
    "src/measure/share.rs",
    "src/measure/rows.rs",
    "src/measure/spot.rs",
    "src/measure/table.rs",
];

const FORBIDDEN: [&str; 22] = [
    "std::fs",
    "std::io",
    "std::net",
    "std::process",
    "std::thread",
    "std::env",
    "Instant",
    "SystemTime",
    "Utc::now",
    "Local::now",
    "cpal",
    "hound",
    "vosk",
    "slint",
    "rusqlite",
    "crossterm",
    "crate::bench",
    "crate::record",
    "crate::speak",
    "println!",
    "eprintln!",
    "unsafe",
];

fn files(place: &Path) -> Vec<PathBuf> {
    if place.is_file() {
        return vec![place.into()];
    }
    let entries = fs::read_dir(place).unwrap_or_else(|error| panic!("{place:?}: {error}"));
    entries
        .flat_map(|entry| files(&entry.unwrap().path()))
        .collect()
}

#[test]
fn pure_rooms_touch_nothing_outside() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    let mut read = 0;
    for place in PURE {
        for file in files(&root.join(place)) {
            read += 1;
            let text = fs::read_to_string(&file).unwrap();
            for (number, line) in text.lines().enumerate() {
                let code = line.split("//").next().unwrap_or_default();
                for word in FORBIDDEN.iter().filter(|word| code.contains(**word)) {
                    found.push(format!("{}:{}: {word}", file.display(), number + 1));
                }
            }
        }
    }
    assert!(read >= 20, "only {read} files were read");
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The rooms know each other in one direction only.
#[test]
fn the_core_does_not_know_its_shell() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for (room, may_use) in [
        ("src/trade", &["crate::trade"][..]),
        ("src/procedure", &["crate::trade", "crate::procedure"][..]),
        (
            "src/run",
            &["crate::trade", "crate::procedure", "crate::run"][..],
        ),
        (
            "src/plan",
            &["crate::procedure", "crate::run", "crate::plan"][..],
        ),
    ] {
        for file in files(&root.join(room)) {
            let text = fs::read_to_string(&file).unwrap();
            let code = text
                .lines()
                .map(|line| line.split("//").next().unwrap_or_default());
            for line in code.filter(|line| line.contains("crate::")) {
                assert!(
                    may_use.iter().any(|used| line.contains(used)),
                    "{}: {line}",
                    file.display()
                );
            }
        }
    }
}
