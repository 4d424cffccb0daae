//! Raising all modes at the ends: sawing them off, or thinning them from below.
use super::Ward;
use super::outcome::{self, Rescue, SETTING_M, amount, ending, listed, most_trim_m, price_of, told};
use crate::belief::Belief;
use crate::error::MakingError;
use crate::plan::Standing;
use crate::{Band, Event, RescueOption, Side, priors};
use bar_physics::Wanted;

/// A larger trim is tried where cutting on afterwards does not come into line: this much more each time.
const MORE: f64 = 1.25;
const TRIES: usize = 4;

/// Less than this off an end is no saw cut but a rub (judgement).
pub(super) const LEAST_TRIM_M: f64 = 0.5e-3;
/// Less than this is not worth setting up for at the ends (judgement).
const LEAST_DEPTH_M: f64 = 0.2e-3;

/// Saw both ends, then cut on.
pub(super) fn trim(ward: &Ward<'_>, lift: &[f64]) -> Result<Option<Rescue>, MakingError> {
    let apply = |belief: &mut Belief, d_m: f64| belief.take(&Event::Trim { left_m: d_m, right_m: d_m });
    let most_m = most_trim_m(ward);
    let Some((d_m, later, after)) = amount(ward, lift, (0.001, LEAST_TRIM_M, most_m), &apply)? else { return Ok(None) };
    let (d_m, after, end) = enough(ward, d_m, later, after, most_m, &apply)?;
    let nodes = nodes_after_trim(ward, &end.bar, d_m)?;
    let unusual = if d_m > priors::USUAL_TRIM_M { "; more than the usual 4 mm per end" } else { "" };
    let option = RescueOption {
        code: "trim_ends",
        action: format!("saw {:.1} mm off each end, then lower the modes that are sharp", d_m * 1e3),
        effect: format!("reads {} then{unusual}; {}; {nodes}", listed(&after.cents), ending(&end)),
        amount_m: Some(d_m),
        predicted_cents: after.cents,
    };
    told(option, d_m / priors::USUAL_TRIM_M + price_of(&end), &end, ward, d_m).map(Some)
}

/// The least amount from `d_m` on after which cutting on comes into line; the first if none does.
fn enough(
    ward: &Ward<'_>,
    d_m: f64,
    later: Belief,
    after: Standing,
    most_m: f64,
    apply: &dyn Fn(&mut Belief, f64) -> Result<(), MakingError>,
) -> Result<(f64, Standing, outcome::Played), MakingError> {
    let first = outcome::play(ward, &later, ward.goal)?;
    if first.met {
        return Ok((d_m, after, first));
    }
    let mut more_m = d_m;
    for _ in 0..TRIES {
        more_m = (more_m * MORE / SETTING_M).ceil() * SETTING_M;
        if more_m >= most_m {
            break;
        }
        let mut later = ward.belief.clone();
        apply(&mut later, more_m)?;
        let end = outcome::play(ward, &later, ward.goal)?;
        if end.met {
            return Ok((more_m, Standing::of(&later, ward.goal)?, end));
        }
    }
    Ok((d_m, after, first))
}

fn nodes_after_trim(ward: &Ward<'_>, end: &Belief, d_m: f64) -> Result<String, MakingError> {
    let first = |belief: &Belief| -> Result<Option<f64>, MakingError> {
        Ok(outcome::nodes(&belief.modes(Wanted::bending(1))?).first().copied())
    };
    Ok(match (first(ward.belief)?, first(end)?) {
        (Some(before), Some(then)) => {
            let inward_mm = (then + d_m - before) * 1e3;
            format!(
                "the node of mode 1 then lies {:.1} mm from the new end ({:.1} mm {} of where it is in the wood now)",
                then * 1e3,
                inward_mm.abs(),
                if inward_mm >= 0.0 { "inward" } else { "outward" }
            )
        }
        _ => "find the nodes again".to_owned(),
    })
}

/// Thin the underside of both ends, then cut on.
pub(super) fn thin(ward: &Ward<'_>, lift: &[f64]) -> Result<Option<Rescue>, MakingError> {
    let half_m = 0.5 * ward.belief.length_m();
    let width_m = (0.16 * half_m).clamp(0.010, 0.040);
    let band = |depth_m| Band { from_m: half_m - width_m, to_m: half_m, depth_m, side: Side::Both };
    let hand = ward.belief.hand();
    let apply = |belief: &mut Belief, depth_m: f64| belief.cut(&[band(depth_m / hand)]);
    // A third of the wood there: the end must still carry the blow and look like a bar.
    let most_m = ward.belief.thickness_at(0.0).0.min(ward.belief.thickness_at(2.0 * half_m).0) / 3.0;
    let Some((depth_m, later, after)) = amount(ward, lift, (0.0005, LEAST_DEPTH_M, most_m), &apply)? else {
        return Ok(None);
    };
    let (depth_m, after, end) = enough(ward, depth_m, later, after, most_m, &apply)?;
    let option = RescueOption {
        code: "thin_ends",
        action: format!(
            "thin the underside of the outer {:.0} mm of both ends by {:.1} mm, then lower the modes that are sharp",
            width_m * 1e3,
            depth_m * 1e3
        ),
        effect: format!(
            "reads {} then; {}; length and holes stay; the ends show it",
            listed(&after.cents),
            ending(&end)
        ),
        amount_m: Some(depth_m),
        predicted_cents: after.cents,
    };
    // Costs looks and balance: half again as dear as the same share of a usual trim.
    told(option, 0.3 + 1.5 * depth_m / most_m + price_of(&end), &end, ward, 0.0).map(Some)
}
