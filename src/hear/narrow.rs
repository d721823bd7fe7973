//! Whether sound ends at 4 kHz, as that of a telephone or of many a wireless headset does. An s lies
//! above that, so a "six" may come out as an "eight".

use super::level::is_cut_off;

/// What is compared, in Hz: where an s is, and where the speech of a narrow channel still is.
const HIGH: (f32, f32) = (4_700.0, 7_300.0);
const MIDDLE: (f32, f32) = (2_000.0, 3_700.0);
/// Below this share of the middle nothing is above: −32 dB. Narrow recordings of people lay below
/// −32.8 dB, synthetic wide voices above −30 dB but for readings without any s, f, t or z.
const NARROW: f64 = 6.3e-4;
/// Half the length of the filters, in seconds: enough to keep the bands apart by 60 dB.
const REACH: f32 = 0.003;

/// So much of the beginning and of the end of a reading's sound is before and after its words, in
/// seconds.
const AROUND: f32 = 0.3;
/// Noise there hides the width from so many times the least on: of eights in noise as wide as the
/// recording, joined from narrow digits, 9 of 10 were found so, and 4 of 10 of wide voices as well; of
/// wide ones in a quiet room 3 of 100.
const HIDES: f64 = 2.0;

/// How wide the channel is that words came through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Width {
    Wide,
    Narrow,
    /// What sounds before or after the words reaches above 4 kHz by itself, so nothing is known of them.
    Hidden,
}

/// Returns how wide the channel of a reading's `sound` is, at `rate` Hz. Sound of less than 15 kHz is
/// narrow.
pub(super) fn width(sound: &[i16], rate: u32) -> Width {
    if rate as f32 <= 2.0 * HIGH.1 {
        return Width::Narrow;
    }
    // Where it is cut off at full scale any sound reaches above 4 kHz: people's narrow readings lay 16 dB above the bar by that.
    let high = |sound: &[i16]| power(sound, rate, HIGH, is_cut_off);
    let least = NARROW * power(sound, rate, MIDDLE, |_| false);
    if high(sound) < least {
        return Width::Narrow;
    }
    let around = ((AROUND * rate as f32) as usize).min(sound.len() / 2);
    let ends = [&sound[..around], &sound[sound.len() - around..]];
    match ends.iter().any(|end| high(end) > HIDES * least) {
        true => Width::Hidden,
        false => Width::Wide,
    }
}

/// Returns the power of `sound` between two frequencies, by a windowed filter, away from the samples that are left out.
fn power(
    sound: &[i16],
    rate: u32,
    (low, high): (f32, f32),
    is_left_out: impl Fn(i16) -> bool,
) -> f64 {
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
        .split(|&sample| is_left_out(sample))
        .flat_map(|part| part.windows(filter.len()))
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
            // The words of a reading have a pause around them.
            let pause = vec![0; rate as usize];
            let within = |words: &[i16]| [&pause[..], words, &pause].concat();
            assert_eq!(width(&within(&narrow), rate), Width::Narrow, "{rate}");
            assert_eq!(width(&within(&wide), rate), Width::Wide, "{rate}");
            let noise = tones(rate, &[(6_000.0, 200.0)]);
            for hidden in [[&noise, &narrow, &pause], [&pause, &narrow, &noise]] {
                assert_eq!(width(&hidden.map(|s| &s[..]).concat(), rate), Width::Hidden);
            }
        }
    }

    #[test]
    fn what_was_cut_off_makes_nothing_wide() {
        let loud = tones(16_000, &[(500.0, 20_000.0), (3_000.0, 9_000.0)]);
        let hiss = tones(16_000, &[(6_000.0, 900.0)]);
        let pause = vec![0; 16_000];
        for (word, known) in [
            (loud.clone(), Width::Narrow),
            ([&loud[..], &hiss].concat(), Width::Wide),
        ] {
            let word = [&pause[..], &word, &pause].concat();
            assert_eq!(width(&word, 16_000), known);
            let cut = word.iter().map(|s| s.saturating_mul(2));
            // Faint noise is added after it.
            let cut: Vec<i16> = cut.map(|s| s.clamp(-32_740, 32_740)).collect();
            assert_eq!(width(&cut, 16_000), known);
        }
    }

    #[test]
    fn sound_of_8_khz_is_always_narrow() {
        let tone = tones(8_000, &[(3_000.0, 4_000.0)]);
        assert_eq!(width(&tone, 8_000), Width::Narrow);
    }

    #[test]
    fn silence_is_not_called_narrow() {
        assert_eq!(width(&[0; 16_000], 16_000), Width::Wide);
        assert_eq!(width(&[], 16_000), Width::Wide);
    }
}
