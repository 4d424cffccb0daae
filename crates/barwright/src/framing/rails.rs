//! Rails as the record has them, in millimetres, and as the decisions take them, in metres.
use making::frame::{BuiltRails, BuiltRow, FramePlan, Row};
use records::workshop::{RailRecord, RailWord, RowWord};

/// Rails of the record by their rows; a row without both its rails is left out (the record refuses those).
pub fn built_rows(rails: &[RailRecord]) -> Vec<BuiltRow> {
    let line = |row: RowWord, rail: RailWord| {
        let found = rails.iter().find(|known| (known.row, known.rail) == (row, rail))?;
        Some(found.points.iter().map(|[x_mm, y_mm]| (x_mm * 1e-3, y_mm * 1e-3)).collect::<Vec<_>>())
    };
    let rows = [(RowWord::Natural, Row::Natural), (RowWord::Accidental, Row::Accidental)];
    let row = |(word, row): (RowWord, Row)| {
        let rails = BuiltRails { player: line(word, RailWord::Player)?, away: line(word, RailWord::Far)? };
        Some(BuiltRow { row, rails })
    };
    rows.into_iter().filter_map(row).collect()
}

/// The rails of a plan for the record, to a hundredth of a millimetre: finer is no rule.
pub fn rail_records(plan: &FramePlan) -> Vec<RailRecord> {
    let of_row = |row: &making::frame::RowFit| {
        let word = if row.row == Row::Natural { RowWord::Natural } else { RowWord::Accidental };
        [(RailWord::Player, 0), (RailWord::Far, 1)].map(|(rail, index)| RailRecord {
            row: word,
            rail,
            points: row.rails[index]
                .points()
                .iter()
                .map(|(x, y)| [x, y].map(|m| crate::convert::rounded(m * 1e3, 2)))
                .collect(),
        })
    };
    plan.rows.iter().flat_map(of_row).collect()
}
