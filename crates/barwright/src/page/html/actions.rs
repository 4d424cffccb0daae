//! What the maker can do: strike, say that the cut was made, take back.
use super::marks;
use crate::page::view::BenchView;
use making::Decision;
use maud::{Markup, html};

/// The bar along the bottom: the one main action, and undo beside it.
pub fn bar(view: &BenchView, passes: Option<u32>) -> Markup {
    let cutting = view.decision() == Some(Decision::Cut);
    html! {
        div .actions .cutting[cutting] aria-label="Actions" role="group" {
            @if cutting {
                (cut(view, passes.unwrap_or_else(|| view.usual_passes())))
            } @else {
                a .button .main href="#strike" { "Strike the bar" }
            }
            form .undo method="post" action="/undo" {
                button .button type="submit" disabled[!view.can_undo] { (marks::back()) span { "Undo" } }
            }
        }
    }
}

/// "I cut it" with the number of passes. − and + are links, so that they work without a script.
fn cut(view: &BenchView, passes: u32) -> Markup {
    let fewer = passes.saturating_sub(1).max(1);
    let more = passes.saturating_add(1);
    html! {
        form #cut .cut method="post" action="/cut" {
            input type="hidden" name="revision" value=(view.revision);
            button .button .main type="submit" { "I cut it" }
            span .passes {
                a .button .step href={ "/?passes=" (fewer) "#cut" } role="button" data-step="-1" aria-label="one pass fewer" { "−" }
                label .count {
                    input #passes type="number" name="passes" min="1" max="200" inputmode="numeric" value=(passes);
                    span { "passes" }
                }
                a .button .step href={ "/?passes=" (more) "#cut" } role="button" data-step="1" aria-label="one pass more" { "+" }
            }
        }
    }
}

/// Where a recording is dropped or chosen.
pub fn strike() -> Markup {
    let places = [("", "not said"), ("centre", "centre"), ("quarter", "quarter"), ("end", "end"), ("corner", "corner")];
    html! {
        section {
            h2 { "Strike the bar" }
            form #strike .strike method="post" action="/take" enctype="multipart/form-data" {
                label .drop for="take" {
                    span .big { "Drop a recording here, or choose one" }
                    span .small { "WAV, FLAC, M4A, MP3 or Ogg: one take with one or more blows, at most 64 MiB" }
                    input #take type="file" name="take" accept=".wav,audio/wav,audio/x-wav" required;
                }
                fieldset {
                    legend { "Where was it struck?" }
                    div .places { @for (value, words) in places {
                        label { input type="radio" name="struck" value=(value) checked[value.is_empty()]; span { (words) } }
                    } }
                }
                button .button .main type="submit" { "Listen to it" }
                p #progress .progress role="status" aria-live="polite" {}
            }
        }
    }
}
