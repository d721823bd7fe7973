//! When to believe a phrase: its sound, decoded again by itself, has to give the same words, and has to
//! be nearly as likely by the closed grammar as by the model's own graph, to which every word is free.

use super::decoder::{Decoder, Graph, UNKNOWN};
use super::level::{SILENCE, dbfs};
use super::{Heard, Vocabulary, Weight, reading};

/// The score from which a phrase is asked back.
const DOUBTFUL: f32 = -0.25;
/// The score from which the end of a phrase is asked about.
const PART: f32 = -0.10;
/// A first word is lost under a noise that sounds this long before the rest, in seconds, and is no
/// softer than the rest by more than this, in dB: after a pause no word was lost.
const LOST: std::ops::Range<f32> = 0.03..0.35;
const SOFTER: f32 = 3.0;
/// How far before a phrase is listened for words, in seconds, and how close to it no longer.
pub(super) const PRECEDING: f32 = 1.0;
const CLOSE: f32 = 0.05;
/// A phrase is amid other talk where words went before it and were no softer than it by this, in dB:
/// whoever gives a command pauses first, and a radio beside is softer.
const AS_LOUD: f32 = 7.0;
/// The scored window reaches this far beyond the words, in seconds.
const WINDOW: f32 = 0.03;
/// The recogniser's frame, in seconds.
const FRAME: f32 = 0.03;

/// Returns the score from which a phrase of this weight is sure.
fn sure_from(weight: Weight) -> f32 {
    match weight {
        Weight::Light => -0.15,
        Weight::Ordinary | Weight::Stop => -0.10,
        Weight::Grave => -0.05,
    }
}

/// Returns the grammar that hears `vocabulary`. Phrases hold only `a-z`, `'` and spaces: the library
/// crashes on anything else.
pub(super) fn grammar(vocabulary: &Vocabulary) -> Vec<String> {
    let spelled = |words: &&str| {
        !words.trim().is_empty()
            && words
                .chars()
                .all(|c| c.is_ascii_lowercase() || c == '\'' || c == ' ')
    };
    let phrases = vocabulary.phrases.iter().map(|e| e.words.as_str());
    let mut grammar: Vec<String> = phrases.filter(spelled).map(str::to_string).collect();
    if let Some(count) = vocabulary.digits {
        grammar.extend(reading::words(count));
    }
    grammar.push(UNKNOWN.to_string());
    grammar
}

/// Decodes `sound` in which `text` was shown; returns where its words begin and end, in seconds, if
/// they are decoded again. Before the end of a phrase, `is_part`, other things may stand.
pub(super) fn decoded_again(
    (text, is_part): (&str, bool),
    grammar: &[String],
    sound: &[i16],
    decoder: &mut impl Decoder,
) -> Option<(f32, f32)> {
    let again = decoder.decode(Graph::Closed(grammar), sound, 1);
    let again = again.first()?;
    let bare = without_unknown(&again.text);
    if bare != text || (!is_part && bare.len() < again.text.len()) {
        return None;
    }
    let unknown = again.text.split_whitespace().count() - text.split_whitespace().count();
    let (start, _) = again.words.get(unknown)?;
    let (_, end) = again.words.last()?;
    Some((*start, *end))
}

/// Tells whether a first word may have been lost in `sound` before the words between two times, in
/// seconds: where something sounds there that is about as loud as they are.
pub(super) fn may_have_lost((start, end): (f32, f32), (sound, rate): (&[i16], u32)) -> bool {
    let level = |from, to| dbfs(between((sound, rate), from, to));
    level(start - LOST.end, start - LOST.start) >= level(start, end) - SOFTER
}

/// Tells whether the words between two times, in seconds, of `sound` may be a part of other talk: where
/// what sounds before them is about as loud, and is words by the model's own graph.
pub(super) fn is_amid_talk(
    (start, end): (f32, f32),
    (sound, rate): (&[i16], u32),
    decoder: &mut impl Decoder,
) -> bool {
    let before = between((sound, rate), start - PRECEDING, start - CLOSE);
    let level = dbfs(before);
    if level <= SILENCE || level < dbfs(between((sound, rate), start, end)) - AS_LOUD {
        return false;
    }
    holds_words(before, decoder)
}

/// Tells whether `sound` holds words by the model's own graph: a bang is none.
pub(super) fn holds_words(sound: &[i16], decoder: &mut impl Decoder) -> bool {
    let heard = decoder.decode(Graph::Open, sound, 1);
    heard.first().is_some_and(|best| !best.words.is_empty())
}

/// Returns the score of the words between two times, in seconds, of `sound` (samples and their rate in
/// Hz): the confidence of the closed grammar before that of the model's own graph, for each frame.
pub(super) fn score(
    (start, end): (f32, f32),
    grammar: &[String],
    (sound, rate): (&[i16], u32),
    decoder: &mut impl Decoder,
) -> Option<f32> {
    let window = between((sound, rate), start - WINDOW, end + WINDOW);
    let closed = decoder.decode(Graph::Closed(grammar), window, 1);
    let open = decoder.decode(Graph::Open, window, 1);
    let frames = window.len() as f32 / rate as f32 / FRAME;
    Some((closed.first()?.confidence - open.first()?.confidence) / frames.max(1.0))
}

/// Returns what is believed by the score of `text`: the whole of a phrase of some weight, or, with none,
/// only the end of one, which is never sure.
pub(super) fn believed(text: &str, weight: Option<Weight>, score: f32) -> Option<Heard> {
    let least = weight.map_or(PART, |_| DOUBTFUL);
    (score >= least).then(|| Heard {
        text: text.to_string(),
        is_reading: false,
        score,
        sure: weight.is_some_and(|weight| score >= sure_from(weight)),
        is_part: weight.is_none(),
    })
}

/// Returns `text` without what stands before its first known word.
pub(super) fn without_unknown(text: &str) -> &str {
    let mut text = text;
    while let Some(rest) = text.strip_prefix(UNKNOWN) {
        text = rest.trim_start();
    }
    text
}

fn between((sound, rate): (&[i16], u32), start: f32, end: f32) -> &[i16] {
    let at = |seconds: f32| ((seconds.max(0.0) * rate as f32) as usize).min(sound.len());
    let (start, end) = (at(start), at(end));
    &sound[start..end.max(start)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_first_word_is_lost_under_a_noise_and_not_in_a_pause() {
        // 1 kHz: a tenth of a second is a hundred samples.
        let sound = |before: i16| -> Vec<i16> {
            let level = |n: i16| if n < 500 { before } else { 1_000 };
            (0..1_000).map(|n| level(n) * (1 - 2 * (n % 2))).collect()
        };
        let lost = |before| may_have_lost((0.5, 1.0), (&sound(before), 1_000));
        assert!(lost(2_000) && lost(800));
        assert!(!lost(600) && !lost(0));
    }

    #[test]
    fn the_more_hangs_on_a_phrase_the_surer_it_has_to_be() {
        let sure = |weight, score| believed("say again", Some(weight), score).unwrap().sure;
        for (score, of) in [
            (-0.04, [true, true, true]),
            (-0.08, [true, true, false]),
            (-0.12, [true, false, false]),
            (-0.20, [false, false, false]),
        ] {
            let weights = [Weight::Light, Weight::Ordinary, Weight::Grave];
            assert_eq!(weights.map(|weight| sure(weight, score)), of, "{score}");
        }
        assert!(believed("say again", Some(Weight::Light), -0.3).is_none());
        let part = believed("again", None, 0.5).unwrap();
        assert!(part.is_part && !part.sure);
        assert!(believed("again", None, -0.2).is_none());
    }
}
