//! The table and the mode shapes of `modes`.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod common;

use common::{barwright, example};

#[test]
fn the_table_says_what_density_does_to_every_mode() {
    let out = barwright().args(["modes", "--json"]).arg(example("xylophone-f4.bar.json")).output().unwrap();
    let value: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let row = value["changes"].as_array().unwrap().iter().find(|r| r["name"] == "density").unwrap();
    for cents in row["bending"].as_array().unwrap() {
        // Closed form: 1 % more mass lowers every mode by 600·log2(1.01) = 8.613 cents; printed to 0.001.
        assert!((cents.as_f64().unwrap() + 8.613).abs() < 2e-3, "{cents}");
    }
}

#[test]
fn shapes_are_written_once_and_never_over_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("shapes");
    let run = || {
        barwright().arg("modes").arg(example("xylophone-f4.bar.json")).arg("--shapes").arg(&target).output().unwrap()
    };
    assert!(run().status.success());
    let csv = std::fs::read_to_string(target.join("mode-shapes.csv")).unwrap();
    let columns = csv.lines().next().unwrap().split(',').count();
    assert!(csv.lines().count() > 50 && csv.lines().all(|line| line.split(',').count() == columns));
    assert!(std::fs::read_to_string(target.join("mode-shapes.svg")).unwrap().contains("<svg"));
    let again = run();
    assert_eq!(again.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&again.stderr).contains("cannot be written"));
    assert_eq!(std::fs::read_to_string(target.join("mode-shapes.csv")).unwrap(), csv);
}
