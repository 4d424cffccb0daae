//! Whatever finite numbers come in, an answer or a refusal comes out.

use proptest::prelude::*;
use strike::live::{Event, Live};
use strike::{Context, Expected, Kind, StrikePlace, Take, listen};

fn sound(result: &Result<strike::Heard, strike::Refusal>) {
    let Ok(heard) = result else { return };
    for mode in &heard.modes {
        assert!(mode.hz.is_finite() && mode.hz > 0.0);
        assert!(mode.sigma_cents.is_finite() && mode.sigma_cents > 0.0);
        assert!((0.0..=1.0 + 1e-9).contains(&mode.sure));
        assert!(mode.decay_s > 0.0 && mode.level_db.is_finite());
    }
}

/// Envelopes and shapes that break carelessly written code: jumps, constants, alternation,
/// growth, lone clicks, tones on and off the grid.
fn samples() -> impl Strategy<Value = Vec<f32>> {
    let plain = prop::collection::vec(-1.0f32..=1.0, 0..6000);
    let shaped = (0u8..7, 16usize..9000, 0.001f64..3.1, 1e-6f64..1.0).prop_map(|(shape, count, omega, size)| {
        (0..count)
            .map(|n| {
                let t = n as f64;
                let value = match shape {
                    0 => 1.0,
                    1 => {
                        if n % 2 == 0 {
                            1.0
                        } else {
                            -1.0
                        }
                    }
                    2 => {
                        if n == count / 3 {
                            1.0
                        } else {
                            0.0
                        }
                    }
                    3 => (omega * t).cos() * (t / count as f64),
                    4 => (omega * t).cos() * (-3.0 * t / count as f64).exp(),
                    5 => (omega * t).cos().signum() * (-5.0 * t / count as f64).exp(),
                    _ => {
                        if n < count / 2 {
                            0.0
                        } else {
                            (omega * t).sin()
                        }
                    }
                };
                (size * value) as f32
            })
            .collect()
    });
    let any_scale =
        prop::collection::vec(prop::num::f32::NORMAL | prop::num::f32::ZERO | prop::num::f32::SUBNORMAL, 0..3000);
    prop_oneof![plain, shaped, any_scale]
}

fn context() -> impl Strategy<Value = Context> {
    let expected = prop::collection::vec((1usize..5, 20.0f64..20_000.0, 0.01f64..300.0, any::<bool>()), 0..9);
    (expected, prop::option::of(20.0f64..9000.0), any::<bool>()).prop_map(|(expected, note_hz, centre)| Context {
        expected: expected
            .into_iter()
            .map(|(number, hz, sigma_cents, bending)| Expected {
                kind: if bending { Kind::Bending } else { Kind::Torsion },
                number,
                hz,
                sigma_cents,
            })
            .collect(),
        note_hz,
        struck: centre.then_some(StrikePlace::Centre),
        struck_each: Vec::new(),
        clock: None,
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn listening_never_panics(samples in samples(), context in context(), rate in 4000.0f64..200_000.0) {
        sound(&listen(&[Take { samples: &samples, sample_rate_hz: rate }], &context));
    }

    #[test]
    fn a_stream_never_panics(
        samples in samples(),
        context in context(),
        rate in 4000.0f64..200_000.0,
        frames in prop::collection::vec(0usize..3000, 1..9),
    ) {
        let mut live = Live::new(rate, context).unwrap();
        let mut left = &samples[..];
        let mut events = Vec::new();
        for length in frames {
            let (frame, rest) = left.split_at(length.min(left.len()));
            events.extend(live.push(frame));
            left = rest;
        }
        events.extend(live.push(left));
        events.extend(live.finish());
        let blows = events.iter().filter(|e| matches!(e, Event::Blow { .. })).count();
        let over = events.iter().filter(|e| matches!(e, Event::Armed)).count();
        prop_assert_eq!(blows, over, "every blow comes to an end");
        for event in events {
            if let Event::Heard(answer) = event {
                sound(&Ok(answer.heard));
            }
        }
    }
}
