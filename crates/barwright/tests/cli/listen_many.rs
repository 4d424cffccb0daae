//! `listen` with coded takes, pictures and folders.
use crate::common::{answer, blow_samples, refusal, run, wav};
use std::path::Path;

fn reference(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../reference/coded").join(name)
}

/// A folder with takes good and bad, and a file that is none.
fn shop() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, bytes: &[u8]| std::fs::write(folder.path().join(name), bytes).unwrap();
    write("a.wav", &wav(&blow_samples(48_000), 48_000, 1, 24, false));
    write("b.ogg", &std::fs::read(reference("blow.ogg")).unwrap());
    write("=c.wav", &wav(&[0.0; 48_000], 48_000, 1, 16, false));
    write("d.MP3", b"no sound");
    write("notes.txt", b"no take");
    folder
}

#[test]
fn a_folder_becomes_a_table_and_bad_takes_do_not_stop_it() {
    let folder = shop();
    let path = folder.path().to_str().unwrap();
    let (status, stdout, stderr) = run(&["listen", "--folder", path, "--note", "C4"]);
    assert_eq!(status, 0, "{stderr}");
    let mut reader = csv::Reader::from_reader(stdout.as_bytes());
    let head = reader.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let cell = |row: usize, name: &str| rows[row][head.iter().position(|h| h == name).unwrap()].to_owned();
    let files: Vec<String> = (0..rows.len()).map(|row| cell(row, "file")).collect();
    assert_eq!(files, ["'=c.wav", "a.wav", "b.ogg", "d.MP3"]);
    assert_eq!(cell(0, "result"), "refused: silence");
    assert_eq!(cell(3, "result"), "refused: not_sound");
    for row in [1, 2] {
        assert_eq!(cell(row, "result"), "heard");
        let hz: f64 = cell(row, "bending_1_hz").parse().unwrap();
        // A cent is 0.15 Hz here.
        assert!((hz - 261.6).abs() < 0.15, "{hz}");
    }
    assert!(stderr.starts_with("Heard 2 of 4 takes.\n=c.wav: "), "{stderr}");
    assert!(stderr.ends_with("1 other files in the folder were not read.\n"), "{stderr}");
}

#[test]
fn the_table_goes_into_a_new_file_and_the_json_holds_the_same() {
    let folder = shop();
    let path = folder.path().to_str().unwrap();
    let csv = folder.path().join("table.csv");
    let (status, stdout, _) = run(&["listen", "--folder", path, "--csv", csv.to_str().unwrap()]);
    assert_eq!(status, 0);
    assert!(stdout.starts_with("Heard 2 of 4 takes.\n") && stdout.contains("Written: "), "{stdout}");
    assert_eq!(std::fs::read_to_string(&csv).unwrap().lines().count(), 5);
    let (code, _) = refusal(&["listen", "--folder", path, "--csv", csv.to_str().unwrap()]);
    assert_eq!(code, "cannot_write");
    let value = answer(&["listen", "--folder", path, "--json"]);
    assert_eq!(
        (value["heard"].as_u64(), value["refused"].as_u64(), value["other_files"].as_u64()),
        (Some(2), Some(2), Some(2))
    );
    assert_eq!(value["takes"][0]["error"]["code"], "silence");
    assert_eq!(value["takes"][1]["file"], "a.wav");
    let empty = tempfile::tempdir().unwrap();
    assert_eq!(refusal(&["listen", "--folder", empty.path().to_str().unwrap()]).0, "no_recordings");
}

#[test]
fn pictures_are_new_files_one_for_each_take() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("take.svg");
    let takes = [reference("blow.m4a"), reference("blow.flac")];
    let takes: Vec<&str> = takes.iter().map(|path| path.to_str().unwrap()).collect();
    let one = ["listen", takes[0], "--note", "C4", "--picture", out.to_str().unwrap()];
    let (status, stdout, stderr) = run(&one);
    assert_eq!(status, 0, "{stderr}");
    assert!(stdout.contains("Written: "), "{stdout}");
    let svg = std::fs::read_to_string(&out).unwrap();
    for part in ["Take blow.m4a", "blows at 0.3", "bending 2, 1046.5", "fall that was fitted", "noise floor"] {
        assert!(svg.contains(part), "no \"{part}\" in the picture");
    }
    let (code, _) = refusal(&one);
    assert_eq!(code, "cannot_write", "nothing is written over");
    let (status, ..) = run(&["listen", takes[0], takes[1], "--note", "C4", "--picture", out.to_str().unwrap()]);
    assert_eq!(status, 0);
    assert!(folder.path().join("take-1.svg").exists() && folder.path().join("take-2.svg").exists());
}
