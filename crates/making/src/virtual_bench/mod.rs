//! The virtual bench: a simulated bar of invented wood and a clumsy simulated maker.
//!
//! Everything here is invented, seeded and repeatable. The planner never sees the hidden bar; it sees
//! what a maker would have: a blank measured with small errors, a mass, readings, a calipered shape.
mod greedy;
#[cfg(test)]
mod hand_test;
mod maker;
mod rehearsal;
mod sound;
mod tally;
mod wood;

pub use rehearsal::{Adviser, Run, Step, TOLERANCE_CENTS, rehearse};
pub use sound::{StrikePlace, StruckMode};
pub use tally::{LAST_STEP, Tally, Task, compass, row};
pub use wood::usual_size;

use crate::error::{MakingError, in_range};
use crate::naming;
use crate::next::decide;
use crate::{
    Advice, Band, Belief, Event, Job, Limits, Reading, Targets, believe, design_arch, node_tilt_m, plan_angle_rad,
};
use bar_physics::units::{cents, shifted};
use bar_physics::{Bar, Grain, Modes, Underside, Unevenness, Wanted};
use maker::Maker;

/// Standard uncertainty of the virtual bench's own readings, in cents: a few even blows.
pub const READING_SIGMA_CENTS: f64 = 0.5;
/// Wood a saw leaves above the arch's line, metres (least, most).
const SAW_MARGIN_M: (f64, f64) = (2.0e-3, 3.0e-3);

/// A simulated bar on its way from blank to tuned.
#[derive(Debug, Clone)]
pub struct VirtualBar {
    hidden: Bar,
    job: Job,
    maker: Maker,
    /// True modes of the hidden bar as it is: tuned ones, two of torsion, one sideways.
    truth: Modes,
    /// The belief after the first `taken` entries of the log; a replay would give the same, only slower.
    belief: Belief,
    taken: usize,
}

impl VirtualBar {
    /// A bar for `note_hz`, sawn and struck, with sizes interpolated from a table of usual ones.
    ///
    /// Tuned modes follow [`usual_ratios`]; where no arch reaches all of them in this wood, the highest
    /// is left untuned, as a maker would.
    ///
    /// # Errors
    /// [`MakingError`] if the note is outside the table (C2 to C7) or no arch can be designed for the
    /// believed wood.
    pub fn new(seed: u64, note_hz: f64) -> Result<Self, MakingError> {
        let mut ratios = usual_ratios(note_hz);
        loop {
            match Self::with_ratios(seed, note_hz, &ratios) {
                Err(error) if error.code == "arch_out_of_reach" && ratios.len() > 1 => {
                    ratios.truncate(ratios.len() - 1)
                }
                other => return other,
            }
        }
    }

    /// As [`VirtualBar::new`], with these ratios tuned.
    ///
    /// # Errors
    /// As [`VirtualBar::new`].
    pub fn with_ratios(seed: u64, note_hz: f64, ratios: &[f64]) -> Result<Self, MakingError> {
        in_range("the note", note_hz, 60.0, 2200.0, "Hz", "the virtual bench knows sizes from C2 to C7")?;
        let mut random = fastrand::Rng::with_seed(seed);
        let [length_m, width_m, thickness_m] = wood::usual_size(note_hz);
        let hidden = wood::blank(&mut random, [length_m, width_m, thickness_m])?;
        let measured = |random: &mut fastrand::Rng, true_m: f64, sigma_m: f64| {
            // A caliper shows hundredths; a rule, half millimetres.
            ((true_m + sigma_m * crate::gaussian::standard_normal(random)) * 1e5).round() / 1e5
        };
        let job = Job {
            note_hz,
            length_m: measured(&mut random, length_m, 0.2e-3),
            width_m: measured(&mut random, width_m, 0.1e-3),
            thickness_m: measured(&mut random, thickness_m, 0.05e-3),
            mass_kg: Some((hidden.mass_kg() * 1e3).round() / 1e3),
            underside: None,
            wood: None,
            grain: Grain::default(),
            targets: Targets { ratios: ratios.to_vec(), headroom_cents: 0.0 },
            limits: Limits { min_thickness_m: wood::least_thickness_m(note_hz) },
            hand: None,
            log: Vec::new(),
        };
        let maker = Maker::new(random);
        let belief = believe(&job)?;
        let truth = Self::solve(&hidden, &job)?;
        let mut bar = Self { hidden, job, maker, truth, belief, taken: 0 };
        bar.hear()?;
        bar.sprinkle()?;
        bar.saw()?;
        bar.hear()?;
        Ok(bar)
    }

    /// What the maker knows.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// The hidden bar, for judging the result; no planner may look.
    pub fn hidden(&self) -> &Bar {
        &self.hidden
    }

    /// True modes of the hidden bar.
    ///
    /// # Errors
    /// [`MakingError`] if the bar has become impossible.
    pub fn true_modes(&self, wanted: Wanted) -> Result<Modes, MakingError> {
        Ok(naming::modes(&self.hidden, wanted)?)
    }

    /// The modes that a reading of the hidden bar needs.
    fn solve(hidden: &Bar, job: &Job) -> Result<Modes, MakingError> {
        let tuned = job.targets.ratios.len();
        Ok(naming::modes(hidden, Wanted { bending: tuned.max(2), torsion: 2, sideways: 1 })?)
    }

    /// True cents of each tuned mode above its target.
    ///
    /// # Errors
    /// As [`VirtualBar::true_modes`].
    pub fn true_cents(&self) -> Result<Vec<f64>, MakingError> {
        let ratios = &self.job.targets.ratios;
        Ok(self.truth.bending.iter().zip(ratios).map(|(m, r)| cents(m.hz, self.job.note_hz * r)).collect())
    }

    /// Enters a reading made elsewhere, for example by listening to the sound of [`VirtualBar::strike`].
    pub fn enter(&mut self, reading: Reading) {
        self.job.log.push(Event::Heard(reading));
    }

    /// Strikes the bar and enters its tuned modes with [`READING_SIGMA_CENTS`] of error.
    ///
    /// # Errors
    /// As [`VirtualBar::true_modes`].
    pub fn hear(&mut self) -> Result<(), MakingError> {
        let modes = &self.truth;
        let random = &mut self.maker.random;
        let mut read = |hz: f64| Some(shifted(hz, READING_SIGMA_CENTS * crate::gaussian::standard_normal(random)));
        let reading = Reading {
            bending_hz: modes.bending.iter().map(|m| read(m.hz)).collect(),
            torsion_hz: modes.torsion.iter().map(|m| read(m.hz)).collect(),
            sigma_cents: READING_SIGMA_CENTS,
            temperature_c: Some(21.0),
        };
        self.enter(reading);
        Ok(())
    }

    /// The answer of [`crate::next`] to the log so far, without replaying what was replayed before.
    ///
    /// # Errors
    /// As [`crate::next`].
    pub fn advise(&mut self) -> Result<Advice, MakingError> {
        self.catch_up()?;
        decide(&self.job, &self.belief)
    }

    /// What is believed after the entries taken so far.
    fn belief(&self) -> &Belief {
        &self.belief
    }

    /// Takes the new entries of the log into the belief.
    fn catch_up(&mut self) -> Result<(), MakingError> {
        for event in &self.job.log[self.taken..] {
            self.belief.take(event)?;
            self.taken += 1;
        }
        Ok(())
    }

    /// The salt test on the blank: the tilt of a node line, read to 1 mm, tells how the grain turns in plan.
    ///
    /// Only on broad bars, where mode 1 meets torsion and the mixing decides what it reads; elsewhere the
    /// straight-grained solid, several times as fast, is near enough.
    fn sprinkle(&mut self) -> Result<(), MakingError> {
        if self.job.length_m > crate::belief::BROAD * self.job.width_m {
            return Ok(());
        }
        let tilt_m = node_tilt_m(&self.hidden)? + 1e-3 * crate::gaussian::standard_normal(&mut self.maker.random);
        self.catch_up()?;
        self.job.grain.plan_rad = plan_angle_rad(&self.belief.bar()?, tilt_m)?;
        self.belief = believe(&self.job)?;
        Ok(())
    }

    /// Designs the arch for the wood believed from the blank, saws it with a margin, and calipers it.
    fn saw(&mut self) -> Result<(), MakingError> {
        self.catch_up()?;
        let believed = self.belief.bar()?;
        let flat = Underside::flat(self.job.length_m, self.job.thickness_m)?;
        // Drawn as if the grain were straight: where bending meets torsion the line is the same, only the names differ.
        let blank = Bar { underside: flat, grain: Grain::default(), ..believed };
        // The line is drawn for the rough stage, a semitone above the note, as is common practice.
        let rough = Targets { headroom_cents: 100.0, ..self.job.targets.clone() };
        let arch = design_arch(&blank, self.job.note_hz, &rough, self.job.limits)?;
        let margin_m = SAW_MARGIN_M.0 + (SAW_MARGIN_M.1 - SAW_MARGIN_M.0) * self.maker.random.f64();
        let sawn = self.maker.saw(&self.hidden.underside, &arch.underside, margin_m)?;
        self.hidden.underside = sawn;
        self.truth = Self::solve(&self.hidden, &self.job)?;
        let calipered = self.maker.caliper(&self.hidden.underside, self.job.length_m)?;
        self.job.log.push(Event::Shaped { underside: calipered, sigma_m: 0.3e-3 });
        Ok(())
    }

    /// The clumsy maker takes off these bands, believing that he did exactly that, and enters it.
    ///
    /// # Errors
    /// [`MakingError`] if the bar is cut through.
    pub fn cut(&mut self, bands: &[Band], passes: Option<u32>) -> Result<(), MakingError> {
        crate::bands::check(bands, self.hidden.length_m())?;
        self.hidden.underside = self.maker.sand(&self.hidden.underside, bands)?;
        self.truth = Self::solve(&self.hidden, &self.job)?;
        self.job.log.push(Event::Cut { bands: bands.to_vec(), passes });
        Ok(())
    }
}

impl VirtualBar {
    /// Saws `d_m` off each end, each cut 0.2 mm off at 1 σ, and enters it as intended.
    ///
    /// # Errors
    /// [`MakingError`] if nothing would be left.
    pub fn trim(&mut self, d_m: f64) -> Result<(), MakingError> {
        let mut sawn = || (d_m + 0.2e-3 * crate::gaussian::standard_normal(&mut self.maker.random)).max(0.0);
        let (left_m, right_m) = (sawn(), sawn());
        let before = &self.hidden;
        let underside = before.underside.trimmed(left_m, right_m)?;
        let x_m = wood::stations(underside.length_m(), 0.01);
        let factors: Vec<(f64, f64)> = x_m.iter().map(|x| before.unevenness.at(x + left_m)).collect();
        let (stiffness_factor, density_factor) = factors.into_iter().unzip();
        self.hidden.unevenness = Unevenness { x_m, stiffness_factor, density_factor };
        self.hidden.underside = underside;
        self.truth = Self::solve(&self.hidden, &self.job)?;
        self.job.log.push(Event::Trim { left_m: d_m, right_m: d_m });
        Ok(())
    }
}

/// Tuned modes over the compass: three up to about C4, two up to about G5, one above.
///
/// Common practice (memory) has two up to about C6; but a bar of the sizes used here is too long and
/// thin there: the solid finds mode 2 at C6 some 150 cents flat of 1 : 4 for any arch one could saw.
pub fn usual_ratios(note_hz: f64) -> Vec<f64> {
    // C4 = 261.6 Hz and G5 = 784.0 Hz, with a hair of room for other pitch standards.
    match note_hz {
        hz if hz < 266.0 => vec![1.0, 4.0, 10.0],
        hz if hz < 797.0 => vec![1.0, 4.0],
        _ => vec![1.0],
    }
}
