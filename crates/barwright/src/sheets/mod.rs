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
use making::schedule::{BOARD_FOOT_M3, InstrumentPlan, Specification, note_name};
use paper::listing::{Column, Listing, Part, Table};
use paper::sheets::{Sheet, frame_view};
use paper::{Drawing, PaperError};

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

/// What was agreed with the customer, to be signed.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn specification(plan_of: &Specification, plan: &InstrumentPlan, units: Units) -> Listing {
    let line = |what: &str, value: String| vec![what.to_owned(), value];
    let rows = vec![
        line(
            "compass",
            format!(
                "{} to {}, {} bars{}",
                note_name(plan_of.lowest),
                note_name(plan_of.highest),
                plan.bars.len(),
                if plan_of.one_row { ", one row" } else { "" }
            ),
        ),
        line(
            "pitch",
            format!(
                "A4 = {} Hz at {} °C and {} % humidity",
                plain(plan_of.a4_hz, 2),
                plain(plan_of.temperature_c, 1),
                plain(plan_of.humidity_percent, 0)
            ),
        ),
        line("stretch", stretch_words(plan_of)),
        line("tuned modes", modes_words(plan_of)),
        line("wood", plan_of.wood.name.clone()),
        line(
            "rows",
            plan.rows
                .iter()
                .map(|row| format!("{} {}", row.row.name(), units.place(row.overall_m * 1e3)))
                .collect::<Vec<_>>()
                .join(", "),
        ),
        line("weight of the bars", format!("{} kg", plain(plan.mass_kg, 1))),
        line(
            "planed wood",
            format!("{} m³ ({} board feet)", plain(plan.wood_net_m3, 4), plain(plan.wood_net_m3 / BOARD_FOOT_M3, 1)),
        ),
    ];
    let mut parts = vec![table(vec![Column::words("what"), Column::words("agreed")], rows)];
    parts.extend(plan.impossible.iter().map(|words| Part::Caution(crate::error::sentence(words))));
    parts.push(Part::Words("Wood is no metal: pitch falls by some 1 to 2 cents for each °C and rises as wood dries, by 12 to 19 cents for a percent of its moisture. The first retuning is due after one to three years (from memory).".to_owned()));
    parts.push(Part::Caution(
        "Check the trade rules for this species before buying, shipping or exporting; keep the papers.".to_owned(),
    ));
    parts.push(forms::signatures(&["customer", "workshop", "date of delivery"]));
    Listing { title: "Specification".to_owned(), parts }
}

fn stretch_words(specification: &Specification) -> String {
    if specification.stretch.is_empty() {
        return "none".to_owned();
    }
    let steps: Vec<String> = specification
        .stretch
        .iter()
        .map(|(midi, cents)| format!("{} {}", note_name(*midi), signed(*cents, 1)))
        .collect();
    format!("{} cents, even steps between", steps.join(", "))
}

fn modes_words(specification: &Specification) -> String {
    let ranges: Vec<String> = specification
        .modes
        .iter()
        .map(|range| {
            let ratios: Vec<String> = range.ratios.iter().map(|ratio| plain(*ratio, 2)).collect();
            format!("up to {} {}", note_name(range.up_to), ratios.join(":"))
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
                wanted.name.clone(),
                plain(wanted.hz, 2),
                wanted.ratios.iter().map(|ratio| plain(*ratio, 2)).collect::<Vec<_>>().join(":"),
                mm(wanted.length_m),
                mm(wanted.width_m),
                deep(wanted.thickness_m),
                made.map_or_else(|| "cannot be made".to_owned(), |made| deep(made.arch.centre_m)),
                made.map_or_else(|| "–".to_owned(), |made| node(made.nodes.player_m)),
                mm(*centre_x_m),
                String::new(),
            ]
        })
        .collect();
    let columns = vec![
        Column::words("note"),
        Column::figures("Hz"),
        Column::figures("tuned"),
        Column::figures("length"),
        Column::figures("width"),
        Column::figures("thick"),
        Column::figures("centre"),
        Column::figures("node from end"),
        Column::figures("middle along the row"),
        Column::free("blank", 18),
    ];
    let mut parts = vec![Part::Words(format!(
        "{}. Thickness is measured from the TOP face; the node is the middle of the player's line, predicted.",
        units.figures_are()
    ))];
    if let Ok(frame) = &plan.frame {
        parts.push(picture(frame_view(&report::frame::view(
            frame,
            None,
            "Predicted rails under the planned bars",
            PICTURE,
        )))?);
    }
    parts.push(table(columns, rows));
    parts.extend(plan.warnings.iter().map(|words| Part::Caution(crate::error::sentence(words))));
    Ok(Listing { title: "Bar schedule".to_owned(), parts })
}
