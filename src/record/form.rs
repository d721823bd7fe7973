//! The form of events on disk. Apart from the run's own types, so that these may change without
//! making old records unreadable: a new form gets a new version beside this one.

use serde::{Deserialize, Serialize};

use crate::dictionary::CmuDict;
use crate::procedure::{self, NoModel, Speech, StepId, Text};
use crate::run::{Claim, Command, Event, Figure, Held, Moved, Opened, SkipReason, Time, Topic};
use crate::trade::Verdict;

/// The version written by this program.
pub const VERSION: u32 = 1;

/// So it was said, and written, before "parts list" was once heard for it.
const OLD_COMPONENT_MISSING: &str = "part missing";

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
        #[serde(default, skip_serializing_if = "Option::is_none")]
        latest: Option<Time>,
    },
    WaitEnded {
        #[serde(default)]
        job: usize,
        step: StepId,
        name: Text,
        at: Time,
    },
    WaitWarned {
        job: usize,
        step: StepId,
        name: Text,
        at: Time,
    },
    WaitTooLate {
        job: usize,
        step: StepId,
        name: Text,
        at: Time,
    },
    WaitMoved {
        job: usize,
        step: StepId,
        name: Text,
        due: Time,
        latest: Option<Time>,
        /// In milliseconds.
        standing: Option<i64>,
        why: MovedForm,
    },
    WaitStopped {
        job: usize,
        step: StepId,
        name: Text,
    },
    WaitAnswered {
        job: usize,
        step: StepId,
        name: Text,
    },
    TemperatureAsked {
        job: usize,
        step: StepId,
    },
    TemperatureTaken {
        step: StepId,
        name: Text,
        figure: String,
    },
    ClockDiffered {
        wall: Time,
        passed: Time,
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
    ReadingsAged {
        job: usize,
        step: StepId,
        at: Time,
    },
    ClockBegan {
        job: usize,
        step: StepId,
        at: Time,
    },
    ClockRead {
        step: StepId,
        name: Text,
        seconds: i64,
    },
    CautionKnown {
        step: StepId,
        caution: Text,
        at: Time,
    },
    CautionAgain {
        step: StepId,
    },
    PassedOver {
        step: StepId,
    },
    Reckoned {
        step: StepId,
        name: String,
        result: String,
        verdict: VerdictForm,
        formula: String,
        source: String,
        again: Option<Time>,
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
    OpeningAsked {
        file: String,
        title: Text,
    },
    OpeningRefused {
        file: String,
        why: String,
    },
    ToolTaken {
        wrench: Option<String>,
        adapter: Option<String>,
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

/// Why the ends of a wait were moved, as written to disk.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MovedForm {
    Added { seconds: i64 },
    Temperature { celsius: f64, by: String },
}

/// What a sum says, as written to disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum VerdictForm {
    Go,
    Warn,
    Refuse,
}

/// What the person asked to be told, as written to disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TopicForm {
    Call,
    Time,
    Torque,
    Parts,
    Plan,
    Help,
    Wait { job: usize, step: usize },
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
                latest,
            } => EventForm::WaitBegan {
                step,
                name,
                from,
                due,
                latest,
            },
            Event::WaitWarned {
                job,
                step,
                name,
                at,
            } => EventForm::WaitWarned {
                job,
                step,
                name,
                at,
            },
            Event::WaitTooLate {
                job,
                step,
                name,
                at,
            } => EventForm::WaitTooLate {
                job,
                step,
                name,
                at,
            },
            Event::WaitMoved {
                job,
                step,
                name,
                due,
                latest,
                standing,
                why,
            } => EventForm::WaitMoved {
                job,
                step,
                name,
                due,
                latest,
                standing: standing.map(|left| left.num_milliseconds()),
                why: match why {
                    Moved::Added { seconds } => MovedForm::Added { seconds },
                    Moved::Temperature { celsius, by } => MovedForm::Temperature { celsius, by },
                },
            },
            Event::WaitStopped { job, step, name } => EventForm::WaitStopped { job, step, name },
            Event::WaitAnswered { job, step, name } => EventForm::WaitAnswered { job, step, name },
            Event::TemperatureAsked { job, step } => EventForm::TemperatureAsked { job, step },
            Event::TemperatureTaken { step, name, figure } => EventForm::TemperatureTaken {
                step,
                name,
                figure: figure.to_string(),
            },
            Event::ClockDiffered { wall, passed } => EventForm::ClockDiffered { wall, passed },
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
            Event::CautionKnown { step, caution, at } => {
                EventForm::CautionKnown { step, caution, at }
            }
            Event::CautionAgain { step } => EventForm::CautionAgain { step },
            Event::PassedOver { step } => EventForm::PassedOver { step },
            Event::ReadingsAged { job, step, at } => EventForm::ReadingsAged { job, step, at },
            Event::ClockBegan { job, step, at } => EventForm::ClockBegan { job, step, at },
            Event::ClockRead {
                step,
                name,
                seconds,
            } => EventForm::ClockRead {
                step,
                name,
                seconds,
            },
            Event::Reckoned {
                step,
                name,
                result,
                verdict,
                formula,
                source,
                again,
            } => EventForm::Reckoned {
                step,
                name,
                result,
                verdict: verdict.into(),
                formula,
                source,
                again,
            },
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
            Event::OpeningAsked { file, title } => EventForm::OpeningAsked { file, title },
            Event::OpeningRefused { file, why } => EventForm::OpeningRefused { file, why },
            Event::ToolTaken(Held { wrench, adapter }) => EventForm::ToolTaken { wrench, adapter },
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
                latest,
            } => Event::WaitBegan {
                step,
                name,
                from,
                due,
                latest,
            },
            EventForm::WaitWarned {
                job,
                step,
                name,
                at,
            } => Event::WaitWarned {
                job,
                step,
                name,
                at,
            },
            EventForm::WaitTooLate {
                job,
                step,
                name,
                at,
            } => Event::WaitTooLate {
                job,
                step,
                name,
                at,
            },
            EventForm::WaitMoved {
                job,
                step,
                name,
                due,
                latest,
                standing,
                why,
            } => Event::WaitMoved {
                job,
                step,
                name,
                due,
                latest,
                standing: standing.map(chrono::TimeDelta::milliseconds),
                why: match why {
                    MovedForm::Added { seconds } => Moved::Added { seconds },
                    MovedForm::Temperature { celsius, by } => Moved::Temperature { celsius, by },
                },
            },
            EventForm::WaitStopped { job, step, name } => Event::WaitStopped { job, step, name },
            EventForm::WaitAnswered { job, step, name } => Event::WaitAnswered { job, step, name },
            EventForm::TemperatureAsked { job, step } => Event::TemperatureAsked { job, step },
            EventForm::TemperatureTaken {
                step,
                name,
                figure: text,
            } => Event::TemperatureTaken {
                step,
                name,
                figure: figure(text)?,
            },
            EventForm::ClockDiffered { wall, passed } => Event::ClockDiffered { wall, passed },
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
            EventForm::CautionKnown { step, caution, at } => {
                Event::CautionKnown { step, caution, at }
            }
            EventForm::CautionAgain { step } => Event::CautionAgain { step },
            EventForm::PassedOver { step } => Event::PassedOver { step },
            EventForm::ReadingsAged { job, step, at } => Event::ReadingsAged { job, step, at },
            EventForm::ClockBegan { job, step, at } => Event::ClockBegan { job, step, at },
            EventForm::ClockRead {
                step,
                name,
                seconds,
            } => Event::ClockRead {
                step,
                name,
                seconds,
            },
            EventForm::Reckoned {
                step,
                name,
                result,
                verdict,
                formula,
                source,
                again,
            } => Event::Reckoned {
                step,
                name,
                result,
                verdict: verdict.into(),
                formula,
                source,
                again,
            },
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
                let reason = match reason.as_str() {
                    OLD_COMPONENT_MISSING => Some(SkipReason::ComponentMissing),
                    words => SkipReason::ALL
                        .into_iter()
                        .find(|known| known.words() == words),
                }
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
            EventForm::OpeningAsked { file, title } => Event::OpeningAsked { file, title },
            EventForm::OpeningRefused { file, why } => Event::OpeningRefused { file, why },
            EventForm::ToolTaken { wrench, adapter } => Event::ToolTaken(Held { wrench, adapter }),
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

impl From<Verdict> for VerdictForm {
    fn from(verdict: Verdict) -> VerdictForm {
        match verdict {
            Verdict::Go => VerdictForm::Go,
            Verdict::Warn => VerdictForm::Warn,
            Verdict::Refuse => VerdictForm::Refuse,
        }
    }
}

impl From<VerdictForm> for Verdict {
    fn from(verdict: VerdictForm) -> Verdict {
        match verdict {
            VerdictForm::Go => Verdict::Go,
            VerdictForm::Warn => Verdict::Warn,
            VerdictForm::Refuse => Verdict::Refuse,
        }
    }
}

impl From<Topic> for TopicForm {
    fn from(topic: Topic) -> TopicForm {
        match topic {
            Topic::Call => TopicForm::Call,
            Topic::Time => TopicForm::Time,
            Topic::Torque => TopicForm::Torque,
            Topic::Parts => TopicForm::Parts,
            Topic::Plan => TopicForm::Plan,
            Topic::Help => TopicForm::Help,
            Topic::Wait { job, step } => TopicForm::Wait { job, step },
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
            TopicForm::Plan => Topic::Plan,
            TopicForm::Help => Topic::Help,
            TopicForm::Wait { job, step } => Topic::Wait { job, step },
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
    fn a_reason_is_read_by_the_words_of_now_and_of_before() {
        for reason in ["component missing", "part missing"] {
            let step = StepId::try_from("a".to_string()).unwrap();
            let written = EventForm::Skipped {
                step: step.clone(),
                reason: reason.into(),
            };
            let reason = SkipReason::ComponentMissing;
            let skipped = Event::Skipped { step, reason };
            assert_eq!(Event::try_from(written).unwrap(), skipped);
        }
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
