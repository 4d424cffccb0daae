//! Reading histories back.
use super::bar::BarState;
use super::error::RecordError;
use super::event::{Entry, Event, Kind, Uid};
use super::history::History;
use super::open::Workshop;
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, Row, params};

impl Workshop {
    /// All that happened to a thing.
    ///
    /// # Errors
    /// `not_found` if there is no such thing; `damaged`.
    pub fn history(&self, thing: Uid) -> Result<History, RecordError> {
        history(&self.connection, thing)
    }

    /// A bar as it stands.
    ///
    /// # Errors
    /// `not_found` if there is no such bar; `damaged`.
    pub fn bar(&self, bar: Uid) -> Result<BarState, RecordError> {
        BarState::of(&self.history(bar)?)
    }

    /// What the thing of that name is.
    ///
    /// # Errors
    /// `not_found` if there is no such thing.
    pub fn kind_of(&self, thing: Uid) -> Result<Kind, RecordError> {
        kind_of(&self.connection, thing)
    }
}

pub(crate) fn row_of(connection: &Connection, thing: Uid) -> Result<Option<i64>, RecordError> {
    let mut query = connection.prepare_cached("SELECT id FROM thing WHERE uid = ?1")?;
    Ok(query.query_row([thing.to_string()], |row| row.get(0)).optional()?)
}

pub(crate) fn kind_of(connection: &Connection, thing: Uid) -> Result<Kind, RecordError> {
    let mut query = connection.prepare_cached("SELECT kind FROM thing WHERE uid = ?1")?;
    let word: Option<String> = query.query_row([thing.to_string()], |row| row.get(0)).optional()?;
    word.map_or_else(|| Err(not_found(thing)), |word| Kind::from_word(&word))
}

fn not_found(thing: Uid) -> RecordError {
    RecordError::new("not_found", format!("The record holds nothing named {thing}."), "Look at the list of bars.")
}

pub(crate) fn history(connection: &Connection, thing: Uid) -> Result<History, RecordError> {
    let history = history_or_empty(connection, thing)?;
    if history.events().is_empty() { Err(not_found(thing)) } else { Ok(history) }
}

pub(crate) fn history_or_empty(connection: &Connection, thing: Uid) -> Result<History, RecordError> {
    let sql = "SELECT event.id, event.uid, at_ms, body FROM event JOIN thing ON thing.id = event.thing
        WHERE thing.uid = ?1 ORDER BY event.id";
    let mut query = connection.prepare_cached(sql)?;
    let mut rows = query.query(params![thing.to_string()])?;
    let mut history = History::default();
    while let Some(row) = rows.next()? {
        history.push(event(row)?)?;
    }
    Ok(history)
}

/// An event from a row of `id, uid, at_ms, body`.
pub(crate) fn event(row: &Row<'_>) -> Result<Event, RecordError> {
    let (number, uid): (i64, String) = (row.get(0)?, row.get(1)?);
    let (at_ms, body): (i64, String) = (row.get(2)?, row.get(3)?);
    let entry: Entry =
        serde_json::from_str(&body).map_err(|error| RecordError::damaged(format!("event {number} ({error})")))?;
    Ok(Event { number, uid: uid.parse()?, at: time(at_ms)?, entry })
}

pub(crate) fn time(at_ms: i64) -> Result<Timestamp, RecordError> {
    Timestamp::from_millisecond(at_ms).map_err(|_| RecordError::damaged(format!("the time {at_ms} ms")))
}
