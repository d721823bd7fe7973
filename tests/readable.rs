//! Every procedure that comes with the program can be read across the shop.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{NoModel, Speech, read};
use benchcall::show::far::{Part, ReadFrom, too_small};
use benchcall::trade::quantity::Length;

/// As `check --read-from 3m --screen "24 in" --pixels 1920x1080` judges.
#[test]
fn every_procedure_is_read_from_three_metres() {
    let from = ReadFrom {
        distance: Length::metres(3.0),
        diagonal: Length::inches(24.0),
        across: 1920,
        down: 1080,
    };
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    let mut wrong = Vec::new();
    let mut files = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let speech = Speech::standard(&NoModel, &CmuDict);
        let bytes = std::fs::read(&path).unwrap();
        let procedure = read(&path.to_string_lossy(), &bytes, &speech)
            .unwrap_or_else(|findings| panic!("{findings:?}"));
        let small = too_small(&procedure, from).unwrap();
        // At its full size a caution is as large as the face makes it.
        let small = small.iter().filter(|small| small.part != Part::Cautions);
        wrong.extend(small.map(|small| {
            let id = &procedure.steps[small.step].id;
            let (part, size, needed) = (small.part, small.size, small.needed);
            format!("{}: {id}: {part:?} {size:.0} of {needed}", path.display())
        }));
        files += 1;
    }
    assert!(files >= 11, "{files}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
