//! The page of a bar's salt tests.
use super::layout::{self, Place};
use super::marks;
use crate::convert::salted::SaltedBar;
use crate::page::salt::SaltView;
use crate::page::state::Notice;
use crate::report;
use crate::report::units::{Units, plain};
use making::frame::BenchNodes;
use maud::{Markup, PreEscaped, html};

/// Room around the bar in the drawing, in millimetres of the bar.
const ROOM_MM: f64 = 14.0;

/// The whole page.
pub fn salt_page(view: &SaltView) -> Markup {
    let doubts = view.bar.doubts(&view.name);
    let body = html! {
        main #main data-bench="" data-version="" {
            (layout::head(&view.name, view.invented, "a simulated bar"))
            p .ways { a .button href={ "/bench/" (view.id) } { "To the bench" } }
            (notice(view.notice.as_ref()))
            @for doubt in &doubts {
                div .notice .refused role="alert" { p { (marks::triangle()) " " strong { (report::salt::capital(&doubt.message)) "." } } p { (report::salt::capital(&doubt.hint)) "." } }
            }
            section {
                h1 .section { "Salt test" }
                p { "Foam under the nodes, fine salt, tap softly at the centre until the salt gathers in two lines. Then touch each line \
                     at both edges on the bar, or type what the ruler says." }
                p .ways { a .button href={ "/salt/" (view.id) "/photo" } { "Read it off a photograph" } }
                (drawing(&view.bar))
                (form(view))
            }
            section {
                h2 { "Tests so far" }
                (tests(&view.bar))
            }
            (face(view))
            (layout::foot(Place::Other))
        }
        script type="module" src="/assets/salt.js" {}
    };
    layout::page(&format!("Salt: {}", view.name), &body)
}

/// The tests side by side, figures in millimetres from the left end.
fn tests(bar: &SaltedBar) -> Markup {
    if bar.tests.is_empty() {
        return html! { p { "None that counts yet." } };
    }
    html! {
        (table(&report::salt::HEAD, &report::salt::rows(bar)))
        p .small { "Millimetres from the left end, shown with face " (report::salt::face_word(bar.face)) " up." }
        @let moved = report::salt::moved_rows(bar);
        @if !moved.is_empty() {
            h3 #moved { "First and latest test side by side" }
            (table(&report::salt::moved_head(bar), &moved))
            p .small { "Millimetres; outwards is towards the line's own end. ± is one standard deviation, from the repeated tests." }
        }
        @for line in report::salt::agreement(bar, Units::Both) { p { (line) } }
    }
}

fn table<const N: usize>(head: &[impl AsRef<str>; N], rows: &[[String; N]]) -> Markup {
    html! {
        table .stack {
            thead { tr { @for (index, cell) in head.iter().enumerate() { th .figure[index > 0] scope="col" { (cell.as_ref()) } } } }
            tbody {
                @for row in rows {
                    tr {
                        @for (index, cell) in row.iter().enumerate() {
                            @if index == 0 { th scope="row" { (cell) } }
                            @else { td .figure .none[cell == "–"] data-label=(head[index].as_ref()) { (cell) } }
                        }
                    }
                }
            }
        }
    }
}

pub(super) fn notice(notice: Option<&Notice>) -> Markup {
    html! {
        div #notice role="status" {
            @match notice {
                Some(Notice::Entered(what)) => p .notice { (marks::double_tick()) " Entered: " (what) "." },
                Some(Notice::Refused { what, why }) => div .notice .refused {
                    p { (marks::triangle()) " " strong { (what) ". " } (why.message) }
                    @if !why.hint.is_empty() { p { (why.hint) } }
                },
                _ => {}
            }
        }
    }
}

/// The bar from above, to scale, the near edge below; touched at a line's edge it fills the field.
fn drawing(bar: &SaltedBar) -> Markup {
    let (length, width) = (bar.length_m * 1e3, bar.width_m * 1e3);
    let (all_x, all_y) = (length + 2.0 * ROOM_MM, width + 2.0 * ROOM_MM);
    let place = |x: f64, y: f64| (x + ROOM_MM, ROOM_MM + width - y);
    let line = |x: [f64; 2], class: &str, dashes: &str| {
        let ((x1, y1), (x2, y2)) = (place(x[0] * 1e3, 0.0), place(x[1] * 1e3, width));
        format!(r#"<line class="{class}" x1="{x1:.2}" y1="{y1:.2}" x2="{x2:.2}" y2="{y2:.2}"{dashes}/>"#)
    };
    let lines = |nodes: &BenchNodes, class: &str, dashes: &str| {
        [nodes.left_m, nodes.right_m].map(|x| line(x, class, dashes)).concat()
    };
    let model = bar.model.as_ref().map(|nodes| lines(nodes, "pen-node", r#" stroke-dasharray="5 3""#));
    let last = bar.tests.last().map(|salted| lines(&salted.test.nodes, "pen-outline", ""));
    let states = bar.means();
    let first = states
        .first()
        .filter(|_| states.len() > 1)
        .map(|(_, mean)| lines(&mean.nodes, "pen-outline", r#" stroke-dasharray="1 3""#));
    let (x0, y0) = (ROOM_MM, ROOM_MM);
    let below = ROOM_MM + width + 10.0;
    // All is drawn in millimetres of the bar, so that a touch tells them.
    let svg = format!(
        r#"<svg class="drawing salt-bar" data-salt data-length="{length:.2}" data-width="{width:.2}" data-room="{ROOM_MM}" viewBox="0 0 {all_x:.2} {all_y:.2}" role="img" aria-label="The bar from above, to scale, near edge below"><rect class="pen-outline" x="{x0}" y="{y0}" width="{length:.2}" height="{width:.2}"/>{}{}<g id="salt-marks"></g><text class="fill-text" font-size="8" x="{x0}" y="{below:.2}">left end, near edge</text><text class="fill-text" font-size="8" text-anchor="end" x="{:.2}" y="{below:.2}">right end</text><text class="fill-text" font-size="8" x="{x0}" y="10">far edge</text></svg>"#,
        model.unwrap_or_default() + &first.clone().unwrap_or_default(),
        last.unwrap_or_default(),
        x0 + length,
    );
    html! {
        figure .drawing-card {
            (PreEscaped(svg))
            figcaption .small { "Dashed: where the model expects the lines. Solid: the last test. "
                @if first.is_some() { "Dotted: the first tests, before the cuts. " } "Scale: "
                (plain(length, 0)) " × " (plain(width, 0)) " mm." }
        }
    }
}

fn form(view: &SaltView) -> Markup {
    let field = |side: &str, place: &str, words: &str, needed: bool| {
        let id = format!("salt-{side}-{place}");
        html! {
            label { span { (words) }
                input id=(id) name={ (side) "_" (place) } type="text" inputmode="decimal" autocomplete="off" required[needed]; }
        }
    };
    let line = |side: &str, from: &str| {
        html! {
            fieldset .salt-line {
                legend { "The " (side) " line" }
                label { span { "measured from the" } select id={ "salt-" (side) "-from" } name={ (side) "_from" } {
                    @for end in ["left", "right"] { option value=(end) selected[end == from] { (end) " end" } }
                } }
                (field(side, "near", "near edge", true))
                (field(side, "centre", "middle, if read", false))
                (field(side, "far", "far edge", true))
            }
        }
    };
    html! {
        form #salt .caliper method="post" action={ "/salt/" (view.id) } {
            fieldset { legend { "Face up" }
                div .places {
                    @for face in ["A", "B"] {
                        label { input type="radio" name="face" value=(face) checked[face == "A"]; span { (face) } }
                    }
                }
            }
            label { span { "figures are in" } select #salt-unit name="unit" { option value="mm" { "mm" } option value="in" { "inches" } } }
            (line("left", "left"))
            (line("right", "right"))
            button .button .main type="submit" { "Enter the test" }
        }
    }
}

/// Which face and end lie best, and the top to enter.
fn face(view: &SaltView) -> Markup {
    let Some((advice, from_bars)) = &view.advice else { return html! {} };
    html! {
        section {
            h2 { "The top face" }
            p .changed { strong { (report::salt::face_instruction(&view.bar, advice)) } }
            (table(&report::salt::CHOICE_HEAD, &report::salt::choice_rows(&view.bar, advice)))
            p .small { "* the best of those still open; \"/\" leans to the right towards the far end. " (report::salt::rails_words(*from_bars)) }
            @if !view.bar.decided {
                form #top .caliper method="post" action={ "/salt/" (view.id) "/top" } {
                    @if view.bar.works > 0 {
                        label { span { "why now, after wood was taken off" } input #top-why name="why" type="text" required; }
                    }
                    @for face in ["A", "B"] {
                        button .button type="submit" name="top" value=(face) { "Face " (face) " is the top" }
                    }
                }
            } @else {
                p { "Face " (report::salt::face_word(view.bar.face)) " is entered as the top." }
            }
        }
    }
}
