//! The commands on the workshop's record.
mod args;
mod bar;
mod bar_args;
mod clock;
mod correct;
mod data;
mod listen;
mod lists;
mod named;
mod photo;
mod questions;
mod recordings;
mod salt;
mod salt_table;
mod sheet;
mod values;

pub(crate) use args::{BarsArgs, BoardArgs, ImportArgs, InstrumentCommand, SaltArgs, WorkshopCommand};
pub(super) use bar::bar;
pub(crate) use bar_args::BarArgs;
pub(super) use clock::clock;
pub(super) use data::{backup, check, export, import, restore};
pub(super) use listen::{relisten, ring};
pub(super) use lists::{bars, board, instrument, person, summary, tool};
pub(super) use salt::salt;

use crate::error::Refused;
use jiff::Timestamp;
use records::workshop::{Entry, Kind, Uid, Workshop};
use std::path::{Path, PathBuf};

/// Where the workshop's folder is told if not on the command line.
const FOLDER_VARIABLE: &str = "BARWRIGHT_WORKSHOP";

/// The folder meant: the argument, else the variable, else the usual place for this user's data.
pub(super) fn folder(given: Option<&Path>) -> Result<PathBuf, Refused> {
    if let Some(path) = given.map(Path::to_owned).or_else(|| std::env::var_os(FOLDER_VARIABLE).map(PathBuf::from)) {
        return Ok(path);
    }
    let usual = directories::ProjectDirs::from("", "", "barwright").map(|dirs| dirs.data_dir().join("workshop"));
    usual.ok_or_else(|| {
        Refused::new(
            "no_workshop",
            "this computer names no folder for a user's data",
            format!("give one with --workshop, or in {FOLDER_VARIABLE}"),
        )
    })
}

/// Opens the workshop and makes the day's copy if it is due.
pub(super) fn open(given: Option<&Path>) -> Result<Workshop, Refused> {
    let folder = folder(given)?;
    crate::diary::keep_in(&folder);
    let workshop = Workshop::open(&folder, Timestamp::now())?;
    if let Err(error) = workshop.automatic_backup(Timestamp::now()) {
        // The work must go on without the copy, but not silently.
        eprintln!("Today's automatic copy could not be made: {error}");
    }
    Ok(workshop)
}

/// Sets up a workshop.
pub(super) fn new(given: Option<&Path>, name: &str) -> Result<String, Refused> {
    let folder = folder(given)?;
    Workshop::create(&folder, name, Timestamp::now())?;
    Ok(format!(
        "The workshop \"{name}\" is set up in {}.\nCopy it to another disk now and then: barwright backup FOLDER\n",
        folder.display()
    ))
}

/// Begins a thing with its first event.
fn begin(workshop: &mut Workshop, kind: Kind, entry: impl Into<Entry>) -> Result<Uid, Refused> {
    Ok(workshop.write(|step| step.begin(kind, entry.into(), Timestamp::now()))?)
}
