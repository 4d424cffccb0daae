//! Blanks and boards as they lie on the rack.
use super::{PICTURE, picture, table};
use crate::error::Refused;
use crate::report::cutlist::board_mark;
use crate::report::stock::{Line, drying_words, speed_m_s, verdict_words};
use crate::report::units::{Units, plain, signed};
use making::cutlist::Board;
use making::schedule::BOARD_FOOT_M3;
use paper::listing::{Column, Listing, Part};
use paper::sheets::{BoardsView, boards_view};
use words::tell;

/// The blanks with what each is good for, the boards drawn with their defects, and what there is in all.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn stock(lines: &[Line<'_>], boards: &[Board], unknown: &[String], units: Units) -> Result<Listing, Refused> {
    let mut parts = vec![Part::Words(tell!("stock-words", unit = units.figures_are()))];
    if lines.is_empty() {
        parts.push(Part::Words(tell!("stock-none")));
    } else {
        parts.push(Part::Heading(tell!("stock-blanks", count = lines.len())));
        parts.push(blanks(lines, units));
    }
    if !boards.is_empty() {
        parts.push(Part::Heading(tell!("boards")));
        let view = BoardsView {
            title: tell!("boards"),
            description: format!("{} boards with what is to be cut around.", boards.len()),
            boards: boards.iter().map(board_mark).collect(),
            sheet: PICTURE,
        };
        parts.push(picture(boards_view(&view))?);
        parts.push(rack(boards, units));
    }
    if !unknown.is_empty() {
        parts.push(Part::Words(tell!("not-measured-yet", which = unknown.join(", "))));
    }
    parts.push(Part::Caution(tell!("dust-and-trade")));
    Ok(Listing { title: tell!("title-stock"), parts })
}

fn blanks(lines: &[Line<'_>], units: Units) -> Part {
    let figure = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), |value| plain(value, 0));
    let row = |line: &Line<'_>| {
        let blank = line.blank;
        let mut why = line.grade.reasons.clone();
        why.extend(line.drying.as_ref().map(drying_words));
        vec![
            blank.label.clone(),
            line.board.unwrap_or("–").to_owned(),
            blank.size_m.map(|m| units.place_figure(m * 1e3)).join(" × "),
            figure(blank.density_kg_m3),
            figure(speed_m_s(blank)),
            figure(blank.quality),
            blank.tilt_m.map_or_else(|| "–".to_owned(), |m| signed(m * 1e3, 1)),
            blank.moisture_percent.map_or_else(|| "–".to_owned(), |percent| plain(percent, 1)),
            verdict_words(&line.grade),
            why.join("; "),
        ]
    };
    let columns = vec![
        Column::words(tell!("blank")),
        Column::words(tell!("board")),
        Column::figures(tell!("size")),
        Column::figures("kg/m³"),
        Column::figures("m/s"),
        Column::figures("Q"),
        Column::figures(tell!("lean-in-mm")),
        Column::figures(tell!("moisture-percent")),
        Column::words(tell!("good-for-sure")),
        Column::words(tell!("why")),
        Column::free(tell!("note-given"), 16),
    ];
    table(columns, lines.iter().map(row).collect())
}

fn rack(boards: &[Board], units: Units) -> Part {
    let place = |m: f64| units.place_figure(m * 1e3);
    let volume_m3 = |board: &Board| board.length_m * board.width_m * board.thickness_m;
    let row = |board: &Board| {
        let defects: Vec<String> = board
            .defects
            .iter()
            .map(|defect| {
                let [from, to] = defect.along_m.map(place);
                let [near, far] = defect.across_m.map(place);
                tell!("defect-at", what = defect.what.as_str(), from = from, to = to, near = near, far = far,)
            })
            .collect();
        vec![
            board.name.clone(),
            [board.length_m, board.width_m, board.thickness_m].map(place).join(" × "),
            format!("{} ({})", plain(volume_m3(board), 4), plain(volume_m3(board) / BOARD_FOOT_M3, 1)),
            if defects.is_empty() { "–".to_owned() } else { defects.join("; ") },
        ]
    };
    let mut rows: Vec<Vec<String>> = boards.iter().map(row).collect();
    let all: f64 = boards.iter().map(volume_m3).sum();
    rows.push(vec![
        tell!("all"),
        String::new(),
        format!("{} ({})", plain(all, 4), plain(all / BOARD_FOOT_M3, 1)),
        String::new(),
    ]);
    let columns = vec![
        Column::words(tell!("board")),
        Column::figures(tell!("size")),
        Column::figures(tell!("cubic-board-feet")),
        Column::words(tell!("to-be-cut-around")),
    ];
    table(columns, rows)
}
