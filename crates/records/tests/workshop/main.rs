//! The workshop's record from outside: a story, its safety, its search. All names and numbers are invented.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod common;
mod copies;
mod damage;
mod exchange;
mod kills;
mod programs;
mod search;
mod story;
