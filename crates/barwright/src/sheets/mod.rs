//! The sheets that hang on the wall and go to the machines: each from what a plan or the record knows, as paper takes it.
//!
//! * here — sheets of a plan; [`of_set`], [`job`] — sheets of an instrument in the record; [`forms`] — sheets to write on; [`templates`] — arches in true size
pub mod forms;
pub mod frame;
pub mod job;
pub mod labels;
pub mod nest;
pub mod of_set;
pub mod stock;
pub mod templates;
pub mod wood;

use crate::error::Refused;
use crate::report;
use crate::report::units::{Units, plain, signed};
use making::schedule::{BOARD_FOOT_M3, InstrumentPlan, Specification};
use paper::listing::{Column, Listing, Part, Table};
use paper::sheets::{Sheet, frame_view};
use paper::{Drawing, PaperError};
use words::tell;

/// Paper said no.
pub(crate) fn not_drawable(error: &PaperError) -> Refused {
    Refused::new("not_drawable", error.to_string(), "check the sizes for a wrong unit")
}

/// A picture laid out for a sheet.
pub(crate) fn picture(drawing: Result<Drawing, PaperError>) -> Result<Part, Refused> {
    drawing.map(Part::Picture).map_err(|error| not_drawable(&error))
}

/// A table of words and figures.
pub(crate) fn table(columns: Vec<Column>, rows: Vec<Vec<String>>) -> Part {
    Part::Table(Table { columns, rows })
}

/// As wide as an upright A4 sheet prints, with lettering of 10 pt and more.
pub(crate) const PICTURE: Sheet = Sheet { width_mm: 180.0, lettering_mm: 3.6 };

/// A note by its MIDI number, as the sheet's language calls it.
fn note(midi: i32) -> String {
    words::note(&making::schedule::note_name(midi))
}

/// What was agreed with the customer, to be signed.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn specification(plan_of: &Specification, plan: &InstrumentPlan, units: Units) -> Listing {
    let line = |what: String, value: String| vec![what, value];
    let rows = vec![
        line(
            tell!("spec-compass"),
            tell!(
                "spec-from-to",
                lowest = note(plan_of.lowest),
                highest = note(plan_of.highest),
                bars = plan.bars.len(),
                rows = if plan_of.one_row { "one" } else { "two" },
            ),
        ),
        line(
            tell!("spec-pitch"),
            tell!(
                "spec-pitch-at",
                hz = plain(plan_of.a4_hz, 2),
                celsius = plain(plan_of.temperature_c, 1),
                percent = plain(plan_of.humidity_percent, 0),
            ),
        ),
        line(tell!("spec-stretch"), stretch_words(plan_of)),
        line(tell!("spec-modes"), modes_words(plan_of)),
        line(tell!("spec-wood"), plan_of.wood.name.clone()),
        line(
            tell!("spec-rows"),
            plan.rows
                .iter()
                .map(|row| format!("{} {}", row.row.words(), units.place(row.overall_m * 1e3)))
                .collect::<Vec<_>>()
                .join(", "),
        ),
        line(tell!("spec-weight"), format!("{} kg", plain(plan.mass_kg, 1))),
        line(
            tell!("spec-planed"),
            tell!(
                "cubic-and-board-feet",
                cubic = plain(plan.wood_net_m3, 4),
                feet = plain(plan.wood_net_m3 / BOARD_FOOT_M3, 1)
            ),
        ),
    ];
    let mut parts = vec![table(vec![Column::words(tell!("what")), Column::words(tell!("agreed"))], rows)];
    parts.extend(plan.impossible.iter().map(|words| Part::Caution(crate::error::sentence(words))));
    parts.push(Part::Words(tell!("spec-wood-moves")));
    parts.push(Part::Caution(tell!("trade-rules")));
    parts.push(forms::signatures([tell!("customer"), tell!("workshop"), tell!("date-of-delivery")]));
    Listing { title: tell!("title-specification"), parts }
}

fn stretch_words(specification: &Specification) -> String {
    if specification.stretch.is_empty() {
        return tell!("none");
    }
    let steps: Vec<String> =
        specification.stretch.iter().map(|(midi, cents)| format!("{} {}", note(*midi), signed(*cents, 1))).collect();
    tell!("spec-stretch-steps", steps = steps.join(", "))
}

fn modes_words(specification: &Specification) -> String {
    let ranges: Vec<String> = specification
        .modes
        .iter()
        .map(|range| {
            let ratios: Vec<String> = range.ratios.iter().map(|ratio| plain(*ratio, 2)).collect();
            tell!("spec-modes-up-to", note = note(range.up_to), ratios = ratios.join(":"))
        })
        .collect();
    ranges.join("; ")
}

/// One line a note: sizes, centre thickness, nodes.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn schedule(plan: &InstrumentPlan, units: Units) -> Result<Listing, Refused> {
    let rows = plan
        .bars
        .iter()
        .zip(&plan.centres_x_m)
        .map(|(bar, centre_x_m)| {
            let wanted = &bar.wanted;
            let mm = |m: f64| units.place_figure(m * 1e3);
            let deep = |m: f64| units.depth_figure(m * 1e3);
            let made = bar.made.as_ref().ok();
            let node = |[left, right]: [f64; 2]| mm(f64::midpoint(left, right));
            vec![
                words::note(&wanted.name),
                plain(wanted.hz, 2),
                wanted.ratios.iter().map(|ratio| plain(*ratio, 2)).collect::<Vec<_>>().join(":"),
                mm(wanted.length_m),
                mm(wanted.width_m),
                deep(wanted.thickness_m),
                made.map_or_else(|| tell!("cannot-be-made"), |made| deep(made.arch.centre_m)),
                made.map_or_else(|| "–".to_owned(), |made| node(made.nodes.player_m)),
                mm(*centre_x_m),
                String::new(),
            ]
        })
        .collect();
    let columns = vec![
        Column::words(tell!("note")),
        Column::figures(tell!("hz")),
        Column::figures(tell!("tuned")),
        Column::figures(tell!("length")),
        Column::figures(tell!("width")),
        Column::figures(tell!("thick")),
        Column::figures(tell!("centre")),
        Column::figures(tell!("node-from-end")),
        Column::figures(tell!("middle-along-row")),
        Column::free(tell!("blank"), 18),
    ];
    let mut parts = vec![Part::Words(tell!("schedule-words", unit = units.figures_are()))];
    if let Ok(frame) = &plan.frame {
        parts.push(picture(frame_view(&report::frame::view(frame, None, &tell!("planned-rails"), PICTURE)))?);
    }
    parts.push(table(columns, rows));
    parts.extend(plan.warnings.iter().map(|words| Part::Caution(crate::error::sentence(words))));
    Ok(Listing { title: tell!("title-schedule"), parts })
}
