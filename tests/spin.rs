//! A judge from outside: SPIN, asked of the same procedures, comes to the verdicts of the explorer.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "spin/cases.rs"]
mod cases;
mod ears;
#[path = "spin/judge.rs"]
mod judge;

use std::collections::BTreeMap;
use std::process::Command;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;

use benchcall::procedure::{Procedure, Step};
use benchcall::prove::{Bound, Flaw, Proof, Reach, prove};

use cases::{hold, id, job, meanwhile, text};
use ears::at_hand;
use judge::{Ends, judge_honest, judge_misheard};

/// How many pieces of work both judge, and from which seed on they are made.
const CASES: u64 = 320;
const FIRST: u64 = 0;

const TOOLS: [&str; 2] = ["spin", "gcc"];

fn step(name: &str) -> Step {
    Step::new(id(name), text("Do this."))
}

/// The axle is jacked up, let down, and the nuts are tightened.
fn wheel(lower: Step) -> Vec<Procedure> {
    let up = vec![text("axle off the ground")];
    let steps = vec![
        Step {
            sets: up.clone(),
            ..step("jack")
        },
        Step {
            clears: up.clone(),
            ..lower
        },
        Step {
            forbidden_while: up,
            ..step("tighten")
        },
    ];
    vec![job("wheel job", steps)]
}

/// Verdicts that can be seen without a search.
#[test]
fn spin_comes_to_known_verdicts() {
    if !at_hand("known verdicts of SPIN", &TOOLS) {
        return;
    }
    // Jacked up, then a word taken for "lowered".
    let open = wheel(step("lower"));
    assert_eq!(judge_misheard(&open).danger, Some(2));
    let held = wheel(Step {
        hold: Some(hold()),
        ..step("lower")
    });
    assert_eq!(judge_misheard(&held).danger, None);
    for work in [open, held] {
        let (honest, ends) = judge_honest(&work);
        assert_eq!(honest.danger, None);
        let none = Ends {
            finished: true,
            dead_end: None,
        };
        assert_eq!(ends, none);
    }
}

#[test]
fn spin_tells_a_dead_end() {
    if !at_hand("dead ends in SPIN's states", &TOOLS) {
        return;
    }
    // Painted first, both can be done. Washed first, nothing ever makes dry what forbids the paint.
    let wet = vec![text("panel wet")];
    let free = |name: &str| Step {
        after: Some(Vec::new()),
        hold: Some(hold()),
        ..step(name)
    };
    let steps = vec![
        Step {
            sets: wet.clone(),
            ..free("wash")
        },
        Step {
            forbidden_while: wet.clone(),
            ..free("paint")
        },
    ];
    let (_, ends) = judge_honest(&[job("panel job", steps)]);
    assert_eq!((ends.finished, ends.dead_end), (true, Some(1)));
    // A hold that needs what nobody sets cannot be passed at all.
    let steps = vec![Step {
        needs: wet,
        hold: Some(hold()),
        ..step("paint")
    }];
    let (_, ends) = judge_honest(&[job("panel job", steps)]);
    assert_eq!((ends.finished, ends.dead_end), (false, Some(0)));
}

#[test]
fn spin_keeps_waits_and_jobs_apart() {
    if !at_hand("waits and jobs in SPIN's model", &TOOLS) {
        return;
    }
    // The paint dries: a word taken for its beginning ends with the wait, then the masking begins.
    let dry = vec![text("pump open")];
    let paint = Step {
        sets: dry.clone(),
        wait: Some(meanwhile()),
        ..step("paint")
    };
    let mask = Step {
        needs: dry.clone(),
        after: Some(vec![id("paint")]),
        ..step("mask")
    };
    let work = [job("panel job", vec![paint.clone(), mask])];
    assert_eq!(judge_misheard(&work).danger, Some(2));
    // In the order of the file alone, work goes on during the wait.
    let beside = Step {
        needs: dry.clone(),
        ..step("mask")
    };
    let work = [job("panel job", vec![paint.clone(), beside])];
    assert_eq!(judge_misheard(&work).danger, Some(1));
    // In another job it is called when the first one has nothing left.
    let elsewhere = Step {
        needs: dry,
        ..step("fill")
    };
    let work = [
        job("panel job", vec![paint]),
        job("pump job", vec![elsewhere]),
    ];
    assert_eq!(judge_misheard(&work).danger, Some(1));
}

/// Returns the length of the shortest way to a flaw of some kind.
fn shortest(proof: &Proof, is: impl Fn(&Flaw) -> bool) -> Option<usize> {
    let flaws = proof.flaws.iter().filter(|flaw| is(flaw));
    flaws.map(|flaw| flaw.history().len()).min()
}

/// What both said of one piece of work.
#[derive(Debug, Clone, Copy)]
#[allow(dead_code, reason = "the seed is told where the two part")]
struct Both {
    seed: u64,
    reach: Reach,
    /// Explorer, then SPIN.
    misheard: [Option<usize>; 2],
    /// Of SPIN alone: that nobody comes to danger who is understood is what the run's rules are for.
    honest: Option<usize>,
    dead_end: [Option<usize>; 2],
    states: [usize; 2],
    /// What the explorer says where it looks at everything apart, as in large work: how far it reached,
    /// whether a danger and whether a dead end was found.
    apart: (Reach, bool, bool),
}

fn both(seed: u64) -> Both {
    let work = cases::work(seed);
    let proof = prove(&work, &Bound::default());
    let misheard = judge_misheard(&work);
    let (honest, ends) = judge_honest(&work);
    let found = |is: fn(&Flaw) -> bool| shortest(&proof, is);
    let bound = Bound {
        apart: true,
        ..Bound::default()
    };
    let apart = prove(&work, &bound);
    let any = |is: fn(&Flaw) -> bool| apart.flaws.iter().any(is);
    Both {
        seed,
        reach: proof.reach,
        misheard: [
            found(|flaw| matches!(flaw, Flaw::Misheard { .. })),
            misheard.danger,
        ],
        honest: honest.danger,
        dead_end: [
            found(|flaw| matches!(flaw, Flaw::DeadEnd { .. })),
            ends.dead_end,
        ],
        states: [proof.states, misheard.states + honest.states],
        apart: (
            apart.reach,
            any(|flaw| matches!(flaw, Flaw::Misheard { .. })),
            any(|flaw| matches!(flaw, Flaw::DeadEnd { .. })),
        ),
    }
}

impl Both {
    /// Tells whether both agree. Dead ends are the same only where the explorer looked at every order,
    /// and not along the way forward alone.
    fn agree(&self) -> bool {
        let same = |pair: [Option<usize>; 2]| pair[0] == pair[1];
        let ends = self.reach != Reach::Every || same(self.dead_end);
        same(self.misheard) && self.honest.is_none() && ends && self.agree_apart()
    }

    /// Looked at apart, dangers are the same; a dead end that is found is one, and where the way by the
    /// beginning shows that there is none, there is none.
    fn agree_apart(&self) -> bool {
        let (reach, danger, dead_end) = self.apart;
        let is = self.dead_end[1].is_some();
        let shown = reach == Reach::Apart;
        danger == self.misheard[1].is_some() && (!dead_end || is) && !(shown && is && !dead_end)
    }
}

#[test]
fn the_explorer_and_spin_agree() {
    if !at_hand("the explorer against SPIN", &TOOLS) {
        return;
    }
    let next = AtomicU64::new(FIRST);
    let judge = || {
        let seeds = std::iter::repeat_with(|| next.fetch_add(1, Ordering::Relaxed));
        let seeds = seeds.take_while(|seed| *seed < FIRST + CASES);
        seeds.map(both).collect::<Vec<Both>>()
    };
    let workers = thread::available_parallelism().map_or(1, usize::from);
    let all: Vec<Both> = thread::scope(|scope| {
        let workers: Vec<_> = (0..workers).map(|_| scope.spawn(judge)).collect();
        let judged = workers
            .into_iter()
            .flat_map(|worker| worker.join().unwrap());
        judged.collect()
    });
    report(&all);
    let apart: Vec<&Both> = all.iter().filter(|both| !both.agree()).collect();
    assert!(apart.is_empty(), "{apart:#?}");
    assert_eq!(all.len() as u64, CASES);
    let dangerous = all.iter().filter(|both| both.misheard[1].is_some()).count();
    assert!((60..260).contains(&dangerous), "{dangerous} unsafe ones");
}

fn report(all: &[Both]) {
    let mut lengths: BTreeMap<Option<usize>, usize> = BTreeMap::new();
    let mut ends: BTreeMap<Option<usize>, usize> = BTreeMap::new();
    let mut reaches: BTreeMap<String, usize> = BTreeMap::new();
    for both in all {
        *lengths.entry(both.misheard[1]).or_default() += 1;
        *ends.entry(both.dead_end[1]).or_default() += 1;
        *reaches.entry(format!("{:?}", both.reach)).or_default() += 1;
    }
    let states = |of: usize| all.iter().map(|both| both.states[of]).sum::<usize>();
    println!("{} pieces of work; explored {reaches:?}", all.len());
    println!("commands to a danger after a word misheard: {lengths:?}");
    println!("commands to a dead end: {ends:?}");
    let shown = |both: &&Both| both.dead_end[1].is_none() && both.apart.0 == Reach::Apart;
    let found = |both: &&Both| both.dead_end[1].is_some() && both.apart.2;
    println!(
        "apart: no dead end shown of {}, {} found",
        all.iter().filter(shown).count(),
        all.iter().filter(found).count()
    );
    println!("states: {} here, {} by SPIN", states(0), states(1));
}

/// What `check --promela` writes of a procedure is a model that SPIN takes.
#[test]
fn the_command_writes_a_model() {
    let folder = tempfile::tempdir().unwrap();
    let model = folder.path().join("work.pml");
    let written = Command::new(ears::program())
        .args(["check", "procedures/wheel-refit.ron", "--promela"])
        .arg(&model)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&written.stdout);
    assert!(written.status.success(), "{said}");
    assert!(said.contains("work.pml: the model, for SPIN"), "{said}");
    if !at_hand("the written model", &TOOLS) {
        return;
    }
    let mut spin = Command::new("spin");
    let taken = spin.args(["-a", "work.pml"]).current_dir(folder.path());
    let taken = taken.output().unwrap();
    let said = String::from_utf8_lossy(&taken.stdout);
    assert!(taken.status.success(), "{said}");
}
