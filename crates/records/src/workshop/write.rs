//! Adding events; what is refused leaves no trace.
use super::bar::{BarState, Stage};
use super::body::{Body, CorrectedRecord, EventName, GivenRecord};
use super::error::RecordError;
use super::event::{Entry, Event, Kind, Uid};
use super::frame::FrameState;
use super::project;
use super::read;
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, params};

/// Steps inside one transaction.
#[derive(Debug)]
pub struct Writer<'a> {
    connection: &'a Connection,
}

impl<'a> Writer<'a> {
    pub(crate) fn new(connection: &'a Connection) -> Self {
        Self { connection }
    }

    pub(crate) fn connection(&self) -> &Connection {
        self.connection
    }

    /// Begins a new thing with its first event and returns its name.
    ///
    /// # Errors
    /// `wrong_kind` if the event does not begin such a thing; otherwise as [`Writer::add`].
    pub fn begin(&self, kind: Kind, entry: Entry, at: Timestamp) -> Result<Uid, RecordError> {
        let thing = Uid::fresh();
        self.put(thing, kind, Event { number: 0, uid: Uid::fresh(), at, entry })?;
        Ok(thing)
    }

    /// Adds an event to a thing and returns the event's name.
    ///
    /// # Errors
    /// `not_found`, `wrong_kind`; whatever makes the event impossible for this thing.
    pub fn add(&self, thing: Uid, entry: Entry, at: Timestamp) -> Result<Uid, RecordError> {
        let kind = read::kind_of(self.connection, thing)?;
        self.check_turn(thing, &entry)?;
        let event = Event { number: 0, uid: Uid::fresh(), at, entry };
        let uid = event.uid;
        self.put(thing, kind, event)?;
        Ok(uid)
    }

    /// Adds several events to one thing, followed and checked once, when all are there.
    ///
    /// # Errors
    /// As [`Writer::add`], for the history with all of them.
    pub fn add_all(
        &self,
        thing: Uid,
        entries: impl IntoIterator<Item = Entry>,
        at: Timestamp,
    ) -> Result<(), RecordError> {
        let kind = read::kind_of(self.connection, thing)?;
        for entry in entries {
            self.check_turn(thing, &entry)?;
            self.put_unsettled(thing, kind, &Event { number: 0, uid: Uid::fresh(), at, entry })?;
        }
        self.settle(thing, kind)
    }

    /// Takes back the last event that stands; `seen` is what the maker saw as the last one.
    ///
    /// # Errors
    /// `nothing_to_undo`; `not_the_last` if something else was entered meanwhile.
    pub fn undo(&self, thing: Uid, seen: Option<Uid>, at: Timestamp) -> Result<Event, RecordError> {
        let history = read::history(self.connection, thing)?;
        let last = history.next_to_undo().cloned().ok_or_else(|| {
            RecordError::new("nothing_to_undo", "Nothing is left to take back.", "Look at the history.")
        })?;
        let event = seen.unwrap_or(last.uid);
        self.add(thing, Body::Undone(EventName { event }).into(), at)?;
        Ok(last)
    }

    /// Brings back what was taken back last.
    ///
    /// # Errors
    /// `nothing_to_redo`.
    pub fn redo(&self, thing: Uid, at: Timestamp) -> Result<Event, RecordError> {
        let history = read::history(self.connection, thing)?;
        let back = history.next_to_redo().cloned().ok_or_else(|| {
            RecordError::new("nothing_to_redo", "Nothing is left to bring back.", "Look at the history.")
        })?;
        self.add(thing, Body::Redone(EventName { event: back.uid }).into(), at)?;
        Ok(back)
    }

    /// Corrects an earlier event, or strikes it out (`to` is `None`); its old words stay in the record.
    ///
    /// # Errors
    /// `not_found`, `already_undone`, `wrong_kind`; whatever makes the corrected history impossible.
    pub fn correct(
        &self,
        thing: Uid,
        event: Uid,
        to: Option<Body>,
        why: Option<String>,
        at: Timestamp,
    ) -> Result<Uid, RecordError> {
        self.add(thing, Body::Corrected(Box::new(CorrectedRecord { event, to, why })).into(), at)
    }

    fn put(&self, thing: Uid, kind: Kind, event: Event) -> Result<(), RecordError> {
        self.put_unsettled(thing, kind, &event)?;
        self.settle(thing, kind)
    }

    /// Puts an event without looking at what it makes of its thing; [`Writer::settle`] must follow.
    pub(crate) fn put_unsettled(&self, thing: Uid, kind: Kind, event: &Event) -> Result<(), RecordError> {
        if !event.entry.what.belongs_to(kind) {
            return Err(RecordError::new(
                "wrong_kind",
                format!("\"{}\" cannot happen to a {}.", event.entry.what.word(), kind.word()),
                "Name what it happened to.",
            ));
        }
        self.check_names(&event.entry)?;
        let row = self.row_of(thing, kind)?;
        self.insert(row, event)
    }

    /// Follows the history of a thing, refuses what cannot be, and writes its present state.
    pub(crate) fn settle(&self, thing: Uid, kind: Kind) -> Result<(), RecordError> {
        let history = read::history(self.connection, thing)?;
        let row = self.row_of(thing, kind)?;
        if kind == Kind::Bar {
            let state = BarState::of(&history)?;
            self.check_label(row, &state)?;
            self.check_note(row, &state)?;
            let last_event = history.events().last().map_or(0, |event| event.number);
            project::bar(self.connection, row, &state, last_event)
        } else {
            FrameState::of(&history).checked()?;
            project::thing(self.connection, row, &history)
        }
    }

    fn row_of(&self, thing: Uid, kind: Kind) -> Result<i64, RecordError> {
        if let Some(row) = read::row_of(self.connection, thing)? {
            return Ok(row);
        }
        let mut insert = self.connection.prepare_cached("INSERT INTO thing (uid, kind) VALUES (?1, ?2)")?;
        Ok(insert.insert(params![thing.to_string(), kind.word()])?)
    }

    fn insert(&self, row: i64, event: &Event) -> Result<(), RecordError> {
        let body = serde_json::to_string(&event.entry).map_err(|error| {
            RecordError::new("not_saved", format!("The entry cannot be written: {error}."), "Check its numbers.")
        })?;
        let sql = "INSERT INTO event (uid, thing, at_ms, kind, body) VALUES (?1, ?2, ?3, ?4, ?5)";
        let what = &event.entry.what;
        let number = self.connection.prepare_cached(sql)?.insert(params![
            event.uid.to_string(),
            row,
            event.at.as_millisecond(),
            what.word(),
            body
        ])?;
        let sql = "INSERT OR IGNORE INTO event_take (event, sha256) VALUES (?1, ?2)";
        for take in what.takes() {
            self.connection.prepare_cached(sql)?.execute(params![number, take])?;
        }
        if let Some(photo) = what.photo() {
            let sql = "INSERT OR IGNORE INTO event_photo (event, sha256) VALUES (?1, ?2)";
            self.connection.prepare_cached(sql)?.execute(params![number, photo.sha256])?;
        }
        Ok(())
    }

    /// Notes that a take's sound is kept, so that readings can name it.
    ///
    /// # Errors
    /// [`RecordError`] if the record refuses.
    pub fn take_kept(&self, sha256: &str, bytes: usize, rate_hz: u32, seconds: f64) -> Result<(), RecordError> {
        let sql = "INSERT OR IGNORE INTO take (sha256, bytes, rate_hz, seconds) VALUES (?1, ?2, ?3, ?4)";
        let bytes = i64::try_from(bytes).unwrap_or(i64::MAX);
        self.connection.prepare_cached(sql)?.execute(params![sha256, bytes, rate_hz, seconds])?;
        Ok(())
    }

    /// Holes are drilled where the standing frame's rails are: before they were measured a reason is asked for.
    ///
    /// Only of what is entered now; what came about otherwise in an archive is taken as it is.
    fn check_turn(&self, thing: Uid, entry: &Entry) -> Result<(), RecordError> {
        let Body::Drilled(drilled) = &entry.what else { return Ok(()) };
        if drilled.why.as_ref().is_some_and(|why| !why.trim().is_empty()) {
            return Ok(());
        }
        let instrument = BarState::of(&read::history(self.connection, thing)?)?.instrument;
        let built = match instrument {
            Some(uid) => FrameState::of(&read::history(self.connection, uid)?).built.is_some(),
            None => false,
        };
        if built {
            return Ok(());
        }
        let what = match instrument {
            Some(_) => "The rails of this bar's frame have not been measured as they stand.",
            None => "This bar is given to no instrument, so there is no frame to drill it by.",
        };
        Err(RecordError::new(
            "frame_not_built",
            what,
            "Build the frame, measure its rails and enter them; or say why the bar was drilled before.",
        ))
    }

    /// Whoever and whatever an entry names must be in the record.
    fn check_names(&self, entry: &Entry) -> Result<(), RecordError> {
        let mut named = vec![(entry.by, Kind::Person), (entry.with, Kind::Tool)];
        let what = match &entry.what {
            Body::Corrected(corrected) => corrected.to.as_ref().unwrap_or(&entry.what),
            what => what,
        };
        match what {
            Body::Entered(entered) => named.push((entered.board, Kind::Board)),
            Body::Given(GivenRecord { instrument, .. }) => named.push((Some(*instrument), Kind::Instrument)),
            _ => {}
        }
        for (uid, kind) in named.into_iter().filter_map(|(uid, kind)| Some((uid?, kind))) {
            let found = read::kind_of(self.connection, uid)?;
            if found != kind {
                let message = format!("{uid} is a {}, not a {}.", found.word(), kind.word());
                return Err(RecordError::new("wrong_kind", message, "Look at the list, then name the right one."));
            }
        }
        Ok(())
    }

    fn check_label(&self, row: i64, state: &BarState) -> Result<(), RecordError> {
        if state.label.trim().is_empty() || state.label.chars().count() > 40 {
            return Err(RecordError::new(
                "wrong_label",
                format!("The label is \"{}\"; it must have 1 to 40 letters.", state.label),
                "Write the number that stands on the bar's end grain.",
            ));
        }
        let sql = "SELECT 1 FROM bar_now WHERE label = ?1 COLLATE NOCASE AND bar <> ?2 AND stage <> 'discarded'";
        let taken = self.connection.prepare_cached(sql)?.exists(params![state.label, row])?;
        if taken && state.stage != Stage::Discarded {
            return Err(RecordError::new(
                "label_taken",
                format!("Another bar carries the label {}.", state.label),
                "Give this bar another label, and write it on its end grain.",
            ));
        }
        Ok(())
    }

    /// One bar a note; a bar that is given up frees its note.
    fn check_note(&self, row: i64, state: &BarState) -> Result<(), RecordError> {
        let (Some(instrument), Some(note)) = (state.instrument, state.file.note()) else { return Ok(()) };
        if state.stage == Stage::Discarded {
            return Ok(());
        }
        let sql = "SELECT label FROM bar_now JOIN thing ON thing.id = instrument
            WHERE thing.uid = ?1 AND semitone = ?2 AND bar <> ?3 AND stage <> 'discarded'";
        let mut query = self.connection.prepare_cached(sql)?;
        let semitone = note.semitones_above_a4();
        let other: Option<String> =
            query.query_row(params![instrument.to_string(), semitone, row], |row| row.get(0)).optional()?;
        match other {
            None => Ok(()),
            Some(label) => Err(RecordError::new(
                "note_taken",
                format!("{note} is served by bar {label} already."),
                "Take that bar off its note first, or give this bar another note.",
            )),
        }
    }
}
