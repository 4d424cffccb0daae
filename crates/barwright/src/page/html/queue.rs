//! The bars: as a strip over the bench, and as a list.
use super::layout::{self, Place};
use super::marks;
use crate::page::queue::{QueueBar, QueueView, Waits};
use maud::{Markup, html};
use paper::measure;

/// Silhouettes are drawn so that the longest bar fills this width, in units of the picture.
const WIDTH: f64 = 100.0;

/// The list of all bars, with the one to take next.
pub fn queue_page(view: &QueueView) -> Markup {
    let body = html! {
        main #main data-bench="" data-version="" {
            (layout::head(&view.workshop, view.invented, "simulated bars"))
            section {
                @match view.next(None) {
                    Some((bar, why)) => {
                        h1 .instruction { "Next: " (bar.note) ", bar " (bar.label) }
                        p .then { (bar.waits.words()) ": " (why) "." }
                        p { a .button .main href={ "/bench/" (bar.id) } { "Put it on the bench" } }
                    }
                    None if view.bars.is_empty() => {
                        h1 .instruction { "No bars yet." }
                        p .then { "Begin with a blank: measure it, weigh it, write its label on the end grain." }
                        p { a .button .main href="/new" { "Enter a blank" } }
                    }
                    None => h1 .instruction { "No bar waits for the bench." }
                }
            }
            section #bars {
                h2 { "Bars" }
                div .queue-list { @for bar in &view.bars { (line(view, bar)) } }
                @if !view.bars.is_empty() { p { a .button href="/new" { "Enter a blank" } } }
            }
            (layout::foot(Place::Bench))
        }
    };
    layout::page(&format!("Bars of {}", view.workshop), &body)
}

fn line(view: &QueueView, bar: &QueueBar) -> Markup {
    html! {
        a .queue-line href={ "/bench/" (bar.id) } {
            span .queue-note { (bar.note) }
            span .small { "bar " (bar.label) }
            (silhouette(view, bar))
            span .queue-state { (sign(bar.waits)) " " (bar.waits.words()) }
            span .queue-cents { (cents(bar)) }
        }
    }
}

/// "+12, −3 cents" of the last reading.
fn cents(bar: &QueueBar) -> String {
    let heard: Vec<String> = bar.cents.iter().flatten().map(|cents| measure::cents(*cents)).collect();
    if heard.is_empty() { String::new() } else { heard.join(", ") }
}

/// The strip over the bench; nothing without a record.
pub fn strip(view: &QueueView, here: &str) -> Markup {
    if view.bars.is_empty() {
        return html! {};
    }
    html! {
        nav #queue .queue aria-label="Bars in the order of the compass" {
            a .queue-bar .all href="/" { span .queue-note { "All" } span .queue-state { "bars" } }
            @for bar in &view.bars {
                a .queue-bar .here[bar.id == here] href={ "/bench/" (bar.id) }
                    title={ "bar " (bar.label) } aria-current=[(bar.id == here).then_some("page")] {
                    span .queue-note { (bar.note) }
                    (silhouette(view, bar))
                    span .queue-state { (sign(bar.waits)) " " (bar.waits.words()) }
                }
            }
        }
    }
}

/// Which bar is next, in a line under the instruction.
pub fn next(view: &QueueView, here: &str) -> Markup {
    let Some((bar, why)) = view.next(Some(here)) else { return html! {} };
    html! {
        p .next-bar { "Next bar: " a href={ "/bench/" (bar.id) } { strong { (bar.note) } ", bar " (bar.label) } " (" (why) ")." }
    }
}

/// A mark that tells the state without colour.
pub fn sign(waits: Waits) -> Markup {
    match waits {
        Waits::ToMeasure | Waits::ToStrike => marks::mallet(),
        Waits::Cooling(_) => marks::hourglass(),
        Waits::ToCut => marks::hatch(),
        Waits::SecondSalt | Waits::Elsewhere(_) => marks::away(),
        Waits::Done(_) => marks::double_tick(),
    }
}

/// The bar from the side, its length to the scale of the longest; hatched while wood is to come off.
fn silhouette(view: &QueueView, bar: &QueueBar) -> Markup {
    let longest = view.bars.iter().map(|bar| bar.length_mm).fold(1.0, f64::max);
    let length = WIDTH * bar.length_mm / longest;
    let left = 0.5 * (WIDTH - length);
    let (a, b) = (left + 0.22 * length, left + 0.78 * length);
    let right = left + length;
    let middle = 0.5 * WIDTH;
    // A sketch of an arched bar, the same for every one: only its length is to scale.
    let arch = match bar.waits {
        Waits::ToMeasure | Waits::Elsewhere(records::workshop::Stage::GiveNote | records::workshop::Stage::Saw) => {
            format!("M{left:.1} 3H{right:.1}V13H{left:.1}Z")
        }
        _ => format!("M{left:.1} 3H{right:.1}V13H{b:.1}Q{middle:.1} 1 {a:.1} 13H{left:.1}Z"),
    };
    html! {
        svg .silhouette viewBox="0 0 100 16" aria-hidden="true" preserveAspectRatio="xMidYMid meet" {
            path .pen-outline d=(arch) {}
        }
    }
}
