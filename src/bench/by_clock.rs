//! What the clock brings: ends of waits, calls made again, clocks that differ, the plan made anew.

use std::thread;

use chrono::TimeDelta;

use super::{Bench, Flow, Stage, Waking};
use crate::clock::{Clock, Disagreement, compare};
use crate::plan;
use crate::run::{By, Command, Order, Time, sayable, times_called};
use crate::show::{moment, wait_words};
use crate::speak::Raise;

impl Bench {
    /// Does what is due by the clock, and keeps the picture right.
    pub(super) fn time_passed(&mut self) -> Flow {
        if let Stage::Working(_) = self.stage {
            self.look_at_clocks();
            self.hurry();
            self.end_waits();
            self.call_again();
        }
        let view = self.view();
        let act = self.equipment.keys.tick(&view, moment());
        let flow = act.map_or(Flow::On, |act| self.key(act));
        self.show();
        let done = self.run.state().finished || self.source_ended;
        if self.equipment.until_done && done {
            Flow::End
        } else {
            flow
        }
    }

    /// Ends the waits that are due.
    pub(super) fn end_waits(&mut self) {
        let now = self.equipment.clock.now();
        if self.run.next_wake().is_some_and(|due| due <= now) {
            self.take(
                Order {
                    command: Command::Tick,
                    by: By::Clock,
                },
                None,
            );
        }
    }

    /// Tells the person where the clocks no longer agree, and keeps their hours right.
    pub(super) fn look_at_clocks(&mut self) {
        const HOURS_EVERY: TimeDelta = TimeDelta::seconds(10);
        let now = self.equipment.clock.now();
        if (now - self.hours_found).abs() >= HOURS_EVERY {
            self.around.hours = self.equipment.clock.hours();
            self.hours_found = now;
        }
        let (Some(before), Some(look)) = (self.looked, self.equipment.clock.look()) else {
            return;
        };
        if let Some(apart) = compare(before, look) {
            self.looked = Some(look);
            self.clocks_differ(apart);
        }
    }

    pub(super) fn clocks_differ(&mut self, apart: Disagreement) {
        let Disagreement { wall, passed } = apart;
        self.around.hours = self.equipment.clock.hours();
        let order = Order {
            command: Command::ClockDiffers { wall, passed },
            by: By::Clock,
        };
        self.take(order, None);
        let told = wait_words::clock_differs(&self.run, wall, passed, &self.around.hours);
        self.notice(&told);
    }

    /// Calls an end again that nobody answers, when it is time; never into what is being said.
    pub(super) fn call_again(&mut self) {
        let now = self.equipment.clock.now();
        let Some(one) = self.run.called_wait() else {
            self.called = None;
            return;
        };
        let Some(call) = one.wait.call else { return };
        let times = times_called(call.since, now);
        let made = self.called.as_ref().map(|(step, of, since, made)| {
            let same = *step == one.wait.step && *of == call.of && *since == call.since;
            if same { *made } else { 0 }
        });
        // One that was not called yet was told with its event, or is with the next call.
        let made = match made {
            Some(made) if made > 0 => made,
            _ => times,
        };
        let due = times > made && !self.is_speaking;
        let made = if due { times } else { made };
        let key = (one.wait.step.clone(), call.of, call.since, made);
        let told = due
            .then(|| wait_words::spoken_call(&self.run, one, now, times - 1, &self.around.hours));
        let raise = Raise::after_calls(times.saturating_sub(1));
        self.called = Some(key);
        if let Some(told) = told {
            self.trace("called again", "clock", None);
            self.call(&told, raise);
        }
    }

    /// In a rehearsal nobody waits: where only a wait can go on, its end is now.
    pub(super) fn hurry(&mut self) {
        let Clock::Rehearsed(clock) = &self.equipment.clock else {
            return;
        };
        let only_waiting = sayable::may_say(&self.run)
            .first()
            .is_some_and(|first| first.command == Command::TimeRemaining);
        let all_done = self.run.step().is_none() && !self.run.state().finished;
        if (only_waiting || all_done)
            && let Some(due) = self.run.next_due()
        {
            clock.forward_to(due);
        }
    }

    /// Has the work planned anew from what has happened, where there is something to choose. The answer
    /// may come later: an order that is no longer the newest only chooses among what can be done anyway.
    pub(super) fn look_ahead(&mut self, now: Time) {
        self.run.note_time(now);
        if self.run.other_work().len() < 2 {
            return;
        }
        match &mut self.planning {
            Some(again) => *again = true,
            None => self.plan(now),
        }
    }

    fn plan(&mut self, now: Time) {
        let run = self.run.clone();
        let news = self.equipment.news.clone();
        let order = move || plan::order(&run, now);
        if let Clock::Rehearsed(_) = self.equipment.clock {
            // There a plan takes no time, as a wait does.
            return self.run.plan_by(order());
        }
        let planning = thread::Builder::new().name("planning".into());
        // Without a thread the nearest comes first.
        let begun = planning.spawn(move || {
            // The bench may have ended; nobody is to be told then.
            let _ = news.send(Waking::Planned(order()));
        });
        self.planning = begun.is_ok().then_some(false);
    }

    /// Takes the order that was planned, and has it planned again where something has happened since.
    pub(super) fn planned(&mut self, order: Vec<(usize, usize)>) {
        self.run.plan_by(order);
        if self.planning.take() == Some(true) {
            self.plan(self.equipment.clock.now());
        }
    }
}
