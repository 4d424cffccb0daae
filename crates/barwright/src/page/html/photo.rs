//! The pages of a salt test from a photograph: sending it, marking it, and what it says before that is entered.
use super::layout::{self, Place};
use super::marks;
use super::salt::notice;
use crate::page::photo::{PhotoView, ReadOff};
use crate::page::state::Notice;
use crate::photo::PhotographedBar;
use crate::report;
use crate::report::units::{Units, plain};
use maud::{Markup, PreEscaped, html};
use records::workshop::NodeLine;

/// Marks that belong together.
struct Group {
    /// Where the script keeps them.
    key: &'static str,
    words: &'static str,
    /// The button's words, and what to touch.
    places: &'static [(&'static str, &'static str)],
}

/// What is marked, in order.
const MARKS: [Group; 4] = [
    Group {
        key: "corners",
        words: "Corners of the top face",
        places: &[
            ("left near", "Touch the left near corner of the bar"),
            ("right near", "Touch the right near corner of the bar"),
            ("right far", "Touch the right far corner of the bar"),
            ("left far", "Touch the left far corner of the bar"),
        ],
    },
    Group {
        key: "left",
        words: "The left line of salt",
        places: &[
            ("near edge", "Touch the left line of salt at the near edge"),
            ("middle", "Touch the left line of salt in the middle (or skip it)"),
            ("far edge", "Touch the left line of salt at the far edge"),
        ],
    },
    Group {
        key: "right",
        words: "The right line of salt",
        places: &[
            ("near edge", "Touch the right line of salt at the near edge"),
            ("middle", "Touch the right line of salt in the middle (or skip it)"),
            ("far edge", "Touch the right line of salt at the far edge"),
        ],
    },
    Group {
        key: "ticks",
        words: "Ticks of the ruler",
        places: &[
            ("tick 1", "Touch a tick of the ruler near the left end, and write what it says"),
            ("tick 2", "Touch a tick of the ruler near the middle, and write what it says"),
            ("tick 3", "Touch a tick of the ruler near the right end, and write what it says"),
        ],
    },
];

/// Where a photograph is sent from.
pub fn send_page(id: &str, bar: &PhotographedBar, invented: bool, last: Option<&Notice>) -> Markup {
    let body = html! {
        main #main data-bench="" data-version="" {
            (layout::head(&bar.name, invented, "a simulated bar"))
            p .ways { a .button href={ "/salt/" (id) } { "To the salt tests" } }
            (notice(last))
            section {
                h1 .section { "Salt test from a photograph" }
                ol {
                    li { "Salt the bar until the two lines stand." }
                    li { "Lay a ruler along the bar, close to its near edge: best as high as its top face." }
                    li { "Photograph from straight above, the bar as large as the picture allows. The near edge is the one towards you." }
                }
                form #send .strike method="post" action={ "/salt/" (id) "/photo" } enctype="multipart/form-data" {
                    label .drop {
                        span .big { "Take or choose the photograph" }
                        span .small { "JPEG or PNG; 12 million pixels are plenty. It is kept as it comes." }
                        input #photo name="photo" type="file" accept="image/jpeg,image/png" required;
                    }
                    button .button .main type="submit" { "Keep it and mark it" }
                }
                p .small { "It stays on this computer, with the record." }
            }
            (layout::foot(Place::Other))
        }
    };
    layout::page(&format!("Photograph of {}", bar.name), &body)
}

/// The photograph with its marks, and what they say.
pub fn photo_page(view: &PhotoView) -> Markup {
    let title = format!("Photograph of {}", view.bar.name);
    let body = html! {
        main #main {
            (layout::head(&view.bar.name, view.invented, "a simulated bar"))
            form #marks-form method="post" action={ "/salt/" (view.id) "/photo/" (view.file.name()) } {
                @match &view.read {
                    Some(Ok(read)) => (read_off(view, read)),
                    Some(Err(why)) => div .notice .refused role="alert" {
                        p { (marks::triangle()) " " strong { "Not read yet. " } (why.message) }
                        @if !why.hint.is_empty() { p { (why.hint) } }
                    },
                    None => {}
                }
                (marking(view))
            }
            p .ways {
                a .button href={ "/salt/" (view.id) } { "To the salt tests" }
                " " a .button href={ "/salt/" (view.id) "/photo" } { "Another photograph" }
            }
            (layout::foot(Place::Other))
        }
    };
    layout::bare(&title, "/assets/photo.js", &body)
}

/// The lines as they were read, the bar laid straight with them on it, and the button that enters them.
fn read_off(view: &PhotoView, read: &ReadOff) -> Markup {
    let query = form_urlencode(&read.marks);
    let row = |words: &str, line: &NodeLine| {
        html! {
            tr {
                th scope="row" { (words) }
                @for (label, mm) in [("near edge", Some(line.near_mm)), ("middle", line.centre_mm), ("far edge", Some(line.far_mm))] {
                    td .figure data-label=(label) { @if let Some(mm) = mm { (Units::Both.place(mm)) } @else { "–" } }
                }
            }
        }
    };
    html! {
        section #read {
            h1 .section { "What the photograph says" }
            table .stack {
                thead { tr { th scope="col" { "from the left end" } th .figure scope="col" { "near edge" } th .figure scope="col" { "middle" } th .figure scope="col" { "far edge" } } }
                tbody { (row("left line", &read.salt.left)) (row("right line", &read.salt.right)) }
            }
            p .changed { "± " (plain(read.reading.sigma_m * 1e3, 1)) " mm (one standard deviation), face "
                (report::salt::face_word(read.salt.face_up)) " up." }
            @for doubt in &read.doubts {
                div .notice .refused role="alert" { p { (marks::triangle()) " " strong { (report::salt::capital(&doubt.message)) "." } } p { (report::salt::capital(&doubt.hint)) "." } }
            }
            figure .drawing-card {
                img .strip-picture src={ "/salt/" (view.id) "/strip/" (view.file.name()) "?marks=" (query) }
                    alt="The bar cut out of the photograph and laid straight, near edge below, with the lines as they were read";
                figcaption .small { "Laid straight, near edge below; a tick a centimetre. Do the dashes lie on the salt, and is all of the bar there, and nothing else?" }
            }
            p .actions { button .button .main type="submit" name="to_do" value="enter" { "Enter the test" } }
        }
    }
}

/// A value of a query: everything but letters and figures as bytes in hexadecimal (RFC 3986, 2.1).
fn form_urlencode(text: &str) -> String {
    text.bytes()
        .map(|byte| if byte.is_ascii_alphanumeric() { char::from(byte).to_string() } else { format!("%{byte:02X}") })
        .collect()
}

fn marking(view: &PhotoView) -> Markup {
    let again = matches!(view.read, Some(Ok(_)));
    html! {
        section #marking data-width=(view.size.width_px) data-height=(view.size.height_px) {
            @if again { h2 { "The marks" } } @else { h1 .section { "Mark the photograph" } }
            noscript { p .notice .refused { "Marking needs the browser's script. Without it, measure by ruler, or mark in a program that shows pixels and use the command line: barwright bar LABEL salt --photo." } }
            p #now .instruction .long aria-live="polite" { "Touch the left near corner of the bar" }
            div .marking {
                (PreEscaped(picture(view)))
                div .loupe-side {
                    (PreEscaped(loupe(view)))
                    (readings(view))
                    (pad())
                }
            }
            p .mark-ways {
                button #mark-back .button type="button" { "Back" }
                button #mark-away .button type="button" { "Take away" }
                button #mark-next .button .main type="button" { "Next mark" }
            }
            @for group in MARKS {
                fieldset .chips {
                    legend { (group.words) }
                    @for (index, (name, touch)) in group.places.iter().enumerate() {
                        button .chip type="button" data-mark={ (group.key) "." (index) } data-touch=(touch) aria-pressed="false" { span .chip-state aria-hidden="true" { "○" } " " (name) }
                    }
                }
            }
            (about(view))
            @if !again { p .small { "Three ticks make the lines sure to half a millimetre; without a ruler a slender bar tells its own perspective to 2 mm only." } }
            p { button #read-lines .button .main type="submit" name="to_do" value="read" { "Read the lines" } }
        }
    }
}

/// Moves a mark by a pixel of the picture.
fn pad() -> Markup {
    let button = |dx: i8, dy: i8, mark: &str, words: &str| {
        html! { button .button type="button" data-dx=(dx) data-dy=(dy) aria-label=(words) { (mark) } }
    };
    html! {
        div .pad role="group" aria-label="Move the mark by a pixel" {
            span {} (button(0, -1, "↑", "up")) span {}
            (button(-1, 0, "←", "left")) span {} (button(1, 0, "→", "right"))
            span {} (button(0, 1, "↓", "down")) span {}
        }
    }
}

/// What the ruler says at each tick; the script shows the one that is being marked.
fn readings(view: &PhotoView) -> Markup {
    let sent = &view.sent;
    html! {
        @for (number, value) in [(1, &sent.tick_1), (2, &sent.tick_2), (3, &sent.tick_3)] {
            label .caliper .tick-field data-tick={ "ticks." (number - 1) } { span { "tick " (number) " of the ruler says" }
                input id={ "tick-" (number) } name={ "tick_" (number) } value=(value) type="text" inputmode="decimal" autocomplete="off"; }
        }
    }
}

/// Unit and face; and the marks, which the script writes.
fn about(view: &PhotoView) -> Markup {
    let sent = &view.sent;
    html! {
        div .caliper {
            label { span { "the ruler is in" } select name="unit" {
                @for (value, words) in [("mm", "mm"), ("in", "inches")] { option value=(value) selected[sent.unit == value] { (words) } }
            } }
            fieldset { legend { "Face up" }
                div .places {
                    @for face in ["A", "B"] {
                        label { input type="radio" name="face" value=(face) checked[if sent.face.is_empty() { face == "A" } else { face == sent.face }]; span { (face) } }
                    }
                }
            }
            input #marks type="hidden" name="marks" value=(sent.marks);
        }
    }
}

/// In pixels of the picture, so that a touch tells them.
fn picture(view: &PhotoView) -> String {
    let (width, height) = (view.size.width_px, view.size.height_px);
    format!(
        r#"<svg id="picture" class="photo" tabindex="0" role="application" aria-label="The photograph: touch it, or move the mark with the arrow keys" viewBox="0 0 {width} {height}"><image href="/photos/{}" width="{width}" height="{height}"/><g id="photo-marks"></g></svg>"#,
        view.file.name()
    )
}

fn loupe(view: &PhotoView) -> String {
    let (width, height) = (view.size.width_px, view.size.height_px);
    format!(
        r#"<svg id="loupe" class="photo" tabindex="0" role="application" aria-label="The surroundings of the mark, enlarged: touch to move it, or use the arrow keys" viewBox="0 0 100 100"><image href="/photos/{}" width="{width}" height="{height}"/><g id="loupe-cross"></g></svg>"#,
        view.file.name()
    )
}
