//! Everything out and in again.
use crate::workshop::common::*;
use crate::workshop::everything::{KINDS, SOUND, busy_workshop};
use proptest::prelude::*;
use records::workshop::{ArchiveLimits, BarFilter, Kind, PhotoFormat, Uid, Workshop, name_of};
use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::Path;
use zip::write::SimpleFileOptions;

pub fn member(archive: &Path, name: &str) -> String {
    let mut archive = zip::ZipArchive::new(File::open(archive).unwrap()).unwrap();
    let mut text = String::new();
    archive.by_name(name).unwrap().read_to_string(&mut text).unwrap();
    text
}

pub fn export(shop: &Workshop, path: &Path) -> String {
    shop.export(path, at(500), |_, _| ()).unwrap();
    member(path, "events.jsonl")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]
    #[test]
    fn what_goes_out_comes_in_again_without_loss(
        steps in proptest::collection::vec((0..KINDS, 0.0_f64..0.4), 0..30),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let shop = busy_workshop(&folder.path().join("a"), &steps);
        let out = export(&shop, &folder.path().join("a.zip"));
        let mut other = Workshop::open(&restored(folder.path()), at(0)).unwrap();
        let report = other.import(&folder.path().join("a.zip"), false, ArchiveLimits::default()).unwrap();
        prop_assert_eq!(report.events_known, 0);
        // The other workshop has a beginning of its own; all the rest must be the same, to the byte.
        let back = export(&other, &folder.path().join("b.zip"));
        prop_assert_eq!(back.lines().skip(1).collect::<Vec<_>>(), out.lines().collect::<Vec<_>>());
        prop_assert_eq!(other.bars(&BarFilter::default()).unwrap(), shop.bars(&BarFilter::default()).unwrap());
        sound(&other);
    }
}

/// An empty workshop to import into.
fn restored(folder: &Path) -> std::path::PathBuf {
    let home = folder.join("b");
    drop(new_workshop(&home));
    home
}

#[test]
fn a_dry_run_keeps_nothing_and_a_second_import_brings_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let shop = busy_workshop(&folder.path().join("a"), &[(15, 0.1), (13, 0.2), (19, 0.1)]);
    let take = name_of(SOUND);
    let archive = folder.path().join("a.zip");
    export(&shop, &archive);
    let mut other = Workshop::open(&restored(folder.path()), at(0)).unwrap();
    let would = other.import(&archive, true, ArchiveLimits::default()).unwrap();
    assert!(other.bars(&BarFilter::default()).unwrap().is_empty());
    assert!(other.takes().read(&take).is_err());
    assert!(other.photos().read(&name_of(PICTURE), PhotoFormat::Jpeg).is_err());
    let did = other.import(&archive, false, ArchiveLimits::default()).unwrap();
    assert_eq!(would, did);
    assert_eq!(other.takes().read(&take).unwrap(), SOUND);
    assert_eq!(
        (did.photos_new, other.photos().read(&name_of(PICTURE), PhotoFormat::Jpeg).unwrap().as_slice()),
        (1, PICTURE)
    );
    let again = other.import(&archive, false, ArchiveLimits::default()).unwrap();
    assert_eq!((again.events_new, again.things_new, again.takes_new, again.photos_new), (0, 0, 0, 0));
    assert_eq!(again.events_known, did.events_new);
}

#[test]
fn two_computers_meet_what_only_one_has_is_added_what_both_changed_is_left() {
    let folder = tempfile::tempdir().unwrap();
    let mut here = new_workshop(&folder.path().join("here"));
    let (one, two) = (enter(&mut here, "1"), enter(&mut here, "2"));
    let archive = |name: &str| folder.path().join(name);
    export(&here, &archive("start.zip"));
    let mut there = Workshop::open(&restored(folder.path()), at(0)).unwrap();
    there.import(&archive("start.zip"), false, ArchiveLimits::default()).unwrap();
    add(&mut there, one, cut(0.1), 10);
    add(&mut there, two, cut(0.2), 11);
    add(&mut here, two, cut(0.3), 12);
    export(&there, &archive("there.zip"));
    let report = here.import(&archive("there.zip"), false, ArchiveLimits::default()).unwrap();
    assert_eq!(report.diverged, [two]);
    assert_eq!(here.history(one).unwrap().events().len(), 2);
    assert!((state(&here, two).file.outline().thinnest().1 - 22.7).abs() < 1e-9, "as it is here");
    sound(&here);
}

#[test]
fn hostile_and_foreign_archives_are_refused_and_change_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(&folder.path().join("a"));
    let bar = enter(&mut shop, "1");
    let good = folder.path().join("good.zip");
    export(&shop, &good);
    let events = |shop: &Workshop| shop.history(bar).unwrap().events().len();
    let code =
        |shop: &mut Workshop, path: &Path, limits: ArchiveLimits| shop.import(path, false, limits).unwrap_err().code;
    let text = folder.path().join("text.zip");
    fs::write(&text, "no archive").unwrap();
    assert_eq!(code(&mut shop, &text, ArchiveLimits::default()), "not_an_archive");
    let small = ArchiveLimits { event: 50, ..ArchiveLimits::default() };
    assert_eq!(code(&mut shop, &good, small), "too_large");
    let manifest = member(&good, "manifest.json");
    let with = |manifest: &str, events: &str| {
        let path = folder.path().join("made.zip");
        let mut archive = zip::ZipWriter::new(File::create(&path).unwrap());
        for (name, text) in [("manifest.json", manifest), ("events.jsonl", events)] {
            archive.start_file(name, SimpleFileOptions::default()).unwrap();
            archive.write_all(text.as_bytes()).unwrap();
        }
        archive.finish().unwrap();
        path
    };
    let newer = with(&manifest.replace("workshop/1", "workshop/2"), "");
    assert_eq!(code(&mut shop, &newer, ArchiveLimits::default()), "newer_file");
    assert_eq!(code(&mut shop, &with(&manifest, "{\"thing\": 3}"), ArchiveLimits::default()), "damaged");
    // A bar that carries a label which another bar has here.
    let twin = member(&good, "events.jsonl").replace(&bar.to_string(), &Uid::fresh().to_string());
    let begun = twin.lines().nth(1).unwrap();
    let event: serde_json::Value = serde_json::from_str(begun).unwrap();
    let renamed = begun.replace(event["event"].as_str().unwrap(), &Uid::fresh().to_string());
    assert_eq!(code(&mut shop, &with(&manifest, &renamed), ArchiveLimits::default()), "label_taken");
    assert_eq!(events(&shop), 1);
    assert_eq!(shop.list(Kind::Instrument).unwrap().len(), 0);
    sound(&shop);
}

/// Read by programs that know nothing of barwright: Python's zipfile, json and csv.
#[test]
fn an_independent_reader_understands_the_archive() {
    let folder = tempfile::tempdir().unwrap();
    let shop = busy_workshop(&folder.path().join("a"), &[(15, 0.1), (13, 0.2), (25, 0.3)]);
    let archive = folder.path().join("a.zip");
    export(&shop, &archive);
    let script = "
import csv, io, json, sys, zipfile
z = zipfile.ZipFile(sys.argv[1])
assert z.testzip() is None
m = json.loads(z.read('manifest.json'))
events = [json.loads(line) for line in z.read('events.jsonl').decode().splitlines()]
assert m['format'] == 'barwright-workshop/1' and m['events'] == len(events), m
bars = list(csv.DictReader(io.StringIO(z.read('bars.csv').decode())))
readings = list(csv.DictReader(io.StringIO(z.read('readings.csv').decode())))
cuts = list(csv.DictReader(io.StringIO(z.read('cuts.csv').decode())))
assert [b['label'] for b in bars] == [\"'=117\"], bars
print(bars[0]['note'], len(readings), float(readings[0]['bending_1_hz']), float(cuts[0]['depth_mm']))
";
    let Ok(out) = std::process::Command::new("python3").arg("-c").arg(script).arg(&archive).output() else {
        assert!(std::env::var_os("BARWRIGHT_REQUIRE_READERS").is_none(), "python3 is required here");
        eprintln!("skipped: no python3 here");
        return;
    };
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    assert_eq!(String::from_utf8_lossy(&out.stdout).trim(), "C3 1 400.2 0.11");
}
