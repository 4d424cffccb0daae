//! The arguments of the workshop's commands but `bar`, as clap reads them.
use super::bar_args::FaceArg;
use crate::cli::args::Struck;
use clap::{Args, Subcommand};
use std::path::PathBuf;

#[derive(Debug, Subcommand)]
pub(crate) enum WorkshopCommand {
    /// Set up a workshop in the folder of --workshop (or the usual one)
    New {
        /// Its name
        #[arg(long, default_value = "My workshop")]
        name: String,
    },
}

#[derive(Debug, Subcommand)]
pub(crate) enum InstrumentCommand {
    /// Enter an order
    Add(OrderArgs),
    /// Enter salt tests of many bars from a table
    Salt(SaltTableArgs),
    /// The frame is built: enter where its rails really stand
    Built(BuiltArgs),
    /// The instrument leaves the workshop
    Deliver {
        /// Its name
        name: String,
    },
    /// The instrument comes back
    Return {
        /// Its name
        name: String,
        /// What for
        #[arg(long, default_value = "retuning")]
        why: String,
    },
}

#[derive(Debug, Args)]
pub(crate) struct SaltTableArgs {
    /// The instrument's name
    pub(crate) name: String,
    /// Node lines: CSV as docs/frame.md shows it, every number from the end that faces the player
    pub(crate) nodes: PathBuf,
    /// The face that was up on every bar; else each bar's top face
    #[arg(long, value_enum)]
    pub(crate) face: Option<FaceArg>,
}

#[derive(Debug, Args)]
pub(crate) struct BuiltArgs {
    /// The instrument's name
    pub(crate) name: String,
    /// Where the rails stand: CSV with row, rail, x_mm, y_mm
    pub(crate) rails: PathBuf,
    /// Doubt of each measured point, in millimetres
    #[arg(long, default_value_t = crate::cli::frame::RULE_SIGMA_MM, value_name = "MM")]
    pub(crate) sigma: f64,
}

#[derive(Debug, Args)]
pub(crate) struct OrderArgs {
    /// Name of the instrument
    pub(crate) name: String,
    /// Frequency of A4 in hertz
    #[arg(long, default_value_t = 440.0, value_parser = decimal)]
    pub(crate) a4: f64,
    /// Who ordered it
    #[arg(long)]
    pub(crate) customer: Option<String>,
    /// Lowest note
    #[arg(long)]
    pub(crate) lowest: Option<String>,
    /// Highest note
    #[arg(long)]
    pub(crate) highest: Option<String>,
    /// Temperature at which that pitch is wanted, in degrees Celsius
    #[arg(long, value_parser = decimal)]
    pub(crate) temperature: Option<f64>,
    /// Relative humidity at which that pitch is wanted, in percent
    #[arg(long, value_parser = decimal)]
    pub(crate) humidity: Option<f64>,
}

#[derive(Debug, Args)]
pub(crate) struct BoardArgs {
    /// Name or number on the board
    pub(crate) name: String,
    /// Wood, as on its papers
    #[arg(long)]
    pub(crate) wood: Option<String>,
    /// Length, e.g. 2400 or 94 1/2 in
    #[arg(long)]
    pub(crate) length: Option<String>,
    /// Width
    #[arg(long)]
    pub(crate) width: Option<String>,
    /// Thickness
    #[arg(long)]
    pub(crate) thickness: Option<String>,
    /// Mass in grams
    #[arg(long, value_parser = decimal)]
    pub(crate) mass: Option<f64>,
    /// Moisture in percent of the dry mass
    #[arg(long, value_parser = decimal)]
    pub(crate) moisture: Option<f64>,
    /// A place to cut around, as from-to:near-far:what, from the left end and the near edge, e.g. 800-900:0-60:knot
    #[arg(long = "defect", value_name = "PLACE")]
    pub(crate) defects: Vec<String>,
    /// Papers of origin, price, other defects
    #[arg(long)]
    pub(crate) remark: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct BarsArgs {
    /// Only of this instrument
    #[arg(long = "in")]
    pub(crate) instrument: Option<String>,
    /// Only those that wait for this
    #[arg(long)]
    pub(crate) stage: Option<String>,
    /// Only those whose last reading is older than the last cut, or was taken more than 3 °C away from the temperature
    /// the order names
    #[arg(long)]
    pub(crate) stale: bool,
    /// Only those cut within so many minutes: they may still be warm
    #[arg(long, value_name = "MINUTES")]
    pub(crate) cut_within: Option<u32>,
    /// Only those read more than 3 °C away from this temperature
    #[arg(long, value_name = "CELSIUS")]
    pub(crate) read_away_from: Option<f64>,
}

#[derive(Debug, Args)]
pub(crate) struct ImportArgs {
    /// An archive written by `export` (*.zip), a list of bars (*.csv, *.xlsx), or a folder of recordings named
    /// after notes or labels, such as "C#4 quarter 2.wav" or 117.wav
    pub(crate) from: PathBuf,
    /// For a list: which heading holds what, e.g. label=Nr; the rest is guessed
    #[arg(long = "column", value_name = "WHAT=HEADING")]
    pub(crate) columns: Vec<String>,
    /// The instrument: of a list's bars, to be given their notes in; of a folder's, where several have those notes
    #[arg(long = "to")]
    pub(crate) instrument: Option<String>,
    /// Say what would happen, keep nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// For a folder: enter what was shown; without it nothing is kept
    #[arg(long, conflicts_with = "dry_run")]
    pub(crate) yes: bool,
    /// For a folder: temperature of bars and air, in degrees Celsius
    #[arg(long, value_parser = decimal)]
    pub(crate) temperature: Option<f64>,
    /// For a folder: the recorder
    #[arg(long = "with")]
    pub(crate) recorder: Option<String>,
    /// For a folder: where bars were struck whose file does not say
    #[arg(long, value_enum)]
    pub(crate) struck: Option<Struck>,
}

#[derive(Debug, Args)]
pub(crate) struct SaltArgs {
    /// Table of salt tests to enter (CSV; docs/frame.md shows its columns); without it, all tests are shown
    pub(crate) table: Option<PathBuf>,
    /// Only the bars of this instrument
    #[arg(long = "in", value_name = "NAME")]
    pub(crate) instrument: Option<String>,
    /// Say what would be entered, keep nothing
    #[arg(long, requires = "table")]
    pub(crate) dry_run: bool,
    /// Write the tests that count into a new table (CSV)
    #[arg(long, value_name = "FILE", conflicts_with = "table")]
    pub(crate) csv: Option<PathBuf>,
}

/// A number with a point or a comma.
pub(super) fn decimal(text: &str) -> Result<f64, String> {
    let number = text.trim().replace(',', ".").parse::<f64>().ok().filter(|value| value.is_finite());
    number.ok_or_else(|| "write it in figures, e.g. 21.5 or 21,5".to_owned())
}
