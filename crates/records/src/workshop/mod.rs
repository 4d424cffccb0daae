//! The workshop's record: an embedded database of events.
//!
//! * [`Workshop`] — set up, open, read, write, check, back up
//! * [`Body`] — what can happen; [`Event`] — one thing that happened, never changed or removed
//! * [`History`] — what of it stands after undoing and correcting; [`BarState`] — a bar as it stands
//! * [`Takes`] — the sound the readings came from
//!
//! The events are the truth; the tables of the present state follow from them and are checked against them.
mod backup;
mod bar;
mod body;
mod check;
mod cuts;
mod error;
mod event;
mod exchange;
mod frame;
mod history;
mod open;
mod photo;
mod project;
mod read;
mod schema;
mod takes;
mod views;
mod write;

pub use backup::{BACKUP_FOLDER, BackupReport, CopiedFiles, RecordCopy, check_copy, restore};
pub use bar::{BarState, LastReading, Stage};
pub use body::*;
pub use check::CheckReport;
pub use cuts::CutBar;
pub use error::RecordError;
pub use event::{Climate, Entry, Event, Kind, Uid};
pub use exchange::{ArchiveLimits, ArrivalReport, Column, ExportReport, Matching, PlannedBar, Sheet};
pub use exchange::{event_schema_text, manifest_schema_text, table_as_csv};
pub use frame::{FrameBuiltRecord, FramePlanRecord, FrameState, RailRecord, RailWord, RowWord};
pub use history::{Fate, History, Line, Standing};
pub use open::{RECORD_FILE, Workshop};
pub use photo::{PhotoFormat, PhotoName, PhotoRecord, Photos, TickRecord};
pub use takes::{Takes, name_of};
pub use views::{BarFilter, BarRow, FAR_FROM_REFERENCE_C, Named, QR_PREFIX, Stale};
pub use write::Writer;
