//! `cutlist`: the blanks of a plan out of the boards at hand.
pub(super) mod boards;

use super::answer::Form;
use super::new_file::{write_new, write_table};
use super::plan::specification_of;
use super::workshop::open;
use crate::error::Refused;
use crate::report::cutlist::Answer;
use crate::{progress, report};
use clap::Args;
use making::cutlist::{Allowances, Board, Piece, cut, spares};
use making::schedule::WantedBar;
use std::path::{Path, PathBuf};

/// Cuttings tried where nothing else is said: under half a second for 68 blanks, and more gain little (docs/cutlist.md).
const USUAL_TRIALS: u32 = 2000;

#[derive(Debug, Args)]
pub(crate) struct CutlistArgs {
    /// The specification of the instrument, as `plan` takes it
    spec: PathBuf,
    /// The boards: a TOML file with a [[board]] for each; docs/cutlist.md shows its keys
    #[arg(long, value_name = "FILE", required_unless_present = "stock")]
    boards: Option<PathBuf>,
    /// The boards of the workshop's record instead
    #[arg(long, conflicts_with = "boards")]
    stock: bool,
    /// No spare blanks
    #[arg(long)]
    no_spares: bool,
    /// Added to each blank's length, in mm
    #[arg(long, value_name = "MM", default_value_t = 20.0)]
    over_length: f64,
    /// Added to its width, in mm
    #[arg(long, value_name = "MM", default_value_t = 2.5)]
    over_width: f64,
    /// Added to its thickness, in mm
    #[arg(long, value_name = "MM", default_value_t = 1.8)]
    over_thickness: f64,
    /// Cut off each end of a board, in mm
    #[arg(long, value_name = "MM", default_value_t = 45.0)]
    ends: f64,
    /// Width of the saw's cut, in mm
    #[arg(long, value_name = "MM", default_value_t = 3.0)]
    kerf: f64,
    /// How many cuttings are tried
    #[arg(long, default_value_t = USUAL_TRIALS, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    trials: u32,
    /// Draw the boards with their blanks to a new SVG file
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// Write boards, blanks and cuts as a sheet for the saw (a new PDF file, A4)
    #[arg(long, value_name = "FILE")]
    sheet: Option<PathBuf>,
    /// Write the blanks with their places as a table to a new CSV file, or a workbook (*.xlsx)
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
}

impl CutlistArgs {
    /// A sheet of a plan's blanks with the allowances that are usual.
    pub(super) fn on_paper(spec: PathBuf, boards: Option<PathBuf>, sheet: PathBuf) -> Self {
        let usual = Allowances::default();
        Self {
            stock: boards.is_none(),
            spec,
            boards,
            no_spares: false,
            over_length: usual.over_length_m * 1e3,
            over_width: usual.over_width_m * 1e3,
            over_thickness: usual.over_thickness_m * 1e3,
            ends: usual.end_m * 1e3,
            kerf: usual.kerf_m * 1e3,
            trials: USUAL_TRIALS,
            picture: None,
            sheet: Some(sheet),
            csv: None,
        }
    }
}

pub(super) fn cutlist(at: Option<&Path>, args: &CutlistArgs, form: Form) -> Result<String, Refused> {
    let (_, specification) = specification_of(&args.spec)?;
    let bars: Vec<Piece> = specification.bars()?.iter().map(piece).collect();
    let mut pieces = bars.clone();
    if !args.no_spares {
        pieces.extend(spares(&bars));
    }
    let (boards, unknown) = boards_of(at, args)?;
    let allowances = Allowances {
        over_length_m: args.over_length * 1e-3,
        over_width_m: args.over_width * 1e-3,
        over_thickness_m: args.over_thickness * 1e-3,
        end_m: args.ends * 1e-3,
        kerf_m: args.kerf * 1e-3,
    };
    let bar = progress::bar(Some(0), "cuttings tried");
    let list = cut(&boards, &pieces, allowances, args.trials as usize, &mut |done, all| progress::at(&bar, done, all))?;
    bar.finish_and_clear();
    let answer = Answer { boards: &boards, pieces: &pieces, allowances, list: &list, unknown: &unknown };
    if let Some(to) = &args.csv {
        write_table(to, &report::cutlist::lines(&answer))?;
    }
    if let Some(to) = &args.picture {
        write_new(to, report::cutlist::picture(&answer)?.as_bytes())?;
    }
    if let Some(to) = &args.sheet {
        super::sheet::write_a4(form, || crate::sheets::wood::cutlist(&answer, form.units), to)?;
    }
    Ok(form.put(|| report::cutlist::to_json(&answer), || report::cutlist::to_text(&answer, form.units)))
}

fn boards_of(at: Option<&Path>, args: &CutlistArgs) -> Result<(Vec<Board>, Vec<String>), Refused> {
    match &args.boards {
        Some(path) => Ok((boards::read(path)?, Vec::new())),
        None => boards::of_record(&open(at)?),
    }
}

fn piece(bar: &WantedBar) -> Piece {
    Piece {
        name: bar.name.clone(),
        length_m: bar.length_m,
        width_m: bar.width_m,
        thickness_m: bar.thickness_m,
        spare: false,
    }
}
