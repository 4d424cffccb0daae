//! Node lines and built rails as tables.
use crate::cli::new_file::to_csv;
use crate::error::Refused;
use making::frame::{BuiltRails, BuiltRow, FrameBar, NodeLines, Row};
use records::Note;
use serde::Deserialize;
use std::path::Path;

/// One bar of the table of node lines; every number from the end that faces the player, top face up.
#[derive(Debug, Clone)]
pub(super) struct NodeRow {
    pub(super) note: Note,
    pub(super) length_mm: f64,
    pub(super) width_mm: f64,
    pub(super) nodes: Option<NodeLines>,
    /// Thickness along the bar (x from the end that faces the player, thickness), as far as it is known.
    pub(super) thickness_mm: Vec<(f64, f64)>,
}

impl NodeRow {
    pub(super) fn bar(&self, sigma_mm: f64) -> FrameBar {
        FrameBar {
            name: self.note.to_string(),
            // C4 is 9 semitones below A4.
            semitone: self.note.semitones_above_a4() + 9,
            length_m: self.length_mm * 1e-3,
            width_m: self.width_mm * 1e-3,
            nodes: self.nodes,
            sigma_m: sigma_mm * 1e-3,
            motion_per_m: None,
        }
    }

    /// Least thickness at these places (metres from the end that faces the player), if it is known.
    pub(super) fn least_thickness_m(&self, places_m: [f64; 2]) -> Option<f64> {
        let at = |x_m: f64| {
            let x = x_m * 1e3;
            let pair = self.thickness_mm.windows(2).find(|pair| x >= pair[0].0 && x <= pair[1].0)?;
            let [(xa, ta), (xb, tb)] = [pair[0], pair[1]];
            Some(if xb > xa { ta + (tb - ta) * (x - xa) / (xb - xa) } else { ta.min(tb) })
        };
        Some(at(places_m[0])?.min(at(places_m[1])?) * 1e-3)
    }
}

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
    Ok(NodeRow { note, length_mm: line.length_mm, width_mm: line.width_mm, nodes, thickness_mm })
}

/// The rails as measured on the standing frame.
pub(super) fn read_built(path: &Path) -> Result<Vec<BuiltRow>, Refused> {
    let columns =
        "the columns are row (natural or accidental), rail (player or far), x_mm and y_mm, one line a measured point";
    let lines: Vec<(u64, BuiltLine)> = read(path, columns)?;
    let mut rows: Vec<BuiltRow> = Vec::new();
    for (number, line) in lines {
        let unknown = |what: &str, word: &str, known: &str| {
            Refused::new(
                "unknown_word",
                format!("{}, line {number}: {what} is \"{word}\"", path.display()),
                format!("write {known}"),
            )
        };
        let row = match line.row.trim() {
            "natural" => Row::Natural,
            "accidental" => Row::Accidental,
            word => return Err(unknown("the row", word, "natural or accidental")),
        };
        let index = rows.iter().position(|r| r.row == row).unwrap_or_else(|| {
            rows.push(BuiltRow { row, rails: BuiltRails { player: Vec::new(), away: Vec::new() } });
            rows.len() - 1
        });
        let rails = &mut rows[index].rails;
        let points = match line.rail.trim() {
            "player" => &mut rails.player,
            "far" => &mut rails.away,
            word => return Err(unknown("the rail", word, "player or far")),
        };
        points.push((line.x_mm * 1e-3, line.y_mm * 1e-3));
    }
    for rail in rows.iter_mut().flat_map(|r| [&mut r.rails.player, &mut r.rails.away]) {
        rail.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    Ok(rows)
}

/// Every line of a CSV file with its number.
fn read<T: for<'de> Deserialize<'de>>(path: &Path, columns: &str) -> Result<Vec<(u64, T)>, Refused> {
    let refused = |error: csv::Error| {
        let line = error.position().map_or_else(String::new, |at| format!(", line {}", at.line()));
        Refused::new("not_a_table", format!("{}{line} cannot be read: {error}", path.display()), columns)
    };
    let mut reader =
        csv::ReaderBuilder::new().trim(csv::Trim::All).comment(Some(b'#')).from_path(path).map_err(refused)?;
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
