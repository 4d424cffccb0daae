//! Names given, without a bar file, to every sample of the Debian package freepats.
//!
//! `cargo run --release -p strike --example scan_patches`: prints every sample of which a mode is
//! named, and how many there are.
#![allow(clippy::unwrap_used, reason = "an example fails by panicking")]

#[path = "../tests/common/mod.rs"]
mod common;

use strike::{Context, Take, listen};

fn main() {
    let Some(folder) = common::patch_folder() else { return };
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.extend(std::fs::read_dir("/usr/share/midi/freepats/Drum_000").unwrap().map(|entry| entry.unwrap().path()));
    files.sort();
    let (mut samples, mut heard_at_all, mut named) = (0, 0, 0);
    for file in files.iter().filter(|file| file.extension().is_some_and(|e| e == "pat")) {
        let name = file.file_stem().unwrap().to_string_lossy();
        for recording in common::read_patch(&std::fs::read(file).unwrap()) {
            samples += 1;
            let usable = recording.before_loop.unwrap_or(recording.samples.len());
            let take = Take { samples: &recording.samples[..usable], sample_rate_hz: recording.sample_rate_hz };
            let Ok(heard) = listen(&[take], &Context::default()) else { continue };
            heard_at_all += 1;
            if heard.modes.is_empty() {
                continue;
            }
            named += 1;
            let modes: Vec<String> = heard
                .modes
                .iter()
                .map(|m| {
                    format!(
                        "{}: {:.1} Hz {:.0} dB Q{:.0} {:.2}",
                        m.number,
                        m.hz,
                        m.level_db,
                        std::f64::consts::PI * m.hz * m.decay_s,
                        m.sure
                    )
                })
                .collect();
            let others: Vec<String> = heard
                .other
                .iter()
                .filter(|t| t.level_db > -30.0)
                .map(|t| format!("{:.2}@{:.0}", t.hz / heard.modes[0].hz, t.level_db))
                .collect();
            println!("{name} {}: {} | {}", recording.name, modes.join(", "), others.join(" "));
        }
    }
    println!("{samples} samples, {heard_at_all} heard, {named} with names");
}
