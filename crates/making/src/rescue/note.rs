//! Another note: a lower one by cutting on, a higher one by trimming first.
use super::Ward;
use super::ends::LEAST_TRIM_M;
use super::outcome::{self, Played, Rescue, amount, ending, listed, most_trim_m, price_of, told};
use crate::belief::Belief;
use crate::error::MakingError;
use crate::plan::Goal;
use crate::{Event, RescueOption, priors};

/// Serve the note `semitones` lower (or, negative, higher), if that can be begun.
pub(super) fn serve(ward: &Ward<'_>, semitones: i32) -> Result<Option<Rescue>, MakingError> {
    let goal = Goal::of(ward.job, semitones);
    let shift_cents = 100.0 * f64::from(semitones);
    let predicted: Vec<f64> = ward.now.cents.iter().map(|c| c + shift_cents).collect();
    if semitones > 0 {
        return if goal.flat(&predicted).is_empty() {
            lower(ward, &goal, semitones, predicted).map(Some)
        } else {
            Ok(None)
        };
    }
    higher(ward, &goal, semitones)
}

fn lower(ward: &Ward<'_>, goal: &Goal, semitones: i32, predicted: Vec<f64>) -> Result<Rescue, MakingError> {
    let end = outcome::play(ward, ward.belief, goal)?;
    let option = RescueOption {
        code: "lower_note",
        action: format!("let it serve the note {} ({:.1} Hz) and cut on", steps(semitones), goal.modes[0].target_hz),
        effect: format!(
            "reads {} against the new targets; {}; check its length against the schedule",
            listed(&predicted),
            ending(&end)
        ),
        amount_m: None,
        predicted_cents: predicted,
    };
    let rescue = told(option, 1.5 + 0.5 * f64::from(semitones) + price_of(&end), &end, ward, 0.0)?;
    Ok(Rescue { semitones, ..rescue })
}

/// A higher note needs every mode above its new aim: the ends come off until the lowest is.
fn higher(ward: &Ward<'_>, goal: &Goal, semitones: i32) -> Result<Option<Rescue>, MakingError> {
    let shift_cents = 100.0 * f64::from(semitones);
    let above = |(m, c): (&crate::plan::ModeGoal, &f64)| m.above(c + shift_cents);
    let lift: Vec<f64> = goal.modes.iter().zip(&ward.now.cents).map(above).map(|a| (-a).max(0.0)).collect();
    if lift.iter().all(|l| *l <= 0.0) {
        return Ok(None);
    }
    let apply = |belief: &mut Belief, d_m: f64| belief.take(&Event::Trim { left_m: d_m, right_m: d_m });
    let Some((d_m, later, after)) = amount(ward, &lift, (0.003, LEAST_TRIM_M, most_trim_m(ward)), &apply)? else {
        return Ok(None);
    };
    let end: Played = outcome::play(ward, &later, goal)?;
    let predicted: Vec<f64> = after.cents.iter().map(|c| c + shift_cents).collect();
    let option = RescueOption {
        code: "higher_note",
        action: format!(
            "saw {:.1} mm off each end, let it serve the note {} ({:.1} Hz) and cut on",
            d_m * 1e3,
            steps(semitones),
            goal.modes[0].target_hz
        ),
        effect: format!(
            "reads {} against the new targets; {}; check its length against the schedule",
            listed(&predicted),
            ending(&end)
        ),
        amount_m: Some(d_m),
        predicted_cents: predicted,
    };
    let cost = 1.5 + d_m / priors::USUAL_TRIM_M - 0.5 * f64::from(semitones) + price_of(&end);
    let rescue = told(option, cost, &end, ward, d_m)?;
    Ok(Some(Rescue { semitones, ..rescue }))
}

/// "1 semitone lower", "2 semitones higher".
fn steps(semitones: i32) -> String {
    let count = semitones.unsigned_abs();
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} semitone{plural} {}", if semitones > 0 { "lower" } else { "higher" })
}
