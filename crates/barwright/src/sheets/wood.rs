//! Sheets for the saw: the steps of an arch, the cuts of boards.
use super::{PICTURE, picture, table};
use crate::error::{Refused, sentence};
use crate::report;
use crate::report::cutlist::{Answer, cut_words};
use crate::report::saw::how;
use crate::report::units::{Units, plain};
use making::ArchAdvice;
use making::saw::{SawPlan, SawScale, SawSetup, SawStep};
use paper::listing::{Column, Listing, Part};
use records::BarFile;

/// The saw steps of one bar, in order, to be ticked off.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn saw(
    name: &str,
    plan: &SawPlan,
    setup: &SawSetup,
    advice: &ArchAdvice,
    file: &BarFile,
) -> Result<Listing, Refused> {
    // The saw's own scale alone: of two figures one is set wrong.
    let units = match setup.scale {
        SawScale::HalfMillimetre => Units::Mm,
        SawScale::ThirtySecondInch => Units::Inch,
    };
    let unit = units.figures_are();
    let mark = |m: f64| units.place_figure(m * 1e3);
    let row = |step: &SawStep| {
        let stops: Vec<String> = step.stops_m.iter().map(|stop| mark(*stop)).collect();
        vec![
            step.order.to_string(),
            mark(step.height_m),
            format!("{} – {}", mark(step.from_m), mark(step.to_m)),
            stops.join(" · "),
            step.kerfs.to_string(),
            String::new(),
        ]
    };
    let columns = vec![
        Column::figures("step"),
        Column::figures("blade height"),
        Column::figures("from the centre"),
        Column::words("stops from the bar's end, outermost first"),
        Column::figures("kerfs"),
        Column::free("done", 12),
    ];
    let length = units.place(advice.arch.underside.length_m() * 1e3);
    let mut parts = vec![
        Part::Words(format!(
            "{name}: {} steps, {} kerfs, about {} minutes. {unit}, as on the saw's scale. The blade is only ever raised. Unplug it to set it.",
            plan.steps.len(),
            plan.kerfs,
            plain(plan.minutes, 0)
        )),
        Part::Words(how(setup, &length)),
        picture(report::pictures::saw_drawing(plan, advice, file, PICTURE))?,
        table(columns, plan.steps.iter().map(row).collect()),
    ];
    parts.extend(plan.cautions.iter().map(|words| Part::Caution(sentence(words))));
    parts.push(Part::Words("Strike the sawn bar before you sand.".to_owned()));
    Ok(Listing { title: "Saw steps".to_owned(), parts })
}

/// Boards with their blanks, drawn, and the order of the cuts.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn cutlist(answer: &Answer<'_>, units: Units) -> Result<Listing, Refused> {
    let mut parts = vec![picture(report::cutlist::view(answer, PICTURE))?];
    for cut in &answer.list.boards {
        let board = &answer.boards[cut.board];
        parts.push(Part::Heading(format!(
            "Board {}: {} × {} × {}",
            board.name,
            units.place(board.length_m * 1e3),
            units.place(board.width_m * 1e3),
            units.place(board.thickness_m * 1e3)
        )));
        let row = |placed: &making::cutlist::Placed| {
            let [length_m, width_m] = placed.area.size_m();
            let mm = |m: f64| units.place_figure(m * 1e3);
            vec![
                answer.pieces[placed.piece].name.clone(),
                mm(placed.area.along_m[0]),
                mm(placed.area.across_m[0]),
                mm(length_m),
                mm(width_m),
            ]
        };
        let columns = vec![
            Column::words("blank"),
            Column::figures("from the left end"),
            Column::figures("from the near edge"),
            Column::figures("length"),
            Column::figures("width"),
            Column::free("label", 18),
        ];
        parts.push(table(columns, cut.placed.iter().map(row).collect()));
        let cuts =
            cut.cuts.iter().enumerate().map(|(i, cut)| vec![(i + 1).to_string(), cut_words(cut, units)]).collect();
        parts.push(table(
            vec![
                Column::figures(""),
                Column::words("cut, places measured on the whole board"),
                Column::free("done", 12),
            ],
            cuts,
        ));
    }
    parts.push(Part::Caution(
        "Guards on, push stick, eyes, ears and lungs protected; the saws' manuals and local rules come first. Dust of rosewoods and padauk sensitises.".to_owned(),
    ));
    Ok(Listing { title: "Cut list".to_owned(), parts })
}
