//! The loop: one closed enum of everything that wakes the program, one owner of the run.
//!
//! A command goes one way: decide → record → apply → trace, show and say. Nothing is shown or
//! spoken that is not on the disk.

mod by_clock;
mod by_ear;
mod opening;
mod shelf;
mod tracing;

use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::Duration;

use opening::open_stage;

use crate::clock::{Clock, Look};
use crate::complaint::Complaint;
use crate::hear::over_noise::OwnVoice;
use crate::hear::{EarNews, Ears, Heard};
use crate::procedure::{Procedure, StepId};
use crate::record::{Entry, Job, Store, Unfinished};
use crate::run::{By, CallOf, Command, Event, Opened, Order, Room, Run, Time, decide, sayable};
use crate::show::compose::{self, Surroundings};
use crate::show::keys::{KeyAct, Keys};
use crate::show::view::{EarsView, View};
use crate::show::{Face, FaceNews, moment, words};
use crate::speak::{Voice, VoiceNews};
use crate::tools::Kit;
use crate::trace::Line;
use crate::wording::Wording;

/// Everything that wakes the program.
#[derive(Debug)]
pub enum Waking {
    Ears(EarNews),
    Voice(VoiceNews),
    Face(FaceNews),
    /// A procedure that was asked for has been judged beside what is open.
    Judged(Judged),
    /// The work has been planned anew: its open steps, as (job, step), in their order.
    Planned(Vec<(usize, usize)>),
    /// The system asks the program to end.
    Interrupt,
}

/// Somebody who follows the trace.
pub type Follower = Box<dyn FnMut(&Line) -> Result<(), Complaint> + Send>;

/// What the machine has.
pub struct Equipment {
    pub face: Box<dyn Face>,
    pub ears: Option<Ears>,
    pub voice: Option<Voice>,
    pub keys: Keys,
    pub clock: Clock,
    /// What the machine does without, a line each.
    pub notices: Vec<String>,
    /// Those who follow the trace.
    pub followers: Vec<Follower>,
    /// End as soon as the job is finished.
    pub until_done: bool,
    /// The words the person says.
    pub wording: Wording,
    /// The person's own tools.
    pub kit: Kit,
    /// The procedures that can be asked for.
    pub shelf: Arc<Vec<Opened>>,
    /// Where those are told who work beside the loop.
    pub news: Sender<Waking>,
    /// How much fits beside a call; without it no caution stands before one.
    pub room: Option<Room>,
}

/// What came of judging a procedure beside what is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judged {
    pub file: String,
    /// Why it is not safe; none where it is.
    pub against: Option<String>,
}

/// The procedure file that is run.
pub struct JobFile {
    /// The file's whole path: under this name its jobs are found again.
    pub name: String,
    pub text: String,
    pub procedure: Procedure,
}

/// What to do with an unfinished job of the same file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unended {
    /// Ask the person.
    Offer,
    Resume,
    BeginAnew,
}

/// The bench: the run and all that is around it.
pub struct Bench {
    store: Store,
    /// The procedure under whose name the work is kept.
    file: JobFile,
    /// Those that are open beside it.
    beside: Vec<JobFile>,
    stage: Stage,
    run: Run,
    equipment: Equipment,
    around: Surroundings,
    /// What the voice was last asked to prepare, so as not to ask twice.
    prepared: String,
    awaiting_picture: bool,
    /// What was listened to has no more to give.
    source_ended: bool,
    /// When something was last understood.
    understood: Option<Time>,
    /// The clocks as they last agreed.
    looked: Option<Look>,
    /// The call of a wait that was made last, and how often.
    called: Option<(StepId, CallOf, Time, u32)>,
    /// Whether the program speaks.
    is_speaking: bool,
    own_voice: OwnVoice,
    /// While the work is being planned: whether something has happened since.
    planning: Option<bool>,
    /// When the hours were found last.
    hours_found: Time,
    /// The last entry of an unfinished job's record.
    last_entry: Option<Time>,
}

enum Stage {
    Offering(Unfinished),
    Working(Job),
}

/// Whether the loop goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Flow {
    On,
    End,
}

impl Bench {
    /// Opens the work of `files`: a new one, the unfinished one, or the question which. The work is kept
    /// under the name of the first file.
    ///
    /// # Errors
    /// There is no file, the record cannot be read or written, the unfinished job is open in another program, or there
    /// is none to resume.
    pub fn open(
        store: Store,
        files: Vec<JobFile>,
        unended: Unended,
        equipment: Equipment,
    ) -> Result<Bench, Complaint> {
        let mut files = files.into_iter();
        let Some(file) = files.next() else {
            return Err(Complaint::input("There is no procedure to follow").cure("Name a file"));
        };
        let hours = equipment.clock.hours();
        let notices = equipment.notices.clone();
        let around = Surroundings {
            notices,
            ears: EarsView {
                state: "not listening".into(),
                ..EarsView::default()
            },
            hours,
            wording: equipment.wording.clone(),
            ..Surroundings::quiet()
        };
        let now = equipment.clock.now();
        let (stage, run, last_entry) = open_stage(&store, &file, unended, now)?;
        let looked = equipment.clock.look();
        let mut bench = Bench {
            store,
            file,
            beside: files.collect(),
            stage,
            run,
            equipment,
            around,
            prepared: String::new(),
            awaiting_picture: false,
            source_ended: false,
            understood: None,
            looked,
            called: None,
            is_speaking: false,
            own_voice: OwnVoice::default(),
            planning: None,
            hours_found: now,
            last_entry,
        };
        bench.lay_tools_ready();
        bench.heed_call_sign();
        match bench.stage {
            Stage::Offering(_) => bench.offer(),
            Stage::Working(_) if bench.run.state().begun => {
                bench.open_beside();
                bench.take_up_again();
            }
            Stage::Working(_) => bench.begin(),
        }
        Ok(bench)
    }

    /// Runs until the person or the system ends it. Returns whether the job is finished.
    pub fn work(mut self, wakings: &Receiver<Waking>) -> bool {
        loop {
            let flow = match wakings.recv_timeout(self.patience()) {
                Ok(waking) => self.wake(waking),
                Err(RecvTimeoutError::Timeout) => self.time_passed(),
                Err(RecvTimeoutError::Disconnected) => Flow::End,
            };
            if flow == Flow::End {
                return self.run.state().finished;
            }
        }
    }

    /// How long to sleep when nothing happens: waits are shown to the second, a press to the blink.
    fn patience(&self) -> Duration {
        if self.equipment.keys.pressed() {
            Duration::from_millis(40)
        } else if self.run.next_wake().is_some() || self.run.unanswered().is_some() {
            Duration::from_millis(250)
        } else {
            Duration::from_secs(1)
        }
    }

    fn wake(&mut self, waking: Waking) -> Flow {
        match waking {
            Waking::Ears(news) => self.ears(news),
            Waking::Voice(news) => self.voice(news),
            Waking::Judged(judged) => self.judged(judged),
            Waking::Planned(order) => self.planned(order),
            Waking::Face(FaceNews::Stroke(stroke)) => {
                let view = self.view();
                let act = self.equipment.keys.stroke(&view, stroke);
                let flow = act.map_or(Flow::On, |act| self.key(act));
                self.show();
                return flow;
            }
            Waking::Face(FaceNews::Drawn) => {
                if std::mem::take(&mut self.awaiting_picture) {
                    self.trace("shown", "program", None);
                }
            }
            Waking::Face(FaceNews::Closed) | Waking::Interrupt => return Flow::End,
        }
        self.time_passed()
    }

    fn key(&mut self, act: KeyAct) -> Flow {
        let by = |held| if held { By::HeldKey } else { By::Key };
        let order = match act {
            KeyAct::Quit => return Flow::End,
            KeyAct::Look => return Flow::On,
            KeyAct::LeanedOn => {
                self.answer("", "A key was leaned on: nothing came of it.", false);
                return Flow::On;
            }
            KeyAct::Say { index, .. } if matches!(self.stage, Stage::Offering(_)) => {
                self.settle(index == 0);
                return Flow::On;
            }
            KeyAct::Say { index, held } => match sayable::may_say(&self.run).get(index) {
                Some(sayable) => Order {
                    command: sayable.command.clone(),
                    by: by(held),
                },
                None => return Flow::On,
            },
            KeyAct::Reading(text) => match text.parse() {
                Ok(figure) => Order {
                    command: Command::Reading(figure),
                    by: By::Key,
                },
                Err(no_figure) => {
                    self.answer(&text, &format!("{no_figure}"), false);
                    return Flow::On;
                }
            },
        };
        self.take(order, None);
        Flow::On
    }

    /// The way of every command.
    fn take(&mut self, order: Order, heard: Option<&Heard>) {
        let now = self.equipment.clock.now();
        let said = heard.map(|heard| heard.text.clone()).unwrap_or_default();
        if order.command == Command::VoiceNote && self.equipment.ears.is_none() {
            self.answer(
                &said,
                "No microphone: no voice note can be recorded.",
                false,
            );
            return;
        }
        let events = match decide(&self.run, &order, now) {
            Ok(events) => events,
            Err(refusal) => {
                let answer = words::refusal(&refusal.why, &refusal.instead);
                self.trace("refused", order.by.word(), heard);
                let answer = self.around.wording.retell(&self.run, &answer);
                self.answer(&said, &answer, false);
                return;
            }
        };
        if events.is_empty() {
            return;
        }
        let entry = Entry {
            at: now,
            by: order.by.word().into(),
            heard: heard.map(|heard| heard.text.clone()),
            score: heard.map(|heard| heard.score),
            events,
        };
        let Stage::Working(job) = &mut self.stage else {
            return;
        };
        if let Err(complaint) = job.append(&entry) {
            // What is not on the disk has not happened.
            self.trace("not recorded", order.by.word(), heard);
            self.answer(
                &said,
                &format!("Not recorded, so not done. {complaint}"),
                false,
            );
            return;
        }
        for event in &entry.events {
            self.run.apply(event);
        }
        self.look_ahead(now);
        for event in &entry.events {
            self.trace(event.name(), order.by.word(), heard);
        }
        self.carry_out(&entry.events);
        if order.by != By::Clock && order.by != By::Program {
            self.around.heard = said;
            self.around.outcome = words::outcome(&self.run, &entry.events, &self.around.wording);
            let asked = |e: &Event| matches!(e, Event::Questioned { .. } | Event::Doubted { .. });
            self.around.taken = !entry.events.iter().any(asked);
            self.awaiting_picture = true;
        }
        self.listen();
        self.show();
        let spoken = self.spoken(&self.run, &entry.events, now);
        self.say(&spoken);
        self.prepare(now);
    }

    /// Does outside what some events ask of the shell.
    fn carry_out(&mut self, events: &[Event]) {
        for event in events {
            match event {
                Event::NoteBegan => {
                    let name =
                        format!("note-{}.wav", self.equipment.clock.now().timestamp_millis());
                    let path = self.store.folder().join(name);
                    if let Some(ears) = &mut self.equipment.ears {
                        ears.begin_note(path);
                    }
                }
                Event::OpeningAsked { .. } => self.judge_asked_for(),
                Event::Opened(_) => self.heed_call_sign(),
                Event::FellSilent | Event::Stopped => {
                    if let Some(voice) = &mut self.equipment.voice {
                        voice.hush();
                    }
                }
                _ => {}
            }
        }
    }

    /// Shows and says an answer that changes nothing in the run.
    fn answer(&mut self, heard: &str, outcome: &str, taken: bool) {
        self.around.heard = heard.into();
        self.around.outcome = outcome.into();
        self.around.taken = taken;
        self.awaiting_picture = true;
        self.listen();
        self.show();
        self.say(outcome);
    }

    /// Lays the person's tools ready for the run that is taken up, the procedures that can be asked for and
    /// the room of the face.
    fn lay_tools_ready(&mut self) {
        self.run.lay_on_shelf(Arc::clone(&self.equipment.shelf));
        self.run.set_tools(self.equipment.kit.tools.clone());
        if let (Stage::Working(_), Some(room)) = (&self.stage, &self.equipment.room) {
            self.run.show_in(room.clone());
        }
    }

    /// Takes the tools in hand that were named at the start.
    fn take_tools(&mut self) {
        for name in std::mem::take(&mut self.equipment.kit.in_hand) {
            let command = Command::TakeTool(name);
            let by = By::Program;
            self.take(Order { command, by }, None);
        }
    }

    /// Sets the call sign where the job's procedure wants one.
    fn heed_call_sign(&mut self) {
        let beside = self.beside.iter().any(|file| file.procedure.call_sign);
        if beside || self.run.procedures().any(|procedure| procedure.call_sign) {
            self.around.wording.want_call_sign();
        }
    }

    fn spoken(&self, run: &Run, events: &[Event], now: Time) -> String {
        words::spoken(run, events, now, &self.around.hours, &self.around.wording)
    }

    fn notice(&mut self, notice: &str) {
        if !self.around.notices.iter().any(|known| known == notice) {
            self.around.notices.push(notice.into());
        }
        self.show();
    }

    fn view(&self) -> View {
        let now = self.equipment.clock.now();
        match &self.stage {
            Stage::Offering(unfinished) => {
                let changed = unfinished.text != self.file.text;
                compose::offer(&self.run, unfinished.begun, changed, &self.around)
            }
            Stage::Working(_) => compose::view(&self.run, now, &self.around),
        }
    }

    fn show(&mut self) {
        let mut view = self.view();
        view.typed = self.equipment.keys.typed().into();
        if let Some(list) = self.equipment.keys.list(&view) {
            view.list = list;
        }
        let holding = self.equipment.keys.holding(&view, moment());
        self.equipment.face.show(&view, holding);
    }
}
