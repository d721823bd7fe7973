//! Kept sound, decoded on a thread of its own while listening goes on.

use std::collections::VecDeque;
use std::sync::mpsc::{self, Sender};
use std::sync::{Arc, PoisonError, RwLock, Weak};
use std::thread;

use vosk::{CompleteResult, Model, Recognizer};

use super::decoder::{Alternative, Awaited, Begun, Graph, Kept};
use super::level::FaintNoise;

/// What was begun with a closed grammar and never ended makes room after so many others.
const MOST_BEGUN: usize = 4;

/// So much noise is decoded before anything was said: as root mean square in steps of 16-bit sound, and in
/// seconds.
const FIRST_NOISE: (f32, f32) = (300.0, 1.0);

/// Decodes kept sound.
pub struct KeptSound {
    model: Model,
    /// The model whose alternatives are far enough apart to compare readings by.
    far_apart: Arc<RwLock<Model>>,
    rate: f32,
    /// Kept, because what it has worked out of the model's own graph makes the next decode ten times
    /// faster.
    open: Option<Recognizer>,
    /// What was begun with the model's own graph.
    open_begun: Option<Begun>,
    closed: VecDeque<(Begun, Recognizer)>,
    last: u64,
    looking: Box<dyn FnMut() + Send>,
}

impl KeptSound {
    /// Begins with `model`, and the other for readings; `looking` is called before each decode.
    pub fn new(
        model: Model,
        far_apart: Arc<RwLock<Model>>,
        looking: Box<dyn FnMut() + Send>,
    ) -> KeptSound {
        KeptSound {
            model,
            far_apart,
            rate: 16_000.0,
            open: None,
            open_begun: None,
            closed: VecDeque::new(),
            last: 0,
            looking,
        }
    }

    /// Sets the rate of the sound to come, in Hz.
    pub fn set_rate(&mut self, rate: f32) {
        self.rate = rate;
        self.open = None;
        self.open_begun = None;
        self.closed.clear();
    }

    /// Works out what the model's own graph needs for any sound, so that the first phrase need not wait for
    /// it.
    pub fn prepare(&mut self) {
        let (level, seconds) = FIRST_NOISE;
        let mut noise = vec![0; (seconds * self.rate) as usize];
        FaintNoise::default().add_to(&mut noise, level);
        self.decode(Graph::Open, &noise, 1);
    }

    fn next(&mut self) -> Begun {
        self.last += 1;
        Begun(self.last)
    }

    /// Keeps what was begun with a closed grammar, for [`Kept::end`].
    fn keep_closed(&mut self, begun: Option<Recognizer>) -> Begun {
        let next = self.next();
        if let Some(begun) = begun {
            self.closed.truncate(MOST_BEGUN - 1);
            self.closed.push_front((next, begun));
        }
        next
    }

    fn take_closed(&mut self, begun: Begun) -> Option<Recognizer> {
        let found = self.closed.iter().position(|(one, _)| *one == begun)?;
        self.closed.remove(found).map(|(_, closed)| closed)
    }

    /// Makes the recogniser with the model's own graph ready for new sound.
    fn prepare_open(&mut self) {
        if self.open.is_none() {
            self.open = Recognizer::new(&self.model, self.rate);
        }
        if let Some(open) = &mut self.open
            && self.open_begun.take().is_some()
        {
            // The library's own reset would keep the sound that it has not come to yet, and put it before
            // the next.
            let _ = open.final_result();
        }
    }
}

impl Kept for KeptSound {
    fn decode(&mut self, graph: Graph<'_>, samples: &[i16], count: u16) -> Vec<Alternative> {
        (self.looking)();
        match graph {
            Graph::Closed(grammar) => {
                let fresh = match count {
                    0 | 1 => Recognizer::new_with_grammar(&self.model, self.rate, grammar),
                    _ => {
                        let far_apart = self.far_apart.read();
                        let model = far_apart.unwrap_or_else(PoisonError::into_inner);
                        Recognizer::new_with_grammar(&model, self.rate, grammar)
                    }
                };
                fresh.map_or_else(Vec::new, |mut fresh| decode(&mut fresh, samples, count))
            }
            Graph::Open => {
                self.prepare_open();
                let open = self.open.as_mut();
                open.map_or_else(Vec::new, |open| decode(open, samples, count))
            }
        }
    }

    fn begin_and_look(&mut self, grammar: &[String], samples: &[i16]) -> (Begun, Vec<Alternative>) {
        (self.looking)();
        let with = (&self.model, self.rate);
        let (begun, looked) = thread::scope(|scope| {
            let beside = scope.spawn(|| begun_closed(with, grammar, samples));
            let looked = Recognizer::new_with_grammar(with.0, with.1, grammar);
            let looked = looked.map_or_else(Vec::new, |mut look| decode(&mut look, samples, 1));
            (beside.join().ok().flatten(), looked)
        });
        (self.keep_closed(begun), looked)
    }

    fn begin_both(&mut self, grammar: &[String], samples: &[i16]) -> [Begun; 2] {
        (self.looking)();
        self.prepare_open();
        let with = (&self.model, self.rate);
        let open = &mut self.open;
        let (closed, given) = thread::scope(|scope| {
            let beside = scope.spawn(|| begun_closed(with, grammar, samples));
            let given = open.as_mut().is_some_and(|open| give(open, samples, 1));
            (beside.join().ok().flatten(), given)
        });
        let (closed, open) = (self.keep_closed(closed), self.next());
        self.open_begun = given.then_some(open);
        [closed, open]
    }

    fn end(&mut self, begun: Begun, rest: &[i16]) -> Vec<Alternative> {
        if self.open_begun == Some(begun) {
            self.open_begun = None;
            let open = self.open.as_mut();
            return open.map_or_else(Vec::new, |open| decode(open, rest, 1));
        }
        let closed = self.take_closed(begun);
        closed.map_or_else(Vec::new, |mut closed| decode(&mut closed, rest, 1))
    }

    fn end_both(&mut self, [closed, open]: [Begun; 2], rest: &[i16]) -> [Vec<Alternative>; 2] {
        if self.open_begun != Some(open) {
            return [Vec::new(), Vec::new()];
        }
        let closed = self.take_closed(closed);
        thread::scope(|scope| {
            let beside = closed.map(|mut closed| scope.spawn(move || decode(&mut closed, rest, 1)));
            let open = self.end(open, rest);
            let closed = beside.and_then(|beside| beside.join().ok());
            [closed.unwrap_or_default(), open]
        })
    }
}

/// Begins to decode `samples` with a closed grammar.
fn begun_closed(
    (model, rate): (&Model, f32),
    grammar: &[String],
    samples: &[i16],
) -> Option<Recognizer> {
    let mut fresh = Recognizer::new_with_grammar(model, rate, grammar)?;
    give(&mut fresh, samples, 1).then_some(fresh)
}

fn give(recogniser: &mut Recognizer, samples: &[i16], count: u16) -> bool {
    recogniser.set_max_alternatives(count);
    recogniser.set_words(true);
    samples.is_empty() || recogniser.accept_waveform(samples).is_ok()
}

/// Decodes `samples` to their end: after a final result a recogniser starts anew. An end of speech that the
/// library finds before that is not asked for, so it hides nothing.
fn decode(recogniser: &mut Recognizer, samples: &[i16], count: u16) -> Vec<Alternative> {
    if !give(recogniser, samples, count) {
        return Vec::new();
    }
    match recogniser.final_result() {
        CompleteResult::Multiple(many) => many
            .alternatives
            .iter()
            .map(|one| Alternative {
                text: one.text.trim().to_string(),
                confidence: one.confidence,
                words: one
                    .result
                    .iter()
                    .map(|word| (word.start, word.end))
                    .collect(),
            })
            .collect(),
        CompleteResult::Single(_) => Vec::new(),
    }
}

type Work<K> = Box<dyn FnOnce(&mut K) + Send>;

/// Ends the child where its thread panics: the program starts another, while half of one would listen and
/// never believe.
struct ProcessEnds;

impl Drop for ProcessEnds {
    fn drop(&mut self) {
        if thread::panicking() {
            std::process::exit(1);
        }
    }
}

/// The thread that does what is asked for, one after the other.
pub struct Worker<K> {
    asked: Sender<Work<K>>,
}

impl<K: 'static> Worker<K> {
    /// Starts it with what it makes first; it ends with the last that can ask for something.
    pub fn start(make: impl FnOnce() -> K + Send + 'static) -> Worker<K> {
        let (asked, received) = mpsc::channel::<Work<K>>();
        thread::spawn(move || {
            let _with_it = ProcessEnds;
            let mut kept = make();
            for work in received {
                work(&mut kept);
            }
        });
        Worker { asked }
    }

    /// Has `work` done, unless its result is not awaited any more when its turn comes.
    pub fn work<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut K) -> T + Send + 'static,
    ) -> Awaited<T> {
        let (done, result) = mpsc::sync_channel(1);
        let awaited = Arc::new(());
        let wanted: Weak<()> = Arc::downgrade(&awaited);
        let work: Work<K> = Box::new(move |kept| {
            if wanted.strong_count() > 0 {
                // Nobody may wait for it any more.
                let _ = done.send(work(kept));
            }
        });
        // Where the thread is gone the result never comes, and that is what whoever waits is told.
        let _ = self.asked.send(work);
        Awaited::new(move || {
            let result = result.recv().ok();
            drop(awaited);
            result
        })
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::super::decoder::Decoder;
    use super::super::recogniser::Recogniser;
    use super::super::{model_place, untested, why_deaf};
    use super::*;
    use crate::rehearse::voices::voices_here;

    /// Where the model lies, if it was fetched; it fails where everything has to be tested.
    fn model() -> Option<PathBuf> {
        match why_deaf() {
            Some(why) => untested(&format!("kept sound: {why}")),
            None => model_place(),
        }
    }

    #[test]
    fn what_was_begun_and_given_up_leaves_nothing_behind() {
        let Some(model) = model() else { return };
        let mut recogniser = Recogniser::listening(&model, || {}).unwrap();
        let mut noise = FaintNoise::default();
        let mut sound = |seconds: f32, level: f32| {
            let mut sound = vec![0; (seconds * 16_000.0) as usize];
            noise.add_to(&mut sound, level);
            sound
        };
        let (given_up, sound) = (sound(0.55, 3_000.0), sound(0.80, 300.0));
        let confidences = recogniser.beside(move |kept| {
            let mut confidence = || kept.decode(Graph::Open, &sound, 1)[0].confidence;
            let known = confidence();
            let same = confidence();
            kept.begin_both(&["work complete".into()], &given_up);
            (
                known,
                same,
                kept.decode(Graph::Open, &sound, 1)[0].confidence,
            )
        });
        let (known, same, after) = confidences.get().unwrap();
        assert_eq!(known, same);
        assert_eq!(known, after);
    }

    #[test]
    fn the_words_of_what_is_begun_are_known_and_the_rest_may_follow() {
        let Some(model) = model() else { return };
        let voice = voices_here().into_iter().next();
        let voice = voice.or_else(|| untested("words of what is begun: no speech engine"));
        let Some(voice) = voice else { return };
        let mut sound = vec![0; 8_000];
        sound.extend(voice.render("work complete").unwrap());
        sound.extend([0; 8_000]);
        FaintNoise::default().add_to(&mut sound, 5.0);
        let mut recogniser = Recogniser::listening(&model, || {}).unwrap();
        let grammar = ["work complete".to_string(), "[unk]".to_string()];
        let decoded = recogniser.beside(move |kept| {
            // Less than a second of it: the library tells no words of so little that was only begun.
            let (first, rest) = sound.split_at(15_000);
            let (begun, looked) = kept.begin_and_look(&grammar, first);
            let ended = kept.end(begun, rest);
            (
                looked,
                ended,
                kept.decode(Graph::Closed(&grammar), &sound, 1),
            )
        });
        let (looked, ended, whole) = decoded.get().unwrap();
        let [looked, ended, whole] = [looked, ended, whole].map(|mut all| all.remove(0));
        let starts = [&looked, &ended, &whole].map(|one| one.words[0].0);
        assert!(
            starts.iter().all(|start| (start - 0.5).abs() < 0.2),
            "{starts:?}"
        );
        assert_eq!(ended.text, "work complete");
        // What comes in two parts is aligned a frame otherwise.
        let late = ended.words[1].1 - whole.words[1].1;
        assert!(late.abs() < 0.1, "{late} s");
    }
}
