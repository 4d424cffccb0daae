//! Any bytes as a photograph: its pixels or a refusal with a next step, in bounded memory; and as marks on one.
#![no_main]
use barwright::photo::{Marks, Picture};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    match Picture::of_bytes(bytes.to_vec()) {
        Ok(picture) => {
            let size = picture.size;
            match picture.pixels() {
                Ok(pixels) => assert_eq!([pixels.width(), pixels.height()], [size.width_px, size.height_px]),
                Err(refused) => assert!(!refused.hint.is_empty()),
            }
        }
        Err(refused) => assert!(!refused.hint.is_empty()),
    }
    if let Ok(text) = std::str::from_utf8(bytes)
        && let Err(refused) = Marks::parse(text)
    {
        assert!(!refused.hint.is_empty());
    }
});
