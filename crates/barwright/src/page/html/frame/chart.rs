//! The drill chart with the way to enter that a bar is drilled.
use crate::framing::Framed;
use crate::page::html::marks;
use crate::page::places::frame::{FrameView, Standing};
use crate::report::drill::{remark, wood};
use crate::report::units::{Units, plain};
use making::frame::{DrilledBar, Hole};
use maud::{Markup, html};

const HEAD: [&str; 9] =
    ["bar", "player's hole: left", "right", "angle", "far hole: left", "right", "angle", "wood over, under", ""];

/// The chart.
pub(super) fn chart(view: &FrameView, framed: &Framed, standing: &Standing, units: Units) -> Markup {
    html! {
        section #chart {
            h2 { "Drill chart" }
            p .notice .refused { (marks::triangle()) " Clamp the bar, back it with a block, wear eye protection, follow the drill's manual. A hole cannot be moved: \
                lay each bar on the rails and check both marks before drilling. Naturals and accidentals lean opposite ways on the outer rails." }
            p { "Drill " strong { (units.place(framed.plan.diameter_mm)) } ", axis " strong { (units.depth(framed.plan.below_top_mm)) }
                " below the top face in every bar. Every figure from the end that faces the player, top face up, on the bar's left and right side." }
            div .scroll { table .stack .bars {
                thead { tr { @for (index, words) in HEAD.iter().enumerate() {
                    @if index == 0 { th scope="col" { (words) } }
                    @else if words.is_empty() { th scope="col" { span .unseen { "drilled" } } }
                    @else { th scope="col" .figure { (words) } }
                } } }
                tbody { @for bar in &standing.chart { (line(view, framed, bar, units)) } }
            } }
        }
    }
}

/// The page of one bar. A note's name has nothing but the sharp that an address must not hold.
fn address(view: &FrameView, name: &str) -> String {
    format!("/frame/bar?instrument={}&note={}", view.instrument.id, name.replace('♯', "%E2%99%AF"))
}

fn line(view: &FrameView, framed: &Framed, bar: &DrilledBar, units: Units) -> Markup {
    let row = framed.row(&bar.name);
    let label = row.and_then(|row| row.of_record.as_ref()).map(|(_, label)| label.as_str());
    let drilled = row.is_some_and(|row| row.drilled);
    let remark = remark(bar);
    let cells = |hole: &Hole, which: &str| {
        let [left, right] = hole.from_player_end_m.map(|m| units.place(m * 1e3));
        html! {
            td .figure data-label={ (which) " left" } { (left) }
            td .figure data-label={ (which) " right" } { (right) }
            td .figure data-label={ (which) " angle" } { (plain(hole.angle_rad.to_degrees().abs(), 1)) "° " (hole.slant().sign()) }
        }
    };
    html! {
        tr {
            th scope="row" { a .button href=(address(view, &bar.name)) { (bar.name) } @if let Some(label) = label { " " span .small { "bar " (label) } }
                @if !remark.is_empty() { br; span .small { (marks::triangle()) " " (remark) } } }
            (cells(&bar.holes[0], "player's hole:"))
            (cells(&bar.holes[1], "far hole:"))
            td .figure data-label="wood over, under" { (wood(bar)) }
            td {
                @if drilled { (marks::double_tick()) " drilled" }
                @else if bar.interpolated || bar.misread { "do not drill" }
                @else {
                    form method="post" action="/frame/drilled" {
                        input type="hidden" name="instrument" value=(view.instrument.id);
                        input type="hidden" name="note" value=(bar.name);
                        button .button type="submit" { (bar.name) " is drilled" }
                    }
                }
            }
        }
    }
}
