//! What to do, why, and what is to be expected.
use super::marks;
use crate::page::drawings;
use crate::page::view::BenchView;
use crate::report::units::{self, Units};
use making::{Advice, Decision, ModeOutlook};
use maud::{Markup, html};
use paper::measure;

/// The one big instruction with its figures and its reasons.
pub fn say(view: &BenchView) -> Markup {
    let (mark, word) = sign(view.decision());
    html! {
        section #say .say tabindex="-1" {
            p .sign { (mark) " " (word) }
            @match &view.advice {
                Ok(advice) => {
                    (instruction(&advice.instruction))
                }
                Err(refused) => {
                    h1 .instruction { (refused.message) }
                    p .reasons { (refused.hint) }
                }
            }
        }
    }
}

/// The first sentence large, clause under clause; what follows at the next size.
fn instruction(words: &str) -> Markup {
    let (first, rest) = words.split_once(". ").map_or((words, ""), |(first, rest)| (first, rest));
    let stop = if first.len() == words.len() { "" } else { "." };
    let clauses: Vec<&str> = first.split_inclusive("; ").collect();
    // Longer than this, the large size would push the sentence off a tablet.
    let long = first.chars().count() > 70;
    html! {
        h1 .instruction .long[long] {
            @for (index, clause) in clauses.iter().enumerate() {
                span { (clause) @if index + 1 == clauses.len() { (stop) } }
            }
        }
        @if !rest.is_empty() { p .then { (rest) } }
    }
}

/// Mark and word of a decision.
fn sign(decision: Option<Decision>) -> (Markup, &'static str) {
    match decision {
        Some(Decision::Cut) => (marks::hatch(), "next cut"),
        Some(Decision::Finished) => (marks::double_tick(), "finished"),
        Some(Decision::Wait) => (marks::again(), "not yet"),
        Some(Decision::Rescue) => (marks::triangle(), "past the line"),
        None => (marks::triangle(), "no advice yet"),
    }
}

/// Why, with the figures of the cut.
pub fn reasons(view: &BenchView) -> Markup {
    let Ok(advice) = &view.advice else { return html! {} };
    html! {
        section {
            h2 { "Why" }
            (figures(advice))
            @if !advice.reasons.is_empty() {
                ul .reasons { @for reason in &advice.reasons { li { (reason) } } }
            }
            @if !advice.pause.is_empty() {
                h3 { "Before fine tuning, in this order" }
                ol .reasons { @for step in &advice.pause { li { (step) } } }
            }
            @if let Some(last) = advice.learnt.last() {
                h3 { "Learnt last" }
                ul .reasons { @for line in &last.lines { li { (line) } } }
            }
        }
    }
}

/// The modes against their aims, a line each: a ruled line from flat to sharp with the aim and the reading on it.
pub fn aims(view: &BenchView) -> Markup {
    let Ok(advice) = &view.advice else { return html! {} };
    if advice.outlook.is_empty() {
        return html! {};
    }
    let ratios = view.targets.as_ref().map_or(&[][..], |targets| targets.ratios.as_slice());
    let far = advice.outlook.iter().flat_map(|o| [o.now_cents, o.aim_cents, 0.0]);
    let (low, high) = far.fold((-10.0_f64, 10.0_f64), |(low, high), cents| (low.min(cents), high.max(cents)));
    // A little room at both ends for the marks.
    let room = 0.06 * (high - low);
    let at = |cents: f64| format!("{:.1}", 300.0 * (cents - low + room) / (high - low + 2.0 * room));
    html! {
        div .aims role="table" aria-label="Modes against their aims, in cents" {
            @for outlook in &advice.outlook {
                div .aim role="row" {
                    span role="rowheader" { "mode " (outlook.mode) " " (ratios.get(outlook.mode.wrapping_sub(1)).map_or_else(String::new, |r| units::ratio(*r))) }
                    strong .figure role="cell" { (units::cents_with_sigma(outlook.now_cents, outlook.now_sigma_cents)) }
                    svg viewBox="0 0 300 20" preserveAspectRatio="none" aria-hidden="true" {
                        path .pen-faint d="M0 10H300" {}
                        path .pen-cut d={ "M" (at(outlook.aim_cents)) " 10H" (at(outlook.now_cents)) } stroke-width="5" {}
                        path .pen-outline d={ "M" (at(0.0)) " 1V19" } stroke-width="2.5" {}
                        path .pen-node d={ "M" (at(outlook.aim_cents)) " 1V19" } stroke-width="2" stroke-dasharray="5 2 1 2" {}
                        path .pen-outline d={ "M" (at(outlook.now_cents)) " 4V16" } stroke-width="7" {}
                    }
                    span .figure role="cell" { "aim " (measure::cents(outlook.aim_cents)) }
                }
            }
        }
    }
}

/// Passes, stop reading and risk.
fn figures(advice: &Advice) -> Markup {
    if advice.decision != Decision::Cut {
        return html! {};
    }
    html! {
        ul .figures {
            @if let Some((low, high)) = advice.passes {
                li { strong { @if low == high { (low) } @else { (low) "–" (high) } } " " (if high == 1 { "pass" } else { "passes" }) }
            }
            @if let Some(stop) = &advice.stop_when {
                li { "stop when mode " (stop.mode) " reads " strong { (measure::cents(stop.cents)) } " (" (units::hz(stop.hz)) " Hz)" }
            }
            li { "chance that a mode ends flat: " strong { (units::percent(advice.risk_flat)) } }
        }
    }
}

/// The modes against their targets, drawn and as a table.
pub fn modes(view: &BenchView) -> Markup {
    let Ok(advice) = &view.advice else { return html! {} };
    if advice.outlook.is_empty() {
        return html! {};
    }
    html! {
        section {
            h2 { "Modes" }
            div .drawing-card { (drawings::modes(view)) }
            ul .key {
                li { "● now" }
                li { "○ expected after the cut" }
                li { "blue dash-dot line: aim" }
                li { "heavy line: target, hatched: flat of it" }
                li { "whiskers: twice the uncertainty to each side" }
            }
            div .scroll { table .stack {
                thead { tr {
                    th scope="col" { "mode" }
                    th scope="col" .figure { "target" }
                    th scope="col" .figure { "now" }
                    th scope="col" .figure { "aim" }
                    @if advice.decision == Decision::Cut {
                        th scope="col" .figure { "expected" }
                        th scope="col" .figure { "may end flat" }
                    }
                } }
                tbody { @for outlook in &advice.outlook { (mode_row(view, advice, outlook)) } }
            } }
        }
    }
}

fn mode_row(view: &BenchView, advice: &Advice, outlook: &ModeOutlook) -> Markup {
    html! {
        tr {
            th scope="row" { (mode_name(view, outlook.mode)) }
            td .figure data-label="target" { (units::hz(outlook.target_hz)) " Hz" }
            td .figure data-label="now" { (units::cents_with_sigma(outlook.now_cents, outlook.now_sigma_cents)) }
            td .figure data-label="aim" { (measure::cents(outlook.aim_cents)) }
            @if advice.decision == Decision::Cut {
                td .figure data-label="expected" { (units::cents_with_sigma(outlook.expected_cents, outlook.expected_sigma_cents)) }
                td .figure data-label="may end flat" { (short_percent(outlook.risk_flat)) }
            }
        }
    }
}

/// A chance for a narrow column.
fn short_percent(share: f64) -> String {
    units::percent(share).replace("less than ", "< ").replace("over ", "> ")
}

/// "mode 2 (first overtone, ×4)".
pub fn mode_name(view: &BenchView, mode: usize) -> String {
    let overtone = match mode {
        1 => Some("fundamental"),
        2 => Some("first overtone"),
        3 => Some("second overtone"),
        _ => None,
    };
    let ratio = view.targets.as_ref().and_then(|t| t.ratios.get(mode.wrapping_sub(1))).map(|r| units::ratio(*r));
    let more: Vec<String> = overtone.map(str::to_owned).into_iter().chain(ratio).collect();
    if more.is_empty() { format!("mode {mode}") } else { format!("mode {mode} ({})", more.join(", ")) }
}

/// Ways out, best first.
pub fn options(view: &BenchView) -> Markup {
    let options = view.advice.as_ref().map_or(&[][..], |a| a.options.as_slice());
    if options.is_empty() {
        return html! {};
    }
    html! {
        section {
            h2 { "Ways out, best first" }
            ol .options { @for option in options {
                li {
                    p { strong { (option.action) } }
                    p { (option.effect) }
                    @if !option.predicted_cents.is_empty() {
                        p .small { "Before any further cut the modes read "
                            (option.predicted_cents.iter().map(|c| measure::cents(*c)).collect::<Vec<_>>().join(", ")) " cents." }
                    }
                }
            } }
        }
    }
}

/// Cautions for this step; once folded away they stay folded until they change.
pub fn cautions(view: &BenchView) -> Markup {
    let cautions = view.advice.as_ref().map_or(&[][..], |a| a.cautions.as_slice());
    if cautions.is_empty() {
        return html! {};
    }
    html! {
        details #cautions .cautions open data-remember=(cautions.join(" ")) {
            summary { (marks::triangle()) " Before you cut" }
            ul { @for caution in cautions { li { (caution) } } }
        }
    }
}

/// Wood left, in words for tables.
pub fn depth(length_mm: f64) -> String {
    Units::Both.depth(length_mm)
}
