//! The bench of one bar: what it is, where to cut next, and what has been done.
use super::{actions, advice, heard, layout, record};
use crate::page::drawings;
use crate::page::state::Notice;
use crate::page::view::BenchView;
use maud::{Markup, html};

/// The whole page. `version` lets the script see that something changed; `passes` is the number chosen with − and +.
pub fn bench_page(view: &BenchView, notice: Option<&Notice>, version: u64, passes: Option<u32>) -> Markup {
    let body = html! {
        a .skip href="#say" { "To the instruction" }
        main #main data-version=(version) {
            (heading(view))
            (heard::notice(view, notice))
            section .drawing-card aria-label="The bar from the side" { (drawings::side(view)) }
            (advice::say(view))
            (actions::bar(view, passes))
            div .columns {
                div {
                    (advice::modes(view))
                    (advice::options(view))
                    (advice::cautions(view))
                }
                div {
                    (actions::strike())
                    (heard::heard(view))
                }
            }
            (record::nodes(view))
            (record::bouts(view))
            (record::belief(view))
        }
    };
    layout::page(&format!("{} on the bench", view.note), &body)
}

/// Note, stage and where the bar is kept.
fn heading(view: &BenchView) -> Markup {
    html! {
        header .strip {
            p .note { (view.note) }
            div .about {
                p .stage { (view.stage()) }
                @if let Some(name) = &view.file_name { p .small { (name) } }
            }
            @if view.invented {
                p .invented { "invented workshop: a simulated bar" }
            }
        }
    }
}
