//! When to believe a spoken reading. Pure but for its decoder.
//!
//! The sound is decoded twice: with the words of numbers alone, and with [`UNKNOWN`] beside them, which
//! keeps other talk from becoming a number. A reading is sure where both give the same digits, as many
//! as asked for, and each stands well before the next way to read the sound. What the listening stream
//! has shown only starts this: it loses every fourth digit that the padded sound still holds.
//!
//! Nothing here knows which value is expected: a grammar of the expected value turns one wrong reading
//! in five into a right one.

use super::decoder::{Alternative, Graph, Kept, UNKNOWN};
use super::level::FaintNoise;
use super::narrow::{Width, width};
use super::{DigitCount, Heard, cardinals, numbers};

/// From where on the best alternative of either decode stands well before the next. Of 1140 readings
/// of people that the two agreed on, none with an "eight" in it, 29 were wrong; none of those stood
/// further than 3.43 before the next in both.
const MARGIN: f32 = 4.0;
/// The same where there is an "eight": a "six" of people's readings stood as one by 4.4, under a noise that
/// came and went within the reading, so that nothing told of the narrow channel.
const MARGIN_OF_EIGHT: f32 = 5.0;
/// Where there is no second alternative: beyond what the lattice keeps, which is 8.
const NO_RIVAL: f32 = 8.0;
/// Alternatives asked for.
const ALTERNATIVES: u16 = 5;
/// The same where digits are missing in the best.
const MORE_ALTERNATIVES: u16 = 12;
/// Faint noise wanted around a reading, in seconds: without it a quarter of the digits is lost.
const PADDING: f32 = 0.30;
/// The last digit is over this long before the end of the sound, in seconds: half a word is another.
const SETTLED: f32 = 0.20;
/// A pause between two digits is no longer than this, in seconds: who says a reading again begins with its first digit, and
/// the last one of before would stand in front of it.
pub(super) const LONGEST_PAUSE: f32 = 1.2;
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
}

/// Returns whether the stream's `text`, which is no phrase, may be a reading: one word of it is enough.
/// The stream mixes the words of commands into digits, "four eight by" and "time zero six".
pub(super) fn may_be(count: DigitCount, text: &str) -> bool {
    let words = words(count);
    text.split_whitespace()
        .any(|word| words.iter().any(|known| known == word))
}

/// Returns the faint noise that is put around a reading at `rate` Hz.
pub(super) fn padding(noise: &mut FaintNoise, rate: u32) -> Vec<i16> {
    noise.samples((PADDING * rate as f32) as usize)
}

/// Decodes `said`, a reading of `count` digits, with `padding` around it; returns it where it is
/// believed, or nearly.
pub(super) fn judge(
    count: DigitCount,
    said: Said<'_>,
    padding: &[i16],
    kept: &mut impl Kept,
) -> Option<Heard> {
    let sound = padded(said.sound, padding);
    let bare = words(count);
    let guarded = guarded(&bare);
    let guarded = kept.decode(Graph::Closed(&guarded), &sound, ALTERNATIVES);
    let read = |text: &str| read(text, count);
    // Other talk ends here.
    if guarded
        .first()?
        .text
        .split_whitespace()
        .all(|w| w == UNKNOWN)
    {
        return None;
    }
    let alternatives = kept.decode(Graph::Closed(&bare), &sound, ALTERNATIVES);
    let best = alternatives.first()?;
    let end = best.words.last().map_or(0.0, |&(_, end)| end);
    let length = (PADDING + said.sound.len() as f32 / said.rate as f32).max(0.0);
    if end > length - SETTLED || !is_said_in_one(best) {
        return None;
    }
    let digits = [read(&best.text), read(&guarded.first()?.text)];
    if let [Some(digits), Some(again)] = &digits
        && digits == again
    {
        let score = margin(&alternatives, count).min(margin(&guarded, count));
        return count.fits(digits).then(|| Heard {
            is_part: false,
            sure: score >= least_margin(digits)
                && is_plain(&alternatives)
                && is_plain(&guarded)
                && !contradicts(count, said.shown, digits)
                && !may_be_a_six(digits, said.sound, said.rate),
            text: digits.clone(),
            is_reading: true,
            score,
        });
    }
    // The two disagree: a third opinion may make it worth a question, never more. Two unknowns are
    // other talk.
    if unknowns(guarded.first()?) > 1 {
        return None;
    }
    let faster = padded(&faster(said.sound), padding);
    let third = kept.decode(Graph::Closed(&bare), &faster, ALTERNATIVES);
    let third = read(&third.first()?.text).filter(|third| count.fits(third))?;
    let is_second = digits.iter().flatten().any(|one| *one == third);
    is_second.then_some(Heard {
        is_part: false,
        text: third,
        is_reading: true,
        score: 0.0,
        sure: false,
    })
}

/// Decodes `said` with `padding` around it; returns, of the ways to read it, those that are `count` digits, in words;
/// none where there are none, or where it is other talk.
pub(super) fn likely(
    count: DigitCount,
    said: Said<'_>,
    padding: &[i16],
    kept: &mut impl Kept,
) -> Option<Vec<String>> {
    let sound = padded(said.sound, padding);
    let bare = words(count);
    let guarded = guarded(&bare);
    let guarded = kept.decode(Graph::Closed(&guarded), &sound, MORE_ALTERNATIVES);
    if unknowns(guarded.first()?) > 1 {
        return None;
    }
    let alternatives = kept.decode(Graph::Closed(&bare), &sound, MORE_ALTERNATIVES);
    let fits = |text: &String| numbers::digits(text).is_some_and(|digits| count.fits(&digits));
    let all = alternatives.iter().chain(&guarded);
    let all = all.map(|other| without_unknown(&other.text)).filter(fits);
    let mut all: Vec<String> = all.collect();
    all.sort_unstable();
    all.dedup();
    (!all.is_empty()).then_some(all)
}

fn padded(sound: &[i16], padding: &[i16]) -> Vec<i16> {
    [padding, sound, padding].concat()
}

/// Returns the grammar in which other talk does not become the words `bare`.
fn guarded(bare: &[String]) -> Vec<String> {
    [bare, &[UNKNOWN.to_string()]].concat()
}

/// Returns whether no pause between two words is too long for one reading.
fn is_said_in_one(best: &Alternative) -> bool {
    let mut pauses = best.words.windows(2).map(|two| two[1].0 - two[0].1);
    pauses.all(|pause| pause <= LONGEST_PAUSE)
}

/// Returns how many words of one way to read the sound are unknown.
fn unknowns(best: &Alternative) -> usize {
    let words = best.text.split_whitespace();
    words.filter(|&word| word == UNKNOWN).count()
}

/// Returns `text` without what is unknown.
fn without_unknown(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().filter(|&w| w != UNKNOWN).collect();
    words.join(" ")
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

/// Returns the margin from which `digits` are sure.
fn least_margin(digits: &str) -> f32 {
    match digits.contains('8') {
        true => MARGIN_OF_EIGHT,
        false => MARGIN,
    }
}

/// Returns whether `digits` have an "eight" that may be a "six" without its s: one of a narrow channel,
/// or of one whose width is hidden by noise. Of people's readings in noise that is wider
/// than they are, one "six" stood as an "eight" by 7.9 before the next.
pub(super) fn may_be_a_six(digits: &str, sound: &[i16], rate: u32) -> bool {
    digits.contains('8') && width(sound, rate) != Width::Wide
}

/// Returns whether the first alternative is digits one by one.
fn is_plain(alternatives: &[Alternative]) -> bool {
    let digits = |best: &Alternative| numbers::digits(&best.text);
    alternatives.first().and_then(digits).is_some()
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
    let known = |text: &str| read(&without_unknown(text), count);
    let Some(best) = alternatives.first() else {
        return 0.0;
    };
    let digits = known(&best.text);
    let rival = alternatives
        .iter()
        .find(|other| known(&other.text) != digits);
    rival.map_or(NO_RIVAL, |rival| best.confidence - rival.confidence)
}

/// Returns whether the stream showed a whole reading, and another one.
fn contradicts(count: DigitCount, shown: &str, digits: &str) -> bool {
    numbers::digits(shown).is_some_and(|shown| count.fits(&shown) && shown != digits)
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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::decoder::Begun;
    use super::*;

    /// A sample is a millisecond. A channel so narrow has no s.
    const RATE: u32 = 1_000;

    /// Gives what each of the decodes is to hear, whatever the sound.
    #[derive(Debug, Clone, Default)]
    struct Scripted {
        bare: Vec<(&'static str, f32)>,
        guarded: Vec<(&'static str, f32)>,
        faster: Vec<(&'static str, f32)>,
        /// Seconds between the last word and the end of the sound.
        quiet: f32,
        bare_decodes: usize,
    }

    impl Kept for Scripted {
        fn begin_and_look(&mut self, _: &[String], _: &[i16]) -> (Begun, Vec<Alternative>) {
            panic!("a reading is decoded at once");
        }

        fn begin_both(&mut self, _: &[String], _: &[i16]) -> [Begun; 2] {
            panic!("a reading is decoded at once");
        }

        fn end(&mut self, _: Begun, _: &[i16]) -> Vec<Alternative> {
            panic!("a reading is decoded at once");
        }

        fn decode(&mut self, graph: Graph<'_>, samples: &[i16], _: u16) -> Vec<Alternative> {
            let Graph::Closed(words) = graph else {
                panic!("the open graph is not asked");
            };
            let all = if words.iter().any(|word| word == UNKNOWN) {
                &self.guarded
            } else {
                self.bare_decodes += 1;
                if self.bare_decodes == 1 {
                    &self.bare
                } else {
                    &self.faster
                }
            };
            let end = samples.len() as f32 / RATE as f32 - PADDING - self.quiet;
            all.iter()
                .map(|&(text, confidence)| Alternative {
                    text: text.into(),
                    confidence,
                    words: vec![(0.0, end)],
                })
                .collect()
        }
    }

    fn three() -> DigitCount {
        DigitCount {
            whole: 3,
            ..DigitCount::default()
        }
    }

    fn judged(count: DigitCount, shown: &str, decoder: &Scripted) -> Option<Heard> {
        let said = Said {
            shown,
            sound: &[0; 2_000],
            rate: RATE,
        };
        let padding = padding(&mut FaintNoise::default(), RATE);
        judge(count, said, &padding, &mut decoder.clone())
    }

    fn agreed(text: &'static str, bare: f32, guarded: f32) -> Scripted {
        Scripted {
            bare: vec![(text, bare), ("nine", 0.0)],
            guarded: vec![(text, guarded), ("nine", 0.0)],
            quiet: 0.3,
            ..Scripted::default()
        }
    }

    #[test]
    fn both_margins_count() {
        for (bare, guarded, sure) in [(4.0, 4.0, true), (3.9, 9.0, false), (9.0, 3.9, false)] {
            let heard = judged(three(), "", &agreed("one one zero", bare, guarded)).unwrap();
            assert_eq!((heard.text.as_str(), heard.sure), ("110", sure));
        }
    }

    #[test]
    fn an_unknown_beside_the_same_digits_is_no_rival() {
        let mut decoder = agreed("one one zero", 9.0, 9.0);
        decoder.guarded.insert(1, ("one one zero [unk]", 8.5));
        assert!(judged(three(), "", &decoder).unwrap().sure);
        decoder.guarded.insert(1, ("one [unk] zero", 8.5));
        assert!(!judged(three(), "", &decoder).unwrap().sure);
    }

    #[test]
    fn an_eight_of_a_narrow_channel_may_be_a_six() {
        let heard = judged(three(), "", &agreed("one eight zero", 9.0, 9.0)).unwrap();
        assert!(!heard.sure);
    }

    #[test]
    fn the_stream_may_show_less_but_nothing_else() {
        let decoder = agreed("one one zero", 9.0, 9.0);
        for (shown, sure) in [
            ("one one zero", true),
            ("[unk] one", true),
            ("one zero", true),
            ("one one nine", false),
        ] {
            assert_eq!(
                judged(three(), shown, &decoder).unwrap().sure,
                sure,
                "{shown}"
            );
        }
    }

    #[test]
    fn what_is_said_after_a_long_pause_is_another_reading() {
        let words = |second| Alternative {
            words: vec![(0.2, 0.5), (second, second + 0.3)],
            ..Alternative::default()
        };
        assert!(is_said_in_one(&words(0.5)) && is_said_in_one(&words(1.6)));
        assert!(!is_said_in_one(&words(1.8)));
    }

    #[test]
    fn a_last_digit_cut_short_waits() {
        let mut decoder = agreed("one one zero", 9.0, 9.0);
        decoder.quiet = 0.1;
        assert_eq!(judged(three(), "", &decoder), None);
    }

    #[test]
    fn another_count_of_digits_is_nothing() {
        for said in ["one one", "one one zero zero", "point"] {
            assert_eq!(
                judged(three(), said, &agreed(said, 9.0, 9.0)),
                None,
                "{said}"
            );
        }
    }

    #[test]
    fn a_third_opinion_asks_and_never_makes_sure() {
        let mut decoder = agreed("one one zero", 9.0, 9.0);
        decoder.guarded = vec![("one [unk] zero", 9.0)];
        decoder.faster = vec![("one one zero", 9.0)];
        let heard = judged(three(), "one one zero", &decoder).unwrap();
        assert_eq!((heard.text.as_str(), heard.sure), ("110", false));
        decoder.guarded = vec![("[unk] one [unk]", 9.0)];
        assert_eq!(judged(three(), "", &decoder), None);
        decoder.guarded = vec![("one [unk] zero", 9.0)];
        decoder.faster = vec![("one one nine", 9.0)];
        assert_eq!(judged(three(), "", &decoder), None);
    }

    #[test]
    fn the_ways_to_read_what_has_too_few_digits_are_those_with_the_right_count() {
        let mut decoder = agreed("one one", 9.0, 9.0);
        decoder.bare.push(("one one zero", 8.0));
        decoder.guarded.insert(0, ("one one [unk]", 9.5));
        decoder.guarded.push(("[unk] one one nine", 7.0));
        decoder.guarded.push(("one one zero", 7.0));
        let likely = |decoder: &Scripted| {
            let said = Said {
                shown: "",
                sound: &[0; 2_000],
                rate: RATE,
            };
            super::likely(three(), said, &[], &mut decoder.clone())
        };
        let all = ["one one nine", "one one zero"].map(str::to_string);
        assert_eq!(likely(&decoder), Some(all.into()));
        // Other talk.
        decoder.guarded.insert(0, ("[unk] one [unk]", 9.9));
        assert_eq!(likely(&decoder), None);
        assert_eq!(likely(&agreed("one one", 9.0, 9.0)), None);
    }

    #[test]
    fn cardinals_are_taken_where_they_are_on_and_never_sure() {
        let decoder = agreed("one hundred ten", 9.0, 9.0);
        assert_eq!(judged(three(), "", &decoder), None);
        let count = DigitCount {
            cardinals: true,
            ..three()
        };
        let heard = judged(count, "one hundred ten", &decoder).unwrap();
        assert_eq!((heard.text.as_str(), heard.sure), ("110", false));
        assert!(
            judged(count, "", &agreed("one one zero", 9.0, 9.0))
                .unwrap()
                .sure
        );
        let mut mixed = agreed("one one zero", 9.0, 9.0);
        mixed.guarded = vec![("one hundred ten", 9.0)];
        assert!(!judged(count, "", &mixed).unwrap().sure);
        assert!(may_be(count, "one hundred [unk]"));
        assert!(may_be(count, "hundred") && !may_be(three(), "hundred"));
        assert!(!may_be(three(), "[unk]"));
        assert!(may_be(three(), "time zero six"));
    }

    fn alternatives() -> impl Strategy<Value = Vec<(&'static str, f32)>> {
        let texts = [
            "",
            "[unk]",
            "one one zero",
            "one one nine",
            "one one",
            "one five zero zero",
            "one fifteen",
            "one hundred ten",
            "ten",
            "[unk] one one zero",
            "three",
            "eight one one",
        ];
        let one = (proptest::sample::select(texts.to_vec()), 0.0..12.0f32);
        proptest::collection::vec(one, 0..4).prop_map(|mut all| {
            all.sort_by(|a, b| b.1.total_cmp(&a.1));
            all
        })
    }

    proptest! {
        #[test]
        fn nothing_is_sure_that_both_decodes_do_not_give_in_full(
            bare in alternatives(),
            guarded in alternatives(),
            faster in alternatives(),
            cardinals: bool,
        ) {
            let decoder = Scripted { bare, guarded, faster, quiet: 0.3, bare_decodes: 0 };
            let count = DigitCount { cardinals, ..three() };
            if let Some(heard) = judged(count, "", &decoder) {
                prop_assert!(heard.is_reading);
                prop_assert!(count.fits(&heard.text));
                if heard.sure {
                    let said = numbers::words(&heard.text).unwrap();
                    prop_assert_eq!(decoder.bare[0].0, said.as_str());
                    prop_assert_eq!(decoder.guarded[0].0, said.as_str());
                    prop_assert!(heard.score >= MARGIN);
                }
            }
        }
    }
}
