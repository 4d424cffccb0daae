//! A refusal as the maker sees it: what is wrong, the limit, the next step.
use bar_physics::{GeometryError, PhysicsError};
use making::MakingError;
use records::{BarFileError, NoteError};
use std::fmt;

/// Why the program will not give an answer. `Display` gives the message and the hint as sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Stable machine-readable name, e.g. `unknown_key`, `silence`, `truncated`.
    pub code: String,
    /// What is wrong, with the value and the limit.
    pub message: String,
    /// What to do next.
    pub hint: String,
}

impl Refused {
    /// A refusal; message and hint are made into sentences.
    pub fn new(code: &str, message: impl AsRef<str>, hint: impl AsRef<str>) -> Self {
        Self { code: code.to_owned(), message: sentence(message.as_ref()), hint: sentence(hint.as_ref()) }
    }

    /// The same refusal about a named file.
    pub fn about(mut self, name: impl fmt::Display) -> Self {
        self.message = format!("{name}: {}", self.message);
        self
    }

    /// The same refusal about a file, unless it names the file already.
    pub fn about_file(self, path: &std::path::Path) -> Self {
        let name = path.display().to_string();
        if self.message.contains(&name) { self } else { self.about(name) }
    }

    /// `{"error":{"code","message","hint"}}`, the public contract on stderr with `--json`.
    pub fn to_json(&self) -> serde_json::Value {
        serde_json::json!({ "error": { "code": self.code, "message": self.message, "hint": self.hint } })
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.message)?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, " {}", self.hint) }
    }
}

impl std::error::Error for Refused {}

/// The text with a capital and a full stop; keys of a bar file ("width_mm is …") keep their spelling.
pub fn sentence(text: &str) -> String {
    let text = text.trim();
    let first_word = text.split(' ').next().unwrap_or("");
    // Keys, paths and the command itself keep their letters.
    let is_key = first_word == "barwright" || first_word.contains(['_', '.', '[', '/', '\\']);
    let mut letters = text.chars();
    let mut out = match letters.next() {
        Some(first) if !is_key => first.to_uppercase().chain(letters).collect(),
        _ => text.to_owned(),
    };
    if !out.is_empty() && !out.ends_with(['.', '?', '!', ':']) {
        out.push('.');
    }
    out
}

impl From<records::workshop::RecordError> for Refused {
    fn from(error: records::workshop::RecordError) -> Self {
        Self::new(error.code, &error.message, &error.hint)
    }
}

impl From<BarFileError> for Refused {
    fn from(error: BarFileError) -> Self {
        Self::new(error.code, &error.message, &error.hint)
    }
}

impl From<NoteError> for Refused {
    fn from(error: NoteError) -> Self {
        Self::new("wrong_note", format!("\"{}\" is not a note", error.text), error.hint)
    }
}

impl From<MakingError> for Refused {
    fn from(error: MakingError) -> Self {
        Self::new(error.code, &error.message, &error.hint)
    }
}

impl From<strike::Refusal> for Refused {
    fn from(refusal: strike::Refusal) -> Self {
        Self::new(refusal.code, &refusal.message, &refusal.hint)
    }
}

impl From<GeometryError> for Refused {
    fn from(error: GeometryError) -> Self {
        MakingError::from(error).into()
    }
}

impl From<PhysicsError> for Refused {
    fn from(error: PhysicsError) -> Self {
        MakingError::from(error).into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_become_sentences_and_keys_keep_their_spelling() {
        let refused = Refused::new("x", "only 0.3 mm is left", "measure again");
        assert_eq!(refused.to_string(), "Only 0.3 mm is left. Measure again.");
        assert_eq!(Refused::new("x", "width_mm is -62 mm", "").to_string(), "width_mm is -62 mm.");
    }
}
