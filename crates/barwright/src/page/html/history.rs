//! One bar's history with its sound.
use super::layout::{self, Place};
use crate::page::history::{HistoryLine, HistoryView};
use maud::{Markup, html};

/// The whole page, newest entry first.
pub fn history_page(view: &HistoryView) -> Markup {
    let body = html! {
        main #main data-bench="" data-version="" {
            (layout::head(&view.name, view.invented, "a simulated bar"))
            p .ways {
                a .button href={ "/bench/" (view.id) } { "To the bench" }
                " "
                a .button href="/" { "All bars" }
            }
            section {
                h1 .section { "Everything entered, newest first" }
                p .small { "Nothing is ever rubbed out: what was taken back or corrected stays here. To put an entry right: "
                    code { "barwright bar LABEL correct NUMBER …" } }
                ol .history reversed { @for line in &view.lines { (entry(line)) } }
            }
            (layout::foot(Place::Other))
        }
    };
    layout::page(&format!("History of {}", view.name), &body)
}

fn entry(line: &HistoryLine) -> Markup {
    html! {
        li value=(line.number) .gone[!line.stands] {
            p .small { (line.when) }
            p { @if line.stands { (line.words) } @else { s { (line.words) } } }
            @if !line.cents.is_empty() { p { strong { (line.cents) } } }
            @for (index, take) in line.takes.iter().enumerate() {
                audio controls preload="none" src={ "/takes/" (take) } aria-label={ "take " (index + 1) " of entry " (line.number) } {}
            }
        }
    }
}
