//! A reading changes the belief: an iterated extended Kalman update (Bell & Cathey 1993), damped, with the
//! solid solved anew until the linearisation holds.
use super::observe::{Linear, MOST_BENDING, MOST_TORSION, Observed};
use super::{Belief, MIXING_CENTS, Settled, doubt, slot};
use crate::error::{MakingError, in_range};
use crate::{Reading, priors};
use bar_physics::{ModeKind, units};
use nalgebra::{DMatrix, DVector};

/// The iteration has arrived when no thickness moves by more than this share: the sensitivities then
/// change by about as much, which matters for shape errors that no reading has seen yet: they may be
/// worth some hundred cents, and so leak 0.2 cent.
const ARRIVED_SHARE: f64 = 0.0005;
/// … or when a step lowers the cost (half a squared σ is 0.5) by no more than this.
const ARRIVED_COST: f64 = 0.01;
/// σ of ln(G_LW/E_L) from which on torsion has no more to tell.
const KNOWN_SHEAR_SIGMA: f64 = 0.1;
const MOST_SOLVES: usize = 8;

impl Belief {
    pub(super) fn hear(&mut self, reading: &Reading) -> Result<(), MakingError> {
        check(reading)?;
        let (mut observed, heard_cents) = self.used(reading);
        if observed.is_empty() {
            let hint = "enter at least one bending or torsion frequency, or leave the reading out";
            return Err(MakingError::new("nothing_heard", "the reading holds no frequency", hint));
        }
        let mut first = self.linear(&observed)?;
        if self.trade_names(&mut observed, &heard_cents, &first) {
            first = self.linear(&observed)?;
        }
        let innovation = &heard_cents - &first.cents;
        let mut noise = noise(reading, observed.len());
        let doubt = doubt::of(self, &observed, &innovation, &first, &noise)
            .or_else(|| self.reads_as_before(reading).then(|| doubt::not_made(&innovation)).flatten());
        let confirmed = doubt.is_some() && self.confirms(reading);
        match &doubt {
            Some(doubt) if confirmed => self.trust(doubt, &observed),
            Some(doubt) => doubt.soften(&mut noise),
            None => {}
        }
        self.update(&observed, &heard_cents, first, &noise)?;
        self.plausible()?;
        self.note(reading, doubt.filter(|_| !confirmed).map(|d| d.text));
        Ok(())
    }

    /// Where bending and torsion mix, the name of either is a matter of degree: of a pair near each other the lower
    /// heard one is taken for the lower predicted one. Returns whether names were traded.
    fn trade_names(&self, observed: &mut [Observed], heard_cents: &DVector<f64>, first: &Linear) -> bool {
        if self.grain.is_symmetric_across() {
            return false;
        }
        let named = observed.to_vec();
        let of = |kind| (0..named.len()).filter(move |i| named[*i].kind == kind).collect::<Vec<usize>>();
        let mut traded = false;
        for b in of.clone()(ModeKind::Bending) {
            for t in of.clone()(ModeKind::Torsion) {
                let heard_apart = heard_cents[b] - heard_cents[t];
                let expected_apart = first.cents[b] - first.cents[t];
                if heard_apart.abs() < MIXING_CENTS && heard_apart * expected_apart < 0.0 {
                    observed.swap(b, t);
                    traded = true;
                }
            }
        }
        traded
    }

    /// A doubted reading came again: the model errs on these modes, by about as much as they are off
    /// (a torsion mode mixing in through turned grain, a cut entered wrongly).
    fn trust(&mut self, doubt: &doubt::Doubt, observed: &[Observed]) {
        for (seen, cents) in observed.iter().zip(doubt.beyond()) {
            let at = seen.bias();
            self.gaussian.covariance[(at, at)] += cents * cents;
        }
        self.diary.remarks.push(format!("a second reading confirms the first: {}", doubt.text));
    }

    /// The modes of a reading that the belief follows, with their pitch at room temperature.
    fn used(&self, reading: &Reading) -> (Vec<Observed>, DVector<f64>) {
        let correction = temperature_correction(reading.temperature_c).0;
        // Torsion tells of G_LW; once that is known it only costs a second solve per reading.
        let bending_heard = reading.bending_hz.iter().take(MOST_BENDING).any(Option::is_some);
        let torsion_tells = !bending_heard
            || !self.grain.is_symmetric_across()
            || self.gaussian.sigma(slot::LN_G_LW) > KNOWN_SHEAR_SIGMA;
        let kinds = [
            (ModeKind::Bending, &reading.bending_hz, MOST_BENDING),
            (ModeKind::Torsion, &reading.torsion_hz, if torsion_tells { MOST_TORSION } else { 0 }),
        ];
        let mut observed = Vec::new();
        let mut heard = Vec::new();
        for (kind, list, most) in kinds {
            for (i, hz) in list.iter().take(most).enumerate() {
                if let Some(hz) = hz {
                    observed.push(Observed { kind, number: i + 1 });
                    heard.push(units::cents(*hz, 1.0) + correction);
                }
            }
        }
        (observed, DVector::from_vec(heard))
    }

    /// Damped Gauss–Newton towards the most likely state (Bell & Cathey 1993; halved steps: Dennis &
    /// Schnabel 1996, ch. 6), then the covariance of a linear update there.
    ///
    /// Undamped it can swing for ever: modes that the prior ties together need a large move along what no
    /// reading has seen to come apart, and there the derivatives do not hold.
    fn update(
        &mut self,
        observed: &[Observed],
        heard_cents: &DVector<f64>,
        first: Linear,
        noise: &DMatrix<f64>,
    ) -> Result<(), MakingError> {
        let prior = self.gaussian.mean.clone();
        // The state is prior + covariance · weights, so the prior's share of the cost needs no inverse.
        let state = |weights: &DVector<f64>| &prior + &self.gaussian.covariance * weights;
        let precision = noise.clone().try_inverse().ok_or_else(not_positive)?;
        let cost = |weights: &DVector<f64>, linear: &Linear| {
            let missed = heard_cents - &linear.cents;
            0.5 * weights.dot(&(&self.gaussian.covariance * weights)) + 0.5 * missed.dot(&(&precision * &missed))
        };
        let mut weights = DVector::zeros(prior.len());
        let mut linear = first;
        let mut solves = 1;
        while solves < MOST_SOLVES {
            let at = state(&weights);
            let rest = heard_cents - &linear.cents - &linear.jacobian * (&prior - &at);
            let weighed = self.gaussian.weigh(&linear.jacobian, noise, &rest).ok_or_else(not_positive)?;
            let whole = weighed - &weights;
            let before = cost(&weights, &linear);
            let small = self.largest_share(&(&self.gaussian.covariance * &whole)) < ARRIVED_SHARE;
            let mut step = 1.0;
            let mut lowered = 0.0;
            while solves < MOST_SOLVES {
                let trial = &weights + &whole * step;
                let there = self.linear_at(&state(&trial), observed).map_err(|error| contradiction(&error))?;
                solves += 1;
                lowered = before - cost(&trial, &there);
                if lowered > 0.0 || small {
                    (weights, linear) = (trial, there);
                    break;
                }
                step *= 0.4;
            }
            if small || lowered < ARRIVED_COST {
                break;
            }
        }
        let at = state(&weights);
        // The covariance step with the derivatives of the very point arrived at: otherwise the wide directions
        // that no reading has seen leak in, and a mode just heard to half a cent seems doubtful by more.
        let nothing = DVector::zeros(observed.len());
        self.gaussian.update(&nothing, &linear.jacobian, noise);
        self.gaussian.mean = at;
        self.settled = Some(Settled { observed: observed.to_vec(), mean: self.gaussian.mean.clone(), linear });
        Ok(())
    }

    /// Largest relative change of thickness that a change of the state means.
    fn largest_share(&self, change: &DVector<f64>) -> f64 {
        let share = |i: usize| {
            let thickness_m = self.underside.thickness_at(self.hats.place(i)) + self.gaussian.mean[slot::THICKNESS + i];
            (change[slot::THICKNESS + i] / thickness_m).abs()
        };
        (0..self.hats.nodes).map(share).fold(0.0, f64::max)
    }

    /// Refuses a state that is no wood: the readings then belong to another bar or mode.
    fn plausible(&self) -> Result<(), MakingError> {
        let wood = self.bar()?.wood;
        let hint = "check which modes were entered, the sizes, and that the reading is of this bar";
        in_range("the stiffness that these readings mean", wood.e_l_pa / 1e9, 2.0, 60.0, "GPa", hint)?;
        in_range("the density that these readings mean", wood.density_kg_m3, 150.0, 1800.0, "kg/m³", hint)?;
        in_range(
            "the hand that these readings mean",
            self.gaussian.mean[slot::LN_HAND].exp(),
            0.1,
            10.0,
            "× intended",
            hint,
        )
    }

    /// Whether a cut was entered since the last reading and yet every bending mode reads as it did.
    fn reads_as_before(&self, reading: &Reading) -> bool {
        // 2 cents, or 4 σ of the difference if the readings are poor.
        let near = |before: &Reading| 2.0_f64.max(priors::DOUBT_SIGMAS * before.sigma_cents.hypot(reading.sigma_cents));
        let same = |before: &Reading| {
            let pairs = before.bending_hz.iter().zip(&reading.bending_hz);
            let mut apart = pairs.filter_map(|(a, b)| Some(units::cents((*a)?, (*b)?).abs())).peekable();
            apart.peek().is_some() && apart.all(|c| c < near(before))
        };
        self.diary.unheard_change == Some("cut") && self.diary.latest.as_ref().is_some_and(same)
    }

    /// Whether this reading repeats the one before, which was doubted, with no cut between them.
    fn confirms(&self, reading: &Reading) -> bool {
        let (Some(before), Some(_)) = (&self.diary.latest, &self.diary.latest_doubt) else { return false };
        // 5 cents, or 4 σ of the difference if the readings are poor.
        let limit = 5.0_f64.max(priors::DOUBT_SIGMAS * before.sigma_cents.hypot(reading.sigma_cents));
        let pairs = before.bending_hz.iter().zip(&reading.bending_hz);
        let mut both = pairs.filter_map(|(a, b)| Some(units::cents((*a)?, (*b)?).abs())).peekable();
        both.peek().is_some() && both.all(|c| c < limit)
    }

    fn note(&mut self, reading: &Reading, doubt: Option<String>) {
        let diary = &mut self.diary;
        let heard = reading.bending_hz.iter().map(Option::is_some);
        for (i, heard) in heard.enumerate() {
            if i >= diary.heard_bending.len() {
                diary.heard_bending.push(false);
            }
            diary.heard_bending[i] |= heard;
        }
        if reading.bending_hz.iter().any(Option::is_some) {
            diary.unheard_change = None;
            if doubt.is_none() {
                diary.unheard_cuts.clear();
            }
            diary.readings += 1;
        }
        if let Some(text) = &doubt {
            diary.remarks.push(text.clone());
        }
        diary.latest_doubt = doubt;
        diary.latest = Some(reading.clone());
    }
}

/// Refuses readings that cannot be a bar's modes.
fn check(reading: &Reading) -> Result<(), MakingError> {
    in_range("the uncertainty of the reading", reading.sigma_cents, 0.0, 100.0, "cents", "1 cent is usual")?;
    if let Some(t) = reading.temperature_c {
        in_range("the temperature of the bar", t, -20.0, 60.0, "°C", "give it in degrees Celsius, or leave it out")?;
    }
    for (kind, list) in [("bending", &reading.bending_hz), ("torsion", &reading.torsion_hz)] {
        let mut before = (0, 0.0);
        for (i, hz) in list.iter().enumerate() {
            let Some(hz) = *hz else { continue };
            in_range(&format!("{kind} mode {}", i + 1), hz, 10.0, 40_000.0, "Hz", "enter null for a mode not heard")?;
            if hz <= before.1 {
                let message =
                    format!("{kind} mode {} at {hz} Hz is not above mode {} at {} Hz", i + 1, before.0, before.1);
                return Err(MakingError::new("modes_out_of_order", message, "check which mode is which"));
            }
            before = (i + 1, hz);
        }
    }
    Ok(())
}

/// Cents to add to a reading to bring it to room temperature, and the doubt of that.
pub(crate) fn temperature_correction(temperature_c: Option<f64>) -> (f64, f64) {
    let Some(t) = temperature_c else { return (0.0, priors::UNKNOWN_TEMPERATURE_CENTS) };
    let outside = t - t.clamp(priors::ROOM_C.0, priors::ROOM_C.1);
    (-priors::DRIFT_CENTS_PER_C * outside, priors::DRIFT_SIGMA_CENTS_PER_C * outside.abs())
}

/// Covariance of a reading: each mode's own, and the temperature's common to all.
fn noise(reading: &Reading, n: usize) -> DMatrix<f64> {
    let own = reading.sigma_cents.hypot(priors::READING_FLOOR_CENTS);
    let common = temperature_correction(reading.temperature_c).1;
    DMatrix::from_fn(n, n, |i, j| common * common + if i == j { own * own } else { 0.0 })
}

fn contradiction(error: &MakingError) -> MakingError {
    MakingError::new(
        "readings_contradict",
        format!("no bar of this shape gives these readings ({error})"),
        "check which modes were entered, the sizes and the last cut; leave a doubtful mode out",
    )
}

fn not_positive() -> MakingError {
    MakingError::new(
        "belief_broke",
        "the belief about this bar is no longer a proper distribution",
        "start a new bar file with the shape as it is now",
    )
}
