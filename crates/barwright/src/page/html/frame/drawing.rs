//! The frame from above, drawn in its own millimetres, with handles at the rails' ends and bends.
use crate::page::places::frame::{Laid, Standing};
use crate::report::frame::doubtful;
use crate::report::units::plain;
use making::frame::{FittedBar, FramePlan, Row, RowFit};
use maud::{Markup, PreEscaped, html};
use std::fmt::Write;

/// The whole drawing is that many letters wide: names stay readable on a sheet of any length.
const LETTERS: f64 = 95.0;
/// A handle is that share of the drawing's width: 20 mm of glass on a desk's screen, less on a phone.
const HANDLE_SHARE: f64 = 0.032;

/// Where a millimetre of the frame lies in the drawing, whose y runs downwards.
struct Paper {
    left: f64,
    top: f64,
    width: f64,
    height: f64,
    letter: f64,
}

impl Paper {
    fn around(plan: &FramePlan) -> Self {
        let bars = || plan.rows.iter().flat_map(|row| &row.bars);
        let x = |sign: f64| bars().map(move |b| (b.bar.centre_x_m + sign * b.bar.width_m / 2.0) * 1e3);
        let (left, right) = (x(-1.0).fold(f64::INFINITY, f64::min), x(1.0).fold(f64::NEG_INFINITY, f64::max));
        let low = bars().map(|b| b.ends_y_m()[0] * 1e3).fold(f64::INFINITY, f64::min);
        let high = bars().map(|b| b.ends_y_m()[1] * 1e3).fold(f64::NEG_INFINITY, f64::max);
        let letter = (right - left) / LETTERS;
        // Half a handle on either side, a row of names above and below.
        let (side, row) = ((right - left) * HANDLE_SHARE, 1.8 * letter);
        Self {
            left: left - side,
            top: high + row,
            width: right - left + 2.0 * side,
            height: high - low + 2.0 * row,
            letter,
        }
    }

    fn at(&self, x_m: f64, y_m: f64) -> (f64, f64) {
        (x_m * 1e3 - self.left, self.top - y_m * 1e3)
    }
}

/// The drawing.
pub(super) fn frame(laid: &Laid, standing: Option<&Standing>) -> Markup {
    let plan = &laid.plan;
    let paper = Paper::around(plan);
    let mut inside = String::new();
    for row in &plan.rows {
        let marked = doubtful(row);
        for bar in &row.bars {
            draw_bar(&mut inside, &paper, row.row, bar, marked.contains(&bar.bar.name));
        }
    }
    for post in &laid.members.posts {
        let (x, y) = paper.at(post.x_m, post.y_m);
        let _ = write!(inside, r#"<circle class="pen-faint" cx="{x:.1}" cy="{y:.1}" r="{:.1}"/>"#, paper.letter * 0.16);
    }
    for rail in standing.iter().flat_map(|standing| &standing.plan.rows).flat_map(|row| &row.rails) {
        polyline(&mut inside, &paper, rail.points(), "pen-cut");
    }
    for row in &plan.rows {
        for (index, rail) in row.rails.iter().enumerate() {
            polyline(&mut inside, &paper, rail.points(), "pen-rail");
            handles(&mut inside, &paper, row, index);
        }
    }
    let svg = format!(
        r#"<svg class="drawing frame-plan" viewBox="0 0 {:.1} {:.1}" data-per-mm="1" role="group" aria-label="{}">{inside}</svg>"#,
        paper.width,
        paper.height,
        description(plan)
    );
    html! {
        (PreEscaped(svg))
        p .small .frame-key { "From above, player below. Solid lines: the cords. Thin lines across the bars: node lines as read. Rings: move a rail's end; with the keyboard: arrows, a millimetre each."
            @if standing.is_some() { " Red: the rails as they stand." } }
    }
}

fn description(plan: &FramePlan) -> String {
    let count = |row: Row| plan.rows.iter().filter(|fit| fit.row == row).map(|fit| fit.bars.len()).sum::<usize>();
    format!(
        "The frame from above: {} naturals and {} accidentals over {} mm, on {} rails.",
        count(Row::Natural),
        count(Row::Accidental),
        plain(plan.layout.overall_m * 1e3, 0),
        2 * plan.rows.len()
    )
}

fn draw_bar(out: &mut String, paper: &Paper, row: Row, bar: &FittedBar, doubtful: bool) {
    let half = bar.bar.width_m / 2.0;
    let x = bar.bar.centre_x_m;
    let [player, far] = bar.ends_y_m();
    let (left, top) = paper.at(x - half, far);
    let (width, height) = (2e3 * half, (far - player) * 1e3);
    let _ = write!(
        out,
        r#"<rect class="pen-outline" x="{left:.1}" y="{top:.1}" width="{width:.1}" height="{height:.1}"/>"#
    );
    if !bar.interpolated {
        for line in [bar.nodes.player_m, bar.nodes.away_m] {
            let ((x1, y1), (x2, y2)) = (paper.at(x - half, player + line[0]), paper.at(x + half, player + line[1]));
            let _ = write!(out, r#"<line class="pen-node" x1="{x1:.1}" y1="{y1:.1}" x2="{x2:.1}" y2="{y2:.1}"/>"#);
        }
    }
    let name = if doubtful { format!("! {}", bar.bar.name) } else { bar.bar.name.clone() };
    // As large as the bar's width lets it be: three letters are about twice as wide as high.
    let size = paper.letter.min(width * 0.42);
    let (middle, end) = paper.at(x, if row == Row::Accidental { far } else { player });
    let y = if row == Row::Accidental { end - 0.35 * size } else { end + 1.05 * size };
    let class = if doubtful { "fill-caution" } else { "fill-text" };
    let _ = write!(
        out,
        r#"<text class="{class}" text-anchor="middle" font-size="{size:.1}" x="{middle:.1}" y="{y:.1}">{name}</text>"#
    );
}

fn polyline(out: &mut String, paper: &Paper, points: &[(f64, f64)], class: &str) {
    let places: Vec<String> = points
        .iter()
        .map(|(x, y)| {
            let (x, y) = paper.at(*x, *y);
            format!("{x:.1},{y:.1}")
        })
        .collect();
    let _ = write!(out, r#"<polyline class="{class}" fill="none" points="{}"/>"#, places.join(" "));
}

/// A ring at each end and bend of a rail: a slider that moves it away from the player or towards him.
fn handles(out: &mut String, paper: &Paper, row: &RowFit, rail: usize) {
    let (row_word, rail_word) = crate::report::members::rail_words(row.row, rail);
    let points = row.rails[rail].points();
    for (number, (x_m, y_m)) in points.iter().enumerate() {
        let (x, y) = paper.at(*x_m, *y_m);
        let place = match number {
            0 => "bass end",
            last if last + 1 == points.len() => "treble end",
            _ => "bend",
        };
        let now = y_m * 1e3;
        let (hit, ring) = (paper.width * HANDLE_SHARE, paper.letter * 0.45);
        let _ = write!(
            out,
            r#"<g class="handle" id="handle-{row_word}-{rail_word}-{number}" data-handle="{row_word}-{rail_word}-{number}" role="slider" tabindex="0" aria-orientation="vertical" aria-label="{}, {place}" aria-valuemin="-10000" aria-valuemax="10000" aria-valuenow="{now:.2}" aria-valuetext="{} mm away"><circle class="hit" cx="{x:.1}" cy="{y:.1}" r="{hit:.1}"/><circle class="ring" cx="{x:.1}" cy="{y:.1}" r="{ring:.1}"/></g>"#,
            crate::report::members::rail_name(row.row, rail),
            plain(now, 1),
        );
    }
}
