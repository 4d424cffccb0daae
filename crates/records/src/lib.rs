//! The workshop's record: bar files, and the embedded database of all that happened.
//!
//! * [`BarFile`] — a bar file as it stands on disk: read, checked, appended to, saved; text that was not
//!   touched keeps every byte
//! * [`BarRecord`] — what the file says, in millimetres and grams
//! * [`Note`] — a note of the scale and its frequency
//! * [`workshop`] — the record of a whole workshop
//! * [`Length`] — a length as it was written, beside exact millimetres
//! * [`schema_text`] — the published JSON Schema, which is also what files are checked against
//!
//! Knows no physics and no HTML.
mod check;
mod consistency;
mod error;
mod file;
mod length;
mod note;
mod profile;
mod record;
mod save;
mod schema;
mod spreadsheet;
mod text;
pub mod workshop;

pub use error::BarFileError;
pub use file::BarFile;
pub use length::{Length, LengthError, LengthUnit, MM_PER_INCH};
pub use note::{Note, NoteError};
pub use profile::{LENGTH_TOLERANCE_MM, Outline};
pub use record::*;
pub use schema::schema_text;
pub use spreadsheet::plain_text;
