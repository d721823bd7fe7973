//! The form of events on disk. Apart from the run's own types, so that these may change without
//! making old records unreadable: a new form gets a new version beside this one.

use serde::{Deserialize, Serialize};

use crate::dictionary::CmuDict;
use crate::procedure::{self, NoModel, Speech, StepId, Text};
use crate::run::{Claim, Command, Event, Figure, Opened, SkipReason, Time, Topic};

/// The version written by this program.
pub const VERSION: u32 = 1;

/// An event as written to disk, version 1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "snake_case", deny_unknown_fields)]
pub enum EventForm {
    Began {},
    Known {
        step: StepId,
    },
    WorkDone {
        step: StepId,
    },
    BoltDone {
        step: StepId,
        pass: u32,
        bolt: u32,
    },
    WaitPassed {
        step: StepId,
    },
    HoldOpened {
        step: StepId,
        answer: String,
    },
    WaitBegan {
        step: StepId,
        name: Text,
        from: Time,
        due: Time,
    },
    WaitEnded {
        #[serde(default)]
        job: usize,
        step: StepId,
        name: Text,
        at: Time,
    },
    ReadingHeard {
        step: StepId,
        name: Text,
        figure: String,
    },
    ReadingTaken {
        step: StepId,
        name: Text,
        figure: String,
    },
    ReadingOutside {
        step: StepId,
        name: Text,
        figure: String,
    },
    DeviationAccepted {
        step: StepId,
        name: Text,
        figure: String,
    },
    MeasuringAgain {
        step: StepId,
    },
    WentBack {
        to: StepId,
        part: usize,
        tightened: u32,
    },
    SkipAsked {
        step: StepId,
    },
    Skipped {
        step: StepId,
        reason: String,
    },
    StoodBy {},
    Resumed {},
    Stopped {},
    TakenBack {},
    Told {
        topic: TopicForm,
    },
    Questioned {
        question: String,
    },
    /// The doubted command is not kept: a doubt does not outlive the program.
    Doubted {},
    FellSilent {},
    SpokeUp {},
    NoteBegan {},
    NoteKept {
        file: String,
        seconds: u32,
    },
    NoteLost {
        why: String,
    },
    /// Another procedure of the same work, as its file was then.
    Opened {
        file: String,
        text: String,
    },
    Moved {
        job: usize,
        step: StepId,
        #[serde(default)]
        follows: bool,
    },
    Settled {
        condition: Text,
        truth: bool,
    },
    HeldAgain {
        step: StepId,
        answer: String,
    },
    Finished {},
}

/// What the person asked to be told, as written to disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TopicForm {
    Call,
    Time,
    Torque,
    Parts,
    Help,
}

impl From<&Event> for EventForm {
    fn from(event: &Event) -> EventForm {
        match event.clone() {
            Event::Began => EventForm::Began {},
            Event::Claimed { step, claim } => match claim {
                Claim::Known => EventForm::Known { step },
                Claim::Work => EventForm::WorkDone { step },
                Claim::Bolt { pass, bolt } => EventForm::BoltDone { step, pass, bolt },
                Claim::WaitOver => EventForm::WaitPassed { step },
                Claim::Hold { answer } => EventForm::HoldOpened { step, answer },
            },
            Event::WaitBegan {
                step,
                name,
                from,
                due,
            } => EventForm::WaitBegan {
                step,
                name,
                from,
                due,
            },
            Event::WaitEnded {
                job,
                step,
                name,
                at,
            } => EventForm::WaitEnded {
                job,
                step,
                name,
                at,
            },
            Event::ReadingHeard { step, name, figure } => EventForm::ReadingHeard {
                step,
                name,
                figure: figure.to_string(),
            },
            Event::ReadingTaken { step, name, figure } => EventForm::ReadingTaken {
                step,
                name,
                figure: figure.to_string(),
            },
            Event::ReadingOutside { step, name, figure } => EventForm::ReadingOutside {
                step,
                name,
                figure: figure.to_string(),
            },
            Event::DeviationAccepted { step, name, figure } => EventForm::DeviationAccepted {
                step,
                name,
                figure: figure.to_string(),
            },
            Event::MeasuringAgain { step } => EventForm::MeasuringAgain { step },
            Event::WentBack {
                to,
                part,
                tightened,
            } => EventForm::WentBack {
                to,
                part,
                tightened,
            },
            Event::SkipAsked { step } => EventForm::SkipAsked { step },
            Event::Skipped { step, reason } => EventForm::Skipped {
                step,
                reason: reason.words().into(),
            },
            Event::StoodBy => EventForm::StoodBy {},
            Event::Resumed => EventForm::Resumed {},
            Event::Stopped => EventForm::Stopped {},
            Event::TakenBack => EventForm::TakenBack {},
            Event::Told(topic) => EventForm::Told {
                topic: topic.into(),
            },
            Event::Questioned { question } => EventForm::Questioned { question },
            Event::Doubted { .. } => EventForm::Doubted {},
            Event::FellSilent => EventForm::FellSilent {},
            Event::SpokeUp => EventForm::SpokeUp {},
            Event::NoteBegan => EventForm::NoteBegan {},
            Event::NoteKept { file, seconds } => EventForm::NoteKept { file, seconds },
            Event::NoteLost { why } => EventForm::NoteLost { why },
            Event::Opened(opened) => EventForm::Opened {
                file: opened.file,
                text: opened.text,
            },
            Event::Moved { job, step, follows } => EventForm::Moved { job, step, follows },
            Event::Settled { condition, truth } => EventForm::Settled { condition, truth },
            Event::HeldAgain { step, answer } => EventForm::HeldAgain { step, answer },
            Event::Finished => EventForm::Finished {},
        }
    }
}

impl TryFrom<EventForm> for Event {
    type Error = String;

    fn try_from(form: EventForm) -> Result<Event, String> {
        let figure = |text: String| {
            text.parse::<Figure>()
                .map_err(|no_figure| no_figure.to_string())
        };
        Ok(match form {
            EventForm::Began {} => Event::Began,
            EventForm::Known { step } => Event::Claimed {
                step,
                claim: Claim::Known,
            },
            EventForm::WorkDone { step } => Event::Claimed {
                step,
                claim: Claim::Work,
            },
            EventForm::BoltDone { step, pass, bolt } => Event::Claimed {
                step,
                claim: Claim::Bolt { pass, bolt },
            },
            EventForm::WaitPassed { step } => Event::Claimed {
                step,
                claim: Claim::WaitOver,
            },
            EventForm::HoldOpened { step, answer } => Event::Claimed {
                step,
                claim: Claim::Hold { answer },
            },
            EventForm::WaitBegan {
                step,
                name,
                from,
                due,
            } => Event::WaitBegan {
                step,
                name,
                from,
                due,
            },
            EventForm::WaitEnded {
                job,
                step,
                name,
                at,
            } => Event::WaitEnded {
                job,
                step,
                name,
                at,
            },
            EventForm::ReadingHeard {
                step,
                name,
                figure: text,
            } => Event::ReadingHeard {
                step,
                name,
                figure: figure(text)?,
            },
            EventForm::ReadingTaken {
                step,
                name,
                figure: text,
            } => Event::ReadingTaken {
                step,
                name,
                figure: figure(text)?,
            },
            EventForm::ReadingOutside {
                step,
                name,
                figure: text,
            } => Event::ReadingOutside {
                step,
                name,
                figure: figure(text)?,
            },
            EventForm::DeviationAccepted {
                step,
                name,
                figure: text,
            } => Event::DeviationAccepted {
                step,
                name,
                figure: figure(text)?,
            },
            EventForm::MeasuringAgain { step } => Event::MeasuringAgain { step },
            EventForm::WentBack {
                to,
                part,
                tightened,
            } => Event::WentBack {
                to,
                part,
                tightened,
            },
            EventForm::SkipAsked { step } => Event::SkipAsked { step },
            EventForm::Skipped { step, reason } => {
                let reason = SkipReason::ALL
                    .into_iter()
                    .find(|known| known.words() == reason)
                    .ok_or_else(|| format!("unknown reason for skipping {reason:?}"))?;
                Event::Skipped { step, reason }
            }
            EventForm::StoodBy {} => Event::StoodBy,
            EventForm::Resumed {} => Event::Resumed,
            EventForm::Stopped {} => Event::Stopped,
            EventForm::TakenBack {} => Event::TakenBack,
            EventForm::Told { topic } => Event::Told(topic.into()),
            EventForm::Questioned { question } => Event::Questioned { question },
            EventForm::Doubted {} => Event::Doubted {
                command: Command::Tick,
                until: Time::UNIX_EPOCH,
            },
            EventForm::FellSilent {} => Event::FellSilent,
            EventForm::SpokeUp {} => Event::SpokeUp,
            EventForm::NoteBegan {} => Event::NoteBegan,
            EventForm::NoteKept { file, seconds } => Event::NoteKept { file, seconds },
            EventForm::NoteLost { why } => Event::NoteLost { why },
            EventForm::Opened { file, text } => Event::Opened(Box::new(opened(file, text)?)),
            EventForm::Moved { job, step, follows } => Event::Moved { job, step, follows },
            EventForm::Settled { condition, truth } => Event::Settled { condition, truth },
            EventForm::HeldAgain { step, answer } => Event::HeldAgain { step, answer },
            EventForm::Finished {} => Event::Finished,
        })
    }
}

/// Reads a procedure again as it was when it was opened.
fn opened(file: String, text: String) -> Result<Opened, String> {
    // It was judged among the words of its own time; those of today are not asked.
    let speech = Speech::standard(&NoModel, &CmuDict);
    let procedure = procedure::read(&file, text.as_bytes(), &speech)
        .map_err(|_| format!("the procedure {file} can no longer be read"))?;
    Ok(Opened {
        file,
        text,
        procedure,
    })
}

impl From<Topic> for TopicForm {
    fn from(topic: Topic) -> TopicForm {
        match topic {
            Topic::Call => TopicForm::Call,
            Topic::Time => TopicForm::Time,
            Topic::Torque => TopicForm::Torque,
            Topic::Parts => TopicForm::Parts,
            Topic::Help => TopicForm::Help,
        }
    }
}

impl From<TopicForm> for Topic {
    fn from(topic: TopicForm) -> Topic {
        match topic {
            TopicForm::Call => Topic::Call,
            TopicForm::Time => Topic::Time,
            TopicForm::Torque => Topic::Torque,
            TopicForm::Parts => Topic::Parts,
            TopicForm::Help => Topic::Help,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn version_1_reads_as_it_was_written() {
        let line = r#"{"event":"bolt_done","step":"tighten","pass":2,"bolt":3}"#;
        let form: EventForm = serde_json::from_str(line).unwrap();
        let event = Event::try_from(form).unwrap();
        let claim = Claim::Bolt { pass: 2, bolt: 3 };
        let step = StepId::try_from("tighten".to_string()).unwrap();
        assert_eq!(event, Event::Claimed { step, claim });
        assert_eq!(
            serde_json::to_string(&EventForm::from(&event)).unwrap(),
            line
        );
    }

    #[test]
    fn a_spoiled_form_is_an_error() {
        let spoiled = EventForm::Skipped {
            step: StepId::try_from("a".to_string()).unwrap(),
            reason: "no mood".into(),
        };
        assert!(Event::try_from(spoiled).is_err());
    }
}
