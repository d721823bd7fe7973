//! The microphone, through cpal, at whatever rate and format it offers.
//!
//! The sound card's callback only hands over what it got, into a ring of fixed size; mixing and
//! everything else happens on the thread that takes from it.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver};
use std::thread;
use std::time::{Duration, Instant};

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{
    Device, ErrorKind, FromSample, Sample, SampleFormat, SizedSample, Stream, StreamConfig,
};

use super::source::{Source, SourceState};

/// How much sound the ring holds, in seconds.
const RING: usize = 2;
/// More than this waiting means that the machine stood still; old sound is of no use then.
const STALE: Duration = Duration::from_secs(1);
/// A device that gives nothing for this long is gone, whatever it says.
const MUTE: Duration = Duration::from_secs(3);
/// The first and the longest wait before a device is tried again.
const RETRY: (Duration, Duration) = (Duration::from_millis(500), Duration::from_secs(8));

/// An input device, as listed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input {
    /// What `--device` takes.
    pub id: String,
    pub name: String,
    pub is_default: bool,
}

/// Lists the input devices.
///
/// # Errors
/// A message where the sound system cannot be asked.
pub fn inputs() -> Result<Vec<Input>, String> {
    hushed(list)
}

fn list() -> Result<Vec<Input>, String> {
    let host = cpal::default_host();
    let default = host.default_input_device().and_then(|d| d.id().ok());
    let devices = host
        .input_devices()
        .map_err(|error| format!("Cannot list the microphones: {error}"))?;
    Ok(devices
        .filter_map(|device| {
            let id = device.id().ok()?;
            Some(Input {
                name: name_of(&device),
                is_default: Some(&id) == default.as_ref(),
                id: id.to_string(),
            })
        })
        .collect())
}

/// The default input or a named one; it comes back by itself after it was lost.
pub struct Microphone {
    wanted: Option<String>,
    rate: u32,
    open: Option<Open>,
    retry_at: Instant,
    retry_after: Duration,
}

/// Tells whether the default microphone, or the one of that id or name, can be opened.
///
/// # Errors
/// Why it cannot, with the cure where there is one.
pub fn microphone_here(wanted: Option<String>) -> Result<(), String> {
    Microphone::new(wanted).open().map(drop)
}

/// Appends what has arrived, mixed to mono; returns how many samples that were, and whether some before
/// them were lost.
type Take = Box<dyn FnMut(&mut Vec<i16>) -> (usize, bool) + Send>;

struct Open {
    /// Capture runs as long as this lives.
    _stream: Stream,
    take: Take,
    lost: Receiver<String>,
    last_sound: Instant,
    has_missed: bool,
}

impl Microphone {
    /// Makes a microphone of the input whose id or name is `wanted`, or of the default one. It is
    /// opened when first asked for sound.
    pub fn new(wanted: Option<String>) -> Microphone {
        Microphone {
            wanted,
            rate: 48_000,
            open: None,
            retry_at: Instant::now(),
            retry_after: RETRY.0,
        }
    }

    fn open(&mut self) -> Result<Open, String> {
        hushed(|| self.open_device())
    }

    fn device(&self) -> Result<Device, String> {
        let host = cpal::default_host();
        match &self.wanted {
            None => host
                .default_input_device()
                .ok_or_else(|| "No microphone found".to_string()),
            Some(wanted) => host
                .input_devices()
                .map_err(|error| format!("Cannot list the microphones: {error}"))?
                .find(|device| {
                    name_of(device) == *wanted
                        || device.id().is_ok_and(|id| id.to_string() == *wanted)
                })
                .ok_or_else(|| {
                    format!(
                        "No microphone is called {wanted:?}: `benchcall devices` shows those there are"
                    )
                }),
        }
    }

    fn open_device(&mut self) -> Result<Open, String> {
        let device = self.device()?;
        let cannot = |error: cpal::Error| {
            let cure = match error.kind() {
                ErrorKind::DeviceBusy => "; another program uses it",
                ErrorKind::PermissionDenied => "; is this user in the group `audio`?",
                _ => "",
            };
            format!(
                "Cannot open the microphone {}: {error}{cure}",
                name_of(&device)
            )
        };
        let offered = device.default_input_config().map_err(cannot)?;
        self.rate = offered.sample_rate();
        let config = offered.config();
        let opened = match offered.sample_format() {
            SampleFormat::I8 => start::<i8>(&device, config),
            SampleFormat::I16 => start::<i16>(&device, config),
            SampleFormat::I24 => start::<cpal::I24>(&device, config),
            SampleFormat::I32 => start::<i32>(&device, config),
            SampleFormat::I64 => start::<i64>(&device, config),
            SampleFormat::U8 => start::<u8>(&device, config),
            SampleFormat::U16 => start::<u16>(&device, config),
            SampleFormat::U24 => start::<cpal::U24>(&device, config),
            SampleFormat::U32 => start::<u32>(&device, config),
            SampleFormat::U64 => start::<u64>(&device, config),
            SampleFormat::F32 => start::<f32>(&device, config),
            SampleFormat::F64 => start::<f64>(&device, config),
            _ => Err(ErrorKind::UnsupportedConfig.into()),
        };
        opened.map_err(cannot)
    }

    fn lose(&mut self, why: String) -> SourceState {
        // Closing a lost device can hang in its driver for good (seen with a sound server that was
        // killed), so it happens apart and is not waited for.
        if let Some(open) = self.open.take() {
            thread::spawn(move || drop(open));
        }
        self.retry_at = Instant::now() + self.retry_after;
        self.retry_after = (2 * self.retry_after).min(RETRY.1);
        SourceState::Lost(why)
    }
}

impl Source for Microphone {
    fn rate(&self) -> u32 {
        self.rate
    }

    fn next(&mut self, samples: &mut Vec<i16>) -> SourceState {
        if self.open.is_none() {
            let left = self.retry_at.saturating_duration_since(Instant::now());
            if !left.is_zero() {
                thread::sleep(left.min(Duration::from_millis(50)));
                return SourceState::Nothing;
            }
            match self.open() {
                Ok(open) => self.open = Some(open),
                Err(why) => return self.lose(why),
            }
        }
        let Some(open) = &mut self.open else {
            return SourceState::Nothing;
        };
        if let Ok(why) = open.lost.try_recv() {
            return self.lose(why);
        }
        let (taken, missed) = (open.take)(samples);
        open.has_missed |= missed;
        if taken > 0 {
            open.last_sound = Instant::now();
            // Only sound shows that the device works: some open and then give nothing.
            self.retry_after = RETRY.0;
            return SourceState::Sound;
        }
        if open.last_sound.elapsed() > MUTE {
            return self.lose("The microphone gives no sound".to_string());
        }
        thread::sleep(Duration::from_millis(5));
        SourceState::Nothing
    }

    fn has_missed(&mut self) -> bool {
        let open = self.open.as_mut();
        open.is_some_and(|open| std::mem::take(&mut open.has_missed))
    }
}

/// Does `work` on a thread where the sound system's own messages go nowhere: they would be written
/// over a face on the terminal, and what matters of them comes back as an error.
///
/// # Errors
/// What `work` reports, and a message where it panicked: drivers are many.
pub fn hushed<T: Send>(work: impl FnOnce() -> Result<T, String> + Send) -> Result<T, String> {
    thread::scope(|scope| {
        let working = scope.spawn(|| {
            // Where even this fails, the messages are only ugly.
            #[cfg(target_os = "linux")]
            let _quiet = alsa::Output::local_error_handler();
            work()
        });
        working
            .join()
            .unwrap_or_else(|_| Err("The sound system failed".to_string()))
    })
}

fn name_of(device: &Device) -> String {
    device
        .description()
        .map_or_else(|_| device.to_string(), |d| d.name().to_string())
}

fn start<T>(device: &Device, config: StreamConfig) -> Result<Open, cpal::Error>
where
    T: SizedSample + Send + 'static,
    f32: FromSample<T>,
{
    let channels = usize::from(config.channels.max(1));
    let (mut giver, mut taker) =
        rtrb::RingBuffer::<T>::new(config.sample_rate as usize * channels * RING);
    let (report, lost) = mpsc::channel();
    let dropped = Arc::new(AtomicBool::new(false));
    let dropping = Arc::clone(&dropped);
    let stream = device.build_input_stream(
        config,
        move |data: &[T], _: &_| {
            // What does not fit is dropped: the taker is late by more than the ring holds then.
            let (_, left) = giver.push_partial_slice(data);
            dropping.fetch_or(!left.is_empty(), Ordering::Relaxed);
        },
        move |error: cpal::Error| match error.kind() {
            ErrorKind::Xrun | ErrorKind::RealtimeDenied | ErrorKind::DeviceChanged => {}
            _ => {
                // Nobody listens any more when the device was lost already.
                let _ = report.send(format!("The microphone is gone: {error}"));
            }
        },
        None,
    )?;
    stream.play()?;
    let stale = config.sample_rate as usize * STALE.as_secs() as usize;
    let take = move |mono: &mut Vec<i16>| {
        let mut frames = taker.slots() / channels;
        let missed = frames > stale;
        if missed {
            // What was dropped came after all that the ring holds.
            let newest = match dropped.swap(false, Ordering::Relaxed) {
                false => (config.sample_rate as usize / 10).min(frames),
                true => 0,
            };
            skip(&mut taker, (frames - newest) * channels);
            frames = newest;
        }
        let Ok(chunk) = taker.read_chunk(frames * channels) else {
            return (0, missed);
        };
        mix(chunk.into_iter(), channels, mono);
        (frames, missed)
    };
    Ok(Open {
        _stream: stream,
        take: Box::new(take),
        lost,
        last_sound: Instant::now(),
        has_missed: false,
    })
}

fn skip<T>(taker: &mut rtrb::Consumer<T>, count: usize) {
    if let Ok(chunk) = taker.read_chunk(count) {
        chunk.commit_all();
    }
}

/// Appends the mean of each frame of `channels` samples.
fn mix<T>(samples: impl Iterator<Item = T>, channels: usize, mono: &mut Vec<i16>)
where
    T: Sample,
    f32: FromSample<T>,
{
    let (mut sum, mut count) = (0.0, 0);
    for sample in samples {
        sum += f32::from_sample(sample);
        count += 1;
        if count == channels {
            mono.push((sum / channels as f32 * 32_768.0) as i16);
            (sum, count) = (0.0, 0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_format_and_channel_count_is_mixed_to_the_same_sound() {
        let mut mono = Vec::new();
        mix([0.5_f32, 0.0].into_iter(), 2, &mut mono);
        mix([16_384_i16, 0].into_iter(), 2, &mut mono);
        mix([0xc000_u16, 0x8000].into_iter(), 2, &mut mono);
        mix([1_i32 << 29].into_iter(), 1, &mut mono);
        mix([0.25_f64; 6].into_iter(), 6, &mut mono);
        assert_eq!(mono, [8_192; 5]);
    }

    #[test]
    fn sound_beyond_full_scale_is_clipped() {
        let mut mono = Vec::new();
        mix([2.0_f32, -2.0].into_iter(), 1, &mut mono);
        assert_eq!(mono, [i16::MAX, i16::MIN]);
    }

    #[test]
    fn a_microphone_that_is_not_there_is_named_and_tried_again_later() {
        let mut microphone = Microphone::new(Some("no such microphone".into()));
        let mut samples = Vec::new();
        let state = microphone.next(&mut samples);
        assert!(matches!(state, SourceState::Lost(_)), "{state:?}");
        assert_eq!(microphone.next(&mut samples), SourceState::Nothing);
        assert!(samples.is_empty());
    }
}
