//! `stock`: the blanks without a note, what each is good for, and how far it is from rest.
mod blanks;

pub(super) use blanks::{Known, of_record, read};

use super::answer::Form;
use super::new_file::write_table;
use super::workshop::open;
use crate::error::Refused;
use crate::progress;
use crate::report::stock::{Line, to_json, to_lines, to_text};
use clap::Args;
use making::wood::{Stock, equilibrium_moisture_percent, grade};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(crate) struct StockArgs {
    /// Blanks from a table (CSV) instead of the workshop's record; docs/wood.md shows its columns
    #[arg(long, value_name = "FILE")]
    blanks: Option<PathBuf>,
    /// Listen again to each blank's kept sound for how long it rings; takes a while
    #[arg(long, conflicts_with = "blanks")]
    ring: bool,
    /// Temperature of the room in °C: what moisture wood comes to there
    #[arg(long, requires = "humidity")]
    temperature: Option<f64>,
    /// Relative humidity of the room in percent
    #[arg(long, requires = "temperature")]
    humidity: Option<f64>,
    /// Write the list as a table to a new CSV file, or a workbook (*.xlsx)
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
}

pub(super) fn stock(at: Option<&Path>, args: &StockArgs, form: Form) -> Result<String, Refused> {
    let known = known(at, args.blanks.as_deref(), args.ring)?;
    let room = args.temperature.zip(args.humidity);
    let room = room
        .map(|(temperature, humidity)| {
            Ok::<_, Refused>([temperature, humidity, equilibrium_moisture_percent(temperature, humidity)?])
        })
        .transpose()?;
    let lines = graded(&known);
    if let Some(to) = &args.csv {
        write_table(to, &to_lines(&lines))?;
    }
    Ok(form.put(|| to_json(&lines, room), || to_text(&lines, room, form.units)))
}

/// Each blank with what it is good for beside the others.
pub(super) fn graded(known: &[Known]) -> Vec<Line<'_>> {
    let blanks: Vec<_> = known.iter().map(|known| known.blank.clone()).collect();
    let all = Stock::of(&blanks);
    known
        .iter()
        .map(|known| Line {
            blank: &known.blank,
            board: known.board.as_deref(),
            drying: known.drying,
            grade: grade(&known.blank, &all),
        })
        .collect()
}

/// The blanks of a table or of the record; none is a refusal.
pub(super) fn known(at: Option<&Path>, table: Option<&Path>, ring: bool) -> Result<Vec<Known>, Refused> {
    let bar = progress::spinner();
    progress::say(&bar, "working out each blank's wood");
    let known = match table {
        Some(path) => read(path)?,
        None => of_record(&open(at)?, ring)?,
    };
    bar.finish_and_clear();
    if known.is_empty() {
        let hint = "enter one with `barwright bar LABEL new --length … --width … --thickness … --mass …`, or give a table: --blanks FILE";
        return Err(Refused::new("no_blanks", "the record has no blank without a note", hint));
    }
    Ok(known)
}
