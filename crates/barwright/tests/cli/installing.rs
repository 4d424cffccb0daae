//! What goes beside the program: licences, manual pages, completions.
use crate::common::shop::{Shop, text};
use crate::common::{answer, barwright, refusal, run};
use std::fs;
use std::io::Read;
use std::path::Path;
use std::process::Command;

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

/// What `tools/package` makes of this very program, unpacked, installed, installed again over itself, and taken off.
#[cfg(target_os = "linux")]
#[test]
fn the_tarball_installs_over_itself_and_leaves_the_workshop_alone_when_it_goes() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let done = |command: &mut Command| {
        let output = command.output().unwrap();
        let said = [output.stdout, output.stderr].map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).concat();
        (output.status.success(), said)
    };
    let program = barwright().get_program().to_owned();
    let pack = |out: &str| done(Command::new(root.join("tools/package")).arg(&program).arg(at(out)));
    let (ok, said) = pack("out");
    assert!(ok, "{said}");
    let tarball = said.trim().to_owned();
    // The same program gives the same bytes.
    let again = pack("again").1;
    assert_eq!(fs::read(&tarball).unwrap(), fs::read(again.trim()).unwrap());
    let (ok, said) = done(Command::new("tar").args(["-xzf", &tarball, "-C"]).arg(folder.path()));
    assert!(ok, "{said}");
    let name = Path::new(&tarball).file_name().unwrap().to_str().unwrap().strip_suffix(".tar.gz").unwrap();
    let installer = at(name).join("install.sh");
    let install = |more: &[&str]| done(Command::new(&installer).arg("--prefix").arg(at("prefix")).args(more));
    let run_it =
        |args: &[&str]| done(Command::new(at("prefix/bin/barwright")).args(args).env("BARWRIGHT_WORKSHOP", at("shop")));
    assert!(install(&[]).0);
    assert!(run_it(&["workshop", "new", "--name", "Invented shop"]).0);
    let (ok, said) = install(&[]);
    assert!(ok && said.contains("is installed in"), "{said}");
    assert!(run_it(&["workshop"]).1.contains("Invented shop"), "an update leaves the workshop as it is");
    for file in [
        "share/man/man1/barwright-plan.1",
        "share/bash-completion/completions/barwright",
        "share/applications/barwright.desktop",
        "share/icons/hicolor/scalable/apps/barwright.svg",
        "share/doc/barwright/third-party-licences.txt",
        "share/doc/barwright/docs/tutorial.md",
    ] {
        assert!(at("prefix").join(file).is_file(), "{file}");
    }
    assert!(!done(Command::new(&installer).args(["--prefix", "relative"])).0);
    assert!(!done(Command::new(&installer).arg("--what")).0);
    assert!(install(&["--remove"]).0);
    assert!(!at("prefix/bin/barwright").exists() && at("shop/workshop.db").exists());
    // The entry of the menu, by the checker of its specification, where that is installed.
    match Command::new("desktop-file-validate").arg(root.join("packaging/barwright.desktop")).output() {
        Ok(output) => assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout)),
        Err(_) => eprintln!("skipped: desktop-file-validate of the Debian package desktop-file-utils is not installed"),
    }
}

#[test]
fn the_doctors_archive_names_nothing_personal() {
    let shop = Shop::new();
    shop.says(&["instrument", "add", "Mustermann order", "--a4", "442"]);
    shop.says(&["bar", "Secretlabel", "new", "--length", "470", "--width", "62", "--thickness", "23"]);
    shop.says(&["bar", "Secretlabel", "remark", "promised to the Mustermann family"]);
    // Refusals name what was typed; the notes only their codes.
    assert_eq!(shop.refuses(&["bar", "Nosuchlabel", "next"]), "not_found");
    assert_eq!(shop.refuses(&["fine", "Mustermann order"]), "no_bars");
    let archive = shop.path("report.zip");
    let told = shop.says(&["doctor", "--archive", text(&archive)]);
    assert!(told.contains("read it before you send it"), "{told}");
    let mut zip = zip::ZipArchive::new(fs::File::open(&archive).unwrap()).unwrap();
    let names: Vec<String> = zip.file_names().map(|name| name.unwrap().into_owned()).collect();
    assert!(
        ["README.txt", "findings.txt", "barwright.log"].iter().all(|name| names.iter().any(|n| n == name)),
        "{names:?}"
    );
    let mut all = String::new();
    for index in 0..zip.len() {
        zip.by_index(index).unwrap().read_to_string(&mut all).unwrap();
    }
    assert!(all.contains("refused bar not_found") && all.contains("record: sound"), "{all}");
    let folder = shop.path("").display().to_string();
    for private in ["Mustermann", "Secretlabel", "Nosuchlabel", "promised", folder.trim_end_matches('/')] {
        assert!(!all.contains(private), "{private}: {all}");
    }
    // New files only.
    assert_eq!(shop.refuses(&["doctor", "--archive", text(&archive)]), "cannot_write");
}
