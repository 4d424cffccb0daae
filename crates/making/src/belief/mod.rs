//! What is believed of one bar: a joint Gaussian over wood, shape error and the maker's hand,
//! built by replaying the log in order.
//!
//! State: ln E_L, ln(G_LH/E_L), ln(G_LW/E_L), ln ρ, tilt and bow of the stiffness along the bar,
//! ln(hand), the model's own error on seven modes, and the thickness error on hat functions. The
//! shape itself is kept exactly (every cut with its edges); only its error is Gaussian.
mod caliper;
mod doubt;
mod hear;
mod learnt;
mod log;
mod observe;
mod prior;
mod report;
#[cfg(test)]
mod tests;

use crate::basis::{Hats, bow, tilt};
use crate::error::MakingError;
use crate::gaussian::Gaussian;
use crate::{Band, Hand, Job, Learnt, Reading, smooth};
use bar_physics::{Bar, Grain, Modes, Underside, Unevenness, Wanted, Wood, units};
use nalgebra::DVector;

pub(crate) use observe::Observed;
pub use report::ExpectedMode;

/// Places of the quantities in the state.
pub(crate) mod slot {
    pub const LN_E: usize = 0;
    pub const LN_G_LH: usize = 1;
    pub const LN_G_LW: usize = 2;
    pub const LN_DENSITY: usize = 3;
    pub const TILT: usize = 4;
    pub const BOW: usize = 5;
    pub const LN_HAND: usize = 6;
    /// Model error of bending 1–5.
    pub const BENDING_BIAS: usize = 7;
    /// Model error of torsion 1–2.
    pub const TORSION_BIAS: usize = 12;
    /// First thickness node.
    pub const THICKNESS: usize = 14;
}

/// What is believed of the bar as it lies there.
#[derive(Debug, Clone)]
pub struct Belief {
    pub(crate) gaussian: Gaussian,
    pub(crate) hats: Hats,
    /// Best shape, with every cut's edges, without the mean of the thickness error.
    pub(crate) underside: Underside,
    /// The last shape given whole, from which the cuts since then are counted.
    base: Underside,
    /// The same as the solid is to see it.
    smooth_base: Underside,
    width_m: f64,
    grain: Grain,
    /// Wood whose other constants are scaled with E_L.
    template: Wood,
    /// What the hand was known to be before the first entry.
    first_hand: Hand,
    /// Intended depth per counted pass, in metres, one entry per counted cut.
    counted_passes: Vec<f64>,
    /// The derivatives of the last update, while they hold.
    settled: Option<Settled>,
    pub(crate) diary: Diary,
}

/// Bars shorter than this many widths are broad: turned grain then makes bending and torsion mix.
pub(crate) const BROAD: f64 = 5.5;
/// Bending and torsion nearer than this may mix, cents; seen on the virtual bench, see [`Belief::twins_below`].
const MIXING_CENTS: f64 = 400.0;

/// Predictions and derivatives at the mean that the last reading led to.
#[derive(Debug, Clone)]
struct Settled {
    observed: Vec<Observed>,
    mean: DVector<f64>,
    linear: observe::Linear,
}

/// What the replay noticed on the way.
#[derive(Debug, Clone, Default)]
pub(crate) struct Diary {
    /// The last change of shape that no reading has followed yet.
    pub unheard_change: Option<&'static str>,
    /// Bending modes heard since the last change of shape.
    pub heard_bending: Vec<bool>,
    /// Readings since the last change of shape.
    pub readings: usize,
    /// The latest reading.
    pub latest: Option<Reading>,
    /// Why the latest reading is doubted, if it is.
    pub latest_doubt: Option<String>,
    /// Why the caliper is doubted, where it was held and what it read, in metres, if it is.
    pub caliper_doubt: Option<CaliperDoubt>,
    /// Cuts entered since the last reading.
    pub unheard_cuts: Vec<Band>,
    /// Why earlier entries were doubted, and what was assumed.
    pub remarks: Vec<String>,
    /// What the entries taught, in words.
    pub learnt: Vec<Learnt>,
    /// Entries taken.
    pub entries: usize,
    /// Whether a shape or a cut was ever entered.
    pub shaped: bool,
}

/// A caliper reading that does not fit.
#[derive(Debug, Clone)]
pub(crate) struct CaliperDoubt {
    pub text: String,
    pub x_m: f64,
    pub thickness_m: f64,
}

/// Replays the log of `job`.
///
/// # Errors
/// [`MakingError`] for values out of range and entries that contradict each other physically.
pub fn believe(job: &Job) -> Result<Belief, MakingError> {
    prior::check(job)?;
    let mut belief = prior::belief(job)?;
    for (index, event) in job.log.iter().enumerate() {
        belief.take(event).map_err(|error| error.at_entry(index))?;
    }
    Ok(belief)
}

impl Belief {
    /// The most likely bar.
    ///
    /// # Errors
    /// [`MakingError`] if the believed shape leaves no wood somewhere.
    pub fn bar(&self) -> Result<Bar, MakingError> {
        self.bar_at(&self.gaussian.mean)
    }

    /// The bar that a state describes.
    pub(crate) fn bar_at(&self, state: &DVector<f64>) -> Result<Bar, MakingError> {
        let length_m = self.hats.length_m;
        let grid = smooth::grid(length_m);
        let error_m =
            |x: &f64| -> f64 { self.hats.weights(*x).iter().map(|(i, w)| w * state[slot::THICKNESS + i]).sum() };
        // Hats have corners too, and a large error would move the solid's element edges.
        let error_m = smooth::twiced(&grid.iter().map(error_m).collect::<Vec<f64>>());
        let less_m: Vec<f64> = self.removed(&grid).iter().zip(&error_m).map(|(r, e)| r - e).collect();
        let underside = self.smooth_base.lowered(&grid, |x| smooth::at(&less_m, length_m, x))?;
        let mut bar = Bar::new(self.width_m, underside, self.wood_at(state), self.grain);
        bar.unevenness = unevenness(length_m, state[slot::TILT], state[slot::BOW]);
        Ok(bar)
    }

    /// What was taken off since the last whole shape, without steps, as the solid is to see it.
    fn removed(&self, grid: &[f64]) -> Vec<f64> {
        let removed: Vec<f64> =
            grid.iter().map(|x| self.base.thickness_at(*x) - self.underside.thickness_at(*x)).collect();
        smooth::removal(&removed, self.hats.length_m)
    }

    /// Starts from a shape given whole.
    fn set_base(&mut self, underside: Underside) {
        self.hats.length_m = underside.length_m();
        self.smooth_base = smooth::given(&underside);
        self.base = underside.clone();
        self.underside = underside;
    }

    fn wood_at(&self, state: &DVector<f64>) -> Wood {
        let mut wood = self.template.clone();
        let e_l_pa = state[slot::LN_E].exp();
        let scale = e_l_pa / wood.e_l_pa;
        wood.e_l_pa = e_l_pa;
        wood.e_w_pa *= scale;
        wood.e_h_pa *= scale;
        wood.g_wh_pa *= scale;
        wood.g_lh_pa = e_l_pa * state[slot::LN_G_LH].exp();
        wood.g_lw_pa = e_l_pa * state[slot::LN_G_LW].exp();
        wood.density_kg_m3 = state[slot::LN_DENSITY].exp();
        wood
    }

    /// Modes of the most likely bar.
    pub(crate) fn modes(&self, wanted: Wanted) -> Result<Modes, MakingError> {
        Ok(bar_physics::solid::modes(&self.bar()?, wanted)?)
    }

    /// Actual depth per intended depth, as believed.
    pub(crate) fn hand(&self) -> f64 {
        self.gaussian.mean[slot::LN_HAND].exp()
    }

    /// For each tuned bending mode: how far below it, in cents, the latest reading has a torsion mode
    /// that it may trade places with; 0 if there is none.
    ///
    /// Where the grain turns in plan, bending and torsion mix when they come near each other, and as wood
    /// goes the lower of the two becomes the note. On the short, broad bars of the top octave, with grain
    /// turned by 3°, the two repel by some 150 cents and mix over twice that (seen on the virtual bench);
    /// on slender bars too little to matter. A twin below the target stays where it is.
    pub(crate) fn twins_below(&self, targets_hz: &[f64]) -> Vec<f64> {
        // Where the turn of the grain is known the solid sees the mixing itself.
        let blind = self.grain.is_symmetric_across() && self.hats.length_m < BROAD * self.width_m;
        let reading = self.diary.latest.as_ref().filter(|_| blind);
        let below = |(i, target_hz): (usize, &f64)| {
            let bending_hz = reading.and_then(|r| r.bending_hz.get(i).copied().flatten());
            let (Some(reading), Some(bending_hz)) = (reading, bending_hz) else { return 0.0 };
            let twins = reading.torsion_hz.iter().flatten().filter(|hz| *hz > target_hz);
            let apart = twins.map(|hz| units::cents(bending_hz, *hz));
            apart.filter(|c| (0.0..MIXING_CENTS).contains(c)).fold(0.0, f64::max)
        };
        targets_hz.iter().enumerate().map(below).collect()
    }

    /// Tuned bending modes (from 0) that have yet to come down past a heard torsion mode while the turn of the grain
    /// is not known; with the frequency of that torsion mode.
    pub(crate) fn crossings(&self, targets_hz: &[f64]) -> Vec<(usize, f64)> {
        let reading = self.diary.latest.as_ref().filter(|_| self.grain.is_symmetric_across());
        let Some(reading) = reading else { return Vec::new() };
        let first = |(i, target_hz): (usize, &f64)| {
            let bending_hz = reading.bending_hz.get(i).copied().flatten()?;
            let between = |hz: &&f64| **hz > *target_hz && **hz < bending_hz;
            reading.torsion_hz.iter().flatten().find(between).map(|hz| (i, *hz))
        };
        targets_hz.iter().enumerate().filter_map(first).collect()
    }

    /// Length now.
    pub fn length_m(&self) -> f64 {
        self.hats.length_m
    }
}

/// Stiffness factors along the bar for a tilt and a bow; density even.
fn unevenness(length_m: f64, tilt_amplitude: f64, bow_amplitude: f64) -> Unevenness {
    const PIECES: usize = 16;
    let x_m: Vec<f64> = (0..=PIECES).map(|i| length_m * i as f64 / PIECES as f64).collect();
    let factor = |x: f64| 1.0 + tilt_amplitude * tilt(x, length_m) + bow_amplitude * bow(x, length_m);
    Unevenness {
        // Half is far beyond any wood; it only keeps the solver's input valid.
        stiffness_factor: x_m.iter().map(|x| factor(*x).clamp(0.5, 2.0)).collect(),
        density_factor: vec![1.0; x_m.len()],
        x_m,
    }
}
