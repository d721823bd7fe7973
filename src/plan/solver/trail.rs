//! Whole numbers between bounds, differences between them, and clauses over their bounds.
//!
//! Every variable has two halves: half 2v is v itself, half 2v+1 is −v, and each has a lower bound
//! only. So "v ≥ k" and "v ≤ k" are the same kind of thing, an [`Atom`], and every rule is written
//! once. What raised a bound is kept on the trail with its cause, so that a conflict can be followed
//! back to what it really rests on (`learn.rs`): lazy clause generation (Ohrimenko, Stuckey, Codish,
//! Constraints 14, 2009), for scheduling with time lags after Schutt, Feydy, Stuckey and Wallace
//! (Journal of Scheduling 16, 2013).

pub(super) type Half = usize;

/// `half` is at least `least`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Atom {
    pub half: Half,
    pub least: i64,
}

/// A variable, by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Var(pub usize);

impl Var {
    pub fn at_least(self, least: i64) -> Atom {
        let half = 2 * self.0;
        Atom { half, least }
    }

    pub fn at_most(self, most: i64) -> Atom {
        Atom {
            half: 2 * self.0 + 1,
            least: -most,
        }
    }
}

impl Atom {
    pub fn negated(self) -> Atom {
        Atom {
            half: self.half ^ 1,
            least: 1 - self.least,
        }
    }
}

/// Why a bound was raised.
#[derive(Debug, Clone, Copy)]
pub(super) enum Cause {
    Decided,
    Arc(usize),
    /// The first atom of the clause is what was raised.
    Clause(usize),
    /// The atoms from here to there in the list of reasons.
    Listed(usize, usize),
}

/// A bound was raised.
#[derive(Debug, Clone, Copy)]
pub(super) struct Event {
    pub half: Half,
    pub is: i64,
    pub was: i64,
    /// The event of this half before this one.
    pub before: Option<usize>,
    pub cause: Cause,
}

/// `to ≥ from + lag`, between halves, while `when` holds.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arc {
    pub from: Half,
    pub to: Half,
    pub lag: i64,
    pub when: Option<Atom>,
}

#[derive(Debug)]
pub(super) struct Clause {
    pub atoms: Vec<Atom>,
    /// How many levels it spans; none for clauses that are kept for ever.
    pub spread: Option<usize>,
}

/// What is wrong: these hold all, and cannot.
pub(super) type Conflict = Vec<Atom>;

#[derive(Debug, Default)]
pub(super) struct Trail {
    pub bound: Vec<i64>,
    pub last: Vec<Option<usize>>,
    pub events: Vec<Event>,
    /// How many events and reasons there were when each level began.
    pub levels: Vec<(usize, usize)>,
    pub reasons: Vec<Atom>,
    pub arcs: Vec<Arc>,
    pub clauses: Vec<Clause>,
    arcs_from: Vec<Vec<usize>>,
    /// Arcs that begin to hold, by the half they wait for.
    arcs_when: Vec<Vec<(i64, usize)>>,
    /// Clauses to look at, by the half that makes the watched atom false.
    watches: Vec<Vec<(i64, usize)>>,
    /// The next event to be followed up.
    next: usize,
    /// Where the following-up began.
    batch: usize,
}

impl Trail {
    pub fn variable(&mut self, low: i64, high: i64) -> Var {
        for bound in [low, -high] {
            self.bound.push(bound);
            self.last.push(None);
            self.arcs_from.push(Vec::new());
            self.arcs_when.push(Vec::new());
            self.watches.push(Vec::new());
        }
        Var(self.bound.len() / 2 - 1)
    }

    pub fn low(&self, var: Var) -> i64 {
        self.bound[2 * var.0]
    }

    pub fn high(&self, var: Var) -> i64 {
        -self.bound[2 * var.0 + 1]
    }

    pub fn holds(&self, atom: Atom) -> bool {
        self.bound[atom.half] >= atom.least
    }

    pub fn fails(&self, atom: Atom) -> bool {
        self.holds(atom.negated())
    }

    pub fn level(&self) -> usize {
        self.levels.len()
    }

    /// Returns the level of an event.
    pub fn level_of(&self, event: usize) -> usize {
        self.levels.partition_point(|&(begin, _)| begin <= event)
    }

    /// Adds `to ≥ from + lag`, while `when` holds.
    pub fn arc(
        &mut self,
        from: Var,
        to: Var,
        lag: i64,
        when: Option<Atom>,
    ) -> Result<(), Conflict> {
        for (from, to) in [(2 * from.0, 2 * to.0), (2 * to.0 + 1, 2 * from.0 + 1)] {
            let place = self.arcs.len();
            self.arcs.push(Arc {
                from,
                to,
                lag,
                when,
            });
            self.arcs_from[from].push(place);
            if let Some(when) = when {
                self.arcs_when[when.half].push((when.least, place));
            }
            self.follow(place)?;
        }
        Ok(())
    }

    /// Adds a clause, at any level, and draws what follows from it.
    pub fn clause(&mut self, mut atoms: Vec<Atom>, spread: Option<usize>) -> Result<(), Conflict> {
        // What is not false comes first, then what became false last.
        atoms.sort_by_key(|&atom| {
            let failed = self.fails(atom).then(|| self.event_of(atom.negated()));
            match failed {
                None => (0, std::cmp::Reverse(None)),
                Some(event) => (1, std::cmp::Reverse(event)),
            }
        });
        let place = self.clauses.len();
        let first = atoms.first().copied();
        let unit = atoms.get(1).is_none_or(|&second| self.fails(second));
        self.clauses.push(Clause { atoms, spread });
        self.watch(place);
        match first {
            None => Err(Vec::new()),
            Some(first) if unit => self.raise(first, Cause::Clause(place)),
            Some(_) => Ok(()),
        }
    }

    fn watch(&mut self, place: usize) {
        for &atom in self.clauses[place].atoms.iter().take(2) {
            let falls = atom.negated();
            self.watches[falls.half].push((falls.least, place));
        }
    }

    /// Decides that `atom` holds, on a new level.
    pub fn decide(&mut self, atom: Atom) -> Result<(), Conflict> {
        self.levels.push((self.events.len(), self.reasons.len()));
        self.raise(atom, Cause::Decided)
    }

    /// Raises a bound for reasons that hold now.
    pub fn raise_for(&mut self, atom: Atom, reasons: &[Atom]) -> Result<(), Conflict> {
        if self.holds(atom) {
            return Ok(());
        }
        let begin = self.reasons.len();
        self.reasons.extend_from_slice(reasons);
        self.raise(atom, Cause::Listed(begin, self.reasons.len()))
    }

    pub fn raise(&mut self, atom: Atom, cause: Cause) -> Result<(), Conflict> {
        let was = self.bound[atom.half];
        if was >= atom.least {
            return Ok(());
        }
        if self.fails(atom) {
            let mut conflict = self.reasons_of(cause, atom);
            conflict.push(atom.negated());
            return Err(conflict);
        }
        let before = self.last[atom.half];
        if let (Cause::Arc(arc), Some(earlier)) = (cause, before)
            && earlier >= self.batch
            && let Some(conflict) = self.cycle(arc, atom)
        {
            return Err(conflict);
        }
        self.bound[atom.half] = atom.least;
        self.last[atom.half] = Some(self.events.len());
        self.events.push(Event {
            half: atom.half,
            is: atom.least,
            was,
            before,
            cause,
        });
        Ok(())
    }

    /// Looks whether arcs alone would raise `atom.half` from itself, which would go on without end.
    fn cycle(&self, arc: usize, atom: Atom) -> Option<Conflict> {
        let mut conditions = Vec::new();
        let (mut arc, mut least) = (arc, atom.least);
        for _ in 0..self.bound.len() {
            let Arc {
                from, lag, when, ..
            } = self.arcs[arc];
            conditions.extend(when);
            least -= lag;
            if from == atom.half {
                return Some(conditions);
            }
            let event = self.event_of(Atom { half: from, least })?;
            match self.events[event].cause {
                Cause::Arc(earlier) if event >= self.batch => arc = earlier,
                _ => return None,
            }
        }
        None
    }

    /// Tells whether something was raised and not yet followed up.
    pub fn next_is_due(&self) -> bool {
        self.next < self.events.len()
    }

    /// Draws all that follows from the bounds as they are.
    pub fn propagate(&mut self) -> Result<(), Conflict> {
        self.batch = self.next;
        let result = self.follow_all();
        if result.is_err() {
            self.next = self.events.len();
        }
        result
    }

    fn follow_all(&mut self) -> Result<(), Conflict> {
        while let Some(&event) = self.events.get(self.next) {
            self.next += 1;
            let half = event.half;
            for place in 0..self.arcs_when[half].len() {
                let (least, arc) = self.arcs_when[half][place];
                if event.was < least && least <= event.is {
                    self.follow(arc)?;
                }
            }
            // A later event of this half does all that this one would.
            if self.bound[half] == event.is {
                for place in 0..self.arcs_from[half].len() {
                    self.follow(self.arcs_from[half][place])?;
                }
            }
            self.follow_clauses(event)?;
        }
        Ok(())
    }

    fn follow(&mut self, place: usize) -> Result<(), Conflict> {
        let arc = self.arcs[place];
        let least = self.bound[arc.from] + arc.lag;
        match arc.when {
            Some(when) if !self.holds(when) => {
                let against = self.bound[arc.to ^ 1];
                if least + against > 0 && !self.fails(when) {
                    let from = Atom {
                        half: arc.from,
                        least: 1 - arc.lag - against,
                    };
                    let to = Atom {
                        half: arc.to ^ 1,
                        least: against,
                    };
                    self.raise_for(when.negated(), &[from, to])?;
                }
                Ok(())
            }
            _ => self.raise(
                Atom {
                    half: arc.to,
                    least,
                },
                Cause::Arc(place),
            ),
        }
    }

    fn follow_clauses(&mut self, event: Event) -> Result<(), Conflict> {
        let mut watches = std::mem::take(&mut self.watches[event.half]);
        let mut result = Ok(());
        let mut at = 0;
        while at < watches.len() && result.is_ok() {
            let (least, place) = watches[at];
            let fallen = Atom {
                half: event.half,
                least,
            }
            .negated();
            if least <= event.was || least > event.is {
                at += 1;
                continue;
            }
            let count = self.clauses[place].atoms.len();
            if self.clauses[place].atoms[0] == fallen && count > 1 {
                self.clauses[place].atoms.swap(0, 1);
            }
            let first = self.clauses[place].atoms[0];
            if self.holds(first) {
                at += 1;
                continue;
            }
            let other = (2..count).find(|&other| !self.fails(self.clauses[place].atoms[other]));
            match other {
                Some(other) => {
                    self.clauses[place].atoms.swap(1, other);
                    let falls = self.clauses[place].atoms[1].negated();
                    if falls.half == event.half {
                        watches.push((falls.least, place));
                    } else {
                        self.watches[falls.half].push((falls.least, place));
                    }
                    watches.swap_remove(at);
                }
                None => {
                    result = self.raise(first, Cause::Clause(place));
                    at += 1;
                }
            }
        }
        self.watches[event.half] = watches;
        result
    }

    /// Returns the event that made `atom` hold, or none where it has always held.
    pub fn event_of(&self, atom: Atom) -> Option<usize> {
        let mut at = self.last[atom.half]?;
        while self.events[at].was >= atom.least {
            at = self.events[at].before?;
        }
        Some(at)
    }

    /// Returns what made `atom` hold (or would), given the cause.
    pub fn reasons_of(&self, cause: Cause, atom: Atom) -> Vec<Atom> {
        match cause {
            Cause::Decided => Vec::new(),
            Cause::Arc(place) => {
                let arc = self.arcs[place];
                let least = atom.least - arc.lag;
                let mut reasons = vec![Atom {
                    half: arc.from,
                    least,
                }];
                reasons.extend(arc.when);
                reasons
            }
            Cause::Clause(place) => {
                let others = self.clauses[place].atoms.iter().skip(1);
                others.map(|other| other.negated()).collect()
            }
            Cause::Listed(from, to) => self.reasons[from..to].to_vec(),
        }
    }

    /// Goes back to the end of `level`.
    pub fn back_to(&mut self, level: usize) {
        let Some(&(events, reasons)) = self.levels.get(level) else {
            return;
        };
        while self.events.len() > events {
            if let Some(event) = self.events.pop() {
                self.bound[event.half] = event.was;
                self.last[event.half] = event.before;
            }
        }
        self.reasons.truncate(reasons);
        self.levels.truncate(level);
        self.next = self.next.min(events);
    }

    /// Drops the learned clauses of wide spread, at level 0 only.
    pub fn forget(&mut self, widest: usize) {
        if self.level() > 0 || self.next < self.events.len() {
            return;
        }
        let kept = std::mem::take(&mut self.clauses);
        self.watches.iter_mut().for_each(Vec::clear);
        for mut clause in kept {
            let useless = clause.atoms.iter().any(|&atom| self.holds(atom));
            if useless || clause.spread.is_some_and(|spread| spread > widest) {
                continue;
            }
            clause.atoms.retain(|&atom| !self.fails(atom));
            self.clauses.push(clause);
            self.watch(self.clauses.len() - 1);
        }
        // What holds at level 0 needs no cause any more.
        self.events.clear();
        self.reasons.clear();
        self.last.iter_mut().for_each(|last| *last = None);
        self.next = 0;
        self.batch = 0;
    }
}
