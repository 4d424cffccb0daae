//! Many takes as one table.
use crate::cli::new_file;
use crate::convert::rounded;
use crate::error::Refused;
use crate::report::listen::{kind_name, to_json as heard_to_json};
use records::plain_text;
use serde_json::{Value, json};
use strike::{Heard, HeardMode, Kind};

/// One take of a folder.
#[derive(Debug)]
pub(super) struct Row {
    /// Name of its file.
    pub file: String,
    /// What was heard, or why nothing.
    pub heard: Result<Heard, Refused>,
}

/// Modes with columns of their own.
const MODES: [(Kind, usize); 5] =
    [(Kind::Bending, 1), (Kind::Bending, 2), (Kind::Bending, 3), (Kind::Torsion, 1), (Kind::Sideways, 1)];

/// The table as CSV (RFC 4180), one row a take.
pub(super) fn to_csv(rows: &[Row]) -> Result<Vec<u8>, Refused> {
    let mut head: Vec<String> = ["file", "result", "blows"].map(str::to_owned).to_vec();
    for (kind, number) in MODES {
        let name = format!("{}_{number}", kind_name(kind));
        head.extend(["hz", "sigma_cents", "decay_s", "sure"].map(|what| format!("{name}_{what}")));
    }
    head.extend(["other_tones", "warnings", "reason", "next_step"].map(str::to_owned));
    new_file::to_csv(std::iter::once(head).chain(rows.iter().map(cells)))
}

fn cells(row: &Row) -> Vec<String> {
    let mut cells = vec![plain_text(&row.file)];
    match &row.heard {
        Ok(heard) => {
            cells.extend(["heard".to_owned(), heard.blows.len().to_string()]);
            for (kind, number) in MODES {
                cells.extend(mode_cells(heard.modes.iter().find(|m| m.kind == kind && m.number == number)));
            }
            let codes: Vec<&str> = heard.warnings.iter().map(|w| w.code).collect();
            cells.extend([heard.other.len().to_string(), codes.join(" "), String::new(), String::new()]);
        }
        Err(refused) => {
            cells.extend([format!("refused: {}", refused.code), String::new()]);
            cells.resize(cells.len() + 4 * MODES.len() + 2, String::new());
            cells.extend([plain_text(&refused.message), plain_text(&refused.hint)]);
        }
    }
    cells
}

fn mode_cells(mode: Option<&HeardMode>) -> [String; 4] {
    let cell = |value: f64, digits: u32| rounded(value, digits as _).to_string();
    mode.map_or_else(Default::default, |m| [cell(m.hz, 4), cell(m.sigma_cents, 4), cell(m.decay_s, 5), cell(m.sure, 4)])
}

/// The public JSON of `listen --folder`; see docs/command-line.md.
pub(super) fn to_json(rows: &[Row], others: usize) -> Value {
    let take = |row: &Row| match &row.heard {
        Ok(heard) => {
            let mut value = heard_to_json(heard);
            value["file"] = json!(row.file);
            value
        }
        Err(refused) => {
            let mut value = refused.to_json();
            value["file"] = json!(row.file);
            value
        }
    };
    json!({
        "takes": rows.iter().map(take).collect::<Vec<_>>(),
        "heard": rows.iter().filter(|row| row.heard.is_ok()).count(),
        "refused": rows.iter().filter(|row| row.heard.is_err()).count(),
        "other_files": others,
    })
}

/// How many were heard, and why the others were not.
pub(super) fn summary(rows: &[Row], others: usize) -> String {
    let heard = rows.iter().filter(|row| row.heard.is_ok()).count();
    let mut text = format!("Heard {heard} of {} takes.\n", rows.len());
    for row in rows {
        if let Err(refused) = &row.heard {
            text.push_str(&format!("{}: {refused}\n", row.file));
        }
    }
    if others > 0 {
        text.push_str(&format!("{others} other files in the folder were not read.\n"));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(file: &str) -> Row {
        Row { file: file.to_owned(), heard: Err(Refused::new("silence", "=too quiet, \"very\"", "record again")) }
    }

    #[test]
    fn no_cell_is_a_formula_and_every_row_has_every_column() {
        let rows = ["=cmd|' /C calc'!A0.wav", "+1.wav", "@x.wav", "-1,2.wav", "a \"b\".wav"].map(refused);
        let bytes = to_csv(&rows).unwrap();
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let columns = reader.headers().unwrap().len();
        let records: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(records.len(), 5);
        for record in &records {
            assert_eq!(record.len(), columns);
            assert!(record.iter().all(|cell| !cell.starts_with(['=', '+', '-', '@'])), "{record:?}");
        }
        // Quoting is undone by any reader of CSV; only the guard's apostrophe is added.
        assert_eq!(&records[3][0], "'-1,2.wav");
        assert_eq!(&records[4][0], "a \"b\".wav");
        assert_eq!(&records[0][columns - 2], "'=too quiet, \"very\".");
    }

    #[test]
    fn the_summary_names_the_reasons() {
        let text = summary(&[refused("a.wav")], 2);
        assert!(text.starts_with("Heard 0 of 1 takes.\na.wav: "), "{text}");
        assert!(text.ends_with("2 other files in the folder were not read.\n"), "{text}");
    }
}
