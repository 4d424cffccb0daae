//! Planning one bout.
use super::choose::{Choice, Removal, Wish};
use super::{Bout, Goal, Kernel, Outcome, Place, Standing, sides};
use crate::belief::Belief;
use crate::error::MakingError;
use crate::{Band, Limits, Side, priors};

/// The hand and the shape that limit a bout.
pub(super) struct Task<'a> {
    pub belief: &'a Belief,
    pub goal: &'a Goal,
    pub limits: Limits,
}

impl Task<'_> {
    /// Bands for these falls by the sensitivities alone; `None` if no band helps.
    pub(super) fn choose(&self, now: &Standing, falls: &[f64]) -> Option<Vec<Band>> {
        let wishes = self.wishes(now, falls);
        let removals = self.choice(&now.kernel, &wishes).best();
        (!removals.is_empty()).then(|| self.intended(&removals))
    }

    /// Wanted fall of each mode in this bout.
    fn wished(&self, now: &Standing, gain: f64) -> Vec<f64> {
        // A mode with a twin below it goes no farther than the twin may, but a third of its own way at
        // least, or the two would never pass each other where they do not mix after all.
        const LEAST_SHARE: f64 = 0.35;
        let sigmas: Vec<f64> = (0..now.cents.len()).map(|i| now.sigma(i)).collect();
        let twins: Vec<f64> = now.cents.iter().zip(&now.twin_below).map(|(c, below)| c - below).collect();
        let falls = |cents: &[f64]| self.goal.falls(cents, &sigmas, gain);
        let falls = falls(&now.cents).into_iter().zip(falls(&twins));
        falls.map(|(own, twin)| own.min(twin.max(LEAST_SHARE * own))).collect()
    }

    fn choice<'k>(&'k self, kernel: &'k Kernel, wishes: &'k [Wish]) -> Choice<'k> {
        Choice { kernel, wishes, deepest_m: Box::new(|place| self.deepest_m(place)), grid_m: self.grid_m() }
    }

    pub(super) fn plan(&self, now: &Standing) -> Result<Outcome, MakingError> {
        let mut wished = self.wished(now, self.gain_sigma());
        let mut wishes = self.wishes(now, &wished);
        let mut removals = self.choice(&now.kernel, &wishes).best();
        if removals.is_empty() {
            return Ok(Outcome::Stuck { thin: self.thin() });
        }
        let mut after = self.after(&removals)?;
        // Now it is known how steady these bands are: go as far as that allows.
        if let Some(gain) = realised_gain(now, &after) {
            wished = self.wished(now, gain);
            wishes = self.wishes(now, &wished);
        }
        // The sensitivities change as wood goes: aim again with those of the chord.
        for _ in 0..3 {
            let missed =
                (0..wished.len()).map(|i| (now.cents[i] - after.cents[i] - wished[i]).abs() / (1.0 + 0.05 * wished[i]));
            if missed.fold(0.0, f64::max) <= 1.0 {
                break;
            }
            let chord = now.kernel.mean(&after.kernel);
            let places: Vec<Place> = removals.iter().map(|r| r.place).collect();
            let again = self.choice(&chord, &wishes).depths(&places);
            if same(&again, &removals) {
                break;
            }
            removals = again;
            after = self.after(&removals)?;
        }
        removals.retain(|r| r.depth_m > 0.0);
        self.within_risk(now, removals, after)
    }

    /// Shrinks the bout until its risk is allowed, and judges whether it is worth making.
    fn within_risk(
        &self,
        now: &Standing,
        mut removals: Vec<Removal>,
        mut after: Standing,
    ) -> Result<Outcome, MakingError> {
        let before = now.any_flat(self.goal);
        let risk_of = |standing: &Standing| (standing.any_flat(self.goal) - before).max(0.0);
        let widening = self.widening(now, &removals, &after)?;
        after.widen(&widening);
        let mut risk = risk_of(&after);
        let whole = removals.clone();
        let scaled = |factor: f64| -> Vec<Removal> {
            whole.iter().map(|r| Removal { depth_m: r.depth_m * factor, ..*r }).collect()
        };
        // The share of the bout that risks too much, and the largest tried that does not.
        let (mut too_much, mut share) = (None::<f64>, 1.0_f64);
        for _ in 0..8 {
            if removals.is_empty() {
                break;
            }
            let next = match too_much {
                // Too timid after a shrink: half way back, once it is worth a solve.
                Some(more) if risk < 0.3 * priors::RISK_AIM && more / share > 1.1 => (more * share).sqrt(),
                _ if risk <= priors::RISK_AIM => break,
                _ => share * self.shrink(risk),
            };
            let smaller = scaled(next);
            let mut then = self.after(&smaller)?;
            then.widen(&widening);
            let then_risk = risk_of(&then);
            if next > share {
                if then_risk > priors::RISK_AIM {
                    break;
                }
            } else {
                // Between the aim and the limit a bout that still helps is better than one that does not.
                if risk <= priors::RISK_LIMIT && !self.goal.nearer(&now.cents, &then.cents) {
                    break;
                }
                too_much = Some(share);
            }
            (removals, after, risk, share) = (smaller, then, then_risk, next);
        }
        if !self.goal.nearer(&now.cents, &after.cents) {
            return Ok(Outcome::Stuck { thin: self.thin() });
        }
        if risk > priors::RISK_LIMIT {
            return Ok(Outcome::Unsure { risk });
        }
        Ok(Outcome::Bout(Box::new(Bout { bands: self.intended(&removals), after, risk })))
    }

    /// Factor on the depths for a bout whose risk is too high.
    fn shrink(&self, risk: f64) -> f64 {
        if risk > 5.0 * priors::RISK_LIMIT { 0.7 } else { 0.85 }
    }

    /// How much wider each mode's flat side is than the linear σ says: sensitivities grow as wood
    /// goes, and a heavy hand is a factor, not a sum. From the solid at a removal two σ too deep.
    fn widening(&self, now: &Standing, removals: &[Removal], after: &Standing) -> Result<Vec<f64>, MakingError> {
        let falls: Vec<f64> = now.cents.iter().zip(&after.cents).map(|(a, b)| a - b).collect();
        // Below 20 cents the curvature is lost in the doubt of the reading.
        if falls.iter().all(|f| *f < 20.0) {
            return Ok(vec![1.0; falls.len()]);
        }
        let gain = self.gain_sigma();
        let deep: Vec<Removal> =
            removals.iter().map(|r| Removal { depth_m: r.depth_m * (2.0 * gain).exp(), ..*r }).collect();
        let deepest = self.after(&deep)?;
        let widen = |i: usize| {
            let linear = 2.0 * gain * falls[i];
            if falls[i] < 5.0 { 1.0 } else { ((after.cents[i] - deepest.cents[i]) / linear).clamp(1.0, 3.0) }
        };
        Ok((0..falls.len()).map(widen).collect())
    }

    /// σ of ln(actual / planned depth) of a whole bout.
    fn gain_sigma(&self) -> f64 {
        let hand = self.belief.gaussian.sigma(crate::belief::slot::LN_HAND);
        // Two patches share their own errors out between them.
        let patch = priors::PATCH_GAIN_SIGMA.hypot(priors::EDGE_GAIN_SIGMA) / std::f64::consts::SQRT_2;
        hand.hypot(priors::CUT_GAIN_SIGMA).hypot(patch)
    }

    /// The tuned modes after these removals, by the full solid; the hand's doubt included.
    fn after(&self, removals: &[Removal]) -> Result<Standing, MakingError> {
        let mut later = self.belief.clone();
        later.cut(&self.intended(removals))?;
        Standing::of(&later, self.goal)
    }

    /// What the maker must intend so that his hand takes off these depths; mode 3's place first.
    fn intended(&self, removals: &[Removal]) -> Vec<Band> {
        let hand = self.belief.hand();
        let mut bands: Vec<Band> = removals
            .iter()
            .map(|r| sides::band(self.belief, r, self.limits))
            .map(|band| Band { depth_m: band.depth_m / hand, ..band })
            .collect();
        // The higher the mode, the farther out its place: outer bands first is the order 3, 2, 1.
        bands.sort_by(|a, b| b.from_m.total_cmp(&a.from_m));
        bands
    }

    fn wishes(&self, now: &Standing, falls: &[f64]) -> Vec<Wish> {
        let scale = |i: usize| {
            // A miss matters by the tolerance; where the way is long, 6 % of it will do:
            // the hand errs by more, and broad bands are worth it.
            let tight = 0.1 * self.goal.modes[i].tolerance_cents;
            let room = self.goal.modes[i].above(now.cents[i]) - falls[i];
            tight.max(0.06 * falls[i]).min(0.5 + 0.2 * room.max(0.0))
        };
        falls
            .iter()
            .enumerate()
            .map(|(i, fall_cents)| Wish { fall_cents: *fall_cents, scale_cents: scale(i) })
            .collect()
    }

    /// Deepest removal at a place: the thinnest wood there less the limit, with a hand of + 30 %.
    fn deepest_m(&self, place: &Place) -> f64 {
        (sides::spare_m(self.belief, place, self.limits, Side::Both) / sides::HAND_MARGIN)
            .clamp(0.0, priors::DEEPEST_BAND_M)
    }

    /// Whether the wood at the thinnest place is within 0.3 mm of the limit.
    fn thin(&self) -> bool {
        let places = self.belief.hats.places();
        places.iter().any(|x| self.belief.thickness_at(*x).0 < self.limits.min_thickness_m + 0.3e-3)
    }

    /// Band edges are marked in steps of 5 mm, on short bars of 2 mm.
    fn grid_m(&self) -> f64 {
        if self.belief.length_m() >= 0.25 { 0.005 } else { 0.002 }
    }
}

/// σ of ln(actual / planned fall) that the solid and the hand's doubt give a bout: that of the least steady mode
/// among those that fall by more than their readings' doubt.
fn realised_gain(now: &Standing, after: &Standing) -> Option<f64> {
    let gain = |i: usize| {
        let fall = now.cents[i] - after.cents[i];
        let added = (after.sigma(i).powi(2) - now.sigma(i).powi(2)).max(0.0).sqrt();
        (fall > 3.0 * now.sigma(i)).then(|| added / fall)
    };
    (0..now.cents.len()).filter_map(gain).max_by(f64::total_cmp)
}

fn same(a: &[Removal], b: &[Removal]) -> bool {
    // A micrometre is beyond any hand.
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a.depth_m - b.depth_m).abs() < 1e-6)
}
