//! Node lines of an instrument's bars from the salt tests in the record.
use super::NodeRow;
use crate::convert::salted_nodes;
use crate::error::Refused;
use making::frame::{BenchNodes, FacesPlayer};
use records::Note;
use records::workshop::{BarFilter, BarRow, BarState, Stage, Uid, Workshop};

/// The bars of an instrument, bass to treble; bars without a salt test since they were arched, or trimmed, count as not
/// read.
///
/// On the instrument the left end of the bench faces the player.
///
/// # Errors
/// [`Refused`] `no_bars`, `note_twice`; if the record cannot be read.
pub fn node_rows(workshop: &Workshop, instrument: Uid, name: &str) -> Result<Vec<NodeRow>, Refused> {
    let filter = BarFilter { instrument: Some(instrument), ..BarFilter::default() };
    let mut rows: Vec<NodeRow> = Vec::new();
    for bar in workshop.bars(&filter)?.iter().filter(|bar| bar.stage != Stage::Discarded) {
        let state = workshop.bar(bar.uid)?;
        let Some(note) = bar.note.as_ref().and_then(|note| note.parse::<Note>().ok()) else { continue };
        if let Some(twin) = rows.iter().find(|row| row.note.semitones_above_a4() == note.semitones_above_a4()) {
            return Err(Refused::new(
                "note_twice",
                format!("two bars of {name} are given the note {}", twin.note),
                "withdraw one of them: barwright bar LABEL withdraw WHY",
            ));
        }
        // Only a bar with a salt test needs its history.
        let nodes = if state.salt.is_empty() { None } else { salted_nodes(&state, &workshop.history(bar.uid)?) };
        rows.push(node_row(bar, note, &state, nodes));
    }
    if rows.is_empty() {
        return Err(Refused::new(
            "no_bars",
            format!("{name} has no bars with notes"),
            "give its bars their notes first: barwright bar LABEL give C3 --to NAME",
        ));
    }
    rows.sort_by_key(|row| row.note.semitones_above_a4());
    Ok(rows)
}

fn node_row(bar: &BarRow, note: Note, state: &BarState, nodes: Option<BenchNodes>) -> NodeRow {
    let outline = state.file.outline();
    let length_mm = outline.x_mm.last().copied().unwrap_or(state.file.record().length_mm);
    NodeRow {
        note,
        length_mm,
        width_mm: state.file.record().width_mm,
        nodes: nodes.map(|nodes| nodes.on_instrument(length_mm * 1e-3, FacesPlayer::LeftEnd)),
        thickness_mm: outline.x_mm.iter().copied().zip(outline.thickness_mm.iter().copied()).collect(),
        of_record: Some((bar.uid, bar.label.clone())),
        drilled: state.drilled.is_some(),
    }
}
