//! What a decision refuses, with the remedy.
use bar_physics::{GeometryError, PhysicsError};

/// A refusal: what is wrong with the job or its log, and what to do next.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{message}")]
pub struct MakingError {
    /// Stable name for programs.
    pub code: &'static str,
    /// What is wrong, with the value and the limit.
    pub message: String,
    /// The next step.
    pub hint: String,
}

impl MakingError {
    /// A refusal named `code`.
    pub fn new(code: &'static str, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { code, message: message.into(), hint: hint.into() }
    }

    /// The same refusal, saying which entry of the log (counted from 1) it is about.
    pub(crate) fn at_entry(mut self, index: usize) -> Self {
        self.message = format!("log entry {}: {}", index + 1, self.message);
        self
    }
}

impl From<GeometryError> for MakingError {
    fn from(error: GeometryError) -> Self {
        let (code, hint) = match &error {
            GeometryError::TooThin { .. } => {
                ("too_thin", "check the depths entered, or caliper the bar and enter that")
            }
            GeometryError::Wood(_) => ("impossible_wood", "correct the wood's constants, or leave the wood out"),
            _ => ("impossible_shape", "correct the sizes entered"),
        };
        Self::new(code, error.to_string(), hint)
    }
}

impl From<PhysicsError> for MakingError {
    fn from(error: PhysicsError) -> Self {
        match error {
            PhysicsError::Geometry(geometry) => geometry.into(),
            other => Self::new(
                "not_computable",
                other.to_string(),
                "check length, width and the underside for a wrong unit or a misplaced station",
            ),
        }
    }
}

/// Refuses `value` outside `low..=high` (and anything not finite).
pub(crate) fn in_range(what: &str, value: f64, low: f64, high: f64, unit: &str, hint: &str) -> Result<(), MakingError> {
    if value >= low && value <= high {
        return Ok(());
    }
    // Metres made millimetres carry their last binary digit along; a millionth is finer than anything measured here.
    let value = (value * 1e6).round() / 1e6;
    Err(MakingError::new(
        "out_of_range",
        format!("{what} is {value} {unit}; it must lie between {low} and {high} {unit}"),
        hint,
    ))
}
