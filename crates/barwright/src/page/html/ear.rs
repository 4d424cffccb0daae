//! The microphone's corner of the page, and the screen that answers a blow.
use super::marks;
use crate::page::queue::QueueView;
use maud::{Markup, html};

/// What the microphone does and how loud it hears; the script keeps this part when the rest is renewed.
pub fn ear() -> Markup {
    html! {
        div #ear .ear data-keep data-state="off" {
            p #ear-state .ear-state { "Microphone off" }
            svg .level viewBox="0 0 200 10" preserveAspectRatio="none" role="img" aria-label="Level of the microphone" {
                rect #ear-level x="0" y="1" width="0" height="9" {}
                path .pen-outline d="M0 0V10M200 0V10M0 10H200" {}
            }
            p .ear-said role="status" { strong #ear-words {} " " span #ear-hint {} }
        }
    }
}

/// Which microphone, and what is known of the blows to come.
pub fn choices(queue: &QueueView) -> Markup {
    html! {
        details #ear-more data-keep {
            summary { "Microphone, place of the blow, temperature, knocking" }
            div .ear-fields {
                label { span { "microphone" } select #ear-device { option value="" { "the usual one" } } }
                label { span { "where it is struck" } select #ear-struck {
                    @for (value, words) in super::actions::PLACES { option value=(value) { (words) } }
                } }
                label { span { "bar's temperature, °C" } input #ear-temperature type="text" inputmode="decimal" autocomplete="off"; }
                label .tick { input #ear-knock type="checkbox"; span { "two knocks on the bench, about a second apart: I cut it" } }
                @if !queue.recorders.is_empty() {
                    label { span { "recorder, for its clock" } select #ear-recorder {
                        option value="" { "none" }
                        @for name in &queue.recorders { option value=(name) { (name) } }
                    } }
                }
            }
        }
    }
}

/// The screen that answers a blow, and its shapes.
pub fn flash() -> Markup {
    html! {
        div #flash .flash role="alert" hidden {
            p #flash-shape .flash-shape {}
            p #flash-word .flash-word {}
            p #flash-why .flash-why {}
        }
        @for (verdict, mark) in [
            ("heard", marks::double_tick()),
            ("place", marks::to_place()),
            ("noisy", marks::waves()),
            ("loud", marks::bars()),
            ("again", marks::again()),
        ] {
            template id={ "shape-" (verdict) } { (mark) }
        }
    }
}
