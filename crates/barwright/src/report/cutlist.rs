//! A cut list as text, JSON, table and picture.
use super::pictures::alone;
use super::units::{Units, plain};
use crate::convert::rounded;
use crate::error::Refused;
use making::cutlist::{Allowances, Board, Cut, CutBoard, CutList, Missing, Piece, Way};
use making::schedule::BOARD_FOOT_M3;
use paper::sheets::{BoardMark, BoardsView, PieceMark, Sheet, boards_view};
use paper::{Drawing, PaperError};
use serde_json::{Value, json};
use words::tell;

/// What was asked and what came of it.
#[derive(Debug, Clone, Copy)]
pub struct Answer<'a> {
    /// The boards at hand.
    pub boards: &'a [Board],
    /// The pieces wanted, bars before spares.
    pub pieces: &'a [Piece],
    /// What is added and lost.
    pub allowances: Allowances,
    /// The list.
    pub list: &'a CutList,
    /// Boards of the record whose size is not known.
    pub unknown: &'a [String],
}

/// A sheet of boards is wide, with small lettering: names stand inside the blanks.
const SHEET: Sheet = Sheet { width_mm: 400.0, lettering_mm: 4.2 };
/// Said before the saw is switched on.
const CAUTION: &str = "Guard, riving knife and push stick as the saw's manual says; ears, eyes and lungs protected: dust of many bar woods sensitises. \
                       Before the first crosscut look once more: a board cut for two C4 cannot give a C2.";

fn mm(m: f64) -> f64 {
    rounded(m * 1e3, 1)
}

fn missing_words(why: Missing) -> &'static str {
    match why {
        Missing::Thickness => "no board is thick enough",
        Missing::Width => "no board that is thick enough is wide enough",
        Missing::Length => "no board has so much clear length at that width",
        Missing::Room => "the boards that could hold it are full",
    }
}

/// What would have to be bought for the pieces that have no place: least sizes, and volume.
fn wanting(answer: &Answer<'_>) -> Option<Value> {
    let pieces: Vec<&Piece> = answer.list.missing.iter().map(|(index, _)| &answer.pieces[*index]).collect();
    let most = |size: fn(&Piece) -> f64| pieces.iter().map(|piece| size(piece)).fold(0.0, f64::max);
    let extra = answer.allowances;
    let m3 = |piece: &&Piece| {
        let [length_m, width_m] = extra.rough_m(piece);
        length_m * width_m * (piece.thickness_m + extra.over_thickness_m)
    };
    let volume: f64 = pieces.iter().map(m3).sum();
    (!pieces.is_empty()).then(|| {
        json!({
            "at_least_mm": {
                "length": mm(most(|p| p.length_m) + extra.over_length_m + 2.0 * extra.end_m),
                "width": mm(most(|p| p.width_m) + extra.over_width_m),
                "thickness": mm(most(|p| p.thickness_m) + extra.over_thickness_m),
            },
            "m3": rounded(volume, 5), "board_feet": rounded(volume / BOARD_FOOT_M3, 2),
        })
    })
}

/// The public JSON of `cutlist`; see docs/cutlist.md.
pub fn to_json(answer: &Answer<'_>) -> Value {
    let list = answer.list;
    json!({
        "boards": list.boards.iter().map(|board| board_json(answer, board)).collect::<Vec<_>>(),
        "missing": list.missing.iter().map(|(index, why)| json!({
            "name": answer.pieces[*index].name, "spare": answer.pieces[*index].spare, "why": missing_words(*why),
        })).collect::<Vec<_>>(),
        "to_buy": wanting(answer),
        "boards_m2": rounded(areas_m2(answer)[0], 4), "blanks_m2": rounded(areas_m2(answer)[1], 4),
        "waste": rounded(list.waste, 4), "boards_at_least": list.boards_at_least,
        "boards_of_unknown_size": answer.unknown,
    })
}

fn board_json(answer: &Answer<'_>, cut: &CutBoard) -> Value {
    let board = &answer.boards[cut.board];
    let area =
        |area: &making::cutlist::Area| json!({ "along_mm": area.along_m.map(mm), "across_mm": area.across_m.map(mm) });
    json!({
        "name": board.name,
        "blanks": cut.placed.iter().map(|placed| {
            let mut place = area(&placed.area);
            place["name"] = json!(answer.pieces[placed.piece].name);
            place["spare"] = json!(answer.pieces[placed.piece].spare);
            place
        }).collect::<Vec<_>>(),
        "cuts": cut.cuts.iter().map(|cut| json!({
            "way": if cut.way == Way::Crosscut { "crosscut" } else { "rip" }, "at_mm": mm(cut.at_m), "part": area(&cut.part),
        })).collect::<Vec<_>>(),
        "left": cut.left.iter().map(area).collect::<Vec<_>>(),
    })
}

/// Area of the boards that are cut, and of the blanks as the saw leaves them.
fn areas_m2(answer: &Answer<'_>) -> [f64; 2] {
    let boards = &answer.list.boards;
    let board_m2 = |cut: &CutBoard| answer.boards[cut.board].length_m * answer.boards[cut.board].width_m;
    let blanks = boards.iter().flat_map(|board| &board.placed);
    [boards.iter().map(board_m2).sum(), blanks.map(|placed| placed.area.m2()).sum()]
}

/// Board by board with the order of the cuts.
pub fn to_text(answer: &Answer<'_>, units: Units) -> String {
    let list = answer.list;
    let placed: usize = list.boards.iter().map(|board| board.placed.len()).sum();
    let spares = answer.pieces.iter().filter(|piece| piece.spare).count();
    let [cut_m2, blanks_m2] = areas_m2(answer);
    let mut text = format!(
        "{placed} of {} blanks ({spares} spares among all) from {} of {} boards. The boards cut are {} m², the blanks as the saw leaves them {} m², less than \
         which no cutting takes. {} % of the boards is waste, rests that hold another blank not counted; no choice of boards is fewer than {}.\n",
        answer.pieces.len(),
        list.boards.len(),
        answer.boards.len(),
        plain(cut_m2, 2),
        plain(blanks_m2, 2),
        plain(100.0 * list.waste, 0),
        list.boards_at_least,
    );
    text.push_str(&missing_text(answer, units));
    if !answer.unknown.is_empty() {
        text.push_str(&format!("Boards of unknown size, left out: {}.\n", answer.unknown.join(", ")));
    }
    for board in &list.boards {
        text.push_str(&board_text(answer, board, units));
    }
    let extra = answer.allowances;
    text.push_str(&format!(
        "\nBlanks are {} longer, {} wider and {} thicker than planed; {} off each board's end; {} for each cut.\n{CAUTION}\n",
        units.place(extra.over_length_m * 1e3),
        units.place(extra.over_width_m * 1e3),
        units.place(extra.over_thickness_m * 1e3),
        units.place(extra.end_m * 1e3),
        units.place(extra.kerf_m * 1e3),
    ));
    text
}

fn missing_text(answer: &Answer<'_>, units: Units) -> String {
    let Some(buy) = wanting(answer) else { return String::new() };
    let mut text = String::new();
    for why in [Missing::Thickness, Missing::Width, Missing::Length, Missing::Room] {
        let of = |(index, other): &(usize, Missing)| (*other == why).then(|| answer.pieces[*index].name.as_str());
        let names: Vec<&str> = answer.list.missing.iter().filter_map(of).collect();
        if !names.is_empty() {
            text.push_str(&format!("! No place for {}: {}.\n", names.join(", "), missing_words(why)));
        }
    }
    let figure = |pointer: &str| buy.pointer(pointer).and_then(Value::as_f64).unwrap_or(0.0);
    text + &format!(
        "Possible with more boards, at least {} long, {} wide and {} thick; their blanks alone are {} m³ ({} board feet), and some 1.8 to 2.5 times as much \
         is bought (from memory). Check the trade rules for this species before buying, shipping or exporting; keep the papers.\n",
        units.place(figure("/at_least_mm/length")),
        units.place(figure("/at_least_mm/width")),
        units.place(figure("/at_least_mm/thickness")),
        plain(figure("/m3"), 4),
        plain(figure("/board_feet"), 1),
    )
}

fn board_text(answer: &Answer<'_>, cut: &CutBoard, units: Units) -> String {
    let board = &answer.boards[cut.board];
    let mut text = format!(
        "\nBoard {}: {} × {} × {}\n",
        board.name,
        units.place(board.length_m * 1e3),
        units.place(board.width_m * 1e3),
        units.place(board.thickness_m * 1e3)
    );
    let mut table = super::table();
    table.set_header(["", "blank", "from the left end", "from the near edge", "length", "width"]);
    for placed in &cut.placed {
        let [length_m, width_m] = placed.area.size_m();
        table.add_row([
            "[ ]".to_owned(),
            answer.pieces[placed.piece].name.clone(),
            units.place(placed.area.along_m[0] * 1e3),
            units.place(placed.area.across_m[0] * 1e3),
            units.place(length_m * 1e3),
            units.place(width_m * 1e3),
        ]);
    }
    text.push_str(&format!("{}\nCuts, in order, places measured on the whole board:\n", table.trim_fmt()));
    for (number, cut) in cut.cuts.iter().enumerate() {
        text.push_str(&format!("{:>3}. [ ] {}\n", number + 1, cut_words(cut, units)));
    }
    for left in cut.left.iter().take(3) {
        let [length_m, width_m] = left.size_m();
        text.push_str(&format!("Left: {} × {}\n", units.place(length_m * 1e3), units.place(width_m * 1e3)));
    }
    text
}

pub(crate) fn cut_words(cut: &Cut, units: Units) -> String {
    let place = |m: f64| units.place(m * 1e3);
    match cut.way {
        Way::Crosscut => tell!(
            "cut-across",
            at = place(cut.at_m),
            from = place(cut.part.across_m[0]),
            to = place(cut.part.across_m[1]),
        ),
        Way::Rip => {
            tell!("cut-along", at = place(cut.at_m), from = place(cut.part.along_m[0]), to = place(cut.part.along_m[1]),)
        }
    }
}

/// The blanks with their places as lines of a table, in millimetres, the head first.
pub fn lines(answer: &Answer<'_>) -> Vec<Vec<String>> {
    const HEAD: [&str; 8] =
        ["blank", "spare", "board", "from_left_mm", "to_mm", "from_near_mm", "far_mm", "thickness_mm"];
    let lines = answer.list.boards.iter().flat_map(|cut| {
        cut.placed.iter().map(|placed| {
            let piece = &answer.pieces[placed.piece];
            let thick_m = piece.thickness_m + answer.allowances.over_thickness_m;
            let area = &placed.area;
            let sizes = [area.along_m[0], area.along_m[1], area.across_m[0], area.across_m[1], thick_m];
            let words = [piece.name.clone(), piece.spare.to_string(), answer.boards[cut.board].name.clone()];
            words.into_iter().chain(sizes.map(|m| mm(m).to_string())).collect()
        })
    });
    std::iter::once(HEAD.map(str::to_owned).to_vec()).chain(lines).collect()
}

/// The boards drawn, one scale for all, alone in a file.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn picture(answer: &Answer<'_>) -> Result<String, Refused> {
    alone(view(answer, SHEET), "check the boards' sizes for a wrong unit")
}

/// The boards drawn, one scale for all.
///
/// # Errors
/// [`PaperError`] for a size that cannot be drawn.
pub fn view(answer: &Answer<'_>, sheet: Sheet) -> Result<Drawing, PaperError> {
    let mark = |cut: &CutBoard| BoardMark {
        pieces: cut
            .placed
            .iter()
            .map(|placed| PieceMark {
                name: words::note(&answer.pieces[placed.piece].name),
                along_mm: placed.area.along_m.map(|m| m * 1e3),
                across_mm: placed.area.across_m.map(|m| m * 1e3),
            })
            .collect(),
        ..board_mark(&answer.boards[cut.board])
    };
    let view = BoardsView {
        title: "Cut list".to_owned(),
        description: format!("{} boards with the blanks to be cut from them.", answer.list.boards.len()),
        boards: answer.list.boards.iter().map(mark).collect(),
        sheet,
    };
    boards_view(&view)
}

/// A board with what is to be cut around, and no pieces.
pub(crate) fn board_mark(board: &Board) -> BoardMark {
    BoardMark {
        name: board.name.clone(),
        length_mm: board.length_m * 1e3,
        width_mm: board.width_m * 1e3,
        pieces: Vec::new(),
        defects_mm: board
            .defects
            .iter()
            .map(|defect| (defect.along_m.map(|m| m * 1e3), defect.across_m.map(|m| m * 1e3)))
            .collect(),
    }
}
