//! Sizes as a maker edited them in a spreadsheet, back into a specification.
use crate::error::Refused;
use making::schedule::{Law, Specification};
use records::Note;
use records::workshop::table_as_csv;
use serde::Deserialize;
use std::path::Path;

const COLUMNS: &str = "columns note, and length_mm, width_mm, thickness_mm where they change; `barwright plan SPEC --csv FILE` \
                       writes such a table, its other columns are not read";

#[derive(Debug, Deserialize)]
struct Line {
    note: String,
    length_mm: Option<f64>,
    width_mm: Option<f64>,
    thickness_mm: Option<f64>,
}

/// The specification with the sizes of a table (CSV or a workbook): each column that is there must have every note of the compass.
///
/// # Errors
/// [`Refused`] `not_a_table` with the line, `no_such_note`, `missing_note`.
pub(crate) fn sizes_of_table(specification: &Specification, path: &Path) -> Result<Specification, Refused> {
    let refused = |error: csv::Error| {
        let line = error.position().map_or_else(String::new, |at| format!(", line {}", at.line()));
        Refused::new("not_a_table", format!("{}{line} cannot be read: {error}", path.display()), COLUMNS)
    };
    let table = table_as_csv(path)?;
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).flexible(true).from_reader(table.as_slice());
    let lines = reader.deserialize::<Line>().collect::<Result<Vec<_>, _>>().map_err(refused)?;
    let bars = specification.bars()?;
    let mut seen: Vec<i32> = Vec::new();
    let mut sizes: [Vec<(i32, f64)>; 3] = Default::default();
    // A workbook's sum at the foot has no note.
    for line in lines.iter().filter(|line| !line.note.is_empty()) {
        let name = line.note.parse::<Note>()?.to_string();
        let bar = bars.iter().find(|bar| bar.name == name && !seen.contains(&bar.midi)).ok_or_else(|| {
            let message = format!("{name} is not in the compass, or stands in the table twice");
            Refused::new("no_such_note", message, "keep one line for each note of the specification")
        })?;
        seen.push(bar.midi);
        for (list, mm) in sizes.iter_mut().zip([line.length_mm, line.width_mm, line.thickness_mm]) {
            list.extend(mm.map(|mm| (bar.midi, mm * 1e-3)));
        }
    }
    let mut with = specification.clone();
    let [lengths, widths, thicknesses] = sizes;
    for (law, mut list, what) in [
        (&mut with.length, lengths, "length_mm"),
        (&mut with.width, widths, "width_mm"),
        (&mut with.thickness, thicknesses, "thickness_mm"),
    ] {
        if list.is_empty() {
            continue;
        }
        if let Some(missing) = bars.iter().find(|bar| !list.iter().any(|(midi, _)| *midi == bar.midi)) {
            let message = format!("{what} is missing for {}", missing.name);
            return Err(Refused::new("missing_note", message, "fill the column, or empty it for every note"));
        }
        list.sort_by_key(|(midi, _)| *midi);
        *law = Law::Listed(list);
    }
    Ok(with)
}
