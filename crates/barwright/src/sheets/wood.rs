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
use words::tell;

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
        Column::figures(tell!("step")),
        Column::figures(tell!("blade-height")),
        Column::figures(tell!("from-the-centre")),
        Column::words(tell!("saw-stops")),
        Column::figures(tell!("kerfs")),
        Column::free(tell!("done"), 12),
    ];
    let length = units.place(advice.arch.underside.length_m() * 1e3);
    let mut parts = vec![
        Part::Words(tell!(
            "saw-words",
            name = name,
            steps = plan.steps.len(),
            kerfs = plan.kerfs,
            minutes = plain(plan.minutes, 0),
            unit = unit,
        )),
        Part::Words(how(setup, &length)),
        picture(report::pictures::saw_drawing(plan, advice, file, PICTURE))?,
        table(columns, plan.steps.iter().map(row).collect()),
    ];
    parts.extend(plan.cautions.iter().map(|words| Part::Caution(sentence(words))));
    parts.push(Part::Words(tell!("strike-before-sanding")));
    Ok(Listing { title: tell!("title-saw"), parts })
}

/// Boards with their blanks, drawn, and the order of the cuts.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn cutlist(answer: &Answer<'_>, units: Units) -> Result<Listing, Refused> {
    let mut parts = vec![picture(report::cutlist::view(answer, PICTURE))?];
    for cut in &answer.list.boards {
        let board = &answer.boards[cut.board];
        parts.push(Part::Heading(tell!(
            "board-size",
            name = board.name.as_str(),
            length = units.place(board.length_m * 1e3),
            width = units.place(board.width_m * 1e3),
            thickness = units.place(board.thickness_m * 1e3),
        )));
        let row = |placed: &making::cutlist::Placed| {
            let [length_m, width_m] = placed.area.size_m();
            let mm = |m: f64| units.place_figure(m * 1e3);
            vec![
                words::note(&answer.pieces[placed.piece].name),
                mm(placed.area.along_m[0]),
                mm(placed.area.across_m[0]),
                mm(length_m),
                mm(width_m),
            ]
        };
        let columns = vec![
            Column::words(tell!("blank")),
            Column::figures(tell!("from-the-left-end")),
            Column::figures(tell!("from-the-near-edge")),
            Column::figures(tell!("length")),
            Column::figures(tell!("width")),
            Column::free(tell!("label"), 18),
        ];
        parts.push(table(columns, cut.placed.iter().map(row).collect()));
        let cuts =
            cut.cuts.iter().enumerate().map(|(i, cut)| vec![(i + 1).to_string(), cut_words(cut, units)]).collect();
        parts.push(table(
            vec![Column::figures(""), Column::words(tell!("cut-places")), Column::free(tell!("done"), 12)],
            cuts,
        ));
    }
    parts.push(Part::Caution(tell!("caution-saw")));
    Ok(Listing { title: tell!("title-cutlist"), parts })
}
