//! The manual: contents with search, and its pages.
use super::layout::{self, Place};
use crate::manual::{Found, PAGES, Page, Part, whole_html};
use maud::{Markup, PreEscaped, html};

/// Contents; with words asked for, what was found before them.
pub fn manual_contents(asked: &str, found: &[Found]) -> Markup {
    let body = html! {
        main #main data-bench="" data-version="" data-still {
            (layout::head("Manual", false, ""))
            h1 .unseen { "Manual" }
            (search(asked))
            @if !asked.trim().is_empty() { (answers(asked, found)) }
            @for part in Part::ALL {
                section {
                    h2 { (part.title()) }
                    ul .contents { @for page in PAGES.iter().filter(|page| page.part == part) {
                        li { a href={ "/manual/" (page.name) } { (page.title()) } }
                    } }
                }
            }
            (layout::foot(Place::Manual))
        }
    };
    layout::page("Manual", &body)
}

fn search(asked: &str) -> Markup {
    html! {
        form .pick role="search" method="get" action="/manual" {
            label { span { "Words to look for" } input type="search" name="find" value=(asked) maxlength="200"; }
            button .button type="submit" { "Look" }
        }
    }
}

fn answers(asked: &str, found: &[Found]) -> Markup {
    html! {
        section #found {
            h2 { @if found.is_empty() { "Nothing holds all of these words" } @else { "Found" } }
            @if found.is_empty() { p { "No section holds every one of: " (asked) ". Try fewer words, or other ones." } }
            ol .found { @for one in found {
                li {
                    a href=(one.address()) { (one.page.title()) @if one.heading != one.page.title() { ": " (one.heading) } }
                    p .small { (one.line) }
                }
            } }
        }
    }
}

/// A page, with what stands before and after it.
pub fn manual_page(page: &Page) -> Markup {
    let at = PAGES.iter().position(|known| known.name == page.name).unwrap_or(0);
    let (before, after) = (at.checked_sub(1).and_then(|at| PAGES.get(at)), PAGES.get(at + 1));
    let turn = |word: &str, to: &Page| html! { a .button href={ "/manual/" (to.name) } { (word) ": " (to.title()) } };
    let body = html! {
        main #main data-bench="" data-version="" data-still {
            (layout::head("Manual", false, ""))
            (search(""))
            article .manual { (PreEscaped(whole_html(page.text))) }
            nav .turn aria-label="Pages of the manual" {
                @if let Some(before) = before { (turn("Before", before)) }
                a .button href="/manual" { "Contents" }
                @if let Some(after) = after { (turn("Next", after)) }
            }
            (layout::foot(Place::Manual))
        }
    };
    layout::page(page.title(), &body)
}
