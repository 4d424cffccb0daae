//! The workshop on the command line: a story with sound, its refusals, and everything out and in. All invented.
use crate::common::shop::{Shop, arched_c4, text};
use crate::common::{BAR_HZ, blow_samples, run, wav};
use std::fs;
use std::path::{Path, PathBuf};

#[test]
fn a_bar_goes_through_the_workshop_with_its_sound() {
    let shop = Shop::new();
    shop.says(&["instrument", "add", "First order", "--a4", "440", "--lowest", "C3", "--highest", "C7"]);
    let file = shop.path("c4.bar.json");
    arched_c4(&file);
    shop.says(&["bar", "117", "new", "--from", text(&file)]);
    let given = shop.says(&["bar", "#117", "give", "C4", "--to", "first order"]);
    assert!(given.starts_with("Bar 117: given the note C4"), "{given}");
    let take = shop.path("take.wav");
    fs::write(&take, wav(&blow_samples(48_000), 48_000, 1, 16, false)).unwrap();
    let heard = shop.json(&["bar", "C4", "--temperature", "21", "listen", text(&take), "--struck", "quarter"]);
    assert!((heard["modes"][0]["hz"].as_f64().unwrap() - BAR_HZ[0]).abs() < 0.1);
    let kept: Vec<_> = walk(&shop.path("shop").join("takes"));
    assert_eq!(kept.len(), 1, "{kept:?}");
    let cut = shop.says(&["bar", "C4", "cut", "0-20:1/64 in", "--passes", "3"]);
    assert!(cut.contains("0–20 mm by 0.396875 mm in 3 passes"), "{cut}");
    assert!(shop.says(&["bars", "--stale"]).contains("before the last cut"));
    assert!(shop.says(&["bar", "C4", "undo"]).starts_with("Taken back: cut"));
    assert!(shop.says(&["bar", "C4", "redo"]).starts_with("Brought back: cut"));
    shop.says(&["bar", "C4", "caliper", "175:9.2"]);
    shop.says(&["bar", "C4", "strike-out", "4", "--why", "of another bar"]);
    let history = shop.json(&["bar", "C4", "history"]);
    let words: Vec<String> = history["history"]
        .as_array()
        .unwrap()
        .iter()
        .map(|line| line["entry"]["what"].as_object().unwrap().keys().next().unwrap().clone())
        .collect();
    assert_eq!(words, ["entered", "given", "heard", "cut", "undone", "redone", "caliper", "corrected"]);
    assert_eq!(history["history"][3]["entry"]["entered"]["bands[0].depth_mm"], "1/64 in");
    assert!(history["history"][3]["fate"]["struck_out"].is_string());
    // Heard again with the same listener, the reading is the same to the last figure kept.
    let again = shop.json(&["relisten"]);
    let cents = again["readings"][0]["cents"].as_array().unwrap();
    // The record keeps hundredths of a hertz: 0.07 cents at 262 Hz; the sound itself is kept without loss.
    assert!(cents.iter().all(|c| c.as_f64().unwrap().abs() < 0.1), "{cents:?}");
    let next = shop.json(&["bar", "C4", "next"]);
    assert!(["cut", "finished", "wait", "rescue"].contains(&next["decision"].as_str().unwrap()));
    let out = shop.path("out.bar.json");
    shop.says(&["bar", "C4", "file", text(&out)]);
    assert!(records::BarFile::read(&out).unwrap().log().len() == 2);
    shop.says(&["check"]);
}

fn walk(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { found.extend(walk(&path)) } else { found.push(path) }
    }
    found
}

#[test]
fn refusals_name_the_value_and_the_next_step() {
    let shop = Shop::new();
    shop.says(&["instrument", "add", "First order"]);
    let sizes = ["--length", "470", "--width", "2 7/16 in", "--thickness", "23"];
    shop.says(&[&["bar", "117", "new"], &sizes[..]].concat());
    assert_eq!(shop.refuses(&[&["bar", "117", "new"], &sizes[..]].concat()), "label_taken");
    assert_eq!(shop.refuses(&["bar", "C3", "undo"]), "not_found");
    assert_eq!(shop.refuses(&["bar", "117", "undo"]), "nothing_to_undo");
    assert_eq!(shop.refuses(&["bar", "117", "give", "H3", "--to", "First order"]), "wrong_note");
    assert_eq!(shop.refuses(&["bar", "117", "give", "C3", "--to", "Second order"]), "not_found");
    assert_eq!(shop.refuses(&["bar", "117", "cut", "0-60"]), "wrong_band");
    assert_eq!(shop.refuses(&["bar", "117", "cut", "0-60:30"]), "contradictory_log");
    assert_eq!(shop.refuses(&["bar", "117", "caliper", "235:12 ft"]), "wrong_length");
    assert_eq!(shop.refuses(&["bar", "117", "--with", "no such belt", "cut", "0-60:1"]), "not_found");
    assert_eq!(shop.refuses(&["bars", "--stage", "varnish"]), "wrong_stage");
    assert_eq!(shop.refuses(&["instrument", "add", "Second", "--a4", "4400"]), "out_of_range");
    let home = shop.path("elsewhere");
    let (status, _, stderr) = run(&["--workshop", text(&home), "bars"]);
    assert!(status == 1 && stderr.contains("barwright workshop new"), "{stderr}");
    assert_eq!(shop.json(&["bar", "117", "history"])["history"].as_array().unwrap().len(), 1);
}

#[test]
fn everything_is_copied_taken_out_and_brought_in() {
    let shop = Shop::new();
    let sizes = ["--length", "470", "--width", "62", "--thickness", "23", "--mass", "640"];
    shop.says(&[&["bar", "117", "new"], &sizes[..]].concat());
    let (copy, back, archive) = (shop.path("copy"), shop.path("back"), shop.path("all.zip"));
    shop.says(&["backup", text(&copy)]);
    shop.says(&["restore", text(&copy), text(&back)]);
    assert_eq!(shop.refuses(&["restore", text(&copy), text(&back)]), "exists");
    let (status, stdout, _) = run(&["--workshop", text(&back), "bars"]);
    assert!(status == 0 && stdout.contains("117"), "{stdout}");
    shop.says(&["export", text(&archive)]);
    assert_eq!(shop.refuses(&["export", text(&archive)]), "exists");
    let other = shop.path("other");
    run(&["--workshop", text(&other), "workshop", "new"]);
    let (_, stdout, stderr) = run(&["--workshop", text(&other), "import", text(&archive), "--dry-run"]);
    assert!(stdout.starts_with("Would bring 2 new things"), "{stdout}{stderr}");
    run(&["--workshop", text(&other), "import", text(&archive)]);
    let (_, stdout, _) = run(&["--workshop", text(&other), "bars"]);
    assert!(stdout.contains("117"), "{stdout}");
    shop.says(&["check"]);
    let automatic = fs::read_dir(shop.path("shop").join("backups")).unwrap().count();
    assert_eq!(automatic, 1, "one automatic copy a day");
}

#[test]
fn a_makers_own_list_is_shown_first_and_then_entered_whole_or_not_at_all() {
    let shop = Shop::new();
    shop.says(&["instrument", "add", "First order", "--a4", "442"]);
    let list = shop.path("bars.csv");
    let good = "Nr;Ton;Length (mm);Width;H;Weight (g);f1\n1;C3;470;62;23,5;640;505,2\n2;D3;18 1/2 in;62;23;;\n";
    fs::write(&list, good).unwrap();
    let args = ["import", text(&list), "--column", "note=Ton", "--to", "First order"];
    let shown = shop.says(&[&args[..], &["--dry-run"]].concat());
    assert!(shown.contains("2 of 2 rows would be entered; nothing was kept"), "{shown}");
    assert!(shop.says(&["bars"]).contains("No such bars"));
    shop.says(&args);
    let bars = shop.json(&["bars"]);
    let notes: Vec<&str> = bars["bars"].as_array().unwrap().iter().map(|bar| bar["note"].as_str().unwrap()).collect();
    assert_eq!(notes, ["C3", "D3"]);
    let history = shop.json(&["bar", "2", "history"]);
    let entered = &history["history"][0]["entry"];
    assert_eq!(entered["entered"]["length_mm"], "18 1/2 in");
    // 18.5 in × 25.4 mm.
    assert_eq!(entered["what"]["entered"]["bar"]["length_mm"], 469.9);
    fs::write(&list, "label,length,width,thickness\n8,470,62,23\n9,-4,62,23\n").unwrap();
    assert_eq!(shop.refuses(&["import", text(&list)]), "wrong_rows");
    assert_eq!(shop.json(&["bars"])["bars"].as_array().unwrap().len(), 2);
    fs::write(&list, "a,b\n1,2\n").unwrap();
    assert_eq!(shop.refuses(&["import", text(&list)]), "missing_column");
    fs::write(shop.path("x.xlsx"), "no workbook").unwrap();
    assert_eq!(shop.refuses(&["import", text(&shop.path("x.xlsx"))]), "not_a_sheet");
}

/// A recorder whose clock runs 200 ppm fast hears everything 0.346 cents low, until it is told.
#[test]
fn a_measured_clock_corrects_the_readings_made_with_that_recorder() {
    let shop = Shop::new();
    shop.says(&["tool", "Phone"]);
    let tone_path = shop.path("tone.wav");
    let seen_hz = 1000.0 / (1.0 + 200e-6);
    let tone: Vec<f32> = (0..10 * 48_000)
        .map(|i| (0.5 * (std::f64::consts::TAU * seen_hz * f64::from(i) / 48_000.0).sin()) as f32)
        .collect();
    fs::write(&tone_path, wav(&tone, 48_000, 1, 24, false)).unwrap();
    let clock = shop.json(&["clock", text(&tone_path), "--hz", "1000", "--of", "Phone"]);
    // A clean tone of ten seconds: hundredths of a ppm, and one for the reference.
    assert!((clock["offset_ppm"].as_f64().unwrap() - 200.0).abs() < 0.1, "{clock}");
    let file = shop.path("c4.bar.json");
    arched_c4(&file);
    shop.says(&["bar", "117", "new", "--from", text(&file)]);
    let take = shop.path("take.wav");
    fs::write(&take, wav(&blow_samples(48_000), 48_000, 1, 16, false)).unwrap();
    let hz = |args: &[&str]| shop.json(args)["modes"][0]["hz"].as_f64().unwrap();
    let plain = hz(&["bar", "117", "listen", text(&take)]);
    let corrected = hz(&["bar", "117", "--with", "Phone", "listen", text(&take)]);
    let shift_ppm = 1e6 * (corrected / plain - 1.0);
    // The JSON gives 0.0001 Hz, 0.4 ppm at 262 Hz.
    assert!((shift_ppm - 200.0).abs() < 1.0, "{shift_ppm}");
    assert_eq!(shop.refuses(&["clock", text(&take), "--hz", "1000"]), "too_short");
}

#[test]
fn places_of_takes_are_one_or_one_each() {
    let shop = Shop::new();
    let take = shop.path("take.wav");
    fs::write(&take, wav(&blow_samples(48_000), 48_000, 1, 16, false)).unwrap();
    let take = text(&take);
    let both = shop.json(&["listen", take, take, "--note", "C4", "--struck", "quarter,corner"]);
    assert_eq!(both["blows"], 2);
    assert_eq!(shop.refuses(&["listen", take, take, take, "--struck", "quarter,corner"]), "wrong_places");
}
