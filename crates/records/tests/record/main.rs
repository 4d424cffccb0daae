//! Bar files and the workshop record. One test program for the crate: a program a file would link the crate again for each, in minutes and gigabytes.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod design_example;
mod properties;
mod refusals;
mod saving;
mod workshop;
