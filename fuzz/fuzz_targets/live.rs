//! Any bytes as frames of floats, of any size, at any rate: the live listener never panics and never outgrows its memory.
#![no_main]
use libfuzzer_sys::fuzz_target;
use strike::Context;
use strike::live::Live;

fuzz_target!(|bytes: &[u8]| {
    let Some((head, rest)) = bytes.split_at_checked(4) else { return };
    let rate_hz = [8_000.0, 44_100.0, 48_000.0, 192_000.0, f64::from(u16::from_le_bytes([head[0], head[1]]))]
        [usize::from(head[2]) % 5];
    let context = Context { note_hz: Some(f64::from(head[3]) * 8.0), ..Context::default() };
    let Ok(mut live) = Live::new(rate_hz, context) else { return };
    let floats: Vec<f32> =
        rest.chunks_exact(4).map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]])).collect();
    let first_bytes = live.bytes();
    // Frames of ever other sizes; the same sound twenty times over, so that short inputs fill seconds.
    for round in 0..20 {
        for frame in floats.chunks(1 + usize::from(head[round % 4]) * (1 + round)) {
            let _ = live.push(frame);
        }
    }
    let _ = live.finish();
    assert!(live.bytes() <= first_bytes, "{} bytes grew to {}", first_bytes, live.bytes());
});
