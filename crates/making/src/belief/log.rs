//! The log entries that change or measure the shape.
use super::learnt::Snapshot;
use super::{Belief, slot};
use crate::basis::Hats;
use crate::error::{MakingError, in_range};
use crate::{Band, Event, bands, priors};
use bar_physics::Underside;
use nalgebra::{DMatrix, DVector};

impl Belief {
    /// Takes one log entry.
    pub(crate) fn take(&mut self, event: &Event) -> Result<(), MakingError> {
        let before = Snapshot::of(self);
        self.follow(event)?;
        self.learn(event, &before);
        self.diary.entries += 1;
        Ok(())
    }

    fn follow(&mut self, event: &Event) -> Result<(), MakingError> {
        match event {
            Event::Heard(reading) => self.hear(reading),
            Event::Shaped { underside, sigma_m } => self.shape(underside, *sigma_m),
            Event::Cut { bands, passes } => {
                self.cut(bands)?;
                self.count(bands, *passes)
            }
            Event::Caliper { x_m, thickness_m } => self.caliper(x_m, thickness_m),
            Event::Trim { left_m, right_m } => self.trim(*left_m, *right_m),
            Event::Weighed { mass_kg } => self.weigh(*mass_kg),
        }
    }

    fn shape(&mut self, underside: &Underside, sigma_m: f64) -> Result<(), MakingError> {
        super::prior::same_length(underside, self.length_m())?;
        in_range("the uncertainty of the shape", sigma_m * 1e3, 0.0, 5.0, "mm", "0.3 mm is usual for a caliper")?;
        let sigma_m = sigma_m.hypot(priors::CALIPER_SIGMA_M);
        self.refuse_added_wood(underside, sigma_m)?;
        let change = self.model_change(underside);
        self.set_base(underside.clone());
        self.forget_thickness(sigma_m);
        self.drift_model(change);
        self.changed("sawn or measured anew", true);
        (self.diary.caliper_doubt, self.diary.unheard_cuts) = (None, Vec::new());
        Ok(())
    }

    /// A log in which wood comes back is contradictory.
    fn refuse_added_wood(&self, underside: &Underside, sigma_m: f64) -> Result<(), MakingError> {
        for (x_m, new_m) in underside.x_m().iter().zip(underside.thickness_m()) {
            let (old_m, old_sigma_m) = self.thickness_at(*x_m);
            // Half a millimetre besides 4 σ: a copied drawing is rounded.
            let allowed_m = 4.0 * old_sigma_m.hypot(sigma_m) + 0.5e-3;
            if *new_m > old_m + allowed_m {
                return Err(MakingError::new(
                    "wood_added",
                    format!(
                        "at {:.0} mm the new shape has {:.2} mm of wood where at most {:.2} mm was left",
                        x_m * 1e3,
                        new_m * 1e3,
                        (old_m + allowed_m) * 1e3
                    ),
                    "wood does not come back: check the thickness entered, or enter the bar as a new one",
                ));
            }
        }
        Ok(())
    }

    /// Relative change of the side view, a measure of how far the model must be trusted anew.
    fn model_change(&self, underside: &Underside) -> f64 {
        let before = self.underside.side_area_m2();
        ((before - underside.side_area_m2()) / before).abs()
    }

    /// Draws part of the model error anew after a change that moves pitch by about `relative` of the
    /// side view: taking 1 % of the wood off an arch moves its pitch by some tens of cents.
    fn drift_model(&mut self, relative: f64) {
        const CENTS_PER_RELATIVE_AREA: f64 = 4000.0;
        let share = priors::MODEL_DRIFT_SHARE * CENTS_PER_RELATIVE_AREA * relative;
        let sigmas = priors::BENDING_MODEL_CENTS.iter().chain(&priors::TORSION_MODEL_CENTS);
        for (i, sigma) in sigmas.enumerate() {
            let at = slot::BENDING_BIAS + i;
            let extra = (share * sigma / priors::BENDING_MODEL_CENTS[0]).min(*sigma);
            self.gaussian.covariance[(at, at)] += extra * extra;
        }
    }

    /// The bands were taken off as intended: mean through the hand, doubt through its unevenness.
    pub(crate) fn cut(&mut self, cut: &[Band]) -> Result<(), MakingError> {
        let length_m = self.length_m();
        bands::check(cut, length_m)?;
        let hand = self.hand();
        let extra = bands::stations(cut, length_m);
        let before = self.underside.clone();
        let lowered = before.lowered(&extra, |x| hand * bands::depth_at(cut, length_m, x))?;
        let change = self.model_change(&lowered);
        self.underside = lowered;
        self.spread_hand(cut, hand);
        self.roughen(cut, hand);
        self.drift_model(change);
        self.changed("cut", true);
        self.diary.unheard_cuts.extend_from_slice(cut);
        self.bar().map(|_| ())
    }

    /// Couples the thickness error to the error of the hand: δ ← δ − hand · depth · Δln(hand).
    fn spread_hand(&mut self, cut: &[Band], hand: f64) {
        let depth = self.hats.project(|x| bands::depth_at(cut, self.length_m(), x));
        let mut f = DMatrix::identity(self.gaussian.mean.len(), self.gaussian.mean.len());
        for i in 0..self.hats.nodes {
            f[(slot::THICKNESS + i, slot::LN_HAND)] = -hand * depth[i];
        }
        self.gaussian.spread(&f);
    }

    /// Process noise of a cut: its gain, each patch's gain, its edges, and node by node.
    fn roughen(&mut self, cut: &[Band], hand: f64) {
        let whole = self.hats.project(|x| bands::depth_at(cut, self.length_m(), x)) * hand;
        self.add_thickness_noise(&(&whole * priors::CUT_GAIN_SIGMA));
        for patch in patches(cut) {
            let depth = self.hats.project(|x| bands::depth_at(&[patch], self.length_m(), x)) * hand;
            self.add_thickness_noise(&(&depth * priors::PATCH_GAIN_SIGMA));
            for edge in edges(&patch, self.length_m()) {
                let bump = self.hats.project(|x| bands::depth_at(&[edge], self.length_m(), x)) * hand;
                self.add_thickness_noise(&bump);
            }
        }
        for i in 0..self.hats.nodes {
            let at = slot::THICKNESS + i;
            self.gaussian.covariance[(at, at)] += (priors::ROUGHNESS_SHARE * whole[i]).powi(2);
        }
    }

    fn add_thickness_noise(&mut self, heights_m: &DVector<f64>) {
        let mut direction = DVector::zeros(self.gaussian.mean.len());
        direction.rows_mut(slot::THICKNESS, self.hats.nodes).copy_from(heights_m);
        self.gaussian.add_noise(&direction);
    }

    fn count(&mut self, cut: &[Band], passes: Option<u32>) -> Result<(), MakingError> {
        match passes {
            Some(0) => Err(MakingError::new(
                "no_passes",
                "a cut of 0 passes was entered",
                "leave the passes out if not counted",
            )),
            Some(n) => {
                let total_m: f64 = cut.iter().map(|b| b.depth_m).sum();
                self.counted_passes.push(total_m / f64::from(n));
                Ok(())
            }
            None => Ok(()),
        }
    }

    fn trim(&mut self, left_m: f64, right_m: f64) -> Result<(), MakingError> {
        let trimmed = self.underside.trimmed(left_m, right_m)?;
        let new = Hats { length_m: trimmed.length_m(), nodes: self.hats.nodes };
        let onto = self.hats.onto(&new, left_m);
        let n = self.gaussian.mean.len();
        let mut f = DMatrix::identity(n, n);
        f.view_mut((slot::THICKNESS, slot::THICKNESS), (new.nodes, new.nodes)).copy_from(&onto);
        let moved = &f * &self.gaussian.mean;
        self.gaussian.mean = moved;
        self.gaussian.spread(&f);
        // f ~ 1/L² at least: a saw that is 0.2 mm off moves every mode by 2 · 1731 · 0.2 mm / L cents.
        let cents = 2.0 * 1731.2 * 0.2e-3 / new.length_m;
        let mut direction = DVector::zeros(n);
        direction.rows_mut(slot::BENDING_BIAS, slot::THICKNESS - slot::BENDING_BIAS).fill(cents);
        self.gaussian.add_noise(&direction);
        self.base = self.base.trimmed(left_m, right_m)?;
        self.smooth_base = self.smooth_base.trimmed(left_m, right_m)?;
        (self.underside, self.hats) = (trimmed, new);
        self.changed("trimmed", self.diary.shaped);
        Ok(())
    }

    pub(super) fn weigh(&mut self, mass_kg: f64) -> Result<(), MakingError> {
        let bar = self.bar()?;
        let volume_m3 = bar.mass_kg() / bar.wood.density_kg_m3;
        let hint = "check the scale's unit and the sizes; a dense hardwood is about 1000 kg/m³";
        in_range("the density that this mass means", mass_kg / volume_m3, 150.0, 1600.0, "kg/m³", hint)?;
        let area_m2 = volume_m3 / self.width_m;
        let mut row = DMatrix::zeros(1, self.gaussian.mean.len());
        row[(0, slot::LN_DENSITY)] = 1.0;
        let places = self.hats.places();
        let hat_areas = self.hats.integrals(&places, &vec![1.0; places.len()]);
        for i in 0..self.hats.nodes {
            row[(0, slot::THICKNESS + i)] = hat_areas[i] / area_m2;
        }
        let noise = (priors::MASS_SIGMA_KG / mass_kg).hypot(priors::PLAN_AREA_SIGMA);
        let innovation = DVector::from_element(1, (mass_kg / bar.mass_kg()).ln());
        self.gaussian.update(&innovation, &row, &DMatrix::from_element(1, 1, noise * noise));
        Ok(())
    }

    /// Starts the thickness error anew with this spread, independent of everything else.
    pub(super) fn forget_thickness(&mut self, sigma_m: f64) {
        let (at, n, all) = (slot::THICKNESS, self.hats.nodes, self.gaussian.mean.len());
        self.gaussian.mean.rows_mut(at, n).fill(0.0);
        self.gaussian.covariance.view_mut((at, 0), (n, all)).fill(0.0);
        self.gaussian.covariance.view_mut((0, at), (all, n)).fill(0.0);
        self.gaussian.covariance.view_mut((at, at), (n, n)).copy_from(&self.hats.thickness_prior(sigma_m));
    }

    /// Believed thickness at `x_m` and its σ.
    pub(crate) fn thickness_at(&self, x_m: f64) -> (f64, f64) {
        let weights = self.hats.weights(x_m);
        let mean: f64 = weights.iter().map(|(i, w)| w * self.gaussian.mean[slot::THICKNESS + i]).sum();
        let mut variance = 0.0;
        for (i, a) in weights {
            for (j, b) in weights {
                variance += a * b * self.gaussian.covariance[(slot::THICKNESS + i, slot::THICKNESS + j)];
            }
        }
        (self.underside.thickness_at(x_m) + mean, variance.max(0.0).sqrt())
    }

    fn changed(&mut self, how: &'static str, shaped: bool) {
        self.settled = None;
        self.diary.unheard_change = Some(how);
        self.diary.heard_bending.clear();
        self.diary.readings = 0;
        self.diary.latest_doubt = None;
        self.diary.shaped = shaped;
    }
}

/// The separate patches of a cut: a band on both sides is two, unless it covers the centre.
fn patches(cut: &[Band]) -> Vec<Band> {
    use crate::Side::{Both, Left, Right};
    cut.iter()
        .flat_map(|band| match band.side {
            Both if band.from_m > 0.0 => {
                vec![Band { side: Left, ..*band }, Band { side: Right, ..*band }]
            }
            _ => vec![*band],
        })
        .collect()
}

/// Strips as wide as an edge is uncertain, at the edges of a patch.
fn edges(patch: &Band, length_m: f64) -> Vec<Band> {
    let half_m = 0.5 * priors::EDGE_SIGMA_M;
    let limit_m = 0.5 * length_m;
    [patch.from_m, patch.to_m]
        .into_iter()
        .filter(|u| *u > 0.0)
        .map(|u| Band { from_m: (u - half_m).max(0.0), to_m: (u + half_m).min(limit_m), ..*patch })
        .collect()
}
