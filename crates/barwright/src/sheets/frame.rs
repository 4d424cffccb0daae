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
use words::tell;

/// Rails, cut list of the frame's wood, posts, notches of the end boards.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn chart(plan: &FramePlan, members: &Members, said: &FramePlanRecord, units: Units) -> Result<Listing, Refused> {
    let place = |m: f64| units.place_figure(m * 1e3);
    let [from, to] = members.between_x_m;
    let mut parts = vec![
        Part::Words(tell!(
            "frame-words",
            unit = units.figures_are(),
            between = place(to - from),
            before = place(-from)
        )),
        picture(frame_view(&report::frame::view(plan, Some(members), &tell!("frame-from-above"), PICTURE)))?,
        Part::Heading(tell!("rails")),
        rails(plan, units),
        Part::Heading(tell!("wood-of-frame")),
        wood(members, said, units),
        Part::Words(tell!("frame-lengths")),
        Part::Heading(tell!("posts-along")),
        posts(members, units),
        Part::Heading(tell!("end-boards-from")),
        notches(members, units),
    ];
    let doubts = report::frame::words_of_doubts(plan, members);
    parts.extend(doubts.into_iter().map(|(what, helps)| Part::Caution(format!("{what} {helps}"))));
    parts.push(Part::Caution(tell!("caution-frame")));
    Ok(Listing { title: tell!("title-frame"), parts })
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
                bend.map_or_else(|| "–".to_owned(), |(x, y)| format!("{} / {}", place(*x), place(*y))),
                place(last.0),
                place(last.1),
                cut(rail.slope_at(f64::midpoint(first.0, points[1].0)).atan()),
            ]);
        }
    }
    let columns = vec![
        Column::words(tell!("cord-line-of-rail")),
        Column::figures(tell!("bass-along")),
        Column::figures(tell!("away")),
        Column::figures(tell!("bend")),
        Column::figures(tell!("treble-along")),
        Column::figures(tell!("away")),
        Column::words(tell!("off-square")),
    ];
    table(columns, rows)
}

fn wood(members: &Members, said: &FramePlanRecord, units: Units) -> Part {
    let place = |m: f64| units.place_figure(m * 1e3);
    let section = |a: f64, b: f64| format!("{} × {}", units.place_figure(a), units.place_figure(b));
    let rail = |rail: &Member| {
        let [bass, treble] = rail.cuts_rad().map(cut);
        let length = match rail.pieces.as_slice() {
            [first, _, ..] => tell!("length-bends", length = place(rail.length_m()), bend = place(first.0)),
            _ => place(rail.length_m()),
        };
        vec![rail_name(rail.row, rail.rail), length, section(said.rail_thickness_mm, said.rail_height_mm), bass, treble]
    };
    let board = |board: &EndBoard| {
        vec![
            tell!("end-board", end = board_end(board)),
            place(board.size_m[0]),
            section(board.size_m[2] * 1e3, board.size_m[1] * 1e3),
            tell!("square"),
            tell!("square"),
        ]
    };
    let rows = members.rails.iter().map(rail).chain(members.end_boards.iter().map(board)).collect();
    let columns = vec![
        Column::words(tell!("piece")),
        Column::figures(tell!("length")),
        Column::figures(tell!("section")),
        Column::words(tell!("cut-bass")),
        Column::words(tell!("cut-treble")),
        Column::free(tell!("done"), 12),
    ];
    table(columns, rows)
}

fn posts(members: &Members, units: Units) -> Part {
    let row = |rail: &Member| {
        let along = members.posts.iter().filter(|post| (post.row, post.rail) == (rail.row, rail.rail));
        let along: Vec<String> = along.map(|post| units.place_figure(post.along_m * 1e3)).collect();
        vec![rail_name(rail.row, rail.rail), along.len().to_string(), along.join(" · ")]
    };
    let columns = vec![Column::words(tell!("rail")), Column::figures(tell!("posts")), Column::words(tell!("places"))];
    table(columns, members.rails.iter().map(row).collect())
}

fn notches(members: &Members, units: Units) -> Part {
    let place = |m: f64| units.place_figure(m * 1e3);
    let mut rows = Vec::new();
    for board in &members.end_boards {
        for notch in &board.notches {
            rows.push(vec![
                board_end(board),
                rail_name(notch.row, notch.rail),
                place(notch.centre_m),
                place(notch.width_m),
                place(notch.bottom_m),
                place(notch.top_m),
            ]);
        }
    }
    let columns = vec![
        Column::words(tell!("board")),
        Column::words(tell!("rail")),
        Column::figures(tell!("middle")),
        Column::figures(tell!("width")),
        Column::figures(tell!("from")),
        Column::figures(tell!("to")),
    ];
    table(columns, rows)
}

/// The end boards in their true size, over as many sheets as they take.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn full_size(members: &Members, paper: PaperSize) -> Result<Document, Refused> {
    let mut document = Document { title: tell!("end-boards"), ..Document::default() };
    for board in &members.end_boards {
        let view = board_view(board);
        let drawing = end_board_view(&view).map_err(|error| not_drawable(&error))?;
        let laid = |lying| tile(&drawing, &Tiling { paper, lying, ..Tiling::default() });
        let (lying, upright) = (laid(true), laid(false));
        // The way that has fewer joins.
        let tiles = match (lying, upright) {
            (Ok(lying), Ok(upright)) if upright.pages.len() < lying.pages.len() => Ok(upright),
            (lying, _) => lying,
        };
        let tiles = tiles.map_err(|error| not_drawable(&error))?;
        document.append(&sentence(&view.title), tiles);
    }
    Ok(document)
}
