//! When to believe a phrase: its sound, decoded again by itself, has to give the same words, and has to
//! be nearly as likely by the closed grammar as by the model's own graph, to which every word is free.

use super::Heard;
use super::decoder::{Decoder, Graph, UNKNOWN};

/// The score from which a phrase is sure, and the one from which it is asked back.
const SURE: f32 = -0.10;
const DOUBTFUL: f32 = -0.25;
/// The scored window reaches this far beyond the words, in seconds.
const WINDOW: f32 = 0.03;
/// The recogniser's frame, in seconds.
const FRAME: f32 = 0.03;

/// Judges the `sound` (samples and their rate in Hz) in which `text` was shown, the whole of a phrase or
/// only the end of one, which is never sure. Only a measurement leaves the score out.
pub(super) fn judge(
    (text, is_part): (&str, bool),
    scored: bool,
    grammar: &[String],
    (sound, rate): (&[i16], u32),
    decoder: &mut impl Decoder,
) -> Option<Heard> {
    let again = decoder.decode(Graph::Closed(grammar), sound, 1);
    let again = again.first()?;
    let bare = without_unknown(&again.text);
    if bare != text || (!is_part && bare.len() < again.text.len()) {
        return None;
    }
    let heard = |score| Heard {
        text: text.to_string(),
        is_reading: false,
        score,
        sure: score >= SURE && !is_part,
        is_part,
    };
    if !scored {
        return Some(heard(0.0));
    }
    let unknown = again.text.split_whitespace().count() - text.split_whitespace().count();
    let (start, _) = again.words.get(unknown)?;
    let (_, end) = again.words.last()?;
    let window = window((sound, rate), *start, *end);
    let closed = decoder.decode(Graph::Closed(grammar), window, 1);
    let open = decoder.decode(Graph::Open, window, 1);
    let frames = window.len() as f32 / rate as f32 / FRAME;
    let score = (closed.first()?.confidence - open.first()?.confidence) / frames.max(1.0);
    let least = if is_part { SURE } else { DOUBTFUL };
    (score >= least).then(|| heard(score))
}

/// Returns `text` without what stands before its first known word.
pub(super) fn without_unknown(text: &str) -> &str {
    let mut text = text;
    while let Some(rest) = text.strip_prefix(UNKNOWN) {
        text = rest.trim_start();
    }
    text
}

fn window((sound, rate): (&[i16], u32), start: f32, end: f32) -> &[i16] {
    let at = |seconds: f32| ((seconds.max(0.0) * rate as f32) as usize).min(sound.len());
    let (start, end) = (at(start - WINDOW), at(end + WINDOW));
    &sound[start..end.max(start)]
}
