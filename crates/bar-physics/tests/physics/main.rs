//! Bar physics against closed forms, references and properties. One test program for the crate: a program a file would link the crate again for each, in minutes and gigabytes.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
#[path = "../common/mod.rs"]
mod common;

mod additions;
mod air;
mod any_bar;
mod beam_reference;
mod crooked;
mod estimate;
mod sensitivity;
mod solid;
mod solid_scikit_fem;
mod warm;
