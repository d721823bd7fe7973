//! What the person sees and hears of the run: worked out by pure code (`view`, `words`), laid out
//! by the window (`window`, Slint) or the terminal (`terminal`).

pub mod compose;
pub mod keys;
pub mod terminal;
pub mod view;
pub mod window;
pub mod words;
