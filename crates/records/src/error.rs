//! The one error of a bar file.

/// Why a bar file cannot be read, changed or saved: what is wrong, where, and what to do.
///
/// `Display` prints the message (value and limit) and the hint (next step).
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message} {hint}")]
pub struct BarFileError {
    /// Stable machine-readable name: `not_json`, `unknown_key`, `out_of_range`, `contradictory_log`, …
    pub code: &'static str,
    /// Where in the file, e.g. `log[2].cut.bands[0].depth_mm`; empty for the file as a whole.
    pub path: String,
    /// What is wrong, with the value and the limit.
    pub message: String,
    /// What to do next.
    pub hint: String,
}

impl BarFileError {
    pub(crate) fn new(
        code: &'static str,
        path: impl Into<String>,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self { code, path: path.into(), message: message.into(), hint: hint.into() }
    }
}
