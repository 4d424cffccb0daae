//! The frame of every page.
use maud::{DOCTYPE, Markup, html};

/// A whole page around `body`.
pub fn page(title: &str, body: &Markup) -> Markup {
    framed(title, &["/assets/bench.js", "/assets/live.js"], body)
}

/// A page without any script: forms alone.
pub fn still(title: &str, body: &Markup) -> Markup {
    framed(title, &[], body)
}

/// A page with nothing but one script of its own: for who may not have the others yet.
pub fn bare(title: &str, script: &str, body: &Markup) -> Markup {
    framed(title, &[script], body)
}

fn framed(title: &str, scripts: &[&str], body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                link rel="icon" href="/assets/icon.svg" type="image/svg+xml";
                link rel="stylesheet" href="/assets/bench.css";
                @for script in scripts { script type="module" src=(script) {} }
                link rel="manifest" href="/assets/manifest.json";
            }
            body { (body) }
        }
    }
}

/// A page that only says something: what happened and what to do.
pub fn words_page(message: &str, hint: &str) -> Markup {
    page(
        message,
        &html! {
            main #main .alone {
                h1 .instruction { (message) }
                p { (hint) }
                p { a .button href="/" { "Back to the start" } }
            }
        },
    )
}

/// The head of a page that is not a bench; `invented` says whether the workshop is simulated, and `what` of it.
pub fn head(title: &str, invented: bool, what: &str) -> Markup {
    html! {
        header .strip {
            p .note .words { (title) }
            @if invented { p .invented { "invented workshop: " (what) } }
        }
    }
}

/// The places that every page leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Which bar is next.
    Bench,
    /// All bars of an instrument.
    Bars,
    /// Rails, frame, holes.
    Frame,
    /// Instruments, copies, the record's health.
    Workshop,
    /// Pitch, climate, units.
    Settings,
    /// The manual.
    Manual,
    /// A page about one bar.
    Other,
}

/// The way to the other places, at the page's end: nothing stands between the maker and the instruction.
pub fn foot(here: Place) -> Markup {
    let places = [
        (Place::Bench, "/", "Next bar"),
        (Place::Bars, "/bars", "All bars"),
        (Place::Frame, "/frame", "Frame"),
        (Place::Workshop, "/workshop", "Workshop"),
        (Place::Settings, "/settings", "Settings"),
        (Place::Manual, "/manual", "Manual"),
    ];
    html! {
        nav #places .foot aria-label="Places" {
            @for (place, address, name) in places {
                a .button href=(address) aria-current=[(place == here).then_some("page")] { (name) }
            }
        }
    }
}

/// Under the page of a bar file by itself: there is nowhere else to go but to the manual.
pub fn foot_of_one_bar() -> Markup {
    html! { nav #places .foot aria-label="Places" { a .button href="/manual" { "Manual" } } }
}
