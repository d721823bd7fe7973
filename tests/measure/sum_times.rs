//! How long each of the trade's sums takes, in this build: `cargo run --example sum_times`. The sums of the
//! steps are those of the procedures that come with the program, with their readings in the middle of the
//! limits; the others are called by themselves.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{NoModel, Speech, Sum, Taken, read};
use benchcall::trade::alarm::{Noise, alarm_over};
use benchcall::trade::bolt_pattern::BoltPattern;
use benchcall::trade::contrast::{Colour, contrast};
use benchcall::trade::conversion::convert;
use benchcall::trade::crane::{Boom, check_moment};
use benchcall::trade::dew_point::{dew_point, humidity_by_wet_bulb};
use benchcall::trade::jacking::{End, chocking};
use benchcall::trade::joint::{
    Friction, Head, preload_by_friction, torque_by_friction, torque_for_preload,
};
use benchcall::trade::legibility::{Apparent, letter_height};
use benchcall::trade::lifting::{LegAngle, Legs, limit_by_standard};
use benchcall::trade::lubrication::{ThreadCondition, agree};
use benchcall::trade::mixing::MixRatio;
use benchcall::trade::off_centre::upright_shares;
use benchcall::trade::passes::{GASKET, passes};
use benchcall::trade::quantity::{
    Angle, Force, Humidity, Length, Mass, SoundLevel, Temperature, Volume,
};
use benchcall::trade::rigging::{Eyebolt, eyebolt_share, shackle_share};
use benchcall::trade::torque::TorqueUnit;
use benchcall::trade::wrench::{Between, Tools, Turning};
use benchcall::trade::{Torque, brake};

/// A sum slower than this is named at the end.
const SLOW: Duration = Duration::from_micros(50);

/// Prints the middle of many runs of `sum`, and notes it where it is slow.
fn time(name: &str, slow: &mut Vec<String>, mut sum: impl FnMut()) {
    const RUNS: usize = 501;
    let mut times: Vec<Duration> = (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            sum();
            start.elapsed()
        })
        .collect();
    times.sort_unstable();
    let (middle, most) = (times[RUNS / 2], times[RUNS * 99 / 100]);
    println!(
        "{name:<34} {:>7.1} µs, 99 in 100 within {:>7.1} µs",
        middle.as_secs_f64() * 1e6,
        most.as_secs_f64() * 1e6
    );
    if middle > SLOW {
        slow.push(name.to_owned());
    }
}

fn main() {
    let mut slow = Vec::new();
    steps(&mut slow);
    others(&mut slow);
    match slow.as_slice() {
        [] => println!("None is slower than {SLOW:?}."),
        slow => println!("Slower than {SLOW:?}: {}.", slow.join(", ")),
    }
}

fn steps(slow: &mut Vec<String>) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    let mut seen: Vec<&str> = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        let procedure = read("p", &bytes, &Speech::standard(&NoModel, &CmuDict)).unwrap();
        for step in &procedure.steps {
            let mut taken = Taken::default();
            for reading in &step.readings {
                let middle = f64::midpoint(reading.low, reading.high);
                taken.add(
                    reading,
                    &format!("{middle:.*}", usize::from(reading.decimals)),
                );
            }
            for sum in &step.sums {
                if !seen.contains(&sum.name()) {
                    seen.push(sum.name());
                    time(&format!("step: {}", sum.called()), slow, || {
                        black_box(sum.reckon(black_box(&taken)));
                    });
                }
            }
        }
    }
    let missing: Vec<&&str> = Sum::NAMES
        .iter()
        .filter(|name| !seen.contains(*name))
        .collect();
    assert!(missing.is_empty(), "no example of {missing:?}");
}

fn others(slow: &mut Vec<String>) {
    let torque: Torque = "110 N·m".parse().unwrap();
    let mark: Torque = "1 N·m".parse().unwrap();
    let thread = "M12".parse().unwrap();
    let celsius = Temperature::celsius;
    let kg = Mass::kilograms;
    time("dew point", slow, || {
        black_box(dew_point(celsius(18.0), Humidity::percent(70.0))).ok();
    });
    time("humidity by wet bulb", slow, || {
        black_box(humidity_by_wet_bulb(celsius(20.0), celsius(15.0))).ok();
    });
    time("torque converted", slow, || {
        black_box(convert(torque, TorqueUnit::PoundForceFoot, None)).ok();
    });
    time("passes", slow, || {
        black_box(passes(torque, &GASKET, Some(mark))).ok();
    });
    for bolts in [5, 64] {
        time(&format!("order of {bolts} bolts"), slow, || {
            black_box(BoltPattern::Circle { bolts }.order()).ok();
        });
    }
    time("threads against torque", slow, || {
        let dry = Some(ThreadCondition::Dry);
        black_box(agree(dry, ThreadCondition::Greased));
    });
    time("torque for a preload", slow, || {
        let factors = ThreadCondition::Dry.nut_factors();
        let unit = TorqueUnit::NewtonMetre;
        let force = Force::kilonewtons(36.7);
        black_box(torque_for_preload(
            force,
            Length::millimetres(12.0),
            factors,
            unit,
        ));
    });
    let friction = Friction::new(0.12).unwrap();
    let head = Head::hexagon(thread).unwrap();
    time("preload by friction", slow, || {
        black_box(preload_by_friction(
            torque, thread, head, friction, friction,
        ));
    });
    time("torque by friction", slow, || {
        let force = Force::kilonewtons(36.7);
        black_box(torque_by_friction(force, thread, head, friction, friction));
    });
    time("sling limit", slow, || {
        let angle = LegAngle::FromVertical(Angle::degrees(30.0));
        black_box(limit_by_standard(kg(1000.0), Legs::Two, angle)).ok();
    });
    time("upright shares", slow, || {
        let (first, second) = (Length::millimetres(200.0), Length::millimetres(800.0));
        black_box(upright_shares(kg(350.0), first, second)).ok();
    });
    time("shackle", slow, || {
        black_box(shackle_share(Angle::degrees(30.0))).ok();
    });
    time("eyebolt", slow, || {
        black_box(eyebolt_share(Eyebolt::Shouldered, Angle::degrees(30.0))).ok();
    });
    time("crane by moment", slow, || {
        let (limit, hangs) = (kg(1000.0), kg(368.0));
        black_box(check_moment(
            limit,
            Length::metres(0.9),
            hangs,
            Length::metres(1.1),
        ))
        .ok();
    });
    let boom = Boom {
        pivot_height: Length::metres(1.5),
        length: Length::metres(1.2),
        hook_drop: Length::metres(0.0),
    };
    time("crane's hook", slow, || {
        black_box(boom.hook(Angle::degrees(30.0))).ok();
    });
    time("chocks", slow, || {
        black_box(chocking(End::Front, None));
    });
    time("disc position", slow, || {
        let run_outs = [0.08, 0.05, 0.11, 0.09, 0.12].map(Length::millimetres);
        black_box(brake::best_position(&run_outs)).ok();
    });
    let ratio: MixRatio = "4:1 + 10 % of mix".parse().unwrap();
    time("mix in a cup of 1000 marks", slow, || {
        black_box(ratio.cup_marks(Volume::litres(1.0), Volume::millilitres(1.0))).ok();
    });
    time("letter height", slow, || {
        black_box(letter_height(Length::metres(3.0), Apparent::Preferred)).ok();
    });
    time("contrast", slow, || {
        black_box(contrast(Colour::BLACK, Colour::WHITE));
    });
    time("alarm over noise", slow, || {
        let noise = Noise {
            average: SoundLevel::decibels(68.0),
            lasting: None,
        };
        black_box(alarm_over(noise)).ok();
    });
    let tools = "(wrenches: [(name: \"w\", length: \"450 mm\", lowest: \"40 N·m\", highest: \"200 N·m\", \
                 step: \"1 N·m\", deviation: \"4 %\")])";
    let tools = Tools::from_ron(tools).unwrap();
    time("wrench setting", slow, || {
        black_box(tools.wrenches[0].setting(torque, Between::Nothing, Turning::Clockwise)).ok();
    });
}
