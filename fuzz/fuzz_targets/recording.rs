//! Any bytes as a recording: opened and read to the end or refused with a next step, in bounded memory.
//!
//! Run with `-rss_limit_mb=1024`.
#![no_main]
#[path = "shared/forgive.rs"]
mod forgive;

use barwright::audio::{Opened, open_bytes};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    forgive::panics_in("/symphonia");
    match open_bytes(bytes) {
        Ok(Opened::Whole(audio)) => assert!(audio.samples.iter().all(|s| s.is_finite() && s.abs() <= 1.0)),
        Ok(Opened::Long(mut long)) => while let Ok(Some(_)) = long.next_part(&mut |_| {}) {},
        Err(refused) => assert!(!refused.hint.is_empty()),
    }
});
