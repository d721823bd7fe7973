//! Rendering ahead: a thread that asks the engine, and the last texts it rendered.

use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::mpsc;
use std::thread;

use super::engine::Engine;
use super::sound::Sound;
use super::speaker::Order;

/// Texts that are kept at most.
const MOST_KEPT: usize = 32;
/// Samples that are kept at most: about a minute and a half, 8 MiB.
const MOST_SAMPLES: usize = 4 << 20;
/// Texts that may wait to be rendered ahead; older ones are no longer likely to be said.
const MOST_WAITING: usize = 16;

/// A text to be rendered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Task {
    pub text: String,
    /// Samples a second that the loudspeaker takes.
    pub rate: u32,
    pub urgency: Urgency,
}

/// When a text is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Urgency {
    /// It is to be said now.
    Now,
    /// It will probably be said next.
    Ahead,
}

/// The thread that asks the engine, one text at a time.
#[derive(Debug)]
pub(super) struct Renderer {
    tasks: mpsc::Sender<Task>,
}

impl Renderer {
    /// Starts the thread; each rendered text, or why it is not, goes to `orders`.
    pub(super) fn start(engine: Engine, orders: mpsc::Sender<Order>) -> Result<Self, String> {
        let (tasks, inbox) = mpsc::channel();
        thread::Builder::new()
            .name(String::from("voice rendering"))
            .spawn(move || {
                let mut waiting = VecDeque::new();
                let mut last: Option<(String, Arc<Sound>)> = None;
                while let Some(Task { text, rate, .. }) = next(&inbox, &mut waiting) {
                    // Asked for again while it was being rendered.
                    let again = last
                        .take()
                        .filter(|(known, sound)| *known == text && sound.rate == rate);
                    let result = match again {
                        Some((_, sound)) => Ok(sound),
                        None => engine.render(&text, rate).map(Arc::new),
                    };
                    if let Ok(sound) = &result {
                        last = Some((text.clone(), Arc::clone(sound)));
                    }
                    if orders.send(Order::Rendered { text, result }).is_err() {
                        return;
                    }
                }
            })
            .map_err(|e| format!("No speech: cannot start a thread: {e}"))?;
        Ok(Self { tasks })
    }

    /// Has a text rendered.
    pub(super) fn render(&self, task: Task) {
        // The thread lives as long as this handle.
        let _ = self.tasks.send(task);
    }
}

/// The next text to render: what is to be said now before what may be said next, and of the
/// former the newest. Waits where there is none; `None` when nobody can ask any more.
fn next(inbox: &mpsc::Receiver<Task>, waiting: &mut VecDeque<Task>) -> Option<Task> {
    if waiting.is_empty() {
        waiting.push_back(inbox.recv().ok()?);
    }
    for task in inbox.try_iter() {
        waiting.retain(|other| other.text != task.text || other.rate != task.rate);
        waiting.push_back(task);
    }
    let urgent = waiting
        .iter()
        .rposition(|task| task.urgency == Urgency::Now);
    if let Some(urgent) = urgent {
        let task = waiting.remove(urgent);
        // What was to be said before it has been replaced by it.
        waiting.retain(|other| other.urgency == Urgency::Ahead);
        return task;
    }
    while waiting.len() > MOST_WAITING {
        waiting.pop_front();
    }
    waiting.pop_front()
}

/// The last texts that were rendered.
#[derive(Debug, Default)]
pub(super) struct Kept {
    /// The oldest first.
    sounds: VecDeque<(String, Arc<Sound>)>,
}

impl Kept {
    /// The sound of a text at a rate, which makes it the newest.
    pub(super) fn take_up(&mut self, text: &str, rate: u32) -> Option<Arc<Sound>> {
        let place = self
            .sounds
            .iter()
            .position(|(kept, sound)| kept == text && sound.rate == rate)?;
        let entry = self.sounds.remove(place)?;
        let sound = Arc::clone(&entry.1);
        self.sounds.push_back(entry);
        Some(sound)
    }

    /// Keeps a sound, and lets go of the oldest where there are too many.
    pub(super) fn keep(&mut self, text: String, sound: Arc<Sound>) {
        self.sounds.retain(|(kept, _)| *kept != text);
        self.sounds.push_back((text, sound));
        while self.sounds.len() > MOST_KEPT || self.samples() > MOST_SAMPLES {
            self.sounds.pop_front();
        }
    }

    fn samples(&self) -> usize {
        self.sounds
            .iter()
            .map(|(_, sound)| sound.samples.len())
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn task(text: &str, urgency: Urgency) -> Task {
        Task {
            text: String::from(text),
            rate: 48_000,
            urgency,
        }
    }

    fn sound(samples: usize) -> Arc<Sound> {
        Arc::new(Sound {
            rate: 48_000,
            samples: vec![1; samples],
        })
    }

    #[test]
    fn what_is_to_be_said_now_goes_first_and_replaces_what_was() {
        let (sender, inbox) = mpsc::channel();
        for task in [
            task("one", Urgency::Ahead),
            task("two", Urgency::Now),
            task("three", Urgency::Ahead),
            task("four", Urgency::Now),
        ] {
            sender.send(task).unwrap();
        }
        drop(sender);
        let mut waiting = VecDeque::new();
        let order: Vec<_> = std::iter::from_fn(|| next(&inbox, &mut waiting))
            .map(|task| task.text)
            .collect();
        assert_eq!(order, ["four", "one", "three"]);
    }

    #[test]
    fn a_text_waits_once_and_old_ones_are_let_go() {
        let (sender, inbox) = mpsc::channel();
        for n in 0..40 {
            sender.send(task(&n.to_string(), Urgency::Ahead)).unwrap();
            sender.send(task("again", Urgency::Ahead)).unwrap();
        }
        drop(sender);
        let mut waiting = VecDeque::new();
        let order: Vec<_> = std::iter::from_fn(|| next(&inbox, &mut waiting))
            .map(|task| task.text)
            .collect();
        assert_eq!(order.len(), MOST_WAITING);
        assert_eq!(order.last().map(String::as_str), Some("again"));
    }

    #[test]
    fn the_oldest_sounds_are_let_go() {
        let mut kept = Kept::default();
        for n in 0..MOST_KEPT {
            kept.keep(n.to_string(), sound(1));
        }
        assert!(kept.take_up("0", 48_000).is_some());
        assert!(kept.take_up("0", 44_100).is_none());
        kept.keep(String::from("new"), sound(1));
        assert!(kept.take_up("0", 48_000).is_some());
        assert!(kept.take_up("1", 48_000).is_none());
        kept.keep(String::from("long"), sound(MOST_SAMPLES));
        assert_eq!(kept.sounds.len(), 1);
        kept.keep(String::from("too long"), sound(MOST_SAMPLES + 1));
        assert_eq!(kept.sounds.len(), 0);
    }
}
