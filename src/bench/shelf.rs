//! Procedures that are asked for while the work goes on: judged on a thread of their own, opened or not.

use std::thread;

use super::{Bench, Judged, Waking};
use crate::checking;
use crate::procedure::Procedure;
use crate::run::{By, Command, Order};
use crate::show::words;

impl Bench {
    /// Has the checker judge the procedure that was asked for, beside all that is open.
    pub(super) fn judge_asked_for(&mut self) {
        let Some(file) = self.run.state().opening.clone() else {
            return;
        };
        let Some(asked) = self.run.asked_for() else {
            // The program was started again without it.
            let why = "It can no longer be asked for: start the program with it on the shelf.";
            return self.judged(Judged {
                file,
                against: Some(why.into()),
            });
        };
        let open = self.run.procedures().chain([&asked.procedure]);
        let together: Vec<Procedure> = open.cloned().collect();
        let news = self.equipment.news.clone();
        let asked = file.clone();
        let judging = thread::Builder::new().name("judging".into());
        let begun = judging.spawn(move || {
            let against = checking::unsafe_together(&together);
            // The bench may have ended; nobody is to be told then.
            let _ = news.send(Waking::Judged(Judged {
                file: asked,
                against,
            }));
        });
        if let Err(error) = begun {
            self.judged(Judged {
                file,
                against: Some(format!("It cannot be looked at: {error}.")),
            });
        }
    }

    /// Opens what was asked for, or says why not.
    pub(super) fn judged(&mut self, judged: Judged) {
        let asked = self.run.asked_for().cloned();
        let command = match (judged.against, asked) {
            (None, Some(asked)) if asked.file == judged.file => Command::Open(Box::new(asked)),
            (None, _) => return,
            (Some(why), _) => Command::NotOpened { why },
        };
        let by = By::Program;
        let told = words::judged(&self.run, &command, &self.around.wording);
        self.take(Order { command, by }, None);
        if self.run.state().opening.is_some() {
            // It could not be recorded, and that has been said.
            return;
        }
        self.around.heard = String::new();
        self.around.outcome = told;
        self.around.taken = true;
        self.show();
    }
}
