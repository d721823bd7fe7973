//! The filter that takes the loudspeaker's sound out of what the microphone captured.
//!
//! It learns how the room turns what is played into what is captured, as a Kalman filter in the
//! frequency domain whose state is the room's response cut into equal partitions (source: F. Kuech,
//! E. Mabande and G. Enzner, "State-space architecture of the partitioned-block-based acoustic echo
//! controller", ICASSP 2014; the constants are our own measurements). It needs no detector of double
//! talk: whatever it cannot explain counts as noise of observation and slows its learning. It is
//! long enough to hold the whole delay between playing and capturing, so none has to be found first.
//!
//! It is written here because, measured with the recogniser behind them, the ports of a well-known
//! canceller heard fewer of the words spoken over an echo: made for the telephone, it suppresses the
//! person along with the echo, and its linear part learns more slowly.

use std::collections::VecDeque;
use std::sync::Arc;

use realfft::num_complex::Complex32;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

/// Samples a second of all that is filtered.
pub const RATE: u32 = 16_000;
/// Samples taken at a time: 16 ms.
pub const BLOCK: usize = 256;
/// Partitions of one block each: 704 ms for the delay and the room together.
const PARTITIONS: usize = 44;
/// Samples of the past that the filter holds.
pub const PAST: usize = (PARTITIONS + 1) * BLOCK;
/// How much of what is known of the room stays true from block to block.
const STAYS: f32 = 0.9995;
/// How uncertain the response is before anything is known, as a power gain.
const UNKNOWN_GAIN: f32 = 0.1;
/// Share of the last block in the level of what is not explained.
const NEWEST: f32 = 0.5;
/// The least level of what is not explained, in a bin's power: −64 dBFS. Digital silence, as virtual
/// devices give before an echo arrives, would make the filter sure that there is none.
const LEAST: f32 = 1e-4;

type Spectrum = Vec<Complex32>;

/// What is known of the way from loudspeaker to microphone.
pub struct EchoFilter {
    forward: Arc<dyn RealToComplex<f32>>,
    back: Arc<dyn ComplexToReal<f32>>,
    response: Vec<Spectrum>,
    uncertainty: Vec<Vec<f32>>,
    /// Spectra of what was played, the newest first.
    played: VecDeque<Spectrum>,
    last_played: Vec<f32>,
    unexplained: Vec<f32>,
}

impl Default for EchoFilter {
    fn default() -> EchoFilter {
        let mut planner = RealFftPlanner::new();
        let silence = vec![Complex32::default(); BLOCK + 1];
        EchoFilter {
            forward: planner.plan_fft_forward(2 * BLOCK),
            back: planner.plan_fft_inverse(2 * BLOCK),
            response: vec![silence.clone(); PARTITIONS],
            uncertainty: vec![vec![UNKNOWN_GAIN; BLOCK + 1]; PARTITIONS],
            played: vec![silence; PARTITIONS].into(),
            last_played: vec![0.0; BLOCK],
            unexplained: vec![0.0; BLOCK + 1],
        }
    }
}

impl EchoFilter {
    /// Takes [`BLOCK`] samples of what was played and of what was captured in the same time, −1 to 1;
    /// returns the echo in it, as far as it is known. Learns from it where `learns`.
    pub fn echo(&mut self, played: &[f32], captured: &[f32], learns: bool) -> Vec<f32> {
        self.take_played(played);
        let mut sum = vec![Complex32::default(); BLOCK + 1];
        for (x, w) in self.played.iter().zip(&self.response) {
            for ((sum, x), w) in sum.iter_mut().zip(x).zip(w) {
                *sum += x * w;
            }
        }
        let echo = self.signal(sum).split_off(BLOCK);
        if learns {
            let mut left = vec![0.0; BLOCK];
            left.extend(captured.iter().zip(&echo).map(|(d, y)| d - y));
            self.learn(left);
        }
        echo
    }

    /// Takes the last [`PAST`] samples of what was played to have been `played`, or as many as that
    /// holds, and silence before.
    pub fn remember(&mut self, played: &[f32]) {
        let mut past = vec![0.0; PAST.saturating_sub(played.len())];
        past.extend_from_slice(&played[played.len().saturating_sub(PAST)..]);
        for block in past.chunks_exact(BLOCK) {
            self.take_played(block);
        }
    }

    fn take_played(&mut self, played: &[f32]) {
        let mut both = std::mem::take(&mut self.last_played);
        both.extend_from_slice(played);
        self.last_played = played.to_vec();
        let spectrum = self.spectrum(both);
        self.played.pop_back();
        self.played.push_front(spectrum);
    }

    fn learn(&mut self, left: Vec<f32>) {
        let left = self.spectrum(left);
        for (level, e) in self.unexplained.iter_mut().zip(&left) {
            *level += NEWEST * (e.norm_sqr() - *level);
        }
        let mut total: Vec<f32> = self.unexplained.iter().map(|u| u + LEAST).collect();
        for (x, p) in self.played.iter().zip(&self.uncertainty) {
            for ((total, x), p) in total.iter_mut().zip(x).zip(p) {
                *total += 0.5 * p * x.norm_sqr();
            }
        }
        let fades = 1.0 - STAYS * STAYS;
        for part in 0..PARTITIONS {
            let (x, w) = (&self.played[part], &self.response[part]);
            let mut step = vec![Complex32::default(); BLOCK + 1];
            for (bin, p) in self.uncertainty[part].iter_mut().enumerate() {
                let gain = *p / total[bin];
                step[bin] = x[bin].conj() * left[bin] * gain;
                let explained = 1.0 - 0.5 * gain * x[bin].norm_sqr();
                *p = STAYS * STAYS * explained * *p + fades * w[bin].norm_sqr();
            }
            // Only the first half of a partition's response is its own.
            let mut step = self.signal(step);
            step[BLOCK..].fill(0.0);
            let step = self.spectrum(step);
            for (w, step) in self.response[part].iter_mut().zip(step) {
                *w += step;
            }
        }
    }

    fn spectrum(&self, mut signal: Vec<f32>) -> Spectrum {
        let mut spectrum = self.forward.make_output_vec();
        // Fails only on wrong lengths, and these are all the same.
        let _ = self.forward.process(&mut signal, &mut spectrum);
        spectrum
    }

    fn signal(&self, mut spectrum: Spectrum) -> Vec<f32> {
        // The ends of a real signal's spectrum are real; rounding may have left a rest.
        spectrum[0].im = 0.0;
        spectrum[BLOCK].im = 0.0;
        let mut signal = self.back.make_output_vec();
        let _ = self.back.process(&mut spectrum, &mut signal);
        for sample in &mut signal {
            *sample /= (2 * BLOCK) as f32;
        }
        signal
    }
}

/// Returns by how many samples `captured` lies behind `expected`, −`most` to `most`, where the two
/// are alike at all; both have the same length.
pub fn lag(expected: &[f32], captured: &[f32], most: usize) -> Option<i64> {
    /// How alike they must be, of 1.
    const ALIKE: f32 = 0.25;
    /// Below this share of the loudest frequency others count less.
    const EVEN: f32 = 1e-3;
    let length = (2 * expected.len()).next_power_of_two();
    let mut planner = RealFftPlanner::new();
    let (forward, back) = (
        planner.plan_fft_forward(length),
        planner.plan_fft_inverse(length),
    );
    let spectrum = |signal: &[f32]| {
        let mut padded = signal.to_vec();
        padded.resize(length, 0.0);
        let mut spectrum = forward.make_output_vec();
        forward
            .process(&mut padded, &mut spectrum)
            .ok()
            .map(|()| spectrum)
    };
    let (x, d) = (spectrum(expected)?, spectrum(captured)?);
    let mut cross: Spectrum = d.iter().zip(&x).map(|(d, x)| d * x.conj()).collect();
    cross[0].im = 0.0;
    cross[length / 2].im = 0.0;
    // With all frequencies alike the place is sharp; by power it may be a period of the voice beside.
    let loudest = cross.iter().map(|c| c.norm()).fold(0.0, f32::max);
    let mut sharp: Spectrum = cross
        .iter()
        .map(|c| c / (c.norm() + EVEN * loudest).max(f32::MIN_POSITIVE))
        .collect();
    let mut likely = back.make_output_vec();
    back.process(&mut sharp, &mut likely).ok()?;
    let mut alike = back.make_output_vec();
    back.process(&mut cross, &mut alike).ok()?;
    let most = most as i64;
    let at = |lag: i64| lag.rem_euclid(length as i64) as usize;
    let best =
        (-most..=most).max_by(|a, b| likely[at(*a)].abs().total_cmp(&likely[at(*b)].abs()))?;
    let power = |signal: &[f32]| signal.iter().map(|s| s * s).sum::<f32>();
    let whole = (power(expected) * power(captured)).sqrt();
    (alike[at(best)].abs() / length as f32 > ALIKE * whole).then_some(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Noise that comes and goes as syllables do.
    fn babble(seed: u64, count: usize) -> Vec<f32> {
        let mut random = fastrand::Rng::with_seed(seed * 1_000_003);
        let mut held = 0.0;
        let pace = 1_200.0 + 150.0 * seed as f32;
        (0..count)
            .map(|n| {
                held += 0.5 * (random.f32() - 0.5 - held);
                let swell = (n as f32 / pace).sin().max(0.0);
                held * swell
            })
            .collect()
    }

    fn through_room(played: &[f32], delay: usize, gain: f32) -> Vec<f32> {
        let mut random = fastrand::Rng::with_seed(9);
        let mut room: Vec<f32> = (0..400)
            .map(|n| (random.f32() - 0.5) * (-(n as f32) / 80.0).exp())
            .collect();
        room[0] = 1.0;
        let mut heard = vec![0.0; played.len()];
        for (n, heard) in heard.iter_mut().enumerate().skip(delay) {
            let now = n - delay;
            let reach = room.len().min(now + 1);
            *heard = gain * (0..reach).map(|k| room[k] * played[now - k]).sum::<f32>();
        }
        heard
    }

    fn power(signal: &[f32]) -> f32 {
        signal.iter().map(|s| s * s).sum::<f32>() / signal.len() as f32
    }

    fn cleaned(filter: &mut EchoFilter, played: &[f32], captured: &[f32]) -> Vec<f32> {
        let blocks = played.chunks_exact(BLOCK).zip(captured.chunks_exact(BLOCK));
        blocks
            .flat_map(|(x, d)| {
                let echo = filter.echo(x, d, true);
                d.iter().zip(echo).map(|(d, y)| d - y).collect::<Vec<_>>()
            })
            .collect()
    }

    #[test]
    fn an_echo_of_any_delay_is_learnt_and_taken_out() {
        let played = babble(1, 6 * RATE as usize);
        for delay_ms in [10, 400] {
            let captured = through_room(&played, delay_ms * RATE as usize / 1_000, 0.5);
            let left = cleaned(&mut EchoFilter::default(), &played, &captured);
            let last = 5 * RATE as usize..left.len();
            let reduced = 10.0 * (power(&captured[last.clone()]) / power(&left[last])).log10();
            assert!(reduced > 15.0, "{delay_ms} ms: {reduced} dB");
        }
    }

    #[test]
    fn somebody_who_speaks_meanwhile_is_left_as_they_are() {
        let played = babble(1, 8 * RATE as usize);
        let echo = through_room(&played, 1_000, 0.5);
        let mut person = babble(2, played.len());
        person[..6 * RATE as usize].fill(0.0);
        let captured: Vec<f32> = echo.iter().zip(&person).map(|(e, p)| e + p).collect();
        let left = cleaned(&mut EchoFilter::default(), &played, &captured);
        let speaking = 6 * RATE as usize..left.len();
        let wrong: Vec<f32> = left[speaking.clone()]
            .iter()
            .zip(&person[speaking.clone()])
            .map(|(l, p)| l - p)
            .collect();
        let ratio = 10.0 * (power(&person[speaking]) / power(&wrong)).log10();
        assert!(ratio > 6.0, "{ratio} dB");
    }

    #[test]
    fn what_lies_behind_is_measured_either_way() {
        let expected = babble(3, 8_192);
        for behind in [-700_i64, -1, 0, 35, 1_200] {
            let captured: Vec<f32> = (0..expected.len() as i64)
                .map(|n| {
                    usize::try_from(n - behind)
                        .ok()
                        .and_then(|at| expected.get(at))
                        .map_or(0.0, |s| 0.3 * s)
                })
                .collect();
            assert_eq!(lag(&expected, &captured, 1_600), Some(behind));
        }
        assert_eq!(lag(&expected, &babble(4, expected.len()), 1_600), None);
    }
}
