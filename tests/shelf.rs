//! Procedures that are not open and are asked for while the work goes on: by the rules of the run, through
//! the whole loop by voice and by pedal, and over a restart.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::path::Path;
use std::sync::mpsc::{self, Receiver, Sender};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use benchcall::bench::{Bench, Equipment, Follower, JobFile, Unended, Waking};
use benchcall::clock::Clock;
use benchcall::dictionary::CmuDict;
use benchcall::hear::{EarNews, Heard};
use benchcall::plan;
use benchcall::procedure::{self, NoModel, Procedure, Speech};
use benchcall::record::Store;
use benchcall::run::{By, Command, Event, Opened, Order, Run, Time, decide, sayable};
use benchcall::show::keys::{Edge, Key, Keys, Stroke};
use benchcall::show::terminal;
use benchcall::show::view::View;
use benchcall::show::{Face, FaceNews, moment};
use benchcall::tools::Kit;
use benchcall::trace::Line;
use benchcall::wording::Wording;
use chrono::TimeDelta;

const PATIENCE: Duration = Duration::from_secs(60);

/// Oil that drains: nothing else of it can be done meanwhile.
const DRAIN: &str = r#"(
    title: "Change the pump oil",
    subject: "Volunteers' fire engine, pump (invented data)",
    called: "pump oil",
    conditions: ["drain plug out"],
    steps: [
        (id: "open", say: "Take the plug out.", sets: ["drain plug out"],
         wait: (name: "draining", lasts: "25 min")),
        (id: "close", say: "Put the plug in.", clears: ["drain plug out"],
         hold: (ask: "Is it tight?", answer: "plug seated tight")),
    ],
)"#;

const HOSES: &str = r#"(
    title: "Look at the hoses",
    subject: "Volunteers' fire engine, hoses (invented data)",
    called: "hose inspection",
    steps: [
        (id: "unroll", say: "Unroll the first hose."),
        (id: "roll", say: "Roll it up."),
    ],
)"#;

/// Takes two people, and the open job one.
const LADDER: &str = r#"(
    title: "Take the ladder down",
    subject: "Volunteers' fire engine, ladder (invented data)",
    called: "ladder removal",
    steps: [(id: "down", say: "Lift the ladder down together.", people: 2)],
)"#;

/// Safe by itself; beside the oil one misheard word lets the pump run without oil.
const PUMPING: &str = r#"(
    title: "Try the pump",
    subject: "Volunteers' fire engine, pump (invented data)",
    called: "pumping trial",
    conditions: ["oil level uncertain", "pump turning"],
    steps: [
        (id: "look", say: "Look at the oil level."),
        (id: "start", say: "Start the pump.", sets: ["pump turning"]),
        (id: "end", say: "Stop the pump.", clears: ["pump turning"]),
    ],
)"#;

/// Must not be touched while the pump turns.
const BELT: &str = r#"(
    title: "Clean the pump belt",
    subject: "Volunteers' fire engine, pump (invented data)",
    called: "belt cleaning",
    conditions: ["pump turning"],
    steps: [(id: "clean", say: "Clean the belt.", forbidden_while: ["pump turning"])],
)"#;

fn read(text: &str) -> Procedure {
    let speech = Speech::standard(&NoModel, &CmuDict);
    procedure::read("work.ron", text.as_bytes(), &speech).unwrap()
}

fn shelved(name: &str, text: &str) -> Opened {
    Opened {
        file: name.into(),
        text: text.into(),
        procedure: read(text),
    }
}

fn start() -> Time {
    "2026-05-04T07:00:00Z".parse().unwrap()
}

/// A run of `open` with `shelf` beside it that has begun.
fn run(open: &str, shelf: &[Opened]) -> Run {
    let mut run = Run::new(read(open));
    run.lay_on_shelf(Arc::new(shelf.to_vec()));
    give(&mut run, Command::Begin, By::Program).unwrap();
    run
}

fn give(run: &mut Run, command: Command, by: By) -> Result<Vec<Event>, String> {
    let events = decide(run, &Order { command, by }, start()).map_err(|no| no.why)?;
    events.iter().for_each(|event| run.apply(event));
    Ok(events)
}

fn titles(run: &Run) -> Vec<String> {
    run.procedures().map(|one| one.title.to_string()).collect()
}

#[test]
fn a_name_is_asked_back_and_only_opens() {
    let hoses = shelved("hoses.ron", HOSES);
    let mut run = run(DRAIN, std::slice::from_ref(&hoses));
    let said = sayable::understand(&run, "hose inspection");
    assert_eq!(said, Some(Command::AskFor(0)));
    let ask = Command::AskFor(0);
    let may_say = |run: &Run| {
        let all = sayable::may_say(run);
        all.into_iter().find(|one| one.say == "hose inspection")
    };
    assert_eq!(may_say(&run).unwrap().command, ask);

    // Heard once it is asked back; said again it counts.
    let events = give(&mut run, ask.clone(), By::Voice).unwrap();
    assert!(matches!(events[..], [Event::Doubted { .. }]), "{events:?}");
    let events = give(&mut run, ask.clone(), By::Voice).unwrap();
    assert!(
        matches!(&events[..], [Event::OpeningAsked { file, .. }] if file == "hoses.ron"),
        "{events:?}"
    );
    // Until it is judged the work goes on, and nothing else is asked for.
    assert_eq!(titles(&run), ["Change the pump oil"]);
    assert_eq!(may_say(&run), None);
    assert!(give(&mut run, ask, By::Key).is_err());
    give(&mut run, Command::BeginCountdown, By::Voice).unwrap();

    let called = run.step().unwrap().id.clone();
    give(&mut run, Command::Open(Box::new(hoses)), By::Program).unwrap();
    assert_eq!(titles(&run), ["Change the pump oil", "Look at the hoses"]);
    assert_eq!(run.state().opening, None);
    assert_eq!(run.state().job, 0);
    assert_eq!(run.step().unwrap().id, called, "nothing else is called");
    // The same name now moves there, and the plan knows the new steps.
    assert_eq!(may_say(&run).unwrap().command, Command::MoveTo(1));
    let planned = plan::order(&run, start());
    assert_eq!(planned, [(1, 0), (1, 1), (0, 1)]);
    give(&mut run, Command::MoveTo(1), By::Voice).unwrap();
    assert_eq!(run.step().unwrap().id.to_string(), "unroll");
}

#[test]
fn what_is_not_safe_stays_unopened() {
    let mut run = run(DRAIN, &[shelved("hoses.ron", HOSES)]);
    give(&mut run, Command::AskFor(0), By::Key).unwrap();
    let before = run.clone();
    let why = || "It is not safe.".to_string();
    give(&mut run, Command::NotOpened { why: why() }, By::Program).unwrap();
    assert_eq!(titles(&run), ["Change the pump oil"]);
    assert_ne!(run, before);
    // It can be asked for again.
    assert!(give(&mut run, Command::AskFor(0), By::Key).is_ok());
    // Neither is anything opened that nobody asked for.
    give(&mut run, Command::NotOpened { why: why() }, By::Program).unwrap();
    assert!(give(&mut run, Command::NotOpened { why: why() }, By::Program).is_err());
}

#[test]
fn what_waits_and_stops_opens_nothing() {
    let mut run = run(DRAIN, &[shelved("hoses.ron", HOSES)]);
    give(&mut run, Command::Stop, By::Voice).unwrap();
    for by in [By::Voice, By::Voice, By::Key] {
        assert!(give(&mut run, Command::AskFor(0), by).is_err());
    }
}

#[test]
fn only_what_could_begin_now_is_offered() {
    let belt = BELT.replace("pump turning", "drain plug out");
    let shelf = [
        shelved("ladder.ron", LADDER),
        shelved("hoses.ron", HOSES),
        shelved("belt.ron", &belt),
    ];
    let mut run = run(DRAIN, &shelf);
    assert_eq!(run.fit_meanwhile(), [1, 2]);
    // The open drain forbids the belt; nobody else is there for the ladder.
    give(&mut run, Command::BeginCountdown, By::Voice).unwrap();
    let wait = run.next_wake().unwrap();
    let tick = Order {
        command: Command::Tick,
        by: By::Clock,
    };
    assert!(decide(&run, &tick, wait).is_ok());
    give(
        &mut run,
        Command::SkipBecause(benchcall::run::SkipReason::NotRequired),
        By::Key,
    )
    .unwrap_err();
    let ended = decide(&run, &tick, wait + TimeDelta::seconds(1)).unwrap();
    ended.iter().for_each(|event| run.apply(event));
    give(&mut run, Command::WorkComplete, By::Voice).unwrap();
    assert_eq!(run.fit_meanwhile(), [1]);
}

/// A face that keeps what it shows.
#[derive(Clone, Default)]
struct Shown(Arc<Mutex<Option<View>>>);

impl Face for Shown {
    fn show(&mut self, view: &View, _: f32) {
        *self.0.lock().unwrap() = Some(view.clone());
    }
}

/// The loop with everything but sound, and who talks to it.
struct Loop {
    wakings: Sender<Waking>,
    lines: Receiver<Line>,
    shown: Shown,
    working: JoinHandle<bool>,
}

impl Loop {
    fn start(data: &Path, open: &str, shelf: &[(&str, &str)], unended: Unended) -> Loop {
        let (wakings, awake) = mpsc::channel();
        let (line, lines) = mpsc::channel();
        let shown = Shown::default();
        let follower: Follower = Box::new(move |one: &Line| {
            let _ = line.send(one.clone());
            Ok(())
        });
        let shelf = shelf.iter().map(|(name, text)| shelved(name, text));
        let equipment = Equipment {
            face: Box::new(shown.clone()),
            ears: None,
            voice: None,
            keys: Keys::new(),
            clock: Clock::Wall,
            notices: Vec::new(),
            followers: vec![follower],
            until_done: true,
            wording: Wording::default(),
            kit: Kit::default(),
            room: None,
            shelf: Arc::new(shelf.collect()),
            news: wakings.clone(),
        };
        let file = JobFile {
            name: "open.ron".into(),
            text: open.into(),
            procedure: read(open),
        };
        let store = Store::open(data).unwrap();
        let bench = Bench::open(store, vec![file], unended, equipment).unwrap();
        let working = thread::spawn(move || bench.work(&awake));
        Loop {
            wakings,
            lines,
            shown,
            working,
        }
    }

    fn hear(&self, text: &str) {
        let heard = Heard {
            text: text.into(),
            is_reading: false,
            score: 0.0,
            sure: true,
            is_part: false,
        };
        self.wakings
            .send(Waking::Ears(EarNews::Heard(heard)))
            .unwrap();
    }

    #[track_caller]
    fn until(&self, event: &str) -> Line {
        let mut seen = Vec::new();
        while let Ok(line) = self.lines.recv_timeout(PATIENCE) {
            if line.event == event {
                return line;
            }
            seen.push(line.event);
        }
        panic!("no \"{event}\" after {seen:?}");
    }

    fn key(&self, key: Key, edge: Edge) {
        let at = moment();
        let stroke = FaceNews::Stroke(Stroke { key, edge, at });
        self.wakings.send(Waking::Face(stroke)).unwrap();
    }

    /// The view, as soon as it is as wanted.
    #[track_caller]
    fn view(&self, wanted: impl Fn(&View) -> bool) -> View {
        for _ in 0..600 {
            let view = self.shown.0.lock().unwrap().clone();
            if let Some(view) = view.filter(|view| wanted(view)) {
                return view;
            }
            thread::sleep(Duration::from_millis(20));
        }
        panic!("never shown: {:?}", self.shown.0.lock().unwrap());
    }

    fn end(self) -> bool {
        let _ = self.wakings.send(Waking::Interrupt);
        self.working.join().unwrap()
    }
}

#[test]
fn the_whole_loop_opens_by_voice_and_by_pedal_and_finds_it_again() {
    let data = tempfile::tempdir().unwrap();
    let shelf = [("hoses.ron", HOSES), ("ladder.ron", LADDER)];
    let bench = Loop::start(data.path(), DRAIN, &shelf, Unended::BeginAnew);
    bench.hear("begin countdown");
    bench.until("wait began");
    let view = bench.view(|view| view.detail.contains("can be opened"));
    assert_eq!(view.detail, "Hose inspection can be opened meanwhile.");

    bench.hear("hose inspection");
    bench.until("asked back");
    let view = bench.view(|view| view.outcome.contains('?'));
    assert_eq!(
        view.outcome,
        "Open \"Look at the hoses\"? Say hose inspection again."
    );
    bench.hear("hose inspection");
    bench.until("opening asked");
    let line = bench.until("opened");
    assert_eq!(line.by, "program");
    let view = bench.view(|view| view.outcome.starts_with("Open:"));
    assert!(
        view.outcome
            .ends_with("Say hose inspection to go on with it.")
    );
    assert_eq!(line.step.unwrap().to_string(), "open");

    // By the pedal: the list, then its line.
    bench.key(Key::PageUp, Edge::Down);
    let view = bench.view(|view| view.list.marked.is_some());
    bench.key(Key::PageUp, Edge::Up);
    let ladder = |line: &String| line.contains("ladder removal");
    let at = view.list.lines.iter().position(ladder).unwrap();
    let shown = terminal::render(&view, 100, 60).join("\n");
    assert!(shown.contains("ladder removal"), "{shown}");
    bench.key(Key::Choice(at), Edge::Down);
    bench.key(Key::Choice(at), Edge::Up);
    bench.until("opening asked");
    bench.until("opened");
    assert!(!bench.end());

    // Started again without a shelf: what was opened is open.
    let bench = Loop::start(data.path(), DRAIN, &[], Unended::Resume);
    bench.until("resumed job");
    bench.hear("ladder removal");
    let line = bench.until("moved");
    assert_eq!(line.step.unwrap().to_string(), "down");
    bench.hear("hose inspection");
    assert_eq!(bench.until("moved").step.unwrap().to_string(), "unroll");
    bench.end();
}

#[test]
fn the_whole_loop_refuses_what_is_not_safe_beside_the_work() {
    let data = tempfile::tempdir().unwrap();
    let shelf = [("belt.ron", BELT), ("hoses.ron", HOSES)];
    let bench = Loop::start(data.path(), PUMPING, &shelf, Unended::BeginAnew);
    for _ in 0..2 {
        bench.hear("belt cleaning");
    }
    bench.until("opening refused");
    let view = bench.view(|view| view.outcome.contains("not opened"));
    assert!(
        view.outcome.contains("One misheard word at step `end`"),
        "{}",
        view.outcome
    );
    // It is left as it was, and something else can be asked for.
    for _ in 0..2 {
        bench.hear("hose inspection");
    }
    bench.until("opened");
    bench.end();
}

/// The program ended while it was looked at: it is looked at again, or the person is told that it cannot be.
#[test]
fn asking_survives_a_restart() {
    for shelf in [&[("hoses.ron", HOSES)][..], &[]] {
        let data = tempfile::tempdir().unwrap();
        let store = Store::open(data.path()).unwrap();
        let mut job = store.begin("open.ron", DRAIN, chrono::Utc::now()).unwrap();
        let mut run = Run::new(read(DRAIN));
        run.lay_on_shelf(Arc::new(vec![shelved("hoses.ron", HOSES)]));
        for (command, by) in [(Command::Begin, By::Program), (Command::AskFor(0), By::Key)] {
            let events = give(&mut run, command, by).unwrap();
            let entry = benchcall::record::Entry {
                at: chrono::Utc::now(),
                by: by.word().into(),
                heard: None,
                score: None,
                events,
            };
            job.append(&entry).unwrap();
        }
        drop((job, store));
        let bench = Loop::start(data.path(), DRAIN, shelf, Unended::Resume);
        bench.until(match shelf.is_empty() {
            true => "opening refused",
            false => "opened",
        });
        bench.end();
    }
}

/// The glue takes hours: what begins it brings the finish forward, though wiping is nearer.
const RAIL: &str = r#"(
    title: "Clean the hand rail and glue the lid",
    subject: "Volunteers' fire engine (figures invented)",
    steps: [
        (id: "wash", say: "Wash the rail.", after: [], usual: "10 min"),
        (id: "wipe", say: "Wipe the rail.", after: [], usual: "10 min"),
        (id: "glue", say: "Glue the lid.", after: [], usual: "10 min",
         wait: (name: "glue", lasts: "5 h", meanwhile: true)),
        (id: "fit", say: "Fit the lid.", after: ["glue"], usual: "10 min"),
    ],
)"#;

/// The order is planned beside the loop, and taken up when it comes.
#[test]
fn other_work_follows_the_plan_that_is_made_beside_the_loop() {
    let data = tempfile::tempdir().unwrap();
    let bench = Loop::start(data.path(), RAIL, &[], Unended::BeginAnew);
    let other = |view: &View| {
        let mut lines = view.may_say.iter();
        let other = lines.find(|line| line.say == "different work");
        other.map(|line| line.does.clone())
    };
    bench.view(|view| other(view).as_deref() == Some("meanwhile: Glue the lid."));
    bench.hear("different work");
    assert_eq!(bench.until("moved").step.unwrap().to_string(), "glue");
    bench.end();
}
