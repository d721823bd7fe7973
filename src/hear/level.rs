//! Levels: what a meter shows, and what the recogniser is fed.
//!
//! The recogniser hears best with active speech between −25 and −12 dBFS (at −42 dBFS a quarter of
//! the commands is lost at 10 dB), and it misses the word after digital silence. So the sound gets a
//! slow gain and faint noise before it goes in.

/// Full scale of 16-bit sound.
const FULL: f32 = 32_768.0;
/// A sample from here on is at full scale: some devices stop a little short of it, and faint noise moves it.
const CUT_OFF: i16 = 32_700;
/// What silence reads on the meter, in dBFS.
pub const SILENCE: f32 = -96.0;
/// Where active speech is held, in dBFS.
const SPEECH: std::ops::RangeInclusive<f32> = -25.0..=-12.0;
/// The gain stays between these, in dB.
const GAINS: (f32, f32) = (-12.0, 24.0);
/// How fast the gain moves, in dB for a second of active speech: slow enough that it never shapes a
/// word.
const SLEW: f32 = 12.0;
/// So far below full scale the gain leaves the loudest of the last seconds, in dB.
const HEADROOM: f32 = 1.0;
/// How fast that is forgotten, in dB for a second: the soft end of a word must not make the next one too loud.
const FORGOTTEN: f32 = 4.0;
/// So long sound is not lowered after it was cut off as captured, in seconds.
const NOT_LOWERED: f32 = 2.0;
/// How far active speech stands above the room, in dB.
const ABOVE_THE_ROOM: f32 = 9.0;

/// Returns the level of `samples` in dBFS, from [`SILENCE`] to 0.
pub fn dbfs(samples: &[i16]) -> f32 {
    if samples.is_empty() {
        return SILENCE;
    }
    let power: f64 = samples.iter().map(|&s| f64::from(s) * f64::from(s)).sum();
    decibels((power / samples.len() as f64).sqrt() as f32)
}

/// Returns the level of `steps` of 16-bit sound in dBFS, from [`SILENCE`] to 0.
fn decibels(steps: f32) -> f32 {
    (20.0 * (steps / FULL).max(1e-9).log10()).max(SILENCE)
}

/// Tells whether a sample is at full scale, where what is louder is cut off.
pub fn is_cut_off(sample: i16) -> bool {
    sample.saturating_abs() >= CUT_OFF
}

/// Returns `samples` as parts of full scale.
pub(super) fn floats(samples: &[i16]) -> Vec<f32> {
    samples.iter().map(|&s| f32::from(s) / FULL).collect()
}

/// Tells speech from the room by level alone. No decision about words rests on it.
#[derive(Debug, Clone)]
pub struct Room {
    floor: f32,
}

impl Default for Room {
    fn default() -> Room {
        Room { floor: -50.0 }
    }
}

impl Room {
    /// Takes the level of the next `seconds`; returns whether somebody speaks or something sounds.
    pub fn is_active(&mut self, dbfs: f32, seconds: f32) -> bool {
        // The floor falls at once and rises slowly, so that speech does not lift it.
        self.floor = if dbfs < self.floor {
            dbfs.max(-75.0)
        } else {
            (self.floor + 2.0 * seconds).min(dbfs)
        };
        dbfs > (self.floor + ABOVE_THE_ROOM).max(-60.0)
    }
}

/// The slow gain and the faint noise.
#[derive(Debug, Clone)]
pub struct Levelling {
    room: Room,
    /// Level of active speech as captured, in dBFS; nothing before anything was active.
    speech: Option<f32>,
    /// The loudest sample of the last seconds as captured, in dBFS.
    loudest: f32,
    /// How long ago sound was last cut off as captured, in seconds.
    since_cut_off: f32,
    gain: f32,
    noise: FaintNoise,
}

impl Default for Levelling {
    fn default() -> Levelling {
        Levelling {
            room: Room::default(),
            speech: None,
            loudest: SILENCE,
            since_cut_off: NOT_LOWERED,
            gain: 0.0,
            noise: FaintNoise::default(),
        }
    }
}

impl Levelling {
    /// Changes `samples`, captured at `rate` Hz, into what the recogniser is fed.
    pub fn level(&mut self, samples: &mut [i16], rate: u32) {
        self.follow(samples, rate);
        self.apply(samples);
    }

    /// Moves the gain by the level of `samples`.
    fn follow(&mut self, samples: &[i16], rate: u32) {
        let seconds = samples.len() as f32 / rate.max(1) as f32;
        let now = dbfs(samples);
        let peak = samples.iter().map(|sample| sample.saturating_abs()).max();
        let peak = peak.unwrap_or(0);
        self.loudest = decibels(f32::from(peak)).max(self.loudest - FORGOTTEN * seconds);
        self.since_cut_off = match is_cut_off(peak) {
            true => 0.0,
            false => self.since_cut_off + seconds,
        };
        if self.room.is_active(now, seconds) {
            let speech = self.speech.unwrap_or(now);
            let share = (seconds / 0.5).min(1.0);
            let speech = speech + (now - speech) * share;
            self.speech = Some(speech);
            let in_range = (SPEECH.start() - speech, SPEECH.end() - speech);
            let most = (-HEADROOM - self.loudest).max(0.0);
            let wanted = self.gain.clamp(in_range.0, in_range.1).min(most);
            let step = (wanted - self.gain).clamp(-SLEW * seconds, SLEW * seconds);
            self.gain = (self.gain + step).clamp(GAINS.0, GAINS.1);
        }
        // Below full scale nothing would tell that it was cut off, and of that a channel's width is worked out.
        if self.since_cut_off < NOT_LOWERED {
            self.gain = self.gain.max(0.0);
        }
    }

    /// Changes `samples` by the gain as it is: what is left of the program's own voice is soft, and a gain that
    /// followed it would distort the person who speaks next.
    pub fn apply(&mut self, samples: &mut [i16]) {
        let factor = 10f32.powf(self.gain / 20.0);
        for sample in samples {
            let loud = f32::from(*sample) * factor + self.noise.value();
            *sample = loud.clamp(-FULL, FULL - 1.0) as i16;
        }
    }
}

/// Noise of about 5 steps of 16-bit sound, root mean square; the same every time.
#[derive(Debug, Clone)]
pub struct FaintNoise {
    state: u32,
}

impl Default for FaintNoise {
    fn default() -> FaintNoise {
        FaintNoise { state: 0x2545_f491 }
    }
}

impl FaintNoise {
    /// Returns the next value.
    pub fn value(&mut self) -> f32 {
        // A uniform value within ±8.66 has a root mean square of 5.
        self.state ^= self.state << 13;
        self.state ^= self.state >> 17;
        self.state ^= self.state << 5;
        (self.state as f32 / u32::MAX as f32 - 0.5) * 17.32
    }

    /// Adds it to `samples`, so loud that its root mean square is `steps`.
    pub fn add_to(&mut self, samples: &mut [i16], steps: f32) {
        for sample in samples {
            let noisy = f32::from(*sample) + self.value() * steps / 5.0;
            *sample = noisy.round().clamp(-FULL, FULL - 1.0) as i16;
        }
    }

    /// Returns `count` samples of it.
    pub fn samples(&mut self, count: usize) -> Vec<i16> {
        (0..count).map(|_| self.value() as i16).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(dbfs: f32, seconds: f32) -> Vec<i16> {
        let peak = FULL * 10f32.powf(dbfs / 20.0) * std::f32::consts::SQRT_2;
        (0..(seconds * 16_000.0) as usize)
            .map(|i| (peak * (i as f32 * 0.3).sin()) as i16)
            .collect()
    }

    #[test]
    fn the_meter_reads_known_levels() {
        assert!((dbfs(&tone(-20.0, 1.0)) + 20.0).abs() < 0.1);
        assert_eq!(dbfs(&[]), SILENCE);
        assert_eq!(dbfs(&[0; 100]), SILENCE);
        assert!(dbfs(&[i16::MIN; 100]).abs() < 0.01);
    }

    #[test]
    fn speech_far_off_is_brought_into_range_slowly() {
        for (captured, low, high) in [
            (-42.0, -25.5, -12.0),
            (-20.0, -20.5, -19.5),
            (-4.0, -25.0, -11.5),
        ] {
            let mut levelling = Levelling::default();
            let mut last = SILENCE;
            for _ in 0..20 {
                levelling.level(&mut tone(-70.0, 0.3), 16_000);
                for _ in 0..10 {
                    let mut words = tone(captured, 0.03);
                    levelling.level(&mut words, 16_000);
                    last = dbfs(&words);
                }
            }
            assert!((low..=high).contains(&last), "{captured} became {last}");
        }
    }

    #[test]
    fn a_word_after_the_soft_end_of_another_is_not_cut_off() {
        // 16 dB above the rest of it.
        let word = || {
            let mut word = tone(-20.0, 0.03);
            word[0] = 20_000;
            word
        };
        let mut levelling = Levelling::default();
        let mut gains = Vec::new();
        for _ in 0..10 {
            levelling.level(&mut tone(-70.0, 0.3), 16_000);
            for mut block in (0..10).map(|_| word()) {
                levelling.level(&mut block, 16_000);
                assert!(!block.iter().any(|&s| is_cut_off(s)));
            }
            for mut block in (0..8).map(|_| tone(-40.0, 0.03)) {
                levelling.level(&mut block, 16_000);
                gains.push(dbfs(&block) + 40.0);
            }
        }
        let most = gains.into_iter().fold(0.0, f32::max);
        assert!((1.0..4.5).contains(&most), "{most}");
    }

    #[test]
    fn what_was_cut_off_as_captured_stays_at_full_scale_until_long_after_it() {
        let mut levelling = Levelling::default();
        let mut loud = |captured: f32| {
            let mut word = tone(captured, 0.03);
            levelling.level(&mut word, 16_000);
            (word.iter().any(|&s| is_cut_off(s)), dbfs(&word) - captured)
        };
        for _ in 0..20 {
            loud(-70.0);
        }
        for _ in 0..30 {
            loud(-4.0);
        }
        assert!(loud(-4.0).1 < -5.0);
        for _ in 0..30 {
            assert!(loud(0.0).0);
        }
        assert!(loud(-4.0).1 > -0.5);
        for _ in 0..30 {
            loud(-70.0);
        }
        let after: Vec<f32> = (0..80).map(|_| loud(-4.0).1).collect();
        assert!(after[20] > -0.5 && after[79] < -5.0, "{after:?}");
    }

    #[test]
    fn what_it_does_not_follow_leaves_the_gain_as_it_was() {
        let mut levelling = Levelling::default();
        let word = |levelling: &mut Levelling| {
            let mut word = tone(-20.0, 0.03);
            levelling.level(&mut word, 16_000);
            dbfs(&word)
        };
        let before = word(&mut levelling);
        for _ in 0..100 {
            levelling.apply(&mut tone(-42.0, 0.03));
        }
        assert!((word(&mut levelling) - before).abs() < 0.1);
    }

    #[test]
    fn digital_silence_becomes_faint_noise() {
        let mut silence = vec![0; 16_000];
        Levelling::default().level(&mut silence, 16_000);
        let rms = FULL * 10f32.powf(dbfs(&silence) / 20.0);
        assert!((4.0..6.0).contains(&rms), "{rms}");
    }

    #[test]
    fn steady_noise_is_not_taken_for_speech() {
        let mut room = Room::default();
        let loud = (0..200).filter(|_| room.is_active(-30.0, 0.1)).count();
        assert!(loud < 60, "{loud} of 200");
    }
}
