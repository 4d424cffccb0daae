//! What the maker can do: strike, say that the cut was made, take back.
use super::bench::Shown;
use super::{ear, marks};
use crate::page::view::BenchView;
use crate::report::units;
use making::Decision;
use maud::{Markup, html};

/// Places to strike, as forms name them and as people do.
pub const PLACES: [(&str, &str); 5] =
    [("", "not said"), ("centre", "centre"), ("quarter", "quarter"), ("end", "end"), ("corner", "corner")];

/// The bar along the bottom: what the microphone hears, the one main action, and undo beside it.
pub fn bar(view: &BenchView, shown: &Shown<'_>) -> Markup {
    let cutting = view.decision() == Some(Decision::Cut);
    let back = view.undo.as_ref().map(|what| format!("Take back: {what}"));
    html! {
        div .actions .cutting[cutting] aria-label="Actions" role="group" {
            (ear::ear())
            @if cutting {
                (cut(view, shown))
            } @else {
                a .button .main href="#strike" role="button" data-arm data-main {
                    span .when-off { "Arm the microphone" } span .when-on { "Strike the bar" }
                }
            }
            form .undo method="post" action={ (shown.base()) "/undo" } {
                button .button type="submit" title=[back.as_deref()] disabled[back.is_none()] { (marks::back()) span { "Undo" } }
            }
            button #ear-arm .button .mic .when-needed[!cutting] type="button" data-arm { (marks::mallet()) span #ear-arm-word { "Arm" } }
        }
    }
}

/// Brings back what was taken back last; nothing if there is nothing.
pub fn redo(view: &BenchView, shown: &Shown<'_>) -> Markup {
    let Some(what) = &view.redo else { return html! {} };
    html! {
        form .redo method="post" action={ (shown.base()) "/redo" } {
            button .button type="submit" title={ "Bring back: " (what) } { (marks::forth()) span { "Bring it back" } }
        }
    }
}

/// "I cut it" with the number of passes. − and + are links, so that they work without a script.
fn cut(view: &BenchView, shown: &Shown<'_>) -> Markup {
    let passes = shown.passes.unwrap_or_else(|| view.usual_passes());
    let fewer = passes.saturating_sub(1).max(1);
    let more = passes.saturating_add(1);
    let at = shown.base();
    html! {
        form #cut .cut method="post" action={ (at) "/cut" } {
            input type="hidden" name="revision" value=(view.revision);
            button #i-cut-it .button .main type="submit" data-main { "I cut it" }
            span .passes {
                a .button .step href={ (at) "?passes=" (fewer) "#cut" } role="button" data-step="-1" aria-label="one pass fewer" { "−" }
                label .count {
                    input #passes type="number" name="passes" min="1" max="200" inputmode="numeric" value=(passes);
                    span { "passes" }
                }
                a .button .step href={ (at) "?passes=" (more) "#cut" } role="button" data-step="1" aria-label="one pass more" { "+" }
            }
        }
    }
}

/// Thickness measured with the caliper, in the unit the caliper shows.
pub fn caliper(view: &BenchView, shown: &Shown<'_>) -> Markup {
    let middle_mm = units::plain(0.5 * view.outline.length_mm(), 1);
    html! {
        details #caliper-fold {
            summary { "Caliper: enter a thickness" }
            form #caliper .caliper method="post" action={ (shown.base()) "/caliper" } {
                label { span { "from the left end" } input #caliper-at type="text" name="at" inputmode="decimal" autocomplete="off" required value=(middle_mm) data-pad; }
                label { span { "thickness from the top face" } input #caliper-thickness type="text" name="thickness" inputmode="decimal" autocomplete="off" required data-pad; }
                fieldset .places {
                    legend { "bare figures are" }
                    label { input type="radio" name="unit" value="mm" checked; span { "mm" } }
                    label { input type="radio" name="unit" value="in"; span { "in" } }
                }
                div .pad role="group" aria-label="Number pad" {
                    @for key in ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"] {
                        button .button type="button" data-key=(key) aria-label=[(key == "⌫").then_some("delete")] { (key) }
                    }
                }
                button .button type="submit" { "Enter it" }
            }
        }
    }
}

/// Where a recording is dropped or chosen.
pub fn strike(shown: &Shown<'_>) -> Markup {
    html! {
        section {
            h2 { "Or bring a recording" }
            form #strike .strike method="post" action={ (shown.base()) "/take" } enctype="multipart/form-data" {
                label .drop for="take" {
                    span .big { "Drop a recording here, or choose one" }
                    span .small { "WAV, FLAC, M4A, MP3 or Ogg: one take with one or more blows, at most 64 MiB" }
                    input #take type="file" name="take" accept=".wav,audio/wav,audio/x-wav" required;
                }
                fieldset {
                    legend { "Where was it struck?" }
                    div .places { @for (value, words) in PLACES {
                        label { input type="radio" name="struck" value=(value) checked[value.is_empty()]; span { (words) } }
                    } }
                }
                button .button .main type="submit" { "Listen to it" }
                p #progress .progress role="status" aria-live="polite" {}
            }
        }
    }
}
