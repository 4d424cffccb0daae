//! Any sound record survives the way through a file; no bytes make the reader panic; our check agrees with
//! a general JSON Schema validator.
use proptest::prelude::*;
use records::{
    BandRecord, BarFile, BarRecord, CaliperRecord, CutRecord, FormatName, HeardHz, HeardRecord, LogEntry, SideName,
    TargetsRecord, WeighedRecord,
};
use serde_json::Value;
use std::sync::LazyLock;

static VALIDATOR: LazyLock<jsonschema::Validator> =
    LazyLock::new(|| jsonschema::validator_for(&serde_json::from_str(&records::schema_text()).unwrap()).unwrap());

fn entry() -> impl Strategy<Value = LogEntry> {
    let heard = (20.0..5000.0f64, proptest::option::of(0.01..200.0f64), proptest::option::of(-30.0..60.0f64)).prop_map(
        |(hz, sigma_cents, temperature_c)| {
            let hz = HeardHz { bending: Some(vec![Some(hz), None, Some(hz * 3.9)]), torsion: Some(vec![Some(hz)]) };
            LogEntry::Heard(HeardRecord { hz, sigma_cents, temperature_c })
        },
    );
    let side = proptest::option::of(prop_oneof![Just(SideName::Both), Just(SideName::Left), Just(SideName::Right)]);
    // Shallow enough that five cuts on the same place leave wood on the thinnest blank.
    let cut = (0.0..10.0f64, 10.5..29.0f64, 0.001..0.5f64, side, proptest::option::of(1..9u32)).prop_map(
        |(from_mm, to_mm, depth_mm, side, passes)| {
            LogEntry::Cut(CutRecord { bands: vec![BandRecord { from_mm, to_mm, depth_mm, side }], passes })
        },
    );
    let caliper = (0.0..60.0f64, 0.5..8.0f64)
        .prop_map(|(x, t)| LogEntry::Caliper(CaliperRecord { x_mm: vec![x], thickness_mm: vec![t] }));
    prop_oneof![heard, cut, caliper]
}

fn record() -> impl Strategy<Value = BarRecord> {
    let sizes = (60.0..1500.0f64, 10.0..200.0f64, 3.0..80.0f64);
    let rest = (proptest::option::of(380.0..480.0f64), 0.0..600.0f64, 0.5..5.0f64);
    (sizes, rest, proptest::collection::vec(entry(), 0..5)).prop_map(|(sizes, rest, log)| BarRecord {
        format: FormatName::BarwrightBar1,
        note: Some("F♯3".to_owned()),
        a4_hz: rest.0,
        length_mm: sizes.0,
        width_mm: sizes.1,
        thickness_mm: sizes.2,
        mass_g: None,
        underside: None,
        wood: None,
        grain: None,
        targets: Some(TargetsRecord { ratios: Some(vec![1.0, 1.0 + rest.2]), headroom_cents: Some(rest.1) }),
        limits: None,
        hand: None,
        log: Some(log),
    })
}

proptest! {
    #[test]
    fn any_sound_record_survives_the_way_through_a_file(record in record(), mass_g in 1.0..30000.0f64) {
        let mut file = BarFile::from_record(&record).unwrap();
        prop_assert_eq!(file.record(), &record);
        let again = BarFile::from_bytes(file.text().as_bytes()).unwrap();
        prop_assert_eq!(again.text(), file.text());
        // A mass either fits the volume or is refused; nothing in between.
        let before = file.clone();
        match file.append(&LogEntry::Weighed(WeighedRecord { mass_g })) {
            Ok(()) => {
                let mut longer = record.clone();
                longer.log.get_or_insert_default().push(LogEntry::Weighed(WeighedRecord { mass_g }));
                prop_assert_eq!(file.record(), &longer);
            }
            Err(error) => {
                prop_assert_eq!(error.code, "contradictory_mass");
                prop_assert_eq!(&file, &before);
            }
        }
    }

    #[test]
    fn no_bytes_make_the_reader_panic(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        prop_assert!(BarFile::from_bytes(&bytes).is_err());
    }

    #[test]
    fn a_sound_file_with_one_byte_changed_is_read_or_refused_with_a_next_step(
        at in 0..include_bytes!("../full.bar.json").len(), byte in any::<u8>(),
    ) {
        let mut bytes = include_bytes!("../full.bar.json").to_vec();
        bytes[at] = byte;
        if let Err(error) = BarFile::from_bytes(&bytes) {
            prop_assert!(!error.hint.is_empty() && !error.message.is_empty(), "{:?}", error);
        }
    }

    /// Replaces one value anywhere by another kind of value: what the schema refuses, we refuse, and where only
    /// we refuse it is by one of the codes that a schema cannot express.
    #[test]
    fn our_check_agrees_with_a_general_validator(
        place in any::<proptest::sample::Index>(),
        value in prop_oneof![
            Just(Value::Null), Just(Value::from("both")), Just(serde_json::json!([])), Just(serde_json::json!({})),
            any::<i32>().prop_map(Value::from), (-2.0..2000.0f64).prop_map(Value::from), Just(Value::from(true)),
        ],
    ) {
        let mut file: Value = serde_json::from_str(include_str!("../full.bar.json")).unwrap();
        let pointers = pointers(&file);
        *file.pointer_mut(&pointers[place.index(pointers.len())]).unwrap() = value;
        let by_schema = VALIDATOR.is_valid(&file);
        match BarFile::from_bytes(file.to_string().as_bytes()) {
            Ok(_) => prop_assert!(by_schema, "only the validator refuses {}", file),
            Err(error) => {
                let ours = ["out_of_order", "counts_differ", "wrong_length", "wrong_note"];
                let beyond = ours.contains(&error.code) || error.code.starts_with("contradictory");
                prop_assert_eq!(by_schema, beyond, "{}: {}", file, error);
            }
        }
    }
}

/// JSON pointers of every value below the top.
fn pointers(value: &Value) -> Vec<String> {
    let children: Vec<(String, &Value)> = match value {
        Value::Object(object) => object.iter().map(|(key, child)| (key.clone(), child)).collect(),
        Value::Array(items) => items.iter().enumerate().map(|(i, child)| (i.to_string(), child)).collect(),
        _ => Vec::new(),
    };
    let mut out = Vec::new();
    for (key, child) in children {
        out.push(format!("/{key}"));
        out.extend(pointers(child).into_iter().map(|tail| format!("/{key}{tail}")));
    }
    out
}
