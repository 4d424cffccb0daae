//! What a frame is made of as text, JSON and full-size pictures.
use super::pictures::alone;
use super::table;
use super::units::{Units, plain};
use crate::convert::rounded;
use crate::error::{Refused, sentence};
use making::frame::{EndBoard, Member, Members, Row, Slant};
use paper::sheets::{EndBoardView, NotchMark, end_board_view};
use records::workshop::FramePlanRecord;
use serde_json::{Value, json};
use words::tell;

/// How tables name a rail: its row, and which of the two.
pub fn rail_words(row: Row, rail: usize) -> (&'static str, &'static str) {
    (if row == Row::Natural { "natural" } else { "accidental" }, if rail == 0 { "player" } else { "far" })
}

/// How people call a rail.
pub fn rail_name(row: Row, rail: usize) -> String {
    let row = row.words();
    if rail == 0 { tell!("players-rail", row = row) } else { tell!("far-rail", row = row) }
}

/// The public JSON of `frame`; see docs/frame.md.
pub fn to_json(members: &Members, said: &FramePlanRecord) -> Value {
    let mm = |m: f64| rounded(m * 1e3, 2);
    let rail = |member: &Member| {
        let (row, rail) = rail_words(member.row, member.rail);
        json!({
            "row": row,
            "rail": rail,
            "length_mm": mm(member.length_m()),
            "cuts_deg": member.cuts_rad().map(|angle| rounded(angle.to_degrees(), 2)),
            "pieces": member.pieces.iter().map(|(length_m, angle)| json!({
                "length_mm": mm(*length_m), "angle_deg": rounded(angle.to_degrees(), 2)
            })).collect::<Vec<_>>(),
        })
    };
    let board = |board: &EndBoard| {
        json!({
            "end": if board.bass { "bass" } else { "treble" },
            "length_mm": mm(board.size_m[0]),
            "height_mm": mm(board.size_m[1]),
            "thickness_mm": mm(board.size_m[2]),
            "player_end_y_mm": mm(board.player_end_y_m),
            "notches": board.notches.iter().map(|notch| {
                let (row, rail) = rail_words(notch.row, notch.rail);
                json!({
                    "row": row, "rail": rail, "centre_mm": mm(notch.centre_m), "width_mm": mm(notch.width_m),
                    "bottom_mm": mm(notch.bottom_m), "top_mm": mm(notch.top_m),
                })
            }).collect::<Vec<_>>(),
        })
    };
    let posts: Vec<Value> = members
        .posts
        .iter()
        .map(|post| {
            let (row, rail) = rail_words(post.row, post.rail);
            json!({ "row": row, "rail": rail, "after": post.after, "along_rail_mm": mm(post.along_m), "x_mm": mm(post.x_m), "y_mm": mm(post.y_m) })
        })
        .collect();
    json!({
        "between_end_boards_mm": members.between_x_m.map(mm),
        "rail_section_mm": { "thickness": said.rail_thickness_mm, "height": said.rail_height_mm },
        "rails": members.rails.iter().map(rail).collect::<Vec<_>>(),
        "end_boards": members.end_boards.iter().map(board).collect::<Vec<_>>(),
        "posts": posts,
        "widest_tube_mm": members.widest_tube_m.iter().map(|(note, m)| json!({ "note": note, "mm": mm(*m) })).collect::<Vec<_>>(),
        "doubts": members.doubts.iter().map(|d| json!({ "note": d.name, "code": d.code, "message": d.message, "hint": d.hint })).collect::<Vec<_>>(),
    })
}

/// Cut list, end boards, posts.
pub fn to_text(members: &Members, said: &FramePlanRecord, units: Units) -> String {
    let [from, to] = members.between_x_m;
    let mut text = format!(
        "The frame's wood. Between the inner faces of the end boards: {}, from {} before the lowest natural's bass side.\n\n",
        units.place((to - from) * 1e3),
        units.place(-from * 1e3),
    );
    text.push_str(&cut_list(members, said, units));
    text.push_str(&boards(members, units));
    text.push_str(&posts(members, units));
    for doubt in &members.doubts {
        text.push_str(&format!("! {}\n  {}\n", sentence(&doubt.message), sentence(&doubt.hint)));
    }
    text.push_str(
        "\nLengths are between the end boards: add what the joint needs. Angles are off square, as the rail leans seen from above.\n\
         Saw and plane with the guards on, eyes, ears and lungs protected; follow the machines' manuals.\n",
    );
    text
}

fn cut_list(members: &Members, said: &FramePlanRecord, units: Units) -> String {
    let mut table = table();
    table.set_header(["piece", "length", "section", "cut at the bass", "cut at the treble"]);
    let section = format!("{} × {} mm", plain(said.rail_thickness_mm, 1), plain(said.rail_height_mm, 1));
    for rail in &members.rails {
        let [bass, treble] = rail.cuts_rad().map(cut);
        let bend = match rail.pieces.as_slice() {
            [first, _, ..] => format!(", bends after {}", units.place(first.0 * 1e3)),
            _ => String::new(),
        };
        table.add_row([
            rail_name(rail.row, rail.rail),
            format!("{}{bend}", units.place(rail.length_m() * 1e3)),
            section.clone(),
            bass,
            treble,
        ]);
    }
    for board in &members.end_boards {
        table.add_row([
            format!("end board, {}", board_end(board)),
            units.place(board.size_m[0] * 1e3),
            format!("{} × {} mm", plain(board.size_m[2] * 1e3, 1), plain(board.size_m[1] * 1e3, 1)),
            "square".to_owned(),
            "square".to_owned(),
        ]);
    }
    format!("{table}\n")
}

/// An angle off square with the way it leans.
pub fn cut(angle_rad: f64) -> String {
    match Slant::of(angle_rad.tan()) {
        Slant::Square => tell!("square"),
        slant => format!("{}° {}", plain(angle_rad.to_degrees().abs(), 1), slant.sign()),
    }
}

fn boards(members: &Members, units: Units) -> String {
    let mut text =
        String::from("\nEnd boards, every figure from the end towards the player and from the lower edge:\n");
    let mut table = table();
    table.set_header(["board", "rail", "middle", "width", "height from, to"]);
    for board in &members.end_boards {
        for notch in &board.notches {
            table.add_row([
                board_end(board),
                rail_name(notch.row, notch.rail),
                units.place(notch.centre_m * 1e3),
                units.place(notch.width_m * 1e3),
                format!("{}, {}", units.place(notch.bottom_m * 1e3), units.place(notch.top_m * 1e3)),
            ]);
        }
    }
    text.push_str(&format!("{table}\n"));
    text
}

/// Where the posts stand, as one rail is marked: along it from its bass end.
fn posts(members: &Members, units: Units) -> String {
    let mut text = String::from("\nPosts, along each rail from its bass end:\n");
    for rail in &members.rails {
        let along = members.posts.iter().filter(|p| (p.row, p.rail) == (rail.row, rail.rail));
        let along: Vec<String> = along.map(|post| units.place(post.along_m * 1e3)).collect();
        text.push_str(&format!("{} ({} posts): {}\n", rail_name(rail.row, rail.rail), along.len(), along.join(", ")));
    }
    let least = members.widest_tube_m.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((name, widest_m)) = least {
        text.push_str(&format!(
            "\nTubes: least room under {name}, {} across with caps; each bar's is in the JSON.\n",
            units.place(widest_m * 1e3)
        ));
    }
    text
}

/// An end board, full size.
///
/// # Errors
/// [`Refused`] if a value cannot be drawn.
pub fn board_picture(board: &EndBoard) -> Result<String, Refused> {
    alone(end_board_view(&board_view(board)), "check the frame's sizes for a wrong unit")
}

/// An end board as paper draws it.
pub fn board_view(board: &EndBoard) -> EndBoardView {
    let mm = |m: f64| m * 1e3;
    let end = board_end(board);
    let mark = |notch: &making::frame::Notch| NotchMark {
        name: rail_name(notch.row, notch.rail),
        centre_mm: mm(notch.centre_m),
        width_mm: mm(notch.width_m),
        from_mm: mm(notch.bottom_m),
        to_mm: mm(notch.top_m),
    };
    EndBoardView {
        title: tell!("end-board-full-size", end = end.as_str()),
        description: format!("The {end} end board with {} rails, in millimetres of its own.", board.notches.len()),
        // Seen from the bars: at the bass the player is on the left-hand side of who looks towards the bass.
        player_left: board.bass,
        length_mm: mm(board.size_m[0]),
        height_mm: mm(board.size_m[1]),
        notches: board.notches.iter().map(mark).collect(),
    }
}

/// Which end it stands at.
pub fn board_end(board: &EndBoard) -> String {
    if board.bass { tell!("bass") } else { tell!("treble") }
}
