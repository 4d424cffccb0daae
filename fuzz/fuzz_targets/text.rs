//! Any text as a specification, as a certificate, as a length, as a note: read or refused in words.
#![no_main]
use barwright::certified::Sealed;
use barwright::doors;
use libfuzzer_sys::fuzz_target;
use records::{Length, LengthUnit, Note};

fuzz_target!(|text: &str| {
    if let Err(refused) = doors::specification(text) {
        assert!(!refused.message.is_empty(), "{refused:?}");
    }
    match Sealed::read(text) {
        Ok(sealed) => drop(sealed.check()),
        Err(refused) => assert!(!refused.hint.is_empty(), "{refused:?}"),
    }
    if let Ok(length) = Length::parse(text, LengthUnit::Mm) {
        assert!(length.mm.is_finite());
    }
    if let Ok(note) = text.parse::<Note>() {
        assert_eq!(note.to_string().parse::<Note>().ok(), Some(note));
    }
});
