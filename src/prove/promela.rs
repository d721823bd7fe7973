//! The same question put to a judge from outside: procedures as a model in Promela, the language of
//! the model checker SPIN.
//!
//! Holzmann, *The SPIN Model Checker* (2003), describes both. The rules stand in `rules.pml`, written
//! from what the run is meant to do and not from its code, so that the two can differ and a
//! difference is found. Before them come the procedures, as macros in the words of `words.pml`. One transition of the search is
//! one command, or one wait that ends, so SPIN's breadth-first search counts what the explorer counts.
//!
//! A step is told by what decides about it: it has a hold or another answer of its own, or a wait
//! during which the work goes on, or neither. Bolts, readings and other waits are one claim.

use std::fmt::Write;

use crate::procedure::{Earlier, Procedure, Step, Text};

/// What the words of the model mean.
const WORDS: &str = include_str!("words.pml");
const RULES: &str = include_str!("rules.pml");

/// How many steps, jobs or conditions fit into a byte, with the numbers that mean something else.
const BYTE_HOLDS: usize = 250;

/// Writes the model of `procedures` open together, the first one called; with `mishear`, one ordinary
/// command is once taken for said though nobody said it.
///
/// SPIN's verdict is an assertion: it fails where a step is called that the belief allows and the
/// truth forbids, after a word misheard or, without `mishear`, at all.
pub fn promela(procedures: &[Procedure], mishear: bool) -> String {
    let model = Model::of(procedures);
    let mut text = WORDS.to_string();
    // Writing into a string cannot fail.
    let _ = model.write(&mut text, mishear);
    text.push_str(RULES);
    text
}

/// The procedures with their steps and conditions numbered through.
struct Model<'a> {
    procedures: &'a [Procedure],
    /// The number of each job's first step, and at last that of all steps.
    first: Vec<usize>,
    steps: Vec<Numbered<'a>>,
    conditions: Vec<&'a Text>,
}

struct Numbered<'a> {
    step: &'a Step,
    job: usize,
    /// The steps that come before it, by their number in the model.
    earlier: Vec<Earlier>,
}

impl<'a> Model<'a> {
    fn of(procedures: &'a [Procedure]) -> Model<'a> {
        let mut model = Model {
            procedures,
            first: vec![0],
            steps: Vec::new(),
            conditions: Vec::new(),
        };
        for (job, procedure) in procedures.iter().enumerate() {
            let first = model.steps.len();
            for (step, mut earlier) in procedure.steps.iter().zip(procedure.earlier()) {
                for one in &mut earlier {
                    one.step += first;
                }
                model.steps.push(Numbered { step, job, earlier });
                for lists in [&step.forbidden_while, &step.needs, &step.sets, &step.clears] {
                    for condition in lists {
                        if !model.conditions.contains(&condition) {
                            model.conditions.push(condition);
                        }
                    }
                }
            }
            model.first.push(model.steps.len());
        }
        model
    }

    fn number(&self, condition: &Text) -> usize {
        let found = self.conditions.iter().position(|one| *one == condition);
        found.unwrap_or(self.conditions.len())
    }

    fn write(&self, text: &mut String, mishear: bool) -> std::fmt::Result {
        let (steps, conditions) = (self.steps.len(), self.conditions.len());
        let jobs = self.procedures.len();
        let largest = steps.max(conditions).max(jobs);
        for (job, procedure) in self.procedures.iter().enumerate() {
            writeln!(text, "/* Job {job}: {} */", remark(&procedure.title))?;
        }
        for (number, Numbered { step, job, .. }) in self.steps.iter().enumerate() {
            writeln!(text, "/* Step {number}, of job {job}: {} */", step.id)?;
        }
        for (number, condition) in self.conditions.iter().enumerate() {
            writeln!(text, "/* Condition {number}: {} */", remark(condition))?;
        }
        let number = if largest > BYTE_HOLDS { "int" } else { "byte" };
        writeln!(text, "\n#define NUMBER {number}")?;
        writeln!(text, "#define MISHEAR {}", u8::from(mishear))?;
        writeln!(text, "#define JOBS {jobs}")?;
        writeln!(text, "#define STEPS {steps}")?;
        writeln!(text, "#define STEPS_AND_NONE {}", steps + 1)?;
        // An array of nothing is no Promela.
        writeln!(text, "#define CONDITIONS {}\n", conditions.max(1))?;
        self.write_jobs(text)?;
        self.write_kinds(text)?;
        self.write_blocks(text)?;
        self.write_effects(text)?;
        self.write_commands(text)
    }

    fn write_jobs(&self, text: &mut String) -> std::fmt::Result {
        let choose = |of: &dyn Fn(usize) -> usize| {
            let jobs = 0..self.procedures.len();
            jobs.rev().fold("0".to_string(), |other, job| {
                format!("(job == {job} -> {} : {other})", of(job))
            })
        };
        let job_of = |other: String, job: usize| {
            format!("(step < {} -> {job} : {other})", self.first[job + 1])
        };
        let jobs = (0..self.procedures.len()).rev();
        let job = jobs.fold("0".to_string(), job_of);
        writeln!(
            text,
            "#define FIRST(job) {}",
            choose(&|job| self.first[job])
        )?;
        writeln!(
            text,
            "#define END(job) {}",
            choose(&|job| self.first[job + 1])
        )?;
        writeln!(text, "#define JOB(step) {job}")
    }

    fn write_kinds(&self, text: &mut String) -> std::fmt::Result {
        let any = |is: &dyn Fn(&Step) -> bool| {
            let steps = self.steps.iter().enumerate();
            let those = steps.filter(|(_, one)| is(one.step));
            those.fold("(false".to_string(), |all, (number, _)| {
                format!("{all} || step == {number}")
            }) + ")"
        };
        writeln!(text, "#define HOLD(step) {}", any(&is_hold))?;
        writeln!(text, "#define MEANWHILE(step) {}", any(&waits))
    }

    /// Why each step is blocked, and which conditions make it dangerous.
    fn write_blocks(&self, text: &mut String) -> std::fmt::Result {
        let mut judged = String::new();
        let mut dangers = String::new();
        for (number, this) in self.steps.iter().enumerate() {
            let step = this.step;
            let mut reasons: Vec<String> = Vec::new();
            let mut truly: Vec<String> = Vec::new();
            for condition in &step.forbidden_while {
                let condition = self.number(condition);
                reasons.push(format!("FORBIDDEN_WHILE({condition}, "));
                truly.push(format!("NOT_TRULY_CLEAR({condition})"));
            }
            for condition in &step.needs {
                let condition = self.number(condition);
                reasons.push(format!("NEEDS({condition}, "));
                truly.push(format!("NOT_TRULY_SET({condition})"));
            }
            for earlier in &this.earlier {
                reasons.push(format!("AFTER({}, ", earlier.step));
                if earlier.over {
                    reasons.push(format!("AFTER_WAIT({}, ", earlier.step));
                }
            }
            for (other, holder) in self.steps.iter().enumerate() {
                let shared = holder.step.uses.iter().any(|one| step.uses.contains(one));
                if other != number && shared && waits(holder.step) {
                    reasons.push(format!("SHARES_WITH({other}, "));
                }
            }
            let close = ")".repeat(reasons.len());
            writeln!(text, "#define WHY_{number} {}FREE{close}", reasons.concat())?;
            writeln!(judged, "    why[{number}] = WHY_{number};")?;
            if !truly.is_empty() {
                let truly = truly.join(" || ");
                write!(dangers, " || (step == {number} && ({truly}))")?;
            }
        }
        writeln!(text, "#define UNSAFE(step) (false{dangers})")?;
        writeln!(text, "\ninline judge() {{\n{judged}    skip\n}}")
    }

    /// What a step makes of the belief, and of the truth.
    fn write_effects(&self, text: &mut String) -> std::fmt::Result {
        for (name, facts) in [("believe", "here.belief"), ("become", "truth")] {
            writeln!(text, "\ninline {name}(step, set, cleared) {{\n    if")?;
            for (number, Numbered { step, .. }) in self.steps.iter().enumerate() {
                let sets = step.sets.iter().map(|one| (one, "set"));
                let all = sets.chain(step.clears.iter().map(|one| (one, "cleared")));
                let all = all.map(|(one, to)| format!("{facts}[{}] = {to}", self.number(one)));
                let all: Vec<String> = all.collect();
                if !all.is_empty() {
                    writeln!(text, "    :: step == {number} -> {}", all.join("; "))?;
                }
            }
            writeln!(text, "    :: else -> skip\n    fi\n}}")?;
        }
        Ok(())
    }

    fn write_commands(&self, text: &mut String) -> std::fmt::Result {
        let list = |name: &str, count: usize| -> String {
            (0..count)
                .map(|number| format!(" {name}({number})"))
                .collect()
        };
        let waiting = |what: &str| -> String {
            (self.steps.iter().enumerate())
                .filter(|(_, one)| waits(one.step))
                .map(|(number, _)| what.replace('#', &number.to_string()))
                .collect()
        };
        let jobs = self.procedures.len();
        let left: String = (0..jobs)
            .map(|job| format!(" && here.at[{job}] == NONE"))
            .collect();
        let over = waiting(" && here.wait[#] != RUNS");
        writeln!(text, "\n#define MOVES{}", list("MOVE", jobs))?;
        writeln!(
            text,
            "#define SETTLES{}",
            list("SETTLE", self.conditions.len())
        )?;
        writeln!(text, "#define WAITS_END{}", waiting(" WAIT_ENDS(#)"))?;
        writeln!(text, "#define WAITS_ASKED{}", waiting(" ASK_WAIT(#)"))?;
        writeln!(text, "#define WAITS_STOP{}", waiting(" STOP_WAIT(#)"))?;
        let runs = waiting(" + (here.wait[#] == RUNS)");
        writeln!(text, "#define RUNNING (0{runs})")?;
        writeln!(text, "#define FINISHED (true{left}{over})\n")
    }
}

/// Tells whether a step is answered with words of its own.
fn is_hold(step: &Step) -> bool {
    step.hold.is_some() || step.second.is_some()
}

/// Tells whether the work goes on during the step's wait.
fn waits(step: &Step) -> bool {
    !is_hold(step) && step.wait.as_ref().is_some_and(|wait| wait.meanwhile)
}

/// Returns a text that does not end the remark in which it stands.
fn remark(text: &Text) -> String {
    text.as_str().replace("*/", "* /")
}
