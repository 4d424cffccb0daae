//! Recordings in every form a recorder writes, and every way one can be broken.
use crate::common::{blow_samples, raw_wav, wav};
use barwright::audio::{read, write_wav};
use proptest::prelude::*;

/// Largest difference of two takes.
fn difference(a: &[f32], b: &[f32]) -> f32 {
    assert_eq!(a.len(), b.len());
    a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max)
}

#[test]
fn every_usual_form_gives_the_same_samples() {
    let samples = blow_samples(44_100);
    for (channels, bits, float) in
        [(1, 8, false), (1, 16, false), (2, 16, false), (1, 24, false), (2, 24, false), (1, 32, false), (2, 32, true)]
    {
        let audio = read(&wav(&samples, 44_100, channels, bits, float)).unwrap();
        // Half a step of the coding, and a step for the full scale of 2^(n−1) against 2^(n−1) − 1.
        let step = if float { 1e-6 } else { 1.5 / 2f32.powi(i32::from(bits) - 1) + 1e-6 };
        assert!(difference(&audio.samples, &samples) <= step, "{channels} × {bits}");
        let codes: Vec<&str> = audio.warnings.iter().map(|w| w.code).collect();
        assert_eq!(codes, if bits == 8 { vec!["eight_bit"] } else { vec![] });
    }
    for rate_hz in [8_000, 22_050, 47_999, 192_000] {
        let audio = read(&wav(&[0.5, -0.5], rate_hz, 1, 16, false)).unwrap();
        assert!((audio.sample_rate_hz - f64::from(rate_hz)).abs() < 1e-9);
    }
    let own = read(&write_wav(&samples, 48_000).unwrap()).unwrap();
    assert!(difference(&own.samples, &samples) < 1e-6);
}

#[test]
fn of_channels_that_cancel_one_is_taken_not_their_mean() {
    let spec = hound::WavSpec {
        channels: 2,
        sample_rate: 48_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for i in 0..4800 {
        let value = (10_000.0 * (f64::from(i) * 0.05).sin()) as i16;
        writer.write_sample(value).unwrap();
        writer.write_sample(-value).unwrap();
    }
    writer.finalize().unwrap();
    let audio = read(&bytes.into_inner()).unwrap();
    let loudest = audio.samples.iter().copied().fold(0.0, f32::max);
    // One channel: a sine of 10 000 of 32 768.
    assert!((loudest - 0.305).abs() < 0.001, "{loudest}");
}

#[test]
fn floats_beyond_full_scale_are_scaled_down_together() {
    let audio = read(&wav(&[4.0, -2.0, 0.0], 48_000, 1, 32, true)).unwrap();
    assert!(difference(&audio.samples, &[1.0, -0.5, 0.0]) < 1e-6);
    let audio = read(&wav(&[f32::MAX, f32::MIN], 48_000, 2, 32, true)).unwrap();
    assert!(audio.samples.iter().all(|s| s.is_finite()));
}

#[track_caller]
fn refused(bytes: &[u8], code: &str, in_message: &[&str]) {
    let error = read(bytes).unwrap_err();
    assert_eq!(error.code, code, "{error}");
    for part in in_message {
        assert!(error.message.contains(part), "\"{part}\" is not in: {error}");
    }
    assert!(!error.hint.is_empty(), "no next step: {error}");
}

#[test]
fn broken_recordings_are_refused_with_value_limit_and_next_step() {
    let whole = wav(&blow_samples(48_000), 48_000, 1, 16, false);
    let promised = (whole.len() - 44).to_string();
    refused(&whole[..1044], "truncated", &[&promised, "1000 are present"]);
    refused(&whole[..30], "truncated", &["format"]);
    refused(&whole[..36], "truncated", &["36 bytes hold no samples"]);
    refused(b"", "empty", &["no samples"]);
    refused(&raw_wav(1, 1, 48_000, 16, 0, &[]), "empty", &["no samples"]);
    refused(&raw_wav(1, 1, 48_000, 16, u32::MAX, &[0; 100]), "truncated", &["4294967295", "100 are present"]);
    refused(&wav(&[0.1, f32::NAN, 0.1], 48_000, 1, 32, true), "not_finite", &["Sample 1", "NaN"]);
    refused(&wav(&[0.1, 0.1, f32::INFINITY], 48_000, 1, 32, true), "not_finite", &["Sample 2", "inf"]);
    refused(b"This is a letter, not a sound.\n", "not_sound", &["look like text"]);
    refused(b"fLaC\0\0\0\x22 and so on", "damaged", &["FLAC"]);
    refused(b"\0\0\0\x20ftypM4A \0\0", "truncated", &["M4A", "32 bytes"]);
    refused(b"RIFF\x04\0\0\0AVI LIST", "not_sound", &["RIFF file without sound"]);
    refused(&[0; 4096], "not_sound", &["4096 bytes", "zeros"]);
    refused(&raw_wav(1, 1, 100, 16, 4, &[0; 4]), "sample_rate", &["100 Hz", "4000", "384000"]);
    refused(&raw_wav(1, 1, 4_000_000_000, 16, 4, &[0; 4]), "sample_rate", &["4000000000"]);
    refused(&raw_wav(1, 40, 48_000, 16, 80, &[0; 80]), "channels", &["40 channels", "1 to 8"]);
    refused(&raw_wav(1, 0, 48_000, 16, 4, &[0; 4]), "damaged", &["0 channels"]);
    refused(&raw_wav(7, 1, 8_000, 8, 4, &[0; 4]), "unsupported_codec", &["µ-law", "16, 24"]);
    refused(&raw_wav(3, 1, 48_000, 64, 8, &[0; 8]), "unsupported_codec", &["floats of 64 bits"]);
    refused(&raw_wav(0x1234, 1, 48_000, 16, 4, &[0; 4]), "unsupported_codec", &["0x1234"]);
    refused(&raw_wav(1, 1, 4_000, 8, 7_000_000, &vec![0; 7_000_000]), "too_long", &["1500 s"]);
}

proptest! {
    #[test]
    fn no_bytes_make_the_reader_panic(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        prop_assert!(read(&bytes).is_err());
    }

    #[test]
    fn a_recording_with_damaged_head_is_read_or_refused_with_a_next_step(
        places in proptest::collection::vec((0..60usize, any::<u8>()), 1..6), length in 0..400usize,
    ) {
        let mut bytes = wav(&blow_samples(8_000)[..100], 8_000, 2, 16, false);
        for (at, byte) in places {
            bytes[at] = byte;
        }
        bytes.truncate(length);
        match read(&bytes) {
            Ok(audio) => prop_assert!(audio.samples.iter().all(|s| s.is_finite() && s.abs() <= 1.0)),
            Err(error) => prop_assert!(!error.hint.is_empty()),
        }
    }
}
