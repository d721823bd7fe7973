//! Which steps rely on readings that grow old, and where the clock of a coat begins.

use std::collections::BTreeSet;

use super::model::{Earlier, Procedure, Step};
use super::sums::Sum;
use super::values::{StepId, Text};

/// A reading of times that the run's own clock gives instead, where it knows when a step was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ByClock<'a> {
    /// The step that starts the clock.
    pub since: &'a StepId,
    /// The name of the reading that is not asked for then.
    pub reading: &'a Text,
}

impl Step {
    /// Tells whether the step has a sum whose readings are taken anew after a time.
    pub fn asks_again(&self) -> bool {
        self.sums.iter().any(Sum::asks_again)
    }

    /// Returns the last step that relies on the readings of this one, where the procedure names it.
    pub fn until(&self) -> Option<&StepId> {
        self.sums.iter().find_map(Sum::until)
    }

    /// Tells whether the step is its readings and nothing else, so that it can be called again at any
    /// time without anything else becoming uncertain.
    pub fn only_reads(&self) -> bool {
        let lists = [&self.needs, &self.forbidden_while, &self.sets, &self.clears];
        lists.iter().all(|list| list.is_empty())
            && self.uses.is_empty()
            && self.applies.is_empty()
            && self.fasten.is_none()
            && self.wait.is_none()
            && !self.is_held()
    }

    /// Returns the readings that the run's own clock can give.
    pub fn by_clock(&self) -> impl Iterator<Item = ByClock<'_>> {
        self.sums.iter().filter_map(Sum::by_clock)
    }
}

impl Procedure {
    /// Returns for each step the steps that rely on its readings: nothing of them may begin on readings
    /// that are too old. Those are the steps after it up to the one that it names, or else the ones that
    /// come next after it; none for a step that does more than read. `earlier` is the order.
    pub(super) fn relying_in(&self, earlier: &[Vec<Earlier>]) -> Vec<Vec<usize>> {
        let steps = self.steps.iter().enumerate();
        steps
            .map(|(number, step)| {
                if !step.asks_again() || !step.only_reads() {
                    return Vec::new();
                }
                let all = 0..self.steps.len();
                match step.until() {
                    None => all
                        .filter(|&later| earlier[later].iter().any(|one| one.step == number))
                        .collect(),
                    Some(until) => {
                        let last = self.steps.iter().position(|other| other.id == *until);
                        let Some(last) = last else {
                            return Vec::new();
                        };
                        let mut before = before(last, earlier);
                        before.insert(last);
                        let after = |&later: &usize| self::before(later, earlier).contains(&number);
                        before.into_iter().filter(after).collect()
                    }
                }
            })
            .collect()
    }

    /// Returns for each step the steps that rely on its readings.
    pub fn relying(&self) -> Vec<Vec<usize>> {
        self.relying_in(&self.earlier())
    }
}

/// Returns every step that comes before `step`, over others too.
pub(super) fn before(step: usize, earlier: &[Vec<Earlier>]) -> BTreeSet<usize> {
    let mut found = BTreeSet::new();
    let mut open = vec![step];
    while let Some(step) = open.pop() {
        let next = earlier[step].iter().map(|one| one.step);
        open.extend(next.filter(|&one| found.insert(one)));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::fields::ron_options;
    use super::*;

    fn procedure(steps: &str) -> Procedure {
        let text = format!("(title: \"t\", subject: \"s\", steps: [{steps}])");
        ron_options().from_str(&text).unwrap()
    }

    fn climate(more: &str, sum: &str) -> String {
        format!(
            "(id: \"climate\", say: \"Read.\", {more} sums: [Climate(air: \"air\", humidity: \"h\", \
             metal: \"m\", least: \"10 °C\", most: \"30 °C\", {sum})]),"
        )
    }

    #[test]
    fn up_to_the_step_it_names_all_rely_on_it() {
        let steps = climate("", "until: \"coat\"")
            + "(id: \"mix\", say: \"Mix.\"), (id: \"aside\", say: \"Sweep.\", after: []), \
               (id: \"coat\", say: \"Coat.\", after: [\"mix\"]), (id: \"wash\", say: \"Wash.\")";
        let procedure = procedure(&steps);
        assert_eq!(procedure.relying()[0], [1, 3]);
        let coat = &procedure.earlier()[3];
        assert!(coat.iter().any(|one| one.step == 0), "{coat:?}");
    }

    #[test]
    fn without_one_the_next_steps_rely_on_it() {
        let steps =
            climate("", "") + "(id: \"mix\", say: \"Mix.\"), (id: \"coat\", say: \"Coat.\")";
        assert_eq!(procedure(&steps).relying()[0], [1]);
        let steps = climate("sets: [\"fit\"],", "") + "(id: \"coat\", say: \"Coat.\")";
        assert!(procedure(&steps).relying()[0].is_empty());
    }
}
