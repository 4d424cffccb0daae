//! Spot readings of thickness, and what is probably wrong with one that does not fit.
use super::{Belief, CaliperDoubt, slot};
use crate::error::{MakingError, in_range};
use crate::priors;
use nalgebra::{DMatrix, DVector};

/// Readings nearer than this are of the same place.
const SAME_PLACE_M: f64 = 0.008;
/// … and say the same if they differ by less than this: three times a caliper's own error.
const SAME_THICKNESS_M: f64 = 3.0 * priors::CALIPER_SIGMA_M;

impl Belief {
    pub(super) fn caliper(&mut self, x_m: &[f64], thickness_m: &[f64]) -> Result<(), MakingError> {
        if x_m.len() != thickness_m.len() || x_m.is_empty() {
            let message = format!("{} places but {} thicknesses were calipered", x_m.len(), thickness_m.len());
            return Err(MakingError::new("caliper_count", message, "give one thickness for each place"));
        }
        for (x, t) in x_m.iter().zip(thickness_m) {
            in_range("a calipered place", x * 1e3, 0.0, self.length_m() * 1e3, "mm", "places count from the left end")?;
            in_range("a calipered thickness", t * 1e3, 0.5, 100.0, "mm", "check the caliper's unit")?;
            self.caliper_once(*x, *t)?;
        }
        Ok(())
    }

    fn caliper_once(&mut self, x_m: f64, thickness_m: f64) -> Result<(), MakingError> {
        let (believed_m, sigma_m) = self.thickness_at(x_m);
        let off_m = thickness_m - believed_m;
        let mut noise_m = priors::CALIPER_SIGMA_M;
        let doubted = off_m.abs() > priors::DOUBT_SIGMAS * sigma_m.hypot(noise_m);
        let again = self.diary.caliper_doubt.take_if(|d| (d.x_m - x_m).abs() < SAME_PLACE_M);
        match again {
            Some(before) if doubted && (before.thickness_m - thickness_m).abs() < SAME_THICKNESS_M => {
                self.trust_caliper(off_m);
                self.diary.remarks.push(format!(
                    "a second caliper reading at {:.0} mm confirms the first: the shape is corrected there",
                    x_m * 1e3
                ));
            }
            _ if doubted => {
                let text = self.caliper_text(x_m, thickness_m, (believed_m, sigma_m));
                self.diary.remarks.push(text.clone());
                self.diary.caliper_doubt = Some(CaliperDoubt { text, x_m, thickness_m });
                // The rule stays softer the less likely the reading: it then counts as 4 σ away.
                noise_m = (off_m / priors::DOUBT_SIGMAS).hypot(noise_m);
            }
            _ => {}
        }
        let mut row = DMatrix::zeros(1, self.gaussian.mean.len());
        for (i, weight) in self.hats.weights(x_m) {
            row[(0, slot::THICKNESS + i)] += weight;
        }
        let noise = DMatrix::from_element(1, 1, noise_m * noise_m);
        self.gaussian.update(&DVector::from_element(1, off_m), &row, &noise);
        self.bar().map(|_| ())
    }

    /// The shape errs by about as much as the caliper says, as smoothly as shapes do.
    fn trust_caliper(&mut self, off_m: f64) {
        let (at, n) = (slot::THICKNESS, self.hats.nodes);
        let wider = self.hats.thickness_prior(off_m.abs());
        let mut shape = self.gaussian.covariance.view_mut((at, at), (n, n));
        shape += wider;
    }

    fn caliper_text(&self, x_m: f64, thickness_m: f64, (believed_m, sigma_m): (f64, f64)) -> String {
        let culprit = self.caliper_culprit(x_m, thickness_m);
        let found = format!(
            "the caliper reads {:.2} mm at {:.0} mm where {:.2} ± {:.2} mm was expected",
            thickness_m * 1e3,
            x_m * 1e3,
            believed_m * 1e3,
            sigma_m * 1e3
        );
        format!("{found}: {culprit}")
    }

    /// The slip that explains the reading best, if one does within 2 σ; else the last cut or the caliper itself.
    fn caliper_culprit(&self, x_m: f64, thickness_m: f64) -> String {
        const FITS_SIGMAS: f64 = 2.0;
        // A slip is a round number of centimetres, or counts from an edge that is itself known to this.
        const SLIP_SIGMA_M: f64 = 0.2e-3;
        let length_m = self.length_m();
        let mut slips: Vec<(f64, f64, String)> = Vec::new();
        for step_m in [0.01, -0.01, 0.02, -0.02] {
            let way = if step_m > 0.0 { "left" } else { "right" };
            let text = format!("probably a wrong place, {:.0} mm too far {way}", f64::abs(step_m) * 1e3);
            slips.push((x_m + step_m, thickness_m, text));
        }
        if x_m < 0.5 * length_m {
            for (place_m, side) in [(0.5 * length_m - x_m, "left"), (0.5 * length_m + x_m, "right")] {
                slips.push((place_m, thickness_m, format!("probably {side} of the centre, counted from the centre")));
            }
        }
        slips.push((length_m - x_m, thickness_m, "probably counted from the right end".into()));
        let blank_m = self.thickness_at(0.0).0.max(self.thickness_at(length_m).0);
        slips.push((x_m, blank_m - thickness_m, "probably the depth of the arch, not the wood left".into()));
        let misfit = |(place_m, t_m, text): (f64, f64, String)| {
            let (believed_m, sigma_m) = self.thickness_at(place_m);
            let inside = (0.0..=length_m).contains(&place_m);
            let doubt_m = sigma_m.hypot(priors::CALIPER_SIGMA_M).hypot(SLIP_SIGMA_M);
            inside.then(|| ((t_m - believed_m).abs() / doubt_m, text))
        };
        let fitting = slips.into_iter().filter_map(misfit).find(|(off, _)| *off < FITS_SIGMAS);
        fitting.map_or_else(
            || match self.diary.unheard_cuts.is_empty() {
                true => "a wrong place, or the caliper not square".to_owned(),
                false => "a wrong place, or the last cut was entered wrongly".to_owned(),
            },
            |(_, text)| text,
        )
    }
}
