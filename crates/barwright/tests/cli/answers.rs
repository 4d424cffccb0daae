//! The answers: the public JSON keys, and the text a maker reads.
use crate::common::{answer, example, run};
use serde_json::Value;

fn path(name: &str) -> String {
    example(name).display().to_string()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

#[test]
fn modes_answers_with_the_public_keys() {
    let value = answer(&["modes", &path("xylophone-f4.bar.json"), "--json"]);
    let hz = |family: &str| numbers(&value[family].as_array().unwrap().iter().map(|m| m["hz"].clone()).collect());
    let bending = hz("bending");
    assert_eq!((bending.len(), hz("torsion").len(), hz("sideways").len()), (3, 2, 1));
    assert!(bending.windows(2).all(|pair| pair[0] < pair[1]));
    for (n, mode) in value["bending"].as_array().unwrap().iter().enumerate() {
        assert_eq!(mode["mode"], n + 1);
        let nodes = mode["nodes_mm"].as_array().unwrap();
        assert_eq!(nodes.len(), n + 2, "bending n has n + 1 node lines");
        assert!(nodes.iter().all(|line| ["near", "centre", "far"].iter().all(|key| line[key].is_number())));
    }
    let x_mm = numbers(&value["sensitivity"]["x_mm"]);
    assert!((x_mm[0].abs() < 1e-9) && (x_mm[x_mm.len() - 1] - 380.0).abs() < 1e-6);
    let rows = value["sensitivity"]["cents_per_mm"].as_array().unwrap();
    assert_eq!(rows.len(), 3);
    assert!(rows.iter().all(|row| numbers(row).len() == x_mm.len()));
    assert!(value["mass_g"].as_f64().unwrap() > 100.0);
}

/// Taking 0.1 mm off 20 mm in the middle, for real, changes the pitch as the published sensitivity says.
#[test]
fn sensitivity_has_the_published_unit() {
    let folder = tempfile::tempdir().unwrap();
    let base = path("xylophone-f4.bar.json");
    let before = answer(&["modes", &base, "--json"]);
    let text = std::fs::read_to_string(&base).unwrap();
    let cut_path = folder.path().join("cut.bar.json");
    let mut file = records::BarFile::from_bytes(text.as_bytes()).unwrap();
    let band = records::BandRecord { from_mm: 0.0, to_mm: 20.0, depth_mm: 0.1, side: None };
    file.append(&records::LogEntry::Cut(records::CutRecord { bands: vec![band], passes: None })).unwrap();
    file.save_new(&cut_path).unwrap();
    let after = answer(&["modes", cut_path.to_str().unwrap(), "--json"]);
    let x_mm = numbers(&before["sensitivity"]["x_mm"]);
    for mode in 0..3 {
        let hz = |value: &Value| value["bending"][mode]["hz"].as_f64().unwrap();
        let real = 1200.0 * (hz(&after) / hz(&before)).log2();
        let row = numbers(&before["sensitivity"]["cents_per_mm"][mode]);
        let step_mm = x_mm[1] - x_mm[0];
        let predicted: f64 =
            x_mm.iter().zip(&row).filter(|(x, _)| (**x - 190.0).abs() <= 20.0).map(|(_, c)| c * step_mm).sum();
        // First order in 0.1 mm of 12 mm, a strip more or less at the edges: 10 %, and 0.3 cent where it nearly cancels.
        assert!((predicted - real).abs() < 0.1 * real.abs() + 0.3, "mode {}: {predicted} against {real}", mode + 1);
    }
}

#[test]
fn next_answers_with_the_public_keys() {
    let value = answer(&["next", &path("c3-rough.bar.json"), "--json"]);
    assert_eq!(value["decision"], "cut");
    let bands = value["bands"].as_array().unwrap();
    assert!(!bands.is_empty());
    for band in bands {
        assert!(band["from_mm"].as_f64().unwrap() < band["to_mm"].as_f64().unwrap());
        assert!(band["depth_mm"].as_f64().unwrap() > 0.0);
        assert!(["both", "left", "right"].contains(&band["side"].as_str().unwrap()));
    }
    assert!(value["passes"]["low"].as_u64().unwrap() <= value["passes"]["high"].as_u64().unwrap());
    let expect = value["expect"].as_array().unwrap();
    assert_eq!(expect.iter().map(|e| e["mode"].as_u64().unwrap()).collect::<Vec<_>>(), [1, 2, 3]);
    assert!(expect.iter().all(|e| e["cents"].is_number() && e["sigma"].as_f64().unwrap() > 0.0));
    // The plan's own limit is a chance of 2 % per bout.
    assert!(value["risk_flat"].as_f64().unwrap() <= 0.02);
    for key in ["stop_when", "belief", "options", "cautions"] {
        assert!(value.get(key).is_some(), "{key}");
    }
}

#[test]
fn check_and_schema_answer() {
    let value = answer(&["check", &path("blank.bar.json"), "--json"]);
    assert_eq!((&value["ok"], &value["note"], &value["log_entries"]), (&true.into(), &"C3".into(), &1.into()));
    assert_eq!(answer(&["schema"]), serde_json::from_str::<Value>(&records::schema_text()).unwrap());
}

/// Texts for people are pinned whole where only the file and the solver decide them;
/// `INSTA_UPDATE=always cargo test -p barwright` renews them.
#[test]
fn the_text_of_modes_and_check_reads_well() {
    let text = |args: &[&str]| run(args).1;
    insta::assert_snapshot!("modes_xylophone", text(&["modes", &path("xylophone-f4.bar.json")]));
    insta::assert_snapshot!("check_c3", text(&["check", &path("c3-rough.bar.json")]));
    insta::assert_snapshot!("help", text(&["--help"]));
}

#[test]
fn the_text_says_where_the_wood_comes_from_and_puts_the_instruction_first() {
    let (_, modes, _) = run(&["modes", &path("blank.bar.json"), "--units", "mm"]);
    assert!(modes.contains("C3, 470 mm long, 62 mm wide, 23 mm thick throughout."), "{modes}");
    assert!(modes.contains("Wood and shape estimated from mass and readings"), "{modes}");
    let bar = path("c3-rough.bar.json");
    let value = answer(&["next", &bar, "--json"]);
    let (_, text, _) = run(&["next", &bar]);
    assert_eq!(text.lines().next(), value["instruction"].as_str());
}
