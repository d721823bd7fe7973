//! Whether sound ends at 4 kHz, as that of a telephone or of many a wireless headset does. An s lies
//! above that, so a "six" may come out as an "eight".

/// What is compared, in Hz: where an s is, and where the speech of a narrow channel still is.
const HIGH: (f32, f32) = (4_700.0, 7_300.0);
const MIDDLE: (f32, f32) = (2_000.0, 3_700.0);
/// Below this share of the middle nothing is above: −32 dB. Narrow recordings of people lay below
/// −32.8 dB, synthetic wide voices above −30 dB but for readings without any s, f, t or z.
const NARROW: f64 = 6.3e-4;
/// Half the length of the filters, in seconds: enough to keep the bands apart by 60 dB.
const REACH: f32 = 0.003;

/// Returns whether `sound` of `rate` Hz has nothing above 4 kHz. Sound of less than 15 kHz cannot.
pub(super) fn is_narrow(sound: &[i16], rate: u32) -> bool {
    if rate as f32 <= 2.0 * HIGH.1 {
        return true;
    }
    power(sound, rate, HIGH) < NARROW * power(sound, rate, MIDDLE)
}

/// Returns the power of `sound` between two frequencies, by a windowed filter.
fn power(sound: &[i16], rate: u32, (low, high): (f32, f32)) -> f64 {
    use std::f32::consts::PI;
    let reach = (REACH * rate as f32) as i32;
    let sinc = |frequency: f32, i: i32| match i {
        0 => 2.0 * frequency / rate as f32,
        i => (2.0 * PI * frequency * i as f32 / rate as f32).sin() / (PI * i as f32),
    };
    let filter: Vec<f32> = (-reach..=reach)
        .map(|i| {
            let turn = PI * i as f32 / (reach + 1) as f32;
            // Blackman's window.
            let window = 0.42 + 0.5 * turn.cos() + 0.08 * (2.0 * turn).cos();
            window * (sinc(high, i) - sinc(low, i))
        })
        .collect();
    let sum: f64 = sound
        .windows(filter.len())
        .map(|piece| {
            let value: f32 = piece
                .iter()
                .zip(&filter)
                .map(|(&s, f)| f32::from(s) * f)
                .sum();
            f64::from(value * value)
        })
        .sum();
    sum / sound.len().max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tones(rate: u32, parts: &[(f32, f32)]) -> Vec<i16> {
        (0..rate / 2)
            .map(|i| {
                let turn = 2.0 * std::f32::consts::PI * i as f32 / rate as f32;
                parts
                    .iter()
                    .map(|(frequency, loud)| loud * (turn * frequency).sin())
                    .sum::<f32>() as i16
            })
            .collect()
    }

    #[test]
    fn sound_above_4_khz_makes_it_wide() {
        for rate in [16_000, 48_000] {
            // 46 dB and 26 dB below what is at 3 kHz.
            let narrow = tones(
                rate,
                &[(500.0, 9_000.0), (3_000.0, 4_000.0), (6_000.0, 20.0)],
            );
            let wide = tones(
                rate,
                &[(500.0, 9_000.0), (3_000.0, 4_000.0), (6_000.0, 200.0)],
            );
            assert!(is_narrow(&narrow, rate), "{rate}");
            assert!(!is_narrow(&wide, rate), "{rate}");
        }
    }

    #[test]
    fn sound_of_8_khz_is_always_narrow() {
        assert!(is_narrow(&tones(8_000, &[(3_000.0, 4_000.0)]), 8_000));
    }

    #[test]
    fn silence_is_not_called_narrow() {
        assert!(!is_narrow(&[0; 16_000], 16_000));
        assert!(!is_narrow(&[], 16_000));
    }
}
