//! A folder of recordings named after bars: shown first, entered with --yes, kept without loss. All invented.
use crate::common::shop::{Shop, arched_c4, text};
use crate::common::{BAR_HZ, blow_samples, wav};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Command;

fn shop_with_recordings() -> Shop {
    let shop = Shop::new();
    shop.says(&["instrument", "add", "First order", "--a4", "440"]);
    let file = shop.path("c4.bar.json");
    arched_c4(&file);
    shop.says(&["bar", "117", "new", "--from", text(&file)]);
    shop.says(&["bar", "117", "give", "C4", "--to", "First order"]);
    shop.says(&["bar", "118", "new", "--from", text(&file)]);
    let folder = shop.path("takes");
    fs::create_dir(&folder).unwrap();
    let sound = wav(&blow_samples(48_000), 48_000, 1, 16, false);
    let other = wav(&blow_samples(44_100), 44_100, 1, 16, false);
    fs::write(folder.join("C4 quarter oiled.wav"), &sound).unwrap();
    fs::write(folder.join("118.wav"), &other).unwrap();
    fs::write(folder.join("G4.wav"), &sound).unwrap();
    fs::write(folder.join("hello.wav"), &sound).unwrap();
    fs::write(folder.join("118 second.wav"), &sound[..400]).unwrap();
    fs::write(folder.join("list.txt"), "not a sound").unwrap();
    shop
}

fn lines(value: &Value) -> Vec<(String, String)> {
    let line = |line: &Value| {
        let told = line["error"]["code"].as_str().or(line["bar"]["label"].as_str()).unwrap();
        (line["file"].as_str().unwrap().to_owned(), told.to_owned())
    };
    value["recordings"].as_array().unwrap().iter().map(line).collect()
}

#[test]
fn a_folder_is_shown_first_and_entered_with_yes_each_recording_whole_or_not_at_all() {
    let shop = shop_with_recordings();
    let folder = shop.path("takes");
    let shown = shop.json(&["import", text(&folder), "--temperature", "21,5"]);
    let told = lines(&shown);
    let told: Vec<(&str, &str)> = told.iter().map(|(file, what)| (file.as_str(), what.as_str())).collect();
    assert_eq!(told[0].0, "118 second.wav");
    assert!(told[0].1 != "118", "a broken file is no reading: {told:?}");
    let rest =
        [("118.wav", "118"), ("C4 quarter oiled.wav", "117"), ("G4.wav", "not_found"), ("hello.wav", "no_bar_named")];
    assert_eq!(told[1..], rest);
    assert_eq!((&shown["dry_run"], &shown["good"], &shown["other_files"]), (&true.into(), &2.into(), &1.into()));
    let c4 = &shown["recordings"][2];
    assert_eq!((&c4["struck"], &c4["unused"][0]), (&"quarter".into(), &"oiled".into()));
    assert!((c4["heard"]["hz"]["bending"][0].as_f64().unwrap() - BAR_HZ[0]).abs() < 0.1, "{c4}");
    let entries = |label: &str| shop.json(&["bar", label, "history"])["history"].as_array().unwrap().clone();
    assert_eq!((entries("117").len(), entries("118").len()), (2, 1), "a dry run keeps nothing");
    assert!(!shop.path("shop").join("takes").exists(), "not even sound");

    let entered = shop.says(&["import", text(&folder), "--temperature", "21,5", "--yes"]);
    assert!(entered.contains("2 of 5 recordings are entered. 1 other files lie there."), "{entered}");
    assert!(entered.contains("not used of its name: oiled") && entered.contains("No bar serves G4"), "{entered}");
    let reading = &entries("117")[2]["entry"];
    assert_eq!(reading["what"]["heard"]["struck"], "quarter");
    assert_eq!(
        (&reading["what"]["heard"]["heard"]["temperature_c"], &reading["climate"]["temperature_c"]),
        (&21.5.into(), &21.5.into())
    );
    assert_eq!(reading["what"]["heard"]["takes"].as_array().unwrap().len(), 1);
    shop.says(&["check"]);

    // Once more: what is there is not entered twice.
    let again = shop.json(&["import", text(&folder), "--yes"]);
    assert_eq!(again["good"], 0);
    assert_eq!(lines(&again)[1].1, "known_already");
    assert_eq!(entries("117").len(), 3);
}

#[test]
fn a_recording_older_than_the_last_cut_is_not_taken_for_a_new_reading() {
    let shop = shop_with_recordings();
    shop.says(&["bar", "C4", "cut", "0-20:0.1"]);
    let shown = shop.json(&["import", text(&shop.path("takes")), "--yes"]);
    assert_eq!(lines(&shown)[2].1, "before_last_cut");
    assert_eq!(shown["good"], 1);
}

/// The archive's sound, unpacked by Python's zipfile and decoded by the reference decoder, is the recording's own.
#[test]
fn the_exported_takes_are_decoded_by_the_reference_decoder_sample_by_sample() {
    let shop = shop_with_recordings();
    shop.says(&["import", text(&shop.path("takes")), "--yes"]);
    let archive = shop.path("all.zip");
    shop.says(&["export", text(&archive)]);
    let out = shop.path("out");
    let script = "import sys, zipfile; zipfile.ZipFile(sys.argv[1]).extractall(sys.argv[2])";
    if !ran(Command::new("python3").arg("-c").arg(script).arg(&archive).arg(&out)) {
        return;
    }
    let history = shop.json(&["bar", "117", "history"]);
    let name = history["history"][2]["entry"]["what"]["heard"]["takes"][0].as_str().unwrap().to_owned();
    let (flac, raw) = (out.join("takes").join(format!("{name}.flac")), shop.path("take.raw"));
    let decode = ["-d", "-s", "--force-raw-format", "--endian=little", "--sign=signed", "-o"];
    if !ran(Command::new("flac").args(decode).arg(&raw).arg(&flac)) {
        return;
    }
    let kept: Vec<i32> = samples_of_24_bits(&raw);
    let mut original = hound::WavReader::open(shop.path("takes").join("C4 quarter oiled.wav")).unwrap();
    // 16 bits are kept as 24, exactly: eight more zeros.
    let wanted: Vec<i32> = original.samples::<i32>().map(|sample| sample.unwrap() << 8).collect();
    assert_eq!(kept.len(), wanted.len());
    assert!(wanted.iter().any(|sample| *sample != 0), "silence would prove nothing");
    assert_eq!(kept, wanted);
}

/// False if the program is missing, which only a maker's own machine may do.
fn ran(command: &mut Command) -> bool {
    match command.output() {
        Ok(output) => {
            assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
            true
        }
        Err(error) => {
            assert!(std::env::var_os("BARWRIGHT_REQUIRE_READERS").is_none(), "{command:?} is required here: {error}");
            eprintln!("skipped: {command:?}: {error}");
            false
        }
    }
}

fn samples_of_24_bits(path: &Path) -> Vec<i32> {
    let bytes = fs::read(path).unwrap();
    let sample = |b: &[u8]| i32::from_le_bytes([0, b[0], b[1], b[2]]) >> 8;
    bytes.chunks_exact(3).map(sample).collect()
}
