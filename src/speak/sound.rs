//! A piece of mono sound in memory: read from WAV, trimmed, brought to another rate, measured.

use std::time::Duration;

use rubato::Async;
use rubato::FixedAsync;
use rubato::Resampler;
use rubato::SincInterpolationParameters;
use rubato::SincInterpolationType;
use rubato::WindowFunction;
use rubato::audioadapter_buffers::direct::InterleavedSlice;

/// Rates of sound that anything here can meet, in samples a second.
const RATES: std::ops::RangeInclusive<u32> = 4_000..=768_000;
/// What lies this far below the loudest sample is silence (−45 dB).
const SILENCE_BELOW_PEAK: i32 = 178;
/// Silence that is left at each end, so that a soft first sound is not cut.
const MARGIN: Duration = Duration::from_millis(10);
/// The length over which a level is taken; shorter than a syllable, longer than a pitch period.
const LEVEL_FRAME: Duration = Duration::from_millis(20);
/// Frames this far below the loudest frame are pauses (−20 dB), as a factor on power.
const PAUSE_BELOW_LOUDEST: f64 = 0.01;

/// A piece of mono sound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sound {
    /// Samples a second.
    pub rate: u32,
    /// Full scale is the whole range of `i16`.
    pub samples: Vec<i16>,
}

impl Sound {
    /// Reads a WAV file of 16-bit samples; several channels are averaged.
    ///
    /// A file that is shorter than its header says is taken as far as it goes: an engine that
    /// writes to a pipe does not know the length beforehand. A wrong figure of bytes a second is
    /// not minded, for some engines write one.
    ///
    /// # Errors
    ///
    /// One line where it is not WAV, or WAV of another kind.
    pub fn from_wav(bytes: &[u8]) -> Result<Self, String> {
        let bytes = with_sizes_put_right(bytes);
        let mut reader =
            hound::WavReader::new(&bytes[..]).map_err(|e| format!("No WAV sound: {e}"))?;
        let spec = reader.spec();
        if spec.sample_format != hound::SampleFormat::Int || spec.bits_per_sample != 16 {
            return Err(format!(
                "WAV sound of {} bits where 16-bit integers are needed",
                spec.bits_per_sample
            ));
        }
        if !RATES.contains(&spec.sample_rate) {
            return Err(format!(
                "WAV sound at {} samples a second",
                spec.sample_rate
            ));
        }
        let all: Vec<i16> = reader.samples().map_while(Result::ok).collect();
        let channels = usize::from(spec.channels.max(1));
        let samples = all.chunks_exact(channels).map(mean).collect();
        Ok(Self {
            rate: spec.sample_rate,
            samples,
        })
    }

    /// Without the silence before and after, but for 10 ms.
    #[must_use]
    pub fn trimmed(mut self) -> Self {
        let loudest = self.samples.iter().map(|&s| i32::from(s).abs()).max();
        let floor = loudest.unwrap_or(0) / SILENCE_BELOW_PEAK;
        let is_sound = |s: &i16| i32::from(*s).abs() > floor;
        let (Some(first), Some(last)) = (
            self.samples.iter().position(is_sound),
            self.samples.iter().rposition(is_sound),
        ) else {
            self.samples.clear();
            return self;
        };
        let margin = samples_in(MARGIN, self.rate);
        self.samples
            .truncate(last.saturating_add(margin + 1).min(self.samples.len()));
        self.samples.drain(..first.saturating_sub(margin));
        self
    }

    /// At another rate, with what the lower of both cannot carry filtered out.
    ///
    /// # Errors
    ///
    /// One line where the resampler refuses the pair of rates.
    pub fn at_rate(self, rate: u32) -> Result<Self, String> {
        if rate == self.rate || self.samples.is_empty() {
            return Ok(Self { rate, ..self });
        }
        let refused = |e: &dyn std::fmt::Display| {
            format!("Cannot bring sound from {} Hz to {rate} Hz: {e}", self.rate)
        };
        // Enough for speech: flat to 85 % of the lower rate's half, images below −60 dB.
        let filter = SincInterpolationParameters::new(64, WindowFunction::BlackmanHarris2)
            .interpolation(SincInterpolationType::Linear);
        let ratio = f64::from(rate) / f64::from(self.rate);
        let mut resampler = Async::<f32>::new_sinc(ratio, 1.0, &filter, 1024, 1, FixedAsync::Input)
            .map_err(|e| refused(&e))?;
        let input: Vec<f32> = self.samples.iter().map(|&s| f32::from(s)).collect();
        let frames = input.len();
        let input = InterleavedSlice::new(&input, 1, frames).map_err(|e| refused(&e))?;
        let output = resampler
            .process_all(&input, frames, None)
            .map_err(|e| refused(&e))?;
        Ok(Self {
            rate,
            samples: output.take_data().into_iter().map(to_sample).collect(),
        })
    }

    /// How long it lasts.
    #[must_use]
    pub fn length(&self) -> Duration {
        Duration::from_secs_f64(self.samples.len() as f64 / f64::from(self.rate.max(1)))
    }
}

/// Root mean square of the samples while somebody speaks, 0 to 1 of full scale: over the frames of
/// 20 ms that are not more than 20 dB below the loudest of them, so that pauses do not count.
#[must_use]
pub fn active_rms(samples: &[i16], rate: u32) -> f64 {
    let frame = samples_in(LEVEL_FRAME, rate).max(1);
    let powers: Vec<f64> = samples.chunks(frame).map(power).collect();
    let loudest = powers.iter().copied().fold(0.0, f64::max);
    let active: Vec<f64> = powers
        .into_iter()
        .filter(|&p| p > 0.0 && p >= loudest * PAUSE_BELOW_LOUDEST)
        .collect();
    if active.is_empty() {
        return 0.0;
    }
    (active.iter().sum::<f64>() / active.len() as f64).sqrt()
}

/// Mean power, 0 to 1 of full scale.
#[must_use]
pub fn power(samples: &[i16]) -> f64 {
    let sum: f64 = samples.iter().map(|&s| f64::from(s).powi(2)).sum();
    sum / (samples.len().max(1) as f64 * f64::from(i16::MAX).powi(2))
}

/// The nearest sample, brought into range.
#[must_use]
pub fn to_sample(value: f32) -> i16 {
    // A cast from float to integer saturates.
    value.round() as i16
}

/// How many samples last as long as `time`.
#[must_use]
pub fn samples_in(time: Duration, rate: u32) -> usize {
    (time.as_secs_f64() * f64::from(rate)).round() as usize
}

/// A WAV file whose bytes a second and bytes a frame, where they stand at their usual place, agree
/// with its rate, channels and bits, from which they follow.
fn with_sizes_put_right(bytes: &[u8]) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    let Some(head) = bytes.first_chunk_mut::<36>() else {
        return bytes;
    };
    if head[12..16] == *b"fmt " {
        let channels = u16::from_le_bytes([head[22], head[23]]);
        let rate = u32::from_le_bytes([head[24], head[25], head[26], head[27]]);
        let bits = u16::from_le_bytes([head[34], head[35]]);
        let frame = channels.wrapping_mul(bits / 8);
        head[28..32].copy_from_slice(&rate.wrapping_mul(u32::from(frame)).to_le_bytes());
        head[32..34].copy_from_slice(&frame.to_le_bytes());
    }
    bytes
}

fn mean(frame: &[i16]) -> i16 {
    let sum: i32 = frame.iter().map(|&s| i32::from(s)).sum();
    // The mean of values of `i16` is one.
    (sum / frame.len().max(1) as i32) as i16
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(hz: f64, rate: u32, seconds: f64, peak: f64) -> Sound {
        let count = (seconds * f64::from(rate)) as usize;
        let step = std::f64::consts::TAU * hz / f64::from(rate);
        Sound {
            rate,
            samples: (0..count)
                .map(|n| ((n as f64 * step).sin() * peak) as i16)
                .collect(),
        }
    }

    /// The share of a sound, in dB, that is not the pure tone of `hz`.
    fn rest_db(sound: &Sound, hz: f64) -> f64 {
        let step = std::f64::consts::TAU * hz / f64::from(sound.rate);
        let (mut s, mut c, mut all) = (0.0, 0.0, 0.0);
        let middle = &sound.samples[sound.samples.len() / 4..sound.samples.len() * 3 / 4];
        for (n, &sample) in middle.iter().enumerate() {
            let value = f64::from(sample);
            s += value * (n as f64 * step).sin();
            c += value * (n as f64 * step).cos();
            all += value * value;
        }
        let of_tone = (s * s + c * c) * 2.0 / middle.len() as f64;
        10.0 * ((all - of_tone).max(1e-9) / all).log10()
    }

    #[test]
    fn a_tone_keeps_its_pitch_level_and_purity_at_another_rate() {
        for (from, to) in [
            (22_050, 48_000),
            (22_050, 44_100),
            (48_000, 16_000),
            (8_000, 16_000),
        ] {
            let before = tone(1_000.0, from, 1.0, 10_000.0);
            let after = before.clone().at_rate(to).unwrap();
            assert!(
                after.samples.len().abs_diff(to as usize) <= 1,
                "{from} to {to}"
            );
            let change = 10.0 * (power(&after.samples) / power(&before.samples)).log10();
            assert!(change.abs() < 0.1, "{from} to {to}: {change} dB");
            let rest = rest_db(&after, 1_000.0);
            assert!(rest < -55.0, "{from} to {to}: {rest} dB");
        }
    }

    #[test]
    fn what_the_lower_rate_cannot_carry_is_filtered_out() {
        let high = tone(11_000.0, 48_000, 0.5, 10_000.0)
            .at_rate(16_000)
            .unwrap();
        let middle = &high.samples[1_000..7_000];
        assert!(power(middle) < 1e-7, "{}", power(middle));
    }

    #[test]
    fn silence_is_trimmed_from_both_ends_and_a_margin_stays() {
        let mut sound = tone(500.0, 16_000, 0.5, 8_000.0);
        let mut samples = vec![3; 4_000];
        samples.append(&mut sound.samples);
        samples.extend(vec![-3; 9_000]);
        let trimmed = Sound {
            rate: 16_000,
            samples,
        }
        .trimmed();
        let length = trimmed.length().as_secs_f64();
        assert!((0.51..=0.53).contains(&length), "{length}");
    }

    #[test]
    fn silence_alone_is_nothing() {
        let silence = Sound {
            rate: 16_000,
            samples: vec![0; 100],
        };
        assert!(silence.trimmed().samples.is_empty());
        assert_eq!(active_rms(&[0; 1_000], 16_000), 0.0);
    }

    #[test]
    fn pauses_do_not_lower_the_level() {
        let sound = tone(500.0, 16_000, 1.0, 10_000.0);
        let with_pause = [&sound.samples[..], &[0; 32_000], &sound.samples[..]].concat();
        let (plain, paused) = (
            active_rms(&sound.samples, 16_000),
            active_rms(&with_pause, 16_000),
        );
        assert!((plain / paused - 1.0).abs() < 0.01, "{plain} {paused}");
    }

    #[test]
    fn a_wav_that_ends_early_is_taken_as_far_as_it_goes() {
        let spec = hound::WavSpec {
            channels: 2,
            sample_rate: 22_050,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut file = std::io::Cursor::new(Vec::new());
        let mut writer = hound::WavWriter::new(&mut file, spec).unwrap();
        for n in 0..100_i16 {
            writer.write_sample(n).unwrap();
            writer.write_sample(n + 2).unwrap();
        }
        writer.finalize().unwrap();
        let whole = file.into_inner();
        let read = Sound::from_wav(&whole).unwrap();
        assert_eq!(
            (read.rate, read.samples.len(), read.samples[7]),
            (22_050, 100, 8)
        );
        let cut = Sound::from_wav(&whole[..whole.len() - 42]).unwrap();
        assert_eq!(cut.samples[..], read.samples[..89]);
        let mut odd = whole.clone();
        odd[28..34].fill(0);
        assert_eq!(Sound::from_wav(&odd), Ok(read));
        assert!(Sound::from_wav(b"no sound").is_err());
        assert!(Sound::from_wav(&[]).is_err());
    }
}
