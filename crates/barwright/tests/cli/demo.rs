//! The demo: an invented bar is tuned by ear and advice, and its file can be kept.
use crate::common::run;
use records::BarFile;

/// The default: three tuned modes.
const NOTE: &str = "C3";

#[test]
fn the_demo_says_it_is_invented_and_ends_with_a_tuned_bar() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("demo.bar.json");
    let out = path.to_str().unwrap();
    let (status, stdout, stderr) = run(&["demo", "--no-serve", "--note", NOTE, "--bar-out", out]);
    assert_eq!(status, 0, "{stderr}");
    assert!(stderr.starts_with("Invented workshop, simulated bar"), "{stderr}");
    assert!(stdout.starts_with("Invented workshop, simulated bar") && stdout.contains("Tuned in"), "{stdout}");
    let file = BarFile::read(&path).unwrap();
    let readings = file.log().iter().filter(|entry| entry.key() == "heard").count();
    let rows = stdout.lines().filter(|line| line.trim_start().starts_with(|c: char| c.is_ascii_digit())).count();
    assert_eq!(rows, readings, "one row for each reading:\n{stdout}");
    // The same file gives the same advice from the command line, and is not written over.
    assert_eq!(crate::common::answer(&["next", out, "--json"])["decision"], "finished");
    assert_eq!(crate::common::refusal(&["demo", "--no-serve", "--note", NOTE, "--bar-out", out]).0, "exists");
    assert_eq!(BarFile::read(&path).unwrap().text(), file.text());
}

#[test]
fn a_note_outside_the_virtual_bench_is_refused() {
    assert_eq!(crate::common::refusal(&["demo", "--no-serve", "--note", "C9"]).0, "out_of_range");
    assert_eq!(crate::common::refusal(&["demo", "--no-serve", "--note", "wood"]).0, "wrong_note");
    assert_eq!(run(&["demo", "--seed", "-1"]).0, 2);
}

#[test]
fn years_of_an_invented_marimba_are_told_from_certificate_to_certificate() {
    let told = crate::common::answer(&["demo", "--years", "5", "--no-serve", "--json"]);
    assert_eq!(told["invented"], true);
    let count = |list: &str, work: &str| told[list][work].as_u64().unwrap_or(0);
    // 61 bars: every ninth damp, every thirteenth worn, one cracked.
    assert_eq!(count("triage", "dry_first"), 7, "{told}");
    assert!(count("triage", "trim") >= 3 && count("triage", "look_at") == 1, "{told}");
    assert_eq!((count("afterwards", "leave"), count("afterwards", "look_at")), (60, 1), "{told}");
    assert_ne!(told["certificates"][0], told["certificates"][1]);
    assert_eq!(crate::common::run(&["demo", "--years", "0"]).0, 2);
}
