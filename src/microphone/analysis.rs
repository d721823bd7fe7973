//! What a stretch of sound tells about the microphone and the room. Pure.

use realfft::RealFftPlanner;

use crate::hear::level::is_cut_off;
use crate::hear::meter::Meter;

/// A spectrum is taken over half a second: two bins to each Hz.
const OVER: f32 = 0.5;
/// The share of all stretches that count as the room alone, and as speech.
const SHARE: f32 = 0.25;
/// Sound that stays at one value for this long does not come from a microphone, in seconds.
const STUCK: f32 = 0.01;
/// How far mains hum stands over the frequencies beside it, in dB.
const HUM_OVER: f32 = 10.0;
/// Quieter hum than this disturbs nobody, in dBFS.
const HUM_FROM: f32 = -75.0;
const OVERTONES: usize = 6;

/// What was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// In Hz.
    pub rate: u32,
    /// How much sound there was, in seconds.
    pub seconds: f32,
    /// Level of speech and of the room over 100 to 7000 Hz, in dBFS; speech is none where nobody
    /// spoke.
    pub speech: Option<f32>,
    pub noise: f32,
    /// Speech over the room, in dB.
    pub ratio: Option<f32>,
    /// Share of samples at full scale, 0 to 1.
    pub clipped: f32,
    /// Constant part as a share of full scale, −1 to 1.
    pub constant: f32,
    pub hum: Option<Hum>,
    /// Share of the time without any sound at all, 0 to 1, and in how many pieces.
    pub dead: f32,
    pub dead_pieces: usize,
    /// The loudest quarter and the quietest.
    pub loud: Spectrum,
    pub quiet: Spectrum,
}

/// Mains hum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hum {
    /// 50 or 60 Hz.
    pub mains: u32,
    /// Of all its overtones together, in dBFS.
    pub level: f32,
}

/// Powers by frequency.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Spectrum {
    /// Mean square of each bin, where a full square wave is 1.
    pub bins: Vec<f32>,
    /// Between two bins, in Hz.
    pub step: f32,
}

impl Spectrum {
    /// Returns the level between two frequencies, in dBFS, no less than −120.
    pub fn level(&self, from: f32, to: f32) -> f32 {
        decibels(self.power(from, to))
    }

    fn power(&self, from: f32, to: f32) -> f32 {
        let bin = |hertz: f32| ((hertz / self.step).round() as usize).min(self.bins.len());
        self.bins[bin(from)..bin(to)].iter().sum()
    }
}

/// Measures `samples`, captured at `rate` Hz.
pub fn analyse(samples: &[i16], rate: u32) -> Analysis {
    let mut meter = Meter::new(rate);
    for piece in samples.chunks(rate as usize / 10) {
        meter.take(piece, rate);
    }
    let reading = meter.reading();
    let (quiet, loud) = spectra(samples, rate);
    let count = samples.len().max(1) as f32;
    let clipped = samples.iter().filter(|&&s| is_cut_off(s)).count();
    let sum: f64 = samples.iter().map(|&s| f64::from(s)).sum();
    let (dead, dead_pieces) = dead(samples, rate);
    Analysis {
        rate,
        seconds: samples.len() as f32 / rate as f32,
        speech: meter.speech(),
        noise: reading.noise,
        ratio: reading.ratio,
        clipped: clipped as f32 / count,
        constant: (sum / f64::from(count) / 32_768.0) as f32,
        hum: [50, 60]
            .into_iter()
            .filter_map(|mains| hum(&quiet, mains))
            .max_by(|a, b| a.level.total_cmp(&b.level)),
        dead: dead as f32 / count,
        dead_pieces,
        loud,
        quiet,
    }
}

/// Returns the mean spectra of the quietest and of the loudest half seconds.
fn spectra(samples: &[i16], rate: u32) -> (Spectrum, Spectrum) {
    let length = ((rate as f32 * OVER) as usize).max(2);
    let step = rate as f32 / length as f32;
    let transform = RealFftPlanner::<f32>::new().plan_fft_forward(length);
    let window = crate::hear::raised_cosine(length);
    let energy: f32 = window.iter().map(|w| w * w).sum();
    let scale = 2.0 / (length as f32 * energy) / 32_768.0_f32.powi(2);
    let mut all: Vec<Spectrum> = Vec::new();
    for from in (0..samples.len().saturating_sub(length - 1)).step_by(length / 2) {
        let sound = &samples[from..from + length];
        // The constant part is told apart; here it would spill into the hum.
        let mean = sound.iter().map(|&s| f32::from(s)).sum::<f32>() / length as f32;
        let mut weighted: Vec<f32> = sound
            .iter()
            .zip(&window)
            .map(|(&s, weight)| (f32::from(s) - mean) * weight)
            .collect();
        let mut bins = transform.make_output_vec();
        if transform.process(&mut weighted, &mut bins).is_ok() {
            let bins = bins.iter().map(|bin| scale * bin.norm_sqr()).collect();
            all.push(Spectrum { bins, step });
        }
    }
    // Where sound was missing it tells nothing about the room.
    if all
        .iter()
        .any(|one| one.bins.iter().any(|&power| power > 0.0))
    {
        all.retain(|one| one.bins.iter().any(|&power| power > 0.0));
    }
    let strength = |one: &Spectrum| one.power(100.0, 7_000.0);
    all.sort_by(|a, b| strength(a).total_cmp(&strength(b)));
    let count = ((all.len() as f32 * SHARE) as usize).max(1).min(all.len());
    let mean = |some: &[Spectrum]| {
        let mut bins = vec![0.0; length / 2 + 1];
        for one in some {
            for (sum, power) in bins.iter_mut().zip(&one.bins) {
                *sum += power / some.len() as f32;
            }
        }
        Spectrum { bins, step }
    };
    (mean(&all[..count]), mean(&all[all.len() - count..]))
}

/// Looks for hum of `mains` Hz and its overtones.
fn hum(room: &Spectrum, mains: u32) -> Option<Hum> {
    let mut power = 0.0;
    for overtone in 1..=OVERTONES {
        let at = mains as f32 * overtone as f32;
        let line = room.power(at - 3.0, at + 3.5);
        let beside = (room.power(at - 17.0, at - 7.0) + room.power(at + 7.0, at + 17.0)) * 0.325;
        if line > beside * 10f32.powf(HUM_OVER / 10.0) {
            power += line - beside;
        }
    }
    let level = decibels(power);
    (level > HUM_FROM).then_some(Hum { mains, level })
}

/// Returns how many samples stand at one value for long, and in how many pieces.
fn dead(samples: &[i16], rate: u32) -> (usize, usize) {
    let least = (rate as f32 * STUCK) as usize;
    let runs = samples.chunk_by(|a, b| a == b);
    let stuck = runs.filter(|run| run.len() >= least && !is_cut_off(run[0]));
    stuck.fold((0, 0), |(count, pieces), run| {
        (count + run.len(), pieces + 1)
    })
}

fn decibels(power: f32) -> f32 {
    10.0 * power.max(1e-12).log10()
}
