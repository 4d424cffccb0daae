//! The first page: five questions.
use super::{layout, marks};
use crate::error::Refused;
use crate::page::places::UnitsShown;
use crate::report::units::Units;
use maud::{Markup, html};
use serde::Deserialize;
use std::path::Path;

/// What was answered; the proposals where nothing was yet.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct FirstAnswers {
    /// The workshop's name.
    pub name: String,
    /// Who works there.
    pub person: String,
    /// Units of this browser.
    pub units: String,
    /// The first instrument.
    pub instrument: String,
    /// Its pitch.
    pub a4: String,
    /// A folder for copies.
    pub copies: String,
}

impl Default for FirstAnswers {
    fn default() -> Self {
        Self {
            name: "My workshop".to_owned(),
            person: String::new(),
            units: UnitsShown::word(Units::Both).to_owned(),
            instrument: String::new(),
            a4: "442".to_owned(),
            copies: String::new(),
        }
    }
}

/// The questions, with what was answered and why it was not enough.
pub fn first_page(answers: &FirstAnswers, folder: &Path, refused: Option<&Refused>) -> Markup {
    let units = [(Units::Both, "millimetres (inches)"), (Units::Mm, "millimetres"), (Units::Inch, "inches")];
    let field = |number: u8, title: &str, name: &str, value: &str, note: &str| {
        html! {
            p .question {
                label for=(name) { strong { (number) ". " (title) } }
                input id=(name) type="text" name=(name) value=(value) autocomplete="off" aria-describedby={ (name) "-note" };
                span .small id={ (name) "-note" } { (note) }
            }
        }
    };
    let body = html! {
        main #main .first {
            h1 { "Your workshop" }
            p { "Five questions; all but the first may stay empty, and all can be changed later. Nothing is written before you begin." }
            @if let Some(why) = refused {
                div .notice .refused role="alert" { p { (marks::triangle()) " " strong { "Not set up yet. " } (why.message) } p { (why.hint) } }
            }
            form method="post" action="/" {
                (field(1, "What is it called?", "name", &answers.name, "It stands on sheets and certificates."))
                (field(2, "Who works here?", "person", &answers.person, "A name for the record: hands differ, and each is learnt by itself. More people can follow."))
                fieldset .question {
                    legend { strong { "3. Lengths in" } }
                    div .places { @for (units, words) in units {
                        label { input type="radio" name="units" value=(UnitsShown::word(units)) checked[UnitsShown::word(units) == answers.units]; span { (words) } }
                    } }
                }
                div .question {
                    (field(4, "The first instrument?", "instrument", &answers.instrument, "Any name, such as the customer's order number."))
                    p { label for="a4" { "Its A4, Hz " } input id="a4" type="text" name="a4" inputmode="decimal" value=(answers.a4) autocomplete="off"; }
                }
                (field(5, "A folder on another disk for copies?", "copies", &answers.copies, "A first copy is made there at once. A disk that fails takes everything with it."))
                p { button .button .primary type="submit" { "Begin" } }
            }
            p .small { "It will lie in " (folder.display()) "." }
            p { a href="/manual" { "The manual" } }
        }
    };
    layout::still("Your workshop", &body)
}

/// What was done, and the way on.
pub fn begun_page(told: &[String]) -> Markup {
    let body = html! {
        main #main .alone {
            h1 .instruction { "Set up" }
            @for line in told { p { (line) } }
            p { a .button href="/" { "To the workshop" } }
        }
    };
    layout::still("Set up", &body)
}
