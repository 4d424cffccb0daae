//! One bar's whole history: every entry with what became of it, and the sound of its readings.
use super::compare::TakeName;
use super::html::history_page;
use super::routes::{Which, refusal_page};
use super::state::{PageState, held};
use crate::bench::{Desk, hold};
use crate::error::Refused;
use crate::report::bouts::cents_words;
use crate::report::record::{fate, what, when, written};
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use records::BarFile;
use records::workshop::{BarState, Body, Fate, ReadingRecord, Uid};

/// A line of the history.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HistoryLine {
    /// Its number, from 1, as `barwright bar WHICH correct N` takes it.
    pub number: usize,
    /// When it was entered.
    pub when: String,
    /// What happened, with numbers as they were written and what became of it.
    pub words: String,
    /// False for what was taken back, corrected or struck out.
    pub stands: bool,
    /// Cents of each tuned mode above its target, for a reading.
    pub cents: String,
    /// Names of the takes it was heard in.
    pub takes: Vec<String>,
    /// Name of the photograph's file it was read from.
    pub photo: Option<String>,
}

/// A bar with all that happened to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HistoryView {
    /// How the bar is addressed.
    pub id: String,
    /// Note and label: "C3, bar 17".
    pub name: String,
    /// Whether the workshop is simulated.
    pub invented: bool,
    /// Newest first.
    pub lines: Vec<HistoryLine>,
}

impl HistoryView {
    /// The history of the bar of that name.
    ///
    /// # Errors
    /// [`Refused`] `not_found` where there is no record or no such bar.
    pub fn of(desk: &Desk, name: &str) -> Result<Self, Refused> {
        // Also refuses what is no bar.
        let bench = desk.bench(name)?;
        let (Some(workshop), Ok(uid)) = (desk.workshop(), name.parse::<Uid>()) else {
            let hint =
                "its bouts stand at the end of its page; a workshop's record keeps everything: barwright workshop new";
            return Err(Refused::new("not_found", "a bar file by itself has no history page", hint));
        };
        let file = held(&bench).file().clone();
        let workshop = hold(workshop);
        let (history, state) = (workshop.history(uid)?, workshop.bar(uid)?);
        let mut lines: Vec<HistoryLine> = Vec::new();
        for (index, line) in history.lines().into_iter().enumerate() {
            let event = line.event;
            let reading = reading_of(&event.entry.what);
            let cents = reading.map_or_else(String::new, |reading| cents_words(&file, &reading.heard));
            let takes = reading.map_or_else(Vec::new, |reading| reading.takes.clone());
            lines.push(HistoryLine {
                number: index + 1,
                when: when(event.at),
                words: format!("{}{}{}", what(&event.entry.what), written(event), fate(&history, line.fate)),
                stands: matches!(line.fate, Fate::Stands | Fate::Concerns(_)),
                cents,
                takes,
                photo: photo_of(&event.entry.what),
            });
        }
        lines.reverse();
        Ok(Self { id: name.to_owned(), name: name_of_bar(&file, &state), invented: desk.invented(), lines })
    }

    /// The two newest sounds that stand, the earlier first: what a maker most likely wants to compare. Nothing with fewer.
    pub fn newest_two(&self) -> Option<[TakeName; 2]> {
        let standing = self.lines.iter().filter(|line| line.stands);
        let mut sounds = standing.flat_map(|line| {
            let name = |take: usize| TakeName { entry: line.number, take };
            line.takes.iter().enumerate().rev().map(move |(index, sha256)| (sha256, name(index + 1)))
        });
        let (newest, later) = sounds.next()?;
        let (_, earlier) = sounds.find(|(sha256, _)| *sha256 != newest)?;
        Some([earlier, later])
    }
}

/// What was heard, if the entry is a reading or puts one right.
pub(super) fn reading_of(body: &Body) -> Option<&ReadingRecord> {
    match body {
        Body::Heard(reading) => Some(reading),
        Body::Corrected(corrected) => corrected.to.as_ref().and_then(reading_of),
        _ => None,
    }
}

/// The photograph's file, if the entry was read from one or puts one right.
fn photo_of(body: &Body) -> Option<String> {
    match body {
        Body::Salt(salt) => salt.photo.as_ref().map(|photo| format!("{}.{}", photo.sha256, photo.format.extension())),
        Body::Corrected(corrected) => corrected.to.as_ref().and_then(photo_of),
        _ => None,
    }
}

/// Note and label of a bar: "C3, bar 17".
pub(super) fn name_of_bar(file: &BarFile, state: &BarState) -> String {
    let note = file.note().map_or_else(|| "no note yet".to_owned(), |note| note.to_string());
    format!("{note}, bar {}", state.label)
}

/// The bytes of a take of the record, by its name.
///
/// # Errors
/// [`Refused`] `not_found` for a name that is none; as the record's takes.
pub fn take(desk: &Desk, name: &str) -> Result<Vec<u8>, Refused> {
    // The name becomes part of a path: nothing but the figures of a SHA-256 may pass.
    let is_name = name.len() == 64 && name.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
    match desk.workshop() {
        Some(workshop) if is_name => Ok(hold(workshop).takes().read(name)?),
        _ => Err(Refused::new("not_found", "there is no such take", "play it from the bar's history")),
    }
}

/// All that happened to a bar.
pub async fn page(State(state): State<PageState>, Which(name): Which) -> Response {
    match state.with_desk(move |state| HistoryView::of(state.desk(), &name)).await {
        Ok(view) => Html(history_page(&view).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

/// The sound of a take; it is named by its contents, so that it never changes.
pub async fn sound(State(state): State<PageState>, Path(name): Path<String>) -> Response {
    match state.with_desk(move |state| take(state.desk(), &name)).await {
        Ok(flac) => {
            let kept = (header::CACHE_CONTROL, "private, max-age=31536000, immutable");
            ([(header::CONTENT_TYPE, "audio/flac"), kept], flac).into_response()
        }
        Err(refused) => refusal_page(&refused),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use records::workshop::Workshop;

    #[test]
    fn no_name_reaches_outside_the_takes() {
        let folder = tempfile::tempdir().unwrap();
        let workshop = Workshop::create(&folder.path().join("shop"), "Invented", jiff::Timestamp::UNIX_EPOCH).unwrap();
        let desk = Desk::of_record(workshop, true);
        let long = "a".repeat(64);
        for name in
            ["", "..", "../workshop.db", "/etc/hostname", "AB", &"A".repeat(64), &format!("../{}", "a".repeat(61))]
        {
            assert_eq!(take(&desk, name).unwrap_err().code, "not_found", "{name}");
        }
        assert_eq!(take(&desk, &long).unwrap_err().code, "take_missing");
    }
}
