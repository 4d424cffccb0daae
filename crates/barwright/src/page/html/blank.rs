//! The form of a new blank.
use super::layout::{self, Place};
use super::marks;
use crate::page::places::BlankView;
use crate::report::units::Units;
use maud::{Markup, html};

/// The whole page.
pub fn blank_page(view: &BlankView, units: Units) -> Markup {
    let form = &view.form;
    let unit = if units == Units::Inch { "in" } else { "mm" };
    let field = |name: &str, title: &str, value: &str, required: bool| {
        html! {
            label { span { (title) } input type="text" name=(name) value=(value) autocomplete="off" required[required]; }
        }
    };
    let body = html! {
        main #main data-bench="" data-version="" data-still {
            (layout::head("A new blank", view.house.invented, "simulated bars"))
            h1 .unseen { "A new blank" }
            @if let Some(why) = &view.refused {
                div .notice .refused role="alert" { p { (marks::triangle()) " " strong { "It was not entered. " } (why.message) } p { (why.hint) } }
            }
            section {
                p { "Planed, sawn to length, not arched yet. Write the label on the end grain first." }
                form .pick method="post" action="/new" data-leads-on {
                    (field("label", "label", &form.label, true))
                    (field("length", &format!("length, {unit}"), &form.length, true))
                    (field("width", &format!("width, {unit}"), &form.width, true))
                    (field("thickness", &format!("thickness, {unit}"), &form.thickness, true))
                    (field("mass", "mass, g", &form.mass, false))
                    @if !view.instruments.is_empty() {
                        (field("note", "for the note", &form.note, false))
                        label { span { "of" } select name="instrument" {
                            @for (id, name) in &view.instruments { option value=(id) selected[*id == form.instrument] { (name) } }
                        } }
                    }
                    @else { input type="hidden" name="note" value=""; }
                    button .button .main type="submit" { "Enter it" }
                }
                p .small { "Other units can be written out: 470 mm, 18 1/2 in. The note may wait until the blank has been struck. Weighed, it tells its density." }
            }
            (layout::foot(Place::Other))
        }
    };
    layout::page("A new blank", &body)
}
