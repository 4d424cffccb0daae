//! Wrong usage, bad files, bad recordings: a reason, a limit, a next step, the right exit status, nothing written.
use crate::common::{barwright, blow_samples, example, refusal, run, wav};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

/// Everything in a folder, with its contents.
fn contents(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut files: Vec<(String, Vec<u8>)> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.display().to_string(), fs::read(&path).unwrap()))
        .collect();
    files.sort();
    files
}

#[test]
fn wrong_usage_is_exit_status_2_and_help_is_0() {
    for args in [
        &["modes"][..],
        &["fly"],
        &[],
        &["listen"],
        &["next", "a", "--units", "ell"],
        &["listen", "a", "--struck", "hard"],
    ] {
        let (status, stdout, stderr) = run(args);
        assert_eq!((status, stdout.as_str()), (2, ""), "{args:?}");
        assert!(stderr.contains("Usage") || stderr.contains("--help"), "{stderr}");
    }
    let (status, _, stderr) = run(&["modes", "--json"]);
    let value: Value = serde_json::from_str(&stderr).unwrap();
    assert_eq!((status, value["error"]["code"].as_str()), (2, Some("usage")));
    assert!(value["error"]["message"].as_str().unwrap().contains("<BAR>"));
    assert_eq!(run(&["--help"]).0, 0);
    assert_eq!(run(&["--version"]).0, 0);
}

#[test]
fn a_missing_file_is_named_once() {
    for command in ["modes", "next", "check", "listen", "serve"] {
        let (status, stdout, stderr) = run(&[command, "no-such-file"]);
        assert_eq!((status, stdout.as_str()), (1, ""), "{command}");
        assert_eq!(stderr.matches("no-such-file").count(), 1, "{stderr}");
    }
}

fn bar(change: impl FnOnce(&mut Value)) -> String {
    let mut value = json!({
        "format": "barwright-bar/1", "note": "C3", "length_mm": 470, "width_mm": 62, "thickness_mm": 23, "mass_g": 600,
    });
    change(&mut value);
    value.to_string()
}

#[test]
fn bad_bar_files_are_refused_by_every_command_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let cases: Vec<(&str, String, &str, &[&str])> = vec![
        ("thin", bar(|b| b["thickness_mm"] = json!(0.1)), "out_of_range", &["thickness_mm is 0.1 mm", "3 and 80 mm"]),
        ("negative", bar(|b| b["width_mm"] = json!(-62)), "out_of_range", &["width_mm is -62 mm", "10 and 200 mm"]),
        ("key", bar(|b| b["widht_mm"] = json!(62)), "unknown_key", &["widht_mm"]),
        ("huge", bar(|_| ()).replace("600", "1e999"), "not_finite", &["mass_g"]),
        ("text", "not json".to_owned(), "not_json", &["line 1"]),
        (
            "deep",
            bar(|b| b["underside"] = json!({ "x_mm": [0, 235, 470], "thickness_mm": [23, -1, 23] })),
            "out_of_range",
            &["underside.thickness_mm[1] is -1 mm", "0.5"],
        ),
        (
            "order",
            bar(|b| b["underside"] = json!({ "x_mm": [0, 300, 200, 470], "thickness_mm": [23, 9, 9, 23] })),
            "out_of_order",
            &["underside.x_mm[2]"],
        ),
        (
            "log",
            bar(|b| b["log"] = json!([{ "cut": { "bands": [{ "from_mm": 0, "to_mm": 40, "depth_mm": 24 }] } }])),
            "contradictory_log",
            &["24 mm off where 23 mm"],
        ),
        ("mass", bar(|b| b["mass_g"] = json!(6000)), "contradictory_mass", &["6000 g"]),
    ];
    for (name, text, code, parts) in &cases {
        let path = folder.path().join(format!("{name}.bar.json"));
        fs::write(&path, text).unwrap();
        let before = contents(folder.path());
        let path = path.to_str().unwrap();
        for command in ["modes", "next", "check", "serve"] {
            let (got, message) = refusal(&[command, path]);
            assert_eq!(got, *code, "{name}: {message}");
            for part in *parts {
                assert!(message.contains(part), "{name}: \"{part}\" is not in: {message}");
            }
        }
        assert_eq!(contents(folder.path()), before, "{name}");
    }
}

#[test]
fn a_file_without_a_note_has_modes_but_no_advice() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.bar.json");
    fs::write(&path, bar(|b| drop(b.as_object_mut().unwrap().remove("note")))).unwrap();
    assert_eq!(run(&["modes", path.to_str().unwrap()]).0, 0);
    assert_eq!(refusal(&["next", path.to_str().unwrap()]).0, "no_note");
}

#[test]
fn bad_recordings_are_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let sound = blow_samples(48_000);
    let whole = wav(&sound, 48_000, 1, 16, false);
    let mut nan = sound.clone();
    nan[500] = f32::NAN;
    let silence = vec![0.0; 48_000];
    let bar = folder.path().join("a.bar.json");
    fs::copy(example("c3-rough.bar.json"), &bar).unwrap();
    let cases: Vec<(&str, Vec<u8>, &[&str])> = vec![
        ("truncated", whole[..whole.len() / 2].to_vec(), &["truncated"]),
        ("empty", Vec::new(), &["empty"]),
        ("zero", wav(&[], 48_000, 1, 16, false), &["empty"]),
        ("nan", wav(&nan, 48_000, 1, 32, true), &["not_finite"]),
        ("letter", b"Dear maker, this is no sound.".to_vec(), &["not_sound"]),
        ("silence", wav(&silence, 48_000, 1, 16, false), &["silence"]),
    ];
    for (name, bytes, codes) in &cases {
        let take = folder.path().join(format!("{name}.wav"));
        fs::write(&take, bytes).unwrap();
        let before = contents(folder.path());
        let take = take.to_str().unwrap();
        for args in [&["listen", take][..], &["listen", take, "--bar", bar.to_str().unwrap()]] {
            let (code, message) = refusal(args);
            assert!(codes.contains(&code.as_str()), "{name}: {code}: {message}");
        }
        assert_eq!(contents(folder.path()), before, "{name}");
    }
    let (code, message) = refusal(&["listen", bar.to_str().unwrap(), "--note", "H3"]);
    assert_eq!(code, "wrong_note", "{message}");
}

#[test]
fn a_refusal_as_text_is_one_line_of_sentences() {
    let path = example("c3-rough.bar.json");
    let output = barwright().args(["listen", path.to_str().unwrap()]).output().unwrap();
    let stderr = String::from_utf8(output.stderr).unwrap();
    assert_eq!(stderr.lines().count(), 1, "{stderr}");
    assert!(stderr.ends_with(".\n") && stderr.contains("not a recording that can be read"), "{stderr}");
}
