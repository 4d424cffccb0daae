//! The frame: rails from one datum, posts, end boards with their full-size drawings.
use super::{PICTURE, not_drawable, picture, table};
use crate::error::{Refused, sentence};
use crate::report;
use crate::report::members::{board_end, board_view, cut, rail_name};
use crate::report::units::Units;
use making::frame::{EndBoard, FramePlan, Member, Members};
use paper::document::{Document, PaperSize};
use paper::listing::{Column, Listing, Part};
use paper::sheets::{end_board_view, frame_view};
use paper::tile::{Tiling, tile};
use records::workshop::FramePlanRecord;

/// Rails, cut list of the frame's wood, posts, notches of the end boards.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn chart(plan: &FramePlan, members: &Members, said: &FramePlanRecord, units: Units) -> Result<Listing, Refused> {
    let place = |m: f64| units.place_figure(m * 1e3);
    let [from, to] = members.between_x_m;
    let mut parts = vec![
        Part::Words(format!(
            "{}. Along: from the lowest natural's bass side; away: from its outer cord. Seen from above, player at the bottom, treble to the right. Between the inner faces of the end boards: {}, from {} before the lowest natural.",
            units.figures_are(),
            place(to - from),
            place(-from)
        )),
        picture(frame_view(&report::frame::view(plan, Some(members), "The frame from above", PICTURE)))?,
        Part::Heading("Rails".to_owned()),
        rails(plan, units),
        Part::Heading("Wood of the frame".to_owned()),
        wood(members, said, units),
        Part::Words("Lengths are between the end boards: add what the joint needs. Angles are off square, as the rail leans seen from above.".to_owned()),
        Part::Heading("Posts, along each rail from its bass end".to_owned()),
        posts(members, units),
        Part::Heading("End boards, from the end towards the player and from the lower edge".to_owned()),
        notches(members, units),
    ];
    let doubts = report::frame::words_of_doubts(plan, members);
    parts.extend(doubts.into_iter().map(|(what, helps)| Part::Caution(format!("{what} {helps}"))));
    parts.push(Part::Caution("Saw and plane with the guards on, eyes, ears and lungs protected; the machines' manuals come first. Holes are drilled by the frame as built, not by this sheet.".to_owned()));
    Ok(Listing { title: "Frame chart".to_owned(), parts })
}

fn rails(plan: &FramePlan, units: Units) -> Part {
    let place = |m: f64| units.place_figure(m * 1e3);
    let mut rows = Vec::new();
    for fit in &plan.rows {
        for (number, rail) in fit.rails.iter().enumerate() {
            let points = rail.points();
            let (first, last) = (points[0], points[points.len() - 1]);
            let bend = points.get(1).filter(|_| points.len() > 2);
            rows.push(vec![
                rail_name(fit.row, number),
                place(first.0),
                place(first.1),
                bend.map_or_else(|| "–".to_owned(), |(x, y)| format!("{}, {}", place(*x), place(*y))),
                place(last.0),
                place(last.1),
                cut(rail.slope_at(f64::midpoint(first.0, points[1].0)).atan()),
            ]);
        }
    }
    let columns = vec![
        Column::words("cord line of the rail"),
        Column::figures("bass along"),
        Column::figures("away"),
        Column::figures("bend"),
        Column::figures("treble along"),
        Column::figures("away"),
        Column::words("off square"),
    ];
    table(columns, rows)
}

fn wood(members: &Members, said: &FramePlanRecord, units: Units) -> Part {
    let place = |m: f64| units.place_figure(m * 1e3);
    let section = |a: f64, b: f64| format!("{} × {}", units.place_figure(a), units.place_figure(b));
    let rail = |rail: &Member| {
        let [bass, treble] = rail.cuts_rad().map(cut);
        let length = match rail.pieces.as_slice() {
            [first, _, ..] => format!("{}, bends after {}", place(rail.length_m()), place(first.0)),
            _ => place(rail.length_m()),
        };
        vec![rail_name(rail.row, rail.rail), length, section(said.rail_thickness_mm, said.rail_height_mm), bass, treble]
    };
    let board = |board: &EndBoard| {
        vec![
            format!("end board, {}", board_end(board)),
            place(board.size_m[0]),
            section(board.size_m[2] * 1e3, board.size_m[1] * 1e3),
            "square".to_owned(),
            "square".to_owned(),
        ]
    };
    let rows = members.rails.iter().map(rail).chain(members.end_boards.iter().map(board)).collect();
    let columns = vec![
        Column::words("piece"),
        Column::figures("length"),
        Column::figures("section"),
        Column::words("cut, bass"),
        Column::words("cut, treble"),
        Column::free("done", 12),
    ];
    table(columns, rows)
}

fn posts(members: &Members, units: Units) -> Part {
    let row = |rail: &Member| {
        let along = members.posts.iter().filter(|post| (post.row, post.rail) == (rail.row, rail.rail));
        let along: Vec<String> = along.map(|post| units.place_figure(post.along_m * 1e3)).collect();
        vec![rail_name(rail.row, rail.rail), along.len().to_string(), along.join(" · ")]
    };
    let columns = vec![Column::words("rail"), Column::figures("posts"), Column::words("places")];
    table(columns, members.rails.iter().map(row).collect())
}

fn notches(members: &Members, units: Units) -> Part {
    let place = |m: f64| units.place_figure(m * 1e3);
    let mut rows = Vec::new();
    for board in &members.end_boards {
        for notch in &board.notches {
            rows.push(vec![
                board_end(board).to_owned(),
                rail_name(notch.row, notch.rail),
                place(notch.centre_m),
                place(notch.width_m),
                place(notch.bottom_m),
                place(notch.top_m),
            ]);
        }
    }
    let columns = vec![
        Column::words("board"),
        Column::words("rail"),
        Column::figures("middle"),
        Column::figures("width"),
        Column::figures("from"),
        Column::figures("to"),
    ];
    table(columns, rows)
}

/// The end boards in their true size, over as many sheets as they take.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn full_size(members: &Members, paper: PaperSize) -> Result<Document, Refused> {
    let mut document = Document { title: "End boards".to_owned(), ..Document::default() };
    let tiling = Tiling { paper, ..Tiling::default() };
    for board in &members.end_boards {
        let view = board_view(board);
        let drawing = end_board_view(&view).map_err(|error| not_drawable(&error))?;
        let tiles = tile(&drawing, &tiling).map_err(|error| not_drawable(&error))?;
        document.append(&sentence(&view.title), tiles);
    }
    Ok(document)
}
