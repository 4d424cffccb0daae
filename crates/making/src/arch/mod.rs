//! The arch for given targets: the shape of the underside at which all tuned modes are where they are wanted.
//!
//! * [`design_arch`] — for a note, ratios and one headroom; [`design`] — with every wish and limit
//! * [`remedies`] — what would make an arch possible that is not, each found by solving
//! * [`row`] — arches along a row that vary smoothly from bar to bar
//! * [`layout`] — what the maker marks on the wood: stations, modes, nodes, doubts
mod designer;
pub mod layout;
mod programme;
pub mod remedies;
pub mod row;
mod slopes;
mod trace;

pub use trace::traced;

use crate::error::{MakingError, in_range};
use crate::{Limits, Targets};
use bar_physics::{Bar, Underside};

/// A designed arch.
#[derive(Debug, Clone)]
pub struct Arch {
    /// The underside.
    pub underside: Underside,
    /// Thickness at the centre.
    pub centre_m: f64,
    /// From the centre to the shoulder where the arch begins (a tenth of a millimetre deep).
    pub half_length_m: f64,
    /// Cents of each tuned mode above its target, by the solid.
    pub cents: Vec<f64>,
    /// Cents of each tuned mode above its aim (target and headroom), by the solid.
    pub misses_cents: Vec<f64>,
    /// Steepest slope of the underside.
    pub steepest_slope: f64,
    /// Tightest radius of the hollow or of the shoulder.
    pub tightest_radius_m: f64,
    /// Wood left at the node line of mode 1, where the cord hole goes.
    pub at_node_m: f64,
    /// Solves of the solid it took.
    pub solves: usize,
}

/// What an arch must keep to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArchLimits {
    /// Thinnest wood anywhere, from the top face.
    pub min_thickness_m: f64,
    /// Full thickness kept at each end, at least.
    pub end_m: f64,
    /// Wood wanted at the node line of mode 1, where the cord hole goes.
    pub hole_wood_m: f64,
    /// Steepest slope of the underside (1 is 45°).
    pub steepest_slope: f64,
}

impl ArchLimits {
    /// Usual limits for a blank of this length and thickness.
    ///
    /// Full thickness over a tenth of the length at each end; 4 mm of wood under and over a hole of 6 mm,
    /// though never more than 70 % of the blank; a slope of 45°, which a drum of 50 mm follows. Common
    /// practice, no source.
    pub fn usual(min_thickness_m: f64, length_m: f64, thickness_m: f64) -> Self {
        Self {
            min_thickness_m,
            end_m: 0.1 * length_m,
            hole_wood_m: (0.014_f64).min(0.7 * thickness_m),
            steepest_slope: 1.0,
        }
    }
}

/// Everything an arch is designed from.
#[derive(Debug, Clone)]
pub struct ArchTask {
    /// The blank: a flat underside; its wood, grain and unevenness are used as they are.
    pub blank: Bar,
    /// Frequency of the note.
    pub note_hz: f64,
    /// Wanted ratio of bending modes 1, 2, … to the note; as many as are tuned, at most three.
    pub ratios: Vec<f64>,
    /// Wanted cents above the target, one for each ratio.
    pub headroom_cents: Vec<f64>,
    /// Limits.
    pub limits: ArchLimits,
    /// A shape to stay near: a neighbour's arch, scaled to this bar. `None` prefers most wood and gentle slopes.
    pub follow: Option<Underside>,
}

impl ArchTask {
    /// The task of `targets` within the usual limits.
    pub fn usual(blank: &Bar, note_hz: f64, targets: &Targets, limits: Limits) -> Self {
        let (_, thickness_m) = blank.underside.thinnest();
        Self {
            blank: blank.clone(),
            note_hz,
            ratios: targets.ratios.clone(),
            headroom_cents: vec![targets.headroom_cents; targets.ratios.len()],
            limits: ArchLimits::usual(limits.min_thickness_m, blank.length_m(), thickness_m),
            follow: None,
        }
    }

    fn check(&self) -> Result<(), MakingError> {
        let (_, thickness_m) = self.blank.underside.thinnest();
        if self.blank.underside.thickness_m().iter().any(|t| (t - thickness_m).abs() > 1e-4) {
            let message = "the bar already has an arch";
            return Err(MakingError::new("not_a_blank", message, "give the blank's flat underside"));
        }
        self.check_modes()?;
        let half_mm = 0.5e3 * self.blank.length_m();
        let slope_hint = "1 is 45 degrees; a usual limit is 1";
        in_range("the steepest slope", self.limits.steepest_slope, 0.1, 5.0, "", slope_hint)?;
        let end_hint = "leave at least a third of the half length for the arch";
        in_range("the full thickness kept at each end", self.limits.end_m * 1e3, 0.0, half_mm / 1.5, "mm", end_hint)?;
        let thick_hint = "it is measured from the top face; common is 6 mm";
        in_range("the smallest thickness", self.limits.min_thickness_m * 1e3, 0.5, 50.0, "mm", thick_hint)?;
        if self.limits.min_thickness_m >= 0.95 * thickness_m {
            return Err(MakingError::new(
                "arch_out_of_reach",
                words::tell!(
                    "arch-blank-thin",
                    thick = words::figure(thickness_m * 1e3, 1),
                    stay = words::figure(self.limits.min_thickness_m * 1e3, 1),
                ),
                words::tell!("arch-blank-thin-hint"),
            ));
        }
        Ok(())
    }

    fn check_modes(&self) -> Result<(), MakingError> {
        let hint = "give one to three rising ratios, such as 1 4 10, and one headroom for each";
        in_range("the note", self.note_hz, 20.0, 8000.0, "Hz", "give the note the bar is for")?;
        in_range("the number of tuned modes", self.ratios.len() as f64, 1.0, 3.0, "", hint)?;
        in_range(
            "the number of headrooms",
            self.headroom_cents.len() as f64,
            self.ratios.len() as f64,
            self.ratios.len() as f64,
            "",
            hint,
        )?;
        for ratio in &self.ratios {
            in_range("a ratio", *ratio, 0.5, 20.0, "", hint)?;
        }
        for headroom in &self.headroom_cents {
            in_range("a headroom", *headroom, -600.0, 600.0, "cents", "100 in rough tuning, 0 at the end")?;
        }
        match self.ratios.windows(2).find(|r| r[1] <= r[0]) {
            Some(r) => Err(MakingError::new("out_of_range", format!("ratio {} follows {}", r[1], r[0]), hint)),
            None => Ok(()),
        }
    }
}

/// Why no arch was found, with the nearest one.
#[derive(Debug, Clone)]
pub struct OutOfReach {
    /// The nearest arch within the limits.
    pub nearest: Arch,
    /// In words.
    pub error: MakingError,
}

/// The outcome of a design.
#[derive(Debug, Clone)]
pub enum Design {
    /// All tuned modes are at their aims.
    Found(Arch),
    /// They cannot all be, within the limits.
    OutOfReach(Box<OutOfReach>),
}

/// Designs the arch of `task`: of all smooth arches that hit the targets within the limits the one that
/// leaves most wood at the centre and has gentle slopes, or that stays nearest to the shape to follow.
///
/// # Errors
/// `not_a_blank`, `out_of_range`, `arch_out_of_reach` for a blank hardly thicker than the limit, and
/// whatever the solid refuses.
pub fn design(task: &ArchTask) -> Result<Design, MakingError> {
    task.check()?;
    designer::design(task)
}

/// Designs the arch of `blank` so that its bending modes lie at note × ratio, `targets.headroom_cents` above,
/// within the usual limits.
///
/// # Errors
/// As [`design`]; `arch_out_of_reach` says which mode misses by how much and what would help.
pub fn design_arch(blank: &Bar, note_hz: f64, targets: &Targets, limits: Limits) -> Result<Arch, MakingError> {
    match design(&ArchTask::usual(blank, note_hz, targets, limits))? {
        Design::Found(arch) => Ok(arch),
        Design::OutOfReach(out) => Err(out.error),
    }
}
