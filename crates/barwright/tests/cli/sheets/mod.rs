//! Sheets as PDF, in true size; contours for machines. Looked at with poppler's and qpdf's eyes where they are installed.
mod german;
mod wood_and_frame;

use crate::common::invented_instrument::{certify, tuned};
use crate::common::shop::{Shop, text};
use crate::common::{answer, refusal, run};
use std::fs;
use std::path::Path;
use std::process::Command;

const SPEC: &str = "kind = \"marimba\"\nlowest = \"C3\"\nhighest = \"C4\"\na4_hz = 442\nwood = \"Honduras rosewood\"\n";

fn spec(shop: &Shop) -> String {
    let path = shop.path("spec.toml");
    fs::write(&path, SPEC).unwrap();
    text(&path).to_owned()
}

/// Whether a tool is there; where readers are required, it must be.
fn has(tool: &str, version: &str) -> bool {
    let there = Command::new(tool).arg(version).output().is_ok();
    assert!(there || std::env::var_os("BARWRIGHT_REQUIRE_READERS").is_none(), "{tool} is required here");
    if !there {
        eprintln!("{tool} is not installed: not looked at with it");
    }
    there
}

/// Corners of the contour on the layer of cuts, in millimetres, y downwards.
fn contour(path: &Path) -> Vec<(f64, f64)> {
    let dxf = fs::read_to_string(path).unwrap();
    let lines: Vec<&str> = dxf.lines().collect();
    let pairs: Vec<(&str, &str)> = lines.chunks(2).map(|pair| (pair[0].trim(), pair[1])).collect();
    let corners = pairs.windows(4).filter(|at| at[0] == ("0", "VERTEX") && at[1] == ("8", "CUT"));
    corners.map(|at| (at[2].1.parse::<f64>().unwrap(), -at[3].1.parse::<f64>().unwrap())).collect()
}

/// The underside of such a contour at a place, between its corners.
fn thickness_at(points: &[(f64, f64)], x: f64) -> f64 {
    let under: Vec<(f64, f64)> = points.iter().copied().filter(|(_, y)| *y > 0.0).collect();
    let pair = under.windows(2).find(|pair| (pair[1].0..=pair[0].0).contains(&x)).unwrap();
    pair[1].1 + (pair[0].1 - pair[1].1) * (x - pair[1].0) / (pair[0].0 - pair[1].0).max(1e-9)
}

/// The page as grey bytes, 20 pixels to the millimetre (508 dpi).
fn grey(pdf: &Path, page: usize) -> Option<(usize, Vec<u8>)> {
    if !has("pdftoppm", "-v") {
        return None;
    }
    let page = page.to_string();
    let output =
        Command::new("pdftoppm").args(["-r", "508", "-gray", "-f", &page, "-l", &page]).arg(pdf).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    // P5, width and height, 255, then the bytes.
    let head: Vec<&[u8]> = output.stdout.splitn(4, |byte| *byte == b'\n').collect();
    let size = String::from_utf8_lossy(head[1]).into_owned();
    let width: usize = size.split(' ').next().unwrap().parse().unwrap();
    Some((width, head[3].to_vec()))
}

/// Middles of the dark runs of a line of pixels that are 0.3 to 0.8 mm wide, in millimetres.
fn strokes(line: impl Iterator<Item = u8>) -> Vec<f64> {
    let (mut found, mut from) = (Vec::new(), None);
    for (at, value) in line.chain(std::iter::once(255)).enumerate() {
        match (value < 128, from) {
            (true, None) => from = Some(at),
            (false, Some(start)) => {
                let width = (at - start) as f64 / 20.0;
                if (0.3..0.8).contains(&width) {
                    found.push((start + at) as f64 / 40.0);
                }
                from = None;
            }
            _ => {}
        }
    }
    found
}

#[test]
fn the_check_pages_square_is_a_hundred_millimetres_both_ways() {
    let shop = Shop::new();
    let pdf = shop.path("check.pdf");
    answer(&["sheet", "check", "--out", text(&pdf), "--json"]);
    let Some((width, pixels)) = grey(&pdf, 1) else { return };
    // The square begins 10 mm from the left and some 25 mm down: a line through it at 60 mm, and a column at 60 mm.
    let row = strokes(pixels[60 * 20 * width..(60 * 20 + 1) * width].iter().copied());
    let column = strokes((0..pixels.len() / width).map(|y| pixels[y * width + 40 * 20]));
    // 0.05 mm is one pixel: the measure itself is good to half of one at each edge.
    let apart =
        |marks: &[f64]| marks.iter().flat_map(|a| marks.iter().map(move |b| b - a)).any(|d| (d - 100.0).abs() < 0.05);
    assert!(apart(&row) && apart(&column), "{row:?} {column:?}");
}

#[test]
fn templates_are_tiled_corrected_and_cut_by_machines() {
    let shop = Shop::new();
    let spec = spec(&shop);
    let (pdf, folder, csv) = (shop.path("t.pdf"), shop.path("machines"), shop.path("stations.csv"));
    let told = answer(&[
        "sheet",
        "template",
        &spec,
        "--notes",
        "C3,C#3",
        "--out",
        text(&pdf),
        "--machines",
        text(&folder),
        "--csv",
        text(&csv),
        "--json",
    ]);
    assert_eq!(told["templates"].as_array().unwrap().len(), 2);
    // 470 and 461 mm on A4 lying (277 mm shown): two sheets each.
    assert_eq!(told["pages"], 4);
    if has("qpdf", "--version") {
        let checked = Command::new("qpdf").arg("--check").arg(&pdf).output().unwrap();
        assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stdout));
    }
    // The contour's points against the stations: the same arch, by another way out.
    let points = contour(&folder.join("C3.dxf"));
    let thickness = |x: f64| thickness_at(&points, x);
    let table = fs::read_to_string(&csv).unwrap();
    let stations: Vec<Vec<&str>> = table
        .lines()
        .skip(1)
        .map(|line| line.split(',').collect())
        .filter(|cells: &Vec<&str>| cells[0] == "C3")
        .collect();
    assert!(stations.len() > 10);
    for cells in stations {
        let (from, wanted) = (cells[1].parse::<f64>().unwrap(), cells[2].parse::<f64>().unwrap());
        // Hundredths in the table, thousandths in the drawing.
        assert!(
            (thickness(235.0 - from) - wanted).abs() < 0.02 && (thickness(235.0 + from) - wanted).abs() < 0.02,
            "{from} {wanted}"
        );
    }
    // A printer that makes 99 of 100 mm: the square of the same sheet, drawn wider.
    let corrected = shop.path("corrected.pdf");
    answer(&["sheet", "template", &spec, "--notes", "C4", "--out", text(&corrected), "--measured", "99,100", "--json"]);
    for (wrong, code) in [
        (vec!["--measured", "80,100", "--out", "x.pdf"], "out_of_range"),
        (vec!["--notes", "C7", "--out", "x.pdf"], "no_such_note"),
        (vec![], "usage"),
        (vec!["--out", text(&pdf)], "cannot_write"),
    ] {
        assert_eq!(refusal(&[&["sheet", "template", &spec][..], &wrong].concat()).0, code, "{wrong:?}");
    }
}

/// The sheets laid over one another as their marks say, at 20 pixels to the millimetre, are the arch again.
#[test]
fn tiles_laid_together_are_the_arch() {
    let shop = Shop::new();
    let spec = spec(&shop);
    let (pdf, folder) = (shop.path("t.pdf"), shop.path("machines"));
    let ask = ["sheet", "template", &spec, "--notes", "C3", "--out", text(&pdf), "--machines", text(&folder), "--json"];
    assert_eq!(answer(&ask)["pages"], 2);
    let points = contour(&folder.join("C3.dxf"));
    let Some((width, first)) = grey(&pdf, 1) else { return };
    let (_, second) = grey(&pdf, 2).unwrap();
    let column = |page: &[u8], x_mm: f64| {
        let at = (x_mm * 20.0).round() as usize;
        strokes((0..page.len() / width).map(|y| page[y * width + at]))
    };
    // A drawing of 470 mm and half a pen, begun at the margin of 10 mm; 277 mm stand on a sheet, 15 on both.
    let left = 10.0 + 1.0 + 0.5 * 0.5;
    let top = *column(&first, left + 150.0).iter().find(|y| **y > 20.0).unwrap();
    let underside = |page: &[u8], x_mm: f64| column(page, x_mm).into_iter().find(|y| *y > top + 2.0).map(|y| y - top);
    let mut compared = 0;
    // Beside the figures' lines, which stand every 20 mm from the centre, and beside the nodes'.
    for step in -11..=11 {
        let x = 235.0 + 20.0 * f64::from(step) + 7.0;
        let on_first = left + x;
        // 262 mm further than the first sheet begins, less where the second sheet's window begins.
        let on_second = on_first - 262.0;
        for (page, at) in [(&first, on_first), (&second, on_second)] {
            if !(12.0..285.0).contains(&at) {
                continue;
            }
            let Some(found) = underside(page, at) else { panic!("no underside {x} mm from the left end") };
            // A tenth of a millimetre is what a tracing is good to; two pixels of it are the rendering's.
            let wanted = thickness_at(&points, x);
            assert!((found - wanted).abs() < 0.1, "{x} mm: {found} drawn, {wanted} wanted");
            compared += 1;
        }
    }
    assert!(compared >= 23, "{compared}");
}

#[test]
fn contours_lie_close_on_stock_for_a_laser() {
    let shop = Shop::new();
    let spec = spec(&shop);
    let folder = shop.path("nest");
    let ask = ["sheet", "template", &spec, "--machines", text(&folder), "--nest", "600x200", "--gap", "4"];
    let (status, told, error) = run(&ask);
    assert!(status == 0 && told.contains("no laying needs fewer than"), "{told} {error}");
    let sheets = fs::read_dir(&folder).unwrap().count() / 2;
    let mut names = 0;
    for sheet in 1..=sheets {
        let path = folder.join(format!("sheet-{sheet}.dxf"));
        let dxf = fs::read_to_string(&path).unwrap();
        // Each contour is one closed line; none reaches over the sheet's edge.
        names += dxf.matches("POLYLINE\n8\nCUT\n").count() + dxf.matches("POLYLINE\r\n  8\r\nCUT").count();
        for (x, y) in contour(&path) {
            assert!((8.0 - 1e-6..=592.0 + 1e-6).contains(&x) && (8.0 - 1e-6..=192.0 + 1e-6).contains(&y), "{x} {y}");
        }
    }
    assert_eq!(names, 13, "each of thirteen arches once");
    let other = shop.path("x");
    let small = ["sheet", "template", &spec, "--machines", text(&other), "--nest", "300x200"];
    assert_eq!(refusal(&small).0, "no_room");
}

#[test]
fn a_plan_becomes_a_book_with_bookmarks() {
    let shop = Shop::new();
    let spec = spec(&shop);
    let pdf = shop.path("book.pdf");
    let told = answer(&["book", &spec, "--out", text(&pdf), "--paper", "letter", "--json"]);
    let names: Vec<&str> = told["bookmarks"].as_array().unwrap().iter().map(|name| name.as_str().unwrap()).collect();
    for name in
        ["Specification", "Bar schedule", "Blank record", "Tuning sheet", "Tube list", "Arch templates", "Arch of C♯3"]
    {
        assert!(names.contains(&name), "{name}: {names:?}");
    }
    assert_eq!(names[..2], ["Contents", "Specification"]);
    words_of(&pdf, &["Contents sheet page of the book", "Specification 2", "Bar schedule 3"]);
    assert!(told["pages"].as_u64().unwrap() > 30 && told["bytes"].as_u64().unwrap() < 10_000_000, "{told}");
    for sheet in ["specification", "schedule"] {
        let out = shop.path(&format!("{sheet}.pdf"));
        answer(&["sheet", sheet, &spec, "--out", text(&out), "--json"]);
        words_of(&out, &["C3", "442", "Honduras rosewood"][..if sheet == "schedule" { 2 } else { 3 }]);
    }
    let out = shop.path("blanks.pdf");
    answer(&["sheet", "blanks", "--lines", "30", "--out", text(&out), "--json"]);
    words_of(&out, &["Blank record", "page 2 of 2", "extraction and a mask"]);
}

/// The words must be in it, if the tool for that is installed.
fn words_of(pdf: &Path, words: &[&str]) {
    if !has("pdftotext", "-v") {
        return;
    }
    let output = Command::new("pdftotext").arg("-layout").arg(pdf).arg("-").output().unwrap();
    let plain = String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    for word in words {
        assert!(plain.contains(word), "{word}: {plain}");
    }
}

#[test]
fn an_instruments_sheets_are_printed_and_what_is_missing_is_said() {
    let (folder, mut set) = tuned(false);
    certify(&mut set);
    set.years_later(5).unwrap();
    drop(set);
    let home = text(folder.path()).to_owned();
    let sheet = |name: &str, words: &[&str]| {
        let out = folder.path().join(format!("{name}.pdf"));
        let args = ["--workshop", &home, "sheet", name, "Invented marimba", "--out", text(&out), "--json"];
        assert!(answer(&args)["pages"].as_u64().unwrap() >= 1);
        words_of(&out, words);
    };
    sheet(
        "tubes",
        &["Tube list", "C♯4", "What to cut", "Invented workshop · Invented marimba", "eyes and ears protected"],
    );
    sheet("certificate", &["Tuning certificate", "All 13 bars are within working class", "SHA-256", "Do not sand"]);
    sheet("retuning", &["Retuning sheet", "dry it for weeks", "a crack at the bass-side hole", "after, cents"]);
    sheet("tuning", &["Tuning sheet", "262.81", "1051.26"]);
    sheet("assembly", &["Assembly and check list", "two people lift"]);
    // No salt test was made of the invented bars: the table says so, and there are no rails to drill by.
    sheet("nodes", &["Node table", "not read"]);
    let out = folder.path().join("drill.pdf");
    let drill = ["--workshop", &home, "sheet", "drill", "Invented marimba", "--out", text(&out)];
    assert!(!refusal(&drill).1.is_empty() && !out.exists());
    let book = folder.path().join("book.pdf");
    let (status, told, _) =
        run(&["--workshop", &home, "book", "--instrument", "Invented marimba", "--out", text(&book)]);
    assert!(status == 0 && told.contains("Not in it yet: drill"), "{told}");
}
