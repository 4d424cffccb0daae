//! Salt tests read off photographs. The pictures are rendered from an invented bar whose lines are known, and marked by an eye
//! that sees only their pixels.
use crate::common::photograph::{LINES_M, SIZE_M, Shot, jpeg};
use crate::common::shop::{Shop, text};
use serde_json::Value;
use std::fs;

fn shop() -> Shop {
    let shop = Shop::new();
    let [length, width, thickness] = SIZE_M.map(|m| (m * 1e3).to_string());
    shop.says(&["bar", "7", "new", "--length", &length, "--width", &width, "--thickness", &thickness, "--mass", "560"]);
    shop
}

/// Photographs and marks as files; upright, or with the camera's note that it was turned.
fn taken(shop: &Shop, shot: &Shot, upright: bool) {
    let picture = shot.render();
    fs::write(shop.path("salt.jpg"), jpeg(&picture, upright)).unwrap();
    // Marked in what the camera kept, artefacts of JPEG included.
    let seen = image::load_from_memory(&jpeg(&picture, true)).unwrap().to_rgb8();
    fs::write(shop.path("marks.json"), shot.marks(&seen).to_string()).unwrap();
}

fn salt(shop: &Shop, more: &[&str]) -> Vec<String> {
    let (photo, marks) = (shop.path("salt.jpg"), shop.path("marks.json"));
    let args = ["bar", "7", "salt", "--face", "A", "--photo", text(&photo), "--marks", text(&marks)];
    args.iter().chain(more).map(|arg| (*arg).to_owned()).collect()
}

fn json(shop: &Shop, args: &[String]) -> Value {
    shop.json(&args.iter().map(String::as_str).collect::<Vec<_>>())
}

#[test]
fn lines_come_out_within_a_millimetre_at_twelve_megapixels() {
    let shop = shop();
    let shots = [
        ("blurred", Shot { blur_px: 3.0, ..Shot::HAND_HELD }, true),
        ("slanting, the camera turned", Shot::SLANTING, false),
    ];
    for (name, shot, upright) in shots {
        taken(&shop, &shot, upright);
        let read = json(&shop, &salt(&shop, &["--dry-run"]));
        let sigma_mm = read["sigma_mm"].as_f64().unwrap();
        for (side, line) in ["left", "right"].iter().zip(LINES_M) {
            for (place, x_m) in ["near_mm", "centre_mm", "far_mm"].iter().zip(line) {
                let off_mm = read["salt"][side][place].as_f64().unwrap() - 1e3 * x_m;
                // The aim; and what the program itself says of its numbers, at three standard deviations.
                assert!(off_mm.abs() < 1.0 && off_mm.abs() < 3.0 * sigma_mm, "{name}: {side} {place} {off_mm}");
            }
        }
        assert!(sigma_mm < 1.0 && read["doubts"].as_array().unwrap().is_empty(), "{name}: {read}");
        // On the bench, lower by the bar's thickness: seen from straight above it seems shorter by that over the distance.
        let off = read["ruler_off"].as_f64().unwrap();
        assert!((off + SIZE_M[2] / (shot.away_m + SIZE_M[2])).abs() < 0.01, "{name}: {off}");
    }
    assert!(shop.json(&["bar", "7", "nodes"])["tests"].as_array().unwrap().is_empty(), "a dry run enters nothing");
}

#[test]
fn the_photograph_is_kept_with_the_test_and_shown_straight() {
    let shop = shop();
    let shot = Shot { size_px: [2400, 1800], ..Shot::HAND_HELD };
    taken(&shop, &shot, true);
    let strip = shop.path("strip.png");
    let args = salt(&shop, &["--strip", text(&strip)]);
    let told = shop.says(&args.iter().map(String::as_str).collect::<Vec<_>>());
    assert!(told.contains("kept with its photograph") && told.contains("one standard deviation"), "{told}");
    let straight = image::open(&strip).unwrap().to_rgb8();
    // 470 mm and twice 4 mm of room, 62 mm and the same.
    let shape = f64::from(straight.width()) / f64::from(straight.height());
    assert!((shape - 478.0 / 70.0).abs() < 0.05, "{shape}");
    let nodes = shop.json(&["bar", "7", "nodes"]);
    assert_eq!(nodes["tests"].as_array().unwrap().len(), 1);
    let check = shop.json(&["check"]);
    assert_eq!((check["photos"].as_u64(), check["ok"].as_bool()), (Some(1), Some(true)), "{check}");
    let history = shop.says(&["bar", "7", "history"]);
    assert!(history.contains("photograph"), "{history}");
    // The very file, and its loss is found out.
    let kept: Vec<_> = walk(&shop.path("shop").join("photos"));
    assert_eq!(fs::read(&kept[0]).unwrap(), fs::read(shop.path("salt.jpg")).unwrap());
    fs::remove_file(&kept[0]).unwrap();
    assert_eq!(shop.refuses(&["check"]), "damaged", "its loss is told");
}

fn walk(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.flat_map(|path| if path.is_dir() { walk(&path) } else { vec![path] }).collect()
}

#[test]
fn wrong_pictures_and_marks_are_refused_and_nothing_is_kept() {
    let shop = shop();
    let shot = Shot { size_px: [2400, 1800], ..Shot::HAND_HELD };
    taken(&shop, &shot, true);
    let marks = fs::read_to_string(shop.path("marks.json")).unwrap();
    let refuses = |more: &[&str]| {
        let args = salt(&shop, more);
        shop.refuses(&args.iter().map(String::as_str).collect::<Vec<_>>())
    };
    let with_marks = |change: &dyn Fn(&mut Value)| {
        let mut value: Value = serde_json::from_str(&marks).unwrap();
        change(&mut value);
        fs::write(shop.path("marks.json"), value.to_string()).unwrap();
        refuses(&[])
    };
    assert_eq!(with_marks(&|m| m["corners_px"][1][0] = 4000.into()), "mark_outside_picture");
    assert_eq!(with_marks(&|m| m["corners_px"].as_array_mut().unwrap().swap(0, 1)), "corners_crossed");
    assert_eq!(with_marks(&|m| m["left_px"].as_array_mut().unwrap().reverse()), "edges_mixed");
    assert_eq!(with_marks(&|m| drop(m["corners_px"].as_array_mut().unwrap().pop())), "marks_unreadable");
    assert_eq!(with_marks(&|m| m["ruler"][0]["reads_mm"] = (-5).into()), "out_of_range");
    fs::write(shop.path("marks.json"), marks).unwrap();
    fs::write(shop.path("there.png"), "mine").unwrap();
    assert_eq!(refuses(&["--strip", text(&shop.path("there.png"))]), "cannot_write");
    fs::write(shop.path("salt.jpg"), b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").unwrap();
    assert_eq!(refuses(&[]), "photo_unknown");
    fs::remove_file(shop.path("salt.jpg")).unwrap();
    assert_eq!(refuses(&[]), "unreadable");
    assert!(shop.json(&["bar", "7", "nodes"])["tests"].as_array().unwrap().is_empty());
    assert!(!shop.path("shop").join("photos").exists() || walk(&shop.path("shop").join("photos")).is_empty());
    // A photograph without marks is half of a test.
    let (status, _, stderr) = shop.run(&["bar", "7", "salt", "--face", "A", "--photo", "x.jpg"]);
    assert!(status == 2 && stderr.contains("--marks"), "{stderr}");
}
