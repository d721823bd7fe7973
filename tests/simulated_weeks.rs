//! Weeks of waits on virtual clocks: the machine sleeps, loses its power, has its clock set; the waits
//! end at their times by the wall clock, and the person is told of every difference.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::time::Duration;

use benchcall::clock::{Look, MOST_APART, compare, compare_with_record};
use benchcall::procedure::{Lasting, Procedure, Step, StepId, Text, Wait};
use benchcall::record::form::EventForm;
use benchcall::run::{By, Command, Event, Order, Run, Time, decide};
use chrono::TimeDelta;

const WAITS: usize = 10;
const WEEKS: u64 = 4;

fn procedure() -> Procedure {
    let text = |words: String| Text::try_from(words).unwrap();
    let steps = (0..WAITS).map(|number| Step {
        after: Some(Vec::new()),
        wait: Some(Wait {
            name: text(format!("wait {number}")),
            called: None,
            // From about half an hour to five days.
            lasts: Lasting::try_from(format!("{} min", 31 * 2_u32.pow(number as u32))).unwrap(),
            meanwhile: true,
            at_most: None,
            too_late: None,
            warn_before: None,
            cure: None,
        }),
        ..Step::new(
            StepId::try_from(format!("wait-{number}")).unwrap(),
            text("Wait.".into()),
        )
    });
    Procedure::new(
        text("Ten waits".into()),
        text("Volunteers' fire engine (invented data)".into()),
        steps.collect(),
    )
}

/// The machine: two clocks, and the record of a run on its disk.
struct Machine {
    run: Run,
    wall: Time,
    steady: Duration,
    looked: Look,
    record: Vec<(Time, String)>,
    told: Vec<TimeDelta>,
}

impl Machine {
    fn new() -> Machine {
        let wall = "2026-03-23T07:00:00Z".parse().unwrap();
        let steady = Duration::ZERO;
        let mut machine = Machine {
            run: Run::new(procedure()),
            wall,
            steady,
            looked: Look { wall, steady },
            record: Vec::new(),
            told: Vec::new(),
        };
        machine.keep(Event::Began);
        machine
    }

    fn keep(&mut self, event: Event) {
        self.run.apply(&event);
        let line = serde_json::to_string(&EventForm::from(&event)).unwrap();
        self.record.push((self.wall, line));
    }

    fn give(&mut self, command: Command, by: By) -> Vec<Event> {
        let events = decide(&self.run, &Order { command, by }, self.wall).unwrap();
        events.iter().for_each(|event| self.keep(event.clone()));
        events
    }

    /// Both clocks go on.
    fn pass(&mut self, stretch: TimeDelta) {
        self.wall += stretch;
        self.steady += stretch.to_std().unwrap();
    }

    /// What the program does at every look.
    fn look(&mut self) -> Vec<Event> {
        let look = Look {
            wall: self.wall,
            steady: self.steady,
        };
        if let Some(apart) = compare(self.looked, look) {
            self.looked = look;
            self.tell(apart.wall, apart.passed);
        }
        self.give(Command::Tick, By::Clock)
    }

    fn tell(&mut self, wall: Time, passed: Time) {
        self.told.push(wall - passed);
        self.give(Command::ClockDiffers { wall, passed }, By::Clock);
    }

    /// The power fails for a while; then the program reads its record.
    fn restart(&mut self, away: TimeDelta) {
        self.wall += away;
        self.steady = Duration::ZERO;
        let mut run = Run::new(procedure());
        for (_, line) in &self.record {
            let form: EventForm = serde_json::from_str(line).unwrap();
            run.apply(&Event::try_from(form).unwrap());
        }
        assert_eq!(run, self.run, "the record gives the same run");
        self.run = run;
        self.looked = Look {
            wall: self.wall,
            steady: self.steady,
        };
        let last = self.record.last().unwrap().0;
        if let Some(apart) = compare_with_record(last, self.wall) {
            self.tell(apart.wall, apart.passed);
        }
    }
}

/// Lives through a week; `disturbed` has its clock set, sleeps and loses its power. Returns how far every
/// end lay from where it was due by the wall clock, and how late it was noticed.
fn week(seed: u64, disturbed: bool) -> (Machine, Vec<(TimeDelta, TimeDelta)>) {
    let mut random = fastrand::Rng::with_seed(seed);
    let mut machine = Machine::new();
    let end = machine.wall + TimeDelta::days(7);
    let mut dues: Vec<(StepId, Time)> = Vec::new();
    let mut ends = Vec::new();
    while machine.wall < end {
        let begin = machine.run.step().is_some() && random.u32(0..20) == 0;
        if begin {
            let events = machine.give(Command::BeginCountdown, By::Voice);
            let Some(Event::WaitBegan { step, due, .. }) = events.first() else {
                panic!("{events:?}");
            };
            let wait = procedure()
                .steps
                .into_iter()
                .find(|s| s.id == *step)
                .unwrap()
                .wait;
            let lasts = TimeDelta::seconds(wait.unwrap().lasts.seconds());
            assert_eq!(*due, machine.wall + lasts);
            dues.push((step.clone(), machine.wall + lasts));
        }
        let before = machine.told.len();
        let mut set = TimeDelta::zero();
        match random.u32(0..400) {
            0 if disturbed => {
                set = TimeDelta::milliseconds(random.i64(-7_200_000..7_200_000));
                machine.wall += set;
            }
            1 if disturbed => {
                // Asleep: the monotonic clock stands still.
                set = TimeDelta::seconds(random.i64(3..20_000));
                machine.wall += set;
            }
            2 if disturbed => machine.restart(TimeDelta::seconds(random.i64(1..50_000))),
            3 if disturbed => machine.restart(TimeDelta::seconds(random.i64(-3_600..-3))),
            _ => machine.pass(TimeDelta::milliseconds(random.i64(200..60_000))),
        }
        let restarted = machine.told.len() > before;
        for event in machine.look() {
            if let Event::WaitEnded { step, at, .. } = event {
                let (_, due) = dues.iter().find(|(id, _)| *id == step).unwrap();
                ends.push((at - *due, machine.wall - at));
            }
        }
        if set.abs() > MOST_APART {
            assert_eq!(
                machine.told.last(),
                Some(&set),
                "the whole difference is told"
            );
        } else if !restarted {
            assert_eq!(
                machine.told.len(),
                before,
                "nothing is told where nothing was set"
            );
        }
        if machine.run.called_wait().is_some() && random.u32(0..3) == 0 {
            machine.give(Command::NextInstruction, By::Voice);
        }
    }
    (machine, ends)
}

#[test]
fn ten_waits_end_on_time_in_undisturbed_weeks() {
    let mut count = 0;
    for seed in 0..WEEKS {
        let (machine, ends) = week(seed, false);
        assert_eq!(machine.told, [], "the clocks agree all the time");
        count += ends.len();
        for (drift, noticed) in ends {
            assert_eq!(drift, TimeDelta::zero());
            assert!(noticed <= TimeDelta::seconds(60), "{noticed}");
        }
    }
    assert!(count >= 9 * WEEKS as usize, "{count} waits ended");
    println!("{count} waits ended in {WEEKS} undisturbed weeks, drift 0");
}

#[test]
fn ten_waits_end_on_time_by_the_wall_clock_whatever_happens() {
    let (mut count, mut told) = (0, 0);
    for seed in 100..100 + WEEKS {
        let (machine, ends) = week(seed, true);
        count += ends.len();
        told += machine.told.len();
        assert!(ends.iter().all(|(drift, _)| *drift == TimeDelta::zero()));
        for wait in machine.run.waits().filter(|wait| wait.is_running()) {
            assert!(wait.due > machine.wall);
        }
    }
    assert!(count >= 5 * WEEKS as usize, "{count} waits ended");
    assert!(told > 20, "{told} differences were told");
    println!("{count} waits ended in {WEEKS} disturbed weeks, drift 0, {told} differences told");
}
