//! What is heard, and what is said.

use chrono::TimeDelta;

use super::{Bench, Stage};
use crate::hear::{EarNews, Heard, Vocabulary};
use crate::run::{By, Command, Mode, Order, Time, decide, sayable};
use crate::show::compose;
use crate::show::words;
use crate::speak::{Raise, VoiceNews};
use crate::understand;

/// Talk in which nothing was understood for this long is not for the program.
const OTHER_TALK: TimeDelta = TimeDelta::minutes(2);

impl Bench {
    pub(super) fn ears(&mut self, news: EarNews) {
        match news {
            EarNews::Listening => {
                self.around.ears.listening = true;
                self.around.ears.state = "listening".into();
                self.trace("listening", "program", None);
            }
            EarNews::Heard(heard) => self.hear(&heard),
            EarNews::Level(measured) => {
                compose::meter(&mut self.around.ears, &measured);
                self.own_voice.take(&measured, self.is_speaking);
                self.around.drowned = self.own_voice.is_drowned();
                // What is said to the program is no other talk.
                let lately = self.equipment.clock.now() - OTHER_TALK;
                let to_us = self.understood.is_some_and(|at| at > lately);
                if measured.talk && !to_us && self.around.wording.propose_call_sign() {
                    self.notice(words::CALL_SIGN_PROPOSED);
                    self.listen();
                }
            }
            EarNews::Lost { why } => {
                self.around.ears.listening = false;
                self.around.ears.state = format!("not hearing: {why}. Use the keys");
                self.trace("hearing lost", "program", None);
            }
            EarNews::SourceEnded => {
                self.around.ears.listening = false;
                self.around.ears.state = "the recording has ended".into();
                self.trace("recording ended", "program", None);
                self.source_ended = true;
            }
            EarNews::NoteLost { why } => {
                let command = Command::NoteLost { why };
                self.take(
                    Order {
                        command,
                        by: By::Program,
                    },
                    None,
                );
            }
            EarNews::NoteKept { file, seconds } => {
                let file = file
                    .file_name()
                    .map(|name| name.to_string_lossy().into_owned());
                let command = Command::NoteKept {
                    file: file.unwrap_or_default(),
                    seconds: seconds.round() as u32,
                };
                self.take(
                    Order {
                        command,
                        by: By::Program,
                    },
                    None,
                );
            }
        }
    }

    pub(super) fn voice(&mut self, news: VoiceNews) {
        match news {
            VoiceNews::Began => {
                self.speaking(true);
                self.trace("speaking", "program", None);
            }
            VoiceNews::Ended => {
                self.speaking(false);
                self.trace("spoken", "program", None);
            }
            VoiceNews::Failed { why } => {
                self.speaking(false);
                self.notice(&format!("No voice: {why}"));
            }
        }
    }

    pub(super) fn hear(&mut self, heard: &Heard) {
        if heard.sure {
            self.understood = Some(self.equipment.clock.now());
            if self.around.wording.take_up_call_sign(&heard.text) {
                self.notice(words::CALL_SIGN_TAKEN_UP);
                self.listen();
            }
        }
        if heard.is_part {
            let outcome = format!("Heard only the end, \"{}\": say all of it", heard.text);
            return self.answer(&heard.text, &outcome, false);
        }
        if let Stage::Offering(_) = self.stage {
            match self.around.wording.meant(&heard.text).as_deref() {
                _ if !heard.sure => self.answer(&heard.text, "not sure: say it again", false),
                Some(understand::GO_ON) => self.settle(true),
                Some(understand::BEGIN_AFRESH) => self.settle(false),
                _ => {}
            }
            return;
        }
        if let Some(order) = understand::order(&self.run, &self.around.wording, heard) {
            self.take(order, Some(heard));
        }
    }

    pub(super) fn listen(&mut self) {
        let vocabulary = match self.stage {
            Stage::Offering(_) => understand::offer_vocabulary(&self.around.wording),
            Stage::Working(_) => understand::vocabulary(&self.run, &self.around.wording),
        };
        if let Some(ears) = &mut self.equipment.ears {
            ears.listen_for(vocabulary);
        }
    }

    /// While the program speaks only a stop is heard; nothing before there is a job to stop, nor when it is
    /// stopped already: what it says then begins with that word.
    pub(super) fn speaking(&mut self, speaking: bool) {
        self.is_speaking = speaking;
        let stops =
            matches!(self.stage, Stage::Working(_)) && self.run.state().mode != Mode::Stopped;
        let only = match stops {
            true => understand::stop_vocabulary(),
            false => Vocabulary::default(),
        };
        if let Some(ears) = &mut self.equipment.ears {
            ears.speaking(speaking.then_some(only));
            if self.around.ears.listening {
                self.around.ears.state = match (speaking, stops) {
                    (true, true) => "speaking, hears only a stop",
                    (true, false) => "speaking",
                    (false, _) => "listening",
                }
                .into();
            }
        }
    }

    pub(super) fn say(&mut self, text: &str) {
        self.call(text, Raise::NONE);
    }

    pub(super) fn call(&mut self, text: &str, raise: Raise) {
        let silent = self.run.state().silent || text.is_empty();
        if let Some(voice) = self.equipment.voice.as_mut().filter(|_| !silent) {
            voice.call(text, raise);
        }
    }

    /// Has the voice rendered ahead for what comes next if the person takes the way forward.
    pub(super) fn prepare(&mut self, now: Time) {
        if self.equipment.voice.is_none() {
            return;
        }
        let Some(forward) = sayable::may_say(&self.run).into_iter().next() else {
            return;
        };
        let order = Order {
            command: forward.command,
            by: By::Voice,
        };
        let Ok(events) = decide(&self.run, &order, now) else {
            return;
        };
        let mut next = self.run.clone();
        events.iter().for_each(|event| next.apply(event));
        let text = self.spoken(&next, &events, now);
        if let Some(voice) = &mut self.equipment.voice
            && text != self.prepared
            && !text.is_empty()
        {
            voice.prepare(&text);
            self.prepared = text;
        }
    }
}
