//! Left and right: where the arch is lopsided beyond its doubt, a band goes to the thicker side alone.
//!
//! To first order a bending mode does not care on which side of the centre wood is taken, so evening the arch costs
//! no tuning; it brings the two nodes of mode 1 equally far from their ends, where the cord is to lie.
use super::Place;
use super::choose::Removal;
use crate::belief::{Belief, slot};
use crate::{Band, Limits, SHOULDER_M, Side, priors};
use nalgebra::DVector;

/// Wood is left over for a hand that takes this much more than meant.
pub(super) const HAND_MARGIN: f64 = 1.3;
/// Less than this is no lopsidedness: twice what a caliper errs by.
const NOTICED_M: f64 = 2.0 * priors::CALIPER_SIGMA_M;
/// The difference must be this many times its doubt: wood taken off the wrong side does not come back.
const SURE_SIGMAS: f64 = 2.0;

/// How much thicker the left of the bar is than the right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Lopsided {
    /// Mean of the left less mean of the right, metres.
    pub left_over_right_m: f64,
    /// Its standard uncertainty.
    pub sigma_m: f64,
}

impl Lopsided {
    /// The thicker side, if that is beyond doubt.
    pub fn thicker(&self) -> Option<Side> {
        let d_m = self.left_over_right_m;
        let sure = d_m.abs() > NOTICED_M.max(SURE_SIGMAS * self.sigma_m);
        sure.then_some(if d_m > 0.0 { Side::Left } else { Side::Right })
    }
}

/// How lopsided the bar is believed to be between two distances from the centre.
pub(crate) fn lopsided(belief: &Belief, place: &Place) -> Lopsided {
    let centre_m = 0.5 * belief.length_m();
    let places = (0..=PLACES).map(|k| place.from_m + (place.to_m - place.from_m) * k as f64 / PLACES as f64);
    let mut weights = DVector::zeros(belief.hats.nodes);
    let mut shape_m = 0.0;
    for u_m in places {
        for (x_m, sign) in [(centre_m - u_m, 1.0), (centre_m + u_m, -1.0)] {
            let share = sign / (PLACES + 1) as f64;
            shape_m += share * belief.underside.thickness_at(x_m);
            for (i, weight) in belief.hats.weights(x_m) {
                weights[i] += share * weight;
            }
        }
    }
    let (at, n) = (slot::THICKNESS, belief.hats.nodes);
    let variance = weights.dot(&(belief.gaussian.covariance.view((at, at), (n, n)) * &weights));
    let error_m = belief.gaussian.mean.rows(at, n).dot(&weights);
    Lopsided { left_over_right_m: shape_m + error_m, sigma_m: variance.max(0.0).sqrt() }
}

/// Places looked at along a band, less one.
const PLACES: usize = 10;

/// The band that takes this removal off: both sides alike, or twice as deep on the thicker side where that makes the
/// bar more even and leaves the wood that must be left.
pub(super) fn band(belief: &Belief, removal: &Removal, limits: Limits) -> Band {
    let Removal { place, depth_m } = *removal;
    let both = Band { from_m: place.from_m, to_m: place.to_m, depth_m, side: Side::Both };
    if place.from_m <= 1e-9 {
        return both;
    }
    let found = lopsided(belief, &place);
    let Some(side) = found.thicker() else { return both };
    let twice_m = 2.0 * depth_m;
    // Beyond the difference the other side would become the thicker one.
    let evens = twice_m <= found.left_over_right_m.abs();
    let left_over = HAND_MARGIN * twice_m <= spare_m(belief, &place, limits, side);
    if evens && left_over && twice_m <= priors::DEEPEST_BAND_M { Band { depth_m: twice_m, side, ..both } } else { both }
}

/// Wood above the limit at the thinnest place of a band, its shoulders included.
pub(super) fn spare_m(belief: &Belief, place: &Place, limits: Limits, side: Side) -> f64 {
    let centre_m = 0.5 * belief.length_m();
    let (from_m, to_m) = (place.from_m - SHOULDER_M, place.to_m + SHOULDER_M);
    let steps = ((to_m - from_m) / 0.002).ceil() as usize;
    (0..=steps)
        .map(|k| from_m + (to_m - from_m) * k as f64 / steps as f64)
        .flat_map(|u| match side {
            Side::Both => [centre_m - u, centre_m + u],
            Side::Left => [centre_m - u; 2],
            Side::Right => [centre_m + u; 2],
        })
        .filter(|x| *x >= 0.0 && *x <= 2.0 * centre_m)
        .map(|x| belief.thickness_at(x).0 - limits.min_thickness_m)
        .fold(f64::INFINITY, f64::min)
}
