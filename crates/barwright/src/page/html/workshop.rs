//! The workshop: instruments, copies, health of the record.
use super::layout::{self, Place};
use super::{help, marks};
use crate::error::Refused;
use crate::page::places::workshop::{Checked, InstrumentLine, WorkshopView};
use crate::report::record::when;
use crate::report::units;
use jiff::Timestamp;
use maud::{Markup, html};
use records::workshop::RecordCopy;
use std::path::Path;

/// The whole page.
pub fn workshop_page(view: &WorkshopView) -> Markup {
    let body = html! {
        main #main data-bench="" data-version="" data-still {
            (layout::head(&view.house.name, view.house.invented, "simulated bars"))
            h1 .unseen { "Workshop" }
            (instruments(view))
            (plan())
            (climate())
            (copies(view))
            (health(view))
            (devices())
            p #progress .progress role="status" aria-live="polite" {}
            (layout::foot(Place::Workshop))
        }
    };
    layout::page(&format!("Workshop: {}", view.house.name), &body)
}

fn plan() -> Markup {
    html! {
        section #plan {
            h2 { "A new instrument" }
            p { a .button href="/plan" { "Plan an instrument" } }
            p .small { "From five lines to every bar's size, arch and nodes, before wood is bought." }
        }
    }
}

fn climate() -> Markup {
    html! {
        section #climate {
            h2 { "Climate" }
            p { a .button href="/climate" { "What bars read today" } }
            p .small { "Temperature and humidity, another hall, a warm bar, reference bars." }
        }
    }
}

fn devices() -> Markup {
    html! {
        section #devices {
            h2 { "Phones and tablets" }
            p { a .button href="/devices" { "Devices" } }
            p .small { "Which devices of the workshop's network may come in; paired and revoked on this computer only." }
        }
    }
}

fn instruments(view: &WorkshopView) -> Markup {
    html! {
        section #instruments {
            h2 { "Instruments" }
            @if view.instruments.is_empty() {
                p { "None yet. Enter what was ordered: " code { "barwright instrument add NAME --a4 442 --temperature 21" } }
            } @else {
                div .scroll { table .stack .bars {
                    thead { tr {
                        th scope="col" { "instrument" }
                        th scope="col" { "for" }
                        th scope="col" .figure { "A4" }
                        th scope="col" .figure { "pitch wanted at" }
                        th scope="col" .figure { "bars" }
                        th scope="col" .figure { "done" }
                        th scope="col" { "its sheets" }
                    } }
                    tbody { @for line in &view.instruments { (instrument(line)) } }
                } }
            }
        }
    }
}

fn instrument(line: &InstrumentLine) -> Markup {
    let temperature_c = line.order.reference.and_then(|climate| climate.temperature_c);
    html! {
        tr {
            th scope="row" { a .bar-link href={ "/bars?instrument=" (line.id) } { (line.order.name) } @if line.gone { " (delivered)" } }
            td data-label="for" { (line.order.customer.as_deref().unwrap_or("–")) }
            td .figure data-label="A4" { (units::plain(line.order.a4_hz, 2)) " Hz" }
            td .figure data-label="pitch wanted at" {
                @match temperature_c { Some(c) => { (units::plain(c, 1)) " °C" }, None => "not said" }
            }
            td .figure data-label="bars" { (line.bars) }
            td .figure data-label="done" { (line.done) }
            td data-label="its sheets" { span .sheets {
                @for (address, words) in [("tubes", "tubes"), ("fine", "last cents"), ("certificate", "certificate"), ("retune", "retuning")] {
                    a .bar-link href={ "/" (address) "?instrument=" (line.id) } { (words) } " "
                }
            } }
        }
    }
}

fn copies(view: &WorkshopView) -> Markup {
    html! {
        section #copies {
            h2 { "Copies of the record" }
            @if let Some((at, made)) = &view.upkeep.copy { (copied(*at, made)) }
            @match view.copies.first() {
                Some(newest) => p { "Newest copy: " strong { (file_name(&newest.path)) } ", " (when(newest.made_at)) "." },
                None => p { (marks::triangle()) " No copy of this record yet." },
            }
            form method="post" action="/workshop/copy" data-words="Copying…" {
                button .button type="submit" { "Make a backup now" }
            }
            @if !view.copies.is_empty() { (list(view)) }
            p .small { "In " code { (view.copy_folder.display()) } ". Each copy was read back and checked before it took its name. "
                "One is made by itself on each working day; those thin out with time, the ones made here stay." }
            p { (marks::triangle()) " A copy on the same disk is lost with the disk, and it holds no sound. Now and then copy everything onto another one: "
                code { "barwright backup FOLDER" } "." }
            (help::fold("copies-help", &help::COPIES))
        }
    }
}

fn copied(at: Timestamp, made: &Result<RecordCopy, Refused>) -> Markup {
    html! {
        div .notice .refused[made.is_err()] role="status" {
            @match made {
                Ok(copy) => p { (marks::double_tick()) " Copied and checked: " strong { (file_name(&copy.path)) } ", " (size(copy.bytes)) ", " (when(at)) "." },
                Err(why) => { p { (marks::triangle()) " " strong { "No copy was made. " } (why.message) } p { (why.hint) } }
            }
        }
    }
}

fn list(view: &WorkshopView) -> Markup {
    html! {
        div .scroll { table .stack {
            thead { tr { th scope="col" { "copy" } th scope="col" { "made" } th scope="col" .figure { "size" } th scope="col" { "how" } } }
            tbody { @for copy in &view.copies { tr {
                th scope="row" { (file_name(&copy.path)) }
                td data-label="made" { (when(copy.made_at)) }
                td .figure data-label="size" { (size(copy.bytes)) }
                td data-label="how" { (if copy.automatic { "by itself" } else { "by hand" }) }
            } } }
        } }
        @if view.more_copies > 0 { p .small { "and " (view.more_copies) " older ones" } }
    }
}

fn health(view: &WorkshopView) -> Markup {
    let (file, bytes) = &view.record;
    html! {
        section #health {
            h2 { "Is the record sound?" }
            p .small { code { (file.display()) } ", " (size(*bytes)) }
            @match &view.upkeep.check {
                None => p { "Not checked since the program was started." },
                Some((at, Ok(found))) => (checked(*at, found)),
                Some((_, Err(why))) => div .notice .refused role="status" {
                    p { (marks::triangle()) " " strong { "The check could not be made. " } (why.message) } p { (why.hint) }
                },
            }
            form method="post" action="/workshop/check" data-words="Checking…" {
                button .button type="submit" { "Check it now" }
            }
            p .small { "Reads every entry and every take, and the newest copy; the bench goes on meanwhile." }
        }
    }
}

fn checked(at: Timestamp, found: &Checked) -> Markup {
    let report = &found.record;
    let copy_bad = matches!(&found.copy, Some((_, Err(_))));
    html! {
        div .notice .refused[!report.sound() || copy_bad] role="status" {
            @if report.sound() {
                p { (marks::double_tick()) " " strong { "The record is sound: " } (report.things) " things, " (report.events) " entries, " (report.takes) " takes and " (report.photos) " photographs looked at, " (when(at)) "." }
            } @else {
                p { (marks::triangle()) " " strong { (report.problems.len()) (if report.problems.len() == 1 { " problem" } else { " problems" }) } ", " (when(at)) ":" }
                ul { @for problem in report.problems.iter().take(20) { li { (problem) } } }
                p { "Keep the folder as it is, and restore the newest sound copy into a new one to compare: " code { "barwright restore COPY NEW-FOLDER" } }
            }
            @match &found.copy {
                Some((path, Ok(events))) => p { (marks::double_tick()) " Newest copy " strong { (file_name(path)) } ": sound, " (events) " entries." },
                Some((path, Err(why))) => p { (marks::triangle()) " Newest copy " strong { (file_name(path)) } " is not sound: " (why.message) " Make a new one." },
                None => p { (marks::triangle()) " There is no copy to check." },
            }
        }
    }
}

fn file_name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// "84 kB", "1.2 MB".
fn size(bytes: u64) -> String {
    // Sizes are shown to two figures; a double holds them exactly up to 9 PB.
    #[allow(clippy::cast_precision_loss)]
    let kilobytes = bytes as f64 / 1e3;
    if kilobytes < 1e3 {
        format!("{} kB", units::plain(kilobytes.ceil(), 0))
    } else {
        format!("{} MB", units::plain(kilobytes / 1e3, 1))
    }
}
