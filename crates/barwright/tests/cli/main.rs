//! The command line, run as a maker runs it. One test program for the crate: a program a file would link the crate again for each, in minutes and gigabytes.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
#[path = "../common/mod.rs"]
mod common;

mod answers;
mod arch;
mod climate;
mod coded;
mod cutlist;
mod demo;
mod documented;
mod frame;
mod import_recordings;
mod installing;
mod listen;
mod listen_many;
mod modes;
mod photo;
mod plan;
mod possible_bars;
mod record_commands;
mod refusals;
mod rehearse;
mod retune;
mod salt;
mod sheets;
mod tubes;
mod wav;
mod wood;
mod workshop;
