//! Views as a job on the fire engine brings them; all figures are invented.

use benchcall::show::view::{
    BoltState, BoltView, CautionLine, CircleView, EarsView, ListView, PlanBar, PlanView, SayLine,
    Tone, View, WaitView,
};

/// Every kind of view, by a name.
pub fn all() -> Vec<(&'static str, View)> {
    vec![
        ("step", step()),
        ("tightening", tightening()),
        ("in rows", in_rows()),
        ("cautioned", cautioned()),
        ("hold", hold()),
        ("waiting", waiting()),
        ("due", due()),
        (
            "due-turned",
            View {
                flash: true,
                ..due()
            },
        ),
        ("question", question()),
        ("reading", reading()),
        ("crowded", crowded()),
        ("listed", listed()),
        ("hold-listed", hold_listed()),
        ("parts", parts()),
        ("planned", planned()),
        ("paused", paused()),
        ("stopped", stopped()),
        ("finished", finished()),
    ]
}

fn says(lines: &[(&str, &str, &str)]) -> Vec<SayLine> {
    let line = |(say, does, key): &(&str, &str, &str)| SayLine {
        say: (*say).to_string(),
        does: (*does).to_string(),
        key: (*key).to_string(),
        at_foot: true,
    };
    lines.iter().map(line).collect()
}

fn caution(signal: &str, text: &str) -> CautionLine {
    CautionLine {
        signal: signal.to_string(),
        text: text.to_string(),
    }
}

pub fn circle(bolts: u32, done: &[u32], next: u32) -> CircleView {
    let state = |number| match number {
        _ if number == next => BoltState::Next,
        _ if done.contains(&number) => BoltState::Done,
        _ => BoltState::Open,
    };
    CircleView {
        columns: None,
        torque: "77 N·m".to_string(),
        pass: "pass 2 of 3".to_string(),
        called: "nut".to_string(),
        bolts: (1..=bolts)
            .map(|number| BoltView {
                number,
                state: state(number),
            })
            .collect(),
    }
}

pub fn step() -> View {
    View {
        place: "Refit a road wheel · step 3 of 9".to_string(),
        tone: Tone::Step,
        call: "Wipe both mating faces clean".to_string(),
        detail: String::new(),
        cautions: Vec::new(),
        may_say: says(&[
            ("work complete", "claims the step as done", "Space"),
            (
                "previous instruction",
                "calls the step before again",
                "Left",
            ),
            ("say again", "repeats the call", "A"),
            ("standing by", "pauses", "P"),
            ("read torque", "says the figure and the wrench setting", "T"),
            ("override skip", "skips, with a reason", "K"),
            ("parts list", "what to gather", "L"),
            ("assistance required", "what may be said now", "H"),
            ("voice note", "records a remark", "N"),
            ("stop stop", "stops everything that moves", "Esc"),
        ]),
        heard: "next instruction".to_string(),
        outcome: "Step 3 is called".to_string(),
        taken: true,
        wants_digits: false,
        typed: String::new(),
        circle: None,
        flash: false,
        waits: Vec::new(),
        list: ListView::default(),
        notices: Vec::new(),
        ears: EarsView {
            state: "listening".to_string(),
            listening: true,
            level: 0.55,
            ..EarsView::default()
        },
    }
}

pub fn tightening() -> View {
    View {
        place: "Refit a road wheel · step 7 of 9 · pass 2 of 3".to_string(),
        call: "Tighten nut 4 to 77 N·m".to_string(),
        detail: "Thread dry, 24 mm socket".to_string(),
        circle: Some(circle(5, &[1, 3, 5], 4)),
        heard: "work complete".to_string(),
        outcome: "Nut 2 is done in pass 2".to_string(),
        ..step()
    }
}

pub fn in_rows() -> View {
    View {
        place: "Set valve clearances · step 9 of 9 · pass 2 of 2".to_string(),
        call: "Bolt 5: 9 N·m".to_string(),
        circle: Some(rows(10, 5, &[2, 3, 8], 9)),
        ..tightening()
    }
}

/// Bolts in rows of `columns`.
pub fn rows(bolts: u32, columns: u32, done: &[u32], next: u32) -> CircleView {
    CircleView {
        columns: Some(columns),
        ..circle(bolts, done, next)
    }
}

pub fn cautioned() -> View {
    View {
        place: "Refit a road wheel · step 1 of 9".to_string(),
        call: "Chock the front wheels and lift the rear axle onto stands".to_string(),
        cautions: vec![
            caution(
                "DANGER",
                "A vehicle that rests on a jack alone can fall and crush.",
            ),
            caution(
                "NOTICE",
                "Thin grease where wheel centre meets hub, none near the threads.",
            ),
        ],
        may_say: says(&[
            ("work complete", "claims the step as done", "Space"),
            ("say again", "repeats the call", "A"),
            (
                "assistance required",
                "tells what may be said now and what to do in trouble",
                "H",
            ),
        ]),
        ..step()
    }
}

pub fn hold() -> View {
    View {
        place: "Refit a road wheel · step 6 of 9".to_string(),
        tone: Tone::Hold,
        call: "Is the wheel on the ground?".to_string(),
        may_say: says(&[
            ("wheel on the ground", "opens the hold", "hold Space"),
            (
                "previous instruction",
                "calls the step before again",
                "Left",
            ),
            ("say again", "repeats the question", "A"),
            ("standing by", "pauses", "P"),
            ("assistance required", "what may be said now", "H"),
            ("stop stop", "stops everything that moves", "Esc"),
        ]),
        heard: "next instruction".to_string(),
        outcome: "A hold opens only by its own answer".to_string(),
        taken: false,
        ..step()
    }
}

pub fn waiting() -> View {
    View {
        place: "Prime the rear wing · step 4 of 6".to_string(),
        tone: Tone::Waiting,
        call: "Let the primer flash off before the next coat".to_string(),
        may_say: says(&[
            ("time remaining", "says what is left", "R"),
            ("standing by", "pauses; the wait goes on", "P"),
            ("stop stop", "stops everything that moves", "Esc"),
        ]),
        flash: false,
        waits: vec![wait("flash off, first coat", "12:30", 0.36, false)],
        heard: "begin countdown".to_string(),
        outcome: "The wait began at 14:10".to_string(),
        ..step()
    }
}

pub fn due() -> View {
    View {
        tone: Tone::Due,
        call: "Joint cure is over".to_string(),
        detail: "Since 14:10. Until 15:10 at most. Next: Set the cover on, straight down."
            .to_string(),
        may_say: says(&[
            ("next instruction", "you have heard it: joint cure", "Space"),
            ("add five minutes", "adds it to: joint cure", "E"),
            ("time remaining", "says what is left of every wait", "T"),
            ("stop stop", "stops everything that moves", "Esc"),
        ]),
        waits: vec![
            wait("flash off, first coat", "12:30", 0.36, false),
            wait("joint cure", "over since 14:10", 1.0, true),
        ],
        ..tightening()
    }
}

pub fn wait(name: &str, left: &str, share: f32, over: bool) -> WaitView {
    WaitView {
        name: name.to_string(),
        left: left.to_string(),
        share,
        over,
    }
}

pub fn question() -> View {
    View {
        tone: Tone::Question,
        call: "84 N·m is above 80 N·m. Keep it, or tighten again?".to_string(),
        detail: "Limits of pass 2: 74 N·m to 80 N·m".to_string(),
        may_say: says(&[
            (
                "confirm reading",
                "keeps it, as a deviation on the sheet",
                "Space",
            ),
            ("disregard", "takes the reading back", "D"),
            ("say again", "repeats the question", "A"),
        ]),
        heard: "eight four".to_string(),
        outcome: "Understood as 84 N·m".to_string(),
        ..step()
    }
}

pub fn reading() -> View {
    View {
        call: "Say or key the torque reached on nut 4, in N·m".to_string(),
        wants_digits: true,
        typed: "78.5".to_string(),
        circle: Some(circle(5, &[1, 3, 5], 4)),
        ..question()
    }
}

/// Long words everywhere, and much of everything.
pub fn crowded() -> View {
    let mut view = tightening();
    view.place =
        "Refit a road wheel on the rear axle of the small fire engine, near side, after the \
                  brakes were done · step 7 of 19 · pass 2 of 3"
            .to_string();
    view.call = long_call();
    view.detail = "Not taken: the wheel is off the ground, and tightening to full torque is \
                   forbidden while it is. Lower the axle until the tyre carries the load, then say \
                   wheel on the ground."
        .to_string();
    view.cautions = vec![
        caution(
            "WARNING",
            "A wheel that was tightened in the air can work loose on the road, and the engine can be lost with its crew.",
        ),
        caution(
            "CAUTION",
            "Keep fingers clear of the hub when the tyre comes down on the floor.",
        ),
    ];
    view.heard = "work complete".to_string();
    view.outcome =
        "Not done: first the reading of nut 3 is wanted, which was out of its limits; say \
                    confirm reading, or tighten it again"
            .to_string();
    view.taken = false;
    view.waits = vec![
        wait("sealant under the wing, open time", "2:14", 0.8, false),
        wait("primer on the rear wing", "over since 14:10", 1.0, true),
        wait("adhesive on the door trim", "1 h 05", 0.3, false),
    ];
    view.notices = vec![
        "No microphone: the job goes on by key and pedal; plug one in and it is found".to_string(),
        "No speech engine: calls are only shown; install espeak-ng to hear them".to_string(),
        "The clock was set back by 12 minutes while a wait ran; look at the wait".to_string(),
    ];
    view.ears = EarsView {
        state: "no microphone: the device is busy with another program".to_string(),
        listening: false,
        level: 0.0,
        ..EarsView::default()
    };
    view
}

/// 240 characters.
pub fn long_call() -> String {
    "Lower the axle slowly until the tyre carries the load, take the stands away, look that the chocks \
     still sit tight on both front wheels, then tighten the nuts in star order in three passes and \
     tell the torques reached after the last of them."
        .to_string()
}

pub fn listed() -> View {
    let mut view = tightening();
    view.list.title =
        "Forward: next · back: last · hold forward: choose · hold back: close".to_string();
    view.list.lines = view
        .may_say
        .iter()
        .map(|line| format!("{} — {}", line.say, line.does))
        .collect();
    view.list.marked = Some(2);
    view
}

pub fn hold_listed() -> View {
    let list = listed().list;
    View { list, ..hold() }
}

pub fn planned() -> View {
    let bar = |row, from, to, latest, critical, wait| PlanBar {
        row,
        from,
        to,
        latest,
        critical,
        wait,
    };
    let mut view = step();
    view.list = ListView {
        title: "At 17:25 all is finished.".to_string(),
        lines: vec!["11:05 Clean the plug and put the new…".to_string()],
        marked: None,
        plan: Some(PlanView {
            names: ["bracket paint", "tank job", "pump cover"]
                .map(String::from)
                .to_vec(),
            bars: vec![
                bar(0, 0.0, 0.15, 0.15, true, false),
                bar(0, 0.15, 0.5, 0.5, true, true),
                bar(0, 0.5, 0.62, 0.62, true, false),
                bar(0, 0.62, 0.9, 0.9, true, true),
                bar(0, 0.9, 1.0, 1.0, true, false),
                bar(1, 0.17, 0.25, 0.35, false, false),
                bar(1, 0.25, 0.4, 0.6, false, true),
                bar(1, 0.63, 0.7, 0.9, false, false),
                bar(2, 0.26, 0.36, 0.45, false, false),
            ],
            marks: [
                (0.03, "11:00"),
                (0.36, "13:00"),
                (0.68, "15:00"),
                (0.93, "17:00"),
            ]
            .map(|(at, hour)| (at, hour.to_string()))
            .to_vec(),
            now: 0.06,
        }),
    };
    view
}

pub fn parts() -> View {
    let mut view = step();
    view.list.title = "To gather".to_string();
    view.list.lines = [
        "torque wrench 20 N·m to 200 N·m",
        "24 mm socket",
        "wire brush",
        "two axle stands",
        "trolley jack",
        "four chocks",
        "thin grease",
        "lint-free cloth",
        "chalk",
    ]
    .map(String::from)
    .to_vec();
    view
}

pub fn paused() -> View {
    View {
        tone: Tone::Paused,
        call: "Standing by at step 7, nut 4".to_string(),
        detail: "Nothing counts as done. Waits go on.".to_string(),
        may_say: says(&[
            ("resume procedure", "goes on where you stopped", "Space"),
            ("time remaining", "says what is left of all waits", "R"),
            ("stop stop", "stops everything that moves", "Esc"),
        ]),
        ..tightening()
    }
}

pub fn stopped() -> View {
    View {
        tone: Tone::Stopped,
        call: "Stopped. Make safe what moves.".to_string(),
        detail: "Said at 14:32, in step 7".to_string(),
        circle: None,
        ..paused()
    }
}

pub fn finished() -> View {
    View {
        tone: Tone::Finished,
        place: "Refit a road wheel · finished at 15:20".to_string(),
        call: "The wheel is back on.".to_string(),
        detail:
            "Check the nut torque again after 50 km to 100 km driven. One deviation on the sheet."
                .to_string(),
        may_say: says(&[
            ("work complete", "closes the job", "Space"),
            ("say again", "repeats it", "A"),
        ]),
        circle: None,
        ..step()
    }
}
