//! Arguments of `rails` and `drill`.
use clap::Args;
use std::path::PathBuf;

/// Where node lines come from, and how the frame shall be.
#[derive(Debug, Args)]
pub(in crate::cli) struct FrameWishes {
    /// Table of node lines (CSV; see docs/frame.md for its columns), bass to treble
    pub(super) nodes: Option<PathBuf>,
    /// Take the node lines from the salt tests of this instrument's bars in the record
    #[arg(long, value_name = "NAME")]
    pub(super) instrument: Option<String>,
    /// Space between bars, in millimetres
    #[arg(long, default_value_t = 12.7, value_name = "MM")]
    pub(super) gap: f64,
    /// All bars in one row
    #[arg(long)]
    pub(super) one_row: bool,
    /// How far the accidentals' ends lie over the naturals' ends, on average, in millimetres
    #[arg(long, default_value_t = 10.0, value_name = "MM", allow_negative_numbers = true)]
    pub(super) overlap: f64,
    /// Least share of the convergence that the outer rails take, 0 to 2
    #[arg(long, default_value_t = 0.5, value_name = "SHARE")]
    pub(super) outer_share_from: f64,
    /// Greatest share of the convergence that the outer rails take; as the least one to set it
    #[arg(long, default_value_t = 1.0, value_name = "SHARE")]
    pub(super) outer_share_to: f64,
    /// What an outer end off its neighbours' line costs, as a share of the same miss at a node; 0 leaves ends free
    #[arg(long, default_value_t = 0.0, value_name = "SHARE")]
    pub(super) fair: f64,
    /// Let the rails of a row bend at the post after this bar, e.g. F4; once for each row
    #[arg(long, value_name = "NOTE")]
    pub(super) bend_after: Vec<String>,
    /// Doubt of each node number, in millimetres
    #[arg(long, default_value_t = 1.0, value_name = "MM")]
    pub(super) sigma: f64,
}

/// Arguments of `rails`.
#[derive(Debug, Args)]
pub(in crate::cli) struct RailsArgs {
    #[command(flatten)]
    pub(super) wishes: FrameWishes,
    /// Draw the frame from above into a new SVG file
    #[arg(long, value_name = "FILE")]
    pub(super) picture: Option<PathBuf>,
    /// Write the node lines into a new CSV file
    #[arg(long, value_name = "FILE")]
    pub(super) nodes_csv: Option<PathBuf>,
}

/// Arguments of `drill`.
#[derive(Debug, Args)]
pub(in crate::cli) struct DrillArgs {
    #[command(flatten)]
    pub(super) wishes: FrameWishes,
    /// Rails as they stand: CSV with row, rail, x_mm, y_mm
    #[arg(long, value_name = "FILE")]
    pub(super) built: Option<PathBuf>,
    /// Show what to expect from the plan; not for drilling
    #[arg(long)]
    pub(super) only_planned: bool,
    /// Axis of the holes below the top face, in millimetres
    #[arg(long, default_value_t = 10.0, value_name = "MM")]
    pub(super) below_top: f64,
    /// Diameter of the drill, in millimetres
    #[arg(long, default_value_t = 6.0, value_name = "MM")]
    pub(super) diameter: f64,
    /// Draw the frame from above into a new SVG file
    #[arg(long, value_name = "FILE")]
    pub(super) picture: Option<PathBuf>,
}
