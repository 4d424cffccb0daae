//! Everything out, everything in: one open archive that any program can read.
//!
//! A ZIP file with `manifest.json` (what it is), `events.jsonl` (all that happened, one JSON object a line, in the order
//! it was entered), tables as CSV for spreadsheets, the takes as FLAC, and a README in words; the schemas of its JSON lie inside.
mod arrive;
mod leave;
mod line;
mod schema;
mod sheet;
mod tables;
mod workbook;

pub use arrive::{ArchiveLimits, ArrivalReport};
pub use leave::ExportReport;
pub use schema::{event_schema_text, manifest_schema_text};
pub use sheet::{Column, Matching, PlannedBar, Sheet, table_as_csv};
