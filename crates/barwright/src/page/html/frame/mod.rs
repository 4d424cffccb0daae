//! An instrument's frame: the rails and what they do to every bar, then building, measuring, drilling.
mod bar;
mod chart;
mod drawing;
mod forms;
mod parts;

pub use bar::drill_page;

use super::layout::{self, Place};
use super::{help, marks};
use crate::framing::Framed;
use crate::page::html::set;
use crate::page::places::frame::{FrameView, Laid, Standing};
use crate::report::units::{Units, percent, plain, signed};
use crate::report::{self, frame::words_of_doubts};
use making::frame::{FittedBar, FramePlan};
use maud::{Markup, html};

/// The whole page.
pub fn frame_page(view: &FrameView, units: Units) -> Markup {
    let title = format!("Frame of {}", view.instrument.name);
    let standing = view.standing.as_ref().and_then(|standing| standing.as_ref().ok());
    let body = html! {
        main #main data-bench="" data-version="" data-still {
            (layout::head(&view.instrument.name, view.house.invented, "simulated bars"))
            h1 .unseen { (title) }
            (instruments(view))
            (settled(view))
            @match (&view.framed, &view.laid) {
                (Err(refused), _) => (cannot(refused)),
                (Ok(framed), Err(refused)) => { (cannot(refused)) (forms::plan(view, framed)) },
                (Ok(framed), Ok(laid)) => {
                    div #frame-live { (living(framed, laid, standing)) }
                    // Once the frame stands the holes are what is looked for.
                    @if standing.is_some() { (built(view, framed, laid, units)) }
                    (forms::rails(view, framed, laid))
                    (every_bar(&laid.plan))
                    (forms::plan(view, framed))
                    (parts::members(view, framed, laid, units))
                    @if standing.is_none() { (built(view, framed, laid, units)) }
                },
            }
            (undo(view))
            p #progress .progress role="status" aria-live="polite" {}
            (set::sheets(&view.instrument.id))
            (layout::foot(Place::Frame))
        }
        script type="module" src="/assets/frame.js" {}
    };
    layout::page(&title, &body)
}

/// The part that changes while rails are tried: the verdict, the drawing, what to look at.
pub fn frame_trial(framed: &Framed, laid: &Laid) -> Markup {
    living(framed, laid, None)
}

fn living(framed: &Framed, laid: &Laid, standing: Option<&Standing>) -> Markup {
    let verdict = report::frame::verdict(&laid.plan);
    let drilled = framed.rows.iter().filter(|row| row.drilled).count();
    html! {
        div .say {
            @match standing {
                Some(_) => p .instruction { "Drill by the chart: " (drilled) " of " (framed.rows.len()) " bars are drilled." },
                None => p .instruction { (verdict) },
            }
            p .then { (motion_line(laid)) }
        }
        div .drawing-card .scroll tabindex="0" role="region" aria-label="The frame from above" {
            (drawing::frame(laid, standing))
        }
        @let doubts = words_of_doubts(&laid.plan, &laid.members);
        @if !doubts.is_empty() {
            ul .doubts { @for (message, hint) in &doubts { li { (marks::triangle()) " " strong { (message) } " " (hint) } } }
        }
    }
}

/// What the rails cost, against those fitted where they are set by hand.
fn motion_line(laid: &Laid) -> String {
    let worst = laid.plan.rows.iter().flat_map(|row| &row.bars).filter(|bar| !bar.interpolated && !bar.misread);
    let worst = worst.max_by(|a, b| a.motion().total_cmp(&b.motion()));
    let mut words = worst.map_or_else(String::new, |bar| {
        format!(
            "Most at a cord: {}, {} mm off its node, {} of the centre's motion.",
            bar.bar.name,
            plain(bar.worst_middle_m() * 1e3, 1),
            percent(bar.motion())
        )
    });
    if !laid.fitted_motion.is_empty() {
        let rows = laid.plan.rows.iter().zip(&laid.fitted_motion);
        let each = rows.map(|(row, fitted)| {
            format!("{} {} (fitted {})", row.row.name(), percent(row.rms_motion()), percent(*fitted))
        });
        words.push_str(&format!(" Rails set by hand: {}.", each.collect::<Vec<_>>().join(", ")));
    }
    words
}

fn cannot(refused: &crate::error::Refused) -> Markup {
    html! {
        div .say {
            p .instruction { (crate::error::sentence(&refused.message)) }
            p .then { (crate::error::sentence(&refused.hint)) }
        }
        (help::fold("nodes-help", &help::NODES))
    }
}

fn instruments(view: &FrameView) -> Markup {
    if view.instruments.len() < 2 {
        return html! {};
    }
    html! {
        form .pick method="get" action="/frame" {
            label { span { "instrument" }
                select #instrument name="instrument" {
                    @for choice in &view.instruments {
                        option value=(choice.id) selected[choice.id == view.instrument.id] { (choice.name) }
                    }
                }
            }
            button .button type="submit" { "Show it" }
        }
    }
}

fn settled(view: &FrameView) -> Markup {
    html! {
        div #notice role="status" {
            @match &view.settled {
                None => {}
                Some(Ok(what)) => p .notice { (marks::double_tick()) " Entered: " (what) "." },
                Some(Err(why)) => div .notice .refused {
                    p { (marks::triangle()) " " strong { "Nothing was changed. " } (why.message) }
                    p { (why.hint) }
                },
            }
        }
    }
}

/// Every bar on its rails.
fn every_bar(plan: &FramePlan) -> Markup {
    let line = |bar: &FittedBar, unfair_m: f64| {
        let [player, far] = bar.misses_m().map(|[left, right]| signed(f64::midpoint(left, right) * 1e3, 1));
        html! {
            tr {
                th scope="row" { (bar.bar.name) @if bar.misread { " △ misread" } }
                td .figure data-label="player's rail" { @if bar.interpolated { "not read" } @else { (player) " mm" } }
                td .figure data-label="far rail" { @if bar.interpolated { "not read" } @else { (far) " mm" } }
                td .figure data-label="motion" { @if bar.interpolated { "–" } @else { (percent(bar.motion())) } }
                td .figure data-label="outer end off line" { (signed(unfair_m * 1e3, 1)) " mm" }
            }
        }
    };
    html! {
        details #every-bar {
            summary { "Every bar: how far the cords miss its nodes" }
            div .scroll { table .stack {
                thead { tr {
                    th scope="col" { "bar" }
                    th scope="col" .figure { "player's rail" }
                    th scope="col" .figure { "far rail" }
                    th scope="col" .figure { "motion" }
                    th scope="col" .figure { "outer end off line" }
                } }
                tbody {
                    @for row in &plan.rows {
                        @for (bar, unfair_m) in row.bars.iter().zip(row.unfair_m()) { (line(bar, unfair_m)) }
                    }
                }
            } }
            p .small { "Cord less node, in the middle of the bar; motion at the worst cord as a share of the centre's, as of an even bar." }
        }
    }
}

/// The frame as it stands, and the holes that follow from it.
fn built(view: &FrameView, framed: &Framed, laid: &Laid, units: Units) -> Markup {
    html! {
        section #built {
            h2 { "The frame as built" }
            @match &view.standing {
                None => p { "Build it, then measure where the cord lines of the rails really are, from the same datum: the bass side of the lowest natural, \
                             and its outer cord. Holes are drilled by these, never by the drawing." },
                Some(Err(refused)) => (cannot(refused)),
                Some(Ok(standing)) => p {
                    "Measured " (report::record::when(standing.since)) "."
                    @if let Some(moved) = standing.moved_mm { " The rails stand up to " strong { (plain(moved, 1)) " mm" } " off the plan." }
                },
            }
            (forms::built(view, framed, laid))
        }
        @if let Some(Ok(standing)) = &view.standing { (chart::chart(view, framed, standing, units)) }
    }
}

fn undo(view: &FrameView) -> Markup {
    let Some(words) = &view.undo else { return html! {} };
    html! {
        form .pick method="post" action="/frame/undo" {
            input type="hidden" name="instrument" value=(view.instrument.id);
            button .button type="submit" { (marks::back()) " Take back: " (words) }
        }
    }
}
