//! What the person sees and hears of the run: worked out by pure code (`view`, `words`), laid out
//! by the window (`window`, Slint) or the terminal (`terminal`).

use std::sync::OnceLock;
use std::time::{Duration, Instant};

pub mod aloud;
pub mod compose;
pub mod far;
pub mod keys;
mod plan_words;
mod shelf_words;
mod spoken_words;
mod sum_words;
pub mod terminal;
pub mod view;
pub mod wait_words;
pub mod window;
pub mod words;

/// Something that shows a view to the person.
pub trait Face: Send {
    /// Shows `view`; `holding` is how far a press and hold has come, 0 to 1.
    fn show(&mut self, view: &view::View, holding: f32);
}

/// What a face tells the program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FaceNews {
    /// A key, a pedal or a touch went down, up or on.
    Stroke(keys::Stroke),
    /// The person closed the face.
    Closed,
    /// A picture with new content has been drawn. Only the window tells this.
    Drawn,
}

/// Returns the time since the first call in this process: the clock of strokes.
///
/// It never goes back, and is the same for every face.
pub fn moment() -> Duration {
    static START: OnceLock<Instant> = OnceLock::new();
    START.get_or_init(Instant::now).elapsed()
}
