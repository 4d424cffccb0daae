//! Any bytes as a bar file: read or refused with a next step, and what is read is written back byte for byte.
#![no_main]
use libfuzzer_sys::fuzz_target;
use records::BarFile;

fuzz_target!(|bytes: &[u8]| {
    match BarFile::from_bytes(bytes) {
        Ok(file) => assert_eq!(file.text().as_bytes(), bytes),
        Err(error) => assert!(!error.hint.is_empty()),
    }
});
