//! The page of the climate.
use super::layout::{self, Place};
use super::marks;
use super::set::{field, settled};
use crate::page::places::climate::{ClimateView, WITHIN_CENTS};
use crate::report;
use crate::report::units::{cents_with_sigma, plain, signed};
use maud::{Markup, html};

/// The whole page.
pub fn climate_page(view: &ClimateView) -> Markup {
    let body = html! {
        main #main data-bench="" data-version="" data-still {
            (layout::head("Climate", view.house.invented, "simulated bars"))
            (settled(view.settled.as_ref()))
            (today(view))
            (hall(view))
            (warm(view))
            (learnt(view))
            (layout::foot(Place::Other))
        }
    };
    layout::page("Climate", &body)
}

fn today(view: &ClimateView) -> Markup {
    let first = view.instruments.iter().find_map(|one| Some((one, one.reads.as_ref()?)));
    html! {
        section #answer {
            h1 .instruction .long {
                @match first {
                    Some((_, reads)) => { "A right bar reads " (cents_with_sigma(reads.soon.0, reads.soon.1)) " cents today" },
                    None => "What the air does to pitch",
                }
            }
            @match view.known.latest() {
                Some((at, air)) => p { "Last measured: " strong { (report::climate::air_words(air)) } ", " (report::record::when(at)) "." },
                None => p { (marks::triangle()) " The air was never measured." },
            }
            @if !view.instruments.is_empty() {
                ul { @for one in &view.instruments {
                    li { strong { (one.name) } ": right at " (report::climate::air_words(one.reference)) "; "
                        @match &one.reads { Some(reads) => { "today " (report::climate::reads_words(reads)) "." }, None => "not known today." }
                    }
                } }
            } @else {
                p { "No instrument here names the temperature of its pitch: enter it in the settings." }
            }
            form .pick .asked method="post" action="/climate" {
                (field("temperature", "temperature now, °C", ""))
                (field("humidity", "humidity now, %", ""))
                button .button .main type="submit" { "Enter the air" }
            }
            p .small { "A logger's table: " code { "barwright climate log logger.csv" } }
        }
    }
}

fn hall(view: &ClimateView) -> Markup {
    let asked = &view.asked;
    html! {
        section #hall {
            h2 { "Another hall" }
            @match &view.hall {
                Some(Ok(hall)) => {
                    @let apart = hall.bars.soon.0 - hall.tubes_cents;
                    p .then { "Bars " (cents_with_sigma(hall.bars.soon.0, hall.bars.soon.1)) ", tubes " (signed(hall.tubes_cents, 0)) ": " strong { (plain(apart.abs(), 0)) " cents apart" } "." }
                    p { (report::climate::reads_words(&hall.bars)) ". Move the stoppers, do not cut the bars; ask what pitch the others play at there." }
                    p .small { "Each stopper's way: " code { "barwright climate hall --there 14,40 --instrument NAME" } }
                },
                Some(Err(why)) => p { (marks::triangle()) " " (why.message) " " (why.hint) },
                None => {}
            }
            form .pick .asked method="get" action="/climate" {
                (field("right_c", "right at, °C (else the order's)", &asked.right_c))
                (field("right_pct", "and %", &asked.right_pct))
                (field("there_c", "played at, °C", &asked.there_c))
                (field("there_pct", "and %", &asked.there_pct))
                button .button type="submit" { "What happens there?" }
            }
        }
    }
}

fn warm(view: &ClimateView) -> Markup {
    html! {
        section #warm {
            h2 { "A bar warm from sanding" }
            @match &view.wait_s {
                Some(Ok(wait_s)) => p .then { "Put it back for " strong { (plain((wait_s / 60.0).ceil(), 0)) " minutes" } ": then it rises by less than " (plain(WITHIN_CENTS, 1)) " cents more (good to a factor of 1.5)." },
                Some(Err(why)) => p { (marks::triangle()) " " (why.message) " " (why.hint) },
                None => {}
            }
            form .pick .asked method="get" action="/climate" {
                (field("warmer", "warmer than the room by, °C", &view.asked.warmer))
                (field("thickness", "mean thickness, mm", &view.asked.thickness))
                button .button type="submit" { "How long?" }
            }
        }
    }
}

fn learnt(view: &ClimateView) -> Markup {
    html! {
        section #learnt {
            h2 { "What is reckoned with" }
            p { (report::climate::coefficient_words(&view.known.coefficients)) }
            @match &view.known.fit {
                Ok(fit) => p { (marks::double_tick()) " From " (fit.readings) " readings of " (view.known.bars.len()) " reference bars, scattering by " (plain(fit.scatter_cents, 2)) " cents." },
                Err(why) if !view.known.bars.is_empty() => p { (why.message) " " (why.hint) },
                Err(_) => p { "No reference bar is kept. One finished bar that is never cut, struck at every session, teaches more than any book: " code { "barwright bar R1 new … --reference" } },
            }
        }
    }
}
