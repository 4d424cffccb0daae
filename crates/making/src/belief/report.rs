//! The belief told to others: a summary for people, predictions for the listener.
use super::observe::{MOST_BENDING, MOST_TORSION, Observed};
use super::{Belief, slot};
use crate::error::MakingError;
use crate::{BeliefSummary, Estimate, Hand};
use bar_physics::ModeKind;
use bar_physics::units::shifted;

/// Where a mode is expected before it is heard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExpectedMode {
    /// Family.
    pub kind: ModeKind,
    /// Number inside the family, from 1.
    pub number: usize,
    /// Expected frequency.
    pub hz: f64,
    /// Its standard uncertainty, in cents.
    pub sigma_cents: f64,
}

impl Belief {
    /// Predicted bending modes 1 to `bending` (at most 5) and torsion modes 1 to 2, with uncertainty.
    ///
    /// # Errors
    /// [`MakingError`] if the believed bar cannot be computed.
    pub fn expected(&self, bending: usize) -> Result<Vec<ExpectedMode>, MakingError> {
        let torsion = (1..=MOST_TORSION).map(|number| Observed { kind: ModeKind::Torsion, number });
        let observed: Vec<Observed> =
            Observed::bending(bending.clamp(1, MOST_BENDING)).into_iter().chain(torsion).collect();
        let linear = self.linear(&observed)?;
        let covariance = self.gaussian.projected(&linear.jacobian);
        let tell = |(i, seen): (usize, &Observed)| ExpectedMode {
            kind: seen.kind,
            number: seen.number,
            hz: shifted(1.0, linear.cents[i]),
            sigma_cents: covariance[(i, i)].max(0.0).sqrt(),
        };
        Ok(observed.iter().enumerate().map(tell).collect())
    }

    /// What is believed of wood, hand and shape.
    ///
    /// # Errors
    /// [`MakingError`] if the believed shape leaves no wood somewhere.
    pub fn summary(&self) -> Result<BeliefSummary, MakingError> {
        let bar = self.bar()?;
        let sigma = |at: usize| self.gaussian.sigma(at);
        // ln(G) = ln(E) + ln(G/E): the two are correlated, so the variance of the sum is taken.
        let shear_sigma = |at: usize| {
            let c = &self.gaussian.covariance;
            (c[(slot::LN_E, slot::LN_E)] + c[(at, at)] + 2.0 * c[(slot::LN_E, at)]).max(0.0).sqrt()
        };
        let log = |name, value: f64, sigma: f64, unit| Estimate { name, value, sigma: value * sigma, unit };
        let (pass_mm, pass_ln_sigma) = self.pass_depth();
        let percent = |name, at: usize, unit| Estimate {
            name,
            value: 100.0 * self.gaussian.mean[at],
            sigma: 100.0 * sigma(at),
            unit,
        };
        let wood = &bar.wood;
        let estimates = vec![
            log("E_L", wood.e_l_pa / 1e9, sigma(slot::LN_E), "GPa"),
            log("G_LH", wood.g_lh_pa / 1e9, shear_sigma(slot::LN_G_LH), "GPa"),
            log("G_LW", wood.g_lw_pa / 1e9, shear_sigma(slot::LN_G_LW), "GPa"),
            log("density", wood.density_kg_m3, sigma(slot::LN_DENSITY), "kg/m³"),
            percent("tilt", slot::TILT, "% stiffer at the right end than in the middle"),
            percent("bow", slot::BOW, "% stiffer at the ends than the mean"),
            log("hand", self.hand(), sigma(slot::LN_HAND), "× intended depth"),
            log("pass", pass_mm * 1e3, pass_ln_sigma, "mm per pass"),
        ];
        Ok(BeliefSummary {
            estimates,
            wood: wood.clone(),
            length_m: self.length_m(),
            thickness_sigma_m: bar.underside.x_m().iter().map(|x| self.thickness_at(*x).1).collect(),
            underside: bar.underside,
        })
    }

    /// What is now known of the hand, for the next bar by the same maker, belt and species.
    pub fn hand_learnt(&self) -> Hand {
        let (pass_m, pass_ln_sigma) = self.pass_depth();
        Hand { gain: self.hand(), gain_ln_sigma: self.gaussian.sigma(slot::LN_HAND), pass_m, pass_ln_sigma }
    }

    /// Actual depth of one pass in metres and the spread of its logarithm, from the counted cuts.
    pub(crate) fn pass_depth(&self) -> (f64, f64) {
        // One counted cut tells ln(depth per pass) to about a quarter: whole passes, uneven pressure.
        const ONE_CUT_SIGMA: f64 = 0.25;
        let mut precision = self.first_hand.pass_ln_sigma.powi(-2);
        let mut weighted = precision * self.first_hand.pass_m.ln();
        for intended_m in self.counted_passes.iter().filter(|d| **d > 0.0) {
            precision += ONE_CUT_SIGMA.powi(-2);
            weighted += ONE_CUT_SIGMA.powi(-2) * (intended_m * self.hand()).ln();
        }
        ((weighted / precision).exp(), precision.powf(-0.5))
    }
}
