//! When to believe a spoken reading: two grammars have to agree on its digits, and the best way to
//! read the sound has to stand well before the next best.

use super::belief::{Alternative, Decoder, Graph, UNKNOWN};
use super::{DigitCount, Heard, numbers};

/// The margin between the first two alternatives from which a reading is sure.
const MARGIN: f32 = 4.0;
/// Faint noise wanted around a reading, in seconds: without it a quarter of the digits is lost.
pub(super) const PADDING: f32 = 0.30;

/// Decodes `sound`, padded already, in which a reading of `count` digits was shown as `shown`;
/// returns it where it is believed, or nearly.
pub(super) fn judge(
    count: DigitCount,
    shown: &str,
    sound: &[i16],
    decoder: &mut impl Decoder,
) -> Option<Heard> {
    let bare = words(count);
    let mut guarded = bare.clone();
    guarded.push(UNKNOWN.to_string());
    let bare = decoder.decode(Graph::Closed(&bare), sound, 5);
    let guarded = decoder.decode(Graph::Closed(&guarded), sound, 5);
    let best = bare.first()?;
    let digits = numbers::digits(&best.text)?;
    let is_same = |other: &Alternative| numbers::digits(&other.text).as_ref() == Some(&digits);
    if !is_same(guarded.first()?) || !count.fits(&digits) {
        return None;
    }
    let rival = bare.iter().find(|other| !is_same(other));
    let margin = rival.map_or(2.0 * MARGIN, |rival| best.confidence - rival.confidence);
    let as_shown = numbers::digits(shown).as_ref() == Some(&digits);
    Some(Heard {
        text: digits,
        is_reading: true,
        score: margin,
        sure: margin >= MARGIN && as_shown,
    })
}

/// Returns the words that the grammar holds for a reading of `count` digits.
pub(super) fn words(count: DigitCount) -> Vec<String> {
    numbers::WORDS
        .iter()
        .filter(|&&word| count.decimals > 0 || word != "point")
        .map(|word| word.to_string())
        .collect()
}
