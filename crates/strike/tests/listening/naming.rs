//! Which tone gets which name, and when none.

use strike::synth::{SynthMode, blow};
use strike::{Context, Expected, Heard, HeardMode, Kind, StrikePlace, Take, listen};

const RATE_HZ: f64 = 48_000.0;

fn mode(hz: f64, decay_s: f64, amplitude: f64) -> SynthMode {
    SynthMode { hz, decay_s, amplitude, phase_rad: 0.4 }
}

fn expect(kind: Kind, number: usize, hz: f64, sigma_cents: f64) -> Expected {
    Expected { kind, number, hz, sigma_cents }
}

fn hear(modes: &[SynthMode], context: &Context) -> Heard {
    let samples = blow(modes, RATE_HZ, 1.0, 0.3, 1e-3, 11);
    listen(&[Take { samples: &samples, sample_rate_hz: RATE_HZ }], context).expect("as the test needs")
}

fn find(heard: &Heard, kind: Kind, number: usize) -> Option<&HeardMode> {
    heard.modes.iter().find(|m| m.kind == kind && m.number == number)
}

fn warned(heard: &Heard, code: &str) -> bool {
    heard.warnings.iter().any(|w| w.code == code)
}

/// Frequencies of a real top bar, 12 cents apart; decay times and levels invented.
const TOP: [(f64, f64, f64); 3] = [(2082.0, 0.10, 0.3), (2096.0, 0.09, 0.5), (6100.0, 0.03, 0.1)];

fn top() -> Vec<SynthMode> {
    TOP.iter().map(|(hz, decay, a)| mode(*hz, *decay, *a)).collect()
}

#[test]
fn a_torsion_beside_bending_1_is_told_apart_by_prediction() {
    let expected = vec![
        expect(Kind::Bending, 1, 2098.0, 4.0),
        expect(Kind::Torsion, 1, 2079.0, 8.0),
        expect(Kind::Bending, 2, 6000.0, 60.0),
    ];
    let heard = hear(&top(), &Context { expected, ..Context::default() });
    // 0.1 Hz: a thousand times the bound, a hundredth of the distance.
    assert!((find(&heard, Kind::Bending, 1).unwrap().hz - 2096.0).abs() < 0.1);
    assert!((find(&heard, Kind::Torsion, 1).unwrap().hz - 2082.0).abs() < 0.1);
    assert!((find(&heard, Kind::Bending, 2).unwrap().hz - 6100.0).abs() < 0.1);
}

#[test]
fn it_is_not_named_where_the_prediction_cannot_tell() {
    let expected = vec![expect(Kind::Bending, 1, 2088.0, 20.0), expect(Kind::Torsion, 1, 2090.0, 25.0)];
    let heard = hear(&top(), &Context { expected, ..Context::default() });
    assert!(find(&heard, Kind::Bending, 1).is_none());
    assert!(find(&heard, Kind::Torsion, 1).is_none());
    let words = heard.other.iter().filter(|tone| tone.maybe.starts_with("perhaps")).count();
    assert_eq!(words, 2, "{:?}", heard.other);
    assert!(warned(&heard, "mode_missing"));
}

#[test]
fn it_is_not_named_without_prediction() {
    let heard = hear(&top(), &Context { note_hz: Some(2093.0), ..Context::default() });
    assert!(find(&heard, Kind::Torsion, 1).is_none());
    // 2082 and 2096 Hz are equally near the note: neither is surely bending 1.
    assert!(find(&heard, Kind::Bending, 1).is_none(), "{:?}", heard.modes);
}

#[test]
fn blank_xylophone_and_marimba_are_named_by_ratio() {
    // Blank: uniform Timoshenko bar T1 of reference/timoshenko_uniform.csv, 1 : 2.634 : 4.853.
    for (ratios, base) in [([1.0, 2.634, 4.853], 513.0), ([1.0, 3.0, 6.2], 523.0), ([1.0, 4.0, 10.0], 262.0)] {
        let modes: Vec<SynthMode> = ratios
            .iter()
            .zip([(0.3, 0.5), (0.1, 0.1), (0.05, 0.06)])
            .map(|(ratio, (decay, amplitude))| mode(base * ratio, decay, amplitude))
            .collect();
        let heard = hear(&modes, &Context::default());
        for (number, truth) in (1..4).zip(&modes) {
            let found = find(&heard, Kind::Bending, number)
                .unwrap_or_else(|| panic!("1:{:?} bending {number}: {heard:?}", ratios));
            assert!((found.hz - truth.hz).abs() < 0.1);
            // Ratios alone never make sure.
            assert!(found.sure <= 0.95);
        }
        assert!(warned(&heard, "named_by_ratio_only"));
    }
}

#[test]
fn a_bass_blank_is_named_far_above_its_note() {
    // An unarched C2 blank sounds 2760 cents above its note (computed with a simple beam).
    let base = 65.406 * (2760.0f64 / 1200.0).exp2();
    let modes = [mode(base, 0.5, 0.5), mode(2.7 * base, 0.15, 0.1), mode(5.15 * base, 0.08, 0.05)];
    let heard = hear(&modes, &Context { note_hz: Some(65.406), ..Context::default() });
    assert!((find(&heard, Kind::Bending, 1).unwrap().hz - base).abs() < 0.1);
    assert!((find(&heard, Kind::Bending, 2).unwrap().hz - 2.7 * base).abs() < 0.1);
}

#[test]
fn a_single_tone_without_note_is_not_named() {
    let heard = hear(&[mode(777.0, 0.3, 0.4)], &Context::default());
    assert!(heard.modes.is_empty(), "{:?}", heard.modes);
    assert_eq!(heard.other.len(), 1);
}

#[test]
fn a_missing_mode_is_told_with_the_remedy() {
    let expected = vec![
        expect(Kind::Bending, 1, 262.0, 10.0),
        expect(Kind::Bending, 2, 1050.0, 10.0),
        expect(Kind::Bending, 3, 2600.0, 20.0),
    ];
    let context = Context { expected, struck: Some(StrikePlace::Centre), ..Context::default() };
    let heard = hear(&[mode(262.5, 0.3, 0.5), mode(2605.0, 0.05, 0.1)], &context);
    assert!(find(&heard, Kind::Bending, 2).is_none());
    let warning = heard.warnings.iter().find(|w| w.code == "mode_missing").unwrap();
    assert!(warning.message.contains("bending 2") && warning.hint.contains("end"));
}

#[test]
fn a_tone_far_from_its_prediction_is_not_taken_for_it() {
    // 120 cents off with a sigma of 10: a stranger, not bending 2.
    let expected = vec![expect(Kind::Bending, 1, 262.0, 10.0), expect(Kind::Bending, 2, 1050.0, 10.0)];
    let off = 1050.0 * (120.0f64 / 1200.0).exp2();
    let heard = hear(&[mode(262.5, 0.3, 0.5), mode(off, 0.1, 0.1)], &Context { expected, ..Context::default() });
    assert!(find(&heard, Kind::Bending, 1).is_some());
    assert!(find(&heard, Kind::Bending, 2).is_none());
    assert!((heard.other[0].hz - off).abs() < 0.1);
}

/// The top bar's two lowest modes and what a blow at each place makes of them.
fn top_struck(bending: f64, torsion: f64) -> Vec<SynthMode> {
    vec![mode(2082.0, 0.10, torsion), mode(2096.0, 0.09, bending), mode(6100.0, 0.03, 0.1)]
}

#[test]
fn a_bar_that_has_moved_does_not_swap_the_twins() {
    // Both predictions 13 cents flat (the bar has dried): bending 1 is foreseen where torsion 1 is.
    let expected = vec![
        expect(Kind::Bending, 1, 2081.0, 4.0),
        expect(Kind::Torsion, 1, 2067.0, 10.0),
        expect(Kind::Bending, 2, 6055.0, 15.0),
    ];
    let heard = hear(&top(), &Context { expected, ..Context::default() });
    for (kind, hz) in [(Kind::Bending, 2096.0), (Kind::Torsion, 2082.0)] {
        if let Some(found) = find(&heard, kind, 1) {
            let right = (found.hz - hz).abs() < 0.5;
            // Either right, or blended with a sigma that says so, or at least no certainty.
            assert!(right || found.sigma_cents > 3.0 || found.sure < 0.9, "{heard:#?}");
        }
    }
}

#[test]
fn centre_and_corner_together_tell_the_twins() {
    // The predictions cannot tell (20 and 25 cents); a blow in the middle hardly twists the bar, one
    // at a corner does.
    let expected = vec![expect(Kind::Bending, 1, 2088.0, 20.0), expect(Kind::Torsion, 1, 2090.0, 25.0)];
    let centre = blow(&top_struck(0.5, 0.008), RATE_HZ, 1.0, 0.3, 1e-3, 11);
    let corner = blow(&top_struck(0.4, 0.4), RATE_HZ, 1.0, 0.3, 1e-3, 12);
    let takes = [&centre, &corner].map(|samples| Take { samples, sample_rate_hz: RATE_HZ });
    let struck_each = vec![Some(StrikePlace::Centre), Some(StrikePlace::Corner)];
    let heard = listen(&takes, &Context { expected, struck_each, ..Context::default() }).unwrap();
    assert!((find(&heard, Kind::Bending, 1).unwrap().hz - 2096.0).abs() < 0.3, "{heard:#?}");
    assert!((find(&heard, Kind::Torsion, 1).unwrap().hz - 2082.0).abs() < 0.3, "{heard:#?}");
}

#[test]
fn a_sideways_prediction_takes_no_loud_tone() {
    // The loudest tone is bending 2, 40 cents from its prediction; sideways 1 was foreseen there.
    let expected = vec![
        expect(Kind::Bending, 1, 262.0, 10.0),
        expect(Kind::Bending, 2, 1026.0, 25.0),
        expect(Kind::Sideways, 1, 1049.0, 15.0),
    ];
    let heard = hear(&[mode(262.5, 0.3, 0.3), mode(1050.0, 0.1, 0.5)], &Context { expected, ..Context::default() });
    assert!(find(&heard, Kind::Sideways, 1).is_none(), "{heard:#?}");
    assert!((find(&heard, Kind::Bending, 2).unwrap().hz - 1050.0).abs() < 0.1, "{heard:#?}");
}

#[test]
fn the_runner_up_is_told() {
    let expected = vec![expect(Kind::Bending, 1, 2094.0, 9.0), expect(Kind::Bending, 2, 6100.0, 15.0)];
    let heard = hear(&top(), &Context { expected, ..Context::default() });
    let told = heard.modes.iter().find_map(|m| m.runner_up);
    let doubtful = heard.other.iter().filter(|tone| tone.maybe.starts_with("perhaps bending 1")).count();
    assert!(told.is_some() || doubtful > 0, "{heard:#?}");
}

#[test]
fn two_of_three_without_a_note_are_not_enough() {
    let heard = hear(&[mode(440.0, 0.3, 0.5), mode(1320.0, 0.1, 0.2)], &Context::default());
    assert!(heard.modes.is_empty(), "{heard:?}");
    assert!(warned(&heard, "not_named"));
    let heard =
        hear(&[mode(440.0, 0.3, 0.5), mode(1320.0, 0.1, 0.2)], &Context { note_hz: Some(440.0), ..Context::default() });
    assert_eq!(heard.modes.len(), 2);
}
