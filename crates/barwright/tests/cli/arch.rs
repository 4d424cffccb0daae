//! `arch`, `saw` and `rescue`: the public keys, the text a maker reads, and what is refused.
use crate::common::{answer, example, refusal, run};
use serde_json::Value;

fn path(name: &str) -> String {
    example(name).display().to_string()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

/// Numbers are the solver's and may move in the last digit from machine to machine: only words are pinned.
fn words(text: &str) -> String {
    let mut out = String::new();
    let mut in_number = false;
    for c in text.chars() {
        let digit = c.is_ascii_digit() || (in_number && matches!(c, '.' | '/'));
        if digit && !in_number {
            out.push('#');
        }
        if !digit {
            out.push(c);
        }
        in_number = digit;
    }
    // Columns are as wide as their numbers.
    out.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect::<Vec<_>>().join("\n")
}

#[test]
fn arch_answers_with_the_public_keys_and_hits_its_targets() {
    let value = answer(&["arch", &path("blank.bar.json"), "--json"]);
    assert_eq!(value["feasible"], true);
    let (x, t) = (numbers(&value["underside"]["x_mm"]), numbers(&value["underside"]["thickness_mm"]));
    assert_eq!(x.len(), t.len());
    assert!((x[x.len() - 1] - 470.0).abs() < 1e-6 && t.iter().all(|t| *t >= 6.0 - 1e-3));
    assert_eq!(value["bending"].as_array().unwrap().len(), 3);
    for mode in value["bending"].as_array().unwrap() {
        let miss = mode["cents"].as_f64().unwrap() - mode["aim_cents"].as_f64().unwrap();
        // What a careful maker can read.
        assert!(miss.abs() < 1.0, "{mode}");
        assert!(mode["sigma_cents"].as_f64().unwrap() > 1.0, "the wood is never known for certain: {mode}");
    }
    assert_eq!(value["nodes_mm"].as_array().unwrap().len(), 2);
    assert!(value["torsion"].as_array().unwrap().len() >= 2 && !value["saw_steps"].as_array().unwrap().is_empty());
    assert_eq!(value["stations"][0]["from_centre_mm"], 0.0);
    assert!(value["options"].as_array().unwrap().is_empty() && value["reasons"].is_array());
    // The promised underside, sounded by `modes`, sounds as promised.
    let folder = tempfile::tempdir().unwrap();
    let drawn = folder.path().join("drawn.bar.json");
    let mut file: Value = serde_json::from_str(&std::fs::read_to_string(path("blank.bar.json")).unwrap()).unwrap();
    let log = file["log"].as_array_mut().unwrap();
    let mut shaped = value["underside"].clone();
    shaped["sigma_mm"] = 0.05.into();
    shaped.as_object_mut().unwrap().remove("kinks_mm");
    log.push(serde_json::json!({ "shaped": shaped }));
    std::fs::write(&drawn, file.to_string()).unwrap();
    let sounded = answer(&["modes", drawn.to_str().unwrap(), "--json"]);
    for (told, real) in value["bending"].as_array().unwrap().iter().zip(sounded["bending"].as_array().unwrap()) {
        let off = 1200.0 * (told["hz"].as_f64().unwrap() / real["hz"].as_f64().unwrap()).log2();
        // The belief smooths a given shape a little and carries the blank's thickness error: 5 cents.
        assert!(off.abs() < 5.0, "{told} against {real}");
    }
}

#[test]
fn the_texts_put_one_instruction_first() {
    let (status, text, _) = run(&["arch", &path("blank.bar.json")]);
    assert_eq!(status, 0);
    assert!(text.starts_with("Draw the arch: "), "{text}");
    let (status, text, _) = run(&["saw", &path("blank.bar.json")]);
    assert_eq!(status, 0);
    insta::assert_snapshot!("saw_blank", words(&text));
    let (status, text, _) = run(&["rescue", &path("c3-rough.bar.json")]);
    assert_eq!(status, 0);
    insta::assert_snapshot!("rescue_c3", words(&text));
}

#[test]
fn saw_stays_on_the_scale_and_above_the_line() {
    let arch = answer(&["arch", &path("blank.bar.json"), "--json"]);
    let saw = answer(&["saw", &path("blank.bar.json"), "--scale", "inch32", "--json"]);
    let division = 25.4 / 32.0;
    let on_scale = |mm: f64| (mm / division - (mm / division).round()).abs() < 0.02;
    for step in saw["saw_steps"].as_array().unwrap() {
        assert!(on_scale(step["height_mm"].as_f64().unwrap()), "{step}");
        assert!(numbers(&step["stops_mm"]).into_iter().all(on_scale), "{step}");
        assert!(step["bite_mm"].as_f64().unwrap() <= 6.0 + 1e-9);
    }
    let (x, t) = (numbers(&arch["underside"]["x_mm"]), numbers(&arch["underside"]["thickness_mm"]));
    for corner in saw["sawn_half"].as_array().unwrap() {
        let (u, left) = (corner["from_centre_mm"].as_f64().unwrap(), corner["thickness_mm"].as_f64().unwrap());
        let i = x.partition_point(|x| *x < 235.0 + u).min(t.len() - 1);
        // Corners are printed to 0.01 mm and stations lie 1 mm apart on a slope below a half.
        assert!(left >= 23.0 - 1e-6 || left >= t[i.saturating_sub(1)] + 3.0 - 0.02, "{corner}");
    }
    for expected in saw["expect_after"].as_array().unwrap() {
        assert!(expected["cents"].as_f64().unwrap() > 100.0, "sawn wood is above the line: {expected}");
    }
}

#[test]
fn an_impossible_arch_says_what_would_help_and_is_not_sawn() {
    let folder = tempfile::tempdir().unwrap();
    let short = folder.path().join("short.bar.json");
    let text = std::fs::read_to_string(path("blank.bar.json")).unwrap();
    let mut file: Value = serde_json::from_str(&text).unwrap();
    // The same wood 60 mm shorter, known, so that no reading contradicts it.
    file["length_mm"] = 400.0.into();
    file["mass_g"] = Value::Null;
    file.as_object_mut().unwrap().remove("mass_g");
    file.as_object_mut().unwrap().remove("log");
    file["wood"] = serde_json::json!({ "density_kg_m3": 950, "E_L_GPa": 19.0 });
    std::fs::write(&short, file.to_string()).unwrap();
    let bar = short.to_str().unwrap();
    let value = answer(&["arch", bar, "--headroom", "0,0,0", "--json"]);
    assert_eq!(value["feasible"], false);
    let codes: Vec<&str> = value["options"].as_array().unwrap().iter().map(|o| o["code"].as_str().unwrap()).collect();
    assert!(codes.contains(&"longer") && !codes.contains(&"shorter"), "{codes:?}");
    assert!(value["saw_steps"].as_array().unwrap().is_empty(), "what cannot be tuned is not sawn");
}

#[test]
fn bad_wishes_are_refused_with_the_value_and_nothing_is_written() {
    let bar = path("blank.bar.json");
    let folder = tempfile::tempdir().unwrap();
    let picture = folder.path().join("steps.svg");
    let svg = picture.to_str().unwrap();
    let (code, message) = refusal(&["saw", &bar, "--pass", "16", "--picture", svg]);
    assert!(code == "out_of_range" && message.contains("16"), "{message}");
    assert!(!picture.exists());
    let (code, _) = refusal(&["arch", &bar, "--ratios", "1,10,4"]);
    assert_eq!(code, "bad_ratios");
    let (code, _) = refusal(&["rescue", &bar]);
    assert_eq!(code, "not_sawn");
    let (code, _) = refusal(&["arch", &bar, "--neighbour", &bar]);
    assert_eq!(code, "no_arch");
    assert_eq!(run(&["saw", &bar, "--picture", svg]).0, 0);
    let written = std::fs::read_to_string(&picture).unwrap();
    assert!(written.contains("<svg"));
    // A second time the file is there and stays as it is.
    let (code, _) = refusal(&["saw", &bar, "--picture", svg]);
    assert_eq!(code, "cannot_write");
    assert_eq!(std::fs::read_to_string(&picture).unwrap(), written);
}

#[test]
fn a_row_is_answered_bar_by_bar() {
    let bar = path("blank.bar.json");
    let value = answer(&["arch", &bar, &bar, "--json"]);
    let bars = value["bars"].as_array().unwrap();
    assert_eq!(bars.len(), 2);
    for key in ["centre_mm", "half_length_mm"] {
        let (a, b) = (bars[0][key].as_f64().unwrap(), bars[1][key].as_f64().unwrap());
        // The same bar twice is the same arch twice, whichever core drew it.
        assert!((a - b).abs() < 1e-6, "{key}");
    }
}
