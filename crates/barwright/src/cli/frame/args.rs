//! Arguments of `rails`, `frame` and `drill`.
use clap::Args;
use records::workshop::FramePlanRecord;
use std::path::PathBuf;

/// Where node lines come from, and how the frame shall be.
///
/// What is not said is as the record has it for the instrument, else as usual.
#[derive(Debug, Args)]
pub(in crate::cli) struct FrameWishes {
    /// Table of node lines (CSV; see docs/frame.md for its columns), bass to treble
    pub(super) nodes: Option<PathBuf>,
    /// Take the node lines from the salt tests of this instrument's bars in the record
    #[arg(long, value_name = "NAME")]
    pub(super) instrument: Option<String>,
    /// Space between bars, in millimetres [usual: 12.7]
    #[arg(long, value_name = "MM")]
    gap: Option<f64>,
    /// All bars in one row
    #[arg(long, num_args = 0..=1, default_missing_value = "true", require_equals = true, value_name = "true|false")]
    one_row: Option<bool>,
    /// How far the accidentals' ends lie over the naturals' ends, on average, in millimetres [usual: 10]
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    overlap: Option<f64>,
    /// Least share of the convergence that the outer rails take, 0 to 2 [usual: 0.5]
    #[arg(long, value_name = "SHARE")]
    outer_share_from: Option<f64>,
    /// Greatest share of the convergence that the outer rails take; as the least one to set it [usual: 1]
    #[arg(long, value_name = "SHARE")]
    outer_share_to: Option<f64>,
    /// Both outer rails lean alike
    #[arg(long, num_args = 0..=1, default_missing_value = "true", require_equals = true, value_name = "true|false")]
    symmetric: Option<bool>,
    /// What an outer end off its neighbours' line costs, as a share of the same miss at a node; 0 leaves ends free [usual: 0]
    #[arg(long, value_name = "SHARE")]
    fair: Option<f64>,
    /// Let the rails of a row bend at the post after this bar, e.g. F4; once for each row; "none" for straight ones
    #[arg(long, value_name = "NOTE")]
    bend_after: Vec<String>,
    /// Doubt of each node number, in millimetres [usual: 1]
    #[arg(long, value_name = "MM")]
    sigma: Option<f64>,
    /// Fit the rails even if the record has them set by hand
    #[arg(long)]
    fitted: bool,
}

impl FrameWishes {
    /// These wishes over what was said before.
    pub(super) fn over(&self, mut plan: FramePlanRecord) -> FramePlanRecord {
        let set = |to: &mut f64, from: Option<f64>| *to = from.unwrap_or(*to);
        set(&mut plan.gap_mm, self.gap);
        set(&mut plan.overlap_mm, self.overlap);
        set(&mut plan.fairness, self.fair);
        set(&mut plan.sigma_mm, self.sigma);
        plan.one_row = self.one_row.unwrap_or(plan.one_row);
        plan.symmetric = self.symmetric.unwrap_or(plan.symmetric);
        let [least, most] = &mut plan.outer_share;
        match (self.outer_share_from, self.outer_share_to) {
            (Some(from), to) => (*least, *most) = (from, to.unwrap_or(*most).max(from)),
            (None, Some(to)) => (*least, *most) = (least.min(to), to),
            (None, None) => {}
        }
        match self.bend_after.as_slice() {
            [] => {}
            [none] if none.eq_ignore_ascii_case("none") => plan.bend_after.clear(),
            notes => plan.bend_after = notes.to_vec(),
        }
        if self.fitted {
            plan.by_hand.clear();
        }
        plan
    }
}

/// Arguments of `rails`.
#[derive(Debug, Args)]
pub(in crate::cli) struct RailsArgs {
    #[command(flatten)]
    pub(super) wishes: FrameWishes,
    /// Keep these wishes in the record, for the page and the other commands
    #[arg(long, requires = "instrument")]
    pub(super) keep: bool,
    /// Draw the frame from above into a new SVG file
    #[arg(long, value_name = "FILE")]
    pub(super) picture: Option<PathBuf>,
    /// Write the node lines into a new CSV file
    #[arg(long, value_name = "FILE")]
    pub(super) nodes_csv: Option<PathBuf>,
}

/// Arguments of `frame`.
#[derive(Debug, Args)]
pub(in crate::cli) struct FrameArgs {
    #[command(flatten)]
    pub(super) wishes: FrameWishes,
    #[command(flatten)]
    pub(super) wood: WoodArgs,
    /// Draw the frame from above, with posts and the room for tubes, into a new SVG file
    #[arg(long, value_name = "FILE")]
    pub(super) picture: Option<PathBuf>,
    /// Draw the bass end board full size into a new SVG file
    #[arg(long, value_name = "FILE")]
    pub(super) bass_board: Option<PathBuf>,
    /// Draw the treble end board full size into a new SVG file
    #[arg(long, value_name = "FILE")]
    pub(super) treble_board: Option<PathBuf>,
    /// Write the posts into a new CSV file
    #[arg(long, value_name = "FILE")]
    pub(super) posts_csv: Option<PathBuf>,
}

/// The wood of a frame; what is not said is as the record has it, else as usual.
#[derive(Debug, Args)]
pub(in crate::cli) struct WoodArgs {
    /// Thickness of the rails seen from above, in millimetres [usual: 20]
    #[arg(long, value_name = "MM")]
    rail_thickness: Option<f64>,
    /// Height of the rails, in millimetres [usual: 60]
    #[arg(long, value_name = "MM")]
    rail_height: Option<f64>,
    /// Thickness of the end boards, in millimetres [usual: 22]
    #[arg(long, value_name = "MM")]
    end_board: Option<f64>,
    /// Diameter of the posts with their felt, in millimetres [usual: 8]
    #[arg(long, value_name = "MM")]
    post: Option<f64>,
    /// How much higher the accidentals' rails lie, in millimetres [usual: 35]
    #[arg(long, value_name = "MM")]
    raise: Option<f64>,
}

impl WoodArgs {
    /// These sizes over what was said before.
    pub(super) fn over(&self, mut plan: FramePlanRecord) -> FramePlanRecord {
        let set = |to: &mut f64, from: Option<f64>| *to = from.unwrap_or(*to);
        set(&mut plan.rail_thickness_mm, self.rail_thickness);
        set(&mut plan.rail_height_mm, self.rail_height);
        set(&mut plan.end_board_mm, self.end_board);
        set(&mut plan.post_mm, self.post);
        set(&mut plan.raise_mm, self.raise);
        plan
    }
}

/// Arguments of `drill`.
#[derive(Debug, Args)]
pub(in crate::cli) struct DrillArgs {
    #[command(flatten)]
    pub(super) wishes: FrameWishes,
    /// Rails as they stand: CSV with row, rail, x_mm, y_mm; with --instrument else as the record has them
    #[arg(long, value_name = "FILE")]
    pub(super) built: Option<PathBuf>,
    /// Bars marked on the standing frame: the columns of the table of node lines, the cords' marks instead of the nodes
    #[arg(long, value_name = "FILE", conflicts_with = "only_planned")]
    pub(super) marked: Option<PathBuf>,
    /// Show what to expect from the plan; not for drilling
    #[arg(long, conflicts_with = "built")]
    pub(super) only_planned: bool,
    /// Axis of the holes below the top face, in millimetres [usual: 10]
    #[arg(long, value_name = "MM")]
    pub(super) below_top: Option<f64>,
    /// Diameter of the drill, in millimetres [usual: 6]
    #[arg(long, value_name = "MM")]
    pub(super) diameter: Option<f64>,
    /// Enter in the record that this bar was drilled by this chart, e.g. C3; once for each bar
    #[arg(long, value_name = "NOTE", requires = "instrument", conflicts_with_all = ["only_planned", "built"])]
    pub(super) drilled: Vec<String>,
    /// Draw the frame from above into a new SVG file
    #[arg(long, value_name = "FILE")]
    pub(super) picture: Option<PathBuf>,
}

impl DrillArgs {
    /// These wishes over what was said before.
    pub(super) fn over(&self, plan: FramePlanRecord) -> FramePlanRecord {
        let mut plan = self.wishes.over(plan);
        plan.below_top_mm = self.below_top.unwrap_or(plan.below_top_mm);
        plan.diameter_mm = self.diameter.unwrap_or(plan.diameter_mm);
        plan
    }
}
