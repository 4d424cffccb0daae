//! A bar file as it stands on disk.
use crate::check::check_file;
use crate::consistency::check_record;
use crate::error::BarFileError;
use crate::note::Note;
use crate::profile::Outline;
use crate::record::{BarRecord, HandRecord, LogEntry};
use crate::save::save;
use crate::text;
use std::path::Path;

/// A checked bar file: its text, and what it says.
///
/// The text is the truth: unless something is appended, it is written back byte for byte, and appending
/// leaves every other byte as it was, number spelling and layout included.
#[derive(Debug, Clone, PartialEq)]
pub struct BarFile {
    text: String,
    record: BarRecord,
    outlines: Vec<Outline>,
}

impl BarFile {
    /// Reads and checks a file.
    ///
    /// # Errors
    /// [`BarFileError`] if it cannot be read, is not JSON, or says something a bar cannot be.
    pub fn read(path: &Path) -> Result<Self, BarFileError> {
        let bytes = std::fs::read(path).map_err(|error| {
            let code = if error.kind() == std::io::ErrorKind::NotFound { "not_found" } else { "unreadable" };
            let message = format!("{} cannot be read: {error}.", path.display());
            BarFileError::new(code, "", message, "Check the name and the folder.")
        })?;
        Self::from_bytes(&bytes)
    }

    /// A blank by its length, width and thickness in millimetres and its mass in grams, checked as any bar file is, so that it is
    /// refused with the same words wherever it was entered.
    ///
    /// # Errors
    /// As [`BarFile::from_bytes`].
    pub fn blank([length_mm, width_mm, thickness_mm]: [f64; 3], mass_g: Option<f64>) -> Result<Self, BarFileError> {
        let mut value = serde_json::json!({
            "format": crate::record::FORMAT, "length_mm": length_mm, "width_mm": width_mm, "thickness_mm": thickness_mm,
        });
        if let Some(mass_g) = mass_g {
            value["mass_g"] = mass_g.into();
        }
        Self::from_bytes(value.to_string().as_bytes())
    }

    /// Checks the bytes of a file.
    ///
    /// # Errors
    /// [`BarFileError`] as [`BarFile::read`].
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, BarFileError> {
        let (text, value) = text::parse(bytes)?;
        check_file(&value)?;
        // The check covers all that the types want; a difference would be a fault of ours, told as such.
        let record: BarRecord = serde_json::from_value(value).map_err(|error| {
            BarFileError::new(
                "wrong_type",
                "",
                format!("The file cannot be understood: {error}."),
                "Compare it with the JSON Schema.",
            )
        })?;
        let outlines = check_record(&record)?;
        Ok(Self { text, record, outlines })
    }

    /// A new file that says `record`.
    ///
    /// # Errors
    /// [`BarFileError`] if the record is not a possible bar.
    pub fn from_record(record: &BarRecord) -> Result<Self, BarFileError> {
        let text = serde_json::to_string_pretty(record).map_err(|error| {
            BarFileError::new(
                "not_json",
                "",
                format!("The record cannot be written as JSON: {error}."),
                "Check its numbers.",
            )
        })?;
        Self::from_bytes((text + "\n").as_bytes())
    }

    /// The text, as read or as it would be written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What the file says.
    pub fn record(&self) -> &BarRecord {
        &self.record
    }

    /// The log, in order of time.
    pub fn log(&self) -> &[LogEntry] {
        self.record.log.as_deref().unwrap_or(&[])
    }

    /// The outline before entry `index` of the log (its end for the log's length and beyond), every cut
    /// as intended with steep edges.
    pub fn outline_before(&self, index: usize) -> &Outline {
        // There is one more outline than entries: the start.
        &self.outlines[index.min(self.outlines.len() - 1)]
    }

    /// The outline the log ends with, as [`BarFile::outline_before`].
    pub fn outline(&self) -> &Outline {
        self.outline_before(usize::MAX)
    }

    /// The note, if the file names one.
    pub fn note(&self) -> Option<Note> {
        // Checked when the file was read.
        self.record.note.as_deref().and_then(|text| text.parse().ok())
    }

    /// Frequency of A4, in hertz.
    pub fn a4_hz(&self) -> f64 {
        self.record.a4_hz.unwrap_or(440.0)
    }

    /// Frequency of the note, in hertz.
    pub fn note_hz(&self) -> Option<f64> {
        self.note().map(|note| note.hz(self.a4_hz()))
    }

    /// The same bar, cut by a hand of which this is known.
    ///
    /// # Errors
    /// [`BarFileError`] if the hand is not a possible one.
    pub fn with_hand(&self, hand: HandRecord) -> Result<Self, BarFileError> {
        Self::from_record(&BarRecord { hand: Some(hand), ..self.record.clone() })
    }

    /// Adds an entry to the end of the log.
    ///
    /// # Errors
    /// [`BarFileError`] if the entry cannot have happened to this bar; the file then stays as it was.
    pub fn append(&mut self, entry: &LogEntry) -> Result<(), BarFileError> {
        let entry_text = serde_json::to_string(entry).map_err(|error| {
            BarFileError::new(
                "not_json",
                "log",
                format!("The entry cannot be written as JSON: {error}."),
                "Check its numbers.",
            )
        })?;
        *self = Self::from_bytes(text::with_entry(&self.text, &entry_text).as_bytes())?;
        Ok(())
    }

    /// Takes the last entry off the log and returns it; `None` if the log is empty.
    ///
    /// # Errors
    /// [`BarFileError`] never for a file that was checked; the file stays as it was.
    pub fn remove_last(&mut self) -> Result<Option<LogEntry>, BarFileError> {
        let last = self.log().last().cloned();
        if let Some(shorter) = text::without_last_entry(&self.text) {
            *self = Self::from_bytes(shorter.as_bytes())?;
        }
        Ok(last)
    }

    /// Saves over the file that was read as `before`: all of it or nothing, and not if it changed meanwhile.
    ///
    /// # Errors
    /// `changed_on_disk` if the file no longer holds `before`'s text; `not_saved` if writing failed.
    /// The old file is untouched in both cases.
    pub fn save_over(&self, path: &Path, before: &BarFile) -> Result<(), BarFileError> {
        save(path, &self.text, Some(&before.text))
    }

    /// Saves as a new file.
    ///
    /// # Errors
    /// `exists` if there is a file of that name; `not_saved` if writing failed.
    pub fn save_new(&self, path: &Path) -> Result<(), BarFileError> {
        save(path, &self.text, None)
    }
}
