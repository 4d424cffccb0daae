//! From the arch to saw cuts: blade heights and stops, pairs from one stop, never into the margin.
//!
//! * `across` — the blade crosses the bar: every kerf has a flat bottom
//! * `along` — the blade runs along the bar: its round edge leaves a circular end to every cut
//!
//! All heights are depths from the underside of the blank, all lengths are rounded to the saw's own
//! scale towards more wood. A step never goes deeper than the setting beyond what was sawn there before.
mod across;
mod along;
mod profile;
mod scale;
mod words;

pub use profile::Sawn;
pub use scale::SawScale;

use crate::error::{MakingError, in_range};
use bar_physics::Underside;

/// How the blade meets the bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Blade {
    /// The bar crosses the blade: kerfs side by side with flat bottoms.
    Across,
    /// The bar runs along the blade, dropped and lifted between two stops: a blade of this radius.
    Along {
        /// Radius of the blade.
        radius_m: f64,
    },
}

/// The saw and the habits of its user.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SawSetup {
    /// Across or along.
    pub blade: Blade,
    /// Width of one kerf.
    pub kerf_m: f64,
    /// Wood left above the line of the arch.
    pub margin_m: f64,
    /// Deepest cut of one pass.
    pub pass_m: f64,
    /// Difference between neighbouring blade heights near the line.
    pub stair_m: f64,
    /// The scale that heights and stops are set by.
    pub scale: SawScale,
    /// Minutes for one kerf with both its ends.
    pub minutes_per_kerf: f64,
    /// Minutes to set and check one blade height.
    pub minutes_per_height: f64,
}

impl Default for SawSetup {
    /// Kerf 3 mm (common 2.5 to 3.2), margin 3 mm (common practice), passes of 6 mm (6 to 8 from memory),
    /// stairs of 2 mm, half-millimetre scale; 15 s a kerf and 2 min a height (common practice, no source).
    fn default() -> Self {
        Self {
            blade: Blade::Across,
            kerf_m: 3.0e-3,
            margin_m: 3.0e-3,
            pass_m: 6.0e-3,
            stair_m: 2.0e-3,
            scale: SawScale::HalfMillimetre,
            minutes_per_kerf: 0.25,
            minutes_per_height: 2.0,
        }
    }
}

/// Deepest single pass that may be set, metres. Memory: 6 to 8 mm.
const DEEPEST_PASS_M: f64 = 8.0e-3;
/// Below this length a bar is not held by hand or by a usual carrier, metres. Memory.
const SHORT_M: f64 = 0.25;

impl SawSetup {
    fn check(&self) -> Result<(), MakingError> {
        in_range(
            "the kerf",
            self.kerf_m * 1e3,
            1.0,
            25.0,
            "mm",
            "a saw blade cuts 2.5 to 3.2 mm, a trenching set up to 25 mm",
        )?;
        let margin_hint = "common is 3 mm; less leaves no wood for the judgement";
        in_range("the margin to the line", self.margin_m * 1e3, 1.0, 10.0, "mm", margin_hint)?;
        let pass_hint = "deep single passes are not for a saw table: 6 mm is common";
        in_range("the depth of a pass", self.pass_m * 1e3, 1.0, DEEPEST_PASS_M * 1e3, "mm", pass_hint)?;
        in_range(
            "the stair",
            self.stair_m * 1e3,
            0.5,
            self.pass_m * 1e3,
            "mm",
            "stairs are finer than passes: 2 mm is common",
        )?;
        if let Blade::Along { radius_m } = self.blade {
            in_range(
                "the radius of the blade",
                radius_m * 1e3,
                30.0,
                250.0,
                "mm",
                "a blade of 250 mm has a radius of 125 mm",
            )?;
        }
        Ok(())
    }
}

/// Where cuts of one height are made: the same on both sides of the centre, the bar turned end for end.
#[derive(Debug, Clone, PartialEq)]
pub struct SawStep {
    /// Order, from 1; the blade is only ever raised.
    pub order: usize,
    /// Blade height: depth from the underside of the blank.
    pub height_m: f64,
    /// Nearest and farthest wood touched, from the centre.
    pub from_m: f64,
    /// … farthest.
    pub to_m: f64,
    /// Distances from the stop's end of the bar to the near face of the kerf, outermost first. Along the bar:
    /// the one distance from each end to the axle of the blade where a cut begins and ends.
    pub stops_m: Vec<f64>,
    /// Kerfs on both sides together (across), or side by side over the width (along).
    pub kerfs: usize,
    /// Deepest cut into wood at this step.
    pub bite_m: f64,
    /// Estimated minutes, blade height included.
    pub minutes: f64,
}

/// The saw steps of one bar.
#[derive(Debug, Clone)]
pub struct SawPlan {
    /// Steps in order.
    pub steps: Vec<SawStep>,
    /// What will be left.
    pub sawn: Sawn,
    /// Kerfs in all.
    pub kerfs: usize,
    /// Estimated minutes in all.
    pub minutes: f64,
    /// Reasons and things to know.
    pub reasons: Vec<String>,
    /// Short cautions.
    pub cautions: Vec<String>,
}

/// Plans the saw cuts for the arch `line` on a flat blank of `thickness_m`, `width_m` wide.
///
/// After all steps the wood left is at least the line plus the margin everywhere, and nowhere less than
/// `min_thickness_m` plus the margin.
///
/// # Errors
/// `out_of_range` for a setting beyond what is sensible; `nothing_to_saw` if the arch is no deeper than the margin.
pub fn saw_steps(
    line: &Underside,
    thickness_m: f64,
    width_m: f64,
    min_thickness_m: f64,
    setup: &SawSetup,
) -> Result<SawPlan, MakingError> {
    setup.check()?;
    let allowed = profile::Allowed::new(line, thickness_m, min_thickness_m, setup.margin_m);
    let steps = match setup.blade {
        Blade::Across => across::steps(&allowed, setup),
        Blade::Along { radius_m } => along::steps(&allowed, setup, radius_m, width_m),
    };
    if steps.is_empty() {
        return Err(MakingError::new(
            "nothing_to_saw",
            format!(
                "the arch is {:.1} mm deep and {:.1} mm of margin stay: no cut of {:.1} mm or more is left",
                allowed.deepest_m() * 1e3 + setup.margin_m * 1e3,
                setup.margin_m * 1e3,
                setup.scale.finest_m() * 1e3
            ),
            "sand it, or set a smaller margin",
        ));
    }
    let sawn = Sawn::new(&steps, line.length_m(), thickness_m, setup);
    Ok(SawPlan {
        kerfs: steps.iter().map(|s| s.kerfs).sum(),
        minutes: steps.iter().map(|s| s.minutes).sum(),
        reasons: words::reasons(&steps, &sawn, line, setup),
        cautions: words::cautions(line.length_m(), setup),
        steps,
        sawn,
    })
}
