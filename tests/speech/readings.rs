//! Readings: numbers spoken digit by digit, by synthetic voices.

use benchcall::hear::numbers;

use crate::Order;
use crate::commands::ECHO;
use crate::corpus_file::Folder;
use crate::corpus_file::Head;
use crate::corpus_file::NoiseBegins;
use crate::echo::Workshop;
use crate::mixing::Scene;
use crate::mouth::Mouth;
use crate::mouth::label;
use crate::noises::Noises;
use crate::split::SPEEDS;

/// Digits before and after the point.
const FORMATS: [(usize, usize); 5] = [(2, 0), (3, 0), (4, 0), (1, 2), (2, 1)];
/// Decibels above noise; nothing for no noise.
const RATIOS: [Option<f64>; 4] = [None, Some(20.0), Some(10.0), Some(5.0)];
/// Readings in one recording: two pairs that sound alike, two that differ in one digit, and others.
const IN_ONE: usize = 20;
/// Silence between readings, in seconds.
const PAUSES: std::ops::RangeInclusive<f64> = 1.5..=2.5;

/// `3` or `1.2`.
pub fn format_name((whole, decimals): (usize, usize)) -> String {
    match decimals {
        0 => whole.to_string(),
        _ => format!("{whole}.{decimals}"),
    }
}

/// Puts the point in.
fn with_point(digits: &str, (whole, decimals): (usize, usize)) -> String {
    match decimals {
        0 => String::from(digits),
        _ => format!("{}.{}", &digits[..whole], &digits[whole..]),
    }
}

/// So many readings of one format in shuffled order: a fifth of them pairs such as 13 and 30, a fifth
/// pairs that differ in one digit, the rest drawn evenly.
pub fn readings(format: (usize, usize), count: usize, random: &mut fastrand::Rng) -> Vec<String> {
    let length = format.0 + format.1;
    let drawn =
        |random: &mut fastrand::Rng| -> String { (0..length).map(|_| random.digit(10)).collect() };
    let mut all = Vec::new();
    for _ in 0..count / 10 {
        // "thirteen" and "thirty": digits that people who say them in one take for each other.
        let teen = random.char('3'..='9');
        let at = random.usize(..=length - 2);
        let around = drawn(random);
        for pair in [format!("1{teen}"), format!("{teen}0")] {
            all.push(format!("{}{pair}{}", &around[..at], &around[at + 2..]));
        }
    }
    for _ in 0..count / 10 {
        let one = drawn(random);
        let at = random.usize(..length);
        let mut other = one.clone().into_bytes();
        other[at] = b'0' + (other[at] - b'0' + random.u8(1..10)) % 10;
        all.push(one);
        all.extend(String::from_utf8(other));
    }
    while all.len() < count {
        all.push(drawn(random));
    }
    random.shuffle(&mut all);
    all.iter()
        .map(|digits| with_point(digits, format))
        .collect()
}

/// Makes a part's recordings of spoken readings.
///
/// # Errors
///
/// One line where a voice cannot speak or a file cannot be written.
pub fn make(
    order: &Order,
    mouth: &mut Mouth,
    noises: &Noises,
    to: &mut Folder,
) -> Result<(), String> {
    let response = Workshop::usual().response(ECHO);
    let voices = mouth.voices().to_vec();
    let mut n = 0;
    for (v, voice) in voices.iter().enumerate() {
        for (f, &format) in FORMATS.iter().enumerate() {
            for (r, &ratio) in RATIOS.iter().enumerate() {
                n += 1;
                if order.small && (v + f + r) % voices.len() != 0 {
                    continue;
                }
                let mut random = order.random(&format!("readings {n}"));
                let mut voice = voice.clone();
                voice.speed = SPEEDS[random.usize(..SPEEDS.len())];
                let texts: Vec<String> = readings(format, IN_ONE, &mut random)
                    .iter()
                    .filter_map(|reading| numbers::words(reading))
                    .collect();
                let utterances = mouth.say(&voice, &texts)?;
                let noise = noises.at(n, ratio);
                let begins = match random.bool() {
                    true => NoiseBegins::Before,
                    false => NoiseBegins::WithSpeech,
                };
                let in_workshop = n % 2 == 0;
                let scene = Scene {
                    noise,
                    begins,
                    room: in_workshop.then_some(&response[..]),
                };
                let (samples, said) = scene.record(&utterances, PAUSES, &mut random);
                let head = Head {
                    voice: label(&voice),
                    noise_begins: begins,
                    in_workshop,
                    digits: Some(format_name(format)),
                    ..Head::new("readings", order.part).in_noise(noise)
                };
                let name = format!("{n:04}-{}", head.short());
                to.keep(&name, &head, &samples, &said)?;
            }
        }
    }
    println!("{} readings: {}", order.part, to.account());
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_have_their_format_and_their_pairs() {
        for format in FORMATS {
            let all = readings(format, IN_ONE, &mut fastrand::Rng::with_seed(4));
            assert_eq!(all.len(), IN_ONE);
            let plain: Vec<String> = all.iter().map(|r| r.replace('.', "")).collect();
            assert!(plain.iter().all(|r| r.len() == format.0 + format.1));
            assert!(all.iter().all(|r| r.contains('.') == (format.1 > 0)));
            assert!(all.iter().all(|r| numbers::words(r).is_some()));
            let apart = |a: &str, b: &str| a.bytes().zip(b.bytes()).filter(|(x, y)| x != y).count();
            let neighbours = plain
                .iter()
                .filter(|a| plain.iter().any(|b| apart(a, b) == 1))
                .count();
            assert!(neighbours >= 4, "{all:?}");
            let swapped = plain.iter().filter(|a| {
                (0..a.len() - 1).any(|at| {
                    let [tens, teen] = [a.as_bytes()[at], a.as_bytes()[at + 1]];
                    let other = format!("{}{}0{}", &a[..at], char::from(teen), &a[at + 2..]);
                    tens == b'1' && plain.contains(&other)
                })
            });
            assert!(swapped.count() >= 2, "{all:?}");
        }
    }
}
