//! Sheets in German: nothing of them stays English.
use super::{has, spec};
use crate::common::invented_frame::{InventedFrame, invented_frame};
use crate::common::invented_instrument::{certify, tuned};
use crate::common::shop::{Shop, text};
use crate::common::{example, run};
use std::fs;
use std::path::Path;
use std::process::Command;

/// Words that no English sentence does long without, and that are no German ones.
const ENGLISH: [&str; 22] = [
    "the", "and", "from", "with", "of", "bars", "bar", "note", "rail", "not", "before", "is", "are", "for", "cut",
    "to", "page", "sheet", "length", "width", "left", "right",
];

/// Names of files, the maker's own remarks, and what he has to type.
const AS_WRITTEN: [&str; 5] =
    ["blank.bar.json", "a crack at the bass-side hole", "sheet check", "sheet template", "rails bend after"];

/// The words of a PDF, those apart that are names or commands.
fn german(pdf: &Path, wanted: &[&str]) {
    if !has("pdftotext", "-v") {
        return;
    }
    let output = Command::new("pdftotext").arg("-layout").arg(pdf).arg("-").output().unwrap();
    let plain = String::from_utf8_lossy(&output.stdout).into_owned();
    let plain = AS_WRITTEN.iter().fold(plain, |text, written| text.replace(written, ""));
    for word in wanted {
        assert!(plain.split_whitespace().collect::<Vec<_>>().join(" ").contains(word), "{word}: {plain}");
    }
    for line in plain.lines() {
        let english = line.split(|c: char| !c.is_alphabetic()).find(|word| ENGLISH.contains(word));
        assert!(english.is_none(), "{english:?} in {}: {line}", pdf.display());
    }
}

fn made(args: &[&str]) {
    let (status, _, error) = run(&[&["--language", "de"][..], args].concat());
    assert_eq!((status, error.as_str()), (0, ""), "{args:?}");
}

#[test]
fn a_plans_sheets_are_german() {
    let shop = Shop::new();
    let spec = spec(&shop);
    let path = |name: &str| shop.path(name);
    made(&["book", &spec, "--out", text(&path("book.pdf"))]);
    german(
        &path("book.pdf"),
        &["Spezifikation", "442 Hz", "C3 bis C4, 13 Stäbe", "Bogen von Cis3", "H3", "6,7", "Seite 1 von"],
    );
    let wide = path("wide.toml");
    fs::write(
        &wide,
        fs::read_to_string(&spec).unwrap().replace("C3", "C1") + "longest_blank_mm = 600\nmost_overall_mm = 900\n",
    )
    .unwrap();
    made(&["sheet", "specification", text(&wide), "--out", text(&path("wide.pdf"))]);
    german(&path("wide.pdf"), &["sind aus Rohlingen von 600 mm nicht zu bauen", "sind erlaubt"]);
    let low = path("low.toml");
    fs::write(&low, fs::read_to_string(&spec).unwrap().replace("C3", "C1").replace("C4", "E1")).unwrap();
    made(&["sheet", "specification", text(&low), "--out", text(&path("low.pdf"))]);
    german(&path("low.pdf"), &["C1 ist nicht zu bauen: kein Bogen gefunden", "ein längerer oder dünnerer Rohling"]);
    made(&["sheet", "check", "--out", text(&path("check.pdf"))]);
    german(&path("check.pdf"), &["Prüfblatt", "mit Stahlmaß messen"]);
    let blank = example("blank.bar.json").to_str().unwrap().to_owned();
    made(&["saw", &blank, "--sheet", text(&path("saw.pdf"))]);
    german(&path("saw.pdf"), &["Sägeschritte", "105,5", "Stecker ziehen"]);
    let boards = path("boards.toml");
    fs::write(&boards, "[[board]]\nname = \"B\"\nlength_mm = 2600\nwidth_mm = 220\nthickness_mm = 27\n").unwrap();
    made(&["cutlist", &spec, "--boards", text(&boards), "--sheet", text(&path("cuts.pdf"))]);
    german(&path("cuts.pdf"), &["Zuschnittliste", "auftrennen bei", "Brett B"]);
    let blanks = path("blanks.csv");
    let lines = "17,470,60,23,590,520,0.5,3.2,9\n18,470,60,23,,,,,14\n19,300,50,23,400,,,,\n";
    let head = "label,length_mm,width_mm,thickness_mm,mass_g,f1_hz,decay_s,tilt_mm,moisture_percent\n";
    fs::write(&blanks, format!("{head}{lines}")).unwrap();
    made(&["sheet", "stock", "--blanks", text(&blanks), "--boards", text(&boards), "--out", text(&path("stock.pdf"))]);
    german(&path("stock.pdf"), &["Holzvorrat", "3 Rohlinge ohne Ton", "auf 12 %"]);
    assert_eq!(run(&["--language", "fr", "sheet", "check", "--out", "x.pdf"]).0, 2, "no catalogue for that");
}

#[test]
fn an_instruments_sheets_are_german() {
    let (folder, mut set) = tuned(false);
    certify(&mut set);
    set.years_later(5).unwrap();
    drop(set);
    let home = text(folder.path()).to_owned();
    for (kind, wanted) in [
        ("tubes", "Rohrliste"),
        ("certificate", "Alle 13 Stäbe liegen innerhalb der Klasse Arbeit"),
        ("retuning", "Wochen trocknen"),
        ("tuning", "262,81"),
        ("assembly", "heben zwei"),
        ("nodes", "nicht abgelesen"),
        ("labels", "Stab 13"),
    ] {
        let out = folder.path().join(format!("{kind}.pdf"));
        made(&["--workshop", &home, "sheet", kind, "Invented marimba", "--out", text(&out)]);
        german(&out, &[wanted]);
    }
    let InventedFrame { folder, desk, .. } = invented_frame();
    drop(desk);
    let home = text(folder.path()).to_owned();
    for (kind, wanted) in [("frame", "Endbrett, Bass, wahre Größe"), ("drill", "OBERSEITE OBEN")] {
        let out = folder.path().join(format!("{kind}.pdf"));
        made(&["--workshop", &home, "sheet", kind, "Invented marimba", "--out", text(&out)]);
        german(&out, &[wanted]);
    }
}
