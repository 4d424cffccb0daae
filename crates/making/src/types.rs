//! What goes into a decision. SI units; cents relative to the note's targets.
use crate::hand::Hand;
use crate::priors;
use bar_physics::{Grain, Underside, Wood};

/// One bar's task: what it is, what it shall become, and what has happened to it so far.
#[derive(Debug, Clone)]
pub struct Job {
    /// Frequency of the note at the reference temperature.
    pub note_hz: f64,
    /// Blank length before the first log entry.
    pub length_m: f64,
    /// Width.
    pub width_m: f64,
    /// Blank thickness.
    pub thickness_m: f64,
    /// Mass before the first log entry, if weighed.
    pub mass_kg: Option<f64>,
    /// Shape before the first log entry; `None` is a blank.
    pub underside: Option<Underside>,
    /// Wood, if known; else estimated from mass and readings with priors.
    pub wood: Option<Wood>,
    /// Grain directions.
    pub grain: Grain,
    /// What is aimed at.
    pub targets: Targets,
    /// What must not be passed.
    pub limits: Limits,
    /// This maker's hand on this belt and species, learnt from earlier bars; `None` starts from common practice.
    pub hand: Option<Hand>,
    /// What happened, in order of time.
    pub log: Vec<Event>,
}

/// Tuning targets.
#[derive(Debug, Clone, PartialEq)]
pub struct Targets {
    /// Wanted ratios of bending modes 1, 2, … to the note, e.g. `[1, 4, 10]`; its length is the number of tuned modes.
    pub ratios: Vec<f64>,
    /// How far above its target each mode is aimed at in this stage (100 in rough tuning, 0 in fine tuning).
    pub headroom_cents: f64,
}

impl Targets {
    /// The stage that this headroom means.
    pub fn stage(&self) -> Stage {
        if self.headroom_cents >= priors::ROUGH_HEADROOM_CENTS { Stage::Rough } else { Stage::Fine }
    }
}

/// Which part of the tuning is going on; between the two the bar is drilled and finished.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// All tuned modes to some headroom above their targets, commonly a semitone.
    Rough,
    /// To the targets.
    Fine,
}

/// Limits of a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Thinnest allowed wood anywhere, measured from the top face.
    pub min_thickness_m: f64,
}

/// Something that happened to the bar.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// It was struck and heard.
    Heard(Reading),
    /// It was sawn or measured to this whole profile, to within `sigma_m`.
    Shaped {
        /// The new underside.
        underside: Underside,
        /// Standard uncertainty of the profile.
        sigma_m: f64,
    },
    /// Bands were removed as intended; the hand's error is for the belief to find.
    Cut {
        /// The bands.
        bands: Vec<Band>,
        /// Passes made, if counted.
        passes: Option<u32>,
    },
    /// A spot reading of thickness.
    Caliper {
        /// Places, from the left end.
        x_m: Vec<f64>,
        /// Thickness there.
        thickness_m: Vec<f64>,
    },
    /// The ends were sawn off by this much; x then counts from the new left end.
    Trim {
        /// Off the left end.
        left_m: f64,
        /// Off the right end.
        right_m: f64,
    },
    /// It was weighed.
    Weighed {
        /// Its mass.
        mass_kg: f64,
    },
}

/// One reading of a bar's modes; index 0 is mode 1, `None` is not heard.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reading {
    /// Bending frequencies.
    pub bending_hz: Vec<Option<f64>>,
    /// Torsion frequencies.
    pub torsion_hz: Vec<Option<f64>>,
    /// Standard uncertainty of each, in cents.
    pub sigma_cents: f64,
    /// Temperature of the bar.
    pub temperature_c: Option<f64>,
}

/// Which side of the centre a band lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Side {
    /// Both sides alike.
    #[default]
    Both,
    /// Left of the centre in bench view.
    Left,
    /// Right of the centre in bench view.
    Right,
}

/// A band of wood on the underside, at distances from the centre of the bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Nearer edge, from the centre.
    pub from_m: f64,
    /// Farther edge, from the centre.
    pub to_m: f64,
    /// Depth to take off.
    pub depth_m: f64,
    /// Side.
    pub side: Side,
}
