//! What the frame is made of, as tables.
use crate::framing::Framed;
use crate::page::places::frame::{FrameView, Laid};
use crate::report::members::{cut, rail_name};
use crate::report::units::{Units, plain};
use maud::{Markup, html};

/// Cut list, end boards, posts.
pub(super) fn members(view: &FrameView, framed: &Framed, laid: &Laid, units: Units) -> Markup {
    let members = &laid.members;
    let said = &framed.plan;
    let section = format!("{} × {}", plain(said.rail_thickness_mm, 1), plain(said.rail_height_mm, 1));
    let place = |m: f64| units.place(m * 1e3);
    html! {
        details #members {
            summary { "What it is made of" }
            p { "Between the inner faces of the end boards: " strong { (place(members.between_x_m[1] - members.between_x_m[0])) }
                ", from " (place(-members.between_x_m[0])) " before the bass side of the lowest natural. Add to each rail what the joint needs." }
            div .scroll { table .stack {
                thead { tr { th scope="col" { "piece" } th scope="col" .figure { "length" } th scope="col" .figure { "section, mm" }
                    th scope="col" .figure { "cut at the bass" } th scope="col" .figure { "cut at the treble" } } }
                tbody {
                    @for rail in &members.rails {
                        tr {
                            th scope="row" { (rail_name(rail.row, rail.rail)) }
                            td .figure data-label="length" { (place(rail.length_m())) @if rail.pieces.len() > 1 { ", bends after " (place(rail.pieces[0].0)) } }
                            td .figure data-label="section, mm" { (section) }
                            @let [bass, treble] = rail.cuts_rad();
                            td .figure data-label="cut at the bass" { (cut(bass)) }
                            td .figure data-label="cut at the treble" { (cut(treble)) }
                        }
                    }
                    @for board in &members.end_boards {
                        tr {
                            th scope="row" { "end board, " (if board.bass { "bass" } else { "treble" }) " "
                                a href={ "/frame/board.svg?instrument=" (view.instrument.id) "&end=" (if board.bass { "bass" } else { "treble" }) } { "full size (SVG)" } }
                            td .figure data-label="length" { (place(board.size_m[0])) }
                            td .figure data-label="section, mm" { (plain(board.size_m[2] * 1e3, 1)) " × " (plain(board.size_m[1] * 1e3, 1)) }
                            td .figure data-label="cut at the bass" { "square" }
                            td .figure data-label="cut at the treble" { "square" }
                        }
                    }
                }
            } }
            h3 { "Posts, along each rail from its bass end" }
            @for rail in &members.rails {
                @let along: Vec<String> = members.posts.iter().filter(|p| (p.row, p.rail) == (rail.row, rail.rail)).map(|p| plain(p.along_m * 1e3, 1)).collect();
                p { strong { (rail_name(rail.row, rail.rail)) } ", " (along.len()) " posts, mm: " (along.join(" · ")) }
            }
            p .small { "Circles under the bars on a printed plan are the room for a tube with its cap. Saw and plane with the guards on, eyes, ears and lungs protected; follow the machines' manuals." }
        }
    }
}
