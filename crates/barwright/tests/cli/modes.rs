//! The table and the mode shapes of `modes`.

use crate::common::{barwright, example};

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

/// At the cord's own node line nothing moves; at the middle everything, by definition; off the bar is refused.
#[test]
fn motion_is_told_at_any_place_of_the_top() {
    let modes = |at: &[&str]| {
        let mut command = barwright();
        command.args(["modes", "--json"]).arg(example("xylophone-f4.bar.json"));
        at.iter().for_each(|place| {
            command.args(["--at", place]);
        });
        command.output().unwrap()
    };
    let read = |out: std::process::Output| serde_json::from_slice::<serde_json::Value>(&out.stdout).unwrap();
    let plain = read(modes(&[]));
    assert!(plain.get("motion").is_none());
    let node = &plain["bending"][0]["nodes_mm"][0];
    let far = format!("{},20", node["far"]);
    let near = format!("{},-20", node["near"]);
    let value = read(modes(&[&node["centre"].to_string(), &far, &near, "190"]));
    let motion = |i: usize| value["motion"][i]["bending"][0].as_f64().unwrap();
    for i in 0..3 {
        // Nodes are printed to a micrometre; bending 1 moves about 2 % of the middle's motion per millimetre there.
        assert!(motion(i).abs() < 1e-3, "place {i}: {}", motion(i));
    }
    assert!((motion(3) - 1.0).abs() < 1e-5);
    let refused = modes(&["400"]);
    assert_eq!(refused.status.code(), Some(1));
    let message = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(message.contains("place_off_the_bar") && message.contains("380"), "{message}");
    assert_eq!(modes(&["12,x"]).status.code(), Some(2));
}
