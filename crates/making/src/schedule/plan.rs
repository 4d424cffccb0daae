//! The plan of the whole instrument, from its planned bars.
use super::bar::{PlannedBar, WantedBar, plan_bar};
use super::better::BarRunner;
use super::specification::Specification;
use crate::error::MakingError;
use crate::frame::{FrameBar, FramePlan, FrameTask, LayoutBar, Row, lay_frame, lay_out, tolerated_m};
use crate::torsion::Nearness;
use words::{figure, figure_with_sign, tell};

/// Volume of a board foot, 144 cubic inches (1 inch is 25.4 mm exactly).
pub const BOARD_FOOT_M3: f64 = 144.0 * 0.0254 * 0.0254 * 0.0254;

/// Doubt of a predicted node: as a careful reading's (from memory); all bars alike, so only their ratio to the lines counts.
const NODE_SIGMA_M: f64 = 0.001;
/// Centre thickness below which the plan warns (from memory, "warn at 6.5, stop at 5").
pub(super) const THIN_M: f64 = 0.0065;

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedRow {
    /// The row.
    pub row: Row,
    /// How many bars it has.
    pub bars: usize,
    /// From the first bar's outer edge to the last bar's.
    pub overall_m: f64,
    /// (bar, how far its node misses the predicted straight rail at the most); empty without rails.
    pub misses_m: Vec<(String, f64)>,
}

/// The plan.
#[derive(Debug, Clone)]
pub struct InstrumentPlan {
    /// Bass to treble.
    pub bars: Vec<PlannedBar>,
    /// Middle of each bar along the frame, from the first natural's outer edge.
    pub centres_x_m: Vec<f64>,
    /// Naturals, then accidentals where there are any.
    pub rows: Vec<PlannedRow>,
    /// The frame on the predicted nodes; why there is none if there is none.
    pub frame: Result<FramePlan, MakingError>,
    /// Planed blanks of all bars, nothing added for sawing and waste.
    pub wood_net_m3: f64,
    /// Mass of the bars that can be made.
    pub mass_kg: f64,
    /// What the maker must look at.
    pub warnings: Vec<String>,
    /// What cannot be, each with what would make it possible; empty if the instrument can be made.
    pub impossible: Vec<String>,
}

impl InstrumentPlan {
    /// True if every bar can be made and every limit is kept.
    pub fn is_possible(&self) -> bool {
        self.impossible.is_empty()
    }
}

/// Length of a row: its widths and the gaps between them.
pub fn row_length_m(widths_m: &[f64], gap_m: f64) -> f64 {
    widths_m.iter().sum::<f64>() + gap_m * widths_m.len().saturating_sub(1) as f64
}

/// Plans all bars of a specification; those that a plan before has already, of the same wood and limits, are taken from it.
///
/// # Errors
/// As [`Specification::bars`].
pub fn replan(
    specification: &Specification,
    before: Option<(&Specification, &InstrumentPlan)>,
    run: &BarRunner<'_>,
) -> Result<Vec<PlannedBar>, MakingError> {
    let wanted = specification.bars()?;
    let same = |old: &Specification| {
        old.wood == specification.wood && (old.min_thickness_m - specification.min_thickness_m).abs() < 1e-12
    };
    let old = before.filter(|(old, _)| same(old)).map_or(&[][..], |(_, plan)| &plan.bars);
    let known = |bar: &WantedBar| old.iter().find(|planned| planned.wanted == *bar);
    let new: Vec<WantedBar> = wanted.iter().filter(|bar| known(bar).is_none()).cloned().collect();
    let mut planned = run(&new, &|bar| plan_bar(specification, bar)).into_iter();
    Ok(wanted.iter().filter_map(|bar| known(bar).cloned().or_else(|| planned.next())).collect())
}

/// Puts planned bars together; `bars` as [`Specification::bars`] orders them.
///
/// # Errors
/// As [`lay_out`]. A frame that cannot be laid is no error of the plan: [`InstrumentPlan::frame`] says why.
pub fn assemble(specification: &Specification, bars: Vec<PlannedBar>) -> Result<InstrumentPlan, MakingError> {
    let to_lay: Vec<LayoutBar> = bars.iter().map(layout_bar).collect();
    let layout = lay_out(&to_lay, specification.gap, specification.one_row)?;
    let centres_x_m = layout.places.iter().map(|place| place.centre_x_m).collect::<Vec<_>>();
    let frame = frame(specification, &bars);
    let rows = rows(&bars, &centres_x_m, frame.as_ref().ok());
    let mut warnings: Vec<String> = bars.iter().flat_map(warnings_of).collect();
    let tight = |(a, b, space_m): &(String, String, f64)| {
        tell!("plan-tight", a = words::note(a), b = words::note(b), mm = figure(space_m * 1e3, 1))
    };
    warnings.extend(layout.tight.iter().map(tight));
    let mut impossible = Vec::new();
    impossible.extend(unmade(specification, &bars));
    impossible.extend(too_long(specification, &bars, &rows));
    let made = bars.iter().filter_map(|b| b.made.as_ref().ok());
    Ok(InstrumentPlan {
        wood_net_m3: bars.iter().map(|b| b.wanted.blank_m3()).sum(),
        mass_kg: made.map(|made| made.mass_kg).sum(),
        centres_x_m,
        rows,
        frame,
        warnings,
        impossible,
        bars,
    })
}

fn layout_bar(bar: &PlannedBar) -> LayoutBar {
    // C-1 is MIDI 0, so the number counts semitones from a C.
    LayoutBar { name: bar.wanted.name.clone(), semitone: bar.wanted.midi, width_m: bar.wanted.width_m }
}

fn frame(specification: &Specification, bars: &[PlannedBar]) -> Result<FramePlan, MakingError> {
    let frame_bar = |bar: &PlannedBar| FrameBar {
        name: bar.wanted.name.clone(),
        semitone: bar.wanted.midi,
        length_m: bar.wanted.length_m,
        width_m: bar.wanted.width_m,
        nodes: bar.made.as_ref().ok().map(|made| made.nodes),
        sigma_m: NODE_SIGMA_M,
        motion_per_m: None,
    };
    let task = FrameTask::new(bars.iter().map(frame_bar).collect());
    lay_frame(&FrameTask { gap: specification.gap, one_row: specification.one_row, ..task })
}

fn rows(bars: &[PlannedBar], centres_x_m: &[f64], frame: Option<&FramePlan>) -> Vec<PlannedRow> {
    let row = |row: Row| {
        let edges = bars.iter().zip(centres_x_m).filter(|(bar, _)| bar.wanted.row == row);
        let edges: Vec<(f64, f64)> =
            edges.map(|(b, x)| (x - b.wanted.width_m / 2.0, x + b.wanted.width_m / 2.0)).collect();
        let (first, last) = (edges.first()?, edges.last()?);
        let fit = frame.and_then(|frame| frame.rows.iter().find(|fit| fit.row == row));
        let read = |fit: &crate::frame::RowFit| {
            let bars = fit.bars.iter().filter(|bar| !bar.interpolated);
            bars.map(|bar| (bar.bar.name.clone(), bar.worst_middle_m())).collect()
        };
        let misses_m = fit.map(read).unwrap_or_default();
        Some(PlannedRow { row, bars: edges.len(), overall_m: last.1 - first.0, misses_m })
    };
    [Row::Natural, Row::Accidental].into_iter().filter_map(row).collect()
}

fn warnings_of(bar: &PlannedBar) -> Vec<String> {
    let Ok(made) = &bar.made else { return Vec::new() };
    let name = words::note(&bar.wanted.name);
    let mut out = Vec::new();
    if made.arch.centre_m.min(made.arch.underside.thinnest().1) < THIN_M {
        let thin_mm = made.arch.underside.thinnest().1 * 1e3;
        out.push(tell!("plan-thin", name = name.as_str(), mm = figure(thin_mm, 1)));
    }
    let Nearness::Cents(limit) = Nearness::default() else { return out };
    if let Some(near) = made.torsion.filter(|near| near.cents.abs() < limit) {
        out.push(tell!(
            "plan-torsion",
            number = near.number,
            name = name.as_str(),
            cents = figure_with_sign(near.cents, 0),
            bending = near.bending,
        ));
    }
    if bar.wanted.length_m < bar.wanted.law_length_m {
        out.push(tell!(
            "plan-longest",
            name = name.as_str(),
            mm = figure(bar.wanted.length_m * 1e3, 0),
            law = figure(bar.wanted.law_length_m * 1e3, 0),
        ));
    }
    out
}

/// The bars that cannot be made, and what would make them possible.
fn unmade(specification: &Specification, bars: &[PlannedBar]) -> Vec<String> {
    let mut out = Vec::new();
    let mut short: Vec<&PlannedBar> = Vec::new();
    for bar in bars {
        let Err(error) = &bar.made else { continue };
        if bar.wanted.length_m < bar.wanted.law_length_m {
            short.push(bar);
        } else {
            out.push(tell!(
                "plan-cannot",
                name = words::note(&bar.wanted.name),
                why = error.message.as_str(),
                hint = error.hint.as_str(),
            ));
        }
    }
    let (Some(first), Some(last), Some(longest_m)) = (short.first(), short.last(), specification.longest_blank_m)
    else {
        return out;
    };
    let need_m = short.iter().map(|bar| bar.wanted.law_length_m).fold(0.0, f64::max);
    let mut told = tell!(
        "plan-short-blanks",
        n = short.len(),
        all = bars.len(),
        first = words::note(&first.wanted.name),
        last = words::note(&last.wanted.name),
        longest = figure(longest_m * 1e3, 0),
        need = figure((need_m * 1e3).ceil(), 0),
    );
    if let Some(start) = first_makeable(specification, bars) {
        told += &tell!("plan-start-higher", start = words::note(&start));
    }
    out.insert(0, told);
    out
}

/// The lowest note from which every bar up to the highest can be made; a natural where there are two rows.
fn first_makeable(specification: &Specification, bars: &[PlannedBar]) -> Option<String> {
    let makeable = bars.iter().rev().take_while(|bar| bar.made.is_ok());
    let starts = makeable.filter(|bar| specification.one_row || bar.wanted.row == Row::Natural);
    starts.last().map(|bar| bar.wanted.name.clone())
}

/// A row longer than it may be, and by how much narrower bars or gaps would fit.
fn too_long(specification: &Specification, bars: &[PlannedBar], rows: &[PlannedRow]) -> Option<String> {
    let most_m = specification.most_overall_m?;
    let longest = rows.iter().max_by(|a, b| a.overall_m.total_cmp(&b.overall_m))?;
    if longest.overall_m <= most_m {
        return None;
    }
    let widths_m: f64 = bars.iter().filter(|b| b.wanted.row == longest.row).map(|b| b.wanted.width_m).sum();
    let gaps = longest.bars.saturating_sub(1) as f64;
    let mut told = tell!(
        "plan-too-long",
        row = longest.row.words(),
        mm = figure(longest.overall_m * 1e3, 0),
        most = figure(most_m * 1e3, 0),
    );
    let narrower = (most_m - gaps * specification.gap.between_m) / widths_m;
    // Two thirds of the width and 6 mm of gap are the least that is heard of (from memory).
    if narrower > 0.67 {
        told += &tell!("plan-narrower", percent = figure(100.0 * (1.0 - narrower), 1));
    }
    let gap_m = (most_m - widths_m) / gaps;
    if gap_m >= 0.006 {
        told += &tell!("plan-gaps", mm = figure(gap_m * 1e3, 1));
    }
    Some(told + &tell!("plan-higher"))
}

impl PlannedRow {
    /// The bars whose nodes miss the straight rail by more than is tolerated, worst first.
    pub fn beyond_tolerance(&self, plan: &InstrumentPlan) -> Vec<(String, f64)> {
        let length_m = |name: &str| plan.bars.iter().find(|b| b.wanted.name == name).map_or(0.0, |b| b.wanted.length_m);
        let beyond = self.misses_m.iter().filter(|(name, miss_m)| *miss_m > tolerated_m(length_m(name)));
        let mut beyond: Vec<(String, f64)> = beyond.cloned().collect();
        beyond.sort_by(|a, b| b.1.total_cmp(&a.1));
        beyond
    }
}
