//! Shared by the command-line tests: the program, example files, and synthetic recordings.
#![allow(dead_code, reason = "each test file uses a part")]
pub mod invented;
pub mod invented_frame;
pub mod invented_instrument;
pub mod photograph;
pub mod served;
pub mod shop;
pub mod three_bars;

use assert_cmd::Command;
use std::path::{Path, PathBuf};
use strike::synth::{SynthMode, blow};

/// The program.
pub fn barwright() -> Command {
    let mut command = Command::cargo_bin("barwright").expect("the program is built with the tests");
    command.env_remove("NO_COLOR").env("TERM", "dumb");
    command
}

/// An example bar file.
pub fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name)
}

/// Runs the program; returns exit status, stdout, stderr.
pub fn run(args: &[&str]) -> (i32, String, String) {
    let output = barwright().args(args).output().expect("the program runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("answers are UTF-8");
    (output.status.code().expect("no signal"), text(output.stdout), text(output.stderr))
}

/// The answer as JSON; the exit status must be 0 and stderr empty.
pub fn answer(args: &[&str]) -> serde_json::Value {
    let (status, stdout, stderr) = run(args);
    assert_eq!((status, stderr.as_str()), (0, ""), "{args:?}");
    serde_json::from_str(&stdout).expect("the answer is JSON")
}

/// The code of a refusal in JSON; the exit status must be 1, stdout empty, message and hint there.
pub fn refusal(args: &[&str]) -> (String, String) {
    let (status, stdout, stderr) = run(&[args, &["--json"]].concat());
    assert_eq!((status, stdout.as_str()), (1, ""), "{args:?}: {stderr}");
    let value: serde_json::Value = serde_json::from_str(&stderr).expect("the refusal is JSON");
    let part = |key: &str| value["error"][key].as_str().expect("a text").to_owned();
    assert!(!part("hint").is_empty(), "a refusal without a next step: {stderr}");
    (part("code"), part("message"))
}

/// The mode frequencies of an invented C4 bar, its three bending modes at 1 : 4 : 10.
pub const BAR_HZ: [f64; 3] = [261.6, 1046.5, 2616.0];

/// Samples of one synthetic blow on that bar.
pub fn blow_samples(rate_hz: u32) -> Vec<f32> {
    let mode = |hz: f64, decay_s: f64, amplitude: f64| SynthMode { hz, decay_s, amplitude, phase_rad: -1.57 };
    let modes = [mode(BAR_HZ[0], 0.5, 0.3), mode(BAR_HZ[1], 0.15, 0.15), mode(BAR_HZ[2], 0.06, 0.08)];
    blow(&modes, f64::from(rate_hz), 1.2, 0.3, 0.0005, 7)
}

/// A WAV file of `samples` on every channel.
pub fn wav(samples: &[f32], rate_hz: u32, channels: u16, bits: u16, float: bool) -> Vec<u8> {
    let format = if float { hound::SampleFormat::Float } else { hound::SampleFormat::Int };
    let spec = hound::WavSpec { channels, sample_rate: rate_hz, bits_per_sample: bits, sample_format: format };
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).expect("a format that hound writes");
    let full_scale = 2f64.powi(i32::from(bits) - 1) - 1.0;
    for sample in samples {
        for _ in 0..channels {
            let written = if float {
                writer.write_sample(*sample)
            } else {
                writer.write_sample((f64::from(*sample) * full_scale).round() as i32)
            };
            written.expect("written to memory");
        }
    }
    writer.finalize().expect("written to memory");
    bytes.into_inner()
}

/// A WAV file with a hand-made head: any codec, any promise about its length.
pub fn raw_wav(codec: u16, channels: u16, rate_hz: u32, bits: u16, promised_bytes: u32, data: &[u8]) -> Vec<u8> {
    let frame = channels * (bits / 8);
    let mut bytes = b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0".to_vec();
    for part in [codec.to_le_bytes(), channels.to_le_bytes()] {
        bytes.extend(part);
    }
    bytes.extend(rate_hz.to_le_bytes());
    bytes.extend((rate_hz.wrapping_mul(u32::from(frame))).to_le_bytes());
    bytes.extend(frame.to_le_bytes());
    bytes.extend(bits.to_le_bytes());
    bytes.extend(b"data");
    bytes.extend(promised_bytes.to_le_bytes());
    bytes.extend(data);
    bytes
}

/// The first three bending modes as a blow sounds them: the higher the softer, each ringing sixty periods.
pub fn bending_sound(modes: &bar_physics::Modes) -> Vec<SynthMode> {
    let sounding = modes.bending.iter().zip([0.3, 0.2, 0.1]);
    sounding.map(|(m, amplitude)| SynthMode { hz: m.hz, decay_s: 60.0 / m.hz, amplitude, phase_rad: -1.57 }).collect()
}
