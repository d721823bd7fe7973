//! Which steps rely on readings that grow old, and where the clock of a coat begins.

use std::collections::BTreeSet;

use super::model::{Earlier, Procedure, Step};
use super::values::{StepId, Text};

/// A reading of times that the run's own clock gives instead, where it knows when a step was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ByClock<'a> {
    /// The step that starts the clock.
    pub since: &'a StepId,
    /// The name of the reading that is not asked for then.
    pub reading: &'a Text,
}

/// What of a sum goes by the clock.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Timing<'a> {
    /// Its readings are taken anew after a time.
    pub asks_again: bool,
    /// The last step that relies on its readings, where it names one.
    pub until: Option<&'a StepId>,
    /// The step from whose end it counts, where it names one.
    pub since: Option<&'a StepId>,
    /// The reading that the run's own clock can give.
    pub by_clock: Option<ByClock<'a>>,
    /// The step that is called only where its result leads there.
    pub leads_to: Option<&'a StepId>,
}

impl Step {
    /// Tells whether the step has a sum whose readings are taken anew after a time.
    pub fn asks_again(&self) -> bool {
        self.sums.iter().any(|sum| sum.timing().asks_again)
    }

    /// Returns the last step that relies on the readings of this one, where the procedure names it.
    pub fn until(&self) -> Option<&StepId> {
        self.sums.iter().find_map(|sum| sum.timing().until)
    }

    /// Tells whether the step is its readings and nothing else but a hold on them, so that it can be
    /// called again at any time without anything else becoming uncertain.
    pub fn only_reads(&self) -> bool {
        let lists = [&self.needs, &self.forbidden_while, &self.sets, &self.clears];
        lists.iter().all(|list| list.is_empty())
            && self.uses.is_empty()
            && self.applies.is_empty()
            && self.fasten.is_none()
            && self.wait.is_none()
            && self.second.is_none()
    }

    /// Returns the steps that are called only where a result of this one leads there.
    pub fn leads_to(&self) -> impl Iterator<Item = &StepId> {
        self.sums.iter().filter_map(|sum| sum.timing().leads_to)
    }

    /// Tells whether the step touches nothing that another one could notice, so that it can be passed
    /// over by itself.
    pub fn touches_nothing(&self) -> bool {
        self.only_reads() && !self.is_held() && self.readings.is_empty()
    }

    /// Returns the readings that the run's own clock can give.
    pub fn by_clock(&self) -> impl Iterator<Item = ByClock<'_>> {
        self.sums.iter().filter_map(|sum| sum.timing().by_clock)
    }
}

impl Procedure {
    /// Returns for each step the steps that rely on its readings: nothing of them may begin on readings
    /// that are too old. Those are the steps after it up to the one that it names, or else the ones that
    /// come next after it; none for a step that does more than read. `earlier` is the order, as
    /// [`Procedure::earlier`] gives it.
    pub fn relying(&self, earlier: &[Vec<Earlier>]) -> Vec<Vec<usize>> {
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

    /// Returns the steps that rely on the first one.
    fn relying(steps: &str) -> Vec<usize> {
        let procedure = procedure(steps);
        procedure.relying(&procedure.earlier())[0].clone()
    }

    #[test]
    fn up_to_the_step_it_names_all_rely_on_it() {
        let steps = climate("", "until: \"coat\"")
            + "(id: \"mix\", say: \"Mix.\"), (id: \"aside\", say: \"Sweep.\", after: []), \
               (id: \"coat\", say: \"Coat.\", after: [\"mix\"]), (id: \"wash\", say: \"Wash.\")";
        let procedure = procedure(&steps);
        let earlier = procedure.earlier();
        assert_eq!(procedure.relying(&earlier)[0], [1, 3]);
        let coat = &earlier[3];
        assert!(coat.iter().any(|one| one.step == 0), "{coat:?}");
    }

    #[test]
    fn without_one_the_next_steps_rely_on_it() {
        let steps =
            climate("", "") + "(id: \"mix\", say: \"Mix.\"), (id: \"coat\", say: \"Coat.\")";
        assert_eq!(relying(&steps), [1]);
        let steps = climate("sets: [\"fit\"],", "") + "(id: \"coat\", say: \"Coat.\")";
        assert!(relying(&steps).is_empty());
    }
}
