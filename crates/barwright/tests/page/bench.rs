//! The bench: what is entered is saved whole or not at all, and can be taken back.
use crate::common::{bending_sound, example, wav};
use bar_physics::Wanted;
use barwright::bench::Bench;
use barwright::error::Refused;
use making::{Band, Side};
use records::{BarFile, LogEntry};
use std::fs;
use std::path::PathBuf;
use strike::synth::blow;

/// A copy of an example file in a folder of its own.
fn copy(name: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    fs::copy(example(name), &path).unwrap();
    (folder, path)
}

fn band() -> Band {
    Band { from_m: 0.02, to_m: 0.06, depth_m: 0.2e-3, side: Side::Both }
}

#[test]
fn a_cut_is_saved_changes_the_advice_and_can_be_taken_back() {
    let (_folder, path) = copy("c3-rough.bar.json");
    let original = fs::read_to_string(&path).unwrap();
    let mut bench = Bench::from_file(&path).unwrap();
    let before = bench.advise().unwrap();
    assert!(!bench.can_undo() && bench.undo().unwrap().is_none(), "what was in the file before stays");
    bench.cut(&[band()], Some(3)).unwrap();
    assert_eq!(bench.revision(), 1);
    assert_eq!(fs::read_to_string(&path).unwrap(), bench.file().text());
    let after = bench.advise().unwrap();
    let lower = |i: usize| after.outlook[i].now_cents < before.outlook[i].now_cents;
    assert!(lower(0) && lower(1) && lower(2), "0.2 mm less in the arch lowers every tuned mode");
    assert!(bench.undo().unwrap().unwrap().starts_with("cut"), "in words");
    assert_eq!(fs::read_to_string(&path).unwrap(), original);
    assert_eq!(bench.revision(), 2);
}

#[test]
fn a_blow_is_heard_with_the_predictions_of_the_bar_and_entered() {
    let (_folder, path) = copy("c3-rough.bar.json");
    let mut bench = Bench::from_file(&path).unwrap();
    let modes = bench.modes().unwrap();
    let sound = bending_sound(&modes);
    let take = wav(&blow(&sound, 48_000.0, 1.2, 0.3, 0.0005, 3), 48_000, 1, 24, false);
    let heard = bench.hear(&take, None).unwrap();
    assert!(heard.modes.len() >= 3);
    let Some(LogEntry::Heard(entered)) = bench.file().log().last() else { panic!("a reading was entered") };
    for (mode, hz) in modes.bending.iter().zip(entered.hz.bending.as_ref().unwrap()) {
        let off = 1200.0 * (hz.unwrap() / mode.hz).log2();
        // Noise 50 dB below the blow moves no mode by a cent (Cramér–Rao bound far below).
        assert!(off.abs() < 1.0, "mode {}: {off} cents", mode.number);
    }
    assert_eq!(bench.bouts().len(), 4);
    assert_eq!(BarFile::read(&path).unwrap().text(), bench.file().text());
}

#[test]
fn what_cannot_be_entered_or_saved_changes_nothing() {
    let (_folder, path) = copy("c3-rough.bar.json");
    let mut bench = Bench::from_file(&path).unwrap();
    let original = bench.file().text().to_owned();
    let refused = |result: Result<(), Refused>| result.unwrap_err().code;
    assert_eq!(refused(bench.cut(&[Band { depth_m: 0.05, ..band() }], None)), "contradictory_log");
    assert_eq!(bench.hear(b"no sound", None).unwrap_err().code, "not_sound");
    assert_eq!((bench.file().text(), bench.revision()), (original.as_str(), 0));
    fs::write(&path, format!("{original} ")).unwrap();
    assert_eq!(refused(bench.cut(&[band()], None)), "changed_on_disk");
    assert_eq!((bench.file().text(), bench.revision()), (original.as_str(), 0));
    assert_eq!(fs::read_to_string(&path).unwrap(), format!("{original} "));
}

#[test]
fn modes_of_the_believed_bar_are_what_the_outlook_says() {
    let bench = Bench::from_file(&example("c3-rough.bar.json")).unwrap();
    let (advice, modes) = (bench.advise().unwrap(), bench.modes().unwrap());
    assert_eq!(modes.bending.len(), Wanted::default().bending);
    for (outlook, mode) in advice.outlook.iter().zip(&modes.bending) {
        let cents = 1200.0 * (mode.hz / outlook.target_hz).log2();
        // The outlook allows for the model's own error of a few cents, the bare modes do not.
        assert!((cents - outlook.now_cents).abs() < 10.0, "{cents} {}", outlook.now_cents);
    }
}
