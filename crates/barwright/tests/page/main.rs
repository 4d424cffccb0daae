//! The page by HTTP and in a real browser. One test program for the crate: a program a file would link the crate again for each, in minutes and gigabytes.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
#[path = "../browser_driver/mod.rs"]
mod browser_driver;
#[path = "../common/mod.rs"]
mod common;

mod accessibility;
mod bench;
mod browser;
mod by_http;
mod faults;
mod first_run;
mod frame_page;
mod lan;
mod live;
mod manual;
mod microphone;
mod new_things;
mod photo;
mod places;
mod print;
mod record_bench;
mod set;
