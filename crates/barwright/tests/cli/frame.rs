//! `rails` and `drill`, from a table of invented bars to a drill chart. Data: examples/frame, made up.

use crate::common::shop::Shop;
use assert_cmd::Command;
use serde_json::Value;
use std::path::{Path, PathBuf};

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/frame").join(name)
}

fn barwright(arguments: &[&str]) -> (bool, String, String) {
    let output = Command::cargo_bin("barwright").unwrap().args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.success(), text(output.stdout), text(output.stderr))
}

fn answer(arguments: &[&str]) -> Value {
    let (done, out, error) = barwright(arguments);
    assert!(done, "{error}");
    serde_json::from_str(&out).unwrap()
}

#[test]
fn sixty_one_bars_go_from_salt_to_a_drill_chart() {
    let nodes = example("nodes.csv");
    let nodes = nodes.to_str().unwrap();
    let plan = answer(&["rails", nodes, "--json"]);
    assert_eq!(plan["bars"].as_array().unwrap().len(), 61);
    // What is wrong in the file on purpose, and nothing else.
    let doubts: Vec<(&str, &str)> = plan["doubts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|d| (d["note"].as_str().unwrap(), d["code"].as_str().unwrap()))
        .collect();
    assert_eq!(doubts, [("G3", "misread"), ("F♯5", "not_read")]);
    // The naturals' outer cord leans "/" and the accidentals' "\".
    let rise = |row: usize, rail: &str| {
        let points = plan["rows"][row][rail].as_array().unwrap();
        points[points.len() - 1]["y_mm"].as_f64().unwrap() - points[0]["y_mm"].as_f64().unwrap()
    };
    assert!(rise(0, "player_rail") > 50.0 && rise(1, "far_rail") < -50.0);

    let built = example("built.csv");
    let chart = answer(&["drill", nodes, "--built", built.to_str().unwrap(), "--json"]);
    let bars = chart["bars"].as_array().unwrap();
    assert!(chart["on_the_built_frame"].as_bool().unwrap() && bars.len() == 61);
    let withheld: Vec<&str> =
        bars.iter().filter(|b| !b["may_be_drilled"].as_bool().unwrap()).map(|b| b["note"].as_str().unwrap()).collect();
    assert_eq!(withheld, ["G3", "F♯5"], "misread and not read, so not to be drilled");
    // 15.5 mm of wood at C2: the hole's lower edge is at 13 mm.
    assert!(bars[0]["player_hole"]["weak"].as_bool().unwrap(), "{}", bars[0]);
    let (_, text, _) = barwright(&["drill", nodes, "--built", built.to_str().unwrap()]);
    for words in ["Mind the mirror", "Clamp the bar", "less than 4 mm of wood", "do not drill: not read"] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

#[test]
fn nothing_is_drilled_by_the_plan() {
    let nodes = example("nodes.csv");
    let (done, _, error) = barwright(&["drill", nodes.to_str().unwrap()]);
    assert!(!done && error.contains("standing frame"), "{error}");
    let (done, text, _) = barwright(&["drill", nodes.to_str().unwrap(), "--only-planned"]);
    assert!(done && text.starts_with("NOT FOR DRILLING"), "{text}");
}

#[test]
fn a_wrong_table_is_refused_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("nodes.csv");
    let head = "note,length_mm,width_mm,player_left_mm,player_right_mm,far_left_mm,far_right_mm\n";
    for (line, words) in [
        ("C3,470,62,87,88,383,\n", "all four"),
        ("C3,470,62,87,88,383,three\n", "line 2"),
        ("X3,470,62,87,88,383,384\n", "not a note"),
        ("C3,470,62,87,88,87,88\n", "from the end that faces the player"),
    ] {
        std::fs::write(&path, format!("{head}{line}D3,460,62,86,87,374,375\n")).unwrap();
        let (done, _, error) = barwright(&["rails", path.to_str().unwrap()]);
        assert!(!done && error.contains(words), "{line}: {error}");
    }
    std::fs::write(&path, "note,length\nC3,470\n").unwrap();
    assert!(!barwright(&["rails", path.to_str().unwrap()]).0);
    let (done, _, error) = barwright(&["rails", "--json"]);
    assert!(!done && error.contains("--instrument"), "{error}");
}

#[test]
fn a_table_written_reads_back_and_a_picture_is_never_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let (copy, picture) = (folder.path().join("copy.csv"), folder.path().join("frame.svg"));
    let nodes = example("nodes.csv");
    let (copy, picture) = (copy.to_str().unwrap(), picture.to_str().unwrap());
    let first = answer(&["rails", nodes.to_str().unwrap(), "--nodes-csv", copy, "--picture", picture, "--json"]);
    let again = answer(&["rails", copy, "--json"]);
    assert_eq!(first["rows"], again["rows"]);
    assert!(std::fs::read_to_string(picture).unwrap().contains("</svg>"));
    let (done, _, error) = barwright(&["rails", copy, "--picture", picture]);
    assert!(!done && error.contains("does not exist yet"), "{error}");
}

#[test]
fn the_record_gives_its_salt_tests_turned_to_the_top_face() {
    let shop = Shop::new();
    shop.says(&["instrument", "add", "Row", "--a4", "440"]);
    for (label, note, length) in [("1", "C4", "360"), ("2", "D4", "350"), ("3", "E4", "340"), ("4", "F4", "334")] {
        shop.says(&["bar", label, "new", "--length", length, "--width", "50", "--thickness", "22"]);
        shop.says(&["bar", label, "give", note, "--to", "Row"]);
        shop.says(&["bar", label, "top", "A"]);
        // A test of the blank says nothing about the rails.
        shop.says(&["bar", label, "salt", "--face", "A", "--left", "80:80", "--right", "270:270"]);
    }
    assert_eq!(shop.refuses(&["rails", "--instrument", "Row"]), "too_few_bars");
    for (label, length) in [("1", 360.0), ("2", 350.0), ("3", 340.0)] {
        shop.says(&["bar", label, "cut", "0-60:4"]);
        // Bar 2 was salted with the other face up: near and far change places.
        let (face, near, far) = if label == "2" { ("B", 74.0, 70.0) } else { ("A", 70.0, 74.0) };
        let right = format!("{}:{}", length - 74.0 + near - 70.0, length - 74.0 + far - 70.0);
        shop.says(&["bar", label, "salt", "--face", face, "--left", &format!("{near}:{far}"), "--right", &right]);
    }
    let plan = shop.json(&["rails", "--instrument", "Row"]);
    let bars = plan["bars"].as_array().unwrap();
    assert_eq!(bars.len(), 4);
    assert!(bars[0]["read"].as_bool().unwrap() && !bars[3]["read"].as_bool().unwrap());
    // All three lean alike once bar 2 is turned over, so the straight rails miss them alike across the width.
    let across = |bar: &Value| {
        let miss = |side: usize| bar["misses_mm"][0][side].as_f64().unwrap();
        miss(0) - miss(1)
    };
    for bar in &bars[..3] {
        // Two numbers rounded to a thousandth on either side.
        assert!((across(bar) - across(&bars[0])).abs() < 2.1e-3, "{bar}");
    }
    // Two tests of one state are averaged: 2 mm on one of two is 1 mm on their mean. One from before a cut has no say.
    let place = |table: &Path| -> f64 {
        let file = table.to_str().unwrap();
        shop.json(&["rails", "--instrument", "Row", "--nodes-csv", file]);
        let text = std::fs::read_to_string(table).unwrap();
        let head = text.lines().next().unwrap().split(',').position(|name| name == "player_left_mm").unwrap();
        let row = text.lines().find(|line| line.starts_with("E4,")).unwrap();
        row.split(',').nth(head).unwrap().parse().unwrap()
    };
    let table = |name: &str| shop.path(name);
    let once = place(&table("once.csv"));
    shop.says(&["bar", "3", "salt", "--face", "A", "--left", "72:76", "--right", "264:268"]);
    // The table is rounded to a hundredth.
    assert!((place(&table("twice.csv")) - once - 1.0).abs() < 0.011);
    shop.says(&["bar", "3", "cut", "0-60:1"]);
    shop.says(&["bar", "3", "salt", "--face", "A", "--left", "69:73", "--right", "264:268"]);
    assert!((place(&table("cut.csv")) - once + 1.0).abs() < 0.011);
    // Ends sawn off: the nodes have moved, and the old numbers count from an end that is gone.
    shop.says(&["bar", "1", "trim", "--left", "2", "--right", "2"]);
    let plan = shop.json(&["rails", "--instrument", "Row"]);
    assert_eq!((&plan["bars"][0]["note"], &plan["bars"][0]["read"]), (&"C4".into(), &false.into()));
}

/// The bars of the example table in a record, arched but not salted.
fn arched_shop() -> Shop {
    let shop = Shop::new();
    shop.says(&["instrument", "add", "Row", "--a4", "440"]);
    for (label, note, length) in [("1", "C4", "335"), ("2", "D4", "326.5"), ("3", "E4", "318.5"), ("4", "F4", "306")] {
        shop.says(&["bar", label, "new", "--length", length, "--width", "54", "--thickness", "22"]);
        shop.says(&["bar", label, "give", note, "--to", "Row"]);
        shop.says(&["bar", label, "top", "A"]);
        shop.says(&["bar", label, "cut", "0-60:4"]);
    }
    shop
}

const HEAD: &str = "note,length_mm,width_mm,player_left_mm,player_right_mm,far_left_mm,far_right_mm\n";

#[test]
fn the_record_carries_a_frame_from_salt_to_drilled_bars() {
    let shop = arched_shop();
    let write = |name: &str, text: &str| {
        let path = shop.path(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let wrong = write("wrong.csv", &format!("{HEAD}C4,335,54,67,70,266,268\nG4,300,54,60,62,238,240\n"));
    assert_eq!(shop.refuses(&["instrument", "salt", "Row", &wrong]), "no_such_bar");
    let long = write("long.csv", &format!("{HEAD}C4,345,54,67,70,276,278\n"));
    assert_eq!(shop.refuses(&["instrument", "salt", "Row", &long]), "other_length");
    assert_eq!(
        shop.refuses(&["rails", "--instrument", "Row"]),
        "too_few_bars",
        "a refused table leaves nothing behind"
    );
    let nodes = write(
        "nodes.csv",
        &format!(
            "{HEAD}C4,335,54,67,70,266,266\nD4,326.5,54,65.4,68.3,259.4,259\nE4,318.5,54,64,67,253,252.6\nF4,306,54,,,,\n"
        ),
    );
    assert!(shop.says(&["instrument", "salt", "Row", &nodes]).contains("3 salt tests"));
    // What went in comes out again.
    let copy = shop.path("copy.csv");
    let plan =
        shop.json(&["rails", "--instrument", "Row", "--gap", "14", "--keep", "--nodes-csv", copy.to_str().unwrap()]);
    assert_eq!(std::fs::read_to_string(&copy).unwrap().lines().nth(1), Some("C4,335,54,67,70,266,266"));
    // Half of 54 mm, then 54 and the gap of 14 that was kept.
    let again = shop.json(&["rails", "--instrument", "Row"]);
    assert_eq!((&again["bars"][1]["centre_x_mm"], &again["rows"]), (&95.0.into(), &plan["rows"]));
    let parts = shop.json(&["frame", "--instrument", "Row", "--post", "10"]);
    assert_eq!((parts["rails"].as_array().unwrap().len(), parts["posts"].as_array().unwrap().len()), (2, 10));
    assert_eq!(parts["doubts"][0]["code"], Value::Null, "14 mm of gap leave 4 mm beside a post of 10 mm");

    assert_eq!(shop.refuses(&["drill", "--instrument", "Row"]), "not_built");
    assert_eq!(shop.refuses(&["bar", "C4", "drilled", "--diameter", "6", "--hole", "68:67:10"]), "frame_not_built");
    let crossed = write(
        "crossed.csv",
        "row,rail,x_mm,y_mm\nnatural,player,0,200\nnatural,player,260,200\nnatural,far,0,0\nnatural,far,260,0\n",
    );
    assert_eq!(shop.refuses(&["instrument", "built", "Row", &crossed]), "rails_cross");
    assert_eq!(shop.refuses(&["drill", "--instrument", "Row"]), "not_built");
    let rails = |rail: &str| plan["rows"][0][rail].as_array().unwrap().clone();
    let mut table = "row,rail,x_mm,y_mm\n".to_owned();
    for (word, rail) in [("player", "player_rail"), ("far", "far_rail")] {
        for point in rails(rail) {
            // One millimetre beyond the plan.
            let y = point["y_mm"].as_f64().unwrap() + 1.0;
            table.push_str(&format!("natural,{word},{},{y}\n", point["x_mm"]));
        }
    }
    let built = write("built.csv", &table);
    assert!(shop.says(&["instrument", "built", "Row", &built]).contains("up to 1.0 mm off the plan"));
    let chart = shop.json(&["drill", "--instrument", "Row", "--drilled", "C4"]);
    assert_eq!(chart["most_off_plan_mm"], 1.0);
    let cents = chart["bars"][0]["drilling_cents"].as_array().unwrap();
    // Two holes of 6 mm near the nodes of a bar this size change no mode by more than some cents; mode 1 falls or stays.
    assert!(cents.len() == 3 && cents.iter().all(|c| c.as_f64().unwrap().abs() < 15.0), "{cents:?}");
    let history = shop.json(&["bar", "C4", "history"]);
    let entries = history["history"].as_array().unwrap();
    let hole = &entries.last().unwrap()["entry"]["what"]["drilled"]["holes"][0];
    assert_eq!(
        hole["near_mm"].as_f64().map(|mm| (mm * 10.0).round()),
        chart["bars"][0]["player_hole"]["from_left_end_mm"]["near"].as_f64().map(|mm| (mm * 10.0).round())
    );
    assert_eq!(shop.refuses(&["drill", "--instrument", "Row", "--drilled", "C4"]), "drilled_already");
    assert_eq!(shop.refuses(&["drill", "--instrument", "Row", "--drilled", "F4"]), "read_again");
    shop.says(&["bar", "D4", "drilled", "--diameter", "6", "--hole", "68:65:10", "--hole", "259:259:10"]);
}

#[test]
fn a_bar_marked_on_the_frame_is_drilled_by_its_marks() {
    let (nodes, built) = (example("nodes.csv"), example("built.csv"));
    let (nodes, built) = (nodes.to_str().unwrap(), built.to_str().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let marks = folder.path().join("marks.csv");
    let drill = ["drill", nodes, "--built", built, "--marked", marks.to_str().unwrap()];
    // C2 some millimetres beside the rails, F♯5 (never read) where its neighbours' nodes are.
    std::fs::write(&marks, format!("{HEAD}C2,573,72,98,105,476,475\nF#5,292,42,67.5,68.3,226.3,221.8\n")).unwrap();
    let rails = answer(&["drill", nodes, "--built", built, "--json"]);
    let chart = answer(&[&drill[..], &["--json"]].concat());
    let bar = |chart: &Value, note: &str| {
        chart["bars"].as_array().unwrap().iter().find(|bar| bar["note"] == note).unwrap().clone()
    };
    let (was, now) = (bar(&rails, "C2"), bar(&chart, "C2"));
    assert_eq!(now["player_hole"]["from_player_end_mm"], serde_json::json!({ "left": 98.0, "right": 105.0 }));
    let off = was["player_hole"]["from_player_end_mm"]["left"].as_f64().unwrap() - 98.0;
    assert!((now["marked_off_rails_mm"].as_f64().unwrap() - off.abs()).abs() < 6.0 && off.abs() > 3.0, "{now} {was}");
    assert_eq!((&bar(&chart, "D2"), &bar(&chart, "F♯5")["may_be_drilled"]), (&bar(&rails, "D2"), &true.into()));
    let (_, text, _) = barwright(&drill);
    assert!(text.contains("C2: its marks lie up to") && text.contains("2 bars by their marks"), "{text}");
    // A mark from the other end is refused with what is likely.
    std::fs::write(&marks, format!("{HEAD}C2,573,72,98,105,98,105\n")).unwrap();
    let (done, _, error) = barwright(&drill);
    assert!(!done && error.contains("from the end that faces the player"), "{error}");
}

#[test]
fn the_frames_parts_are_told_drawn_and_tabled() {
    let nodes = example("nodes.csv");
    let nodes = nodes.to_str().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (picture, bass, treble, posts) = (path("frame.svg"), path("bass.svg"), path("treble.svg"), path("posts.csv"));
    let parts = answer(&[
        "frame",
        nodes,
        "--picture",
        &picture,
        "--bass-board",
        &bass,
        "--treble-board",
        &treble,
        "--posts-csv",
        &posts,
        "--json",
    ]);
    let number = |value: &Value| value.as_f64().unwrap();
    // The rails of `rails` and the lengths of `frame` are one geometry: length = run / cos(angle).
    let between = number(&parts["between_end_boards_mm"][1]) - number(&parts["between_end_boards_mm"][0]);
    for rail in parts["rails"].as_array().unwrap() {
        let angle = number(&rail["cuts_deg"][0]).to_radians();
        // A hundredth of a degree at six degrees is 0.05 mm in 2.3 m.
        assert!((number(&rail["length_mm"]) - between / angle.cos()).abs() < 0.1, "{rail}");
    }
    assert_eq!(std::fs::read_to_string(&posts).unwrap().lines().count(), parts["posts"].as_array().unwrap().len() + 1);
    // Full size: the board's length in millimetres of the drawing.
    let length = number(&parts["end_boards"][0]["length_mm"]);
    let drawn = std::fs::read_to_string(&bass).unwrap();
    let width: f64 = drawn.split("width=\"").nth(1).and_then(|rest| rest.split("mm").next()).unwrap().parse().unwrap();
    assert!(width >= length && width < length + 10.0, "{width} {length}");
    assert!(std::fs::read_to_string(&picture).unwrap().contains("room for a tube"));
    let (done, text, error) = barwright(&["frame", nodes]);
    assert!(done && text.contains("end board, bass") && text.contains("Posts, along each rail"), "{error}");
    let (done, _, error) = barwright(&["frame", nodes, "--post", "0.5"]);
    assert!(!done && error.contains("0.5") && error.contains("40"), "{error}");
    let symmetric = answer(&["frame", nodes, "--symmetric", "--json"]);
    let outer = [0, 3].map(|rail: usize| number(&symmetric["rails"][rail]["cuts_deg"][0]));
    assert!((outer[0] + outer[1]).abs() < 0.011 && outer[0] > 3.0, "{outer:?}");
}
