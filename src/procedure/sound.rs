//! How far apart two phrases sound.
//!
//! A phrase is the phonemes of its words. Two phrases are as far apart as the cheapest way to turn one
//! into the other: a phoneme changed, put in or left out costs the more, the better it is heard. The
//! sum is taken relative to the longer phrase: 0 is the same sound, 1 nothing in common.
//!
//! What is heard well follows the classic experiment on consonants in noise (G. A. Miller and P. E.
//! Nicely, 1955; from memory): voicing and nasality survive noise best, the place in the mouth worst.
//! The figures themselves are chosen, and held to what the recogniser really takes for each other:
//! see `NEAR` and `tests/phrase_confusion.rs`.

use super::letters;

/// Phrases nearer than this are taken to sound alike.
///
/// Of 40 pairs that five synthetic voices said among the standard phrases, in quiet and in noise, the
/// recogniser took one for the other up to a distance of 0.21 (at most 9 times in 30) and never beyond
/// (`tests/phrase_confusion.tsv`). The nearest standard phrases, which it tells apart, are 0.31 apart.
/// Within these bounds the threshold keeps to the upper end: the voices are few, and real ones slur.
pub const NEAR: f64 = 0.30;

/// A phrase this near to a stretch of another is heard where that is said.
///
/// "rear wheel" stands whole in "rear wheels blocked" (0), and at 10 dB beside a compressor the recogniser took the
/// one for the other. "next instruction", 0.15 from the end of "previous instruction", it tells apart.
const WITHIN: f64 = 0.12;

/// The most ways of speaking one phrase that are compared.
const MOST_WAYS: usize = 16;

/// What a lost weak syllable at a phrase's start costs of its usual price: recognisers lose it.
const WEAK_START: f64 = 0.5;

/// A phoneme, by its place in [`PHONEMES`], and how it is stressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Phoneme {
    kind: usize,
    /// Of a vowel: whether its syllable is stressed.
    stressed: bool,
}

/// How a phoneme is made.
#[derive(Debug, Clone, Copy)]
enum Made {
    /// Height of the tongue from 0 (low) to 3 (high) and its place from 0 (front) to 2 (back), at
    /// the vowel's start and at its end.
    Vowel([f64; 2], [f64; 2]),
    Consonant {
        manner: Manner,
        /// From 0 (both lips) to 7 (the throat).
        place: u8,
        voiced: bool,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Manner {
    Stop,
    Affricate,
    Fricative,
    Nasal,
    Liquid,
    Glide,
}

const fn vowel(start: [f64; 2], end: [f64; 2]) -> Made {
    Made::Vowel(start, end)
}

const fn voiced(manner: Manner, place: u8) -> Made {
    Made::Consonant {
        manner,
        place,
        voiced: true,
    }
}

const fn unvoiced(manner: Manner, place: u8) -> Made {
    Made::Consonant {
        manner,
        place,
        voiced: false,
    }
}

/// The phonemes of American English under the names of the ARPAbet, as the dictionary writes them.
const PHONEMES: [(&str, Made); 39] = [
    ("AA", vowel([0.0, 1.6], [0.0, 1.6])),
    ("AE", vowel([0.5, 0.2], [0.5, 0.2])),
    ("AH", vowel([1.2, 1.1], [1.2, 1.1])),
    ("AO", vowel([0.8, 2.0], [0.8, 2.0])),
    ("AW", vowel([0.2, 1.0], [2.4, 1.7])),
    ("AY", vowel([0.2, 1.0], [2.5, 0.3])),
    ("EH", vowel([1.3, 0.2], [1.3, 0.2])),
    ("ER", vowel([1.5, 1.3], [1.5, 1.6])),
    ("EY", vowel([1.8, 0.1], [2.7, 0.1])),
    ("IH", vowel([2.4, 0.4], [2.4, 0.4])),
    ("IY", vowel([3.0, 0.0], [3.0, 0.0])),
    ("OW", vowel([1.6, 1.8], [2.5, 1.9])),
    ("OY", vowel([1.0, 2.0], [2.5, 0.3])),
    ("UH", vowel([2.3, 1.6], [2.3, 1.6])),
    ("UW", vowel([3.0, 1.9], [3.0, 1.9])),
    ("B", voiced(Manner::Stop, 0)),
    ("CH", unvoiced(Manner::Affricate, 4)),
    ("D", voiced(Manner::Stop, 3)),
    ("DH", voiced(Manner::Fricative, 2)),
    ("F", unvoiced(Manner::Fricative, 1)),
    ("G", voiced(Manner::Stop, 6)),
    ("HH", unvoiced(Manner::Fricative, 7)),
    ("JH", voiced(Manner::Affricate, 4)),
    ("K", unvoiced(Manner::Stop, 6)),
    ("L", voiced(Manner::Liquid, 3)),
    ("M", voiced(Manner::Nasal, 0)),
    ("N", voiced(Manner::Nasal, 3)),
    ("NG", voiced(Manner::Nasal, 6)),
    ("P", unvoiced(Manner::Stop, 0)),
    ("R", voiced(Manner::Liquid, 4)),
    ("S", unvoiced(Manner::Fricative, 3)),
    ("SH", unvoiced(Manner::Fricative, 4)),
    ("T", unvoiced(Manner::Stop, 3)),
    ("TH", unvoiced(Manner::Fricative, 2)),
    ("V", voiced(Manner::Fricative, 1)),
    ("W", voiced(Manner::Glide, 0)),
    ("Y", voiced(Manner::Glide, 5)),
    ("Z", voiced(Manner::Fricative, 3)),
    ("ZH", voiced(Manner::Fricative, 4)),
];

/// One way of speaking a word.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Pronunciation(Vec<Phoneme>);

impl Pronunciation {
    /// Reads phonemes as a pronouncing dictionary writes them: `W ER1 K`, the figure at a vowel its
    /// stress. Returns none where one of them is unknown.
    pub fn read(written: &str) -> Option<Pronunciation> {
        let phonemes = written.split_whitespace().map(|symbol| {
            let name = symbol.trim_end_matches(|c: char| c.is_ascii_digit());
            let kind = PHONEMES.iter().position(|(known, _)| *known == name)?;
            let stressed = symbol.ends_with(['1', '2']);
            Some(Phoneme { kind, stressed })
        });
        phonemes.collect::<Option<Vec<_>>>().map(Pronunciation)
    }
}

/// A pronouncing dictionary.
pub trait Pronouncing {
    /// Returns the ways of speaking `word`, the commonest first; none where it is not known.
    fn pronunciations(&self, word: &str) -> Vec<Pronunciation>;
}

/// No dictionary: every word is sounded out by its letters.
pub struct NoDictionary;

impl Pronouncing for NoDictionary {
    fn pronunciations(&self, _: &str) -> Vec<Pronunciation> {
        Vec::new()
    }
}

/// The sounds of a phrase, in every way of speaking it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sounds {
    ways: Vec<Way>,
    /// The words that the dictionary does not have, sounded out by their letters.
    pub guessed: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Default)]
struct Way {
    phonemes: Vec<Phoneme>,
    /// What each costs where it is put in or left out.
    costs: Vec<f64>,
}

impl Sounds {
    /// Returns the sounds of `phrase`, words of `a-z` and `'`.
    pub fn of(phrase: &str, dictionary: &dyn Pronouncing) -> Sounds {
        let mut ways: Vec<Vec<Phoneme>> = vec![Vec::new()];
        let mut guessed = Vec::new();
        for word in phrase.split(' ').filter(|word| !word.is_empty()) {
            let mut spoken = dictionary.pronunciations(word);
            if spoken.is_empty() {
                guessed.push(word.to_owned());
                spoken.push(letters::sound_out(word));
            }
            ways = ways
                .iter()
                .flat_map(|way| spoken.iter().map(move |word| [&way[..], &word.0].concat()))
                .take(MOST_WAYS)
                .collect();
        }
        Sounds {
            ways: ways.into_iter().map(Way::of).collect(),
            guessed,
        }
    }

    /// Returns how far `other` is: 0 for the same sounds, 1 for nothing in common. Of several ways
    /// of speaking the two nearest count.
    pub fn distance(&self, other: &Sounds) -> f64 {
        let pairs = self
            .ways
            .iter()
            .flat_map(|one| other.ways.iter().map(move |other| one.distance(other)));
        pairs.fold(1.0, f64::min)
    }

    /// Tells whether the sounds of `other` stand in a row in these, or nearly.
    pub fn hold(&self, other: &Sounds) -> bool {
        let mut pairs = self.ways.iter().flat_map(|way| {
            other
                .ways
                .iter()
                .map(move |other| other.distance_within(way))
        });
        pairs.any(|distance| distance < WITHIN)
    }

    /// Returns how many syllables the commonest way of speaking has.
    pub fn syllables(&self) -> usize {
        let first = self.ways.first();
        first.map_or(0, |way| {
            way.phonemes.iter().filter(|p| is_vowel(**p)).count()
        })
    }

    /// Returns how many phonemes the commonest way of speaking has.
    pub fn length(&self) -> usize {
        self.ways.first().map_or(0, |way| way.phonemes.len())
    }
}

impl Way {
    fn of(phonemes: Vec<Phoneme>) -> Way {
        let first_vowel = phonemes.iter().position(|p| is_vowel(*p));
        let weak = first_vowel.filter(|at| !phonemes[*at].stressed);
        let costs = phonemes.iter().enumerate().map(|(i, phoneme)| {
            let at_weak_start = weak.is_some_and(|end| i <= end);
            loss(*phoneme) * if at_weak_start { WEAK_START } else { 1.0 }
        });
        Way {
            costs: costs.collect(),
            phonemes,
        }
    }

    fn cost(&self) -> f64 {
        self.costs.iter().sum()
    }

    fn distance(&self, other: &Way) -> f64 {
        let longest = self.cost().max(other.cost());
        if longest == 0.0 {
            return 0.0;
        }
        let mut begins = vec![0.0];
        for cost in &other.costs {
            begins.push(begins[begins.len() - 1] + cost);
        }
        let ends = self.changed_into(other, begins);
        (ends[other.phonemes.len()] / longest).min(1.0)
    }

    /// Returns how far this is from the stretch of `other` that is nearest to it: 0 where all its sounds stand
    /// there in a row, 1 for nothing in common.
    fn distance_within(&self, other: &Way) -> f64 {
        if self.cost() == 0.0 {
            return 1.0;
        }
        // What the other one has before and after costs nothing.
        let ends = self.changed_into(other, vec![0.0; other.costs.len() + 1]);
        let least = ends.into_iter().fold(f64::INFINITY, f64::min);
        (least / self.cost()).min(1.0)
    }

    /// Returns what it costs to make the phonemes of `other` out of these, up to each of them, where it costs
    /// `row` to begin after so many of them.
    fn changed_into(&self, other: &Way, mut row: Vec<f64>) -> Vec<f64> {
        for (one, cost) in self.phonemes.iter().zip(&self.costs) {
            let mut diagonal = row[0];
            row[0] += cost;
            for (i, (another, put_in)) in other.phonemes.iter().zip(&other.costs).enumerate() {
                let changed = diagonal + change(*one, *another);
                diagonal = row[i + 1];
                row[i + 1] = changed.min(row[i] + put_in).min(diagonal + cost);
            }
        }
        row
    }
}

fn is_vowel(phoneme: Phoneme) -> bool {
    matches!(PHONEMES[phoneme.kind].1, Made::Vowel(..))
}

/// What a phoneme costs where it is put in or left out: as much as it is heard.
fn loss(phoneme: Phoneme) -> f64 {
    match PHONEMES[phoneme.kind].1 {
        Made::Vowel(..) if phoneme.stressed => 1.0,
        Made::Vowel(..) => 0.5,
        Made::Consonant { manner, place, .. } => match manner {
            // A breath.
            Manner::Fricative if place == 7 => 0.3,
            Manner::Fricative | Manner::Affricate => 0.6,
            Manner::Stop | Manner::Nasal | Manner::Liquid | Manner::Glide => 0.5,
        },
    }
}

/// What it costs to take one phoneme for another.
fn change(one: Phoneme, other: Phoneme) -> f64 {
    if one.kind == other.kind {
        return 0.0;
    }
    match (PHONEMES[one.kind].1, PHONEMES[other.kind].1) {
        (Made::Vowel(a, b), Made::Vowel(c, d)) => {
            let far = |p: [f64; 2], q: [f64; 2]| (p[0] - q[0]).hypot(p[1] - q[1]);
            let clear = if one.stressed || other.stressed {
                1.0
            } else {
                0.5
            };
            (0.35 * f64::midpoint(far(a, c), far(b, d))).min(0.9) * clear
        }
        (
            Made::Consonant {
                manner,
                place,
                voiced,
            },
            Made::Consonant {
                manner: other_manner,
                place: other_place,
                voiced: other_voiced,
            },
        ) => {
            let by_place = match place.abs_diff(other_place) {
                0 => 0.0,
                apart => 0.1 + 0.03 * f64::from(apart),
            };
            let by_voice = if voiced == other_voiced { 0.0 } else { 0.25 };
            (by_place + by_voice + by_manner(manner, other_manner)).min(0.9)
        }
        // A vowel and a consonant have nothing in common.
        _ => loss(one) + loss(other),
    }
}

fn by_manner(one: Manner, other: Manner) -> f64 {
    use Manner::{Affricate, Fricative, Glide, Liquid, Nasal, Stop};
    match (one, other) {
        _ if one == other => 0.0,
        (Liquid, Glide) | (Glide, Liquid) => 0.2,
        (Affricate, Stop | Fricative) | (Stop | Fricative, Affricate) => 0.25,
        (Stop, Fricative) | (Fricative, Stop) => 0.35,
        (Nasal, _) | (_, Nasal) => 0.45,
        _ => 0.5,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spoken(written: &str) -> Sounds {
        let pronunciation = Pronunciation::read(written).unwrap();
        Sounds {
            ways: vec![Way::of(pronunciation.0)],
            guessed: Vec::new(),
        }
    }

    fn apart(one: &str, other: &str) -> f64 {
        spoken(one).distance(&spoken(other))
    }

    #[test]
    fn the_same_is_at_no_distance_and_nothing_in_common_at_one() {
        assert_eq!(apart("W ER1 K", "W ER1 K"), 0.0);
        assert_eq!(apart("", ""), 0.0);
        assert_eq!(apart("", "W ER1 K"), 1.0);
        assert_eq!(apart("IY1", "K"), 1.0);
    }

    #[test]
    fn the_distance_is_the_same_both_ways() {
        for (one, other) in [("W ER1 K", "S T AA1 P"), ("AH0 B AW1 T", "B UW1 T S")] {
            assert_eq!(apart(one, other), apart(other, one));
        }
    }

    /// Place is heard worst, then voicing, then manner.
    #[test]
    fn what_noise_hides_is_near() {
        let place = apart("P IH1 N", "T IH1 N");
        let voicing = apart("B IH1 N", "P IH1 N");
        let manner = apart("B IH1 N", "W IH1 N");
        assert!(
            0.0 < place && place < voicing && voicing < manner,
            "{place} {voicing} {manner}"
        );
        let neighbours = apart("P IH1 N", "P EH1 N");
        let far = apart("P IH1 N", "P AO1 N");
        assert!(neighbours < far, "{neighbours} {far}");
    }

    #[test]
    fn what_stands_whole_in_another_phrase_is_held_by_it_and_not_the_other_way_round() {
        let (wheel, blocked) = ("R IH1 R W IY1 L", "R IH1 R W IY1 L Z B L AA1 K T");
        assert!(spoken(blocked).hold(&spoken(wheel)));
        assert!(!spoken(wheel).hold(&spoken(blocked)));
        assert!(spoken(wheel).distance(&spoken(blocked)) > NEAR);
        let (next, previous) = (
            "N EH1 K S T IH0 N S T R AH1 K SH AH0 N",
            "P R IY1 V IY0 AH0 S IH0 N S T R AH1 K SH AH0 N",
        );
        assert!(!spoken(previous).hold(&spoken(next)));
        assert!(!spoken("W ER1 K").hold(&spoken("")));
    }

    #[test]
    fn a_lost_weak_start_is_cheap() {
        let weak = apart("AH0 S UW1 M", "S UW1 M");
        let strong = apart("EY1 S UW1 M", "S UW1 M");
        assert!(weak * 2.0 < strong, "{weak} {strong}");
    }

    #[test]
    fn every_way_of_speaking_counts() {
        struct Two;
        impl Pronouncing for Two {
            fn pronunciations(&self, word: &str) -> Vec<Pronunciation> {
                let written: &[&str] = match word {
                    "read" => &["R EH1 D", "R IY1 D"],
                    "reed" => &["R IY1 D"],
                    _ => &[],
                };
                written
                    .iter()
                    .filter_map(|w| Pronunciation::read(w))
                    .collect()
            }
        }
        let (read, reed) = (Sounds::of("read", &Two), Sounds::of("reed", &Two));
        assert_eq!(read.distance(&reed), 0.0);
        assert!(read.guessed.is_empty());
        assert_eq!(Sounds::of("read chocks", &Two).guessed, ["chocks"]);
    }

    #[test]
    fn a_long_phrase_has_a_bound_of_ways() {
        struct Many;
        impl Pronouncing for Many {
            fn pronunciations(&self, _: &str) -> Vec<Pronunciation> {
                let all = ["AA1", "AE1", "AH1", "AO1"];
                all.iter().filter_map(|w| Pronunciation::read(w)).collect()
            }
        }
        let sounds = Sounds::of("a b c d e f g h", &Many);
        assert_eq!(sounds.ways.len(), MOST_WAYS);
    }

    #[test]
    fn an_unknown_phoneme_is_no_pronunciation() {
        assert_eq!(Pronunciation::read("W QQ1 K"), None);
    }
}
