//! `listen` on synthetic blows: every form of recording is heard alike.
use crate::common::{BAR_HZ, answer, blow_samples, run, wav};
use serde_json::Value;
use std::path::Path;

fn written(folder: &Path, name: &str, bytes: &[u8]) -> String {
    let path = folder.join(name);
    std::fs::write(&path, bytes).unwrap();
    path.display().to_string()
}

/// Bending modes of the answer must be those of the invented bar.
#[track_caller]
fn hears_the_bar(value: &Value, within_cents: f64) {
    for (i, want_hz) in BAR_HZ.iter().enumerate() {
        let modes = value["modes"].as_array().unwrap();
        let mode = modes.iter().find(|m| m["kind"] == "bending" && m["mode"] == i + 1);
        let mode = mode.unwrap_or_else(|| panic!("bending {} was not heard: {value}", i + 1));
        let off = 1200.0 * (mode["hz"].as_f64().unwrap() / want_hz).log2();
        assert!(off.abs() < within_cents, "bending {}: {off} cents off", i + 1);
        for key in ["sigma_cents", "decay_s", "level_db", "sure"] {
            assert!(mode[key].is_number(), "{key}");
        }
        assert!(mode.get("early_hz").is_some() && mode.get("late_hz").is_some());
    }
    assert_eq!(value["blows"], 1);
    assert!(value["other"].is_array());
}

#[test]
fn every_form_of_recording_is_heard_alike() {
    let folder = tempfile::tempdir().unwrap();
    // One cent: far above the noise bound of these blows at 16 bits or more; five at 8 bits, whose steps are 1/128.
    for (rate_hz, channels, bits, float, cents) in [
        (44_100, 1, 16, false, 1.0),
        (48_000, 2, 24, false, 1.0),
        (96_000, 1, 32, true, 1.0),
        (37_123, 1, 16, false, 1.0),
        (48_000, 1, 8, false, 5.0),
    ] {
        let take = written(folder.path(), "take.wav", &wav(&blow_samples(rate_hz), rate_hz, channels, bits, float));
        let value = answer(&["listen", &take, "--note", "C4", "--struck", "end", "--json"]);
        hears_the_bar(&value, cents);
        let warned = value["warnings"].as_array().unwrap().iter().any(|w| w["code"] == "eight_bit");
        assert_eq!(warned, bits == 8);
    }
}

#[test]
fn the_text_names_each_mode_with_its_ratio() {
    let folder = tempfile::tempdir().unwrap();
    let take = written(folder.path(), "take.wav", &wav(&blow_samples(48_000), 48_000, 1, 24, false));
    let (status, stdout, _) = run(&["listen", &take, "--note", "C4"]);
    assert_eq!(status, 0);
    assert!(stdout.starts_with("Heard 1 blow."), "{stdout}");
    assert!(stdout.contains("mode 2 is 4 × mode 1, mode 3 is 10 × mode 1."), "{stdout}");
}
