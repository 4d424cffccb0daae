//! The page's drawings, each for a narrow and a wide sheet; the style sheet shows the one that fits.
use super::places::bars::{BarLine, BarsView};
use super::places::frame::DrillView;
use super::view::BenchView;
use crate::report::units;
use making::virtual_bench::TOLERANCE_CENTS;
use making::{Band, Decision, Side};
use maud::{Markup, PreEscaped, html};
use paper::sheets::{
    BandMark, BarShape, Compass, CompassBar, HalfMark, Ladder, MOST_COMPASS_BARS, NodeMark, PlanView, Rung, Sheet,
    SideView, TakePicture, compass as compass_sheet, ladder, plan_view, side_view, take_picture,
};
use paper::svg::{self, Options};
use paper::{Drawing, PaperError};
use records::Note;
use records::workshop::Stage;

/// Heights in the side view are drawn so many times too large: a bar is some twenty times longer than thick.
const HEIGHT_FACTOR: f64 = 3.0;

/// The bar from the side with the next cut.
pub fn side(view: &BenchView) -> Markup {
    both("side", |sheet| {
        side_view(&SideView {
            shape: shape(view),
            bands: view.bands().iter().map(band).collect(),
            nodes_mm: nodes(view).iter().map(|n| n.centre_mm).collect(),
            least_mm: view.least_mm,
            height_factor: HEIGHT_FACTOR,
            sheet,
        })
    })
}

/// The bar from above with its node lines; nothing if they are not known.
pub fn plan(view: &BenchView) -> Markup {
    let nodes = nodes(view);
    if nodes.is_empty() {
        return html! {};
    }
    both("plan", |sheet| plan_view(&PlanView { shape: shape(view), nodes: nodes.clone(), sheet }))
}

/// A bar from above with its cord holes.
pub fn holes(view: &DrillView) -> Markup {
    let [length_mm, width_mm] = view.size_mm;
    let shape = BarShape {
        name: view.bar.name.clone(),
        length_mm,
        width_mm,
        // From above its thickness is not seen.
        underside_mm: vec![(0.0, view.below_top_mm), (length_mm, view.below_top_mm)],
    };
    let mark = |hole: &making::frame::Hole| {
        let [near_mm, far_mm] = hole.bench_m.map(|m| m * 1e3);
        NodeMark { near_mm, centre_mm: f64::midpoint(near_mm, far_mm), far_mm }
    };
    let nodes: Vec<NodeMark> = view.bar.holes.iter().map(mark).collect();
    both("holes", |sheet| plan_view(&PlanView { shape: shape.clone(), nodes: nodes.clone(), sheet }))
}

/// The modes against their targets; nothing if none is known.
pub fn modes(view: &BenchView) -> Markup {
    let Ok(advice) = &view.advice else { return html! {} };
    if advice.outlook.is_empty() {
        return html! {};
    }
    let ratios = view.targets.as_ref().map_or(&[][..], |t| t.ratios.as_slice());
    let cutting = advice.decision == Decision::Cut;
    let rungs: Vec<Rung> = advice
        .outlook
        .iter()
        .map(|o| Rung {
            name: format!(
                "mode {} ({})",
                o.mode,
                ratios.get(o.mode.wrapping_sub(1)).map_or_else(String::new, |r| units::ratio(*r))
            ),
            now: o.now_cents,
            now_sigma: o.now_sigma_cents,
            aim: o.aim_cents,
            expected: cutting.then_some((o.expected_cents, o.expected_sigma_cents)),
        })
        .collect();
    both("modes", |sheet| ladder(&Ladder { name: view.note.clone(), rungs: rungs.clone(), sheet }))
}

/// Node lines of mode 1 in millimetres.
pub fn nodes(view: &BenchView) -> Vec<NodeMark> {
    let first = view.modes.as_ref().and_then(|m| m.bending.first());
    let lines = first.map_or(&[][..], |mode| mode.node_lines.as_slice());
    lines
        .iter()
        .map(|l| NodeMark { near_mm: l.near_m * 1e3, centre_mm: l.centre_m * 1e3, far_mm: l.far_m * 1e3 })
        .collect()
}

/// A take with its modes.
pub fn take(id: &str, picture: &TakePicture) -> Markup {
    both(id, |sheet| take_picture(&TakePicture { sheet, ..picture.clone() }))
}

/// The drawing on both sheets, or in words why it cannot be drawn.
pub fn both(id: &str, draw: impl Fn(Sheet) -> Result<Drawing, PaperError>) -> Markup {
    let picture = |class: &str, sheet: Sheet| match draw(sheet) {
        Ok(drawing) => {
            let svg = svg::render(&drawing, &Options::on_page(&format!("{id}-{class}")));
            html! { div class={ "sheet " (class) } { (PreEscaped(svg)) } }
        }
        Err(error) => html! { p class={ "sheet " (class) } { "This cannot be drawn: " (error) "." } },
    };
    html! { (picture("narrow", Sheet::NARROW)) (picture("wide", Sheet::WIDE)) }
}

fn shape(view: &BenchView) -> BarShape {
    BarShape {
        name: view.note.clone(),
        length_mm: view.outline.length_mm(),
        width_mm: view.outline.width_mm,
        underside_mm: view.outline.stations_mm.clone(),
    }
}

fn band(band: &Band) -> BandMark {
    let half = match band.side {
        Side::Both => HalfMark::Both,
        Side::Left => HalfMark::Left,
        Side::Right => HalfMark::Right,
    };
    BandMark { from_mm: band.from_m * 1e3, to_mm: band.to_m * 1e3, depth_mm: band.depth_m * 1e3, half }
}

/// The bars of the table along the compass, without those given up; in words why where there are too many.
pub fn compass(view: &BarsView) -> Markup {
    let mut lines: Vec<&BarLine> = view.lines.iter().filter(|line| line.stage != Stage::Discarded).collect();
    if lines.len() > MOST_COMPASS_BARS {
        return html! { p { (lines.len()) " bars are too many for one picture (at most " (MOST_COMPASS_BARS) "); choose a state above." } };
    }
    if lines.is_empty() {
        return html! {};
    }
    // However the table is sorted: bars without a note stand first.
    lines.sort_by_key(|line| {
        line.note.as_ref().and_then(|note| note.parse::<Note>().ok()).map(|n| n.semitones_above_a4())
    });
    let bars: Vec<CompassBar> = lines.into_iter().map(compass_bar).collect();
    both("compass", |sheet| {
        compass_sheet(&Compass {
            name: view.instrument.name.clone(),
            bars: bars.clone(),
            tolerance_cents: TOLERANCE_CENTS,
            sheet,
        })
    })
}

fn compass_bar(line: &BarLine) -> CompassBar {
    CompassBar {
        name: line.note.clone().unwrap_or_else(|| line.label.clone()),
        cents: line.cents,
        sigma_cents: line.sigma_cents,
        stale: line.stale.is_some(),
        length_mm: line.length_mm,
        thickness_mm: (line.thickest_mm, line.thinnest_mm.1),
        // A line outside the bar is a slip of the pen; the table shows it as it was entered.
        nodes_mm: line.nodes.map_or_else(Vec::new, |(_, nodes)| {
            nodes.into_iter().filter(|node| (0.0..=line.length_mm).contains(node)).collect()
        }),
    }
}
