//! The flaws of one procedure, as findings with their place in its file.

use super::{Bound, Flaw, Happening, Proof, Reach, prove};
use crate::procedure::{Broken, Procedure, Step, Text};

/// How much is searched of a single file at first: enough for most.
const BOUND: Bound = Bound {
    states: 6_000,
    apart: false,
};

/// Returns what is wrong with what comes of a procedure that is followed by itself.
pub fn judge(procedure: &Procedure) -> Vec<Broken> {
    let procedures = std::slice::from_ref(procedure);
    let mut proof = prove(procedures, &BOUND);
    if proof.flaws.is_empty() && proof.reach > Reach::Apart {
        // As much as for files that are checked together: there is one verdict.
        proof = prove(procedures, &Bound::default());
    }
    findings(procedure, &proof)
}

/// Returns what a proof has shown of one procedure.
///
/// Conditions that are not declared are left out: most are slips of the pen, with a finding of their own.
pub fn findings(procedure: &Procedure, proof: &Proof) -> Vec<Broken> {
    let declared = |condition: &Text| procedure.conditions.iter().any(|c| c.name == *condition);
    let known = proof.flaws.iter().filter(|flaw| match flaw {
        Flaw::Called { condition, .. }
        | Flaw::Misheard { condition, .. }
        | Flaw::LeftSet { condition, .. } => declared(condition),
        Flaw::DeadEnd { .. } | Flaw::NeverRuns { .. } => true,
    });
    // A procedure whose calls go wrong by themselves has other flaws because of that.
    let called: Vec<&Flaw> = known
        .clone()
        .filter(|f| matches!(f, Flaw::Called { .. }))
        .collect();
    let mut broken: Vec<Broken> = known
        .filter(|flaw| {
            let follows = matches!(flaw, Flaw::DeadEnd { .. } | Flaw::NeverRuns { .. });
            called.is_empty() || !follows
        })
        .map(|flaw| placed(procedure, flaw))
        .collect();
    if proof.reach == Reach::Bounded && broken.is_empty() {
        broken.extend(too_large(procedure));
    }
    broken
}

/// A procedure that could not be searched to its end is not called safe.
fn too_large(procedure: &Procedure) -> Option<Broken> {
    procedure.steps.first()?;
    Some(Broken {
        step: 0,
        field: None,
        message: "The orders in which these steps can be done are too many to be proved safe"
            .into(),
        label: String::new(),
        help: "say more of the order with `after`, or split the procedure".into(),
    })
}

fn placed(procedure: &Procedure, flaw: &Flaw) -> Broken {
    let steps = &procedure.steps;
    let (step, field, message, label, help) = match flaw {
        Flaw::Called {
            step,
            condition,
            needed,
            ..
        } => called(steps, *step, condition, *needed),
        Flaw::Misheard {
            guard,
            step,
            condition,
            ..
        } => misheard(steps, guard.1, *step, condition),
        Flaw::LeftSet { condition, .. } => {
            let setter = steps.iter().rposition(|step| step.sets.contains(condition));
            let setter = setter.unwrap_or(0);
            (
                setter,
                entry(&steps[setter].sets, "sets", condition),
                format!("\"{condition}\" is still set when the procedure ends"),
                "set here, never cleared after".into(),
                format!("write `clears: [\"{condition}\"]` in the step that ends it"),
            )
        }
        Flaw::DeadEnd { step, history, .. } => {
            let step = (*step).min(steps.len().saturating_sub(1));
            (
                step,
                None,
                "From here no way leads to the end of the job".into(),
                format!("stuck at step `{}`", steps[step].id),
                format!("it comes to that so: {}", way(history)),
            )
        }
        Flaw::NeverRuns { step, .. } => (
            *step,
            None,
            format!("Step `{}` can never begin", steps[*step].id),
            String::new(),
            "look at its conditions and at what it comes after".into(),
        ),
    };
    Broken {
        step,
        field,
        message,
        label,
        help,
    }
}

type Parts = (usize, Option<(&'static str, usize)>, String, String, String);

fn called(steps: &[Step], at: usize, condition: &Text, needed: bool) -> Parts {
    let step = &steps[at];
    let first = |settles: fn(&Step) -> &[Text]| {
        let later = steps[at..].iter();
        later.clone().find(|step| settles(step).contains(condition))
    };
    if needed {
        let help = match first(|step| &step.sets) {
            Some(other) => format!(
                "step `{}`, which sets it, should come first: move it to before this one",
                other.id
            ),
            None => {
                format!(
                    "a step that sets it should come first: write `sets: [\"{condition}\"]` in it"
                )
            }
        };
        let message = format!(
            "Step `{}` needs \"{condition}\", which is not set here",
            step.id
        );
        return (
            at,
            entry(&step.needs, "needs", condition),
            message,
            String::new(),
            help,
        );
    }
    let setter = steps[..at]
        .iter()
        .rev()
        .find(|step| step.sets.contains(condition));
    let help = match first(|step| &step.clears) {
        Some(other) => format!(
            "step `{}`, which clears it, should come first: move it to before this one",
            other.id
        ),
        None => {
            format!(
                "a step that clears it should come first: write `clears: [\"{condition}\"]` in it"
            )
        }
    };
    let message = format!(
        "Step `{}` is forbidden while \"{condition}\", which is still set here",
        step.id
    );
    let label = setter.map(|step| format!("set by step `{}`", step.id));
    let field = entry(&step.forbidden_while, "forbidden_while", condition);
    (at, field, message, label.unwrap_or_default(), help)
}

fn misheard(steps: &[Step], guard: usize, at: usize, condition: &Text) -> Parts {
    let (guard, step) = ((guard, &steps[guard]), &steps[at]);
    let help = "write `hold: (ask: \"…?\", answer: \"…\")` in this step, so that one misheard word does no harm";
    if guard.1.clears.contains(condition) {
        (
            guard.0,
            entry(&guard.1.clears, "clears", condition),
            format!(
                "Step `{}` lifts the danger \"{condition}\" without a hold",
                guard.1.id
            ),
            format!("step `{}` is forbidden while it is set", step.id),
            help.into(),
        )
    } else {
        (
            guard.0,
            entry(&guard.1.sets, "sets", condition),
            format!(
                "Step `{}` establishes \"{condition}\" without a hold",
                guard.1.id
            ),
            format!("step `{}` is safe only while it is set", step.id),
            help.into(),
        )
    }
}

fn entry(list: &[Text], field: &'static str, condition: &Text) -> Option<(&'static str, usize)> {
    let at = list.iter().position(|one| one == condition);
    at.map(|at| (field, at))
}

/// A history in one line.
fn way(history: &[Happening]) -> String {
    const MOST: usize = 12;
    let skipped = history.len().saturating_sub(MOST);
    let said: Vec<&str> = history
        .iter()
        .skip(skipped)
        .map(|one| one.say.as_str())
        .collect();
    let begins = if skipped > 0 { "… " } else { "" };
    format!("{begins}{}", said.join(", "))
}
