//! A line of the trace for everything that happens.

use super::{Bench, Stage};
use crate::hear::Heard;
use crate::trace::{self, Line, MaySay, Standing};
use crate::understand;

impl Bench {
    pub(super) fn trace(&mut self, event: &str, by: &'static str, heard: Option<&Heard>) {
        let (job, standing) = match &self.stage {
            Stage::Offering(unfinished) => {
                let may_say = vec![
                    MaySay {
                        say: self.around.wording.said(understand::GO_ON),
                        does: "goes on with it".into(),
                    },
                    MaySay {
                        say: self.around.wording.said(understand::BEGIN_AFRESH),
                        does: "begins anew".into(),
                    },
                ];
                (
                    unfinished.id,
                    Standing {
                        may_say,
                        wants: None,
                        ..Standing::of(&self.run, &self.around.wording)
                    },
                )
            }
            Stage::Working(job) => (job.id, Standing::of(&self.run, &self.around.wording)),
        };
        let line = Line {
            v: trace::VERSION,
            at: self
                .equipment
                .clock
                .now()
                .to_rfc3339_opts(chrono::SecondsFormat::Millis, true),
            job,
            step: standing.step,
            event: event.into(),
            by,
            heard: heard.map(|heard| heard.text.clone()),
            score: heard.map(|heard| heard.score),
            may_say: standing.may_say,
            wants: standing.wants,
            done: standing.done,
        };
        let mut troubles = Vec::new();
        for follower in &mut self.equipment.followers {
            troubles.extend(follower(&line).err());
        }
        for trouble in troubles {
            let notice = format!("Trace: {}", trouble.what);
            if !self.around.notices.contains(&notice) {
                self.around.notices.push(notice);
            }
        }
    }
}
