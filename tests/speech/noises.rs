//! The noises of one part: machines that are made here, a radio, and real ones from clips.

use std::f32::consts::TAU;
use std::path::Path;

use benchcall::rehearse::room::Compressor;
use benchcall::rehearse::room::RATE;
use benchcall::rehearse::room::gaussian;
use benchcall::rehearse::voices::SyntheticVoice;

use crate::Order;
use crate::clips;
use crate::mixing::Track;
use crate::mixing::samples_in;
use crate::mouth::Mouth;
use crate::split::Machine;
use crate::split::RADIO_VOICES;
use crate::texts::RADIO_SENTENCES;

/// How long a made noise goes on before it comes again, in seconds.
const LENGTH: f64 = 120.0;
/// Clips of real noise fade in and out over this many seconds where they are joined.
const FADE: f64 = 0.02;

/// The noises of one part.
#[derive(Debug)]
pub struct Noises {
    pub tracks: Vec<Track>,
}

impl Noises {
    /// Makes those that can be made, and reads those that are in the folder `noise` of `sound`; tells
    /// what is missing.
    pub fn new(order: &Order, sound: Option<&Path>, mouth: &mut Mouth) -> Self {
        let mut tracks = Vec::new();
        for &machine in order.part.share().machines {
            let mut random = order.random(machine.name());
            let samples = match machine {
                Machine::Compressor => compressor(&mut random),
                Machine::Grinder => grinder(&mut random),
                Machine::ImpactWrench => impact_wrench(&mut random),
                Machine::RadioTalk => radio(mouth, &mut random),
            };
            match samples.is_empty() {
                true => order.left_out(&format!("{}, for want of voices", machine.name())),
                false => tracks.push(Track::new(machine.name(), samples)),
            }
        }
        let wanted = order.part.share().classes;
        let found = sound.map(|sound| clips::of_folder(&sound.join("noise")));
        match found {
            None => order.left_out("real noises, for no folder of sound was given"),
            Some(Err(why)) => order.left_out(&format!("real noises. {why}")),
            Some(Ok(files)) => tracks.extend(wanted.iter().filter_map(|class| {
                let of_class = files.iter().filter(|file| file.group() == *class);
                let joined: Result<Vec<Vec<f32>>, String> =
                    of_class.map(|file| Ok(faded(&file.samples()?))).collect();
                match joined {
                    Ok(clips) if !clips.is_empty() => Some(Track::new(class, clips.concat())),
                    Ok(_) => {
                        order.left_out(&format!("{class}, of which there is no clip"));
                        None
                    }
                    Err(why) => {
                        order.left_out(&format!("{class}. {why}"));
                        None
                    }
                }
            })),
        }
        Self { tracks }
    }

    /// The noise whose turn it is, at a ratio; nothing where no noise is wanted or there is none.
    pub fn at(&self, turn: usize, ratio: Option<f64>) -> Option<(&Track, f64)> {
        let track = self.tracks.get(turn % self.tracks.len().max(1))?;
        ratio.map(|ratio| (track, ratio))
    }
}

/// A real clip without digital silence at its ends, at the level of 1 and with soft ends.
fn faded(clip: &[i16]) -> Vec<f32> {
    let first = clip.iter().position(|s| *s != 0).unwrap_or(0);
    let last = clip.iter().rposition(|s| *s != 0).map_or(0, |n| n + 1);
    let clip = clip.get(first..last).unwrap_or_default();
    let mean: f64 = clip.iter().map(|&s| f64::from(s).powi(2)).sum();
    let rms = (mean / clip.len().max(1) as f64).sqrt().max(1.0) as f32;
    let fade = samples_in(FADE) as f32;
    let count = clip.len();
    let faded = clip.iter().enumerate().map(|(n, &sample)| {
        let from_end = n.min(count - 1 - n) as f32;
        f32::from(sample) / rms * (from_end / fade).min(1.0)
    });
    faded.collect()
}

fn compressor(random: &mut fastrand::Rng) -> Vec<f32> {
    let mut machine = Compressor::new(random.u64(..));
    let settled = samples_in(1.0);
    let samples = (0..samples_in(LENGTH) + settled).map(|_| machine.next_sample());
    samples.skip(settled).collect()
}

/// An invented angle grinder: a disc at about 11,000 turns a minute (from memory) whose harmonics
/// whine, the mesh of a gear of 13 teeth, and hiss from the workpiece, half of the power. Under load,
/// which changes every half second to two, it turns slower and hisses more.
fn grinder(random: &mut fastrand::Rng) -> Vec<f32> {
    const TURNS_HZ: f32 = 183.0;
    const TEETH: f32 = 13.0;
    let (mut turn, mut load, mut target, mut until) = (0.0_f32, 0.0_f32, 0.5_f32, 0_usize);
    let mut before = 0.0;
    let samples = (0..samples_in(LENGTH)).map(|n| {
        if n >= until {
            target = random.f32();
            until = n + samples_in(0.5 + 1.5 * random.f64());
        }
        // Load follows within about 0.1 s.
        load += (target - load) / (0.1 * RATE as f32);
        turn = (turn + TURNS_HZ * (1.0 - 0.12 * load) / RATE as f32).fract();
        let angle = TAU * turn;
        let disc: f32 = (1..=10).map(|k| (k as f32 * angle).sin() / k as f32).sum();
        let mesh = (TEETH * angle).sin() + 0.5 * (2.0 * TEETH * angle).sin();
        let white = gaussian(random);
        // Taking a part of the sample before away lifts the high end, as sparks and grit do.
        let hiss = white - 0.6 * before;
        before = white;
        0.5 * disc + 0.5 * mesh + (0.4 + 0.8 * load) * hiss
    });
    samples.collect()
}

/// An invented impact wrench: bursts of 0.8 to 2.5 s with pauses of 0.3 to 0.9 s, in a burst 15 to 25
/// blows a second, each a broadband crack with two short rings, and the hiss of the air motor.
fn impact_wrench(random: &mut fastrand::Rng) -> Vec<f32> {
    /// Frequencies of the rings in hertz (invented).
    const RINGS_HZ: [f32; 2] = [1_150.0, 3_100.0];
    /// The radius of their poles: they fall to a third within 8 ms.
    const RADIUS: f32 = 0.992;
    let mut samples = Vec::new();
    let mut rings = [[0.0_f32; 2]; 2];
    let mut crack = 0.0_f32;
    while samples.len() < samples_in(LENGTH) {
        let burst = samples_in(0.8 + 1.7 * random.f64());
        let pause = samples_in(0.3 + 0.6 * random.f64());
        let rate = 15.0 + 10.0 * random.f32();
        let mut next_blow = 0;
        for n in 0..burst + pause {
            let mut strike = 0.0;
            if n < burst && n >= next_blow {
                // Blows come a little unevenly and are not alike.
                let every = RATE as f32 / rate * (0.9 + 0.2 * random.f32());
                next_blow = n + every as usize;
                strike = 0.7 + 0.6 * random.f32();
                crack = strike;
            }
            // The crack itself falls to a third in 6 ms.
            crack *= 1.0 - 1.0 / (0.006 * RATE as f32);
            let mut sum = crack * gaussian(random);
            for (ring, hz) in rings.iter_mut().zip(RINGS_HZ) {
                let around = 2.0 * RADIUS * (TAU * hz / RATE as f32).cos();
                let rung = strike + around * ring[0] - RADIUS.powi(2) * ring[1];
                *ring = [rung, ring[0]];
                sum += 0.15 * rung;
            }
            let hiss = if n < burst { 0.08 } else { 0.01 };
            samples.push(sum + hiss * gaussian(random));
        }
    }
    samples
}

/// A radio on which two people talk at a time, one fainter: band-limited to 300 to 3,400 Hz and
/// brought to an even level as stations do.
fn radio(mouth: &mut Mouth, random: &mut fastrand::Rng) -> Vec<f32> {
    let length = samples_in(LENGTH);
    let mut sum = vec![0.0_f32; length];
    for (share, shift) in [(1.0, 0), (0.5, 1)] {
        let mut at = 0;
        let mut turn = shift;
        while at < length {
            let mut texts = RADIO_SENTENCES.map(String::from);
            random.shuffle(&mut texts);
            let (engine, name) = RADIO_VOICES[turn % RADIO_VOICES.len()];
            let voice = SyntheticVoice {
                engine,
                name: String::from(name),
                speed: 1.1,
            };
            let Ok(spoken) = mouth.say(&voice, &texts[..4]) else {
                return Vec::new();
            };
            for utterance in spoken {
                for (sum, sample) in sum.iter_mut().skip(at).zip(&utterance.sound) {
                    *sum += share * f32::from(*sample);
                }
                at += utterance.sound.len() + samples_in(0.1 + 0.3 * random.f64());
            }
            turn += 1;
        }
    }
    through_a_loudspeaker(sum)
}

fn through_a_loudspeaker(mut sound: Vec<f32>) -> Vec<f32> {
    let step = |hz: f32| 1.0 - (-TAU * hz / RATE as f32).exp();
    // Two poles at each end.
    for _ in 0..2 {
        let (mut low, mut slow) = (0.0, 0.0);
        for sample in &mut sound {
            low += step(3_400.0) * (*sample - low);
            slow += step(300.0) * (low - slow);
            *sample = low - slow;
        }
    }
    // The level of the last 50 ms, half of which (in decibels) is evened out.
    let mut level = 1.0_f32;
    for sample in &mut sound {
        level += (sample.abs() - level) / (0.05 * RATE as f32);
        *sample /= level.max(30.0).sqrt();
    }
    sound
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rms(samples: &[f32]) -> f32 {
        (samples.iter().map(|s| s * s).sum::<f32>() / samples.len() as f32).sqrt()
    }

    #[test]
    fn the_wrench_strikes_in_bursts() {
        let sound = impact_wrench(&mut fastrand::Rng::with_seed(1));
        let levels: Vec<f32> = sound.chunks(samples_in(0.1)).map(rms).collect();
        let mean = rms(&sound);
        let quiet = levels.iter().filter(|&&l| l < mean * 0.3).count();
        let loud = levels.iter().filter(|&&l| l > mean * 0.7).count();
        assert!(
            quiet * 8 > levels.len() && loud * 2 > levels.len(),
            "{quiet} {loud}"
        );
        // Within a burst, blows stand out of what lies between them 15 to 25 times a second.
        let busy = levels
            .windows(5)
            .position(|w| w.iter().all(|&l| l > mean * 0.7))
            .unwrap();
        let from = busy * samples_in(0.1);
        let burst = &sound[from..from + samples_in(0.5)];
        let fine: Vec<f32> = burst.chunks(samples_in(0.005)).map(rms).collect();
        let peaks = fine
            .windows(2)
            .filter(|w| w[0] < mean * 1.2 && w[1] >= mean * 1.2)
            .count();
        assert!((7..=13).contains(&peaks), "{peaks} blows in half a second");
    }

    #[test]
    fn machines_run_on_without_a_fault_and_differ_by_seed() {
        for make in [compressor, grinder, impact_wrench] {
            let sound = make(&mut fastrand::Rng::with_seed(1));
            assert!(sound.len() >= samples_in(LENGTH));
            assert!(sound.iter().all(|s| s.is_finite()));
            let other = make(&mut fastrand::Rng::with_seed(2));
            assert_ne!(sound[..1_000], other[..1_000]);
            assert_eq!(sound, make(&mut fastrand::Rng::with_seed(1)));
        }
    }

    #[test]
    fn a_loudspeaker_gives_the_middle_of_the_band() {
        let through = |hz: f32| {
            let tone = (0..16_000).map(|n| (TAU * hz * n as f32 / RATE as f32).sin() * 20.0);
            // So faint that the level is left alone.
            rms(&through_a_loudspeaker(tone.collect())[4_000..])
        };
        let middle = through(1_200.0);
        assert!(through(80.0) < middle * 0.15);
        assert!(through(7_500.0) < middle * 0.5);
    }

    #[test]
    fn clips_are_joined_without_clicks_and_without_digital_silence() {
        let clip = [[0; 500].as_slice(), &[8_000; 4_000], &[0; 900]].concat();
        let soft = faded(&clip);
        assert_eq!(soft.len(), 4_000);
        assert!(soft[0] == 0.0 && soft[3_999] == 0.0);
        assert!((soft[2_000] - 1.0).abs() < 1e-3);
        assert!(faded(&[0; 100]).is_empty());
    }
}
