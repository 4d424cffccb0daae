//! Why something cannot be drawn.

/// Why something cannot be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PaperError {
    /// A coordinate or size is not a finite number.
    #[error("{what} is {value}, which cannot be drawn; give a finite number of millimetres")]
    NotFinite {
        /// What was given.
        what: String,
        /// Its value.
        value: f64,
    },
    /// A value is outside what can be drawn.
    #[error("{what} is {value}; it must be between {low} and {high} to be drawn")]
    OutOfRange {
        /// What was given, with its unit.
        what: String,
        /// Its value.
        value: f64,
        /// Smallest that can be drawn.
        low: f64,
        /// Largest that can be drawn.
        high: f64,
    },
    /// There is nothing to draw.
    #[error("{what} is empty; at least {least} are needed to draw it")]
    Empty {
        /// What is missing.
        what: &'static str,
        /// Fewest that can be drawn.
        least: usize,
    },
    /// The writer of a file format refused.
    #[error("the document cannot be written: {why}")]
    NotWritten {
        /// Why, in its words.
        why: String,
    },
}

/// `value` if it is finite and within `low..=high`.
pub(crate) fn within(what: &str, value: f64, low: f64, high: f64) -> Result<f64, PaperError> {
    if !value.is_finite() {
        return Err(PaperError::NotFinite { what: what.to_owned(), value });
    }
    if value < low || value > high {
        return Err(PaperError::OutOfRange { what: what.to_owned(), value, low, high });
    }
    Ok(value)
}
