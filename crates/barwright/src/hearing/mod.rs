//! Listening with what is known of the bar, and without it where the sound contradicts it.
mod recordings;

use strike::{Context, Heard, HeardMode, Kind, Refusal, Take, Warning};

pub use recordings::{Recording, clock, hear_recordings};

/// A tuned mode counts as heard when it is named at least this surely.
const LEAST_SURE: f64 = 0.8;

/// Hears the modes of a bar whose first `tuned` bending modes matter.
///
/// Predictions that are wrong (a cut entered wrongly, the wrong bar) would hide tones that are plainly there.
/// If fewer tuned modes are named with them than without, they are dropped, with a warning.
///
/// # Errors
/// [`Refusal`] as [`strike::listen`].
pub fn hear(takes: &[Take<'_>], context: &Context, tuned: usize) -> Result<Heard, Refusal> {
    let guided = strike::listen(takes, context);
    let named = |heard: &Heard| (1..=tuned).filter(|number| tuned_mode(heard, *number).is_some()).count();
    let missing = guided.as_ref().map_or(tuned, |heard| tuned - named(heard));
    if context.expected.is_empty() || missing == 0 {
        return guided;
    }
    let free = strike::listen(takes, &Context { expected: Vec::new(), ..context.clone() });
    match (guided, free) {
        (Ok(guided), Ok(free)) if named(&free) > named(&guided) => Ok(dropped(free, context)),
        (Err(_), Ok(free)) if named(&free) > 0 => Ok(dropped(free, context)),
        (guided, _) => guided,
    }
}

fn tuned_mode(heard: &Heard, number: usize) -> Option<&HeardMode> {
    heard.modes.iter().find(|m| m.kind == Kind::Bending && m.number == number && m.sure >= LEAST_SURE)
}

/// The reading with a warning that says which prediction it contradicts most.
fn dropped(mut heard: Heard, context: &Context) -> Heard {
    let off = |m: &HeardMode| {
        let expected = context.expected.iter().find(|e| e.kind == m.kind && e.number == m.number)?;
        Some((m.number, m.hz, expected.hz, bar_physics::units::cents(m.hz, expected.hz)))
    };
    let bending = heard.modes.iter().filter(|m| m.kind == Kind::Bending).filter_map(off);
    let worst = bending.max_by(|a, b| a.3.abs().total_cmp(&b.3.abs()));
    let told = worst.map_or(String::new(), |(number, hz, expected_hz, cents)| {
        format!(" Mode {number} is {hz:.1} Hz, {cents:+.0} cents from the {expected_hz:.1} Hz predicted.")
    });
    heard.warnings.push(Warning {
        code: "predictions_dropped",
        message: format!(
            "The sound does not fit what the bar file predicts, so the modes were named without it.{told}"
        ),
        hint: "Check that this is the bar of the file and that the last cut was entered as it was made.".to_owned(),
    });
    heard
}

#[cfg(test)]
mod tests {
    use super::*;
    use strike::Expected;
    use strike::synth::{SynthMode, blow};

    const RATE_HZ: f64 = 48_000.0;

    fn bar_sound() -> Vec<f32> {
        let mode = |hz: f64, decay_s: f64, amplitude: f64| SynthMode { hz, decay_s, amplitude, phase_rad: -1.57 };
        blow(&[mode(261.6, 0.5, 0.3), mode(1046.5, 0.15, 0.2), mode(2616.0, 0.06, 0.1)], RATE_HZ, 1.2, 0.3, 0.0005, 5)
    }

    fn context(shift_cents: f64) -> Context {
        let hz = |hz: f64| bar_physics::units::shifted(hz, shift_cents);
        let expected = [261.6, 1046.5, 2616.0].iter().enumerate();
        let expected =
            expected.map(|(i, f)| Expected { kind: Kind::Bending, number: i + 1, hz: hz(*f), sigma_cents: 10.0 });
        Context { expected: expected.collect(), note_hz: Some(261.6), ..Context::default() }
    }

    #[test]
    fn right_predictions_are_kept_and_wrong_ones_dropped_with_a_warning() {
        let samples = bar_sound();
        let take = [Take { samples: &samples, sample_rate_hz: RATE_HZ }];
        for (shift_cents, dropped) in [(5.0, false), (-400.0, true)] {
            let heard = hear(&take, &context(shift_cents), 3).unwrap();
            for (number, want_hz) in [(1, 261.6), (2, 1046.5), (3, 2616.0)] {
                let mode = tuned_mode(&heard, number).unwrap();
                // A cent is far above the noise bound of this blow.
                assert!(bar_physics::units::cents(mode.hz, want_hz).abs() < 1.0, "mode {number}");
            }
            assert_eq!(heard.warnings.iter().any(|w| w.code == "predictions_dropped"), dropped);
        }
    }
}
