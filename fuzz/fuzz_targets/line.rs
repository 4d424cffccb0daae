//! Any messages on the live microphone's line: a page's first word, frames of sound, further words, in any order.
//!
//! The input is a chain of messages: a byte for what it is, two for its length, then its bytes.
#![no_main]
use barwright::bench::Bench;
use barwright::doors::Line;
use libfuzzer_sys::fuzz_target;
use records::BarFile;

/// An invented bar that rings high: what the listener has to keep of it is short.
const BAR: &[u8] = br#"{"format":"barwright-bar/1","note":"C6","length_mm":200,"width_mm":38,"thickness_mm":19}"#;

thread_local! {
    static LINE: Line = Line::new(Bench::in_memory(BarFile::from_bytes(BAR).unwrap(), true));
}

fuzz_target!(|bytes: &[u8]| {
    LINE.with(|line| {
        let mut session = None;
        let mut rest = bytes;
        while let Some((head, after)) = rest.split_first_chunk::<3>() {
            let length = usize::from(u16::from_le_bytes([head[1], head[2]])).min(after.len());
            let (message, left) = after.split_at(length);
            rest = left;
            let said = match (head[0] % 3, &mut session) {
                (0, _) => match line.hello(message) {
                    Ok(begun) => {
                        session = Some(begun);
                        continue;
                    }
                    Err(refused) => {
                        assert!(!refused.hint.is_empty(), "{refused:?}");
                        continue;
                    }
                },
                (1, Some(session)) => session.sound(message),
                (_, Some(session)) => session.word(message),
                (_, None) => continue,
            };
            // What goes to the page is JSON with a type; a figure that is none would be null there.
            assert!(said.iter().all(|value| value["type"].is_string()), "{said:?}");
        }
    });
});
