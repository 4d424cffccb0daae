//! Tubes from a plan and from the record; the instrument and the taps are made up.
use crate::common::invented_frame::invented_frame;
use crate::common::shop::{Shop, text};
use crate::common::{answer, refusal, run, wav};
use std::fs;
use strike::synth::{SynthMode, blow};

const SPEC: &str = "kind = \"marimba\"\nlowest = \"C2\"\nhighest = \"C7\"\na4_hz = 442\nwood = \"Honduras rosewood\"\n";

fn spec(shop: &Shop) -> String {
    let path = shop.path("spec.toml");
    fs::write(&path, SPEC).unwrap();
    text(&path).to_owned()
}

#[test]
fn every_note_has_its_tube_and_every_tube_is_cut() {
    let shop = Shop::new();
    let spec = spec(&shop);
    let (csv, svg) = (shop.path("tubes.csv"), shop.path("tubes.svg"));
    let told = answer(&["tubes", &spec, "--json", "--csv", text(&csv), "--picture", text(&svg)]);
    let tubes = told["tubes"].as_array().unwrap();
    assert_eq!(tubes.len(), 61);
    // C4 at A442 and 22 °C, 45 %: c/4f − 0.6115 · 25.5 mm, c by the reference table of the speed of sound between 20 and 25 °C (345.2 m/s).
    let c4 = tubes.iter().find(|tube| tube["note"] == "C4").unwrap();
    let by_hand = 345_170.0 / (4.0 * 262.81) - 0.6103 * 25.5;
    assert!((c4["stopper_mm"].as_f64().unwrap() - by_hand).abs() < 0.1, "{c4} {by_hand}");
    // Every tube, or both legs of a folded one, is cut from exactly one stock tube.
    let cut: usize = told["stock"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|s| s["tubes"].as_array().unwrap())
        .map(|t| t["cut"].as_array().unwrap().len())
        .sum();
    let legs: usize =
        tubes
            .iter()
            .map(|tube| {
                if tube["fold"].is_null() { 1 } else { 1 + usize::from(tube["fold"]["up_mm"].as_f64().unwrap() > 0.0) }
            })
            .sum();
    assert_eq!(cut, legs);
    // E–F and B–C: ten places without an accidental between the ends of the bank, at five octaves.
    assert_eq!(told["dummies"].as_array().unwrap().len(), 9);
    assert_eq!(fs::read_to_string(&csv).unwrap().lines().count(), 62);
    assert!(fs::read_to_string(&svg).unwrap().contains("61 tubes and 9 dummies"));
    let (_, words, _) = run(&["tubes", &spec]);
    for part in ["folded", "nobody has published", "eye and ear protection", "dB at first", "from memory"] {
        assert!(words.contains(part), "{part}: {words}");
    }
}

#[test]
fn a_tapped_tube_says_where_its_stopper_goes() {
    let shop = Shop::new();
    let spec = spec(&shop);
    // A stopped tube sounds its odd harmonics, each dying faster; 10 cents flat of what C4's tube sounds free at 22 °C.
    let c4 = answer(&["tubes", &spec, "--json"])["tubes"]
        .as_array()
        .unwrap()
        .iter()
        .find(|t| t["note"] == "C4")
        .cloned()
        .unwrap();
    let hz = 262.81 * (-10.0_f64 / 1200.0).exp2();
    let mode = |n: f64, decay_s: f64, amplitude: f64| SynthMode { hz: n * hz, decay_s, amplitude, phase_rad: -1.5 };
    let modes = [mode(1.0, 0.07, 0.3), mode(3.0 * 0.996, 0.03, 0.08), mode(5.0 * 0.99, 0.015, 0.03)];
    let tap = shop.path("tap.wav");
    fs::write(&tap, wav(&blow(&modes, 48_000.0, 1.2, 0.3, 0.0003, 3), 48_000, 1, 16, false)).unwrap();
    let told = answer(&["tubes", &spec, "--note", "C4", "--take", text(&tap), "--json"]);
    let expected = 10.0 / c4["cents_per_mm"].as_f64().unwrap();
    // A millimetre is 5 cents; a tap that rings 70 ms is heard to well under one.
    assert!((told["towards_mouth_mm"].as_f64().unwrap() - expected).abs() < 0.2, "{told} {expected}");
    assert!(told["sigma_mm"].as_f64().unwrap() > 0.3, "{told}");
    let words = run(&["tubes", &spec, "--note", "C4", "--hz", "261.3"]).1;
    assert!(words.contains("Move it") && words.contains("towards the mouth"), "{words}");
    assert_eq!(refusal(&["tubes", &spec, "--note", "C4", "--hz", "400"]).0, "not_this_tube");
    assert_eq!(refusal(&["tubes", &spec, "--note", "C4"]).0, "usage");
    assert_eq!(refusal(&["tubes", &spec, "--note", "C9", "--hz", "400"]).0, "no_such_note");
    let silent = shop.path("silent.wav");
    fs::write(&silent, wav(&vec![0.0; 48_000], 48_000, 1, 16, false)).unwrap();
    assert_eq!(refusal(&["tubes", &spec, "--note", "C4", "--take", text(&silent)]).0, "silence");
}

#[test]
fn stoppers_set_by_ear_teach_the_mouth() {
    let shop = Shop::new();
    let spec = spec(&shop);
    let free = answer(&["tubes", &spec, "--json"]);
    let of = |name: &str| free["tubes"].as_array().unwrap().iter().find(|t| t["note"] == name).cloned().unwrap();
    let table = shop.path("found.csv");
    let lines: Vec<String> = ["C3", "C4", "C5"]
        .iter()
        .map(|name| {
            let tube = of(name);
            // By ear the stopper stands 0.3 inner radii nearer to the mouth.
            let (inner, stopper) = (tube["inner_mm"].as_f64().unwrap(), tube["stopper_mm"].as_f64().unwrap());
            format!("{name},{inner},{},22", stopper - 0.3 * inner / 2.0)
        })
        .collect();
    fs::write(&table, format!("note,inner_mm,stopper_mm,temperature_c\n{}\n", lines.join("\n"))).unwrap();
    let told = answer(&["tubes", &spec, "--found", text(&table), "--json"]);
    assert!((told["under_bar_radii"].as_f64().unwrap() - 0.3).abs() < 1e-3, "{}", told["under_bar_radii"]);
    let words = run(&["tubes", &spec, "--found", text(&table)]).1;
    assert!(words.contains("From 3 stoppers") && !words.contains("nobody has published"), "{words}");
    fs::write(&table, "note,inner_mm\nC3,64\n").unwrap();
    assert_eq!(refusal(&["tubes", &spec, "--found", text(&table)]).0, "not_a_table");
}

#[test]
fn an_instrument_of_the_record_has_tubes_too_and_wrong_wishes_are_told() {
    let frame = invented_frame();
    let home = text(frame.folder.path()).to_owned();
    drop(frame.desk);
    let told = answer(&["--workshop", &home, "tubes", "--instrument", "invented marimba", "--json"]);
    assert_eq!(told["tubes"].as_array().unwrap().len(), 61);
    let shop = Shop::new();
    let spec = spec(&shop);
    for (wrong, code) in [
        (["--temperature", "60"], "out_of_range"),
        (["--coldest", "25"], "out_of_range"),
        (["--sizes", "900"], "out_of_range"),
        (["--stock-length", "500"], "tube_too_long"),
        (["--room", "300"], "tube_too_long"),
        (["--arch", "700"], "usage"),
        (["--ring", "1,2"], "out_of_range"),
        (["--kerf", "NaN"], "out_of_range"),
    ] {
        assert_eq!(refusal(&[&["tubes", &spec][..], &wrong].concat()).0, code, "{wrong:?}");
    }
}
