//! Every command of a bar file on the workshop's record, corrections, and units as they were written. All invented.
use crate::common::shop::{Shop, arched_c4, text};
use crate::common::{answer, example, run};
use serde_json::{Value, json};

/// A shop with an example bar: its file, read into the record and written out again.
fn with_example(name: &str, note: &str) -> (Shop, String) {
    let shop = Shop::new();
    shop.says(&["instrument", "add", "First order", "--a4", "440"]);
    shop.says(&["bar", "117", "new", "--from", text(&example(name))]);
    shop.says(&["bar", "117", "give", note, "--to", "First order"]);
    let out = shop.path("out.bar.json");
    shop.says(&["bar", note, "file", text(&out)]);
    let out = text(&out).to_owned();
    (shop, out)
}

#[test]
fn a_bar_of_the_record_answers_as_its_file_does() {
    let (shop, file) = with_example("c3-rough.bar.json", "C3");
    for (command, options) in [
        ("modes", &["--table", "--at", "92.5,-20"][..]),
        ("next", &[][..]),
        ("check", &[][..]),
        ("rescue", &["--holes", "100,370"][..]),
    ] {
        let from_file = answer(&[&[command, &file, "--json"], options].concat());
        let from_record = shop.json(&[&["bar", "C3", command], options].concat());
        assert_eq!(from_record, from_file, "{command}");
        let (_, words, _) = run(&[&[command, &file], options].concat());
        assert_eq!(shop.says(&[&["bar", "#117", command], options].concat()), words, "{command}");
    }
}

#[test]
fn arch_and_saw_of_the_record_are_those_of_the_file() {
    let (shop, file) = with_example("blank.bar.json", "C3");
    let options = ["--headroom", "100,105,95", "--station", "40"];
    let from_file = answer(&[&["arch", &file, "--json"], &options[..]].concat());
    assert_eq!(shop.json(&[&["bar", "C3", "arch"], &options[..]].concat()), from_file);
    assert_eq!(shop.json(&["bar", "C3", "saw", "--kerf", "2.5"]), answer(&["saw", &file, "--kerf", "2.5", "--json"]));
    let picture = shop.path("arch.svg");
    shop.says(&["bar", "C3", "arch", "--picture", text(&picture)]);
    assert!(std::fs::read_to_string(&picture).unwrap().starts_with("<svg"));
    // A bar that is not there, in the row or beside it, is named.
    assert_eq!(shop.refuses(&["bar", "C3", "arch", "D3"]), "not_found");
    assert_eq!(shop.refuses(&["bar", "C3", "arch", "--neighbour", "B2"]), "not_found");
    assert_eq!(shop.refuses(&["bar", "C3", "arch", "--neighbour", "#117"]), "no_arch");
    shop.says(&["bar", "118", "new", "--from", text(&example("blank.bar.json"))]);
    let (_, _, words) = shop.run(&["bar", "118", "next"]);
    assert!(words.contains("bar 118 give C3 --to"), "{words}");
}

#[test]
fn a_drilled_bar_is_rescued_with_its_own_holes() {
    let (shop, file) = with_example("c3-rough.bar.json", "C3");
    shop.says(&[
        "bar",
        "C3",
        "drilled",
        "--diameter",
        "1/4 in",
        "--hole",
        "97:103:11",
        "--hole",
        "367:373:11",
        "--why",
        "a trial",
    ]);
    let from_file = answer(&["rescue", &file, "--holes", "100,370", "--json"]);
    assert_eq!(shop.json(&["bar", "C3", "rescue"]), from_file);
}

/// Four spellings of 12.7 mm, in every command that takes a length.
#[test]
fn lengths_are_remembered_as_they_were_written() {
    let shop = Shop::new();
    let file = shop.path("c4.bar.json");
    arched_c4(&file);
    for (number, spelling) in ["1/2", "0.5 in", "12.70", "12,7"].into_iter().enumerate() {
        let label = format!("{number}");
        shop.says(&["bar", &label, "new", "--length", "350", "--width", "55", "--thickness", spelling]);
        let bar = |args: &[&str]| shop.says(&[&["bar", &label], args].concat());
        bar(&["limits", spelling]);
        bar(&["salt", "--face", "A", "--left", &format!("{spelling}:14"), "--right", "300:310"]);
        bar(&["caliper", &format!("175:{spelling}")]);
        bar(&["shaped", "0:12", "175:9.1", "350:12", "--kink", spelling]);
        // 0.1 mm: a bar of 9 mm has no half inch to lose.
        bar(&["cut", &format!("0-{spelling}:0.1")]);
        bar(&["drilled", "--diameter", spelling, "--hole", "80:90:6", "--why", "a trial"]);
        bar(&["trim", "--left", spelling]);
        let history = shop.json(&["bar", &label, "history"]);
        for (entry, name, pointer) in [
            (0, "thickness_mm", "/entered/bar/thickness_mm"),
            (1, "min_thickness_mm", "/limits/min_thickness_mm"),
            (2, "left[0]", "/salt/left/near_mm"),
            (3, "spots[0][1]", "/caliper/thickness_mm/0"),
            (4, "kinks[0]", "/shaped/kinks_mm/0"),
            (5, "bands[0].to_mm", "/cut/bands/0/to_mm"),
            (6, "diameter_mm", "/drilled/diameter_mm"),
            (7, "left_mm", "/trim/left_mm"),
        ] {
            let entry = &history["history"][entry]["entry"];
            assert_eq!(entry["entered"][name], spelling, "{entry}");
            assert_eq!(entry["what"].pointer(pointer), Some(&json!(12.7)), "{entry}");
        }
    }
    assert!(shop.says(&["bar", "3", "history"]).contains("drilled (a trial), written 12,7"));
    // What the number prints by itself is not kept twice.
    shop.says(&["bar", "0", "caliper", "175:9.1"]);
    let history = shop.json(&["bar", "0", "history"]);
    assert_eq!(history["history"][8]["entry"].get("entered"), None);
}

#[test]
fn a_correction_changes_what_holds_and_shows_what_it_said() {
    let (shop, _) = with_example("c3-rough.bar.json", "C3");
    shop.says(&["bar", "C3", "--temperature", "21,5", "heard", "141,2", "-", "1420", "--sigma", "2"]);
    shop.says(&["bar", "C3", "cut", "0-20:0.2"]);
    let history = |shop: &Shop| shop.json(&["bar", "C3", "history"])["history"].as_array().unwrap().clone();
    let entries = history(&shop);
    let (cut, heard) = (entries.len(), entries.len() - 1);
    let what = |entry: &Value| entry["entry"]["what"].clone();
    assert_eq!(what(&entries[heard - 1])["heard"]["heard"]["hz"]["bending"], json!([141.2, null, 1420.0]));
    let corrected = shop.says(&[
        "bar",
        "C3",
        "correct",
        &cut.to_string(),
        "--why",
        "misread",
        "cut",
        "0-20:1/64 in",
        "--passes",
        "2",
    ]);
    assert!(corrected.contains("0–20 mm by 0.396875 mm in 2 passes") && corrected.contains("0–20 mm by 0.2 mm"));
    shop.says(&["bar", "C3", "correct", &heard.to_string(), "heard", "142.2", "-", "1420"]);
    let after = history(&shop);
    assert_eq!(what(&after[cut - 1]), what(&entries[cut - 1]), "the old words stay");
    assert!(after[cut - 1]["fate"]["corrected"].is_string());
    assert_eq!(after[cut]["entry"]["entered"]["bands[0].depth_mm"], "1/64 in");
    let anew = &after[cut + 1]["entry"]["what"]["corrected"]["to"]["heard"]["heard"];
    assert_eq!(anew["temperature_c"], 21.5, "what was not said anew stays");
    assert_eq!(anew["sigma_cents"], 2.0);
    assert_eq!(anew["hz"]["bending"][0], 142.2);
    let out = shop.path("after.bar.json");
    shop.says(&["bar", "C3", "file", text(&out)]);
    let log = records::BarFile::read(&out).unwrap().log().to_vec();
    let records::LogEntry::Cut(last) = log.last().unwrap() else { panic!("{log:?}") };
    assert_eq!((last.bands[0].depth_mm, last.passes), (0.396_875, Some(2)));
    // The blank itself; a label is found anew at once.
    shop.says(&["bar", "C3", "correct", "1", "new", "--mass", "655,5", "--label", "171"]);
    assert_eq!(shop.json(&["bar", "#171", "history"])["history"].as_array().unwrap().len(), after.len() + 1);
    let told = shop.json(&["bar", "C3", "remark", "a knot near the left node"]);
    assert_eq!((&told["label"], &told["stage"]), (&"171".into(), &"rough_tune".into()));
    assert_eq!(told["entries"].as_u64().unwrap() as usize, after.len() + 2);
    let refuses = |args: &[&str]| shop.refuses(&[&["bar", "C3", "correct"], args].concat());
    assert_eq!(refuses(&[&cut.to_string(), "weigh", "600"]), "wrong_kind");
    assert_eq!(refuses(&[&cut.to_string(), "new", "--length", "471"]), "wrong_kind");
    assert_eq!(refuses(&["99", "cut", "0-20:1"]), "not_found");
    assert_eq!(refuses(&[&cut.to_string(), "cut", "0-20:30"]), "contradictory_log");
    shop.says(&["check"]);
}

/// The views: older than the last cut, and read at another temperature than the order names.
#[test]
fn stale_bars_are_those_cut_since_and_those_read_too_warm() {
    let shop = Shop::new();
    shop.says(&["instrument", "add", "First order", "--temperature", "22"]);
    for (label, note, celsius) in [("1", "C3", "22.5"), ("2", "D3", "27"), ("3", "E3", "22")] {
        shop.says(&["bar", label, "new", "--length", "470", "--width", "62", "--thickness", "23"]);
        shop.says(&["bar", label, "give", note, "--to", "First order"]);
        shop.says(&["bar", label, "--temperature", celsius, "heard", "500"]);
    }
    shop.says(&["bar", "E3", "cut", "0-60:1"]);
    let stale = shop.json(&["bars", "--stale"]);
    let why: Vec<(&str, &str)> = stale["bars"]
        .as_array()
        .unwrap()
        .iter()
        .map(|bar| (bar["label"].as_str().unwrap(), bar["stale_because"].as_str().unwrap()))
        .collect();
    assert_eq!(why, [("2", "other_temperature"), ("3", "before_last_cut")]);
    let words = shop.says(&["bars", "--stale"]);
    assert!(words.contains("at 27 °C, wanted at 22 °C") && words.contains("before the last cut"), "{words}");
    let warm = shop.json(&["bars", "--cut-within", "30"]);
    assert_eq!(warm["bars"].as_array().unwrap().len(), 1);
    let summary = shop.json(&["workshop"]);
    assert_eq!((&summary["stale"], &summary["perhaps_warm"]), (&2.into(), &1.into()));
    assert!(shop.says(&["workshop"]).contains("To be struck again: 2."));
}
