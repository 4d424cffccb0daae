//! Node lines of an instrument's bars from the salt tests in the record.
use super::tables::NodeRow;
use crate::cli::workshop::open;
use crate::error::Refused;
use making::frame::{BenchNodes, FacesPlayer};
use records::Note;
use records::workshop::{BarFilter, BarState, Body, History, Kind, SaltRecord, Stage};
use std::path::Path;

/// The bars of an instrument, bass to treble; bars without a salt test since they were arched, or trimmed, count as not
/// read.
///
/// On the instrument the left end of the bench faces the player.
pub(super) fn node_rows(at: Option<&Path>, instrument: &str) -> Result<Vec<NodeRow>, Refused> {
    let workshop = open(at)?;
    let found = workshop.find(Kind::Instrument, instrument)?;
    let filter = BarFilter { instrument: Some(found.uid), ..BarFilter::default() };
    let mut rows: Vec<NodeRow> = Vec::new();
    for bar in workshop.bars(&filter)?.iter().filter(|bar| bar.stage != Stage::Discarded) {
        let state = workshop.bar(bar.uid)?;
        let Some(note) = bar.note.as_ref().and_then(|note| note.parse::<Note>().ok()) else { continue };
        if let Some(twin) = rows.iter().find(|row| row.note.semitones_above_a4() == note.semitones_above_a4()) {
            return Err(Refused::new(
                "note_twice",
                format!("two bars of {} are given the note {}", found.name, twin.note),
                "withdraw one of them: barwright bar LABEL withdraw WHY",
            ));
        }
        rows.push(node_row(note, &state, salted_since_trim(&workshop.history(bar.uid)?)));
    }
    if rows.is_empty() {
        return Err(Refused::new(
            "no_bars",
            format!("{} has no bars with notes", found.name),
            "give its bars their notes first: barwright bar LABEL give C3 --to NAME",
        ));
    }
    rows.sort_by_key(|row| row.note.semitones_above_a4());
    Ok(rows)
}

/// How many of the last salt tests still count from today's ends: sawing an end off moves the nodes and the numbers.
fn salted_since_trim(history: &History) -> usize {
    let standing = history.standing();
    let since = standing.iter().rev().take_while(|standing| !matches!(standing.body, Body::Trim(_)));
    since.filter(|standing| matches!(standing.body, Body::Salt(_))).count()
}

fn node_row(note: Note, state: &BarState, salted: usize) -> NodeRow {
    let outline = state.file.outline();
    let length_mm = outline.x_mm.last().copied().unwrap_or(state.file.record().length_mm);
    // Nodes move outwards as the arch deepens: a salt test of the blank says nothing about the rails.
    let salt = state.salt.iter().rev().take(salted).find(|(_, arched)| *arched).map(|(salt, _)| salt);
    NodeRow {
        note,
        length_mm,
        width_mm: state.file.record().width_mm,
        nodes: salt.map(|salt| on_top(salt, state).on_instrument(length_mm * 1e-3, FacesPlayer::LeftEnd)),
        thickness_mm: outline.x_mm.iter().copied().zip(outline.thickness_mm.iter().copied()).collect(),
    }
}

/// The salt test as it would look with the top face up.
fn on_top(salt: &SaltRecord, state: &BarState) -> BenchNodes {
    let line = |line: &records::workshop::NodeLine| [line.near_mm * 1e-3, line.far_mm * 1e-3];
    let read = BenchNodes { left_m: line(&salt.left), right_m: line(&salt.right) };
    if state.top.is_some_and(|top| top != salt.face_up) { read.rolled() } else { read }
}
