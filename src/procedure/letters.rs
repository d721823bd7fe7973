//! The sounds of a word that no dictionary has, by the commonest rules of English spelling: rough, but
//! better than no judgement.

use super::sound::Pronunciation;

/// Spellings and their sounds, the longest first.
const SPELLINGS: &[(&str, &str)] = &[
    ("tion", "SH AH0 N"),
    ("sion", "ZH AH0 N"),
    ("ough", "AO1"),
    ("augh", "AO1"),
    ("nge", "N JH"),
    ("tch", "CH"),
    ("dge", "JH"),
    ("igh", "AY1"),
    ("que", "K"),
    ("ph", "F"),
    ("ck", "K"),
    ("ch", "CH"),
    ("sh", "SH"),
    ("th", "TH"),
    ("wh", "W"),
    ("gh", ""),
    ("qu", "K W"),
    ("ng", "NG"),
    ("ce", "S EH1"),
    ("ci", "S IH1"),
    ("cy", "S IY1"),
    ("ge", "JH EH1"),
    ("gi", "JH IH1"),
    ("ee", "IY1"),
    ("ea", "IY1"),
    ("ie", "IY1"),
    ("ei", "EY1"),
    ("ai", "EY1"),
    ("ay", "EY1"),
    ("ey", "EY1"),
    ("oo", "UW1"),
    ("ou", "AW1"),
    ("ow", "OW1"),
    ("oa", "OW1"),
    ("oi", "OY1"),
    ("oy", "OY1"),
    ("au", "AO1"),
    ("aw", "AO1"),
    ("er", "ER0"),
    ("ir", "ER1"),
    ("ur", "ER1"),
    ("a", "AE1"),
    ("b", "B"),
    ("c", "K"),
    ("d", "D"),
    ("e", "EH1"),
    ("f", "F"),
    ("g", "G"),
    ("h", "HH"),
    ("i", "IH1"),
    ("j", "JH"),
    ("k", "K"),
    ("l", "L"),
    ("m", "M"),
    ("n", "N"),
    ("o", "AA1"),
    ("p", "P"),
    ("q", "K"),
    ("r", "R"),
    ("s", "S"),
    ("t", "T"),
    ("u", "AH1"),
    ("v", "V"),
    ("w", "W"),
    ("x", "K S"),
    ("y", "IY1"),
    ("z", "Z"),
];

/// Returns the sounds of `word` by its letters; the first syllable is taken to be the strong one.
pub(super) fn sound_out(word: &str) -> Pronunciation {
    let mut rest = match word.get(..2) {
        Some("kn" | "wr" | "ps") => &word[1..],
        _ => word,
    };
    // The e at the end is silent after a consonant.
    let soft = rest.ends_with("ce") || rest.ends_with("ge");
    if let Some(stem) = rest.strip_suffix('e').filter(|_| !soft)
        && stem.len() > 1
        && !stem.ends_with(['a', 'e', 'i', 'o', 'u'])
    {
        rest = stem;
    }
    let mut sounds: Vec<String> = Vec::new();
    let mut stressed = false;
    while let Some(letter) = rest.chars().next() {
        let spelling = SPELLINGS
            .iter()
            .find(|(written, _)| rest.starts_with(written));
        let (length, heard) = match spelling {
            Some((written, heard)) => (written.len(), *heard),
            None => (letter.len_utf8(), ""),
        };
        for sound in heard.split_whitespace() {
            let weak = sound.replace('1', if stressed { "0" } else { "1" });
            stressed |= weak.ends_with('1');
            // A doubled letter is one sound.
            if sounds.last() != Some(&weak) {
                sounds.push(weak);
            }
        }
        rest = &rest[length..];
    }
    if soft && sounds.last().is_some_and(|last| last.starts_with("EH")) {
        sounds.pop();
    }
    Pronunciation::read(&sounds.join(" ")).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_sounded_out() {
        for (word, sounds) in [
            ("knuckle", "N AH1 K L"),
            ("nuckle", "N AH1 K L"),
            ("phase", "F AE1 S"),
            ("chocks", "CH AA1 K S"),
            ("flange", "F L AE1 N JH"),
            ("gauge", "G AO1 JH"),
            ("station", "S T AE1 SH AH0 N"),
            ("it's", "IH1 T S"),
        ] {
            assert_eq!(
                sound_out(word),
                Pronunciation::read(sounds).unwrap(),
                "{word}"
            );
        }
    }

    #[test]
    fn every_spelling_has_sounds_that_there_are() {
        for (written, sounds) in SPELLINGS {
            assert!(Pronunciation::read(sounds).is_some(), "{written}");
        }
    }
}
