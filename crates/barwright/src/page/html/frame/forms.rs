//! The forms of the frame: rails by hand, the maker's wishes, the rails as they stand.
use crate::framing::{Framed, rail_records};
use crate::page::html::help;
use crate::page::places::frame::{FrameView, Laid, RAILS};
use crate::report::members::rail_name;
use crate::report::units::plain;
use making::frame::Row;
use maud::{Markup, html};
use records::workshop::{RailRecord, RailWord, RowWord};

fn instrument(view: &FrameView) -> Markup {
    html! { input type="hidden" name="instrument" value=(view.instrument.id); }
}

fn name_of(row: RowWord, rail: RailWord) -> String {
    let row = if row == RowWord::Natural { Row::Natural } else { Row::Accidental };
    rail_name(row, usize::from(rail == RailWord::Far))
}

/// A number for a field: a plain minus, at most two decimals.
fn figure(value: f64) -> String {
    plain(value, 2).replace('−', "-")
}

/// The rails' ends in figures; they follow the handles of the drawing, and the drawing follows them.
pub(super) fn rails(view: &FrameView, framed: &Framed, laid: &Laid) -> Markup {
    let rails = rail_records(&laid.plan);
    let word = |rail: &RailRecord| RAILS.iter().find(|r| (r.0, r.1) == (rail.row, rail.rail)).map_or("", |r| r.2);
    html! {
        section #rails-section {
            h2 { "The rails" }
            form #rails .caliper method="post" action="/frame/rails" data-try="/frame/try" {
                (instrument(view))
                @for rail in &rails {
                    fieldset .salt-line {
                        legend { (name_of(rail.row, rail.rail)) ", mm" }
                        @for (number, [x, y]) in rail.points.iter().enumerate() {
                            input type="hidden" name={ "x-" (word(rail)) "-" (number) } value=(figure(*x));
                            label { span { "away at " (plain(*x, 0)) " along" }
                                input type="text" inputmode="decimal" autocomplete="off" required
                                    id={ "y-" (word(rail)) "-" (number) } name={ "y-" (word(rail)) "-" (number) } value=(figure(*y)); }
                        }
                    }
                }
                button .button type="submit" { "Keep these rails" }
            }
            @if !framed.plan.by_hand.is_empty() {
                form .pick method="post" action="/frame/fit" { (instrument(view)) button .button type="submit" { "Fit them to the bars again" } }
            }
            p .small { "Along: from the bass side of the lowest natural. Away: from its outer cord at the first bar. Move the rings or type; nothing is kept until you say so." }
            (help::fold("rails-help", &help::RAILS))
        }
    }
}

/// How the frame is to be.
pub(super) fn plan(view: &FrameView, framed: &Framed) -> Markup {
    let said = &framed.plan;
    let field = |name: &str, words: &str, value: f64| {
        html! { label { span { (words) } input type="text" inputmode="decimal" autocomplete="off" required name=(name) value=(figure(value)); } }
    };
    let tick = |name: &str, words: &str, on: bool| {
        html! { label .tick { input type="checkbox" name=(name) value="yes" checked[on]; span { (words) } } }
    };
    html! {
        details #wishes {
            summary { "How the frame is to be" }
            form #frame-plan .caliper method="post" action="/frame/plan" {
                (instrument(view))
                (unit())
                (field("gap", "gap between bars", said.gap_mm))
                (field("overlap", "accidentals over naturals' ends", said.overlap_mm))
                (field("share_from", "outer rails' share, least", said.outer_share[0]))
                (field("share_to", "and most", said.outer_share[1]))
                (field("fair", "weight of fair ends", said.fairness))
                label { span { "rails bend after" } input type="text" autocomplete="off" name="bend_after" value=(said.bend_after.join(", ")); }
                (tick("symmetric", "both outer rails lean alike", said.symmetric))
                (tick("one_row", "all bars in one row", said.one_row))
                (field("below", "hole's axis below the top", said.below_top_mm))
                (field("diameter", "drill", said.diameter_mm))
                (field("rail_thickness", "rails: thickness", said.rail_thickness_mm))
                (field("rail_height", "rails: height", said.rail_height_mm))
                (field("end_board", "end boards: thickness", said.end_board_mm))
                (field("post", "posts with felt: diameter", said.post_mm))
                (field("raise", "accidentals' rails higher by", said.raise_mm))
                button .button type="submit" { "Keep it" }
            }
        }
    }
}

fn unit() -> Markup {
    html! { label { span { "bare figures are in" } select name="unit" { option value="mm" { "mm" } option value="in" { "inches" } } } }
}

/// Where the rails of the standing frame are: both ends of each, and one bow between.
pub(super) fn built(view: &FrameView, framed: &Framed, laid: &Laid) -> Markup {
    let planned = rail_records(&laid.plan);
    let known = framed.built.as_ref().map(|(built, _)| built.rails.as_slice()).unwrap_or_default();
    let places = |rail: &RailRecord| -> Vec<(String, String)> {
        let find = |rails: &[RailRecord]| rails.iter().find(|r| (r.row, r.rail) == (rail.row, rail.rail)).cloned();
        match find(known) {
            Some(rail) => rail.points.iter().map(|[x, y]| (figure(*x), figure(*y))).collect(),
            // Where to measure is proposed, what was measured never.
            None => {
                let mut places: Vec<(String, String)> =
                    rail.points.iter().map(|[x, _]| (figure(*x), String::new())).collect();
                places.insert(places.len() - 1, (String::new(), String::new()));
                places
            }
        }
    };
    let word = |rail: &RailRecord| RAILS.iter().find(|r| (r.0, r.1) == (rail.row, rail.rail)).map_or("", |r| r.2);
    html! {
        details #as-built open[known.is_empty()] {
            summary { @if known.is_empty() { "Enter the rails as they stand" } @else { "Measure them again" } }
            form #frame-built .caliper method="post" action="/frame/built" {
                (instrument(view))
                (unit())
                @for rail in &planned {
                    fieldset .salt-line {
                        legend { (name_of(rail.row, rail.rail)) }
                        @for (number, (x, y)) in places(rail).iter().enumerate() {
                            label { span { (number + 1) ": along" } input type="text" inputmode="decimal" autocomplete="off" name={ "x-" (word(rail)) "-" (number) } value=(x); }
                            label { span { (number + 1) ": away" } input type="text" inputmode="decimal" autocomplete="off" name={ "y-" (word(rail)) "-" (number) } value=(y); }
                        }
                    }
                }
                button .button type="submit" { "Enter the frame as it stands" }
                p .small { "Both ends of every rail, and a bow between where there is one: leave its fields empty if the rail is straight." }
            }
        }
    }
}
