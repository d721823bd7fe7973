//! What a proof has shown, in words.

use super::replay::{MISHEARD, Replay};
use super::{Flaw, Happening, Proof, Reach};
use crate::procedure::{Procedure, Step};
use crate::run::Truth;

/// Returns how much was searched, in a sentence or two.
pub fn reach(proof: &Proof) -> String {
    let states = proof.states;
    let mut told = match proof.reach {
        Reach::Every if states == 0 => {
            "No step sets, needs or uses what another one does: no order of them can go wrong."
                .into()
        }
        Reach::Every => format!("{states} states searched: all there are."),
        Reach::Apart => format!(
            "{states} states searched, looked at apart (jobs that share nothing, dangers one condition at a \
             time, dead ends by way of each job's beginning): all but what comes of skipping a step that \
             could not be begun."
        ),
        Reach::Forward => format!(
            "{states} states searched. Dangers: one condition at a time, in every order. Dead ends: only \
             along the way forward, not after going back or skipping."
        ),
        Reach::Bounded => format!(
            "{states} states searched, and the bound was reached: what was not found may still be there."
        ),
    };
    if !proof.stops {
        told.push_str(" What comes of a wait that is stopped is left out.");
    }
    told.push_str(&match proof.pairs {
        Some(0) => {
            " Misheard twice: no pair of claims leads to a danger that neither does alone.".into()
        }
        Some(1) => " Misheard twice: one pair of claims leads to a danger.".into(),
        Some(pairs) => format!(" Misheard twice: {pairs} pairs of claims lead to a danger."),
        None => " Misheard twice: too much to be searched.".to_owned(),
    });
    told
}

/// Returns what was found about procedures that are open together, flaw by flaw, each with the shortest
/// way into it.
pub fn together(procedures: &[Procedure], proof: &Proof) -> String {
    let count = procedures.len();
    let mut told = flaws(procedures, proof);
    let verdict = if proof.flaws.is_empty() {
        "nothing wrong found"
    } else {
        "not safe together"
    };
    told.push_str(&format!(
        "All {count} open together: {verdict}. {}\n",
        reach(proof)
    ));
    told
}

/// Returns the gravest flaw in a sentence, without the way into it; none where there is none.
pub fn gravest(procedures: &[Procedure], proof: &Proof) -> Option<String> {
    let flaw = proof.flaws.first()?;
    Some(format!("{}.", flaw_words(procedures, flaw)))
}

/// Returns every flaw with the shortest way into it.
pub fn flaws(procedures: &[Procedure], proof: &Proof) -> String {
    let told = proof.flaws.iter().map(|flaw| {
        let words = flaw_words(procedures, flaw);
        format!("error: {words}\n{}", way(flaw.history()))
    });
    told.collect()
}

/// Returns a history as lines that `benchcall run --replay` follows.
pub fn way(history: &[Happening]) -> String {
    let line = |one: &Happening| {
        if one.say.is_empty() {
            return format!("  # {}\n", one.called);
        }
        let note = match (one.misheard, one.called.as_str()) {
            (true, called) => format!("   # {MISHEARD}, nobody said it, at: {called}"),
            (false, "") => String::new(),
            (false, called) => format!("   # {called}"),
        };
        format!("  {}{note}\n", one.say)
    };
    history.iter().map(line).collect()
}

/// Returns where a replay stands: what is called, and each condition as believed and as it truly is.
pub fn standing(replay: &Replay) -> String {
    let run = replay.run();
    let called = run.step().map_or("nothing more", |step| step.say.as_str());
    let mut told = format!("Called: {called}\n");
    for condition in run.conditions() {
        let name = &condition.name;
        let (believed, actual) = (run.truth(name), replay.actual(name));
        told.push_str(&format!(
            "  {name}: the program believes {}, in truth {}\n",
            truth_words(believed),
            truth_words(actual)
        ));
    }
    if let Some(breach) = replay.breach() {
        told.push_str(&format!(
            "DANGER: step `{}` begins, and \"{}\" forbids it\n",
            breach.step, breach.condition
        ));
    }
    told
}

fn truth_words(truth: Truth) -> &'static str {
    match truth {
        Truth::Clear => "it does not hold",
        Truth::Set => "it holds",
        Truth::Uncertain => "either",
    }
}

fn flaw_words(procedures: &[Procedure], flaw: &Flaw) -> String {
    let step = |job: usize, step: usize| {
        let procedure = procedures.get(job);
        let found = procedure.and_then(|p| Some((p, p.steps.get(step)?)));
        let named = |(p, s): (&Procedure, &Step)| format!("step `{}` of \"{}\"", s.id, p.title);
        found.map_or_else(|| "the end".into(), named)
    };
    match flaw {
        Flaw::Called {
            job,
            step: at,
            condition,
            needed,
            ..
        } => {
            let why = if *needed {
                format!("needs \"{condition}\", which is not set then")
            } else {
                format!("is forbidden while \"{condition}\", which is set then")
            };
            format!(
                "Who follows the calls comes to {}, which {why}",
                step(*job, *at)
            )
        }
        Flaw::Misheard {
            guard,
            job,
            step: at,
            condition,
            ..
        } => format!(
            "One misheard word at {} lets {} begin in the wrong state of \"{condition}\": guard the \
             first with a hold",
            step(guard.0, guard.1),
            step(*job, *at)
        ),
        Flaw::DeadEnd { job, step: at, .. } => {
            format!(
                "Stuck at {}: from here no way leads to the end",
                step(*job, *at)
            )
        }
        Flaw::LeftSet { condition, .. } => {
            format!("All is finished, and \"{condition}\" is still set")
        }
        Flaw::NeverRuns { job, step: at } => format!("{} can never begin", step(*job, *at)),
    }
}
