//! Belief, with a decoder that follows a script.

mod alone;
mod opinion;
mod readings;
mod standing;

use super::*;
use crate::hear::decoder::{Alternative, Awaited, Begun, Gains, Graph, Kept, Opinion};
use crate::hear::{DigitCount, Expected};

/// 1 kHz, so that a sample is a millisecond.
const RATE: u32 = 1_000;

/// A decoder that shows what the script says from each millisecond on.
#[derive(Default)]
pub(in crate::hear) struct Scripted {
    /// From when on, since the start, the stream shows a text; `.` at the end ends an utterance.
    shows: Vec<(u64, &'static str)>,
    /// The same of the stream with less noise; it is not fed where this is empty.
    beside: Vec<(u64, &'static str)>,
    /// From when on the decode of kept sound gives a text.
    again: Vec<(u64, &'static str)>,
    /// So many samples it needs for that.
    needs: usize,
    closed: f32,
    open: f32,
    /// When the words of a decode end; with the sound where none.
    ended: Option<u64>,
    /// Whether words went before what is decoded.
    talk: bool,
    /// The level of the sound until this millisecond, and from then on.
    sound: (u64, i16, i16),
    /// How much likelier the first alternative of a reading is than the second.
    margin: f32,
    /// When somebody speaks, in place of `sound`.
    speaks: std::ops::Range<u64>,
    /// How loud it is while nobody speaks, if not 10.
    room: i16,
    /// Whether the stream with only a voice left is fed too, with the same.
    voice: bool,
    /// The second alternative of a reading, in place of one digit.
    other: &'static str,
    /// What the other network makes of whatever is said, where there is one.
    thinks: Option<Opinion>,
    /// What it makes of it from the second time on, if something else.
    thinks_then: Option<Opinion>,
    /// How many words it makes of it.
    words: usize,
    asked_at: Vec<u64>,
    /// What it had to look at too when it was asked for a reading last.
    looked_at: Vec<String>,
    now: u64,
    restarts: Vec<u64>,
    decodes: usize,
    /// What was begun: whether in the open graph, and with how much.
    begun: Vec<(bool, usize)>,
    ended_begun: usize,
    kept: usize,
    /// The loudest of what a stream was given.
    pub(in crate::hear) loudest: u16,
}

impl Scripted {
    fn at(now: u64, script: &[(u64, &'static str)]) -> &'static str {
        let last = script.iter().rev().find(|(from, _)| *from <= now);
        last.map_or("", |(_, text)| text)
    }

    fn begin(&mut self, is_open: bool, samples: &[i16]) -> Begun {
        self.begun.push((is_open, samples.len()));
        Begun(self.begun.len() as u64 - 1)
    }
}

impl Decoder for Scripted {
    type Kept = Scripted;

    fn restart(&mut self, form: Form, _: &[String]) {
        if form == Form::Plain {
            self.restarts.push(self.now);
        }
    }

    fn hear(&mut self, form: Form, samples: &[i16]) -> Shown {
        let loudest = samples.iter().map(|s| s.unsigned_abs()).max();
        self.loudest = self.loudest.max(loudest.unwrap_or(0));
        let shows = match form {
            Form::Plain => &self.shows,
            Form::Suppressed | Form::Denoised => &self.beside,
        };
        let text = Scripted::at(self.now, shows);
        match text.strip_suffix('.') {
            Some(ended) => Shown::Ended(ended.to_string()),
            None => Shown::Partial(text.to_string()),
        }
    }

    fn beside<T: Send + 'static>(
        &mut self,
        work: impl FnOnce(&mut Scripted) -> T + Send + 'static,
    ) -> Awaited<T> {
        let result = work(self);
        Awaited::new(|| Some(result))
    }

    fn expect(&mut self, _: &Arc<[String]>) -> bool {
        self.thinks.is_some()
    }

    fn opinion(&mut self, _: Vec<i16>, _: &Arc<[String]>) -> Awaited<Option<Opinion>> {
        let then = self.thinks_then.clone();
        let then = then.filter(|_| !self.asked_at.is_empty());
        let thinks = then.or_else(|| self.thinks.clone());
        self.asked_at.push(self.now);
        Awaited::new(|| Some(thinks))
    }

    fn gains_and_words(
        &mut self,
        sound: Vec<i16>,
        phrases: &Arc<[String]>,
        is_wanted: impl FnOnce(&Gains) -> bool + Send + 'static,
    ) -> Awaited<Option<(Gains, Option<usize>)>> {
        let (opinion, words) = (self.opinion(sound, phrases), self.words);
        let phrases = Arc::clone(phrases);
        Awaited::new(move || {
            let thinks = opinion.get()??;
            let others = phrases.iter().filter(|phrase| **phrase != thinks.phrase);
            let others = others.map(|phrase| (phrase.clone(), thinks.gain - thinks.lead));
            let best = (thinks.phrase.clone(), thinks.gain);
            let gains = Gains(others.chain([best]).collect());
            let words = is_wanted(&gains).then_some(words);
            Some(Some((gains, words)))
        })
    }

    fn reading_opinion(
        &mut self,
        sound: Vec<i16>,
        _: DigitCount,
        also: Vec<String>,
    ) -> Awaited<Option<Opinion>> {
        self.looked_at = also;
        self.opinion(sound, &Arc::from([]))
    }
}

impl Kept for Scripted {
    fn begin_and_look(&mut self, _: &[String], samples: &[i16]) -> (Begun, Vec<Alternative>) {
        let looked = self.decoded(Graph::Closed(&[]), samples, 1);
        (self.begin(false, samples), looked)
    }

    fn begin_both(&mut self, _: &[String], samples: &[i16]) -> [Begun; 2] {
        [false, true].map(|is_open| self.begin(is_open, samples))
    }

    fn end(&mut self, begun: Begun, rest: &[i16]) -> Vec<Alternative> {
        let (is_open, first) = self.begun[begun.0 as usize];
        let samples = vec![0; first + rest.len()];
        self.ended_begun += 1;
        match is_open {
            true => self.decoded(Graph::Open, &samples, 1),
            false => self.decoded(Graph::Closed(&[]), &samples, 1),
        }
    }

    fn decode(&mut self, graph: Graph<'_>, samples: &[i16], count: u16) -> Vec<Alternative> {
        self.decodes += 1;
        self.decoded(graph, samples, count)
    }
}

impl Scripted {
    fn decoded(&mut self, graph: Graph<'_>, samples: &[i16], count: u16) -> Vec<Alternative> {
        let text = match samples.len() < self.needs {
            true => String::new(),
            false => Scripted::at(self.now, &self.again).to_string(),
        };
        let words = vec![(0.0, samples.len() as f32 / RATE as f32)];
        match graph {
            Graph::Open => vec![Alternative {
                confidence: self.open,
                words: if self.talk { words } else { Vec::new() },
                ..Alternative::default()
            }],
            Graph::Closed(_) if count > 1 => vec![
                Alternative {
                    text,
                    confidence: self.margin,
                    // Well before the end: a last digit that is cut short is not believed.
                    words: vec![(0.0, 0.1)],
                },
                Alternative {
                    text: match self.other {
                        "" => "nine".into(),
                        other => other.into(),
                    },
                    ..Alternative::default()
                },
            ],
            Graph::Closed(_) => {
                self.kept = self.kept.max(samples.len());
                let late = self.ended.map_or(0, |ended| self.now.saturating_sub(ended));
                let to = (samples.len() as f32 - late as f32) / RATE as f32;
                vec![Alternative {
                    words: text.split_whitespace().map(|_| (0.0, to)).collect(),
                    text,
                    confidence: self.closed,
                }]
            }
        }
    }
}

fn vocabulary() -> Vocabulary {
    let phrase = |words: &str, weight| Expected {
        words: words.into(),
        weight,
    };
    Vocabulary {
        phrases: vec![
            phrase("work complete", Weight::Ordinary),
            phrase("wheel on the ground", Weight::Grave),
            phrase("say again", Weight::Light),
            phrase("stop stop", Weight::Stop),
        ],
        digits: Some(DigitCount {
            whole: 3,
            decimals: 0,
            ..DigitCount::default()
        }),
    }
}

/// Runs `decoder` for 5 s in pieces of 10 ms; returns when what was heard.
fn run(decoder: &mut Scripted) -> Vec<(u64, Heard)> {
    run_with(vocabulary(), decoder)
}

fn run_with(vocabulary: Vocabulary, decoder: &mut Scripted) -> Vec<(u64, Heard)> {
    let mut belief = Belief::new(RATE, true, decoder);
    belief.listen_for(vocabulary, decoder);
    let mut all = Vec::new();
    for now in (10..5_000).step_by(10) {
        decoder.now = now;
        let (until, before, after) = decoder.sound;
        let spoken = if decoder.speaks.contains(&now) {
            1_000
        } else {
            decoder.room.max(10)
        };
        let sound = match decoder.speaks.is_empty() {
            true => [if now < until { before } else { after }; 10],
            false => [spoken; 10],
        };
        let beside: &[i16] = if decoder.beside.is_empty() {
            &[]
        } else {
            &sound
        };
        let voice: &[i16] = if decoder.voice { &sound } else { &[] };
        let heard = belief.hear([&sound, beside, voice], decoder);
        all.extend(heard.map(|heard| (now, heard)));
    }
    all
}

#[track_caller]
fn check(decoder: Scripted, expected: &[(u64, &str, bool)]) -> Scripted {
    check_with(vocabulary(), decoder, expected)
}

#[track_caller]
fn check_with(
    vocabulary: Vocabulary,
    mut decoder: Scripted,
    expected: &[(u64, &str, bool)],
) -> Scripted {
    let heard = run_with(vocabulary, &mut decoder);
    let short: Vec<_> = heard
        .iter()
        .map(|(at, heard)| (*at, heard.text.as_str(), heard.sure))
        .collect();
    assert_eq!(short, expected);
    decoder
}

/// One who speaks from 0.9 s to 1.5 s; the streams show this, and the other network makes that of it.
fn spoken(shows: Vec<(u64, &'static str)>, phrase: &str, gain: f32, lead: f32) -> Scripted {
    Scripted {
        shows,
        again: vec![(0, "work complete")],
        speaks: 900..1_500,
        thinks: Some(Opinion {
            phrase: phrase.into(),
            gain,
            lead,
        }),
        words: 2,
        ..Scripted::default()
    }
}

/// The phrases, while no reading is wanted.
fn phrases_alone() -> Vocabulary {
    Vocabulary {
        digits: None,
        ..vocabulary()
    }
}

#[track_caller]
fn check_spoken(decoder: Scripted, expected: &[(u64, &str, bool)]) -> Scripted {
    check_with(phrases_alone(), decoder, expected)
}
