//! The record: every job and everything that happened in it, in SQLite.

pub mod form;
pub mod store;

pub use store::{Entry, Job, Store, Unfinished};
