//! One bar under the drill, to be read from where the drill stands.
use crate::page::drawings;
use crate::page::html::layout::{self, Place};
use crate::page::html::marks;
use crate::page::places::frame::{DrillView, MARKS};
use crate::report::drill::{MARK_OFF_MM, remark, wood};
use crate::report::units::{Units, plain, signed};
use maud::{Markup, html};

/// The whole page.
pub fn drill_page(view: &DrillView, units: Units) -> Markup {
    let bar = &view.bar;
    let back = format!("/frame?instrument={}#chart", view.instrument.id);
    let may = !bar.interpolated && !bar.misread;
    let remark = remark(bar);
    let body = html! {
        main #main data-bench="" data-version="" data-still {
            (layout::head(&view.instrument.name, view.house.invented, "simulated bars"))
            p .ways { a .button href=(back) { "To the drill chart" } }
            (refused(view))
            div .say {
                h1 .instruction {
                    @if view.drilled { (bar.name) " is drilled" }
                    @else if may { "Drill " (bar.name) }
                    @else { "Do not drill " (bar.name) " yet" }
                }
                p .then {
                    @if let Some(label) = &view.label { "Bar " strong { (label) } ", top face up, left end to the player. " }
                    "Drill " strong { (units.place(view.diameter_mm)) } ", axis " strong { (units.depth(view.below_top_mm)) } " below the top."
                }
            }
            @if !remark.is_empty() { p .notice .refused { (marks::triangle()) " " (remark) "." } }
            (holes(view, units))
            div .drawing-card { (drawings::holes(view)) }
            p { "Wood over and under the holes: " strong { (wood(bar)) } ". " (pitch(view)) }
            p .notice { (marks::triangle()) " Clamp the bar, back it with a block, wear eye protection, follow the drill's manual. A hole cannot be moved: \
                lay the bar on the rails, centred in its gap, and check both marks on both sides first." }
            @if may && !view.drilled { (entry(view)) (own_marks(view)) }
            (layout::foot(Place::Frame))
        }
    };
    layout::page(&format!("Drill {}", bar.name), &body)
}

fn refused(view: &DrillView) -> Markup {
    html! {
        @if let Some(why) = &view.refused {
            div .notice .refused role="alert" {
                p { (marks::triangle()) " " strong { "The marks were not taken. " } (crate::error::sentence(&why.message)) }
                p { (crate::error::sentence(&why.hint)) }
            }
        }
    }
}

/// Both holes in figures, from the end that faces the player.
fn holes(view: &DrillView, units: Units) -> Markup {
    html! {
        table .stack .holes {
            thead { tr { th scope="col" { "from the player's end" } @for words in ["left side", "right side"] { th scope="col" .figure { (words) } } } }
            tbody { @for (hole, which) in view.bar.holes.iter().zip(["player's hole", "far hole"]) {
                tr {
                    th scope="row" { (which) br; (plain(hole.angle_rad.to_degrees().abs(), 1)) "° " (hole.slant().sign()) }
                    @for (side, m) in ["left side", "right side"].iter().zip(hole.from_player_end_m) {
                        td .figure data-label=(side) { (units.place(m * 1e3)) }
                    }
                }
            } }
        }
        @if let Some(off_mm) = view.marks_off_mm {
            @if off_mm > MARK_OFF_MM {
                p .notice .refused { (marks::triangle()) " Your marks lie up to " strong { (plain(off_mm, 1)) " mm" } " off the rails as measured. \
                    Lay the bar on the frame again: in its place, centred in its gap, the right end to the player?" }
            } @else {
                p { (marks::double_tick()) " By your marks; they lie up to " (plain(off_mm, 1)) " mm off the rails as measured." }
            }
        }
    }
}

fn pitch(view: &DrillView) -> String {
    let Some(cents) = &view.cents else {
        return "Drilling may lower the bar by a few cents: strike it again afterwards.".to_owned();
    };
    let each: Vec<String> = cents.iter().map(|cents| signed(*cents, 1)).collect();
    format!(
        "Drilling changes modes 1 to {} by about {} cents, right to about half: strike the bar again afterwards.",
        cents.len(),
        each.join(", ")
    )
}

fn entry(view: &DrillView) -> Markup {
    let texts = view.marks.clone().unwrap_or_default();
    html! {
        form .pick method="post" action="/frame/drilled" {
            input type="hidden" name="instrument" value=(view.instrument.id);
            input type="hidden" name="note" value=(view.bar.name);
            @if view.marks.is_some() {
                input type="hidden" name="unit" value=(if view.inches { "in" } else { "mm" });
                @for ((key, _), text) in MARKS.iter().zip(&texts) { input type="hidden" name=(key) value=(text); }
            }
            button .button .main type="submit" { (view.bar.name) " is drilled" @if view.marks.is_some() { " by these marks" } }
        }
    }
}

/// Marks made on the bar as it lay on the frame: looked at first, entered with the bar.
fn own_marks(view: &DrillView) -> Markup {
    let texts = view.marks.clone().unwrap_or_default();
    html! {
        details #own-marks open[view.marks.is_some() || view.refused.is_some()] {
            summary { "I marked it on the frame: use my marks" }
            form .caliper method="get" action="/frame/bar" {
                input type="hidden" name="instrument" value=(view.instrument.id);
                input type="hidden" name="note" value=(view.bar.name);
                label { span { "bare figures are in" } select name="unit" {
                    option value="mm" selected[!view.inches] { "mm" }
                    option value="in" selected[view.inches] { "inches" }
                } }
                @for ((key, words), text) in MARKS.iter().zip(&texts) {
                    label { span { (words) } input type="text" inputmode="decimal" autocomplete="off" required name=(key) value=(text); }
                }
                button .button type="submit" { "Show the holes by these marks" }
            }
            p .small { "Where the cord crosses each side, from the end that faces the player. Nothing is entered until you say that the bar is drilled." }
        }
    }
}
