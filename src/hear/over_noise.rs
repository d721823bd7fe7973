//! Whether the program's own voice is heard over the room: pure.
//!
//! The microphone hears the voice too, and both levels come through the same gain, so that their
//! difference is right without a calibrated microphone. Through a headset the voice does not reach the
//! microphone; then only what the meter makes of the person's speech can tell.

use super::meter::{Loudness, Measured};
use crate::trade::alarm::OVER_AVERAGE;

/// The voice is known once it stood so far above the room, in dB.
const STANDS_OUT: f32 = 6.0;
/// How far the remembered level follows each later one.
const FOLLOWS: f32 = 0.2;

/// The level at which the microphone hears the program's voice.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct OwnVoice {
    dbfs: Option<f32>,
    noise: Option<f32>,
    loudness: Loudness,
}

impl OwnVoice {
    /// Takes what the meter reads, while the program speaks or not.
    pub fn take(&mut self, measured: &Measured, speaking: bool) {
        self.noise = Some(measured.noise);
        self.loudness = measured.loudness;
        if !speaking || measured.dbfs - measured.noise < STANDS_OUT {
            return;
        }
        self.dbfs = Some(match self.dbfs {
            // Between words it is quiet: the peaks count, and fade slowly.
            Some(known) if measured.dbfs < known => known + (measured.dbfs - known) * FOLLOWS,
            _ => measured.dbfs,
        });
    }

    /// Tells whether the room drowns the voice: it stands less over the room than an alarm must, or, where
    /// the microphone never heard it, speech is not understood in the room either.
    pub fn is_drowned(&self) -> bool {
        match (self.dbfs, self.noise) {
            (Some(voice), Some(noise)) => f64::from(voice - noise) < OVER_AVERAGE.in_decibels(),
            _ => self.loudness == Loudness::TooLoud,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(dbfs: f32, noise: f32, loudness: Loudness) -> Measured {
        Measured {
            dbfs,
            noise,
            ratio: None,
            loudness,
            talk: false,
        }
    }

    #[test]
    fn a_voice_less_than_an_alarm_over_the_room_is_drowned() {
        let mut voice = OwnVoice::default();
        assert!(!voice.is_drowned());
        voice.take(&measured(-30.0, -55.0, Loudness::Good), true);
        assert!(!voice.is_drowned());
        // A compressor starts: 13 dB are left.
        voice.take(&measured(-43.0, -43.0, Loudness::Good), false);
        assert!(voice.is_drowned());
        voice.take(&measured(-55.0, -55.0, Loudness::Good), false);
        assert!(!voice.is_drowned());
    }

    #[test]
    fn a_headset_goes_by_the_persons_speech() {
        let mut voice = OwnVoice::default();
        voice.take(&measured(-54.0, -55.0, Loudness::Good), true);
        assert!(!voice.is_drowned());
        voice.take(&measured(-40.0, -41.0, Loudness::TooLoud), true);
        assert!(voice.is_drowned());
    }
}
