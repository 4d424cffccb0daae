//! The settings.
use super::layout::{self, Place};
use super::{help, marks};
use crate::page::places::UnitsShown;
use crate::page::places::settings::{OrderLine, SettingsView, ToolLine};
use crate::report::units::{self, Units};
use maud::{Markup, html};
use records::HandRecord;

/// The whole page.
pub fn settings_page(view: &SettingsView, units: Units) -> Markup {
    let body = html! {
        main #main data-bench="" data-version="" data-still {
            (layout::head("Settings", view.house.invented, "simulated bars"))
            h1 .unseen { "Settings" }
            (settled(view))
            (orders(view))
            (unit_choice(units))
            (hand(view, units))
            (tools(view))
            p #progress .progress role="status" aria-live="polite" {}
            (layout::foot(Place::Settings))
        }
    };
    layout::page("Settings", &body)
}

fn settled(view: &SettingsView) -> Markup {
    html! {
        div #notice role="status" {
            @match &view.settled {
                None => {}
                Some(Ok(what)) => p .notice { (marks::double_tick()) " Kept: " (what) "." },
                Some(Err(why)) => div .notice .refused {
                    p { (marks::triangle()) " " strong { "Nothing was changed. " } (why.message) }
                    p { (why.hint) }
                },
            }
        }
    }
}

fn orders(view: &SettingsView) -> Markup {
    html! {
        section #orders {
            h2 { "Pitch, and the air it is wanted in" }
            @if view.orders.is_empty() {
                p { "No instrument is in work. Enter what was ordered." }
            }
            @for line in &view.orders { (order(line)) }
            details {
                summary { "A new instrument" }
                form .pick .order method="post" action="/settings/instrument" {
                    label { span { "name" } input type="text" name="name" autocomplete="off" required; }
                    label { span { "A4, Hz" } input type="text" name="a4" inputmode="decimal" autocomplete="off" required value="442"; }
                    label { span { "temperature, °C" } input type="text" name="temperature" inputmode="decimal" autocomplete="off"; }
                    label { span { "humidity, %" } input type="text" name="humidity" inputmode="decimal" autocomplete="off"; }
                    button .button type="submit" { "Enter it" }
                }
            }
            p .small { "A reading taken more than 3 °C away from that temperature counts as stale: wood goes flat as it warms, common ones 3 to 6 cents in 3 °C." }
        }
    }
}

fn order(line: &OrderLine) -> Markup {
    let climate = line.order.reference;
    let shown = |value: Option<f64>| value.map(|value| units::plain(value, 2).replace('−', "-")).unwrap_or_default();
    html! {
        form .pick .order method="post" action="/settings/order" {
            h3 { (line.order.name) }
            input type="hidden" name="instrument" value=(line.id);
            label { span { "A4, Hz" } input type="text" name="a4" inputmode="decimal" autocomplete="off" required value=(shown(Some(line.order.a4_hz))); }
            label { span { "temperature, °C" } input type="text" name="temperature" inputmode="decimal" autocomplete="off" value=(shown(climate.and_then(|c| c.temperature_c))); }
            label { span { "humidity, %" } input type="text" name="humidity" inputmode="decimal" autocomplete="off" value=(shown(climate.and_then(|c| c.humidity_pct))); }
            button .button type="submit" { "Keep it" }
            @if line.bars > 0 {
                p .small { "A4 is fixed from the first note on: " (line.bars) (if line.bars == 1 { " bar has its note" } else { " bars have their notes" }) " at this pitch." }
            }
        }
    }
}

fn unit_choice(now: Units) -> Markup {
    let choices = [(Units::Both, "millimetres (inches)"), (Units::Mm, "millimetres"), (Units::Inch, "inches")];
    html! {
        section #units {
            h2 { "Units" }
            form method="post" action="/settings/units" {
                fieldset {
                    legend { "Lengths in the lists of this browser" }
                    div .places { @for (units, words) in choices {
                        label { input type="radio" name="units" value=(UnitsShown::word(units)) checked[units == now]; span { (words) } }
                    } }
                }
                button .button type="submit" { "Keep it" }
            }
            p .small { "The bench always says both. Drawings are dimensioned in millimetres." }
        }
    }
}

fn hand(view: &SettingsView, units: Units) -> Markup {
    html! {
        section #hand {
            h2 { "Your hand" }
            @match &view.hand {
                Some((bar, hand)) => (learnt(bar, hand, units)),
                None => p { "Nothing is learnt that a bar still to be cut could begin with: it takes an earlier bar that was cut and read again, and one that was never cut." },
            }
            (help::fold("hand-help", &help::HAND))
        }
    }
}

fn learnt(bar: &str, hand: &HandRecord, units: Units) -> Markup {
    html! {
        p { "You take " strong { (units::plain(1e2 * hand.depth_ratio, 0)) " % ± " (units::plain(hand.depth_ratio_pct * hand.depth_ratio, 0)) " %" }
            " of the depth asked for, and one pass takes " strong { (units.depth(hand.pass_mm)) } " ± " (units::plain(hand.pass_pct, 0)) " %." }
        p .small { "What " (bar) " begins with"
            @if let Some(from) = &hand.from { ", learnt on " (if from.len() == 1 { "bar " } else { "bars " }) (from.join(", ")) } "." }
    }
}

fn tools(view: &SettingsView) -> Markup {
    if view.tools.is_empty() {
        return html! {};
    }
    html! {
        section #tools {
            h2 { "Tools" }
            div .scroll { table .stack {
                thead { tr { th scope="col" { "tool" } th scope="col" .figure { "grit" } th scope="col" .figure { "clock" } } }
                tbody { @for tool in &view.tools { (self::tool(tool)) } }
            } }
        }
    }
}

fn tool(tool: &ToolLine) -> Markup {
    html! {
        tr {
            th scope="row" { (tool.name) }
            td .figure data-label="grit" { @match tool.grit { Some(grit) => (grit), None => "–" } }
            td .figure data-label="clock" {
                @match tool.clock {
                    Some(clock) => { (units::signed(clock.offset_ppm, 1)) " ± " (units::plain(clock.sigma_ppm, 1)) " ppm" }
                    None => "–",
                }
            }
        }
    }
}
