//! Climate: the invented bars of `reference/climate_by_numpy.json` in a record, a logger's table, another hall, a warm bar.
use crate::common::shop::{Shop, text};
use crate::common::{answer, run};
use jiff::{Timestamp, ToSpan};
use records::BarFile;
use records::workshop::{Body, Climate, EnteredRecord, Entry, Kind, Workshop};
use serde_json::{Value, json};
use std::fs;

/// The record of a shop that keeps two reference bars.
fn shop_with_reference_bars() -> (tempfile::TempDir, Value) {
    let file: Value = serde_json::from_str(include_str!("../../../../reference/climate_by_numpy.json")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let start: Timestamp = "2027-01-01T08:00:00Z".parse().unwrap();
    let at = |day: &Value| start + ((day.as_f64().unwrap() * 24.0) as i64).hours();
    let mut workshop = Workshop::create(folder.path(), "Invented shop", start).unwrap();
    let number = |value: &Value| value.as_f64().unwrap();
    let thing = workshop.list(Kind::Workshop).unwrap()[0].uid;
    let blank = br#"{"format":"barwright-bar/1","length_mm":350,"width_mm":50,"thickness_mm":20}"#;
    workshop
        .write(|step| {
            for line in file["log"].as_array().unwrap() {
                let climate = Climate { temperature_c: Some(number(&line[1])), humidity_pct: Some(number(&line[2])) };
                step.add(thing, Body::Climate(climate).into(), at(&line[0]))?;
            }
            for bar in [0, 1] {
                let entered = EnteredRecord {
                    label: format!("R{bar}"),
                    board: None,
                    reference: true,
                    bar: BarFile::from_bytes(blank).unwrap().record().clone(),
                };
                let uid = step.begin(Kind::Bar, Body::Entered(Box::new(entered)).into(), start)?;
                for line in file["readings"].as_array().unwrap().iter().filter(|line| line["bar"] == bar) {
                    let hz = 440.0 * (number(&line["cents"]) / 1200.0).exp2();
                    let heard = json!({ "heard": { "heard": {
                        "hz": { "bending": [hz] }, "sigma_cents": 0.3, "temperature_c": line["temperature_c"] } } });
                    let body: Body = serde_json::from_value(heard).unwrap();
                    step.add(uid, Entry::from(body), at(&line["day"]))?;
                }
            }
            Ok(())
        })
        .unwrap();
    drop(workshop);
    (folder, file)
}

#[test]
fn reference_bars_teach_what_numpy_finds_in_them() {
    let (folder, file) = shop_with_reference_bars();
    let told = answer(&["--workshop", text(folder.path()), "climate", "--json"]);
    let learnt = &told["reference_bars"]["learnt"];
    for (ours, numpys) in [("per_c", "per_c"), ("per_percent_moisture", "per_moisture")] {
        let near =
            |key: &str, at: usize| (learnt[ours][key].as_f64().unwrap() - file[numpys][at].as_f64().unwrap()).abs();
        // The answer has three decimals.
        assert!(near("cents", 0) < 6e-4 && near("sigma", 1) < 6e-4, "{learnt}");
    }
    assert_eq!(told["coefficients"]["per_c"]["from"], "your reference bars");
    let words = run(&["--workshop", text(folder.path()), "climate"]).1;
    assert!(words.contains("32 readings of 2 reference bars") && words.contains("15 days"), "{words}");
    // What the shop learnt is what a hall is reckoned with.
    let hall =
        ["--workshop", text(folder.path()), "climate", "hall", "--reference", "22,45", "--there", "14", "--json"];
    let per_c = told["coefficients"]["per_c"]["cents"].as_f64().unwrap();
    let soon = answer(&hall)["bars"]["soon"]["cents"].as_f64().unwrap();
    assert!((soon + 8.0 * per_c).abs() < 0.01, "{soon} {per_c}");
}

#[test]
fn air_is_entered_by_hand_and_from_a_logger_once() {
    let shop = Shop::new();
    let words = shop.says(&["climate"]);
    assert!(words.contains("never measured") && words.contains("No reference bar"), "{words}");
    shop.says(&["instrument", "add", "Hall marimba", "--a4", "442", "--temperature", "22", "--humidity", "45"]);
    let log = shop.path("log.csv");
    fs::write(&log, "time,temperature_c,humidity_percent\n2026-11-01T08:00,20.5,41\n2026-11-02T08:00Z,19,38\n")
        .unwrap();
    assert!(shop.says(&["climate", "log", text(&log)]).contains("2 readings"));
    assert!(
        shop.says(&["climate", "log", text(&log)]).contains("0 readings of the air are entered; 2 were there already")
    );
    shop.says(&["climate", "now", "14", "--humidity", "40"]);
    let told = shop.json(&["climate"]);
    assert_eq!((told["logged"].as_u64(), told["air"]["temperature_c"].as_f64()), (Some(3), Some(14.0)));
    // Generic wood, −1.5 ± 0.5 cents a degree: 8 °C colder.
    let reads = &told["instruments"][0]["reads_today"]["soon"];
    assert!(
        (reads["cents"].as_f64().unwrap() - 12.0).abs() < 1e-9 && (reads["sigma"].as_f64().unwrap() - 4.0).abs() < 1e-9
    );
    assert_eq!(shop.refuses(&["climate", "now", "72"]), "out_of_range");
    for (table, code) in [
        ("time,temperature_c,humidity_percent\nyesterday,20,40\n", "not_a_time"),
        ("time,temperature_c,humidity_percent\n2026-11-02T08:00,warm,40\n", "not_a_table"),
        ("time,temperature_c,humidity_percent\n2026-11-02T08:00,20,140\n", "out_of_range"),
        ("time,temperature_c,humidity_percent\n", "not_a_table"),
    ] {
        fs::write(&log, table).unwrap();
        assert_eq!(shop.refuses(&["climate", "log", text(&log)]), code, "{table}");
    }
    // A table with one bad line enters nothing.
    assert_eq!(shop.json(&["climate"])["logged"], 3);
}

#[test]
fn another_hall_moves_stoppers_not_bars_and_a_warm_bar_waits() {
    let shop = Shop::new();
    let spec = shop.path("spec.toml");
    fs::write(&spec, "kind = \"marimba\"\nlowest = \"C3\"\nhighest = \"C5\"\na4_hz = 442\nwood = \"padauk\"\n")
        .unwrap();
    let told = shop.json(&["climate", "hall", "--spec", text(&spec), "--there", "14,40"]);
    assert_eq!(told["stoppers"].as_array().unwrap().len(), 25);
    let first = told["stoppers"][0]["soon_towards_mouth_mm"].as_f64().unwrap();
    // C3: bars +12, tubes −25: 37 cents at 2.6 a millimetre.
    assert!((first - 37.0 / 2.6).abs() < 0.4, "{first}");
    let words = shop.says(&["climate", "hall", "--spec", text(&spec), "--there", "14,40"]);
    assert!(words.contains("do not cut the bars") && words.contains("towards the mouth"), "{words}");
    assert_eq!(shop.refuses(&["climate", "hall", "--there", "14"]), "no_reference");
    let cool = shop.json(&["climate", "cool", "--thickness", "20", "--density", "1000", "--warmer", "8"]);
    let (time, wait) = (cool["time_constant_min"].as_f64().unwrap(), cool["wait_min"].as_f64().unwrap());
    // 12 cents flat, half a cent allowed: e^(−t/τ) = 1/24; minutes have one decimal.
    assert!((wait - time * 24.0_f64.ln()).abs() < 0.3, "{cool}");
    let words = shop.says(&["climate", "cool", "--warmer", "8", "--read", "0:-9,6:-7,15:-4.5"]);
    assert!(words.contains("Put it back") && words.contains("By its own readings"), "{words}");
    assert_eq!(shop.refuses(&["climate", "cool", "--read", "0:-9"]), "too_few_readings");
}
