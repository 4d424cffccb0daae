//! One bar's history with its sound.
use super::layout::{self, Place};
use crate::page::compare::TakeName;
use crate::page::history::{HistoryLine, HistoryView};
use maud::{Markup, html};

/// The whole page, newest entry first.
pub fn history_page(view: &HistoryView) -> Markup {
    let newest = view.newest_two();
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
                @if newest.is_some() { (compare(view)) }
                ol .history reversed { @for line in &view.lines { (entry(line, newest)) } }
            }
            (layout::foot(Place::Other))
        }
    };
    layout::page(&format!("History of {}", view.name), &body)
}

/// Sends the two takes chosen in the list.
fn compare(view: &HistoryView) -> Markup {
    html! {
        form #compare .compare-form method="get" action={ "/history/" (view.id) "/compare" } {
            button .button type="submit" { "Compare two takes" }
            p .small { "The two newest are chosen; choose others in the list." }
        }
    }
}

/// Chooses a take as one of the two.
fn choose(name: TakeName, newest: [TakeName; 2]) -> Markup {
    let choices = [("a", "compare this", newest[0]), ("b", "with this", newest[1])];
    html! {
        p .choose role="group" aria-label={ "take " (name) " for comparing" } {
            @for (field, words, chosen) in choices {
                label { input type="radio" form="compare" name=(field) value=(name) required checked[name == chosen]; span { (words) } }
            }
        }
    }
}

fn entry(line: &HistoryLine, newest: Option<[TakeName; 2]>) -> Markup {
    html! {
        li value=(line.number) .gone[!line.stands] {
            p .small { (line.when) }
            p { @if line.stands { (line.words) } @else { s { (line.words) } } }
            @if !line.cents.is_empty() { p { strong { (line.cents) } } }
            @if let Some(photo) = &line.photo { p { a .button href={ "/photos/" (photo) } { "The photograph" } } }
            @for (index, take) in line.takes.iter().enumerate() {
                audio controls preload="none" src={ "/takes/" (take) } aria-label={ "take " (index + 1) " of entry " (line.number) } {}
                @if let Some(newest) = newest { (choose(TakeName { entry: line.number, take: index + 1 }, newest)) }
            }
        }
    }
}
