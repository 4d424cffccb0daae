//! Boards as the maker writes them in a file, or as the record has them.
use crate::error::Refused;
use making::cutlist::{Board, Defect};
use records::workshop::{BoardDefectRecord, BoardRecord, Body, Kind, Workshop};
use serde::Deserialize;
use std::path::Path;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct BoardsFile {
    #[serde(default)]
    board: Vec<BoardLine>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct BoardLine {
    name: String,
    length_mm: f64,
    width_mm: f64,
    thickness_mm: f64,
    #[serde(default)]
    defects: Vec<BoardDefectRecord>,
}

/// From a TOML file of `[[board]]`.
pub(in crate::cli) fn read(path: &Path) -> Result<Vec<Board>, Refused> {
    let text = std::fs::read_to_string(path).map_err(|error| {
        let message = format!("{} cannot be read: {error}", path.display());
        Refused::new("unreadable", message, "give a text file with a [[board]] for each; see docs/cutlist.md")
    })?;
    let file: BoardsFile = toml::from_str(&text).map_err(|error| {
        let line = error.span().map(|span| 1 + text[..span.start.min(text.len())].matches('\n').count());
        let place = line.map_or_else(String::new, |line| format!("line {line}: "));
        let hint = "each [[board]] has name, length_mm, width_mm, thickness_mm, and defects if there are any";
        Refused::new("not_boards", format!("{}: {place}{}", path.display(), error.message()), hint)
    })?;
    if file.board.is_empty() {
        let message = format!("{} names no board", path.display());
        return Err(Refused::new("no_boards", message, "write a [[board]] for each; see docs/cutlist.md"));
    }
    Ok(file
        .board
        .into_iter()
        .map(|line| board(line.name, [line.length_mm, line.width_mm, line.thickness_mm], line.defects))
        .collect())
}

/// Boards of the record; with the names of those whose size is not known.
pub(in crate::cli) fn of_record(workshop: &Workshop) -> Result<(Vec<Board>, Vec<String>), Refused> {
    let (mut boards, mut unknown) = (Vec::new(), Vec::new());
    for named in workshop.list(Kind::Board)? {
        let Body::Board(BoardRecord { length_mm, width_mm, thickness_mm, defects, .. }) = named.body else { continue };
        match (length_mm, width_mm, thickness_mm) {
            (Some(length_mm), Some(width_mm), Some(thickness_mm)) => {
                boards.push(board(named.name, [length_mm, width_mm, thickness_mm], defects));
            }
            _ => unknown.push(named.name),
        }
    }
    if boards.is_empty() {
        let hint = "barwright board NAME --length … --width … --thickness …, or give them in a file: --boards FILE";
        return Err(Refused::new("no_boards", "the record knows no board with its length, width and thickness", hint));
    }
    Ok((boards, unknown))
}

fn board(name: String, size_mm: [f64; 3], defects: Vec<BoardDefectRecord>) -> Board {
    let [length_m, width_m, thickness_m] = size_mm.map(|mm| mm * 1e-3);
    let defect = |defect: BoardDefectRecord| Defect {
        along_m: [defect.from_mm * 1e-3, defect.to_mm * 1e-3],
        across_m: [defect.near_mm * 1e-3, defect.far_mm * 1e-3],
        what: defect.what,
    };
    Board { name, length_m, width_m, thickness_m, defects: defects.into_iter().map(defect).collect() }
}
