//! Every way a bar file can be wrong, each with its code, its place, and a next step.
use records::BarFile;
use serde_json::{Value, json};

/// A small sound file.
fn sound() -> Value {
    json!({
        "format": "barwright-bar/1", "note": "C3", "length_mm": 470, "width_mm": 62, "thickness_mm": 23,
        "underside": { "x_mm": [0, 235, 470], "thickness_mm": [23, 12, 23] },
        "log": [],
    })
}

#[track_caller]
fn refused(text: &str, code: &str, path: &str, in_message: &[&str]) {
    let error = BarFile::from_bytes(text.as_bytes()).unwrap_err();
    assert_eq!((error.code, error.path.as_str()), (code, path), "{error}");
    for part in in_message {
        assert!(error.to_string().contains(part), "\"{part}\" is not in: {error}");
    }
    assert!(!error.hint.is_empty(), "no next step: {error}");
}

/// Sets a value by its JSON pointer in the sound file and expects a refusal.
#[track_caller]
fn refused_with(pointer: &str, value: Value, code: &str, path: &str, in_message: &[&str]) {
    let mut file = sound();
    let (parent, key) = pointer.rsplit_once('/').unwrap();
    file.pointer_mut(parent).unwrap()[key] = value;
    refused(&file.to_string(), code, path, in_message);
}

/// Puts entries in the log of the sound file and expects a refusal.
#[track_caller]
fn log_refused(log: Value, code: &str, path: &str, in_message: &[&str]) {
    refused_with("/log", log, code, path, in_message);
}

#[test]
fn the_sound_file_is_sound() {
    BarFile::from_bytes(sound().to_string().as_bytes()).unwrap();
}

#[test]
fn text_that_is_not_json_is_refused_with_its_place() {
    refused("{\n  \"format\": nonsense\n}", "not_json", "", &["line 2, column 1"]);
    refused("", "not_json", "", &["line 1"]);
    refused("[1, 2]", "wrong_type", "", &["braces"]);
    refused("{\"length_mm\": NaN}", "not_json", "", &["column"]);
    refused("{\"a\":1,\"a\":2}", "duplicate_key", "a", &["twice"]);
    refused("{\"length_mm\": 1e999}", "not_finite", "length_mm", &["finite"]);
    let error = BarFile::from_bytes(b"{\xff}").unwrap_err();
    assert_eq!(error.code, "not_text");
    let deep = "[".repeat(100_000);
    assert_eq!(BarFile::from_bytes(deep.as_bytes()).unwrap_err().code, "not_json");
    let long = " ".repeat(11 * 1024 * 1024);
    assert_eq!(BarFile::from_bytes(long.as_bytes()).unwrap_err().code, "too_large");
}

#[test]
fn wrong_format_and_keys_are_named() {
    refused("{}", "wrong_format", "format", &["barwright-bar/1"]);
    refused("{\"format\":\"barwright-bar/1\"}", "missing_key", "length_mm", &["length_mm", "millimetres"]);
    refused_with(
        "/format",
        json!("barwright-bar/2"),
        "wrong_format",
        "format",
        &["barwright-bar/2", "barwright-bar/1"],
    );
    refused("{\"length_mm\":470,\"width_mm\":62,\"thickness_mm\":23}", "wrong_format", "format", &["barwright-bar/1"]);
    refused_with("/lenght_mm", json!(470), "unknown_key", "lenght_mm", &["Did you mean \"length_mm\"?"]);
    refused_with("/underside/kink_mm", json!([1]), "unknown_key", "underside.kink_mm", &["in underside", "kinks_mm"]);
    refused_with("/zzz", json!(1), "unknown_key", "zzz", &["Known keys here: format, note"]);
    log_refused(json!([{ "herd": {} }]), "unknown_key", "log[0].herd", &["heard"]);
    log_refused(json!([{ "weighed": { "mass_g": 1 }, "trim": {} }]), "wrong_type", "log[0]", &["exactly one"]);
    log_refused(json!([{}]), "wrong_type", "log[0]", &["exactly one"]);
    log_refused(json!(["heard"]), "wrong_type", "log[0]", &["braces"]);
    log_refused(json!([{ "cut": {} }]), "missing_key", "log[0].cut.bands", &["bands"]);
}

#[test]
fn wrong_types_and_ranges_give_value_and_limit() {
    refused_with("/length_mm", json!("470"), "wrong_type", "length_mm", &["\"470\"", "number without quotes"]);
    refused_with("/length_mm", json!(null), "wrong_type", "length_mm", &["null"]);
    refused_with("/width_mm", json!(-62), "out_of_range", "width_mm", &["-62 mm", "10", "200 mm"]);
    refused_with("/thickness_mm", json!(0.1), "out_of_range", "thickness_mm", &["0.1 mm", "3", "80 mm"]);
    refused_with(
        "/underside/thickness_mm",
        json!([23, -2, 23]),
        "out_of_range",
        "underside.thickness_mm[1]",
        &["-2 mm", "0.5"],
    );
    refused_with(
        "/underside/thickness_mm",
        json!([23, 0, 23]),
        "out_of_range",
        "underside.thickness_mm[1]",
        &["top face"],
    );
    refused_with("/underside/x_mm", json!([0, 470, 235]), "out_of_order", "underside.x_mm[2]", &["235", "470"]);
    refused_with("/underside/x_mm", json!([0, 235, 235]), "out_of_order", "underside.x_mm[2]", &["235"]);
    refused_with("/underside/x_mm", json!([0, 470]), "counts_differ", "underside", &["2 places", "3 values"]);
    refused_with("/underside/x_mm", json!([0, 235, 460]), "wrong_length", "underside.x_mm", &["460", "470", "0.5"]);
    refused_with("/underside/x_mm", json!([0]), "out_of_range", "underside.x_mm", &["1 entries", "2 to"]);
    refused_with(
        "/underside/thickness_mm",
        json!([23, 12, 29]),
        "contradictory_log",
        "underside.thickness_mm[2]",
        &["29", "23"],
    );
    refused_with("/note", json!("H3"), "wrong_note", "note", &["H3", "B"]);
    refused_with("/mass_g", json!(20000), "contradictory_mass", "mass_g", &["kg/m³", "1600"]);
    refused_with("/targets", json!({ "ratios": [1, 10, 4] }), "out_of_order", "targets.ratios[2]", &["rising"]);
    refused_with("/targets", json!({ "ratios": [] }), "out_of_range", "targets.ratios", &["1 to 3"]);
    refused_with("/wood", json!({ "density_kg_m3": 950 }), "missing_key", "wood.E_L_GPa", &["gigapascals"]);
}

#[test]
fn a_log_that_cannot_have_happened_is_refused() {
    let heard = |bending: Value| json!([{ "heard": { "hz": { "bending": bending } } }]);
    log_refused(heard(json!([0])), "out_of_range", "log[0].heard.hz.bending[0]", &["0 Hz", "20"]);
    log_refused(heard(json!([-5])), "out_of_range", "log[0].heard.hz.bending[0]", &["-5 Hz"]);
    log_refused(heard(json!([null, null])), "contradictory_log", "log[0].heard.hz", &["no frequency"]);
    log_refused(json!([{ "heard": { "hz": {} } }]), "contradictory_log", "log[0].heard.hz", &["no frequency"]);
    log_refused(heard(json!([500, null, 400])), "out_of_order", "log[0].heard.hz.bending[2]", &["400", "mode 1"]);
    let cut = |from: f64, to: f64, depth: f64| json!([{ "cut": { "bands": [{ "from_mm": from, "to_mm": to, "depth_mm": depth }] } }]);
    log_refused(
        cut(0.0, 30.0, 12.0),
        "contradictory_log",
        "log[0].cut.bands[0].depth_mm",
        &["12 mm off", "more than 0 mm"],
    );
    log_refused(cut(30.0, 10.0, 1.0), "out_of_order", "log[0].cut.bands[0].to_mm", &["30", "10"]);
    log_refused(cut(30.0, 240.0, 1.0), "contradictory_log", "log[0].cut.bands[0].to_mm", &["240", "235"]);
    log_refused(json!([{ "cut": { "bands": [] } }]), "out_of_range", "log[0].cut.bands", &["1 to 100"]);
    let trim = json!([{ "trim": { "left_mm": 235, "right_mm": 235 } }]);
    log_refused(trim, "contradictory_log", "log[0].trim", &["235", "470"]);
    let caliper = |x: f64, t: f64| json!([{ "caliper": { "x_mm": [x], "thickness_mm": [t] } }]);
    log_refused(caliper(500.0, 20.0), "contradictory_log", "log[0].caliper.x_mm[0]", &["500", "470"]);
    log_refused(caliper(235.0, 28.5), "contradictory_log", "log[0].caliper.thickness_mm[0]", &["28.5", "23"]);
    let stale = json!([{ "trim": { "left_mm": 5 } }, { "shaped": { "x_mm": [0, 470], "thickness_mm": [20, 20] } }]);
    log_refused(stale, "wrong_length", "log[1].shaped.x_mm", &["465 mm long at that time"]);
    let passes = json!([{ "cut": { "bands": [{ "from_mm": 0, "to_mm": 9, "depth_mm": 1, "side": "up" }] } }]);
    log_refused(passes, "wrong_word", "log[0].cut.bands[0].side", &["\"both\" or \"left\" or \"right\""]);
}

#[test]
fn what_the_caliper_found_may_be_cut_later() {
    let cut = json!({ "cut": { "bands": [{ "from_mm": 0, "to_mm": 30, "depth_mm": 10 }] } });
    let again = json!({ "cut": { "bands": [{ "from_mm": 0, "to_mm": 30, "depth_mm": 3 }] } });
    log_refused(json!([cut.clone(), again.clone()]), "contradictory_log", "log[1].cut.bands[0].depth_mm", &["2 mm"]);
    let caliper = json!({ "caliper": { "x_mm": [235], "thickness_mm": [5.5] } });
    let mut file = sound();
    file["log"] = json!([cut, caliper, again]);
    BarFile::from_bytes(file.to_string().as_bytes()).unwrap();
}
