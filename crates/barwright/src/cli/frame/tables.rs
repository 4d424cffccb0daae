//! Node lines and built rails as tables.
use crate::cli::new_file::to_csv;
use crate::error::Refused;
use crate::framing::NodeRow;
use making::frame::{Members, NodeLines};
use records::Note;
use records::workshop::{RailRecord, RailWord, RowWord};
use serde::Deserialize;
use std::path::Path;

/// A line of the file as it stands there.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct NodeLine {
    note: String,
    length_mm: f64,
    width_mm: f64,
    player_left_mm: Option<f64>,
    player_right_mm: Option<f64>,
    far_left_mm: Option<f64>,
    far_right_mm: Option<f64>,
    /// At the holes, if it was measured there.
    #[serde(default)]
    thickness_mm: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct BuiltLine {
    row: String,
    rail: String,
    x_mm: f64,
    y_mm: f64,
}

/// The table of node lines.
pub(super) fn read_nodes(path: &Path) -> Result<Vec<NodeRow>, Refused> {
    let columns = "the columns are note, length_mm, width_mm, player_left_mm, player_right_mm, far_left_mm, far_right_mm and, \
                   if wished, thickness_mm; leave the four node cells empty for a bar not read yet";
    let lines: Vec<(u64, NodeLine)> = read(path, columns)?;
    lines
        .into_iter()
        .map(|(number, line)| node_row(line).map_err(|e| e.about(format!("{}, line {number}", path.display()))))
        .collect()
}

fn node_row(line: NodeLine) -> Result<NodeRow, Refused> {
    let note: Note = line.note.parse()?;
    let cells = [line.player_left_mm, line.player_right_mm, line.far_left_mm, line.far_right_mm];
    let nodes = match cells {
        [Some(a), Some(b), Some(c), Some(d)] => {
            Some(NodeLines { player_m: [a * 1e-3, b * 1e-3], away_m: [c * 1e-3, d * 1e-3] })
        }
        [None, None, None, None] => None,
        _ => {
            return Err(Refused::new(
                "half_a_reading",
                format!("{note} has some of its four node numbers, not all"),
                "give all four, or leave all four empty until the bar is read",
            ));
        }
    };
    let thickness_mm = line.thickness_mm.map_or_else(Vec::new, |t| vec![(0.0, t), (line.length_mm, t)]);
    Ok(NodeRow {
        note,
        length_mm: line.length_mm,
        width_mm: line.width_mm,
        nodes,
        thickness_mm,
        of_record: None,
        drilled: false,
    })
}

/// The rails as measured on the standing frame.
pub(super) fn read_built(path: &Path) -> Result<Vec<RailRecord>, Refused> {
    let columns =
        "the columns are row (natural or accidental), rail (player or far), x_mm and y_mm, one line a measured point";
    let lines: Vec<(u64, BuiltLine)> = read(path, columns)?;
    let mut rails: Vec<RailRecord> = Vec::new();
    for (number, line) in lines {
        let unknown = |what: &str, word: &str, known: &str| {
            Refused::new(
                "unknown_word",
                format!("{}, line {number}: {what} is \"{word}\"", path.display()),
                format!("write {known}"),
            )
        };
        let row = match line.row.trim() {
            "natural" => RowWord::Natural,
            "accidental" => RowWord::Accidental,
            word => return Err(unknown("the row", word, "natural or accidental")),
        };
        let rail = match line.rail.trim() {
            "player" => RailWord::Player,
            "far" => RailWord::Far,
            word => return Err(unknown("the rail", word, "player or far")),
        };
        let index = rails.iter().position(|r| (r.row, r.rail) == (row, rail)).unwrap_or_else(|| {
            rails.push(RailRecord { row, rail, points: Vec::new() });
            rails.len() - 1
        });
        rails[index].points.push([line.x_mm, line.y_mm]);
    }
    for rail in &mut rails {
        rail.points.sort_by(|a, b| a[0].total_cmp(&b[0]));
    }
    Ok(rails)
}

/// Posts of every rail for a file.
pub(super) fn write_posts(members: &Members) -> Result<Vec<u8>, Refused> {
    let head = ["row", "rail", "after", "along_rail_mm", "x_mm", "y_mm"];
    let mm = |m: f64| crate::convert::rounded(m * 1e3, 2).to_string();
    let lines = members.posts.iter().map(|post| {
        let (row, rail) = crate::report::members::rail_words(post.row, post.rail);
        let after = post.after.clone().unwrap_or_default();
        vec![row.to_owned(), rail.to_owned(), after, mm(post.along_m), mm(post.x_m), mm(post.y_m)]
    });
    to_csv(std::iter::once(head.map(str::to_owned).to_vec()).chain(lines))
}

/// Every line of a CSV file with its number.
fn read<T: for<'de> Deserialize<'de>>(path: &Path, columns: &str) -> Result<Vec<(u64, T)>, Refused> {
    let refused = |error: csv::Error| {
        let line = error.position().map_or_else(String::new, |at| format!(", line {}", at.line()));
        Refused::new("not_a_table", format!("{}{line} cannot be read: {error}", path.display()), columns)
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
        return Err(Refused::new("no_bars", format!("{} has no lines", path.display()), columns));
    }
    Ok(lines)
}

/// The same table for a file.
pub(super) fn write_nodes(rows: &[NodeRow]) -> Result<Vec<u8>, Refused> {
    let head = ["note", "length_mm", "width_mm", "player_left_mm", "player_right_mm", "far_left_mm", "far_right_mm"];
    let lines = rows.iter().map(|row| {
        let mm = |value: f64| crate::convert::rounded(value, 3).to_string();
        let mut cells = vec![row.note.to_string(), mm(row.length_mm), mm(row.width_mm)];
        match row.nodes {
            Some(nodes) => cells.extend([nodes.player_m, nodes.away_m].concat().into_iter().map(|y| mm(y * 1e3))),
            None => cells.extend(["", "", "", ""].map(str::to_owned)),
        }
        cells
    });
    to_csv(std::iter::once(head.map(str::to_owned).to_vec()).chain(lines))
}
