//! Sheets for the saw, the rack and the frame; labels; sizes out and back.
use super::{has, spec, words_of};
use crate::common::invented_frame::{InventedFrame, invented_frame};
use crate::common::invented_instrument::tuned;
use crate::common::shop::{Shop, text};
use crate::common::{answer, refusal, run};
use std::fs;
use std::path::Path;
use std::process::Command;

#[test]
fn saw_steps_and_boards_go_to_the_saw_on_paper() {
    let shop = Shop::new();
    let blank = crate::common::example("blank.bar.json").to_str().unwrap().to_owned();
    let (saw, inches) = (shop.path("saw.pdf"), shop.path("inches.pdf"));
    answer(&["saw", &blank, "--sheet", text(&saw), "--json"]);
    words_of(&saw, &["Saw steps", "blank.bar.json: 6 steps", "Millimetres, as on the saw's scale", "Pull the plug"]);
    answer(&["saw", &blank, "--scale", "inch32", "--sheet", text(&inches), "--json"]);
    words_of(&inches, &["Inches, as on the saw's scale", "7/32"]);
    assert_eq!(refusal(&["saw", &blank, "--sheet", text(&saw)]).0, "cannot_write");
    let again = shop.path("again.pdf");
    assert_eq!(run(&["sheet", "saw", &blank, "--out", text(&again)]).0, 0);
    words_of(&again, &["Saw steps", "blank.bar.json: 6 steps"]);
    let spec = spec(&shop);
    let boards = shop.path("boards.toml");
    fs::write(&boards, "[[board]]\nname = \"B\"\nlength_mm = 2600\nwidth_mm = 220\nthickness_mm = 27\n").unwrap();
    let cuts = shop.path("cuts.pdf");
    answer(&["cutlist", &spec, "--boards", text(&boards), "--sheet", text(&cuts), "--json"]);
    let same = shop.path("same.pdf");
    assert_eq!(run(&["sheet", "cutlist", &spec, "--boards", text(&boards), "--out", text(&same)]).0, 0);
    words_of(&same, &["Cut list", "Board B: 2600 mm", "spare C3–F3"]);
    words_of(&cuts, &["Cut list", "Board B: 2600 mm", "spare C3–F3", "push stick"]);
}

fn labels<'a>(home: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["--workshop", home, "sheet", "labels", "Invented marimba"][..], more].concat()
}

/// The codes on a page of labels on A4, each label looked at alone as a phone does: a reader that sees thirteen codes at once now and then takes
/// corners of two for one.
fn codes_on(pdf: &Path, page: usize, [columns, rows]: [usize; 2]) -> Vec<String> {
    // Pixels of A4 at 300 dpi.
    let (width, height) = (2480 / columns, 3508 / rows);
    let picture = pdf.with_file_name("one-label");
    let mut codes = Vec::new();
    for place in 0..columns * rows {
        let corner = [place % columns * width, place / columns * height];
        let cut: Vec<String> = ["-x", "-y", "-W", "-H"]
            .into_iter()
            .zip([corner[0], corner[1], width, height])
            .flat_map(|(option, pixels)| [option.to_owned(), pixels.to_string()])
            .collect();
        let page = page.to_string();
        let drawn = Command::new("pdftoppm")
            .args(["-r", "300", "-png", "-singlefile", "-f", &page, "-l", &page])
            .args(&cut)
            .args([pdf, &picture])
            .status();
        assert!(drawn.unwrap().success());
        let read =
            Command::new("zbarimg").args(["--quiet", "--raw"]).arg(picture.with_extension("png")).output().unwrap();
        codes.extend(String::from_utf8(read.stdout).unwrap().lines().map(str::to_owned));
    }
    codes
}

#[test]
fn a_labels_code_is_read_by_another_program_as_the_bars_own() {
    let (folder, set) = tuned(false);
    drop(set);
    let home = text(folder.path()).to_owned();
    let out = folder.path().join("labels.pdf");
    let home = home.as_str();
    answer(&labels(home, &["--out", text(&out), "--grid", "3x4", "--first", "12", "--json"]));
    words_of(&out, &["C4", "C♯4", "bar 13"]);
    if has("pdftoppm", "-v") && has("zbarimg", "--version") {
        let seen = [1, 2].map(|page| codes_on(&out, page, [3, 4]));
        // Label 12 of the first sheet, the other twelve bars on the second.
        assert_eq!([seen[0].len(), seen[1].len()], [1, 12], "{seen:?}");
        let mut codes: Vec<&str> = seen.iter().flatten().map(String::as_str).collect();
        for code in &codes {
            answer(&["--workshop", home, "bar", code, "modes", "--json"]);
        }
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), 13, "each bar has its own");
        let linked = folder.path().join("linked.pdf");
        answer(&labels(home, &["--out", text(&linked), "--page", "https://192.0.2.7:8443/", "--json"]));
        let codes = codes_on(&linked, 1, [3, 8]);
        assert_eq!(codes.len(), 13, "{codes:?}");
        assert!(codes.iter().all(|code| code.starts_with("https://192.0.2.7:8443/bench/")), "{codes:?}");
    }
    for (wrong, words) in [
        (["--grid", "8x20"], "too small for its code"),
        (["--grid", "3"], "is no grid"),
        (["--first", "25"], "has 24 labels"),
        (["--page", "javascript:alert(1)"], "is no address of a page"),
    ] {
        let x = folder.path().join("x.pdf");
        let (status, _, told) = run(&labels(home, &[&wrong[..], &["--out", text(&x)]].concat()));
        assert!(status != 0 && told.contains(words) && !x.exists(), "{wrong:?}: {told}");
    }
}

#[test]
fn a_frame_is_a_chart_and_its_end_boards_in_true_size() {
    let InventedFrame { folder, desk, .. } = invented_frame();
    drop(desk);
    let home = text(folder.path()).to_owned();
    let out = folder.path().join("frame.pdf");
    let ask = ["--workshop", &home, "sheet", "frame", "Invented marimba", "--out", text(&out), "--json"];
    let told = answer(&ask);
    // The end boards alone are two sheets each at the least: some 700 mm at 277 mm a sheet.
    assert!(told["pages"].as_u64().unwrap() >= 8, "{told}");
    let names: Vec<&str> = told["bookmarks"].as_array().unwrap().iter().map(|name| name.as_str().unwrap()).collect();
    assert_eq!(names, ["Frame chart", "End board, bass, full size.", "End board, treble, full size."]);
    words_of(
        &out,
        &["Frame chart", "end board, bass", "naturals, player's rail", "Do not drill F♯5", "seen from the bars"],
    );
    let inches = folder.path().join("inches.pdf");
    let ask = ["--workshop", &home, "--units", "inch", "sheet", "drill", "Invented marimba", "--out", text(&inches)];
    assert_eq!(run(&ask).0, 0);
    words_of(&inches, &["Inches from the end that faces the player"]);
    let roll = folder.path().join("roll.pdf");
    let ask = [
        "--workshop",
        &home,
        "sheet",
        "frame",
        "Invented marimba",
        "--paper",
        "roll:610",
        "--out",
        text(&roll),
        "--json",
    ];
    // On a roll each end board is one piece.
    assert!(answer(&ask)["pages"].as_u64().unwrap() < told["pages"].as_u64().unwrap());
}

#[test]
fn wood_on_the_rack_hangs_beside_it() {
    let shop = Shop::new();
    let blanks = shop.path("blanks.csv");
    fs::write(&blanks, "label,length_mm,width_mm,thickness_mm,mass_g,f1_hz\n17,470,60,23,590,\n18,470,60,23,,\n")
        .unwrap();
    let boards = shop.path("boards.toml");
    let board = "[[board]]\nname = \"A\"\nlength_mm = 2400\nwidth_mm = 180\nthickness_mm = 27\n\
                 defects = [{ from_mm = 800, to_mm = 900, near_mm = 0, far_mm = 60, what = \"knot\" }]\n";
    fs::write(&boards, board).unwrap();
    let out = shop.path("stock.pdf");
    answer(&["sheet", "stock", "--blanks", text(&blanks), "--boards", text(&boards), "--out", text(&out), "--json"]);
    // 470 · 60 · 23 mm and 590 g; the board's volume.
    words_of(&out, &["Stock of wood", "910", "knot 800–900 along", "0.0117", "trade rules"]);
    let empty = Shop::new();
    assert_eq!(empty.run(&["sheet", "stock", "--out", text(&empty.path("x.pdf"))]).0, 1);
}

/// A maker's way: the plan as a workbook, widths changed there, back into the specification.
#[test]
fn sizes_go_to_a_spreadsheet_and_come_back() {
    let shop = Shop::new();
    let spec = spec(&shop);
    let (book, csv, toml) = (shop.path("sizes.xlsx"), shop.path("sizes.csv"), shop.path("sizes.toml"));
    answer(&["plan", &spec, "--csv", text(&book), "--json"]);
    let first = answer(&["plan", &spec, "--csv", text(&csv), "--json"]);
    let sizes = |plan: &serde_json::Value| -> Vec<String> {
        let keys = ["note", "length_mm", "width_mm", "thickness_mm"];
        plan["bars"].as_array().unwrap().iter().map(|bar| keys.map(|key| bar[key].to_string()).join(" ")).collect()
    };
    let back = answer(&["plan", &spec, "--sizes", text(&book), "--out", text(&toml), "--json"]);
    assert_eq!(sizes(&back["plan"]), sizes(&first), "a workbook comes back as it went");
    let again = answer(&["plan", text(&toml), "--json"]);
    assert_eq!(sizes(&again), sizes(&first), "and so does the specification made of it");
    let table = fs::read_to_string(&csv).unwrap();
    let changed = table.lines().map(|line| {
        let mut cells: Vec<&str> = line.split(',').collect();
        if cells[0] == "E3" {
            cells[4] = "61.5";
        }
        cells.join(",") + "\n"
    });
    let other = shop.path("changed.csv");
    fs::write(&other, changed.collect::<String>()).unwrap();
    let wider = answer(&["plan", &spec, "--sizes", text(&other), "--json"]);
    let e3 = wider["plan"]["bars"].as_array().unwrap().iter().find(|bar| bar["note"] == "E3").unwrap();
    assert_eq!(e3["width_mm"], 61.5);
    for (table, code) in [
        ("note,width_mm\nC3,60\n", "missing_note"),
        ("note,width_mm\nC7,60\n", "no_such_note"),
        ("note,width_mm\nC3,wide\n", "not_a_table"),
        ("width_mm\n60\n", "not_a_table"),
    ] {
        fs::write(&other, table).unwrap();
        assert_eq!(refusal(&["plan", &spec, "--sizes", text(&other)]).0, code, "{table}");
    }
}
