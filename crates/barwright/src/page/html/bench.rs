//! The bench of one bar: what it is, where to cut next, and what has been done.
use super::{actions, advice, heard, layout, motion, record};
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
            (motion::motion(view))
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Refused;
    use crate::page::view::OutlineMm;
    use bar_physics::{Underside, Wood};
    use making::{Advice, BeliefSummary, Decision, Estimate, ModeOutlook, RescueOption, Targets};
    use std::sync::Arc;

    /// A bar past saving by sanding; every text of it carries something that must be escaped.
    fn advice() -> Advice {
        let outlook = |mode| ModeOutlook {
            mode,
            target_hz: 131.0,
            now_cents: -30.0,
            now_sigma_cents: 1.0,
            aim_cents: 0.0,
            expected_cents: -30.0,
            expected_sigma_cents: 1.0,
            risk_flat: 0.0,
        };
        Advice {
            decision: Decision::Rescue,
            instruction: "Mode 3 is <30 cents flat. Choose a way out.".to_owned(),
            stage: making::Stage::Fine,
            pause: Vec::new(),
            reasons: vec!["because a & b".to_owned()],
            learnt: Vec::new(),
            bands: Vec::new(),
            passes: None,
            outlook: vec![outlook(1), outlook(2)],
            risk_flat: 0.0,
            stop_when: None,
            belief: BeliefSummary {
                estimates: vec![Estimate { name: "E_L", value: 18.26, sigma: 0.5, unit: "GPa" }],
                wood: Wood::generic_hardwood(950.0, 18e9),
                length_m: 0.47,
                underside: Underside::flat(0.47, 0.023).unwrap(),
                thickness_sigma_m: vec![1e-4; 2],
            },
            options: vec![RescueOption {
                code: "trim_ends",
                action: "Saw 2 mm off each end.".to_owned(),
                effect: "Nodes move.".to_owned(),
                amount_m: Some(2.0e-3),
                predicted_cents: vec![12.0, -4.0],
            }],
            cautions: vec!["Keep <hands> off.".to_owned()],
        }
    }

    fn view(advice: Result<Advice, Refused>) -> BenchView {
        BenchView {
            note: "C♯3".to_owned(),
            file_name: Some("<odd>.bar.json".to_owned()),
            invented: false,
            revision: 0,
            can_undo: false,
            targets: Some(Targets { ratios: vec![1.0, 4.0], headroom_cents: 0.0 }),
            advice: advice.map(Arc::new),
            modes: None,
            outline: OutlineMm { width_mm: 62.0, stations_mm: vec![(0.0, 23.0), (470.0, 23.0)] },
            least_mm: Some(6.0),
            heard: None,
            bouts: Vec::new(),
        }
    }

    #[test]
    fn a_bar_past_the_line_shows_its_ways_out_and_offers_no_cut() {
        let html = bench_page(&view(Ok(advice())), None, 0, None).into_string();
        for words in [
            "past the line",
            "Ways out, best first",
            "Saw 2 mm off each end.",
            "+12, −4 cents",
            "Before you cut",
            "18.3 ± 0.5",
        ] {
            assert!(html.contains(words), "{words}");
        }
        assert!(!html.contains("I cut it") && html.contains("disabled"), "nothing to cut, nothing to take back");
    }

    #[test]
    fn what_comes_from_files_is_escaped() {
        let html = bench_page(&view(Ok(advice())), None, 0, None).into_string();
        for (raw, escaped) in
            [("<odd>", "&lt;odd&gt;"), ("<30", "&lt;30"), ("a & b", "a &amp; b"), ("<hands>", "&lt;hands&gt;")]
        {
            assert!(!html.contains(raw) && html.contains(escaped), "{raw}");
        }
    }

    #[test]
    fn a_bar_without_advice_is_still_drawn_and_says_what_to_do() {
        let refused = Refused::new("no_note", "the bar file names no note", "add a note");
        let html = bench_page(
            &view(Err(refused.clone())),
            Some(&Notice::Refused { what: "The cut was not entered", why: refused }),
            0,
            None,
        )
        .into_string();
        for words in
            ["no advice yet", "The bar file names no note.", "Add a note.", "The cut was not entered", "heights × 3"]
        {
            assert!(html.contains(words), "{words}");
        }
    }

    #[test]
    fn two_drawings_of_one_thing_have_ids_of_their_own() {
        let html = bench_page(&view(Ok(advice())), None, 0, None).into_string();
        let mut ids: Vec<&str> = html.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
        let all = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), all, "{ids:?}");
    }
}
