//! The voice's thread: takes orders, feeds the loudspeaker, reports.

use std::fmt;
use std::sync::Arc;
use std::sync::mpsc;
use std::time::Duration;
use std::time::Instant;

use super::VoiceNews;
use super::ahead::Kept;
use super::ahead::Renderer;
use super::ahead::Task;
use super::ahead::Urgency;
use super::engine;
use super::output::Output;
use super::raise::Raise;
use super::sound::Sound;

/// How often the loudspeaker's ring is filled while something is said.
const FEED_EVERY: Duration = Duration::from_millis(10);
/// A loudspeaker that takes nothing for this long is lost.
const STALLED_AFTER: Duration = Duration::from_secs(2);
/// The loudspeaker is closed when nothing was said for this long: an open one costs processor
/// time, and opening it again is quick.
const CLOSE_AFTER: Duration = Duration::from_secs(5);
/// How long the loudspeaker may take to let go of what was hushed before something new begins.
const DISCARD_PATIENCE: Duration = Duration::from_millis(250);
/// The engine has its own patience; this is for what it does not cover.
const RENDER_PATIENCE: Duration = engine::PATIENCE.saturating_add(Duration::from_secs(2));

/// Somebody who is told what is played: the rate in Hz, and the samples.
pub(super) struct PlayedTo(pub(super) Box<dyn Fn(u32, Vec<i16>) + Send>);

impl fmt::Debug for PlayedTo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("PlayedTo")
    }
}

/// Everything that wakes the voice's thread.
#[derive(Debug)]
pub(super) enum Order {
    /// The text has gone through [`engine::speakable`], here and below.
    Say(String, Raise),
    Prepare(String),
    Hush,
    /// Who is told what is played.
    PlayedTo(PlayedTo),
    Rendered {
        text: String,
        result: Result<Arc<Sound>, String>,
    },
    /// The loudspeaker that was opened as the `opening`th is lost.
    Trouble {
        opening: u64,
        why: String,
    },
    Quit,
}

/// What is being said.
enum Now {
    Nothing,
    /// The engine has not yet rendered it.
    Rendering {
        text: String,
        raise: Raise,
        give_up: Instant,
    },
    Speaking {
        text: String,
        sound: Arc<Sound>,
        /// Samples handed over.
        pushed: usize,
        /// Samples that waited in the ring when it last moved, and when that was.
        pending: usize,
        moved: Instant,
    },
    /// The last sample was taken, or the rest discarded; it ends when the loudspeaker has played
    /// what is on its way.
    FadingOut {
        ends: Instant,
    },
}

/// The voice's state, owned by its thread.
pub(super) struct Speaker {
    renderer: Renderer,
    /// For the loudspeaker's errors.
    to_self: mpsc::Sender<Order>,
    device: Option<String>,
    news: Box<dyn Fn(VoiceNews) + Send>,
    played_to: Option<PlayedTo>,
    kept: Kept,
    output: Option<Output>,
    /// The rate of the loudspeaker that was open last.
    rate: u32,
    openings: u64,
    now: Now,
    /// When something was last said.
    quiet_since: Instant,
}

impl Speaker {
    pub(super) fn new(
        renderer: Renderer,
        to_self: mpsc::Sender<Order>,
        device: Option<String>,
        news: Box<dyn Fn(VoiceNews) + Send>,
    ) -> Self {
        Self {
            renderer,
            to_self,
            device,
            news,
            played_to: None,
            kept: Kept::default(),
            output: None,
            rate: 48_000,
            openings: 0,
            now: Now::Nothing,
            quiet_since: Instant::now(),
        }
    }

    /// Opens the loudspeaker where it is not open.
    pub(super) fn open(&mut self) -> Result<(), String> {
        if self.output.is_none() {
            self.openings += 1;
            let opening = self.openings;
            let to_self = self.to_self.clone();
            let output = Output::open(self.device.as_deref(), move |why| {
                let _ = to_self.send(Order::Trouble { opening, why });
            })?;
            self.rate = output.rate;
            self.output = Some(output);
            self.quiet_since = Instant::now();
        }
        Ok(())
    }

    /// Works until it is told to quit.
    pub(super) fn work(&mut self, inbox: &mpsc::Receiver<Order>) {
        loop {
            let order = match self.next_look() {
                Some(wait) => inbox.recv_timeout(wait),
                None => inbox
                    .recv()
                    .map_err(|_| mpsc::RecvTimeoutError::Disconnected),
            };
            match order {
                Ok(Order::Quit) | Err(mpsc::RecvTimeoutError::Disconnected) => break,
                Ok(order) => self.take(order),
                Err(mpsc::RecvTimeoutError::Timeout) => {}
            }
            self.look();
        }
        self.stop_at_once();
    }

    /// How long nothing needs to be done; `None` is until the next order.
    fn next_look(&self) -> Option<Duration> {
        match &self.now {
            Now::Speaking { .. } => Some(FEED_EVERY),
            Now::FadingOut { ends } => Some(until(*ends).min(FEED_EVERY)),
            Now::Rendering { give_up, .. } => Some(until(*give_up)),
            Now::Nothing => self
                .output
                .as_ref()
                .map(|_| until(self.quiet_since + CLOSE_AFTER)),
        }
    }

    fn take(&mut self, order: Order) {
        match order {
            Order::Say(text, raise) => self.say(text, raise),
            Order::Prepare(text) => self.prepare(text),
            Order::Hush => self.hush(),
            Order::PlayedTo(listener) => self.played_to = Some(listener),
            Order::Rendered { text, result } => self.rendered(text, result),
            Order::Trouble { opening, why } => {
                if opening == self.openings && self.output.is_some() {
                    self.lose(why);
                }
            }
            // The loop ends on it.
            Order::Quit => {}
        }
    }

    fn say(&mut self, text: String, raise: Raise) {
        let same = match &self.now {
            Now::Rendering { text: current, .. } | Now::Speaking { text: current, .. } => {
                *current == text
            }
            Now::Nothing | Now::FadingOut { .. } => false,
        };
        if same {
            return;
        }
        self.stop_at_once();
        self.now = Now::Rendering {
            text: text.clone(),
            raise,
            give_up: Instant::now() + RENDER_PATIENCE,
        };
        if text.is_empty() {
            return self.end();
        }
        // Opening tells the rate; it is mostly the one of last time, or it is open already.
        if let Err(why) = self.open() {
            return self.fail(format!("Not said: {why}"));
        }
        match self.kept.take_up(&text, self.rate) {
            Some(sound) => self.begin(text, &sound, raise),
            None => self.renderer.render(Task {
                text,
                rate: self.rate,
                urgency: Urgency::Now,
            }),
        }
    }

    fn prepare(&mut self, text: String) {
        if !text.is_empty() && self.kept.take_up(&text, self.rate).is_none() {
            self.renderer.render(Task {
                text,
                rate: self.rate,
                urgency: Urgency::Ahead,
            });
        }
    }

    fn hush(&mut self) {
        match self.now {
            Now::Rendering { .. } => self.end(),
            Now::Speaking { .. } => self.fade_out(),
            Now::Nothing | Now::FadingOut { .. } => {}
        }
    }

    fn rendered(&mut self, text: String, result: Result<Arc<Sound>, String>) {
        let wanted = match &self.now {
            Now::Rendering {
                text: current,
                raise,
                ..
            } if *current == text => Some(*raise),
            _ => None,
        };
        match result {
            Ok(sound) => {
                self.kept.keep(text.clone(), Arc::clone(&sound));
                let Some(raise) = wanted else { return };
                if let Err(why) = self.open() {
                    return self.fail(format!("Not said: {why}"));
                }
                if sound.rate == self.rate {
                    self.begin(text, &sound, raise);
                } else {
                    // Another loudspeaker has come in the meantime.
                    self.renderer.render(Task {
                        text,
                        rate: self.rate,
                        urgency: Urgency::Now,
                    });
                }
            }
            Err(why) if wanted.is_some() => self.fail(format!("Not said: {why}")),
            // Rendered ahead in vain; when it is to be said, it is tried again and reported.
            Err(_) => {}
        }
    }

    fn begin(&mut self, text: String, sound: &Arc<Sound>, raise: Raise) {
        let Some(output) = &mut self.output else {
            return self.fail(String::from("Not said: the loudspeaker is closed"));
        };
        let give_up = Instant::now() + DISCARD_PATIENCE;
        while !output.is_clear() {
            if Instant::now() >= give_up {
                self.fail(String::from(
                    "Not said: the loudspeaker takes no more sound",
                ));
                self.output = None;
                return;
            }
            std::thread::sleep(Duration::from_millis(2));
        }
        // What was played until now was silence.
        output.take_played();
        if let Some(PlayedTo(listener)) = &self.played_to {
            listener(output.rate, Vec::new());
        }
        // The ears are told what the device has taken, so they know the sound as loud as it is.
        let sound = match raise {
            Raise::NONE => Arc::clone(sound),
            raise => Arc::new(sound.raised(raise)),
        };
        (self.news)(VoiceNews::Began);
        let pushed = output.push(&sound.samples);
        self.now = Now::Speaking {
            text,
            sound,
            pushed,
            pending: output.pending(),
            moved: Instant::now(),
        };
    }

    /// Does what the time demands.
    fn look(&mut self) {
        self.tell_played();
        match &self.now {
            Now::Speaking { .. } => self.feed(),
            Now::FadingOut { ends } if Instant::now() >= *ends => self.end(),
            Now::Rendering { give_up, .. } if Instant::now() >= *give_up => {
                self.fail(String::from("Not said: the speech engine does not answer"));
            }
            Now::Nothing if self.quiet_since.elapsed() >= CLOSE_AFTER => self.output = None,
            Now::Nothing | Now::FadingOut { .. } | Now::Rendering { .. } => {}
        }
    }

    /// Tells what was played since it was last told.
    fn tell_played(&mut self) {
        let sounds = matches!(self.now, Now::Speaking { .. } | Now::FadingOut { .. });
        if let (true, Some(PlayedTo(listener)), Some(output)) =
            (sounds, &self.played_to, &mut self.output)
        {
            let played = output.take_played();
            if !played.is_empty() {
                listener(output.rate, played);
            }
        }
    }

    fn feed(&mut self) {
        let (
            Now::Speaking {
                sound,
                pushed,
                pending,
                moved,
                ..
            },
            Some(output),
        ) = (&mut self.now, &mut self.output)
        else {
            return;
        };
        let left = output.pending();
        if left < *pending {
            *moved = Instant::now();
        }
        *pushed += output.push(&sound.samples[*pushed..]);
        *pending = output.pending();
        if left == 0 && *pushed == sound.samples.len() && *pending == 0 {
            self.fade_out();
        } else if moved.elapsed() >= STALLED_AFTER {
            self.lose(String::from("The loudspeaker takes no more sound"));
        }
    }

    fn fade_out(&mut self) {
        let delay = self.output.as_ref().map_or(Duration::ZERO, |output| {
            output.discard();
            output.delay()
        });
        self.now = Now::FadingOut {
            ends: Instant::now() + delay,
        };
    }

    /// Ends what is being said without waiting for the loudspeaker.
    fn stop_at_once(&mut self) {
        if !matches!(self.now, Now::Nothing) {
            if let Some(output) = &self.output {
                output.discard();
            }
            self.end();
        }
    }

    /// The loudspeaker is gone.
    fn lose(&mut self, why: String) {
        match self.now {
            Now::Speaking { .. } => self.fail(why),
            Now::FadingOut { .. } => self.end(),
            // It is opened again when the text is rendered.
            Now::Nothing | Now::Rendering { .. } => {}
        }
        // After the news, for closing a lost device may take its time.
        self.output = None;
    }

    fn fail(&mut self, why: String) {
        (self.news)(VoiceNews::Failed { why });
        self.end();
    }

    fn end(&mut self) {
        self.now = Now::Nothing;
        self.quiet_since = Instant::now();
        (self.news)(VoiceNews::Ended);
    }
}

fn until(time: Instant) -> Duration {
    time.saturating_duration_since(Instant::now())
}

#[cfg(test)]
mod tests {
    use std::sync::Mutex;

    use super::super::VoiceOptions;
    use super::super::output::Sink;
    use super::super::sound::active_rms;
    use super::*;
    use crate::speak::engine::Engine;

    const RATE: u32 = 48_000;
    const CALL: &str = "Attention. The skin time is over. Say next instruction.";

    /// A speaker whose device keeps what it is given.
    struct Rehearsed {
        speaker: Speaker,
        inbox: mpsc::Receiver<Order>,
        sink: Sink,
        told: Arc<Mutex<Vec<i16>>>,
    }

    impl Rehearsed {
        fn with(engine: Engine) -> Rehearsed {
            let (to_self, inbox) = mpsc::channel();
            let renderer = Renderer::start(engine, to_self.clone()).unwrap();
            let mut speaker = Speaker::new(renderer, to_self, None, Box::new(|_| {}));
            let (output, sink) = Sink::open(RATE);
            speaker.output = Some(output);
            let told = Arc::new(Mutex::new(Vec::new()));
            let heard = Arc::clone(&told);
            speaker.take(Order::PlayedTo(PlayedTo(Box::new(move |_, samples| {
                heard.lock().unwrap().extend(samples);
            }))));
            Rehearsed {
                speaker,
                inbox,
                sink,
                told,
            }
        }

        /// Says it and returns what the device played, and what the ears were told of.
        fn play(&mut self, raise: Raise) -> (Vec<f32>, Vec<i16>) {
            self.told.lock().unwrap().clear();
            self.speaker.say(engine::speakable(CALL), raise);
            let mut played = Vec::new();
            while !matches!(self.speaker.now, Now::Nothing) {
                if matches!(self.speaker.now, Now::Rendering { .. }) {
                    let order = self.inbox.recv_timeout(RENDER_PATIENCE).unwrap();
                    self.speaker.take(order);
                }
                played.extend(self.sink.take(RATE));
                self.speaker.look();
            }
            (played, self.told.lock().unwrap().clone())
        }
    }

    /// From the engine's voice to what the device takes: each repeated call is louder than the one before,
    /// at most by what was asked, nothing comes above the ceiling, and the ears are told the very same.
    #[test]
    fn repeated_calls_leave_the_device_louder_each_time() {
        let Ok(engine) = Engine::find(&VoiceOptions::default()) else {
            let needed = std::env::var_os("BENCHCALL_ALL_TESTS").is_none();
            assert!(needed, "espeak-ng is missing");
            println!("not tested: how loud repeated calls are; espeak-ng is missing");
            return;
        };
        let mut rehearsed = Rehearsed::with(engine);
        let decibels = |level: f64| 20.0 * level.log10();
        let mut levels: Vec<f64> = Vec::new();
        for times in 0..5 {
            let raise = Raise::after_calls(times);
            let (played, told) = rehearsed.play(raise);
            let spoken = |sample: &f32| (f64::from(*sample) * 32_768.0).round() as i16;
            let spoken: Vec<i16> = played.iter().map(spoken).collect();
            let sounding = |samples: &[i16]| -> Vec<i16> {
                let first = samples.iter().position(|&s| s != 0).unwrap();
                let last = samples.iter().rposition(|&s| s != 0).unwrap();
                samples[first..=last].to_vec()
            };
            assert!(
                sounding(&spoken) == sounding(&told),
                "the ears are told otherwise"
            );
            let peak = spoken.iter().map(|s| s.unsigned_abs()).max().unwrap();
            assert!(
                raise == Raise::NONE || peak <= 29_205,
                "{peak} at call {times}"
            );
            let level = decibels(active_rms(&spoken, RATE));
            println!("call {times}: {level:.1} dB of full scale, peak {peak}");
            levels.push(level);
        }
        for (times, pair) in levels.windows(2).enumerate() {
            let louder = pair[1] - pair[0];
            // From the fourth call on all that the ceiling allows is reached.
            let least = if times < 3 { 0.5 } else { -0.05 };
            assert!(
                (least..=3.05).contains(&louder),
                "call {}: {levels:?}",
                times + 1
            );
        }
        assert!(levels[4] - levels[0] > 4.0, "{levels:?}");
    }
}
