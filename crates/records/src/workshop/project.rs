//! The present state, written beside the events so that views need not follow every history.
use super::bar::BarState;
use super::body::Body;
use super::error::RecordError;
use super::history::History;
use super::read;
use rusqlite::{Connection, params};

/// Writes how a bar stands.
pub(crate) fn bar(connection: &Connection, row: i64, state: &BarState, last_event: i64) -> Result<(), RecordError> {
    let instrument = match state.instrument {
        Some(uid) => read::row_of(connection, uid)?,
        None => None,
    };
    let note = state.file.note();
    let reading = state.reading.as_ref();
    let cents = reading.map_or([None; 3], |reading| reading.cents);
    let outline = state.file.outline();
    connection
        .prepare_cached(
            "INSERT OR REPLACE INTO bar_now (bar, label, instrument, note, semitone, stage, heard_at_ms, worked_at_ms,
                heard_after_work, heard_c, cents_1, cents_2, cents_3, sigma_cents, centre_mm, last_event)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)",
        )?
        .execute(params![
            row,
            state.label,
            instrument,
            note.as_ref().map(ToString::to_string),
            note.map(|note| note.semitones_above_a4()),
            state.stage.word(),
            reading.map(|reading| reading.at.as_millisecond()),
            state.worked_at.map(|at| at.as_millisecond()),
            state.heard_after_work,
            reading.and_then(|reading| reading.temperature_c),
            cents[0],
            cents[1],
            cents[2],
            reading.map(|reading| reading.heard.sigma_cents.unwrap_or(1.0)),
            outline.thickness_at(0.5 * outline.length_mm()),
            last_event,
        ])?;
    Ok(())
}

/// Writes the name and the last defining event of anything but a bar.
pub(crate) fn thing(connection: &Connection, row: i64, history: &History) -> Result<(), RecordError> {
    let standing = history.standing();
    let defining = standing.iter().rev().map(|standing| standing.body).find(|body| body.begins());
    let Some(body) = defining else { return Err(RecordError::damaged("a thing without a beginning")) };
    let gone = standing.iter().rev().find_map(|standing| match standing.body {
        Body::Delivered(_) => Some(true),
        Body::Returned(_) => Some(false),
        _ => None,
    });
    let text = serde_json::to_string(body).map_err(|_| RecordError::damaged("an entry that cannot be written"))?;
    connection
        .prepare_cached("INSERT OR REPLACE INTO thing_now (thing, name, body, gone) VALUES (?1, ?2, ?3, ?4)")?
        .execute(params![row, name(body), text, gone.unwrap_or(false)])?;
    Ok(())
}

fn name(body: &Body) -> &str {
    match body {
        Body::Workshop(workshop) => &workshop.name,
        Body::Order(order) => &order.name,
        Body::Board(board) => &board.name,
        Body::Person(person) => &person.name,
        Body::Tool(tool) => &tool.name,
        Body::Entered(entered) => &entered.label,
        _ => "",
    }
}
