//! Whether the last cut was made at another place than it was entered.
use super::{Belief, Linear, Observed};
use crate::{Band, bands, smooth};
use bar_physics::Mode;

/// Places tried: so far from the entered one, metres.
const STEP_M: f64 = 0.005;
const MOST_M: f64 = 0.060;
/// The misfit that another place must leave, as a share of that which another depth leaves.
const BETTER: f64 = 0.3;
/// … and of the whole misfit: a slip of place explains nearly all of it.
const EXPLAINED: f64 = 0.2;

/// The place that the reading fits, if another place explains it and another depth does not.
pub(super) fn cut(belief: &Belief, observed: &[Observed], linear: &Linear, off_cents: &[f64]) -> Option<String> {
    let entered = &belief.diary.unheard_cuts;
    // Two readings cannot tell a place from a depth.
    if entered.is_empty() || observed.len() < 3 {
        return None;
    }
    let modes: Vec<&Mode> =
        observed.iter().map(|o| linear.modes.of(o.kind).get(o.number - 1)).collect::<Option<_>>()?;
    let effect = |cut: &[Band]| -> Vec<f64> {
        let length_m = belief.length_m();
        let grid = smooth::grid(length_m);
        let depth = |x: f64| belief.hand() * bands::depth_at(cut, length_m, x);
        let smooth = smooth::removal(&grid.iter().map(|x| depth(*x)).collect::<Vec<f64>>(), length_m);
        modes.iter().map(|m| m.removal_cents(&linear.modes.grid_m, |x| smooth::at(&smooth, length_m, x))).collect()
    };
    let expected = effect(entered);
    let square = |misfit: &[f64]| misfit.iter().map(|c| c * c).sum::<f64>();
    let whole = square(off_cents);
    let amount = {
        let dot: f64 = expected.iter().zip(off_cents).map(|(e, o)| e * o).sum();
        whole - dot * dot / square(&expected).max(1e-9)
    };
    let steps = (MOST_M / STEP_M).round() as i32;
    let places = (-steps..=steps).filter(|k| *k != 0).filter_map(|k| shifted(entered, f64::from(k) * STEP_M, belief));
    let left = |cut: &Vec<Band>| {
        let moved = effect(cut);
        square(&(0..off_cents.len()).map(|i| off_cents[i] - (moved[i] - expected[i])).collect::<Vec<f64>>())
    };
    let (least, place) = places.map(|cut| (left(&cut), cut)).min_by(|a, b| a.0.total_cmp(&b.0))?;
    (least < BETTER * amount && least < EXPLAINED * whole).then(|| {
        format!(
            "the reading fits a cut at {} from the centre better than at {} as entered: check the place of the last cut",
            listed(&place),
            listed(entered)
        )
    })
}

/// All bands as far from the centre as entered and `by_m`; `None` if one would leave the bar.
fn shifted(entered: &[Band], by_m: f64, belief: &Belief) -> Option<Vec<Band>> {
    let moved = |band: &Band| {
        let (from_m, to_m) = (band.from_m + by_m, band.to_m + by_m);
        (from_m > -1e-9 && to_m <= 0.5 * belief.length_m()).then(|| Band { from_m: from_m.max(0.0), to_m, ..*band })
    };
    entered.iter().map(moved).collect()
}

fn listed(cut: &[Band]) -> String {
    let parts: Vec<String> = cut.iter().map(|b| format!("{:.0}–{:.0} mm", b.from_m * 1e3, b.to_m * 1e3)).collect();
    parts.join(" and ")
}
