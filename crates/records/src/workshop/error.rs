//! The one error of a workshop's record.
use crate::error::BarFileError;
use std::path::Path;

/// Why the record cannot be read or changed: what is wrong and what to do next.
///
/// `Display` prints the message (value and limit) and the hint (next step).
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message} {hint}")]
pub struct RecordError {
    /// Stable machine-readable name: `no_workshop`, `newer_file`, `busy`, `disk_full`, `not_found`, …
    pub code: &'static str,
    /// What is wrong, with the value and the limit.
    pub message: String,
    /// What to do next.
    pub hint: String,
}

impl RecordError {
    pub(crate) fn new(code: &'static str, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { code, message: message.into(), hint: hint.into() }
    }

    /// The record holds something this program would never have written.
    pub(crate) fn damaged(what: impl std::fmt::Display) -> Self {
        Self::new(
            "damaged",
            format!("The record holds {what}, which this program never writes."),
            "Run the check; then restore the newest sound backup into a new folder.",
        )
    }

    pub(crate) fn io(path: &Path, doing: &str, error: &std::io::Error) -> Self {
        use std::io::ErrorKind;
        let (code, hint) = match error.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
                ("disk_full", "Make room on the disk, then repeat the step.")
            }
            ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
                ("not_writable", "Check who may write to this folder and that the disk is not write-protected.")
            }
            ErrorKind::NotFound => ("not_found", "Check the name and the folder."),
            _ => ("not_saved", "Check the disk and the folder, then repeat the step."),
        };
        Self::new(code, format!("{} cannot be {doing}: {error}.", path.display()), hint)
    }
}

impl From<BarFileError> for RecordError {
    fn from(error: BarFileError) -> Self {
        Self { code: error.code, message: error.message, hint: error.hint }
    }
}

impl From<rusqlite::Error> for RecordError {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        let (code, what, hint) = match error.sqlite_error_code() {
            Some(Code::DatabaseBusy | Code::DatabaseLocked) => (
                "busy",
                "Another program is writing to this workshop and did not finish",
                "Nothing was changed; try again in a moment.",
            ),
            Some(Code::DiskFull) => {
                ("disk_full", "The disk is full", "Nothing was changed; make room, then repeat the step.")
            }
            Some(Code::ReadOnly | Code::PermissionDenied) => (
                "not_writable",
                "The workshop's file may not be written to",
                "Nothing was changed; check its permissions and that the disk is not write-protected.",
            ),
            Some(Code::CannotOpen) => {
                ("not_found", "The workshop's file cannot be opened", "Check that the folder is still there.")
            }
            Some(Code::DatabaseCorrupt | Code::NotADatabase) => (
                "damaged",
                "The workshop's file is damaged",
                "Keep a copy of it as it is; then restore the newest sound backup into a new folder.",
            ),
            Some(Code::SystemIoFailure) => {
                ("disk_failed", "The disk reported a failure", "Nothing was changed; check the disk and its cable.")
            }
            _ => ("record_failed", "The record refused the step", "Nothing was changed; run the check."),
        };
        Self::new(code, format!("{what} ({error})."), hint)
    }
}
