//! Salt tests entered, doubted and compared; which face and end lie best. All bars are made up.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod common;
use common::shop::Shop;

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
    assert_eq!(after["moved_outwards_mm"], serde_json::json!([8.5, 8.5]));
    // The model's own lines moved the same way.
    let left = |value: &serde_json::Value| value["model_mm"]["left"]["near"].as_f64().unwrap();
    assert!(left(&after) < left(&before) - 3.0, "{} {}", left(&before), left(&after));
    let text = shop.says(&["bar", "7", "nodes"]);
    assert!(text.contains("Moved outwards since the first test: left 8.5 mm, right 8.5 mm."), "{text}");
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
