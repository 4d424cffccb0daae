//! The picture is readable with any take.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
use super::*;
use crate::svg;
use proptest::prelude::*;

/// As for the other drawings: about a fine pen's width.
const CLEARANCE_MM: f64 = 0.2;

fn view(sheet: Sheet, points: usize, hz: &[f64]) -> TakePicture {
    let grid = |i: usize| 60.0 * 200f64.powf(i as f64 / (points - 1) as f64);
    let tones = hz.iter().enumerate().map(|(i, hz)| ToneMark {
        sign: if i < 3 { (i + 1).to_string() } else { "a".to_owned() },
        words: format!("mode {}, {hz:.1} Hz", i + 1),
        hz: *hz,
        named: i < 3,
    });
    let curve = |n: usize| DecayCurve {
        title: format!("mode {n}: 0.{n} s"),
        measured: (0..8).map(|i| (0.1 * f64::from(i), -10.0 * f64::from(i) / n as f64)).collect(),
        decay_s: 0.1 * n as f64,
    };
    TakePicture {
        name: "take.wav".into(),
        length_s: 1.5,
        outline: (0..points).map(|i| (-0.8 / (1.0 + i as f64), 0.9 / (1.0 + i as f64))).collect(),
        blows_s: vec![0.3, 1.0],
        spectrum: (0..points).map(|i| (grid(i), -30.0 + 25.0 * (i as f64).sin())).collect(),
        floor: (0..points).map(|i| (grid(i), -72.0)).collect(),
        tones: tones.collect(),
        decays: (1..=3).map(curve).collect(),
        sheet,
        axes: None,
    }
}

#[test]
fn a_small_take_stays_as_it_is() {
    let drawing = take_picture(&view(Sheet::NARROW, 6, &[262.0, 1048.0, 2620.0, 280.0])).unwrap();
    insta::assert_snapshot!(svg::render(&drawing, &svg::Options::on_page("take")));
}

#[test]
fn two_takes_on_common_axes_hold_the_same_tone_at_the_same_place() {
    let short = TakePicture { length_s: 1.2, ..view(Sheet::WIDE, 40, &[262.0, 1048.0]) };
    let mut long = TakePicture { length_s: 3.0, ..view(Sheet::WIDE, 40, &[262.0, 900.0, 2620.0]) };
    long.spectrum.retain(|(hz, _)| *hz > 100.0);
    long.floor = long.spectrum.iter().map(|(hz, _)| (*hz, -95.0)).collect();
    long.decays[2].measured.push((1.7, -50.0));
    let axes = TakeAxes::of(&[short.clone(), long.clone()]);
    assert_eq!(axes, TakeAxes { length_s: 3.0, hz: (60.0, 12_000.0), bottom_db: -100.0, decay_s: 1.7 });
    // The node pencil draws the blows at 0.3 and 1 s, then the tones from the lowest.
    let uprights = |take: &TakePicture, axes: Option<TakeAxes>| -> Vec<String> {
        let drawing = take_picture(&TakePicture { axes, ..take.clone() }).unwrap();
        assert!(drawing.collisions(CLEARANCE_MM).is_empty());
        let svg = svg::render(&drawing, &svg::Options::picture());
        svg.lines().filter(|line| line.contains("<polyline class=\"pen-node\"")).map(str::to_owned).collect()
    };
    let (a, b) = (uprights(&short, Some(axes)), uprights(&long, Some(axes)));
    assert_eq!(a[..3], b[..3], "blows and the tone of 262 Hz");
    assert_ne!(a[3], b[3], "1048 and 900 Hz");
    // By itself the short take fills its own length, and the long one its own compass.
    assert_ne!(uprights(&short, None)[1], a[1]);
    assert_ne!(uprights(&long, None)[2], b[2]);
}

#[test]
fn what_cannot_be_drawn_is_named() {
    let mut bad = view(Sheet::WIDE, 20, &[262.0]);
    bad.blows_s.push(7.0);
    assert!(take_picture(&bad).unwrap_err().to_string().contains("the time of a blow in s is 7"));
    let mut bad = view(Sheet::WIDE, 20, &[f64::NAN]);
    bad.spectrum.clear();
    assert!(matches!(take_picture(&bad), Err(PaperError::NotFinite { .. })));
}

#[test]
fn a_take_without_anything_heard_is_still_drawn() {
    let mut empty = view(Sheet::WIDE, 20, &[]);
    (empty.spectrum, empty.floor, empty.decays, empty.blows_s) = (vec![], vec![], vec![], vec![]);
    assert!(take_picture(&empty).unwrap().collisions(CLEARANCE_MM).is_empty());
}

proptest! {
    #[test]
    fn letters_stay_clear_of_lines(
        tones in proptest::collection::vec(60.0f64..12_000.0, 0..12),
        blows in proptest::collection::vec(0.0f64..1.5, 0..16),
        name in "[a-zäöü♯/ ]{0,200}", wide in any::<bool>(),
    ) {
        let sheet = if wide { Sheet::WIDE } else { Sheet::NARROW };
        let mut take = view(sheet, 30, &tones);
        (take.blows_s, take.name) = (blows, name);
        take.blows_s.sort_by(f64::total_cmp);
        let drawing = take_picture(&take).unwrap();
        let found = drawing.collisions(CLEARANCE_MM);
        prop_assert!(found.is_empty(), "{:?}", found);
    }

    #[test]
    fn no_numbers_panic(length in any::<f64>(), hz in any::<f64>(), db in any::<f64>(), at in any::<f64>()) {
        let mut take = view(Sheet::WIDE, 5, &[hz]);
        take.length_s = length;
        take.spectrum.push((hz, db));
        take.blows_s.push(at);
        take.decays[0].measured.push((at, db));
        let _ = take_picture(&take);
    }
}
