//! The program's own notes of what went wrong, for whoever helps: beside the record, small, and without anything personal.
//!
//! A line holds a time, the version and words of a fixed vocabulary: names of commands, codes of refusals, addresses with their variable parts left
//! out, places in the source. Names, notes, readings, paths and messages cannot get in: no function here takes them.
mod file;

pub use file::{FOLDER, MOST_BYTES, MOST_FILES, files};

use jiff::Timestamp;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// Longest word; codes of refusals have some twenty letters.
const LONGEST_WORD: usize = 48;

/// Where notes go from now on; nowhere before a workshop is known.
static FOLDER_NOW: Mutex<Option<PathBuf>> = Mutex::new(None);

/// Something worth a note.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Happened<'a> {
    /// A command began.
    Began(&'a str),
    /// A command was refused, by the code of the refusal.
    Refused(&'a str, &'a str),
    /// The page answered a request with this status; its address as the program's own list of routes has it.
    Answered(&'a str, u16),
    /// The program panicked at this place in its source.
    Panicked(&'a str, u32),
}

impl Happened<'_> {
    fn words(self) -> String {
        match self {
            Self::Began(command) => format!("began {}", word(command)),
            Self::Refused(command, code) => format!("refused {} {}", word(command), word(code)),
            Self::Answered(route, status) => format!("answered {status} {}", route_word(route)),
            Self::Panicked(file, line) => {
                format!("panicked {}:{line}", word(file.rsplit(['/', '\\']).next().unwrap_or("")))
            }
        }
    }
}

/// What stands for anything that is no word of the program's own.
const OTHER: &str = "other";

/// Only what a fixed vocabulary is made of: small letters, figures, `_`, `-`, `.`; anything else is not one of its words.
fn word(text: &str) -> &str {
    let own = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '_' | '-' | '.');
    if (1..=LONGEST_WORD).contains(&text.len()) && text.chars().all(own) { text } else { OTHER }
}

/// A route with `{names}` for its variable parts.
fn route_word(route: &str) -> &str {
    let own = |c: char| c.is_ascii_lowercase() || matches!(c, '_' | '-' | '/' | '{' | '}');
    if (1..=LONGEST_WORD).contains(&route.len()) && route.chars().all(own) { route } else { OTHER }
}

/// Notes go beside the record in that folder from now on, if there is one.
pub fn keep_in(folder: &Path) {
    if folder.join(records::workshop::RECORD_FILE).is_file() {
        *FOLDER_NOW.lock().unwrap_or_else(PoisonError::into_inner) = Some(folder.to_owned());
    }
}

/// Makes a note. A diary that cannot be written is no reason to stop the work: nothing is told then.
pub fn note(happened: Happened<'_>, at: Timestamp) {
    let folder = FOLDER_NOW.lock().unwrap_or_else(PoisonError::into_inner).clone();
    if let Some(folder) = folder {
        let seconds = Timestamp::from_second(at.as_second()).unwrap_or(at);
        let line = format!("{seconds} {} {}\n", env!("CARGO_PKG_VERSION"), happened.words());
        let _ = file::append(&folder, &line);
    }
}

/// From now on a panic is noted before it is told.
pub fn note_panics() {
    let told = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        if let Some(place) = info.location() {
            note(Happened::Panicked(place.file(), place.line()), Timestamp::now());
        }
        told(info);
    }));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_personal_fits_into_a_line() {
        for (happened, wanted) in [
            (Happened::Refused("bar", "label_taken"), "refused bar label_taken"),
            (Happened::Refused("bar", "Müller's Marimba, C#4 +3 cents"), "refused bar other"),
            (Happened::Answered("/bench/{bench}/cut", 500), "answered 500 /bench/{bench}/cut"),
            (Happened::Answered("", 404), "answered 404 other"),
            (Happened::Panicked("/home/somebody/src/calamine/mod.rs", 7), "panicked mod.rs:7"),
        ] {
            assert_eq!(happened.words(), wanted);
        }
        assert_eq!(Happened::Refused("plan", &"a".repeat(500)).words(), "refused plan other");
    }
}
