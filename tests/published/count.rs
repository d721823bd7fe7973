//! Counts what a topic holds against published values: `assert!` and `assert_eq!` as ever, and when a test
//! is over the number of them that it held.

#![allow(unused_macros, reason = "every test file uses a part of it")]

use std::cell::Cell;

struct Held(Cell<u32>);

impl Drop for Held {
    fn drop(&mut self) {
        let thread = std::thread::current();
        let test = thread.name().unwrap_or_default().to_owned();
        println!("held: {} {} {test}", module_path!(), self.0.get());
    }
}

thread_local! {
    static HELD: Held = const { Held(Cell::new(0)) };
}

/// Counts one more.
pub fn held() {
    HELD.with(|held| held.0.set(held.0.get() + 1));
}

macro_rules! assert {
    ($($told:tt)*) => {{
        ::std::assert!($($told)*);
        crate::count::held();
    }};
}

macro_rules! assert_eq {
    ($($told:tt)*) => {{
        ::std::assert_eq!($($told)*);
        crate::count::held();
    }};
}
