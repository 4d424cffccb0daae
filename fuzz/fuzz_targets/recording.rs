//! Any bytes as a recording: opened and read to the end or refused with a next step, in bounded memory.
//!
//! Run with `-rss_limit_mb=1024`. libFuzzer aborts on every panic, also on those the program would turn into a refusal.
#![no_main]
use barwright::audio::{Opened, open_bytes};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    match open_bytes(bytes) {
        Ok(Opened::Whole(audio)) => assert!(audio.samples.iter().all(|s| s.is_finite() && s.abs() <= 1.0)),
        Ok(Opened::Long(mut long)) => while let Ok(Some(_)) = long.next_part(&mut |_| {}) {},
        Err(refused) => assert!(!refused.hint.is_empty()),
    }
});
