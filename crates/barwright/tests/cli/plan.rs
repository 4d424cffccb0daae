//! `plan`: five lines to a whole instrument, impossible wishes, and files that say something wrong.
use crate::common::shop::{Shop, text};
use crate::common::{answer, refusal, run};
use serde_json::Value;

fn written(shop: &Shop, toml: &str) -> String {
    let path = shop.path("spec.toml");
    std::fs::write(&path, toml).unwrap();
    text(&path).to_owned()
}

const FIVE: &str = "kind = \"marimba\"\nlowest = \"C4\"\nhighest = \"C6\"\na4_hz = 442\nwood = \"Honduras rosewood\"\n";

fn bar<'a>(plan: &'a Value, note: &str) -> &'a Value {
    plan["bars"].as_array().unwrap().iter().find(|bar| bar["note"] == note).unwrap()
}

#[test]
fn five_lines_make_a_plan() {
    let shop = Shop::new();
    let spec = written(&shop, FIVE);
    let (csv, picture) = (shop.path("bars.csv"), shop.path("rails.svg"));
    let plan = answer(&["plan", &spec, "--json", "--csv", text(&csv), "--picture", text(&picture)]);
    assert_eq!((plan["bars"].as_array().unwrap().len(), &plan["possible"]), (25, &true.into()));
    // Equal temperament (ISO 16) over A4 = 442 Hz.
    let hz = |note: &str| bar(&plan, note)["hz"].as_f64().unwrap();
    assert!((hz("A4") - 442.0).abs() < 1e-9 && (hz("C6") - 442.0 * 2.0_f64.powf(15.0 / 12.0)).abs() < 5.1e-4);
    // A row is its widths and the gaps between them, half an inch each.
    let naturals: Vec<&Value> =
        plan["bars"].as_array().unwrap().iter().filter(|bar| bar["row"] == "naturals").collect();
    let widths: f64 = naturals.iter().map(|bar| bar["width_mm"].as_f64().unwrap()).sum();
    // Fifteen widths rounded to a tenth.
    assert!((plan["rows"][0]["overall_mm"].as_f64().unwrap() - widths - 14.0 * 12.7).abs() < 0.8, "{}", plan["rows"]);
    for made in plan["bars"].as_array().unwrap().iter().map(|bar| &bar["made"]) {
        assert!(made["thinnest_mm"].as_f64().unwrap() >= 5.0 - 0.005, "{made}");
    }
    let table = std::fs::read_to_string(&csv).unwrap();
    assert_eq!(table.lines().count(), 26);
    assert!(std::fs::read_to_string(&picture).unwrap().contains("<svg"));
    assert_eq!(refusal(&["plan", &spec, "--csv", text(&csv)]).0, "cannot_write");
    let (_, words, _) = run(&["plan", &spec, "--units", "mm"]);
    for part in
        ["C4 to C6, 25 bars, A4 442 Hz at 22 °C", "Every bar can be made", "board feet", "(from memory)", "trade rules"]
    {
        assert!(words.contains(part), "{part}: {words}");
    }
}

#[test]
fn what_cannot_be_is_told_with_what_would_make_it_possible() {
    let shop = Shop::new();
    let limits = "longest_blank_mm = 300\nmost_overall_mm = 300\n";
    let spec = written(&shop, &(FIVE.replace("C4", "C2").replace("C6", "G2") + limits));
    let plan = answer(&["plan", &spec, "--json"]);
    assert_eq!(plan["possible"], false);
    let told = plan["impossible"].to_string();
    assert!(told.contains("blanks of 300 mm") && told.contains("Possible with blanks of"), "{told}");
    assert!(told.contains("300 mm are allowed"), "{told}");
}

#[test]
fn a_first_specification_is_written_read_and_never_written_over() {
    let shop = Shop::new();
    let out = shop.path("first.toml");
    let new = ["plan", "--new", "xylophone", "F4", "C5", "--a4", "442", "--out", text(&out)];
    assert_eq!(run(&new).0, 0);
    assert_eq!(refusal(&new).0, "cannot_write");
    let first = std::fs::read_to_string(&out).unwrap();
    assert!(first.contains("from memory") && first.contains("common practice, no source"), "{first}");
    let plan = answer(&["plan", text(&out), "--json"]);
    assert_eq!(
        (plan["bars"].as_array().unwrap().len(), &plan["bars"][0]["ratios"]),
        (8, &serde_json::json!([1.0, 3.0]))
    );
    // Every line that is only a remark is one the reader takes.
    let keys = first.lines().filter_map(|line| line.strip_prefix("# ")).filter(|line| {
        line.split_once(" = ")
            .is_some_and(|(key, _)| key.chars().all(|c| c.is_ascii_lowercase() || "_0123456789".contains(c)))
    });
    let own = ["density_kg_m3", "e_l_gpa"];
    let all: Vec<&str> = keys.filter(|line| !own.iter().any(|key| line.starts_with(key))).collect();
    assert_eq!(all.len(), 13, "{all:?}");
    let bare =
        FIVE.lines().map(str::to_owned).chain(all.iter().map(|line| (*line).to_owned())).collect::<Vec<_>>().join("\n");
    let plan = answer(&["plan", &written(&shop, &bare), "--json"]);
    assert_eq!(plan["bars"].as_array().unwrap().len(), 25);
    assert_eq!(refusal(&["plan", "--new", "marimba", "C3", "C5", "--a4", "nan"]).0, "out_of_range");
    assert_eq!(refusal(&["plan", "--new", "marimba", "C5", "C3"]).0, "out_of_range");
    for (kind, low) in [("marimba\"", "C3"), ("marimba", "H3"), ("harp", "C3")] {
        assert_ne!(run(&["plan", "--new", kind, low, "C5"]).0, 0);
    }
}

#[test]
fn what_is_wrong_is_named() {
    let shop = Shop::new();
    let wrong = |more: &str| refusal(&["plan", &written(&shop, &format!("{FIVE}{more}\n"))]);
    for (more, code, part) in [
        ("gap = 12", "not_a_specification", "line 6: unknown field `gap`"),
        ("a4_hz = 440", "not_a_specification", "duplicate key"),
        ("gap_mm = -3", "out_of_range", "gap is -3"),
        ("min_thickness_mm = 0.5", "out_of_range", "min_thickness_mm is 0.5 mm"),
        ("most_overall_mm = nan", "out_of_range", "most_overall_mm"),
        ("density_kg_m3 = 900", "wood_twice", "go with \"generic hardwood\""),
        ("modes = [{ up_to = \"C8\", ratios = [1, 10, 4] }]", "wrong_ratios", "cannot be tuned"),
        ("modes = [{ up_to = \"C5\", ratios = [1, 4] }]", "no_modes", "no tuned modes are given for C♯5"),
        ("length = { law = \"straight\", lowest_mm = 900 }", "not_a_specification", "highest_mm"),
        ("length = { law = \"constant\", mm = 9000 }", "out_of_range", "length of C4"),
        ("width = { law = \"usual\", factor = nan }", "out_of_range", "width of C4"),
    ] {
        let (found, message) = wrong(more);
        assert!(found == code && message.to_lowercase().contains(&part.to_lowercase()), "{more}: {found}: {message}");
    }
    let spec = written(&shop, &FIVE.replace("Honduras rosewood", "moonwood"));
    assert_eq!(refusal(&["plan", &spec]).0, "unknown_wood");
    assert_eq!(refusal(&["plan", text(&shop.path("none.toml"))]).0, "unreadable");
}

#[test]
fn better_sizes_are_told_with_their_cost_and_written_beside_the_makers_own_words() {
    let shop = Shop::new();
    // Lengths with a hump in the middle: no straight rails lie under their nodes.
    let hump = "[length]\nlaw = \"listed\"\nsizes = [{ note = \"C3\", mm = 470 }, { note = \"F#3\", mm = 441.7 }, { note = \"C4\", mm = 365 }]\n";
    let own = FIVE.replace("C4", "C3").replace("C6", "C4") + "gap_mm = 13.5   # felt and post\n" + hump;
    let (spec, out) = (written(&shop, &own), shop.path("better.toml"));
    let (_, told, stderr) = run(&["plan", &spec, "--better", "--out", text(&out)]);
    assert!(told.contains("Better sizes, and what they cost") && told.contains("straight rails"), "{told} {stderr}");
    let toml = std::fs::read_to_string(&out).unwrap();
    assert!(toml.contains("gap_mm = 13.5   # felt and post") && toml.contains("law = \"listed\""), "{toml}");
    assert!(!toml.contains("441.7"), "{toml}");
    // The written specification is the plan that was told.
    let before = answer(&["plan", &spec, "--json"]);
    let after = answer(&["plan", text(&out), "--json"]);
    let beyond = |plan: &Value| {
        let rows = plan["rows"].as_array().unwrap();
        rows.iter().map(|row| row["beyond_tolerance"].as_array().unwrap().len()).sum::<usize>()
    };
    assert!(beyond(&after) < beyond(&before), "{} {}", beyond(&after), beyond(&before));
    let better = answer(&["plan", &spec, "--better", "--json"]);
    assert_eq!(better["plan"]["bars"][0]["length_mm"], after["bars"][0]["length_mm"]);
    assert!(!better["traded"].as_array().unwrap().is_empty() && better["toml"].as_str() == Some(toml.as_str()));
    assert_eq!(refusal(&["plan", &spec, "--better", "--out", text(&out)]).0, "cannot_write");
    assert_eq!(refusal(&["plan", &spec, "--out", text(&out)]).0, "usage");
}

#[test]
fn listed_sizes_must_rise_and_name_notes() {
    let shop = Shop::new();
    let plan = |sizes: &str| {
        let spec = written(&shop, &format!("{FIVE}length = {{ law = \"listed\", sizes = [{sizes}] }}\n"));
        refusal(&["plan", &spec])
    };
    let (code, message) = plan("{ note = \"C5\", mm = 300 }, { note = \"C4\", mm = 400 }");
    assert!(code == "out_of_range" && message.contains("C4 follows C5"), "{message}");
    assert_eq!(plan("").0, "out_of_range");
    assert_ne!(plan("{ note = \"H5\", mm = 300 }").0, "");
}

#[test]
fn a_calendar_counts_hours_and_rests_to_a_date() {
    let shop = Shop::new();
    let spec = written(&shop, FIVE);
    let ask = |more: &[&str]| {
        answer(&[&["calendar", &spec, "--no-record", "--start", "2027-01-11", "--json"], more].concat())
    };
    let usual = ask(&[]);
    let steps = usual["steps"].as_array().unwrap();
    assert_eq!((steps.len(), &steps[0]["begins"]), (9, &"2027-01-11".into()));
    // 25 bars: 4 minutes each; 75 h for 61 bars.
    assert!(
        (steps[0]["hours"].as_f64().unwrap() - 1.7).abs() < 0.05
            && (steps[1]["hours"].as_f64().unwrap() - 30.7).abs() < 0.05
    );
    // Dates in this form sort as days.
    let done = |value: &Value| value["done"].as_str().unwrap().to_owned();
    assert!(done(&ask(&["--hours-per-day", "3"])) > done(&usual) && done(&ask(&["--cure", "0"])) < done(&usual));
    let (_, words, _) = run(&["calendar", &spec, "--no-record", "--start", "2027-01-11"]);
    assert!(words.contains("a guess, no source") && words.contains("one maker"), "{words}");
    assert_eq!(refusal(&["calendar", &spec, "--no-record", "--hours-per-day", "0"]).0, "out_of_range");
    assert_eq!(refusal(&["calendar", &spec, "--no-record", "--cure", "nan"]).0, "out_of_range");
    assert_eq!(run(&["calendar", &spec, "--start", "soon"]).0, 2);
    // The shop's record is looked into; an empty one changes nothing.
    let own = shop.json(&["calendar", &spec, "--start", "2027-01-11"]);
    assert_eq!(done(&own), done(&usual));
}
