//! What goes into a decision and what comes out. SI units; cents relative to the note's targets.
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

/// What to do with the bar now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decision {
    /// Take wood off the given bands.
    Cut,
    /// All tuned modes are where this stage wants them.
    Finished,
    /// Do not cut yet: strike, weigh or let it cool first (see the reasons).
    Wait,
    /// No removal reaches the targets: see the options.
    Rescue,
}

/// A mode's state now or after the planned cut, against its target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModeOutlook {
    /// Bending mode number, from 1.
    pub mode: usize,
    /// Target frequency (note × ratio, without headroom).
    pub target_hz: f64,
    /// Best estimate now, cents above the target.
    pub now_cents: f64,
    /// Its standard uncertainty.
    pub now_sigma_cents: f64,
    /// Where this stage wants it, cents above the target.
    pub aim_cents: f64,
    /// Expected reading after the planned cut (equals `now` when nothing is cut).
    pub expected_cents: f64,
    /// Its standard uncertainty, the hand included.
    pub expected_sigma_cents: f64,
    /// Chance that the planned cut leaves this mode flat of its aim by more than the tolerance.
    pub risk_flat: f64,
}

/// When to stop before the bout is over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StopReading {
    /// Bending mode number to watch.
    pub mode: usize,
    /// Stop when it reads this many cents above its target.
    pub cents: f64,
    /// The same in hertz.
    pub hz: f64,
}

/// One way out, or one thing to weigh up, with its price.
#[derive(Debug, Clone, PartialEq)]
pub struct RescueOption {
    /// Stable name: `trim_ends`, `thin_ends`, `lower_note`, `higher_note`, `accept`, `replace`.
    pub code: &'static str,
    /// What to do, in workshop words.
    pub action: String,
    /// What it costs and what becomes of the nodes.
    pub effect: String,
    /// Predicted cents of each tuned mode against its target after this step (before any re-cut); empty for `replace`.
    pub predicted_cents: Vec<f64>,
}

/// What is believed of one quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// Stable name: `E_L`, `G_LH`, `G_LW`, `density`, `hand`, …
    pub name: &'static str,
    /// Value, in `unit`.
    pub value: f64,
    /// Standard uncertainty, in `unit`.
    pub sigma: f64,
    /// Unit, in words for a table: "GPa", "kg/m³", "× intended depth".
    pub unit: &'static str,
}

/// What is believed of the bar as it lies there.
#[derive(Debug, Clone)]
pub struct BeliefSummary {
    /// Wood and hand.
    pub estimates: Vec<Estimate>,
    /// Most likely wood.
    pub wood: Wood,
    /// Length now.
    pub length_m: f64,
    /// Most likely underside now.
    pub underside: Underside,
    /// Standard uncertainty of the thickness at each of its stations.
    pub thickness_sigma_m: Vec<f64>,
}

/// The answer to "where do I cut next, and how much?".
#[derive(Debug, Clone)]
pub struct Advice {
    /// What to do.
    pub decision: Decision,
    /// The one instruction, in workshop words.
    pub instruction: String,
    /// Why, in short sentences.
    pub reasons: Vec<String>,
    /// Bands to remove, in the order to remove them (empty unless `Cut`).
    pub bands: Vec<Band>,
    /// Passes, as a range (fewest, most); `None` unless `Cut`.
    pub passes: Option<(u32, u32)>,
    /// Each tuned mode now and after.
    pub outlook: Vec<ModeOutlook>,
    /// Chance that any tuned mode ends flat through this bout.
    pub risk_flat: f64,
    /// When to stop.
    pub stop_when: Option<StopReading>,
    /// What is believed of the bar.
    pub belief: BeliefSummary,
    /// Ways out, best first (empty unless `Rescue`).
    pub options: Vec<RescueOption>,
    /// Short safety and handling cautions for this step.
    pub cautions: Vec<String>,
}
