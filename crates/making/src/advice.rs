//! What comes out of a decision. SI units; cents relative to the note's targets.
use crate::{Band, Stage};
use bar_physics::{Underside, Wood};

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
    /// Trim per end, or depth to take off the ends, in metres; `None` where nothing is measured off.
    pub amount_m: Option<f64>,
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

/// What one entry of the log changed in the belief, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Learnt {
    /// Which entry, from 0.
    pub entry: usize,
    /// Its kind as in the bar file: `heard`, `caliper`, `weighed`.
    pub kind: &'static str,
    /// One to three sentences, the most telling first.
    pub lines: Vec<String>,
}

/// The answer to "where do I cut next, and how much?".
#[derive(Debug, Clone)]
pub struct Advice {
    /// What to do.
    pub decision: Decision,
    /// The one instruction, in workshop words.
    pub instruction: String,
    /// The stage this advice works for.
    pub stage: Stage,
    /// What must happen between rough and fine tuning, in order; empty unless the rough stage is finished.
    pub pause: Vec<String>,
    /// Why, in short sentences.
    pub reasons: Vec<String>,
    /// What the entries of the log taught, oldest first; those that taught nothing are left out.
    pub learnt: Vec<Learnt>,
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
