//! The modes against their targets: now, aim and what is expected after the cut, in cents.
use super::{Sheet, furniture};
use crate::error::within;
use crate::lettering::width_mm;
use crate::measure::cents;
use crate::{Anchor, Drawing, Fill, PaperError, Pen, Point, Rect};

/// One mode, all in cents above its target.
#[derive(Debug, Clone, PartialEq)]
pub struct Rung {
    /// Name: "mode 2 (×4)".
    pub name: String,
    /// Best estimate now.
    pub now: f64,
    /// Its standard uncertainty.
    pub now_sigma: f64,
    /// Where this stage wants it.
    pub aim: f64,
    /// Expected after the planned cut, with its standard uncertainty; `None` when nothing is cut.
    pub expected: Option<(f64, f64)>,
}

/// What the ladder shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Ladder {
    /// Name of the bar, for the title.
    pub name: String,
    /// Modes, lowest first.
    pub rungs: Vec<Rung>,
    /// The paper.
    pub sheet: Sheet,
}

/// From cents to the sheet.
struct Axis {
    low: f64,
    per_cent_mm: f64,
    step: f64,
}

impl Axis {
    fn x(&self, value: f64) -> f64 {
        (value - self.low) * self.per_cent_mm
    }
}

/// Now (filled), expected (open) and aim (upright blue line) of each mode on a common scale of cents; flat of the target is hatched.
///
/// Whiskers are two standard uncertainties to each side.
///
/// # Errors
/// [`PaperError`] without rungs, for a value that is not finite, or beyond 12 000 cents (ten octaves).
pub fn ladder(view: &Ladder) -> Result<Drawing, PaperError> {
    let sheet = view.sheet.checked()?;
    check(&view.rungs)?;
    let axis = axis(&view.rungs, sheet.width_mm, sheet.lettering_mm);
    let size = sheet.lettering_mm;
    let mut drawing = Drawing::new(format!("Modes of bar {} against their targets", view.name), description(view));
    let mut y = 0.0;
    for rung in &view.rungs {
        y = draw_rung(&mut drawing, rung, &axis, sheet, y);
    }
    draw_axis(&mut drawing, &axis, sheet, y);
    let words = furniture::row_baseline(y + furniture::row_mm(size * 0.85) + 1.0, size * 0.85);
    drawing.text(Pen::Faint, Point::new(sheet.width_mm, words), Anchor::End, size * 0.85, "cents from the target");
    drawing.checked()
}

/// Refuses what cannot be drawn.
fn check(rungs: &[Rung]) -> Result<(), PaperError> {
    if rungs.is_empty() {
        return Err(PaperError::Empty { what: "the list of modes", least: 1 });
    }
    for rung in rungs {
        for (what, value) in [("now", rung.now), ("aim", rung.aim), ("expected", rung.expected.map_or(0.0, |e| e.0))] {
            within(&format!("{what} of {} in cents", rung.name), value, -12_000.0, 12_000.0)?;
        }
        for (what, value) in [("now", rung.now_sigma), ("expected", rung.expected.map_or(0.0, |e| e.1))] {
            within(&format!("the uncertainty of {what} of {} in cents", rung.name), value, 0.0, 12_000.0)?;
        }
    }
    Ok(())
}

/// A range that holds every value, whiskers as far as they tell something, and the target.
fn axis(rungs: &[Rung], width_mm_: f64, size: f64) -> Axis {
    let values = rungs.iter().flat_map(|r| {
        let expected = r.expected.map_or(r.now, |e| e.0);
        // Whiskers wider than 100 cents run off the sheet instead of squeezing the rest.
        let whisker = (2.0 * r.now_sigma.max(r.expected.map_or(0.0, |e| e.1))).min(100.0);
        [r.now.min(expected) - whisker, r.now.max(expected) + whisker, r.aim, 0.0]
    });
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    let margin = ((high - low) * 0.06).max(6.0);
    let (low, high) = (low - margin, high + margin);
    let most_ticks = (width_mm_ / (width_mm("+1000", size * 0.85) + 4.0)).max(2.0);
    let step = [5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0]
        .into_iter()
        .find(|s| (high - low) / s <= most_ticks)
        .unwrap_or(5000.0);
    Axis { low, per_cent_mm: width_mm_ / (high - low), step }
}

/// One mode: its name and figures, and under them the marks; returns the bottom.
fn draw_rung(drawing: &mut Drawing, rung: &Rung, axis: &Axis, sheet: Sheet, top: f64) -> f64 {
    let size = sheet.lettering_mm;
    let base = furniture::row_baseline(top, size);
    drawing.text(Pen::Text, Point::new(0.0, base), Anchor::Start, size, rung.name.clone());
    drawing.text(Pen::Text, Point::new(sheet.width_mm, base), Anchor::End, size, figures(rung));
    let lane = Rect::new(0.0, top + furniture::row_mm(size), sheet.width_mm, top + furniture::row_mm(size) + 8.0);
    let flat = Rect::new(0.0, lane.min.y, axis.x(0.0).clamp(0.0, sheet.width_mm), lane.max.y);
    let corners = [flat.min, Point::new(flat.max.x, flat.min.y), flat.max, Point::new(flat.min.x, flat.max.y)];
    drawing.hatch(Pen::Cut, &corners, 2.4);
    drawing.line(Pen::Faint, Point::new(0.0, lane.max.y), Point::new(sheet.width_mm, lane.max.y));
    drawing.line(Pen::Outline, Point::new(axis.x(0.0), lane.min.y), Point::new(axis.x(0.0), lane.max.y));
    drawing.line(Pen::Node, Point::new(axis.x(rung.aim), lane.min.y - 0.4), Point::new(axis.x(rung.aim), lane.max.y));
    if let Some((value, sigma)) = rung.expected {
        mark(drawing, axis, sheet.width_mm, (value, sigma), lane.min.y + 5.6, Fill::Sheet);
    }
    mark(drawing, axis, sheet.width_mm, (rung.now, rung.now_sigma), lane.min.y + 2.4, Fill::Solid);
    lane.max.y + 1.0
}

/// A dot with whiskers of two standard uncertainties, cut off at the edges of the sheet.
fn mark(drawing: &mut Drawing, axis: &Axis, right: f64, (value, sigma): (f64, f64), y: f64, fill: Fill) {
    let (from, to) = (axis.x(value - 2.0 * sigma), axis.x(value + 2.0 * sigma));
    drawing.line(Pen::Text, Point::new(from.max(0.0), y), Point::new(to.min(right), y));
    for end in [from, to] {
        if (0.0..=right).contains(&end) {
            drawing.line(Pen::Text, Point::new(end, y - 0.8), Point::new(end, y + 0.8));
        }
    }
    drawing.circle(Pen::Text, Point::new(axis.x(value), y), 1.3, fill);
}

/// "+168 → +104 · aim +102".
fn figures(rung: &Rung) -> String {
    let after = rung.expected.map_or(String::new(), |(value, _)| format!(", then {}", cents(value)));
    format!("{}{after} · aim {}", cents(rung.now), cents(rung.aim))
}

/// Ticks and their figures.
fn draw_axis(drawing: &mut Drawing, axis: &Axis, sheet: Sheet, y: f64) {
    let size = sheet.lettering_mm * 0.85;
    let high = axis.low + sheet.width_mm / axis.per_cent_mm;
    let mut index = (axis.low / axis.step).ceil();
    while index * axis.step <= high {
        let value = index * axis.step;
        let (x, words) = (axis.x(value), cents(value));
        let half = width_mm(&words, size) / 2.0;
        if x - half >= 0.0 && x + half <= sheet.width_mm {
            drawing.text(
                Pen::Faint,
                Point::new(x, furniture::row_baseline(y + 0.8, size)),
                Anchor::Middle,
                size,
                words,
            );
        }
        index += 1.0;
    }
}

/// The drawing in words.
fn description(view: &Ladder) -> String {
    let rungs: Vec<String> = view
        .rungs
        .iter()
        .map(|r| {
            let after =
                r.expected.map_or(String::new(), |(v, s)| format!(", expected {} ±{:.0} after the cut", cents(v), s));
            format!("{} is at {} ±{:.0} cents, aim {}{after}", r.name, cents(r.now), r.now_sigma, cents(r.aim))
        })
        .collect();
    format!("{}.", rungs.join("; "))
}
