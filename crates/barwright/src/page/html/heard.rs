//! What came of the last thing done, and what the last recording held.
use super::bench::Shown;
use super::{actions, marks};
use crate::page::state::Notice;
use crate::page::view::BenchView;
use crate::report::listen::kind_name;
use crate::report::units;
use maud::{Markup, html};
use strike::{Heard, HeardMode, Kind, OtherTone};

/// What came of the last thing done.
pub fn notice(view: &BenchView, shown: &Shown<'_>) -> Markup {
    let Some(notice) = &shown.notice else { return html! { div #notice role="status" {} } };
    html! {
        div #notice role="status" {
            @match notice {
                Notice::Heard => p .notice { (marks::double_tick()) " Heard and entered" (heard_words(view)) "." }
                Notice::Cut => p .notice { (marks::double_tick()) " The cut is entered. Let the bar cool, strike it and listen." }
                Notice::Entered(what) => p .notice { (marks::double_tick()) " Entered: " (what) "." }
                Notice::Redone(what) => p .notice { (marks::double_tick()) " Brought back: " (what) }
                Notice::Undone(what) => div .notice .taken-back { p { (marks::back()) " Taken back: " (what) } (actions::redo(view, shown)) }
                Notice::Refused { what, why } => div .notice .refused {
                    p { (marks::triangle()) " " strong { (what) ". " } (why.message) }
                    @if !why.hint.is_empty() { p { (why.hint) } }
                }
            }
        }
    }
}

/// ": bending 1, 2 and 3".
fn heard_words(view: &BenchView) -> String {
    let numbers: Vec<String> = view
        .heard
        .iter()
        .flat_map(|h| &h.modes)
        .filter(|m| m.kind == Kind::Bending)
        .map(|m| m.number.to_string())
        .collect();
    match numbers.as_slice() {
        [] => String::new(),
        [one] => format!(": mode {one}"),
        [first @ .., last] => format!(": modes {} and {last}", first.join(", ")),
    }
}

/// The last recording: modes, other tones, doubts.
pub fn heard(view: &BenchView) -> Markup {
    let Some(heard) = &view.heard else { return html! {} };
    let blows = heard.blows.len();
    html! {
        section #heard {
            h2 { "Heard last" }
            p .small { (blows) " " (if blows == 1 { "blow" } else { "blows" }) }
            (warnings(heard))
            div .scroll { table {
                thead { tr {
                    th scope="col" { "mode" }
                    th scope="col" .figure { "frequency" }
                    th scope="col" .figure { "± cents" }
                    th scope="col" .figure { "rings" }
                    th scope="col" .figure { "sure" }
                } }
                tbody { @for mode in &heard.modes { (mode_row(mode)) } }
            } }
            @if !heard.other.is_empty() {
                details #other-tones {
                    summary { (heard.other.len()) " other " (if heard.other.len() == 1 { "tone" } else { "tones" }) }
                    ul { @for tone in &heard.other { (other(tone)) } }
                }
            }
        }
    }
}

fn warnings(heard: &Heard) -> Markup {
    html! {
        @if !heard.warnings.is_empty() {
            ul .doubts { @for warning in &heard.warnings {
                li { (marks::triangle()) " " (sentence(&warning.message)) " " (sentence(&warning.hint)) }
            } }
        }
    }
}

/// The words with a capital and a full stop.
fn sentence(words: &str) -> String {
    let words = words.trim();
    let mut letters = words.chars();
    let Some(first) = letters.next() else { return String::new() };
    let stop = if words.ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{}{}{stop}", first.to_uppercase(), letters.as_str())
}

fn mode_row(mode: &HeardMode) -> Markup {
    html! {
        tr {
            th scope="row" { (kind_name(mode.kind)) " " (mode.number) }
            td .figure { (units::hz(mode.hz)) " Hz" }
            td .figure { (sigma_words(mode.sigma_cents)) }
            td .figure { (format!("{:.2} s", mode.decay_s)) }
            td .figure { (units::percent(mode.sure)) }
        }
    }
}

/// An uncertainty in cents; below a tenth the figure would say more than a bar's temperature allows.
fn sigma_words(sigma_cents: f64) -> String {
    if sigma_cents < 0.1 { "< 0.1".to_owned() } else { format!("{sigma_cents:.1}") }
}

fn other(tone: &OtherTone) -> Markup {
    html! { li { (units::hz(tone.hz)) " Hz, " (format!("{:.0} dB", tone.level_db).replace('-', "−")) ": " (tone.maybe) } }
}
