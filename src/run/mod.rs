//! The run: what happens in a job, decided by pure code.
