//! A modelled workshop: what its walls make of speech on the way from the mouth to the microphone.
//!
//! The image method of J. B. Allen and D. A. Berkley, "Image method for efficiently simulating
//! small-room acoustics", J. Acoust. Soc. Am. 65 (4), 1979: in a room with flat walls every
//! reflection is the direct sound of a mirror image of the mouth, weaker by the walls it passed and
//! by its distance. As there, arrivals are brought to the nearest sample, and what lies below 100 Hz
//! is taken out.

use benchcall::rehearse::room::RATE;
use realfft::RealFftPlanner;

/// Metres a second at 20 °C.
const SPEED_OF_SOUND: f64 = 343.0;
/// Where the high-pass of the paper lies.
const LOWEST_HZ: f64 = 100.0;

/// A room with one mouth and one microphone in it.
#[derive(Debug, Clone)]
pub struct Workshop {
    /// Length, width and height in metres.
    pub size: [f64; 3],
    pub mouth: [f64; 3],
    pub microphone: [f64; 3],
    /// What part of the sound's pressure each wall sends back, 0 to 1.
    pub reflection: f64,
}

impl Workshop {
    /// A workshop of 8 by 6 by 3.5 m with a reverberation time of about 0.5 s and about 1 m from the
    /// mouth to the microphone. An invented room.
    pub fn usual() -> Self {
        Self {
            size: [8.0, 6.0, 3.5],
            mouth: [3.1, 2.4, 1.6],
            microphone: [3.9, 2.9, 1.3],
            reflection: 0.85,
        }
    }

    fn distance(&self) -> f64 {
        let along = |axis: usize| (self.mouth[axis] - self.microphone[axis]).powi(2);
        (along(0) + along(1) + along(2)).sqrt()
    }

    /// What the microphone gets of one click of the mouth, over `seconds`; the direct sound is 1.
    pub fn response(&self, seconds: f64) -> Vec<f32> {
        let reach = seconds * SPEED_OF_SOUND;
        let mut taps = vec![0.0_f64; (seconds * f64::from(RATE)) as usize + 1];
        let [along, across, up] = [0, 1, 2].map(|axis| self.images(axis, reach));
        for &(x, walls_x) in &along {
            for &(y, walls_y) in &across {
                let flat = x * x + y * y;
                if flat > reach * reach {
                    continue;
                }
                for &(z, walls_z) in &up {
                    let distance = (flat + z * z).sqrt();
                    let at = (distance / SPEED_OF_SOUND * f64::from(RATE)).round() as usize;
                    if let Some(tap) = taps.get_mut(at) {
                        let walls = walls_x + walls_y + walls_z;
                        *tap += self.reflection.powi(walls) / distance * self.distance();
                    }
                }
            }
        }
        without_rumble(&taps)
    }

    /// Along one axis: how far from the microphone each image of the mouth lies, and how many walls
    /// its sound has passed (equation 8 of the paper, one axis of it).
    fn images(&self, axis: usize, reach: f64) -> Vec<(f64, i32)> {
        let (size, mouth, microphone) = (self.size[axis], self.mouth[axis], self.microphone[axis]);
        let most = (reach / (2.0 * size)).ceil() as i32 + 1;
        let mut images = Vec::new();
        for n in -most..=most {
            let shift = 2.0 * f64::from(n) * size;
            images.push((mouth + shift - microphone, (2 * n).abs()));
            images.push((-mouth + shift - microphone, (n - 1).abs() + n.abs()));
        }
        images
    }
}

/// Samples from the mouth to the microphone: where a response has its greatest value, the direct
/// sound.
pub fn delay_of(response: &[f32]) -> usize {
    let greatest = (0..response.len()).max_by(|&a, &b| response[a].total_cmp(&response[b]));
    greatest.unwrap_or(0)
}

/// The paper's remedy for the click's share below the audible: a high-pass of the second order
/// (Butterworth; bilinear transform).
fn without_rumble(taps: &[f64]) -> Vec<f32> {
    let k = (std::f64::consts::PI * LOWEST_HZ / f64::from(RATE)).tan();
    let norm = 1.0 / (1.0 + std::f64::consts::SQRT_2 * k + k * k);
    let (a1, a2) = (
        2.0 * (k * k - 1.0) * norm,
        (1.0 - std::f64::consts::SQRT_2 * k + k * k) * norm,
    );
    let (mut x, mut y) = ([0.0; 2], [0.0; 2]);
    let filtered = taps.iter().map(|&tap| {
        let out = norm * (tap - 2.0 * x[0] + x[1]) - a1 * y[0] - a2 * y[1];
        x = [tap, x[0]];
        y = [out, y[0]];
        out as f32
    });
    filtered.collect()
}

/// Puts sound through a room's response: longer than before by the response.
pub fn through(response: &[f32], sound: &[i16]) -> Vec<f32> {
    let length = sound.len() + response.len().saturating_sub(1);
    let block = length.next_power_of_two().max(2);
    let mut planner = RealFftPlanner::<f32>::new();
    let (forward, back) = (
        planner.plan_fft_forward(block),
        planner.plan_fft_inverse(block),
    );
    let spectrum = |mut signal: Vec<f32>| {
        signal.resize(block, 0.0);
        let mut bins = forward.make_output_vec();
        // It refuses buffers of wrong lengths only.
        let _ = forward.process(&mut signal, &mut bins);
        bins
    };
    let mut bins = spectrum(sound.iter().map(|&s| f32::from(s)).collect());
    for (bin, other) in bins.iter_mut().zip(spectrum(response.to_vec())) {
        *bin *= other;
    }
    // Rounding may leave a trace there, which the way back refuses.
    bins[0].im = 0.0;
    if let Some(last) = bins.last_mut() {
        last.im = 0.0;
    }
    let mut mixed = back.make_output_vec();
    let _ = back.process(&mut bins, &mut mixed);
    mixed.truncate(length);
    let scale = 1.0 / block as f32;
    mixed.into_iter().map(|s| s * scale).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Seconds for a fall of 60 dB, from the slope between −5 and −25 dB of the energy that is still
    /// to come (Schroeder's backward integration, as in ISO 3382).
    fn reverberation_time(response: &[f32]) -> f64 {
        let mut left: f64 = response.iter().map(|&s| f64::from(s).powi(2)).sum();
        let all = left;
        let mut reached = [None; 2];
        for (n, &s) in response.iter().enumerate() {
            let level = 10.0 * (left / all).log10();
            for (place, bound) in reached.iter_mut().zip([-5.0, -25.0]) {
                if level <= bound && place.is_none() {
                    *place = Some(n);
                }
            }
            left -= f64::from(s).powi(2);
        }
        let [from, to] = reached.map(Option::unwrap);
        (to - from) as f64 / f64::from(RATE) * 3.0
    }

    #[test]
    fn the_workshop_reverberates_for_half_a_second() {
        let time = reverberation_time(&Workshop::usual().response(0.8));
        assert!((0.45..0.55).contains(&time), "{time}");
    }

    #[test]
    fn harder_walls_reverberate_longer_and_none_not_at_all() {
        let mut room = Workshop::usual();
        let usual = reverberation_time(&room.response(0.8));
        room.reflection = 0.9;
        assert!(reverberation_time(&room.response(0.8)) > usual * 1.5);
        room.reflection = 0.0;
        let bare = room.response(0.8);
        let direct = delay_of(&bare);
        assert!(bare[direct] > 0.9 && bare[..direct].iter().all(|s| *s == 0.0));
        // What is left is the high-pass.
        assert!(bare[direct + 1..].iter().all(|s| s.abs() < 0.06));
    }

    #[test]
    fn sound_takes_three_milliseconds_for_a_metre() {
        let room = Workshop::usual();
        assert!((0.9..1.1).contains(&room.distance()), "{}", room.distance());
        let response = room.response(0.5);
        let first = response.iter().position(|s| s.abs() > 0.1).unwrap();
        assert_eq!(first, delay_of(&response));
        assert!((response[first] - 1.0).abs() < 0.1);
        let ms = first as f64 / f64::from(RATE) * 1e3;
        assert!((2.6..3.2).contains(&ms), "{ms}");
    }

    #[test]
    fn sound_goes_through_a_response_as_the_sum_says() {
        let sound: Vec<i16> = (0..50).map(|n| (n * 37 % 101) as i16 * 20).collect();
        let response: Vec<f32> = (0..20).map(|n| 1.0 / (1.0 + n as f32)).collect();
        let fast = through(&response, &sound);
        assert_eq!(fast.len(), 69);
        for (n, &value) in fast.iter().enumerate() {
            let sum: f32 = (0..20)
                .filter_map(|k| Some(response[k] * f32::from(*sound.get(n.checked_sub(k)?)?)))
                .sum();
            assert!((sum - value).abs() < 0.1, "{n}: {sum} {value}");
        }
    }
}
