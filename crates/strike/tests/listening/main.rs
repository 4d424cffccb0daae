//! Listening: takes, live, speech, recordings. One test program for the crate: a program a file would link the crate again for each, in minutes and gigabytes. `no_allocation` has its own for its own allocator.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
#[path = "../common/mod.rs"]
mod common;

mod bound;
mod by_scipy;
mod clock;
mod doubts;
mod gaps;
mod live;
mod naming;
mod never_panics;
mod recordings;
mod refusals;
mod speech;
