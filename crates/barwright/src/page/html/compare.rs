//! Two takes of a bar beside each other.
use super::layout::{self, Place};
use super::marks;
use crate::error::sentence;
use crate::page::compare::{Apart, CompareView, ComparedTake, ModePair, Verdict};
use crate::page::drawings;
use crate::report::listen::kind_name;
use crate::report::units;
use maud::{Markup, html};
use strike::HeardMode;

/// The whole page.
pub fn compare_page(view: &CompareView) -> Markup {
    let body = html! {
        main #main data-bench="" data-version="" {
            (layout::head(&view.bar, view.invented, "a simulated bar"))
            p .ways { a .button href={ "/history/" (view.id) } { "To its history" } " " a .button href={ "/bench/" (view.id) } { "To the bench" } }
            section {
                h1 .section { "Two takes, the earlier first" }
                div .takes { @for (which, take) in ["earlier", "later"].into_iter().zip(&view.takes) { (take_card(which, take)) } }
                (temperature(view))
            }
            section #modes {
                h2 { "From the earlier to the later" }
                @if view.modes.is_empty() { p { "No mode was named in either." } } @else { (table(&view.modes)) }
                p .small { "Both were listened to anew just now. ± is one standard uncertainty of the difference: both takes', and the half a cent to which "
                    "a bar repeats from blow to blow. Chance alone goes beyond twice that once in twenty. Levels are below the loudest mode of the same take." }
            }
            section #pictures {
                h2 { "Both on the same axes" }
                @for (id, take) in ["earlier", "later"].into_iter().zip(&view.takes) {
                    figure .drawing-card { (drawings::take(id, &take.picture)) }
                }
            }
            (layout::foot(Place::Other))
        }
    };
    layout::page(&format!("Two takes of {}", view.bar), &body)
}

fn take_card(which: &str, take: &ComparedTake) -> Markup {
    html! {
        div {
            h3 { "The " (which) ": take " (take.name) }
            p { (take.when) @if let Some(celsius) = take.temperature_c { ", the bar at " (units::plain(celsius, 1)) " °C" } }
            p .small { (take.words) }
            audio controls preload="none" src={ "/takes/" (take.sha256) } aria-label={ "the " (which) " take" } {}
            @if !take.warnings.is_empty() {
                ul .doubts { @for doubt in &take.warnings { li { (sentence(&doubt.message)) " " (sentence(&doubt.hint)) } } }
            }
        }
    }
}

/// What the bar's warmth does to the difference.
fn temperature(view: &CompareView) -> Markup {
    html! {
        @if let Some(warmer) = view.warmer_c() {
            p { (marks::triangle()) " At the later take the bar was " (units::plain(warmer.abs(), 1)) " °C " (if warmer > 0.0 { "warmer" } else { "colder" })
                ": by itself that moves every mode by some " (units::signed(-warmer, 0)) " to " (units::signed(-2.0 * warmer, 0)) " cents." }
        } @else if view.temperature_unknown() {
            p .small { "The bar's temperature was not noted with both takes. Wood that is warmer by 5 °C reads some 5 to 10 cents lower." }
        }
    }
}

fn table(modes: &[ModePair]) -> Markup {
    html! {
        div .scroll { table .stack .compare {
            thead {
                tr {
                    th scope="col" { "mode" }
                    th scope="col" .figure { "earlier, Hz" }
                    th scope="col" .figure { "later, Hz" }
                    th scope="col" .figure { "apart, cents" }
                    th scope="col" { "in words" }
                    th scope="col" .figure { "rings (1/e), s" }
                    th scope="col" .figure { "level, dB" }
                }
            }
            tbody { @for pair in modes { (row(pair)) } }
        } }
    }
}

fn row(pair: &ModePair) -> Markup {
    let [earlier, later] = &pair.modes;
    let hz = |mode: &Option<HeardMode>| mode.as_ref().map_or_else(|| "not heard".to_owned(), |mode| units::hz(mode.hz));
    let from_to = |value: fn(&HeardMode) -> String| {
        let [from, to] = [earlier, later].map(|mode| mode.as_ref().map_or_else(|| "–".to_owned(), value));
        format!("{from} → {to}")
    };
    html! {
        tr {
            th scope="row" { (kind_name(pair.kind)) " " (pair.number) }
            td .figure data-label="earlier, Hz" { (hz(earlier)) }
            td .figure data-label="later, Hz" { (hz(later)) }
            @match pair.apart() {
                Some(apart) => {
                    td .figure data-label="apart, cents" { strong { (cents_with_sigma(&apart)) } }
                    td data-label="in words" { (words(&apart)) }
                }
                None => {
                    td .figure data-label="apart, cents" { "–" }
                    td data-label="in words" { "heard in one of them only" }
                }
            }
            td .figure data-label="rings (1/e), s" { (from_to(|mode| units::plain(mode.decay_s, 3))) }
            td .figure data-label="level, dB" { (from_to(|mode| units::plain(mode.level_db, 0))) }
        }
    }
}

fn cents_with_sigma(apart: &Apart) -> String {
    format!("{} ± {}", units::signed(apart.cents, 1), units::plain(apart.sigma_cents, 1))
}

fn words(apart: &Apart) -> Markup {
    let way = if apart.cents > 0.0 { "higher" } else { "lower" };
    let times = units::plain(apart.cents.abs() / apart.sigma_cents, 1);
    html! {
        @match apart.verdict() {
            Verdict::Changed => span { (marks::double_tick()) " " (way) ": " (times) " times the uncertainty" },
            Verdict::Perhaps => span { (marks::triangle()) " perhaps " (way) ": larger than the uncertainty, not twice as large" },
            Verdict::Same => span { "no change that can be told: within the uncertainty" },
        }
    }
}
