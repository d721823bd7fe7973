//! When to believe a spoken reading. Pure but for its [`Decoder`].
//!
//! The sound is decoded twice: with the words of numbers alone, and with [`UNKNOWN`] beside them, which
//! keeps other talk from becoming a number. A reading is sure where both give the same digits, as many
//! as asked for, and each stands well before the next way to read the sound. What the listening stream
//! has shown only starts this: it loses every fourth digit that the padded sound still holds.
//!
//! Nothing here knows which value is expected: a grammar of the expected value turns one wrong reading
//! in five into a right one.

use super::belief::{Alternative, Decoder, Graph, UNKNOWN};
use super::narrow::is_narrow;
use super::{DigitCount, Heard, cardinals, numbers};

/// From where on the best alternative of either decode stands well before the next. Of the readings
/// without "eight" that the two agreed on, 20 of 808 were wrong; none of them had more than 3.4.
const MARGIN: f32 = 4.0;
/// Where there is no second alternative: beyond what the lattice keeps, which is 8.
const NO_RIVAL: f32 = 8.0;
/// Alternatives asked for.
const ALTERNATIVES: u16 = 5;
/// Faint noise wanted around a reading, in seconds: without it a quarter of the digits is lost.
const PADDING: f32 = 0.30;
/// The last digit is over this long before the end of the sound, in seconds: half a word is another.
const SETTLED: f32 = 0.20;
/// How much faster the sound is made for a third opinion.
const FASTER: f32 = 1.08;

/// What a reading is judged by.
#[derive(Debug, Clone, Copy)]
pub(super) struct Said<'a> {
    /// What the listening stream showed.
    pub shown: &'a str,
    pub sound: &'a [i16],
    /// Rate of the sound, in Hz.
    pub rate: u32,
    /// Whether this is the last look: digits of another count than asked for are told then.
    pub is_last: bool,
}

/// Returns whether the stream's `text` may be a reading, however much of it was lost.
pub(super) fn may_be(count: DigitCount, text: &str) -> bool {
    let words = words(count);
    let is_known = |word: &str| words.iter().any(|known| known == word);
    text.split_whitespace().any(is_known)
        && text
            .split_whitespace()
            .all(|word| word == UNKNOWN || is_known(word))
}

/// Decodes `said`, a reading of `count` digits, with faint `noise` around it; returns it where it is
/// believed, or nearly.
pub(super) fn judge(
    count: DigitCount,
    said: Said<'_>,
    noise: &mut super::level::FaintNoise,
    decoder: &mut impl Decoder,
) -> Option<Heard> {
    let padding = noise.samples((PADDING * said.rate as f32) as usize);
    let padded = |sound: &[i16]| [&padding[..], sound, &padding].concat();
    let sound = padded(said.sound);
    let bare = words(count);
    let mut guarded = bare.clone();
    guarded.push(UNKNOWN.to_string());
    let guarded = decoder.decode(Graph::Closed(&guarded), &sound, ALTERNATIVES);
    let read = |text: &str| read(text, count);
    // Other talk ends here.
    if guarded.first()?.text.split_whitespace().all(|w| w == UNKNOWN) {
        return None;
    }
    let alternatives = decoder.decode(Graph::Closed(&bare), &sound, ALTERNATIVES);
    let best = alternatives.first()?;
    let end = best.words.last().map_or(0.0, |&(_, end)| end);
    let length = (PADDING + said.sound.len() as f32 / said.rate as f32).max(0.0);
    if end > length - SETTLED {
        return None;
    }
    let digits = [read(&best.text), read(&guarded.first()?.text)];
    if let [Some(digits), Some(again)] = &digits
        && digits == again
    {
        let score = margin(&alternatives, count).min(margin(&guarded, count));
        let is_complete = count.fits(digits);
        let nearly = said.is_last && is_near(count, digits) && score >= MARGIN;
        return (is_complete || nearly).then(|| Heard {
            sure: is_complete
                && score >= MARGIN
                && numbers::digits(&best.text).is_some()
                && !contradicts(count, said.shown, digits)
                && !(digits.contains('8') && is_narrow(said.sound, said.rate)),
            text: digits.clone(),
            is_reading: true,
            score,
        });
    }
    // The two disagree: a third opinion may make it worth a question, never more.
    let faster = padded(&faster(said.sound));
    let third = decoder.decode(Graph::Closed(&bare), &faster, ALTERNATIVES);
    let third = read(&third.first()?.text).filter(|third| count.fits(third))?;
    digits.iter().flatten().any(|one| *one == third).then(|| Heard {
        text: third,
        is_reading: true,
        score: 0.0,
        sure: false,
    })
}

/// Returns the words that the grammar holds for a reading of `count` digits.
pub(super) fn words(count: DigitCount) -> Vec<String> {
    let digits = numbers::WORDS
        .iter()
        .filter(|&&word| count.decimals > 0 || word != "point");
    let cardinals = match count.cardinals {
        true => cardinals::words(count),
        false => &[],
    };
    digits
        .chain(cardinals)
        .map(|word| word.to_string())
        .collect()
}

/// Digits one by one, of any count, or a cardinal where those are taken.
fn read(text: &str, count: DigitCount) -> Option<String> {
    let cardinal = || {
        count
            .cardinals
            .then(|| cardinals::reading(text, count))
            .flatten()
    };
    numbers::digits(text).or_else(cardinal)
}

/// Returns how far the first alternative stands before the first that says something else. A stray
/// unknown does not make it something else.
fn margin(alternatives: &[Alternative], count: DigitCount) -> f32 {
    let known = |text: &str| {
        let words: Vec<&str> = text.split_whitespace().filter(|&w| w != UNKNOWN).collect();
        read(&words.join(" "), count)
    };
    let Some(best) = alternatives.first() else {
        return 0.0;
    };
    let digits = known(&best.text);
    let rival = alternatives.iter().find(|other| known(&other.text) != digits);
    rival.map_or(NO_RIVAL, |rival| best.confidence - rival.confidence)
}

/// Returns whether the stream showed a whole reading, and another one.
fn contradicts(count: DigitCount, shown: &str, digits: &str) -> bool {
    numbers::digits(shown).is_some_and(|shown| count.fits(&shown) && shown != digits)
}

/// Returns whether `digits` are one short or one too many: worth telling, while fewer are other talk.
fn is_near(count: DigitCount, digits: &str) -> bool {
    let wanted = usize::from(count.whole) + usize::from(count.decimals);
    let said = digits.chars().filter(char::is_ascii_digit).count();
    said.abs_diff(wanted) <= 1
}

/// Makes `sound` a little faster.
fn faster(sound: &[i16]) -> Vec<i16> {
    let count = (sound.len() as f32 / FASTER) as usize;
    (0..count)
        .map(|i| {
            let at = i as f32 * FASTER;
            let (before, share) = (at as usize, at.fract());
            let after = sound.get(before + 1).or(sound.last());
            let (before, after) = (f32::from(sound[before]), f32::from(*after.unwrap_or(&0)));
            (before + (after - before) * share) as i16
        })
        .collect()
}
