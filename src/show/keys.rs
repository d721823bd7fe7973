//! Keys, pedals and touches: from single strokes to what they ask for.
//!
//! Two pedals do all that the voice does. Forward is the first line of what may be said, back is
//! the line that carries a back key. A short press acts when the key comes up, so that a press and
//! hold never acts as a short one first. A hold opens only by a press that begins while the hold is
//! shown, stays down for [`DELIBERATE`], and is the only key down: not by a tap, not by the
//! keyboard's own repeat, not by a sleeve across the keys. Back held as long opens a list of
//! everything that may be said; in it, forward and back move the mark and forward held chooses.
//!
//! A terminal does not tell when a key comes up ([`Keys::without_release`]). There a press lasts as
//! long as the keyboard repeats it without a gap of more than [`GAP`].

use std::time::Duration;

use super::view::{ListView, SayLine, Tone, View};

#[path = "keys_list.rs"]
mod list;
#[path = "keys_meaning.rs"]
mod meaning;

use list::{Choice, Choosing, choices};
use meaning::{Meaning, guarded, meaning, names};

/// How long a press must last to count as meant.
pub const DELIBERATE: Duration = Duration::from_millis(1000);
/// The same where no release is told: the keyboard's first repeat comes late and proves less.
pub const DELIBERATE_REPEAT: Duration = Duration::from_millis(1500);
/// A key down longer than this on an ordinary line was leaned on, and nothing comes of it.
pub const LEANED: Duration = Duration::from_millis(1500);
/// The longest gap within one repeated press where no release is told; keyboards wait up to
/// 660 ms before they repeat.
pub const GAP: Duration = Duration::from_millis(700);
/// The most characters of a reading.
pub const MOST_TYPED: usize = 8;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Key {
    /// The forward pedal: page down.
    PageDown,
    /// The back pedal: page up.
    PageUp,
    Space,
    Right,
    Left,
    Up,
    Down,
    Enter,
    Backspace,
    Escape,
    /// Any other character, in lower case.
    Letter(char),
    /// A touch on a line of what may be said.
    Line(usize),
    /// A touch on a line of the list.
    Choice(usize),
    /// The person asks to end the program.
    Quit,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    Down,
    /// The keyboard says by itself that the key is still down.
    Repeat,
    Up,
    /// The face can no longer see the keys: nothing comes of a press that was going on.
    Lost,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stroke {
    pub key: Key,
    pub edge: Edge,
    /// By the clock of [`super::moment`].
    pub at: Duration,
}

/// What a stroke asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum KeyAct {
    /// The line `index` of what may be said; `held` tells a deliberate press and hold.
    Say {
        index: usize,
        held: bool,
    },
    /// A reading, keyed in digit by digit.
    Reading(String),
    /// A key was down longer than [`LEANED`], and nothing came of it.
    LeanedOn,
    /// The list, its mark or the figures keyed in changed: the face is to be shown again.
    Look,
    Quit,
}

/// A press that goes on.
#[derive(Debug, Clone)]
struct Press {
    key: Key,
    since: Duration,
    /// The last sign that the key is still down.
    seen: Duration,
    /// What the face showed when the press began; the press means nothing on another picture.
    began_on: Picture,
    /// Nothing more comes of this press.
    spent: bool,
}

/// As much of a view as gives a press its meaning.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Picture {
    tone: Tone,
    place: String,
    call: String,
    lines: Vec<SayLine>,
    list_open: bool,
}

/// The state of the keys.
#[derive(Debug, Clone)]
pub struct Keys {
    releases: bool,
    down: Vec<Key>,
    press: Option<Press>,
    choosing: Option<Choosing>,
    typed: String,
}

impl Default for Keys {
    fn default() -> Self {
        Keys::new()
    }
}

impl Keys {
    /// Returns keys whose release is told.
    pub fn new() -> Keys {
        Keys {
            releases: true,
            down: Vec::new(),
            press: None,
            choosing: None,
            typed: String::new(),
        }
    }

    /// Returns keys of a terminal, whose release is not told.
    pub fn without_release() -> Keys {
        Keys {
            releases: false,
            ..Keys::new()
        }
    }

    /// Returns what has been keyed in so far of a reading.
    pub fn typed(&self) -> &str {
        &self.typed
    }

    /// Returns the pedal's list, if it is open on this view.
    pub fn list(&self, view: &View) -> Option<ListView> {
        let choosing = self
            .choosing
            .as_ref()
            .filter(|choosing| choosing.fits(view))?;
        Some(choosing.shown(view, &self.typed))
    }

    /// Returns how far a press and hold has come at `now`, 0 to 1; 0 where holding means nothing.
    pub fn holding(&self, view: &View, now: Duration) -> f32 {
        let Some(press) = self.press.as_ref().filter(|press| !press.spent) else {
            return 0.0;
        };
        match self.meaning(view, press.key) {
            Meaning::Guarded(_) | Meaning::Back(_) | Meaning::MarkOn | Meaning::MarkBack => {
                let lasted = now
                    .min(self.last_sign(press, now))
                    .saturating_sub(press.since);
                (lasted.as_secs_f32() / self.deliberate().as_secs_f32()).clamp(0.0, 1.0)
            }
            Meaning::Nothing | Meaning::Line(_) | Meaning::Choose(_) => 0.0,
        }
    }

    /// Takes one stroke and returns what it asks for.
    pub fn stroke(&mut self, view: &View, stroke: Stroke) -> Option<KeyAct> {
        self.forget_what_is_gone(view);
        // A press whose end no tick has noticed yet ends before the next stroke is looked at.
        let before = if self.releases {
            None
        } else {
            self.end_silent(view, stroke.at)
        };
        let act = match stroke.edge {
            Edge::Lost => {
                self.down.clear();
                self.press = None;
                None
            }
            Edge::Down => self.key_down(view, stroke),
            Edge::Repeat => self.key_repeats(view, stroke),
            Edge::Up => self.key_up(view, stroke),
        };
        act.or(before)
    }

    /// Lets time pass: a press and hold acts as soon as it has lasted long enough.
    ///
    /// To be called some twenty times a second while [`Keys::pressed`].
    pub fn tick(&mut self, view: &View, now: Duration) -> Option<KeyAct> {
        self.forget_what_is_gone(view);
        if self.releases {
            self.held_long(view, now)
        } else {
            self.end_silent(view, now)
        }
    }

    /// Returns whether a press goes on, so that time matters.
    pub fn pressed(&self) -> bool {
        self.press.is_some()
    }

    fn key_down(&mut self, view: &View, stroke: Stroke) -> Option<KeyAct> {
        if !self.releases
            && let Some(press) = &mut self.press
            && press.key == stroke.key
        {
            // The terminal tells a repeat as one more press.
            press.seen = stroke.at;
            // Figures and the mark may come fast; every other key waits for the gap, so that Enter
            // leaned on does not send a reading and then confirm it.
            if matches!(
                stroke.key,
                Key::Letter(_) | Key::Backspace | Key::Up | Key::Down
            ) && let Some(act) = self.at_once(view, stroke.key)
            {
                return Some(act);
            }
            return self.held_long(view, stroke.at);
        }
        if stroke.key == Key::Quit {
            return Some(KeyAct::Quit);
        }
        let alone = self.down.iter().all(|key| *key == stroke.key);
        if self.releases && !self.down.contains(&stroke.key) {
            self.down.push(stroke.key);
        }
        let press = Press {
            key: stroke.key,
            since: stroke.at,
            seen: stroke.at,
            began_on: picture(view, self.choosing.is_some()),
            spent: false,
        };
        if let Some(act) = self.at_once(view, stroke.key) {
            self.press = Some(Press {
                spent: true,
                ..press
            });
            return Some(act);
        }
        // A second key makes both mean nothing: that is a sleeve, not a finger.
        if !alone {
            if let Some(press) = &mut self.press {
                press.spent = true;
            }
            return None;
        }
        self.press = Some(press);
        // Where no release is told, a line that holding does not change is said at once.
        if !self.releases {
            let meaning = self.meaning(view, stroke.key);
            if matches!(meaning, Meaning::Line(_) | Meaning::Choose(_)) {
                self.spend();
                return self.short(view, meaning);
            }
        }
        None
    }

    fn key_repeats(&mut self, view: &View, stroke: Stroke) -> Option<KeyAct> {
        match &mut self.press {
            Some(press) if press.key == stroke.key => press.seen = stroke.at,
            _ => return None,
        }
        self.held_long(view, stroke.at)
    }

    fn key_up(&mut self, view: &View, stroke: Stroke) -> Option<KeyAct> {
        self.down.retain(|key| *key != stroke.key);
        if self
            .press
            .as_ref()
            .is_none_or(|press| press.key != stroke.key)
        {
            return None;
        }
        let held = self.held_long(view, stroke.at);
        let press = self.press.take()?;
        if held.is_some() || press.spent {
            return held;
        }
        let meaning = self.meaning(view, press.key);
        if stroke.at.saturating_sub(press.since) > LEANED && meaning != Meaning::Nothing {
            return Some(KeyAct::LeanedOn);
        }
        self.short(view, meaning)
    }

    /// Where no release is told: ends the press whose repeats have stopped.
    fn end_silent(&mut self, view: &View, now: Duration) -> Option<KeyAct> {
        let press = self.press.as_ref()?;
        if now.saturating_sub(press.seen) <= GAP {
            return None;
        }
        let press = self.press.take()?;
        // Repeats that went on for a while, but not long enough, are neither a tap nor a hold.
        if press.spent || press.seen.saturating_sub(press.since) > GAP {
            return None;
        }
        let meaning = self.meaning(view, press.key);
        self.short(view, meaning)
    }

    /// Acts on a press that has lasted long enough.
    fn held_long(&mut self, view: &View, now: Duration) -> Option<KeyAct> {
        let press = self.press.as_ref().filter(|press| !press.spent)?;
        let lasted = self.last_sign(press, now).saturating_sub(press.since);
        if lasted < self.deliberate() {
            return None;
        }
        match self.meaning(view, press.key) {
            Meaning::Guarded(index) => {
                self.spend();
                Some(KeyAct::Say { index, held: true })
            }
            Meaning::Back(_) => {
                self.spend();
                self.choosing = Some(Choosing::open(view));
                Some(KeyAct::Look)
            }
            Meaning::MarkOn => {
                let mark = self.choosing.as_ref().map_or(0, |choosing| choosing.mark);
                self.spend();
                self.choose(view, mark)
            }
            Meaning::MarkBack => {
                self.spend();
                self.choosing = None;
                Some(KeyAct::Look)
            }
            Meaning::Nothing | Meaning::Line(_) | Meaning::Choose(_) => None,
        }
    }

    /// What a short press asks for.
    fn short(&mut self, view: &View, meaning: Meaning) -> Option<KeyAct> {
        match meaning {
            Meaning::Nothing | Meaning::Back(None) => None,
            Meaning::Line(index) | Meaning::Guarded(index) | Meaning::Back(Some(index)) => {
                Some(KeyAct::Say { index, held: false })
            }
            Meaning::MarkOn => self.move_mark(view, 1),
            Meaning::MarkBack => self.move_mark(view, -1),
            Meaning::Choose(mark) => self.choose(view, mark),
        }
    }

    /// Keys whose length does not matter act when they go down.
    fn at_once(&mut self, view: &View, key: Key) -> Option<KeyAct> {
        // Escape is the key of what cannot wait, stopping: neither a list nor another key that is
        // down nor a long press comes before it.
        if key == Key::Escape
            && let Some(index) = view.may_say.iter().position(|line| names(line, key))
        {
            return Some(KeyAct::Say { index, held: false });
        }
        if self.choosing.is_some() {
            match key {
                Key::Down => return self.move_mark(view, 1),
                Key::Up => return self.move_mark(view, -1),
                Key::Escape => {
                    self.choosing = None;
                    return Some(KeyAct::Look);
                }
                Key::Enter => {
                    let mark = self.choosing.as_ref().map_or(0, |choosing| choosing.mark);
                    return self.choose(view, mark);
                }
                _ => {}
            }
        }
        if !view.wants_digits {
            return None;
        }
        match key {
            Key::Letter(figure @ ('0'..='9' | '.' | ',' | '-')) => {
                self.type_figure(figure);
                Some(KeyAct::Look)
            }
            Key::Backspace if !self.typed.is_empty() => {
                self.typed.pop();
                Some(KeyAct::Look)
            }
            Key::Escape if !self.typed.is_empty() => {
                self.typed.clear();
                Some(KeyAct::Look)
            }
            Key::Enter if !self.typed.is_empty() => {
                Some(KeyAct::Reading(std::mem::take(&mut self.typed)))
            }
            _ => None,
        }
    }

    fn type_figure(&mut self, figure: char) {
        let figure = if figure == ',' { '.' } else { figure };
        let second_point = figure == '.' && self.typed.contains('.');
        let late_sign = figure == '-' && !self.typed.is_empty();
        if self.typed.len() < MOST_TYPED && !second_point && !late_sign {
            self.typed.push(figure);
        }
    }

    fn move_mark(&mut self, view: &View, by: isize) -> Option<KeyAct> {
        self.choosing.as_mut()?.move_mark(view, by);
        Some(KeyAct::Look)
    }

    fn choose(&mut self, view: &View, mark: usize) -> Option<KeyAct> {
        match choices(view).get(mark)? {
            // A hold is not opened from the list: it closes, and the hold wants its own press.
            Choice::Say(index) if guarded(view, *index) => {
                self.choosing = None;
                Some(KeyAct::Look)
            }
            Choice::Say(index) => {
                self.choosing = None;
                Some(KeyAct::Say {
                    index: *index,
                    held: false,
                })
            }
            Choice::Digit(figure) => {
                self.type_figure(*figure);
                Some(KeyAct::Look)
            }
            Choice::TakeBack => {
                self.typed.pop();
                Some(KeyAct::Look)
            }
            Choice::Send if self.typed.is_empty() => Some(KeyAct::Look),
            Choice::Send => {
                self.choosing = None;
                Some(KeyAct::Reading(std::mem::take(&mut self.typed)))
            }
        }
    }

    fn meaning(&self, view: &View, key: Key) -> Meaning {
        meaning(view, key, self.choosing.is_some())
    }

    /// The last moment at which the key is known to be down.
    fn last_sign(&self, press: &Press, now: Duration) -> Duration {
        if self.releases { now } else { press.seen }
    }

    fn deliberate(&self) -> Duration {
        if self.releases {
            DELIBERATE
        } else {
            DELIBERATE_REPEAT
        }
    }

    fn spend(&mut self) {
        if let Some(press) = &mut self.press {
            press.spent = true;
        }
    }

    /// A list or a press that belongs to another picture is over.
    fn forget_what_is_gone(&mut self, view: &View) {
        if self
            .choosing
            .as_ref()
            .is_some_and(|choosing| !choosing.fits(view))
        {
            self.choosing = None;
        }
        if !view.wants_digits {
            self.typed.clear();
        }
        let list_open = self.choosing.is_some();
        if !list_open {
            self.down.retain(|key| !matches!(key, Key::Choice(_)));
        }
        if let Some(press) = &mut self.press
            && press.began_on != picture(view, list_open)
        {
            press.spent = true;
            if press.began_on.lines != view.may_say {
                // The line that was touched is gone, and nobody tells when it is let go.
                self.down.retain(|key| !matches!(key, Key::Line(_)));
            }
        }
    }
}

fn picture(view: &View, list_open: bool) -> Picture {
    Picture {
        tone: view.tone,
        place: view.place.clone(),
        call: view.call.clone(),
        lines: view.may_say.clone(),
        list_open,
    }
}

#[cfg(test)]
#[path = "keys_tests.rs"]
mod tests;
