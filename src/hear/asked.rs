//! What the ears are asked for, each with its time: a busy machine may be behind with the sound by much of
//! a second, and a request belongs beside what was captured when it was made.

use std::sync::mpsc::{self, Receiver, Sender};
use std::time::Instant;

/// Asks.
pub struct Asking<T>(Sender<(Instant, T)>);

/// What was asked for and not yet done, the oldest first.
pub struct Asked<T> {
    received: Receiver<(Instant, T)>,
    /// Taken, and not yet due.
    next: Option<(Instant, T)>,
}

/// Returns what asks, and what is asked.
pub fn channel<T>() -> (Asking<T>, Asked<T>) {
    let (sender, received) = mpsc::channel();
    let next = None;
    (Asking(sender), Asked { received, next })
}

impl<T> Clone for Asking<T> {
    fn clone(&self) -> Asking<T> {
        Asking(self.0.clone())
    }
}

impl<T> Asking<T> {
    /// Asks for something now. Where nobody is asked any more, nothing comes of it.
    pub fn ask(&self, what: T) {
        let _ = self.0.send((Instant::now(), what));
    }
}

impl<T> Asked<T> {
    /// Returns the next that was asked for by then; without a time, whatever is next.
    pub fn next(&mut self, by: Option<Instant>) -> Option<T> {
        let (at, what) = self.next.take().or_else(|| self.received.try_recv().ok())?;
        if by.is_some_and(|by| at > by) {
            self.next = Some((at, what));
            return None;
        }
        Some(what)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Returns a time after which the clock has moved on.
    fn now() -> Instant {
        let now = Instant::now();
        while Instant::now() == now {}
        now
    }

    #[test]
    fn what_was_asked_for_later_waits_for_the_sound_of_its_time() {
        let (asking, mut asked) = channel();
        let before = now();
        asking.ask("speaking");
        let between = now();
        asking.clone().ask("spoken");
        assert_eq!(asked.next(Some(before)), None);
        assert_eq!(asked.next(Some(between)), Some("speaking"));
        assert_eq!(asked.next(Some(between)), None);
        assert_eq!(asked.next(Some(between)), None);
        assert_eq!(asked.next(Some(now())), Some("spoken"));
        asking.ask("at once");
        assert_eq!(asked.next(None), Some("at once"));
        assert_eq!(asked.next(None), None);
    }
}
