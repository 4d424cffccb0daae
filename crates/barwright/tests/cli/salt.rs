//! Salt tests entered, doubted and compared; which face and end lie best. All bars are made up.
use crate::common::shop::{Shop, text};
use serde_json::{Value, json};
use std::fs;

/// An even blank of 470 mm: its nodes lie 0.224158 × 470 = 105.4 mm from either end (`reference/eb_uniform_nodes.csv`).
fn blank() -> Shop {
    let shop = Shop::new();
    shop.says(&["instrument", "add", "Small marimba", "--a4", "440"]);
    shop.says(&["bar", "7", "new", "--length", "470", "--width", "62", "--thickness", "23", "--mass", "560"]);
    shop.says(&["bar", "7", "give", "C3", "--to", "Small marimba"]);
    shop
}

fn salt(shop: &Shop, face: &str, left: &str, right: &str) -> String {
    shop.says(&["bar", "7", "salt", "--face", face, "--left", left, "--right", right])
}

#[test]
fn misread_lines_are_entered_and_named_and_impossible_ones_refused() {
    let shop = blank();
    assert!(!salt(&shop, "A", "103:107", "363:367").contains('!'));
    // The left line off by 12 mm; the other face given by mistake.
    assert!(salt(&shop, "A", "113:117", "363:367").contains("12.0 mm off"), "a line off the model");
    assert!(salt(&shop, "B", "103:107", "363:367").contains("was the other face up"), "the wrong face");
    let args = |left, right| ["bar", "7", "salt", "--face", "A", "--left", left, "--right", right];
    assert_eq!(shop.refuses(&args("103:-1", "363:367")), "out_of_range");
    assert_eq!(shop.refuses(&args("103:470", "363:367")), "out_of_range");
    // The right line from the right end.
    assert_eq!(shop.refuses(&args("103:107", "107:103")), "lines_in_one_place");
    assert_eq!(shop.json(&["bar", "7", "nodes"])["tests"].as_array().unwrap().len(), 3, "refused ones are not kept");
}

#[test]
fn repeated_tests_give_a_spread_and_the_nodes_move_outwards_with_the_arch() {
    let shop = blank();
    shop.says(&["bar", "7", "top", "A"]);
    salt(&shop, "A", "104.5:104.5", "365.5:365.5");
    salt(&shop, "A", "106.5:106.5", "363.5:363.5");
    let before = shop.json(&["bar", "7", "nodes"]);
    // Two numbers 1 mm to either side of their mean: √2 mm.
    assert!((before["spread_mm"].as_f64().unwrap() - 2f64.sqrt()).abs() < 0.01, "{before}");
    assert!(before["moved_outwards_mm"].is_null());
    shop.says(&["bar", "7", "cut", "0-110:11"]);
    salt(&shop, "A", "97:97", "373:373");
    let after = shop.json(&["bar", "7", "nodes"]);
    assert_eq!(after["moved_outwards_mm"], json!([8.5, 8.5]));
    // Each number: √2 mm from the two of the blank, one test after: √2·√(1/2 + 1) mm; a mean of two numbers 1/√2 of it.
    let sigma = |key: &str| after["moved"][key].as_f64().unwrap();
    assert!(
        (sigma("number_sigma_mm") - 3f64.sqrt()).abs() < 0.01
            && (sigma("middle_sigma_mm") - 1.5f64.sqrt()).abs() < 0.01
    );
    let states = after["states"].as_array().unwrap();
    assert_eq!((states[0]["tests"].as_u64(), states[1]["tests"].as_u64()), (Some(2), Some(1)), "{after}");
    // What the model expects is how far its own lines moved.
    let model = after["moved"]["left"]["model"].as_f64().unwrap();
    let models =
        before["model_mm"]["left"]["near"].as_f64().unwrap() - after["model_mm"]["left"]["near"].as_f64().unwrap();
    assert!((model - models).abs() < 0.02 && model > 3.0, "{model} {models}");
    // The model's own lines moved the same way.
    let left = |value: &serde_json::Value| value["model_mm"]["left"]["near"].as_f64().unwrap();
    assert!(left(&after) < left(&before) - 3.0, "{} {}", left(&before), left(&after));
    let text = shop.says(&["bar", "7", "nodes"]);
    assert!(text.contains("Moved outwards since the first test: left 8.5 mm, right 8.5 mm."), "{text}");
    assert!(text.contains("The first and the latest test side by side") && text.contains("+8.5 ± 1.2"), "{text}");
    assert!(text.contains("Repeated tests agree within ± 1.4 mm"), "{text}");
}

#[test]
fn a_move_within_the_spread_of_the_tests_is_called_unsure() {
    let shop = blank();
    shop.says(&["bar", "7", "top", "A"]);
    salt(&shop, "A", "102:102", "368:368");
    assert!(shop.says(&["bar", "7", "nodes"]).contains("No test was repeated"));
    salt(&shop, "A", "108:108", "362:362");
    shop.says(&["bar", "7", "cut", "0-40:1"]);
    salt(&shop, "A", "104:104", "366:366");
    // ± 3 mm about the means, moved by 1 mm.
    assert!(shop.says(&["bar", "7", "nodes"]).contains("no more than the tests' own spread"));
}

fn table(shop: &Shop, name: &str, lines: &[&str]) -> String {
    let path = shop.path(name);
    fs::write(&path, lines.join("\n")).unwrap();
    text(&path).to_owned()
}

const HEAD: &str = "bar,face_up,left_near_mm,left_centre_mm,left_far_mm,right_near_mm,right_far_mm,right_from";

#[test]
fn a_table_of_salt_tests_is_shown_entered_once_and_comes_out_again() {
    let shop = blank();
    let path = table(&shop, "in.csv", &[HEAD, "# invented", "7,A,103,105,107,107,103,right", "C3,A,104,,108,363,367,"]);
    let dry = shop.json(&["salt", &path, "--dry-run"]);
    assert_eq!((dry["new"].as_u64(), shop.json(&["salt"])["bars"].as_array().unwrap().len()), (Some(2), 0), "{dry}");
    assert!(shop.says(&["salt", &path]).contains("2 salt tests entered"));
    let tests = shop.json(&["bar", "7", "nodes"])["tests"].clone();
    // From the right end: 470 − 107 and 470 − 103.
    assert_eq!(tests[0]["nodes_mm"]["right"], json!({ "near": 363.0, "centre": null, "far": 367.0, "tilt": 4.0 }));
    assert_eq!(tests[0]["nodes_mm"]["left"]["centre"], 105.0);
    // Once more changes nothing: a doubled test would make the spread look small.
    let again = shop.json(&["salt", &path]);
    assert_eq!((again["new"].as_u64(), again["known"].as_u64()), (Some(0), Some(2)), "{again}");
    // Left near and far differ by 1 mm, right by 0: √(2·0.5/4) mm.
    let all = shop.json(&["salt"]);
    assert!((all["spread_mm"].as_f64().unwrap() - 0.5).abs() < 0.01, "{all}");
    assert!(shop.says(&["salt"]).contains("from 1 repetition): give `rails` --sigma 0.5"));

    let out = shop.path("out.csv");
    shop.says(&["salt", "--csv", text(&out)]);
    assert_eq!(shop.refuses(&["salt", "--csv", text(&out)]), "cannot_write", "nothing is written over");
    assert_eq!(shop.json(&["salt", text(&out)])["known"], 2, "what was written is what is there");
    let other = blank();
    other.says(&["bar", "7", "top", "B"]);
    other.says(&["salt", text(&out)]);
    let turned = other.json(&["bar", "7", "nodes"]);
    assert_eq!(
        turned["tests"][0]["nodes_mm"]["left"],
        json!({ "near": 107.0, "centre": 105.0, "far": 103.0, "tilt": -4.0 })
    );
    // What was read with face A up leaves again as it was read.
    let back = other.path("back.csv");
    other.says(&["salt", "--csv", text(&back)]);
    let without_time = |path| {
        let lines = fs::read_to_string(path).unwrap();
        lines.lines().map(|line| line.rsplit_once(',').unwrap().0.to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(without_time(&out), without_time(&back));
}

#[test]
fn one_wrong_line_of_a_table_stops_all_and_is_named() {
    let shop = blank();
    let good = "7,A,103,,107,363,367,";
    let refused = |lines: &[&str]| {
        let path = table(&shop, "wrong.csv", &[&[HEAD], lines].concat());
        let code = shop.refuses(&["salt", &path]);
        let told = if code == "wrong_lines" { shop.json(&["salt", &path, "--dry-run"]) } else { Value::Null };
        let errors = told["lines"].as_array().into_iter().flatten().filter_map(|line| line["error"]["code"].as_str());
        errors.map(str::to_owned).next().unwrap_or(code)
    };
    assert_eq!(refused(&[good, "8,A,103,,107,363,367,"]), "not_found");
    assert_eq!(refused(&[good, "7,C,103,,107,363,367,"]), "no_face");
    assert_eq!(refused(&[good, "7,A,103,,107,107,103,"]), "lines_in_one_place");
    assert_eq!(refused(&[good, "7,A,103,,107,363,367,top"]), "unknown_word");
    assert_eq!(refused(&[good, "7,A,103,,471,363,367,"]), "out_of_range");
    assert_eq!(refused(&[good, "7,A,103"]), "not_a_table");
    assert_eq!(refused(&[]), "no_tests");
    let more = table(
        &shop,
        "more.csv",
        &[
            "bar,note,face_up,left_near_mm,left_far_mm,right_near_mm,right_far_mm,cuts_before",
            "7,D3,A,103,107,363,367,0",
        ],
    );
    assert_eq!(shop.json(&["salt", &more, "--dry-run"])["lines"][0]["error"]["code"], "another_bar");
    shop.says(&["bar", "7", "cut", "0-40:1"]);
    let late = table(
        &shop,
        "late.csv",
        &["bar,face_up,left_near_mm,left_far_mm,right_near_mm,right_far_mm,cuts_before", "7,A,103,107,363,367,0"],
    );
    assert_eq!(shop.json(&["salt", &late, "--dry-run"])["lines"][0]["error"]["code"], "read_before_a_cut");
    assert!(shop.json(&["salt"])["bars"].as_array().unwrap().is_empty(), "nothing was entered");
}

#[test]
fn the_face_whose_lines_lean_with_the_rails_is_the_top() {
    let shop = blank();
    assert_eq!(shop.refuses(&["bar", "7", "face"]), "no_salt");
    salt(&shop, "A", "103:107", "363:367");
    let advice = shop.json(&["bar", "7", "face"]);
    let best = &advice["choices"][usize::try_from(advice["best"].as_u64().unwrap()).unwrap()];
    // Naturals lean "/" on the outer rail; these lines lean the other way until the bar is rolled over.
    assert_eq!((best["top"].as_str(), advice["face_is_free"].as_bool()), (Some("B"), Some(false)), "{advice}");
    // 4 mm over 62 mm.
    let lean = best["lean_deg"][0].as_f64().unwrap();
    assert!((lean - (4.0_f64 / 62.0).atan().to_degrees()).abs() < 0.01, "{lean}");
    assert!(shop.says(&["bar", "7", "face"]).contains("Face B up, the left end to the player"));
    // Wood is taken off before the top was decided: told once.
    let told = shop.says(&["bar", "7", "cut", "0-60:1"]);
    assert!(told.contains("before the top face was decided"), "{told}");
    assert!(!shop.says(&["bar", "7", "cut", "0-60:1"]).contains("before the top face"));
    // Now only the half turn is free.
    assert!(shop.says(&["bar", "7", "face"]).contains("the face stays"));
}
