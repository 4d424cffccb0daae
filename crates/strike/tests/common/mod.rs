//! Reads recordings of struck bars out of GUS patch files (Debian package freepats).
//!
//! The format is openly described: a 129-byte file header, a 63-byte instrument header, a 47-byte
//! layer header, then per sample a 96-byte header followed by its data, all little-endian. Sample
//! header: 0 name (7), 7 loop fractions (1), 8 data size in bytes, 12 loop start, 16 loop end
//! (bytes), 20 rate (2), …, 55 modes: bit 0 16-bit data, bit 1 unsigned, bit 2 looped.
#![allow(dead_code)]

/// One sample of a patch.
pub struct Recording {
    pub name: String,
    pub sample_rate_hz: f64,
    pub samples: Vec<f32>,
    /// Samples before the loop: after it the patch repeats and no longer decays as the bar did.
    pub before_loop: Option<usize>,
}

const FIRST_SAMPLE: usize = 129 + 63 + 47;

fn u32_at(bytes: &[u8], at: usize) -> usize {
    u32::from_le_bytes(bytes[at..at + 4].try_into().expect("as the test needs")) as usize
}

fn decode(data: &[u8], modes: u8) -> Vec<f32> {
    let unsigned = modes & 2 != 0;
    if modes & 1 != 0 {
        let flip = if unsigned { 0x8000 } else { 0 };
        let value = |pair: &[u8]| (u16::from_le_bytes([pair[0], pair[1]]) ^ flip) as i16;
        data.chunks_exact(2).map(|pair| f32::from(value(pair)) / 32768.0).collect()
    } else {
        let flip = if unsigned { 0x80 } else { 0 };
        data.iter().map(|byte| f32::from((byte ^ flip) as i8) / 128.0).collect()
    }
}

/// All samples of a patch.
pub fn read_patch(bytes: &[u8]) -> Vec<Recording> {
    assert_eq!(&bytes[..11], b"GF1PATCH110", "not a GUS patch");
    let count = usize::from(bytes[FIRST_SAMPLE - 41]);
    let mut at = FIRST_SAMPLE;
    (0..count)
        .map(|_| {
            let header = &bytes[at..at + 96];
            let (size, loop_start) = (u32_at(header, 8), u32_at(header, 12));
            let modes = header[55];
            let width = if modes & 1 != 0 { 2 } else { 1 };
            let data = &bytes[at + 96..at + 96 + size];
            at += 96 + size;
            Recording {
                name: header[..7].iter().map(|b| char::from(*b)).collect::<String>().trim_matches('\0').to_owned(),
                sample_rate_hz: f64::from(u16::from_le_bytes([header[20], header[21]])),
                samples: decode(data, modes),
                before_loop: (modes & 4 != 0).then_some(loop_start / width),
            }
        })
        .collect()
}

/// Folder of the patches, if the package is installed. With `BARWRIGHT_REQUIRE_RECORDINGS=1` a
/// missing package is a failure, otherwise the caller says that it skips.
pub fn patch_folder() -> Option<std::path::PathBuf> {
    let folder = std::path::PathBuf::from("/usr/share/midi/freepats/Tone_000");
    if folder.is_dir() {
        return Some(folder);
    }
    let required = std::env::var("BARWRIGHT_REQUIRE_RECORDINGS").is_ok_and(|value| value == "1");
    assert!(!required, "the Debian package freepats is not installed; apt-get install freepats");
    println!("skipped: the Debian package freepats is not installed");
    None
}
