//! The bench of one bar: what it is, where to cut next, and what has been done.
use super::layout::{self, Place};
use super::{actions, advice, ear, heard, help, motion, queue, record};
use crate::page::drawings;
use crate::page::queue::QueueView;
use crate::page::state::Notice;
use crate::page::view::BenchView;
use crate::report::units;
use jiff::Timestamp;
use maud::{Markup, html};

/// What a page shows besides the bar itself.
#[derive(Debug)]
pub struct Shown<'a> {
    /// How the bar is addressed.
    pub name: &'a str,
    /// Lets the script see that something changed.
    pub version: u64,
    /// What came of the last thing done.
    pub notice: Option<Notice>,
    /// Passes chosen with − and + where there is no script.
    pub passes: Option<u32>,
    /// The other bars.
    pub queue: &'a QueueView,
    /// The present time.
    pub now: Timestamp,
}

impl Shown<'_> {
    /// Beginning of the addresses at which something can be done with this bar.
    pub fn base(&self) -> String {
        format!("/bench/{}", self.name)
    }
}

/// The whole page.
pub fn bench_page(view: &BenchView, shown: &Shown<'_>) -> Markup {
    let body = html! {
        a .skip href="#say" { "To the instruction" }
        main #main data-bench=(shown.name) data-version=(shown.version) {
            (queue::strip(shown.queue, shown.name))
            (heading(view, shown.now))
            (heard::notice(view, shown))
            section .drawing-card aria-label="The bar from the side" { (drawings::side(view)) }
            (advice::say(view))
            (advice::aims(view))
            (record::changed(view))
            (queue::next(shown.queue, shown.name))
            (actions::bar(view, shown))
            div .columns {
                div {
                    (advice::reasons(view))
                    (advice::modes(view))
                    (advice::options(view))
                    (advice::cautions(view))
                    (help::fold("help-cut", &help::CUT))
                }
                div {
                    (ear::choices(shown.queue))
                    (help::fold("help-microphone", &help::MICROPHONE))
                    (actions::strike(shown))
                    (help::fold("help-strike", &help::STRIKE))
                    (actions::caliper(view, shown))
                    (heard::heard(view))
                }
            }
            (record::nodes(view))
            (record::bouts(view))
            @if !shown.queue.bars.is_empty() {
                p .ways {
                    a .button href={ "/salt/" (shown.name) } { "Salt test and top face" }
                    " "
                    a .button href={ "/history/" (shown.name) } { "Whole history, with the sound" }
                }
            }
            (record::belief(view))
            (motion::motion(view))
            (help::fold("help-keys", &help::KEYS))
            @if shown.queue.bars.is_empty() { (layout::foot_of_one_bar()) } @else { (layout::foot(Place::Other)) }
        }
        (ear::flash())
    };
    layout::page(&format!("{} on the bench", view.note), &body)
}

/// Note, stage and where the bar is kept.
fn heading(view: &BenchView, now: Timestamp) -> Markup {
    html! {
        header .strip {
            p .note { (view.note) }
            div .about {
                p .stage {
                    @match &view.about {
                        Some(about) => { "bar " (about.label) ", " (about.stage.to_do()) ", " (view.aim()) }
                        None => (view.stage()),
                    }
                }
                @if let Some(name) = &view.file_name { p .small { (name) } }
                @if let Some(about) = &view.about {
                    @if let Some(instrument) = &about.instrument { p .small { (instrument) } }
                }
            }
            @if let Some(about) = &view.about { (reading(about, now)) }
            @if view.invented {
                p .invented { "invented workshop: a simulated bar" }
            }
        }
    }
}

/// Temperature and age of the reading; the script keeps the age true while the page stays open.
fn reading(about: &crate::bench::About, now: Timestamp) -> Markup {
    let Some(at) = about.heard_at else { return html! { p .reading { "not struck yet" } } };
    html! {
        p .reading {
            @if let Some(temperature_c) = about.heard_c { (units::plain(temperature_c, 1)) " °C, " }
            time datetime=(at) data-age { (age(now.duration_since(at).as_secs())) }
            @if !about.heard_after_work { br; "before the last cut" }
        }
    }
}

/// "3 min ago".
fn age(seconds: i64) -> String {
    match seconds {
        s if s < 60 => "just now".to_owned(),
        s if s < 5400 => format!("{} min ago", s / 60),
        s if s < 129_600 => format!("{} h ago", (s + 1800) / 3600),
        s => format!("{} days ago", (s + 43_200) / 86_400),
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
            pause: vec!["Drill it.".to_owned()],
            reasons: vec!["because a & b".to_owned()],
            learnt: vec![making::Learnt { entry: 2, kind: "heard", lines: vec!["E_L is 2 % higher.".to_owned()] }],
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
            undo: None,
            redo: None,
            about: None,
            targets: Some(Targets { ratios: vec![1.0, 4.0], headroom_cents: 0.0 }),
            advice: advice.map(Arc::new),
            modes: None,
            outline: OutlineMm { width_mm: 62.0, stations_mm: vec![(0.0, 23.0), (470.0, 23.0)] },
            least_mm: Some(6.0),
            heard: None,
            bouts: Vec::new(),
        }
    }

    fn page(view: &BenchView, notice: Option<Notice>) -> String {
        let queue = QueueView::default();
        let shown = Shown { name: "bar", version: 0, notice, passes: None, queue: &queue, now: Timestamp::UNIX_EPOCH };
        bench_page(view, &shown).into_string()
    }

    #[test]
    fn ages_are_rounded_as_people_say_them() {
        let ages = [(5, "just now"), (119, "1 min ago"), (7200, "2 h ago"), (200_000, "2 days ago")];
        for (seconds, words) in ages {
            assert_eq!(age(seconds), words);
        }
    }

    #[test]
    fn a_bar_past_the_line_shows_its_ways_out_and_offers_no_cut() {
        let html = page(&view(Ok(advice())), None);
        for words in [
            "past the line",
            "Ways out, best first",
            "Saw 2 mm off each end.",
            "+12, −4 cents",
            "Before you cut",
            "18.3 ± 0.5",
            "Before fine tuning, in this order",
            "Drill it.",
            "E_L is 2 % higher.",
        ] {
            assert!(html.contains(words), "{words}");
        }
        // The words themselves stand in the manual's help.
        assert!(!html.contains("id=\"i-cut-it\"") && !html.contains("/cut\""), "nothing to cut");
        assert!(html.contains("disabled"), "nothing to take back");
    }

    #[test]
    fn what_comes_from_files_is_escaped() {
        let html = page(&view(Ok(advice())), None);
        for (raw, escaped) in
            [("<odd>", "&lt;odd&gt;"), ("<30", "&lt;30"), ("a & b", "a &amp; b"), ("<hands>", "&lt;hands&gt;")]
        {
            assert!(!html.contains(raw) && html.contains(escaped), "{raw}");
        }
    }

    #[test]
    fn a_bar_without_advice_is_still_drawn_and_says_what_to_do() {
        let refused = Refused::new("no_note", "the bar file names no note", "add a note");
        let html =
            page(&view(Err(refused.clone())), Some(Notice::Refused { what: "The cut was not entered", why: refused }));
        for words in
            ["no advice yet", "The bar file names no note.", "Add a note.", "The cut was not entered", "heights × 3"]
        {
            assert!(html.contains(words), "{words}");
        }
    }

    #[test]
    fn two_drawings_of_one_thing_have_ids_of_their_own() {
        let html = page(&view(Ok(advice())), None);
        let mut ids: Vec<&str> = html.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
        let all = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), all, "{ids:?}");
    }
}
