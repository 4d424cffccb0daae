//! What goes beside the program: licences, manual pages, completions.
use crate::common::shop::{Shop, text};
use crate::common::{answer, refusal, run};
use std::fs;
use std::path::Path;

#[test]
fn every_package_of_the_lock_file_is_named_with_its_licence() {
    let lock = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../Cargo.lock")).unwrap();
    let (_, notices, _) = run(&["licences"]);
    let own = ["bar-physics", "barwright", "making", "paper", "records", "strike", "words"];
    let value = |line: &str| line.split('"').nth(1).unwrap_or("").to_owned();
    let lines: Vec<&str> = lock.lines().collect();
    let mut counted = 0;
    for pair in lines.windows(2).filter(|pair| pair[0].starts_with("name = ") && pair[1].starts_with("version = ")) {
        let (name, version) = (value(pair[0]), value(pair[1]));
        if own.contains(&name.as_str()) {
            continue;
        }
        let line = notices.lines().find(|line| line.starts_with(&format!("{name} {version}: ")));
        assert!(line.is_some(), "{name} {version} is missing: python3 tools/notices.py writes the list anew");
        counted += 1;
    }
    assert!(counted > 300, "{counted}");
    // The typeface goes with the program too.
    assert!(notices.contains("SIL OPEN FONT LICENSE"));
}

#[test]
fn every_command_has_its_manual_page() {
    let shop = Shop::new();
    let folder = shop.path("man");
    let told = answer(&["man", text(&folder), "--json"]);
    let pages: Vec<&str> = told["pages"].as_array().unwrap().iter().map(|page| page.as_str().unwrap()).collect();
    for page in
        ["barwright.1", "barwright-plan.1", "barwright-sheet.1", "barwright-sheet-template.1", "barwright-bar-listen.1"]
    {
        assert!(pages.contains(&page), "{page}: {pages:?}");
    }
    let plan = fs::read_to_string(folder.join("barwright-plan.1")).unwrap();
    assert!(plan.starts_with(".ie") || plan.starts_with(".TH") || plan.contains(".TH BARWRIGHT\\-PLAN"), "{plan}");
    assert!(plan.contains("better"), "{plan}");
    // New files only: what is there is somebody's.
    assert_eq!(refusal(&["man", text(&folder)]).0, "cannot_write");
}

#[test]
fn shells_get_completions() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let (status, script, _) = run(&["completions", shell]);
        assert!(status == 0 && script.contains("barwright") && script.contains("cutlist"), "{shell}");
    }
}

#[test]
fn the_doctor_looks_at_folder_record_and_disk() {
    let shop = Shop::new();
    let home = text(&shop.path("shop")).to_owned();
    let doctor = |more: &[&str]| run(&[&["--workshop", &home, "doctor"][..], more].concat());
    let (status, told, _) = doctor(&[]);
    assert_eq!(status, 0);
    for part in ["ok   program: barwright", "GB free", "can be written", "ok   record: sound", "copies"] {
        assert!(told.contains(part), "{part}: {told}");
    }
    let report = shop.path("report.txt");
    assert!(doctor(&["--report", text(&report)]).1.contains("read it before you send it"));
    let written = fs::read_to_string(&report).unwrap();
    assert!(written.contains("record: sound") && !written.contains("Invented"), "{written}");
    // A copy dated later than now is no missing copy: the clock is wrong.
    let copies = shop.path("shop").join(records::workshop::BACKUP_FOLDER);
    fs::create_dir_all(&copies).unwrap();
    // The year 2100.
    let later = std::time::UNIX_EPOCH + std::time::Duration::from_secs(4_102_444_800);
    fs::File::create(copies.join("later")).unwrap().set_modified(later).unwrap();
    assert!(doctor(&[]).1.contains("dated later than now"));
    fs::remove_file(copies.join("later")).unwrap();
    // A damaged record is told as such, and the doctor leaves it as it is.
    let record = shop.path("shop").join(records::workshop::RECORD_FILE);
    let mut bytes = fs::read(&record).unwrap();
    bytes[..16].fill(0);
    fs::write(&record, &bytes).unwrap();
    let told = answer(&["--workshop", &home, "doctor", "--json"]);
    assert_eq!(told["fit"], false, "{told}");
    assert_eq!(fs::read(&record).unwrap(), bytes);
    let none = answer(&["--workshop", text(&shop.path("nowhere")), "doctor", "--json"]);
    assert!(none["findings"].to_string().contains("none yet"), "{none}");
}
