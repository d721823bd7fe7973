//! Speaking: text to speech in a child process, rendered ahead, played through the loudspeaker.
//!
//! [`Voice`] is the whole of it for the rest of the program: it is told what to say and what will
//! probably be said next, and reports when sound begins and ends and what is really played, so that
//! the ears can take it out of what they hear. Nothing here waits on the caller's thread but
//! [`Voice::start`]; a missing engine or loudspeaker is one line of [`Silent`], never a reason not
//! to work.

use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use self::ahead::Renderer;
use self::engine::Engine;
use self::speaker::Order;
use self::speaker::PlayedTo;
use self::speaker::Speaker;

mod ahead;
pub(crate) mod child;
pub(crate) mod engine;
mod output;
mod raise;
pub mod sound;
mod speaker;

pub use self::raise::Raise;

/// How long the loudspeaker may take to be opened when the program starts.
const START_PATIENCE: Duration = Duration::from_secs(4);

/// How the program speaks, and through what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VoiceOptions {
    /// The speech engine: a name looked for in `PATH`, or a path. `None` is `espeak-ng`. Any
    /// program that takes espeak-ng's options will do.
    pub engine: Option<String>,
    /// The loudspeaker by its name or system identifier; `None` is the system's default.
    pub device: Option<String>,
    /// The engine's voice, such as `en-us` or `en-gb+f3`.
    pub voice: String,
    /// Words a minute, 80 to 450; figures outside are brought to the nearest of these.
    pub words_per_minute: u16,
    /// 0 to 99; 50 is the voice's own pitch.
    pub pitch: u8,
}

impl Default for VoiceOptions {
    fn default() -> Self {
        Self {
            engine: None,
            device: None,
            voice: String::from("en-us"),
            words_per_minute: 165,
            pitch: 50,
        }
    }
}

/// Why the program cannot speak, in one line with the cure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Silent(String);

/// What becomes of what is said.
///
/// Every [`Voice::say`] that is not passed over as the same again ends with exactly one `Ended`,
/// whether it was heard to its end, hushed, replaced or failed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum VoiceNews {
    /// Sound is about to leave the loudspeaker.
    Began,
    /// No more of it is to be heard.
    Ended,
    /// It could not be said, or not to its end; `Ended` follows. The next `say` tries again.
    Failed {
        /// One line: what happened.
        why: String,
    },
}

/// Lists the loudspeakers by the names that [`VoiceOptions::device`] takes.
///
/// # Errors
/// One line where the sound system cannot be asked.
pub fn loudspeakers() -> Result<Vec<String>, String> {
    output::names()
}

/// The program's voice. Dropping it ends what is being said.
#[derive(Debug)]
pub struct Voice {
    orders: mpsc::Sender<Order>,
}

impl Voice {
    /// Finds the speech engine, opens the loudspeaker and starts the voice's own thread, on which
    /// `news` is called.
    ///
    /// # Errors
    ///
    /// [`Silent`] where there is no speech engine, no loudspeaker, or none that can be opened
    /// within 4 seconds.
    pub fn start(
        options: VoiceOptions,
        news: impl Fn(VoiceNews) + Send + 'static,
    ) -> Result<Self, Silent> {
        let engine = Engine::find(&options)?;
        let (orders, inbox) = mpsc::channel();
        let renderer = Renderer::start(engine, orders.clone()).map_err(Silent)?;
        let mut speaker = Speaker::new(renderer, orders.clone(), options.device, Box::new(news));
        let (opened, first_opening) = mpsc::channel();
        thread::Builder::new()
            .name(String::from("voice"))
            .spawn(move || {
                let first = speaker.open();
                let goes_on = first.is_ok();
                if opened.send(first).is_ok() && goes_on {
                    speaker.work(&inbox);
                }
            })
            .map_err(|e| Silent(format!("No speech: cannot start a thread: {e}")))?;
        match first_opening.recv_timeout(START_PATIENCE) {
            Ok(Ok(())) => Ok(Self { orders }),
            Ok(Err(why)) => Err(Silent(format!("No speech: {why}"))),
            Err(_) => Err(Silent(String::from(
                "No speech: the loudspeaker did not open within 4 s; see whether the sound server \
                 answers, or choose another device",
            ))),
        }
    }

    /// Says `text`, in place of what is being said or waits to be said; passed over where that is
    /// the same text.
    pub fn say(&self, text: &str) {
        self.call(text, Raise::NONE);
    }

    /// Says `text` louder than usual.
    pub fn call(&self, text: &str, raise: Raise) {
        self.order(Order::Say(engine::speakable(text), raise));
    }

    /// Renders `text` ahead, so that it starts at once when it is said. The last few dozen texts
    /// are kept.
    pub fn prepare(&self, text: &str) {
        self.order(Order::Prepare(engine::speakable(text)));
    }

    /// Ends what is being said.
    pub fn hush(&self) {
        self.order(Order::Hush);
    }

    /// Has `listener` told what the loudspeaker really plays while something is said, a moment after it
    /// was handed to the device, with its rate in Hz; a call without samples begins a new text.
    pub fn played_to(&self, listener: impl Fn(u32, Vec<i16>) + Send + 'static) {
        self.order(Order::PlayedTo(PlayedTo(Box::new(listener))));
    }

    fn order(&self, order: Order) {
        // The voice's thread outlives this handle; were it gone, there would be nobody to tell.
        let _ = self.orders.send(order);
    }
}

impl Drop for Voice {
    fn drop(&mut self) {
        self.order(Order::Quit);
    }
}
