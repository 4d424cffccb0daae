//! Decisions, virtual bench, saw and frame. One test program for the crate: a program a file would link the crate again for each, in minutes and gigabytes.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
#[path = "../common/mod.rs"]
mod common;

mod advice;
mod arch;
mod bench;
mod culprits;
mod decisions;
mod frame_members;
mod learnt;
mod properties;
mod rescue;
mod saw;
mod schedule;
mod sides;
mod torsion;
