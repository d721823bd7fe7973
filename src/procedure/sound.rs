//! How alike two phrases sound: a rough measure on the spelling.
//!
//! Words are folded to sounds by the commonest rules of English spelling, silent letters left out.
//! Two phrases are as unlike as the cheapest way to turn the sounds of one into those of the other:
//! a sound put in, left out or changed costs 1, changed into a near one (p and b, i and e) 0.5; the
//! sum is taken relative to the longer phrase. The measure knows neither stress nor the recogniser;
//! it errs towards calling phrases alike.

/// Phrases less unlike than this are taken to sound alike. It lies below every pair of the standard
/// phrases, which the recogniser was measured to tell apart, and above those with one changed ending
/// (held by tests).
const LIKE: f64 = 0.34;

/// The sounds of a phrase.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Sounds(Vec<u8>);

/// Spellings and their sounds, the longest first. `S` is sh, `C` ch, `J` the g of gear, softened, `T`
/// th, `N` ng; vowels are `a`, `e`, `i`, `o`, `u`.
const SPELLINGS: &[(&str, &str)] = &[
    ("tion", "Sn"),
    ("sion", "Sn"),
    ("ough", "o"),
    ("augh", "o"),
    ("tch", "C"),
    ("dge", "J"),
    ("igh", "i"),
    ("que", "k"),
    ("ph", "f"),
    ("ck", "k"),
    ("ch", "C"),
    ("sh", "S"),
    ("th", "T"),
    ("wh", "w"),
    ("gh", ""),
    ("qu", "kw"),
    ("ng", "N"),
    ("ce", "se"),
    ("ci", "si"),
    ("cy", "si"),
    ("ge", "Je"),
    ("gi", "Ji"),
    ("ee", "i"),
    ("ea", "i"),
    ("ie", "i"),
    ("ei", "e"),
    ("ai", "e"),
    ("ay", "e"),
    ("ey", "e"),
    ("oo", "u"),
    ("ou", "o"),
    ("ow", "o"),
    ("oa", "o"),
    ("au", "o"),
    ("aw", "o"),
    ("x", "ks"),
    ("c", "k"),
    ("q", "k"),
    ("z", "s"),
    ("y", "i"),
    ("j", "J"),
];

/// Sounds that are near each other.
const NEAR: &[&[u8]] = &[
    b"pb", b"td", b"kg", b"fv", b"CJ", b"sS", b"mn", b"nN", b"Tt", b"Tf", b"ie", b"ea", b"ao",
    b"ou", b"rl", b"uw",
];

impl Sounds {
    /// Returns the sounds of `phrase`, words of `a-z` and `'`.
    pub(super) fn of(phrase: &str) -> Sounds {
        let mut sounds = Vec::new();
        for word in phrase.split(' ') {
            let from = sounds.len();
            fold(word, &mut sounds);
            let mut last = None;
            let folded = sounds.split_off(from);
            sounds.extend(
                folded
                    .into_iter()
                    .filter(|sound| last.replace(*sound) != Some(*sound)),
            );
        }
        Sounds(sounds)
    }

    /// Returns whether these sounds could be taken for `other`.
    pub(super) fn are_like(&self, other: &Sounds) -> bool {
        let (one, other_length) = (self.0.len(), other.0.len());
        // The difference in length alone is a part of the cost.
        let least = one.abs_diff(other_length) as f64 / one.max(other_length).max(1) as f64;
        least < LIKE && self.unlike(other) < LIKE
    }

    /// Returns how unlike `other` these are: 0 for the same sounds, 1 for nothing in common.
    fn unlike(&self, other: &Sounds) -> f64 {
        let longest = self.0.len().max(other.0.len());
        if longest == 0 {
            return 0.0;
        }
        // Twice the cost, to stay with whole numbers.
        let mut row: Vec<u32> = (0..=other.0.len() as u32).map(|n| 2 * n).collect();
        for one in &self.0 {
            let mut diagonal = row[0];
            row[0] += 2;
            for (i, sound) in other.0.iter().enumerate() {
                let changed = diagonal + change(*one, *sound);
                diagonal = row[i + 1];
                row[i + 1] = changed.min(row[i] + 2).min(diagonal + 2);
            }
        }
        f64::from(row[other.0.len()]) / 2.0 / longest as f64
    }
}

fn fold(word: &str, sounds: &mut Vec<u8>) {
    let mut rest = match word.get(..2) {
        Some("kn" | "wr" | "ps") => &word[1..],
        _ => word,
    };
    // The e at the end is silent after a consonant.
    let stem = rest
        .strip_suffix('e')
        .filter(|stem| stem.len() > 1 && !stem.ends_with(['a', 'e', 'i', 'o', 'u']));
    let soft = rest.ends_with("ce") || rest.ends_with("ge");
    if !soft {
        rest = stem.unwrap_or(rest);
    }
    while let Some(letter) = rest.bytes().next() {
        let spelling = SPELLINGS
            .iter()
            .find(|(written, _)| rest.starts_with(written));
        match spelling {
            Some((written, heard)) => {
                sounds.extend(heard.bytes());
                rest = &rest[written.len()..];
            }
            None => {
                if letter.is_ascii_lowercase() && letter != b'h' || sounds.is_empty() {
                    sounds.push(letter);
                }
                rest = &rest[1..];
            }
        }
    }
}

fn change(one: u8, other: u8) -> u32 {
    if one == other {
        0
    } else if NEAR
        .iter()
        .any(|near| near.contains(&one) && near.contains(&other))
    {
        1
    } else {
        2
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unlike(one: &str, other: &str) -> f64 {
        Sounds::of(one).unlike(&Sounds::of(other))
    }

    #[test]
    fn what_sounds_alike_is_alike() {
        for (one, other) in [
            ("work complete", "work completed"),
            ("work complete", "word complete"),
            ("standing by", "stand by"),
            ("say again", "way again"),
            ("read torque", "red torque"),
            ("part missing", "parts missing"),
        ] {
            let like = Sounds::of(one).are_like(&Sounds::of(other));
            assert!(like, "{one} / {other}: {}", unlike(one, other));
        }
    }

    #[test]
    fn what_sounds_unlike_is_not() {
        for (one, other) in [
            ("wheel on ground", "work complete"),
            ("tyre carries load", "time remaining"),
            ("cover seated dry", "override skip"),
            ("stands carry axle", "standing by"),
        ] {
            let like = Sounds::of(one).are_like(&Sounds::of(other));
            assert!(!like, "{one} / {other}: {}", unlike(one, other));
        }
    }

    #[test]
    fn sounds_of_every_kind_of_word() {
        assert_eq!(Sounds::of("knuckle").0, Sounds::of("nuckle").0);
        assert_eq!(Sounds::of("phase").0, Sounds::of("fase").0);
        assert_eq!(unlike("", ""), 0.0);
        assert_eq!(unlike("", "work"), 1.0);
    }
}
