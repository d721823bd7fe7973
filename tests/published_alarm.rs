//! Alarm levels against published rules.
#![allow(clippy::unwrap_used, clippy::expect_used)]

#[macro_use]
#[path = "published/count.rs"]
mod count;

use benchcall::trade::alarm::{Alarm, Noise, alarm_over};
use benchcall::trade::quantity::SoundLevel;

fn alarm(average: f64, lasting: Option<f64>) -> Alarm {
    let noise = Noise {
        average: SoundLevel::decibels(average),
        lasting: lasting.map(SoundLevel::decibels),
    };
    alarm_over(noise).unwrap().result
}

fn sound(at_least: f64) -> Alarm {
    Alarm::Sound {
        at_least: SoundLevel::decibels(at_least),
    }
}

/// Source: NFPA 72 (2002) 7.4.2.1, as a maker's manual quotes it: at least 15 dB above the average or 5
/// dB above a maximum of at least 60 s, whichever is greater. NFPA 72 (2019) table A.18.4.4: business
/// 54 dB(A), as a trade magazine quotes it, and its 60 dB(A) for education at 45 dB(A), which ISO 7731
/// lifts to 65.
#[test]
fn the_greater_of_the_two_published_margins_holds() {
    assert_eq!(alarm(54.0, None), sound(69.0));
    assert_eq!(alarm(68.0, None), sound(83.0));
    assert_eq!(alarm(68.0, Some(77.0)), sound(83.0));
    assert_eq!(alarm(68.0, Some(78.0)), sound(83.0));
    assert_eq!(alarm(68.0, Some(79.0)), sound(84.0));
    assert_eq!(alarm(45.0, None), sound(65.0));
}

/// Source: NUREG-0700 1.3.11-17: auditory signals should not exceed 90 dB(A); ISO 7731 (the text of
/// GOST R ISO 7731): over 100 dB(A) of noise signals to the eye as well.
#[test]
fn beyond_the_published_ceiling_the_screen_flashes() {
    assert_eq!(alarm(75.0, None), sound(90.0));
    assert!(matches!(alarm(75.5, None), Alarm::Flash { .. }));
    assert!(matches!(alarm(95.0, None), Alarm::Flash { needed } if needed.in_decibels() == 110.0));
    assert!(matches!(alarm(100.5, None), Alarm::Flash { .. }));
    assert!(matches!(alarm(60.0, Some(100.5)), Alarm::Flash { .. }));
}
