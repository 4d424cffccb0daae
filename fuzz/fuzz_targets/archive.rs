//! Any bytes as a workshop's archive: what would come in, or a refusal with a next step; the record stays as it was.
//!
//! The first byte chooses: an archive; or its events or its manifest in an archive that is otherwise whole.
#![no_main]
use jiff::Timestamp;
use libfuzzer_sys::fuzz_target;
use records::workshop::{ArchiveLimits, BarFilter, Workshop};
use std::cell::RefCell;
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;

const MANIFEST: &[u8] = br#"{"format":"barwright-workshop/1","exported_at":"2026-01-01T00:00:00Z","things":0,"events":0,"takes":[]}"#;
/// What an archive of the fuzzer's size could hold, with room: the limits are what is tried.
const LIMITS: ArchiveLimits =
    ArchiveLimits { events: 1 << 20, event: 1 << 16, take: 1 << 16, photo: 1 << 16, takes: 1 << 20 };

thread_local! {
    static RECORD: RefCell<(tempfile::TempDir, Workshop)> = RefCell::new({
        let folder = tempfile::tempdir().unwrap();
        let workshop = Workshop::create(&folder.path().join("shop"), "Fuzzed", Timestamp::UNIX_EPOCH).unwrap();
        (folder, workshop)
    });
}

fn archive_of(manifest: &[u8], events: &[u8]) -> Vec<u8> {
    let stored = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    let mut out = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in [("manifest.json", manifest), ("events.jsonl", events)] {
        out.start_file(name, stored).unwrap();
        out.write_all(bytes).unwrap();
    }
    out.finish().unwrap().into_inner()
}

fuzz_target!(|bytes: &[u8]| {
    let Some((choice, rest)) = bytes.split_first() else { return };
    let content = match choice % 3 {
        0 => rest.to_vec(),
        1 => archive_of(MANIFEST, rest),
        _ => archive_of(rest, b""),
    };
    RECORD.with_borrow_mut(|(folder, workshop)| {
        let path = folder.path().join("archive.zip");
        std::fs::write(&path, content).unwrap();
        // Nothing is kept, so that every try meets the same record.
        if let Err(refused) = workshop.import(&path, true, LIMITS) {
            assert!(!refused.hint.is_empty() || !refused.message.is_empty(), "{refused:?}");
        }
        assert_eq!(workshop.count_bars(&BarFilter::default()).unwrap(), 0);
    });
});
