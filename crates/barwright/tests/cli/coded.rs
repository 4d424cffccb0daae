//! Recordings as phones and recorders write them: heard as the sound they were made from, or refused in words.
//!
//! The files in `reference/coded` are one synthetic blow (invented sound, `common::blow_samples` and its like at 48 kHz)
//! encoded by `reference/scripts/coded_blows.sh`; the truth is what the blow was made of.
use crate::common::{BAR_HZ, blow_samples, wav};
use barwright::audio::{Opened, open_bytes, read};
use barwright::hearing::{Recording, hear_recordings};
use proptest::prelude::*;
use std::path::Path;
use strike::{Context, Heard, Kind};

fn coded(name: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../reference/coded").join(name)).unwrap()
}

fn heard(bytes: &[u8]) -> Heard {
    let context = Context { note_hz: Some(261.63), ..Context::default() };
    let recording = Recording::prepare(open_bytes(bytes).unwrap(), &context, &mut |_| {}).unwrap();
    hear_recordings(&[recording], &context, 3).unwrap()
}

/// Cents by which the bending modes of `heard` are off.
fn off_cents(heard: &Heard) -> Vec<Option<f64>> {
    let mode = |number: usize| heard.modes.iter().find(|m| m.kind == Kind::Bending && m.number == number);
    BAR_HZ.iter().enumerate().map(|(i, hz)| Some(1200.0 * (mode(i + 1)?.hz / hz).log2())).collect()
}

#[test]
fn every_form_gives_the_modes_of_the_blow() {
    let truth = off_cents(&heard(&wav(&blow_samples(44_100), 44_100, 1, 24, false)));
    for (name, limit_cents) in [
        // Without loss: only the rounding to 16 bits, 30 dB under the noise of the blow.
        ("blow.flac", 0.05),
        ("blow-lossless.m4a", 0.2), // and cut off after 0.6 s of ring, which costs precision
        ("blow.aiff", 1.0),         // after 0.3 s of ring
        // Coders with loss keep noise some 20 dB under the sound in each band, and move no clock. At the bound for a
        // damped tone (LITERATURE §6) that is below 0.3 cents for mode 1 and a cent for mode 3, which rings 60 ms only.
        ("blow.mp3", 1.0),
        ("blow-stereo.mp3", 1.0),
        ("blow.m4a", 1.0),
        ("blow-stereo.m4a", 1.0),
        ("blow.aac", 1.0),
        ("blow.ogg", 1.0),
    ] {
        let off = off_cents(&heard(&coded(name)));
        println!("{name}: {off:.3?}, WAV {truth:.3?}");
        for (mode, (off, truth)) in off.iter().zip(&truth).enumerate() {
            let off = off.unwrap_or_else(|| panic!("{name}: bending {} was not heard", mode + 1)) - truth.unwrap();
            assert!(off.abs() < limit_cents, "{name}: bending {} is {off:.3} cents from WAV", mode + 1);
        }
    }
}

#[test]
fn rate_and_channels_come_from_the_sound_itself() {
    for (name, rate_hz, least_s) in [
        ("blow.flac", 44_100.0, 1.3),
        ("blow.mp3", 44_100.0, 1.5),
        ("blow-stereo.mp3", 48_000.0, 1.5),
        ("blow.m4a", 44_100.0, 1.5),
        ("blow-stereo.m4a", 48_000.0, 1.5),
        ("blow.ogg", 44_100.0, 1.5),
        ("8khz.mp3", 8_000.0, 1.5),
    ] {
        let audio = read(&coded(name)).unwrap();
        assert!((audio.sample_rate_hz - rate_hz).abs() < 1e-9, "{name}: {} Hz", audio.sample_rate_hz);
        let length_s = audio.samples.len() as f64 / audio.sample_rate_hz;
        // Up to two packets of padding (2 × 1152 at 8 kHz is 0.29 s) stay where the file does not tell them.
        assert!((least_s - 0.01..least_s + 0.3).contains(&length_s), "{name}: {length_s} s");
        assert!(audio.warnings.is_empty(), "{name}: {:?}", audio.warnings);
    }
}

#[test]
fn lossless_coding_gives_the_very_samples() {
    let audio = read(&coded("blow.flac")).unwrap();
    let want = blow_samples(44_100);
    // The encoder was told to stop at 1.3 s.
    assert_eq!(audio.samples.len(), 57_330);
    // Half a step of 16 bits, and dither of one step by the converter.
    let most = audio.samples.iter().zip(&want).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max);
    assert!(most < 2.0 / 32_768.0, "{most}");
}

#[test]
fn narrow_band_coding_is_told() {
    for (name, code) in [("8khz.mp3", "low_rate"), ("telephone.flac", "narrow_band")] {
        let heard = heard(&coded(name));
        let codes: Vec<&str> = heard.warnings.iter().map(|w| w.code).collect();
        assert!(codes.contains(&code), "{name}: {codes:?}");
        // Mode 1 lies in the telephone's band (300–3400 Hz) or just under it and is still near the truth, or not named.
        let first = off_cents(&heard)[0];
        assert!(first.is_none_or(|off| off.abs() < 5.0), "{name}: {first:?}");
    }
}

#[track_caller]
fn refused(bytes: &[u8], code: &str, part: &str) {
    let error = read(bytes).unwrap_err();
    assert_eq!(error.code, code, "{error}");
    assert!(error.message.contains(part), "\"{part}\" is not in: {error}");
    assert!(!error.hint.is_empty(), "no next step: {error}");
}

#[test]
fn what_is_not_read_is_refused_by_name() {
    refused(&coded("opus.ogg"), "unsupported_codec", "Ogg");
    refused(&coded("video-only.mp4"), "no_sound_track", "video without sound");
    let flac = coded("blow.flac");
    refused(&flac[..flac.len() / 2], "truncated", "promises 1.30 s");
    let moved = coded("blow-stereo.m4a");
    refused(&moved[..moved.len() / 2], "truncated", "promises at least");
    let m4a = coded("blow.m4a");
    refused(&m4a[..m4a.len() / 2], "truncated", "bytes");
    refused(&m4a[..40], "truncated", "40");
    let mut broken = flac.clone();
    let middle = broken.len() / 2;
    broken[middle..middle + 200].fill(0x55);
    refused(&broken, "damaged", "FLAC");
}

#[test]
fn names_do_not_matter() {
    let folder = tempfile::tempdir().unwrap();
    for (name, ending) in [("blow.mp3", "wav"), ("blow.m4a", "txt"), ("blow.ogg", "")] {
        let path = folder.path().join(format!("take.{ending}"));
        std::fs::write(&path, coded(name)).unwrap();
        assert!(matches!(barwright::audio::open(&path).unwrap(), Opened::Whole(_)), "{name}");
    }
    assert_eq!(barwright::audio::open(folder.path()).unwrap_err().code, "unreadable");
}

const FILES: [&str; 12] = [
    "blow.flac",
    "blow.mp3",
    "blow-stereo.mp3",
    "blow.m4a",
    "blow-stereo.m4a",
    "blow.aac",
    "blow-lossless.m4a",
    "blow.ogg",
    "blow.aiff",
    "8khz.mp3",
    "opus.ogg",
    "video-only.mp4",
];

/// Opened and read to its end, or refused with a next step; samples are always sound.
fn reads_or_refuses(bytes: &[u8]) -> Result<(), TestCaseError> {
    match read(bytes) {
        Ok(audio) => prop_assert!(audio.samples.iter().all(|s| s.is_finite() && s.abs() <= 1.0)),
        Err(error) => prop_assert!(!error.hint.is_empty() && !error.message.is_empty()),
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn damaged_recordings_are_read_or_refused(
        file in 0..FILES.len(),
        places in proptest::collection::vec((any::<proptest::sample::Index>(), any::<u8>()), 1..8),
        head in proptest::collection::vec((0..200usize, any::<u8>()), 0..4),
        keep in 0.0f64..1.5,
    ) {
        let mut bytes = coded(FILES[file]);
        for (at, byte) in places {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        for (at, byte) in head {
            bytes[at] = byte;
        }
        bytes.truncate((keep * bytes.len() as f64) as usize);
        reads_or_refuses(&bytes)?;
    }

    #[test]
    fn any_bytes_behind_a_known_beginning_are_read_or_refused(
        magic in 0..8usize, bytes in proptest::collection::vec(any::<u8>(), 0..2000),
    ) {
        let magics: [&[u8]; 8] = [
            b"fLaC", b"OggS\0\x02", b"\0\0\0\x18ftypM4A ", b"ID3\x04\0", b"\xFF\xFB\x90\x64", b"\xFF\xF1\x50\x80",
            b"FORM\0\0\x10\0AIFFCOMM", b"RIFF\0\x10\0\0WAVEfmt ",
        ];
        reads_or_refuses(&[magics[magic], &bytes].concat())?;
    }
}
