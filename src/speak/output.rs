//! The loudspeaker: one open cpal stream that takes samples from a ring.
//!
//! The callback does nothing but empty the ring into the device's buffer, in the device's own
//! format; everything else happens on the voice's thread. A stream whose errors last is dropped,
//! because some systems would call the error callback for ever.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::AtomicU32;
use std::sync::atomic::Ordering;
use std::time::Duration;
use std::time::Instant;

use cpal::ErrorKind;
use cpal::FromSample;
use cpal::OutputCallbackInfo;
use cpal::SampleFormat;
use cpal::SizedSample;
use cpal::StreamConfig;
use cpal::SupportedBufferSize;
use cpal::traits::DeviceTrait;
use cpal::traits::HostTrait;
use cpal::traits::StreamTrait;

use super::sound::samples_in;

/// What the device takes at a time: short, for speech must start at once, and yet long enough for
/// a busy machine.
const PERIOD: Duration = Duration::from_millis(25);
/// What the ring holds; the voice's thread fills it every 10 ms.
const RING: Duration = Duration::from_millis(300);
/// How much of what was played is kept until it is asked for.
const PLAYED: Duration = Duration::from_secs(2);
/// Errors that may pass must have passed by then.
const ILLNESS_PATIENCE: Duration = Duration::from_millis(500);
/// The device's own delay is believed up to this.
const LONGEST_DELAY: Duration = Duration::from_secs(2);

/// An open loudspeaker.
pub(super) struct Output {
    /// Kept for its drop, which closes the device; a test has none.
    _stream: Option<cpal::Stream>,
    ring: rtrb::Producer<i16>,
    /// What the device has taken, speech and silence.
    played: rtrb::Consumer<i16>,
    shared: Arc<Shared>,
    /// Samples a second.
    pub(super) rate: u32,
}

/// What the callback and the voice's thread tell each other.
#[derive(Debug, Default)]
struct Shared {
    /// What is in the ring is not to be heard any more.
    discard: AtomicBool,
    /// From the callback to the loudspeaker, in milliseconds.
    delay_ms: AtomicU32,
    /// How often the device has taken sound.
    calls: AtomicU32,
}

impl Output {
    /// Opens the named or the default loudspeaker. `trouble` is called once, on another thread,
    /// when the device is lost.
    ///
    /// # Errors
    ///
    /// One line with the cure.
    pub(super) fn open(
        name: Option<&str>,
        trouble: impl Fn(String) + Clone + Send + 'static,
    ) -> Result<Self, String> {
        keep_quiet();
        let host = cpal::default_host();
        let device = match name {
            Some(name) => named(&host, name)?,
            None => host
                .default_output_device()
                .ok_or("no loudspeaker found; plug one in, or name one")?,
        };
        let offered = device
            .default_output_config()
            .map_err(|e| format!("the loudspeaker cannot be opened: {}", words(&e)))?;
        let period = period(offered.sample_rate(), offered.buffer_size());
        let opened = match Self::open_with(&device, &offered, period, trouble.clone()) {
            // Some devices promise periods that they then refuse.
            Err(e) if e.kind() == ErrorKind::UnsupportedConfig => {
                Self::open_with(&device, &offered, cpal::BufferSize::Default, trouble)
            }
            opened => opened,
        };
        opened.map_err(|e| format!("the loudspeaker cannot be opened: {}", words(&e)))
    }

    fn open_with(
        device: &cpal::Device,
        offered: &cpal::SupportedStreamConfig,
        period: cpal::BufferSize,
        trouble: impl Fn(String) + Send + 'static,
    ) -> Result<Self, cpal::Error> {
        let rate = offered.sample_rate();
        let mut config = offered.config();
        config.buffer_size = period;
        let (output, taker) = Self::without_device(rate);
        let stream = build(device, config, offered.sample_format(), taker, trouble)?;
        stream.play()?;
        Ok(Self {
            _stream: Some(stream),
            ..output
        })
    }

    /// Returns what hands samples over, and what a device takes them by.
    fn without_device(rate: u32) -> (Self, Taker) {
        let shared = Arc::new(Shared::default());
        let (ring, taker) = rtrb::RingBuffer::new(samples_in(RING, rate).max(1));
        let (teller, played) = rtrb::RingBuffer::new(samples_in(PLAYED, rate).max(1));
        let taker = Taker {
            ring: taker,
            played: teller,
            shared: Arc::clone(&shared),
        };
        let output = Self {
            _stream: None,
            ring,
            played,
            shared,
            rate,
        };
        (output, taker)
    }

    /// Hands over as many of the samples as there is room for, and returns how many.
    pub(super) fn push(&mut self, samples: &[i16]) -> usize {
        let (taken, _) = self.ring.push_partial_slice(samples);
        taken.len()
    }

    /// What the device has taken since this was last asked for, speech and silence, up to 2 s.
    pub(super) fn take_played(&mut self) -> Vec<i16> {
        let count = self.played.slots();
        self.played
            .read_chunk(count)
            .map_or_else(|_| Vec::new(), |chunk| chunk.into_iter().collect())
    }

    /// Samples that the device has not yet taken.
    pub(super) fn pending(&self) -> usize {
        self.ring.buffer().capacity() - self.ring.slots()
    }

    /// Lets nothing more be heard of what was handed over; done when it [`Self::is_clear`].
    pub(super) fn discard(&self) {
        if self.pending() > 0 {
            self.shared.discard.store(true, Ordering::Release);
        }
    }

    /// Whether nothing waits and nothing is to be discarded, so that something new can be said.
    pub(super) fn is_clear(&self) -> bool {
        !self.shared.discard.load(Ordering::Acquire) && self.pending() == 0
    }

    /// How long after it was taken a sample is still to be heard.
    pub(super) fn delay(&self) -> Duration {
        let told = Duration::from_millis(self.shared.delay_ms.load(Ordering::Relaxed).into());
        told.min(LONGEST_DELAY) + PERIOD
    }
}

/// The callback's side of the ring.
struct Taker {
    ring: rtrb::Consumer<i16>,
    played: rtrb::Producer<i16>,
    shared: Arc<Shared>,
}

impl Taker {
    /// Fills a buffer of `channels` interleaved channels: speech on the first two, silence after
    /// the last sample and on the others.
    fn fill<T: SizedSample + FromSample<i16>>(&mut self, buffer: &mut [T], channels: usize) {
        if self.shared.discard.load(Ordering::Acquire) {
            let stale = self.ring.slots();
            if let Ok(chunk) = self.ring.read_chunk(stale) {
                chunk.commit_all();
            }
            // Only now: the other side hands over nothing new while the flag is up.
            self.shared.discard.store(false, Ordering::Release);
        }
        for frame in buffer.chunks_mut(channels.max(1)) {
            let sample = self.ring.pop().unwrap_or(0);
            // Full while nothing is said: nobody asks then.
            let _ = self.played.push(sample);
            for (channel, place) in frame.iter_mut().enumerate() {
                *place = T::from_sample_(if channel < 2 { sample } else { 0 });
            }
        }
    }

    fn note(&self, info: &OutputCallbackInfo) {
        let times = info.timestamp();
        let delay = times.playback.duration_since(times.callback);
        let ms = u32::try_from(delay.as_millis()).unwrap_or(u32::MAX);
        self.shared.delay_ms.store(ms, Ordering::Relaxed);
        self.shared.calls.fetch_add(1, Ordering::Relaxed);
    }
}

/// A loudspeaker that only keeps what it is given.
#[cfg(test)]
pub(super) struct Sink(Taker);

#[cfg(test)]
impl Sink {
    /// Opens one in place of a device.
    pub(super) fn open(rate: u32) -> (Output, Sink) {
        let (output, taker) = Output::without_device(rate);
        (output, Sink(taker))
    }

    /// Takes one period, as a device with two channels does; returns what the first one plays.
    pub(super) fn take(&mut self, rate: u32) -> Vec<f32> {
        let mut buffer = vec![0.0_f32; 2 * samples_in(PERIOD, rate)];
        self.0.fill(&mut buffer, 2);
        buffer.into_iter().step_by(2).collect()
    }
}

fn build(
    device: &cpal::Device,
    config: StreamConfig,
    format: SampleFormat,
    taker: Taker,
    trouble: impl Fn(String) + Send + 'static,
) -> Result<cpal::Stream, cpal::Error> {
    match format {
        SampleFormat::I8 => build_as::<i8>(device, config, taker, trouble),
        SampleFormat::I16 => build_as::<i16>(device, config, taker, trouble),
        SampleFormat::I24 => build_as::<cpal::I24>(device, config, taker, trouble),
        SampleFormat::I32 => build_as::<i32>(device, config, taker, trouble),
        SampleFormat::U8 => build_as::<u8>(device, config, taker, trouble),
        SampleFormat::U16 => build_as::<u16>(device, config, taker, trouble),
        SampleFormat::U32 => build_as::<u32>(device, config, taker, trouble),
        SampleFormat::F32 => build_as::<f32>(device, config, taker, trouble),
        SampleFormat::F64 => build_as::<f64>(device, config, taker, trouble),
        other => Err(cpal::Error::with_message(
            ErrorKind::UnsupportedConfig,
            format!("It takes samples only as {other}"),
        )),
    }
}

fn build_as<T: SizedSample + FromSample<i16>>(
    device: &cpal::Device,
    config: StreamConfig,
    mut taker: Taker,
    trouble: impl Fn(String) + Send + 'static,
) -> Result<cpal::Stream, cpal::Error> {
    let channels = usize::from(config.channels);
    let shared = Arc::clone(&taker.shared);
    let mut illness = Illness::default();
    device.build_output_stream(
        config,
        move |buffer: &mut [T], info: &OutputCallbackInfo| {
            taker.note(info);
            taker.fill(buffer, channels);
        },
        move |error| {
            if illness.is_lasting(error.kind(), shared.calls.load(Ordering::Relaxed)) {
                trouble(format!("The loudspeaker was lost: {}", words(&error)));
            }
        },
        None,
    )
}

/// Tells a device that is lost from one that stumbles.
///
/// Through PulseAudio's ALSA plugin a stream that has just been opened may report an input/output
/// error without pause for some milliseconds, and then works.
#[derive(Debug, Default)]
struct Illness {
    /// When the errors began, and how often the device had taken sound by then.
    since: Option<(Instant, u32)>,
    told: bool,
}

impl Illness {
    /// Whether it is time to give the device up; said once.
    fn is_lasting(&mut self, kind: ErrorKind, calls: u32) -> bool {
        let lasting = match kind {
            ErrorKind::Xrun | ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied => false,
            ErrorKind::DeviceNotAvailable | ErrorKind::StreamInvalidated => true,
            _ => match self.since {
                Some((since, then)) if then == calls => {
                    // Keeps the caller from spinning.
                    std::thread::sleep(Duration::from_millis(1));
                    since.elapsed() >= ILLNESS_PATIENCE
                }
                _ => {
                    self.since = Some((Instant::now(), calls));
                    false
                }
            },
        };
        let news = lasting && !self.told;
        self.told |= lasting;
        news
    }
}

/// The system identifiers of the loudspeakers there are.
pub(super) fn names() -> Result<Vec<String>, String> {
    let all = cpal::default_host()
        .output_devices()
        .map_err(|e| format!("the loudspeakers cannot be listed: {}", words(&e)))?;
    Ok(all
        .filter_map(|device| device.id().ok().map(|id| String::from(id.id())))
        .collect())
}

/// The device of that system identifier or, failing that, of that name in any case of letters.
fn named(host: &cpal::Host, name: &str) -> Result<cpal::Device, String> {
    let all: Vec<_> = host
        .output_devices()
        .map_err(|e| format!("the loudspeakers cannot be listed: {}", words(&e)))?
        .collect();
    let id = |device: &cpal::Device| device.id().map(|id| String::from(id.id())).ok();
    if let Some(device) = all
        .iter()
        .find(|device| id(device).as_deref() == Some(name))
    {
        return Ok(device.clone());
    }
    let wanted = name.to_lowercase();
    if let Some(device) = all
        .iter()
        .find(|device| device.to_string().to_lowercase() == wanted)
    {
        return Ok(device.clone());
    }
    let there: Vec<_> = all.iter().filter_map(id).collect();
    Err(format!(
        "no loudspeaker {name}; there is: {}",
        there.join(", ")
    ))
}

/// The period in frames, brought into what the device can do.
fn period(rate: u32, range: &SupportedBufferSize) -> cpal::BufferSize {
    let wanted = samples_in(PERIOD, rate) as u32;
    match *range {
        SupportedBufferSize::Range { min, max } if min <= max => {
            cpal::BufferSize::Fixed(wanted.clamp(min, max))
        }
        _ => cpal::BufferSize::Default,
    }
}

/// What cpal says, as the rest of a sentence, with the cure where there is one.
fn words(error: &cpal::Error) -> String {
    let known = match error.kind() {
        ErrorKind::DeviceNotAvailable => "it is not there; plug one in, or see the sound server",
        ErrorKind::DeviceBusy => "another program holds it; end that program",
        ErrorKind::PermissionDenied => "not permitted; on Debian, be in the group audio",
        _ => "",
    };
    if known.is_empty() {
        String::from(error.to_string().trim_end_matches('.'))
    } else {
        String::from(known)
    }
}

/// Keeps the audio library from writing half a page to the standard error where there is no
/// sound card; what went wrong is in the error that it returns. Holds for the calling thread.
fn keep_quiet() {
    // Each call lets go of what was written since the one before. Without the handler the page is
    // written, and nothing else is worse.
    #[cfg(target_os = "linux")]
    let _ = alsa::Output::local_error_handler();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_callback_speaks_on_two_channels_and_is_silent_after() {
        let (mut ring, taker) = rtrb::RingBuffer::new(8);
        let (teller, mut played) = rtrb::RingBuffer::new(4);
        let shared = Arc::new(Shared::default());
        let mut taker = Taker {
            ring: taker,
            played: teller,
            shared: Arc::clone(&shared),
        };
        ring.push_entire_slice(&[16_384, -16_384]).unwrap();
        let mut buffer = [9.0_f32; 9];
        taker.fill(&mut buffer, 3);
        assert_eq!(buffer, [0.5, 0.5, 0.0, -0.5, -0.5, 0.0, 0.0, 0.0, 0.0]);
        let told: Vec<i16> = std::iter::from_fn(|| played.pop().ok()).collect();
        assert_eq!(told, [16_384, -16_384, 0]);

        ring.push_entire_slice(&[1, 2, 3]).unwrap();
        shared.discard.store(true, Ordering::Release);
        let mut buffer = [9_u8; 4];
        taker.fill(&mut buffer, 1);
        assert_eq!(buffer, [128; 4]);
        ring.push_entire_slice(&[256]).unwrap();
        taker.fill(&mut buffer, 1);
        assert_eq!(buffer, [129, 128, 128, 128]);
    }

    #[test]
    fn a_device_that_stumbles_is_not_given_up_and_a_lost_one_is_once() {
        let mut illness = Illness::default();
        assert!(!illness.is_lasting(ErrorKind::Xrun, 0));
        assert!(!illness.is_lasting(ErrorKind::BackendError, 0));
        assert!(!illness.is_lasting(ErrorKind::BackendError, 0));
        let start = Instant::now();
        while !illness.is_lasting(ErrorKind::BackendError, 0) {
            assert!(start.elapsed() < Duration::from_secs(30));
        }
        assert!(!illness.is_lasting(ErrorKind::BackendError, 0));

        let mut illness = Illness::default();
        for calls in 0..5 {
            assert!(!illness.is_lasting(ErrorKind::BackendError, calls));
        }
        assert!(illness.is_lasting(ErrorKind::DeviceNotAvailable, 5));
        assert!(!illness.is_lasting(ErrorKind::DeviceNotAvailable, 5));
    }

    #[test]
    fn the_period_is_what_the_device_can_do() {
        let range = |min, max| SupportedBufferSize::Range { min, max };
        assert_eq!(
            period(48_000, &range(1, 9_000)),
            cpal::BufferSize::Fixed(1_200)
        );
        assert_eq!(
            period(48_000, &range(2_048, 9_000)),
            cpal::BufferSize::Fixed(2_048)
        );
        assert_eq!(
            period(48_000, &SupportedBufferSize::Unknown),
            cpal::BufferSize::Default
        );
    }
}
