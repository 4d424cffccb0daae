//! The page of an instrument's plan.
use super::layout::{self, Place};
use super::marks;
use crate::error::sentence;
use crate::page::drawings;
use crate::page::places::plan::{PlanView, Planned};
use crate::report;
use crate::report::units::{Units, plain};
use making::schedule::{BOARD_FOOT_M3, PlannedBar};
use maud::{Markup, html};
use paper::sheets::frame_view;

/// The whole page.
pub fn plan_page(view: &PlanView) -> Markup {
    let body = html! {
        main #main data-bench="" data-version="" data-still {
            (layout::head("Plan an instrument", false, ""))
            @match &view.made {
                Some(Ok(planned)) => (answer(planned)),
                Some(Err(why)) => div #notice .notice .refused role="alert" {
                    p { (marks::triangle()) " " strong { "No plan. " } (why.message) }
                    @if !why.hint.is_empty() { p { (why.hint) } }
                },
                None => {}
            }
            (form(view))
            (layout::foot(Place::Other))
        }
    };
    layout::page("Plan an instrument", &body)
}

fn form(view: &PlanView) -> Markup {
    html! {
        section #specification {
            @if matches!(view.made, Some(Ok(_))) { h2 { "What the instrument shall be" } } @else { h1 .section { "What the instrument shall be" } }
            form #plan method="post" action="/plan" data-words="Planning every bar…" {
                label .unseen for="spec" { "The specification: the first five lines are enough; what stands after # is taken as it is unless the # is removed" }
                textarea #spec name="spec" rows="18" spellcheck="false" { (view.text) }
                p #progress .progress role="status" aria-live="polite" {}
                p .plan-ways {
                    button .button .main type="submit" name="to_do" value="plan" { "Plan it" }
                    button .button type="submit" name="to_do" value="better" { "Look for better sizes" }
                }
                p .small { "Better sizes take a quarter of a minute for sixty bars. Nothing is kept: copy the text into a file, e.g. plan.toml, and the command line takes it: "
                    code { "barwright plan plan.toml" } ", " code { "cutlist" } ", " code { "assign" } ", " code { "calendar" } "." }
            }
        }
    }
}

fn answer(planned: &Planned) -> Markup {
    let plan = &planned.plan;
    let thinnest = plan.bars.iter().filter_map(|bar| Some((bar, bar.made.as_ref().ok()?.arch.underside.thinnest().1)));
    let thinnest = thinnest.min_by(|a, b| a.1.total_cmp(&b.1));
    let beyond: usize = plan.rows.iter().map(|row| row.beyond_tolerance(plan).len()).sum();
    let unmade = plan.bars.iter().filter(|bar| bar.made.is_err()).count();
    html! {
        section #answer {
            h1 .instruction .long {
                @if plan.is_possible() { (marks::double_tick()) " Every bar can be made" }
                @else if unmade > 0 { (marks::triangle()) " " (unmade) " of " (plan.bars.len()) " bars cannot be made" }
                @else { (marks::triangle()) " It does not fit" }
            }
            ul .figures {
                @for row in &plan.rows { li { strong { (Units::Both.place(row.overall_m * 1e3)) } " of " (row.row.name()) } }
                @if let Some((bar, m)) = thinnest { li { "thinnest " strong { (Units::Both.depth(m * 1e3)) } " in " (bar.wanted.name) } }
                li { strong { (beyond) } " nodes too far from straight rails" }
                li { strong { (plain(plan.mass_kg, 1)) " kg" } " of bars" }
                li { strong { (plain(plan.wood_net_m3 / BOARD_FOOT_M3, 1)) " board feet" } " (" (plain(plan.wood_net_m3, 4)) " m³) planed; 1.8 to 2.5 times as much is bought (from memory)" }
            }
            @for words in plan.impossible.iter() { div .notice .refused { p { (marks::triangle()) " " (sentence(words)) } } }
            @if !planned.traded.is_empty() {
                h2 { "Better sizes, and what they cost" }
                ul { @for words in &planned.traded { li { (sentence(words)) } } }
                p .small { "The sizes stand bar by bar in the text below." }
            }
            @match &plan.frame {
                Ok(frame) => figure .drawing-card {
                    (drawings::both("rails", |sheet| frame_view(&report::frame::view(frame, None, "Predicted rails under the planned bars", sheet))))
                    figcaption .small { "Predicted rails under the planned bars: lines in the bars are the nodes of mode 1 by the full solid." }
                },
                Err(error) => p { "No rails: " (error) },
            }
            @if !plan.warnings.is_empty() {
                details #warnings { summary { (plan.warnings.len()) " things to look at" } ul { @for words in &plan.warnings { li { (sentence(words)) } } } }
            }
            h2 { "Every bar" }
            (bars(planned))
            p .small { "By the full solid, straight-grained wood of the table's mean, no headroom: your blanks differ, and each gets its own arch. Check the trade rules for this species before buying." }
        }
    }
}

fn bars(planned: &Planned) -> Markup {
    const HEAD: [&str; 8] = ["bar", "Hz", "length", "width", "thickness", "tuned", "centre", "node from the end"];
    html! {
        table .stack {
            thead { tr { @for (index, cell) in HEAD.iter().enumerate() { th .figure[index > 0] scope="col" { (cell) } } } }
            tbody { @for bar in &planned.plan.bars { (bar_row(bar, &HEAD)) } }
        }
    }
}

fn bar_row(bar: &PlannedBar, head: &[&str; 8]) -> Markup {
    let (wanted, made) = (&bar.wanted, bar.made.as_ref().ok());
    let middle = |[left, right]: [f64; 2]| f64::midpoint(left, right);
    let cells = [
        plain(wanted.hz, 2),
        Units::Both.place(wanted.length_m * 1e3),
        Units::Both.place(wanted.width_m * 1e3),
        Units::Both.place(wanted.thickness_m * 1e3),
        wanted.ratios.iter().map(|ratio| plain(*ratio, 2)).collect::<Vec<_>>().join(":"),
        made.map_or_else(|| "cannot be made".to_owned(), |made| Units::Both.depth(made.arch.centre_m * 1e3)),
        made.map_or_else(|| "–".to_owned(), |made| Units::Both.place(middle(made.nodes.player_m) * 1e3)),
    ];
    html! {
        tr {
            th scope="row" { (wanted.name) }
            @for (cell, label) in cells.iter().zip(&head[1..]) { td .figure .none[cell == "–"] data-label=(label) { (both_units(cell)) } }
        }
    }
}

/// Millimetres and inches, each whole where the line breaks.
fn both_units(cell: &str) -> Markup {
    match cell.split_once(" (") {
        Some((mm, inches)) => html! { span { (mm) } " " span { "(" (inches) } },
        None => html! { (cell) },
    }
}
