//! A job in the test's hands: commands and the clock go in, the events are kept.

#![allow(dead_code, reason = "every test file uses a part of it")]

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{NoModel, Procedure, Speech, read};
use benchcall::record::form::EventForm;
use benchcall::run::{By, Command, Event, Order, Refusal, Run, Time, decide, sayable};
use benchcall::show::words;
use benchcall::wording::Wording;
use chrono::{TimeDelta, TimeZone, Utc};

pub struct AtWork {
    procedure: Procedure,
    pub run: Run,
    pub now: Time,
    /// Every event of the job.
    pub events: Vec<Event>,
}

impl AtWork {
    pub fn begin(steps: &str) -> AtWork {
        AtWork::of(procedure(steps))
    }

    pub fn of(procedure: Procedure) -> AtWork {
        let mut work = AtWork {
            run: Run::new(procedure.clone()),
            procedure,
            now: Utc.with_ymd_and_hms(2026, 5, 4, 9, 0, 0).unwrap(),
            events: Vec::new(),
        };
        work.give(Command::Begin);
        work
    }

    pub fn decide(&self, command: Command) -> Result<Vec<Event>, Refusal> {
        let by = match command {
            Command::Tick => By::Clock,
            Command::Begin => By::Program,
            _ => By::Voice,
        };
        self.decide_by(command, by)
    }

    pub fn decide_by(&self, command: Command, by: By) -> Result<Vec<Event>, Refusal> {
        decide(&self.run, &Order { command, by }, self.now)
    }

    pub fn give(&mut self, command: Command) -> Vec<Event> {
        let events = self.decide(command).unwrap();
        for event in &events {
            self.run.apply(event);
        }
        self.events.extend(events.iter().cloned());
        events
    }

    /// Says the figures, each with its confirmation.
    pub fn read(&mut self, figures: &[&str]) -> Vec<Event> {
        let mut last = Vec::new();
        for figure in figures {
            self.give(Command::Reading(figure.parse().unwrap()));
            last = self.give(Command::ConfirmReading);
        }
        last
    }

    pub fn pass(&mut self, minutes: i64) -> Vec<Event> {
        self.now += TimeDelta::minutes(minutes);
        self.give(Command::Tick)
    }

    pub fn called(&self) -> String {
        words::call(&self.run)
    }

    pub fn said(&self) -> String {
        words::spoken_call(&self.run, &Wording::default())
    }

    pub fn first(&self) -> Command {
        sayable::may_say(&self.run)[0].command.clone()
    }

    /// Returns the run as it is rebuilt from what is on the disk.
    pub fn rebuilt(&self) -> Run {
        let mut again = Run::new(self.procedure.clone());
        for event in &self.events {
            let line = serde_json::to_string(&EventForm::from(event)).unwrap();
            let form: EventForm = serde_json::from_str(&line).unwrap();
            let read = Event::try_from(form).unwrap();
            assert_eq!(read, *event);
            again.apply(&read);
        }
        again
    }

    /// Rebuilt from what is on the disk, the run stands where it stood.
    pub fn same_after_a_restart(&self) {
        assert_eq!(self.rebuilt(), self.run);
    }
}

pub fn procedure(steps: &str) -> Procedure {
    whole(&format!("steps: [{steps}]"))
}

/// Reads a procedure of the given fields, beside its title and subject.
pub fn whole(fields: &str) -> Procedure {
    let text =
        format!("(title: \"Paint\", subject: \"Volunteers' fire engine (invented)\", {fields})");
    let speech = Speech::standard(&NoModel, &CmuDict);
    read("test.ron", text.as_bytes(), &speech).unwrap_or_else(|findings| panic!("{findings:?}"))
}
