//! Salt tests as lines of a table: each as it was read, with the face that was up.
use crate::cli::new_file::to_csv;
use crate::convert::rounded;
use crate::error::Refused;
use records::plain_text;
use records::workshop::{BarRow, Face, NodeLine, SaltRecord};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

const COLUMNS: &str = "the columns are bar (its note or label), face_up (A or B), left_near_mm, left_far_mm, right_near_mm, right_far_mm \
                       and, if wished, left_centre_mm, right_centre_mm, left_from and right_from (left or right end), note, \
                       cuts_before, entered_at";

/// A line of the file as it stands there.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SaltLine {
    /// Note or label.
    pub(super) bar: String,
    /// Checked, if it is given beside a label.
    #[serde(default)]
    pub(super) note: Option<String>,
    face_up: String,
    left_near_mm: f64,
    #[serde(default)]
    left_centre_mm: Option<f64>,
    left_far_mm: f64,
    right_near_mm: f64,
    #[serde(default)]
    right_centre_mm: Option<f64>,
    right_far_mm: f64,
    #[serde(default)]
    left_from: Option<String>,
    #[serde(default)]
    right_from: Option<String>,
    /// How often wood had been taken off when it was read; checked, if given.
    #[serde(default)]
    pub(super) cuts_before: Option<usize>,
    /// Only for people: when it was entered in the record that wrote the table.
    #[serde(default)]
    #[allow(dead_code, reason = "a table that we wrote is a table that we read")]
    entered_at: Option<String>,
}

impl SaltLine {
    /// The test from the left end, on a bar of this length, with the figures that were read from the right end.
    pub(super) fn test(&self, length_mm: f64) -> Result<(SaltRecord, BTreeMap<String, String>), Refused> {
        let face_up = match self.face_up.trim() {
            "A" | "a" => Face::A,
            "B" | "b" => Face::B,
            word => return Err(Refused::new("no_face", format!("\"{word}\" is no face of a bar"), "write A or B")),
        };
        let mut entered = BTreeMap::new();
        let mut line = |side: &str, from: &Option<String>, [near, far]: [f64; 2], centre: Option<f64>| {
            let from_right = match from.as_deref().map(str::trim) {
                None | Some("" | "left") => false,
                Some("right") => true,
                Some(word) => {
                    let message = format!("the {side} line is read from \"{word}\"");
                    return Err(Refused::new("unknown_word", message, "write left or right, for the end of the bar"));
                }
            };
            let mut place = |what: &str, mm: f64| {
                if from_right {
                    entered.insert(format!("{side}.{what}_mm"), format!("{mm} mm from the right end"));
                }
                // Without the rounding of a difference: a micrometre is no reading.
                if from_right { rounded(length_mm - mm, 3) } else { mm }
            };
            Ok(NodeLine {
                near_mm: place("near", near),
                centre_mm: centre.map(|centre| place("centre", centre)),
                far_mm: place("far", far),
            })
        };
        let left = line("left", &self.left_from, [self.left_near_mm, self.left_far_mm], self.left_centre_mm)?;
        let right = line("right", &self.right_from, [self.right_near_mm, self.right_far_mm], self.right_centre_mm)?;
        Ok((SaltRecord { face_up, left, right, photo: None }, entered))
    }
}

/// Every line with its number in the file.
pub(super) fn read(path: &Path) -> Result<Vec<(u64, SaltLine)>, Refused> {
    let refused = |error: csv::Error| {
        let line = error.position().map_or_else(String::new, |at| format!(", line {}", at.line()));
        Refused::new("not_a_table", format!("{}{line} cannot be read: {error}", path.display()), COLUMNS)
    };
    let table = records::workshop::table_as_csv(path)?;
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).comment(Some(b'#')).from_reader(table.as_slice());
    let head = reader.headers().map_err(refused)?.clone();
    let mut lines = Vec::new();
    for record in reader.records() {
        let record = record.map_err(refused)?;
        let number = record.position().map_or(0, csv::Position::line);
        lines.push((number, record.deserialize(Some(&head)).map_err(refused)?));
    }
    if lines.is_empty() {
        return Err(Refused::new("no_tests", format!("{} has no lines", path.display()), COLUMNS));
    }
    Ok(lines)
}

/// A test for [`write`].
pub(super) struct Kept<'a> {
    pub(super) row: &'a BarRow,
    pub(super) at: jiff::Timestamp,
    pub(super) cuts_before: usize,
    pub(super) salt: SaltRecord,
}

/// A table that [`read`] reads.
pub(super) fn write(tests: &[Kept<'_>]) -> Result<Vec<u8>, Refused> {
    let head = [
        "bar",
        "note",
        "face_up",
        "left_near_mm",
        "left_centre_mm",
        "left_far_mm",
        "right_near_mm",
        "right_centre_mm",
        "right_far_mm",
        "cuts_before",
        "entered_at",
    ];
    let lines = tests.iter().map(|test| {
        // A label such as #7 would be a remark at the beginning of a line, and a label such as C3 a note.
        let label = plain_text(test.row.label.trim_start_matches('#'));
        let mut cells = vec![label, test.row.note.clone().unwrap_or_default()];
        cells.push(crate::report::salt::face_word(test.salt.face_up).to_owned());
        for line in [&test.salt.left, &test.salt.right] {
            let mm = |mm: f64| rounded(mm, 3).to_string();
            cells.extend([mm(line.near_mm), line.centre_mm.map_or_else(String::new, mm), mm(line.far_mm)]);
        }
        cells.extend([test.cuts_before.to_string(), test.at.to_string()]);
        cells
    });
    to_csv(std::iter::once(head.map(str::to_owned).to_vec()).chain(lines))
}
