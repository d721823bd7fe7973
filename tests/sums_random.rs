//! Sums with any readings: no figure makes one panic, and one that lacks a reading says no.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::path::Path;
use std::sync::LazyLock;

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{NoModel, Speech, Step, Taken, read};
use benchcall::trade::Verdict;
use proptest::prelude::*;

/// The steps with sums of the procedures that come with the program: each kind of sum is among them.
static STEPS: LazyLock<Vec<Step>> = LazyLock::new(steps);

fn steps() -> Vec<Step> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    let mut steps = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        let procedure = read("p", &bytes, &Speech::standard(&NoModel, &CmuDict)).unwrap();
        let with_sums = procedure
            .steps
            .into_iter()
            .filter(|step| !step.sums.is_empty());
        steps.extend(with_sums);
    }
    steps
}

/// What a person may say: up to four digits, and up to three after the point.
fn figure() -> impl Strategy<Value = Option<String>> {
    proptest::option::weighted(0.9, "[0-9]{1,4}(\\.[0-9]{1,3})?")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_figures(figures in proptest::collection::vec(figure(), 8)) {
        for step in STEPS.iter() {
            let mut taken = Taken::default();
            for (reading, figure) in step.readings.iter().zip(&figures) {
                if let Some(figure) = figure {
                    taken.add(reading, figure);
                }
            }
            let read = step.readings.len().min(8);
            let all = figures.iter().take(read).all(Option::is_some);
            for sum in &step.sums {
                let reckoned = sum.reckon(&taken);
                prop_assert!(!reckoned.result.is_empty());
                let said = reckoned.sentences();
                prop_assert!(!said.contains("NaN") && !said.contains("inf "), "{}", said);
                if !all && sum.reads() && step.sums.len() == 1 {
                    prop_assert_eq!(reckoned.verdict, Verdict::Refuse, "{}", said);
                }
            }
        }
    }
}
