//! All bars of an instrument: the picture along the compass, filters, the table.
use super::layout::{self, Place};
use super::{marks, queue, set};
use crate::page::drawings;
use crate::page::places::bars::{BarLine, BarsView, NodesFrom, Show, Sort};
use crate::report::units::{self, Units};
use maud::{Markup, html};
use records::workshop::Stale;

/// The whole page.
pub fn bars_page(view: &BarsView, units: Units) -> Markup {
    let title = format!("All bars of {}", view.instrument.name);
    let body = html! {
        a .skip href="#table" { "To the table" }
        main #main data-bench="" data-version="" {
            (layout::head(&view.instrument.name, view.house.invented, "simulated bars"))
            h1 .unseen { (title) }
            (instruments(view))
            (filters(view))
            @if view.lines.is_empty() {
                (nothing(view))
            } @else {
                section .all-card aria-label="The bars along the compass" { (drawings::compass(view)) }
                (table(view, units))
            }
            (set::sheets(&view.instrument.id))
            (layout::foot(Place::Bars))
        }
    };
    layout::page(&title, &body)
}

/// Nothing to choose from where there is only one.
fn instruments(view: &BarsView) -> Markup {
    if view.instruments.len() < 2 {
        return html! {};
    }
    html! {
        form .pick method="get" action="/bars" {
            label { span { "instrument" }
                select #instrument name="instrument" {
                    @for choice in &view.instruments {
                        option value=(choice.id) selected[choice.id == view.instrument.id] { (choice.name) }
                    }
                }
            }
            @if view.show != Show::All { input type="hidden" name="state" value=(view.show.word()); }
            button .button type="submit" { "Show it" }
        }
    }
}

fn filters(view: &BarsView) -> Markup {
    let shown = view.counts.iter().filter(|(show, count)| *count > 0 || *show == view.show || *show == Show::All);
    html! {
        nav .filters aria-label="Which bars are listed" {
            @for (show, count) in shown {
                a href=(address(view, *show, view.sort)) aria-current=[(*show == view.show).then_some("true")] {
                    (show.words()) " " span .small { (count) }
                }
            }
        }
    }
}

fn address(view: &BarsView, show: Show, sort: Sort) -> String {
    format!("/bars?instrument={}&state={}&sort={}", view.instrument.id, show.word(), sort.word())
}

fn nothing(view: &BarsView) -> Markup {
    html! {
        section {
            @if view.show == Show::All {
                p .then { "No bars here yet. Enter a blank: " code { "barwright bar LABEL new --length 470 --width 62 --thickness 23" } }
            } @else {
                p .then { "No bar of " (view.instrument.name) " is in this state now." }
            }
        }
    }
}

fn table(view: &BarsView, units: Units) -> Markup {
    let unknown = view.lines.iter().filter(|line| line.nodes.is_none()).count();
    html! {
        section #table {
            h2 { "Bars" }
            div .scroll { table .stack .bars {
                thead { tr {
                    (sorted(view, Sort::Note, "note", false))
                    (sorted(view, Sort::Label, "bar", false))
                    th scope="col" { "to do" }
                    @for mode in 0..3 { (sorted(view, Sort::Cents(mode), &format!("mode {}", mode + 1), true)) }
                    (sorted(view, Sort::Thinnest, "thinnest", true))
                    th scope="col" .figure { "node lines" }
                    th scope="col" { "next" }
                } }
                tbody { @for line in &view.lines { (row(line, units)) } }
            } }
            @if view.left_out > 0 {
                p { "The first " (view.lines.len()) " are shown; " (view.left_out) " more pass this filter. Choose a state above to see them." }
            }
            p .small { "Cents from each mode's target at the last reading, ± one standard uncertainty. Thinnest: the wood left as intended by what was entered. "
                "Node lines of mode 1 from the left end: " (marks::double_tick()) " read with salt, the others worked out." }
            @if unknown > 0 {
                p { a .button href={ (address(view, view.show, view.sort)) "&nodes=all" } { "Work out " (unknown) " missing node lines" }
                    " " span .small { "A second or two a bar." } }
            }
        }
    }
}

/// The head of a column that sorts.
fn sorted(view: &BarsView, sort: Sort, name: &str, figure: bool) -> Markup {
    let order = if matches!(sort, Sort::Cents(_)) { "descending" } else { "ascending" };
    let here = view.sort == sort;
    html! {
        th scope="col" .figure[figure] aria-sort=[here.then_some(order)] {
            a href=(address(view, view.show, sort)) { (name) @if here { " ▾" } }
        }
    }
}

fn row(line: &BarLine, units: Units) -> Markup {
    html! {
        tr {
            th scope="row" { a .bar-link href={ "/bench/" (line.id) } {
                (line.note.as_deref().unwrap_or("no note")) span .unseen { ", bar " (line.label) ", to the bench" }
            } }
            td data-label="bar" { (line.label) }
            td data-label="to do" { (line.stage.to_do()) }
            @for (mode, cents) in line.cents.iter().enumerate() {
                td .figure data-label={ "mode " (mode + 1) } { (heard(*cents, line.sigma_cents)) }
            }
            td .figure data-label="thinnest" { (units.depth(line.thinnest_mm.1)) }
            td .figure data-label="node lines" { (nodes(line, units)) }
            td data-label="next" {
                span {
                    (queue::sign(line.waits)) " " (line.waits.words())
                    @if let Some(stale) = line.stale { br; span .small { (marks::triangle()) " " (stale_words(stale)) } }
                }
            }
        }
    }
}

fn heard(cents: Option<f64>, sigma_cents: f64) -> Markup {
    match cents {
        Some(cents) => html! { (units::cents_with_sigma(cents, sigma_cents)) },
        None => html! { span .small { "–" span .unseen { "not heard" } } },
    }
}

fn nodes(line: &BarLine, units: Units) -> Markup {
    match line.nodes {
        Some((from, [left, right])) => html! {
            // Each place breaks as a whole where the column is narrow.
            div {
                @if from == NodesFrom::Salt { (marks::double_tick()) " " }
                span { (units.place(left)) "," } " " span { (units.place(right)) }
            }
        },
        None => html! { span .small { "not known" } },
    }
}

fn stale_words(stale: Stale) -> &'static str {
    match stale {
        Stale::BeforeLastCut => "read before the last cut",
        Stale::OtherTemperature => "read warmer or colder than the order's temperature",
    }
}
