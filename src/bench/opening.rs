//! How the work begins: anew, gone on with, or with the question which.

use super::{Bench, JobFile, Stage, Unended};
use crate::clock::compare_with_record;
use crate::complaint::Complaint;
use crate::dictionary::CmuDict;
use crate::procedure::{self, NoModel, Procedure, Speech, Text};
use crate::record::{Entry, Store, Unfinished};
use crate::run::{By, Command, Opened, Order, Run, Time};
use crate::show::{wait_words, words};
use crate::understand;

impl Bench {
    pub(super) fn begin(&mut self) {
        self.open_beside();
        self.take(
            Order {
                command: Command::Begin,
                by: By::Program,
            },
            None,
        );
        self.take_tools();
    }

    /// Opens the procedures beside the first one that are not open yet. The same file may be open
    /// twice: for the wheel on either side.
    pub(super) fn open_beside(&mut self) {
        let first = self.run.procedures().next();
        let mut wanted: Vec<Text> = first.map(|first| first.title.clone()).into_iter().collect();
        for file in std::mem::take(&mut self.beside) {
            let title = &file.procedure.title;
            wanted.push(title.clone());
            let open = self.run.procedures().filter(|open| open.title == *title);
            if open.count() >= wanted.iter().filter(|other| *other == title).count() {
                continue;
            }
            let opened = Opened {
                file: file.name,
                text: file.text,
                procedure: file.procedure,
            };
            let order = Order {
                command: Command::Open(Box::new(opened)),
                by: By::Program,
            };
            self.take(order, None);
        }
    }

    /// Says and shows where the job was left.
    pub(super) fn take_up_again(&mut self) {
        let at = self.run.progress().step + 1;
        self.around.outcome = format!("Going on with the unfinished job at step {at}");
        self.around.taken = true;
        self.run.show_cautions_again();
        self.trace("resumed job", "program", None);
        let now = self.equipment.clock.now();
        self.look_ahead(now);
        if let Some(apart) = self
            .last_entry
            .and_then(|last| compare_with_record(last, now))
        {
            self.clocks_differ(apart);
        }
        // Waits that ended while the program was away are told first.
        self.end_waits();
        if self.run.state().noting {
            let why =
                "the program ended while it was recorded; what was kept lies beside the record";
            let command = Command::NoteLost { why: why.into() };
            let by = By::Program;
            self.take(Order { command, by }, None);
        }
        self.take_tools();
        self.judge_asked_for();
        self.listen();
        self.show();
        let cautions = words::spoken_in_force(&self.run).join(" ");
        let spoken = words::spoken_call(&self.run, &self.around.wording);
        let spoken = format!("{cautions} {spoken}");
        let ends = self.run.unanswered();
        let ends = ends.map_or_else(String::new, |one| {
            wait_words::spoken_call(&self.run, one, now, 0, &self.around.hours)
        });
        let spoken = format!("Going on at step {at}. {ends} {spoken}");
        self.say(&spoken);
        self.prepare(self.equipment.clock.now());
    }

    pub(super) fn offer(&mut self) {
        self.trace("offered", "program", None);
        self.listen();
        self.show();
        let spoken = format!(
            "There is an unfinished job, at step {}. Say {}, or {}.",
            self.run.progress().step + 1,
            self.around.wording.said(understand::GO_ON),
            self.around.wording.said(understand::BEGIN_AFRESH)
        );
        self.say(&spoken);
    }

    /// Ends the offer of an unfinished job.
    pub(super) fn settle(&mut self, go_on: bool) {
        let now = self.equipment.clock.now();
        let unended = if go_on {
            Unended::Resume
        } else {
            Unended::BeginAnew
        };
        match open_stage(&self.store, &self.file, unended, now) {
            Ok((stage, run, last_entry)) => {
                self.stage = stage;
                self.last_entry = last_entry;
                self.run = run;
                self.lay_tools_ready();
                self.heed_call_sign();
                if go_on {
                    self.open_beside();
                    self.take_up_again()
                } else {
                    self.begin()
                }
            }
            Err(complaint) => {
                let said = if go_on {
                    understand::GO_ON
                } else {
                    understand::BEGIN_AFRESH
                };
                let said = self.around.wording.said(said);
                self.answer(&said, &complaint.to_string(), false);
            }
        }
    }
}

/// Opens or begins the job, or finds that the person must be asked; with the last entry of its record.
pub(super) fn open_stage(
    store: &Store,
    file: &JobFile,
    unended: Unended,
    now: Time,
) -> Result<(Stage, Run, Option<Time>), Complaint> {
    let begin = || {
        let job = store.begin(&file.name, &file.text, now)?;
        Ok((Stage::Working(job), Run::new(file.procedure.clone()), None))
    };
    if unended == Unended::BeginAnew {
        return begin();
    }
    let Some(unfinished) = store.unfinished(&file.name)? else {
        if unended == Unended::Resume {
            return Err(
                Complaint::input(format!("There is no unfinished job of {}", file.name))
                    .cure("Leave --resume out"),
            );
        }
        return begin();
    };
    let mut run = Run::new(procedure_of(&unfinished, file)?);
    if unended == Unended::Offer {
        replay(&mut run, &store.entries(unfinished.id)?);
        return Ok((Stage::Offering(unfinished), run, None));
    }
    let (job, entries) = store.resume(unfinished.id)?;
    replay(&mut run, &entries);
    let last = entries.last().map(|entry| entry.at);
    Ok((Stage::Working(job), run, last))
}

/// The procedure as it was when the job began, whatever has become of the file.
fn procedure_of(unfinished: &Unfinished, file: &JobFile) -> Result<Procedure, Complaint> {
    if unfinished.text == file.text {
        return Ok(file.procedure.clone());
    }
    // It was judged among the words of its own time; those of today are not asked.
    let speech = Speech::standard(&NoModel, &CmuDict);
    procedure::read(&file.name, unfinished.text.as_bytes(), &speech).map_err(|_| {
        Complaint::input("The unfinished job's procedure can no longer be read")
            .cure("Begin the job anew with --new; its record stays in the database")
    })
}

fn replay(run: &mut Run, entries: &[Entry]) {
    entries
        .iter()
        .flat_map(|entry| &entry.events)
        .for_each(|event| run.apply(event));
}
