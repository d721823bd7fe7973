//! The synthetic person: follows the trace as another program would, and answers by voice.

use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use chrono::TimeDelta;

use super::room::{CHUNK, RATE, Room};
use super::voices::SyntheticVoice;
use crate::clock::RehearsedClock;
use crate::hear::{Source, SourceState};
use crate::run::Figure;
use crate::trace::{Line, Wants};
use crate::wording::Wording;

/// How often one thing is said before the person gives up.
const MOST_TRIES: u32 = 6;
/// Quiet before a phrase: a person's pause, and the recogniser's after the phrase before.
const PAUSE: Duration = Duration::from_millis(600);
/// How long after its end a phrase may be answered, in the room's time.
const PATIENCE: Duration = Duration::from_millis(2500);
/// How long the program may take to do anything at all, in real time.
const REAL_PATIENCE: Duration = Duration::from_secs(60);

/// How a rehearsal went.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// How often the program called for something.
    pub calls: u32,
    /// How many of these were answered by the first thing said.
    pub at_once: u32,
    /// How often the person had to say it again.
    pub again: u32,
    /// Whether the job was finished by voice.
    pub finished: bool,
    /// Where it stopped, if it did.
    pub stopped_at: Option<String>,
    /// The time in the room, in which waits took none.
    pub room_time: Duration,
    pub real_time: Duration,
}

/// The person in the room.
pub struct Person {
    voices: Vec<SyntheticVoice>,
    room: SharedRoom,
    lines: Receiver<Line>,
    /// What is said where only time helps.
    waiting: String,
}

/// The room, shared between the person who speaks in it and the microphone.
#[derive(Clone)]
pub struct SharedRoom {
    inner: Arc<(Mutex<Inner>, Condvar)>,
}

struct Inner {
    room: Room,
    /// Sound flows only while somebody speaks or waits for an answer, so that no time is lost
    /// while the next phrase is being rendered; before the first one until somebody listens. Always,
    /// where the room is paced.
    flowing: bool,
    paced: bool,
    closed: bool,
}

/// The room as the microphone hears it.
pub struct RoomSource {
    room: SharedRoom,
    clock: Option<RehearsedClock>,
}

impl SharedRoom {
    /// Shares a room; `paced` keeps its sound going all the time.
    pub fn new(room: Room, paced: bool) -> SharedRoom {
        let inner = Inner {
            room,
            flowing: true,
            paced,
            closed: false,
        };
        SharedRoom {
            inner: Arc::new((Mutex::new(inner), Condvar::new())),
        }
    }

    /// Returns a microphone in the room; `clock` goes with the sound it takes.
    pub fn microphone(&self, clock: Option<RehearsedClock>) -> RoomSource {
        RoomSource {
            room: self.clone(),
            clock,
        }
    }

    /// Ends the sound.
    pub fn close(&self) {
        self.change(|inner| inner.closed = true);
    }

    fn change<T>(&self, change: impl FnOnce(&mut Inner) -> T) -> T {
        let (inner, changed) = &*self.inner;
        // A panic elsewhere leaves the room as it was: there is nothing half done in it.
        let mut inner = inner
            .lock()
            .unwrap_or_else(|poisoned| poisoned.into_inner());
        let result = change(&mut inner);
        changed.notify_all();
        result
    }
}

impl Source for RoomSource {
    fn rate(&self) -> u32 {
        RATE
    }

    fn next(&mut self, samples: &mut Vec<i16>) -> SourceState {
        let (inner, changed) = &*self.room.inner;
        let mut inner = inner
            .lock()
            .unwrap_or_else(|poisoned| poisoned.into_inner());
        if !inner.flowing && !inner.closed {
            let waited = changed.wait_timeout(inner, Duration::from_millis(100));
            inner = waited.unwrap_or_else(|poisoned| poisoned.into_inner()).0;
        }
        if !inner.flowing && !inner.closed {
            return SourceState::Nothing;
        }
        if inner.closed {
            return SourceState::Ended;
        }
        let mut chunk = Vec::with_capacity(CHUNK);
        inner.room.next_chunk(&mut chunk);
        samples.extend(chunk);
        if let Some(clock) = &self.clock {
            clock.pass(TimeDelta::milliseconds(
                (CHUNK * 1000 / RATE as usize) as i64,
            ));
        }
        SourceState::Sound
    }
}

/// What came of something said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Answer {
    Taken,
    AskedAgain,
    Missed,
    /// The program is gone or stuck.
    Gone,
}

impl Person {
    /// Puts a person with `voices` (at least one; taken in turn) into `room`, following `lines`.
    ///
    /// `wording` is what they call things.
    pub fn new(
        voices: Vec<SyntheticVoice>,
        room: SharedRoom,
        lines: Receiver<Line>,
        wording: &Wording,
    ) -> Person {
        Person {
            voices,
            room,
            lines,
            waiting: wording.said("time remaining"),
        }
    }

    /// Does the whole job by voice. `progress` is told of everything said.
    pub fn rehearse(&self, mut progress: impl FnMut(&str)) -> Summary {
        let begun = Instant::now();
        let mut summary = Summary {
            calls: 0,
            at_once: 0,
            again: 0,
            finished: false,
            stopped_at: None,
            room_time: Duration::ZERO,
            real_time: Duration::ZERO,
        };
        let mut line = self.until(|line| line.event == "listening");
        self.room.change(|inner| inner.flowing = inner.paced);
        let mut tries = 0;
        loop {
            let Some(now) = line else {
                summary
                    .stopped_at
                    .get_or_insert("the program no longer answers".into());
                break;
            };
            if now.done {
                summary.finished = true;
                break;
            }
            let Some(words) = way_forward(&now, &self.waiting) else {
                line = self.until(|_| true);
                continue;
            };
            if tries == 0 {
                summary.calls += 1;
            }
            let voice = &self.voices[(summary.calls + tries) as usize % self.voices.len()];
            progress(&format!("{voice} says: {words}"));
            let (answer, latest) = self.say(voice, &words, now);
            tries += 1;
            match answer {
                Answer::Taken => {
                    summary.at_once += u32::from(tries == 1);
                    tries = 0;
                }
                Answer::AskedAgain | Answer::Missed => {
                    summary.again += 1;
                    let missed = answer == Answer::Missed;
                    progress(if missed {
                        "  not understood"
                    } else {
                        "  asked again"
                    });
                    if tries >= MOST_TRIES {
                        summary.stopped_at = Some(format!("\"{words}\" was not understood"));
                        break;
                    }
                }
                Answer::Gone => {
                    summary.stopped_at = Some(format!("no answer after \"{words}\""));
                    break;
                }
            }
            line = latest;
        }
        let samples = self.room.change(|inner| inner.room.position());
        summary.room_time = Duration::from_secs_f64(samples as f64 / f64::from(RATE));
        summary.real_time = begun.elapsed();
        summary
    }

    /// Says words and waits for what comes of them; returns the newest line too.
    fn say(&self, voice: &SyntheticVoice, words: &str, now: Line) -> (Answer, Option<Line>) {
        let Ok(speech) = voice.render(words) else {
            return (Answer::Missed, Some(now));
        };
        let pause = vec![0; (PAUSE.as_secs_f64() * f64::from(RATE)) as usize];
        self.room.change(|inner| {
            inner.room.queue([pause, speech].concat());
            inner.flowing = true;
        });
        let (answer, line) = self.answer(now);
        self.room.change(|inner| inner.flowing = inner.paced);
        (answer, line)
    }

    fn answer(&self, now: Line) -> (Answer, Option<Line>) {
        let mut line = now;
        let mut quiet_since = None;
        let mut seen = Instant::now();
        loop {
            match self.lines.recv_timeout(Duration::from_millis(20)) {
                Ok(next) => {
                    seen = Instant::now();
                    let by_voice = next.by == "voice";
                    let asked = ["refused", "questioned", "asked back", "not recorded"];
                    let again = asked.contains(&next.event.as_str());
                    line = next;
                    if by_voice {
                        // One command can have several events: the last one tells where we are.
                        while let Ok(more) = self.lines.recv_timeout(Duration::from_millis(60)) {
                            line = more;
                        }
                        let answer = if again {
                            Answer::AskedAgain
                        } else {
                            Answer::Taken
                        };
                        return (answer, Some(line));
                    }
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return (Answer::Gone, None),
            }
            let (busy, position) = self
                .room
                .change(|inner| (inner.room.busy(), inner.room.position()));
            if busy {
                quiet_since = None;
            } else {
                let since = *quiet_since.get_or_insert(position);
                if position - since > (PATIENCE.as_secs_f64() * f64::from(RATE)) as u64 {
                    return (Answer::Missed, Some(line));
                }
            }
            if seen.elapsed() > REAL_PATIENCE {
                return (Answer::Gone, Some(line));
            }
        }
    }

    /// Waits for a line that is `wanted`, and goes on to the newest one there is.
    fn until(&self, wanted: impl Fn(&Line) -> bool) -> Option<Line> {
        let mut latest = loop {
            match self.lines.recv_timeout(REAL_PATIENCE) {
                Ok(line) if wanted(&line) || line.done => break line,
                Ok(_) => {}
                Err(_) => return None,
            }
        };
        while let Ok(line) = self.lines.try_recv() {
            latest = line;
        }
        Some(latest)
    }
}

/// What to say to go on: the reading that is wanted, or the first thing that may be said. None
/// where only time helps: there the first is `waiting`.
fn way_forward(line: &Line, waiting: &str) -> Option<String> {
    if let Some(wants) = &line.wants {
        return Some(reading_within(wants));
    }
    line.may_say
        .first()
        .map(|first| first.say.clone())
        .filter(|say| say != waiting)
}

/// A reading in the middle of its limits, digit by digit as it is asked for.
fn reading_within(wants: &Wants) -> String {
    let decimals = usize::from(wants.decimals);
    let whole = usize::from(wants.digits);
    let width = whole + decimals + usize::from(decimals > 0);
    let middle = f64::midpoint(wants.low, wants.high);
    let digits = format!("{middle:0width$.decimals$}");
    match digits.parse::<Figure>() {
        Ok(figure) => figure.spoken(),
        Err(_) => digits,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_lies_within_its_limits_with_every_digit() {
        let wants = |low, high, digits, decimals| Wants {
            reading: "nut one".into(),
            unit: "N·m".into(),
            low,
            high,
            digits,
            decimals,
        };
        assert_eq!(reading_within(&wants(105.0, 115.0, 3, 0)), "one one zero");
        assert_eq!(reading_within(&wants(90.0, 100.0, 3, 0)), "zero nine five");
        assert_eq!(
            reading_within(&wants(0.0, 0.1, 1, 2)),
            "zero point zero five"
        );
    }
}
