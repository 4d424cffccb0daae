//! The cents of one mode along the compass, and what its marks mean.
use super::{Columns, Compass, CompassBar, small, title};
use crate::measure;
use crate::sheets::furniture;
use crate::{Anchor, Drawing, Fill, Pen, Point, Rect};
use words::tell;

const HEIGHT_MM: f64 = 24.0;
/// Readings further away are drawn at the edge: a blank two octaves sharp must not flatten the rest.
const LOWEST_CENTS: f64 = -60.0;
const HIGHEST_CENTS: f64 = 140.0;
/// Half the size of a mark.
const MARK_MM: f64 = 1.15;

/// Where a reading lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Lies {
    Within,
    Sharp,
    Flat,
}

fn lies(cents: f64, tolerance: f64) -> Lies {
    match cents {
        c if c.abs() <= tolerance => Lies::Within,
        c if c > 0.0 => Lies::Sharp,
        _ => Lies::Flat,
    }
}

/// From cents to the sheet.
struct Scale {
    rect: Rect,
    low: f64,
    high: f64,
}

impl Scale {
    fn y(&self, cents: f64) -> f64 {
        let share = (cents.clamp(self.low, self.high) - self.low) / (self.high - self.low);
        self.rect.max.y - share * self.rect.height()
    }
}

fn scale(view: &Compass, mode: usize, columns: &Columns, top: f64) -> Scale {
    let tolerance = view.tolerance_cents[mode];
    let readings = view.bars.iter().filter_map(|bar| bar.cents[mode]);
    let (low, high) = readings.fold((-2.0 * tolerance, 2.0 * tolerance), |(low, high), c| (low.min(c), high.max(c)));
    let (low, high) = (low.max(LOWEST_CENTS), high.min(HIGHEST_CENTS));
    // Room for half a mark at both edges.
    let room = (high - low) * (MARK_MM + 0.4) / (HEIGHT_MM - 2.0 * MARK_MM);
    let rect = Rect::new(columns.left_mm, top, columns.right_mm, top + HEIGHT_MM);
    Scale { rect, low: low - room, high: high + room }
}

/// One mode: its title, the band of a finished bar, and a mark a bar; returns the bottom.
pub(super) fn panel(drawing: &mut Drawing, view: &Compass, mode: usize, columns: &Columns, top: f64) -> f64 {
    let tolerance = view.tolerance_cents[mode];
    let words = tell!("cents-mode", mode = mode + 1, cents = words::number(crate::number::number(tolerance)));
    let top = title(drawing, view, top, words);
    let scale = scale(view, mode, columns, top);
    let (left, right) = (scale.rect.min.x, scale.rect.max.x);
    let band = Rect::new(left, scale.y(tolerance), right, scale.y(-tolerance));
    let corners = [band.min, Point::new(right, band.min.y), band.max, Point::new(left, band.max.y)];
    drawing.hatch(Pen::Faint, &corners, 1.6);
    drawing.rectangle(Pen::Faint, scale.rect, Fill::None);
    for edge in [band.min.y, band.max.y] {
        drawing.line(Pen::Done, Point::new(left, edge), Point::new(right, edge));
    }
    drawing.line(Pen::Outline, Point::new(left, scale.y(0.0)), Point::new(right, scale.y(0.0)));
    ticks(drawing, view, &scale);
    for (index, bar) in view.bars.iter().enumerate() {
        if let Some(cents) = bar.cents[mode] {
            mark(drawing, bar, columns.x(index), (cents, tolerance), &scale);
        }
    }
    scale.rect.max.y
}

/// Figures at the left edge.
fn ticks(drawing: &mut Drawing, view: &Compass, scale: &Scale) {
    let size = small(view.sheet);
    let most = (HEIGHT_MM / (1.5 * size)).max(2.0);
    let steps = [2.0, 5.0, 10.0, 20.0, 50.0, 100.0];
    let step = steps.into_iter().find(|step| (scale.high - scale.low) / step <= most).unwrap_or(200.0);
    let mut index = (scale.low / step).ceil();
    while index * step <= scale.high {
        let (cents, y) = (index * step, scale.y(index * step));
        let half = 0.36 * size;
        // A figure that would hang over the edge would touch what stands above or below.
        if y - half >= scale.rect.min.y - 0.5 && y + half <= scale.rect.max.y + 0.5 {
            drawing.line(Pen::Faint, Point::new(scale.rect.min.x - 1.0, y), Point::new(scale.rect.min.x, y));
            let at = Point::new(scale.rect.min.x - 1.8, y + half);
            drawing.text(Pen::Faint, at, Anchor::End, size, measure::cents(cents));
        }
        index += 1.0;
    }
}

/// The reading with whiskers of two standard uncertainties.
fn mark(drawing: &mut Drawing, bar: &CompassBar, x: f64, (cents, tolerance): (f64, f64), scale: &Scale) {
    let y = scale.y(cents);
    let whisker = 2.0 * bar.sigma_cents;
    drawing.line(Pen::Text, Point::new(x, scale.y(cents - whisker)), Point::new(x, scale.y(cents + whisker)));
    shape(drawing, lies(cents, tolerance), bar.stale, Point::new(x, y));
}

/// Dot, triangle up or triangle down; hollow if the reading is stale.
fn shape(drawing: &mut Drawing, lies: Lies, stale: bool, at: Point) {
    let fill = if stale { Fill::Sheet } else { Fill::Solid };
    let triangle = |up: f64| {
        let corner = |dx: f64, dy: f64| Point::new(at.x + dx * MARK_MM, at.y + up * dy * MARK_MM);
        vec![corner(0.0, -1.0), corner(1.0, 0.8), corner(-1.0, 0.8)]
    };
    match lies {
        Lies::Within => drawing.circle(Pen::Done, at, 0.9 * MARK_MM, fill),
        Lies::Sharp => drawing.polygon(Pen::Text, triangle(1.0), fill),
        Lies::Flat => drawing.polygon(Pen::Cut, triangle(-1.0), fill),
    }
}

/// What the marks mean.
pub(super) fn legend(drawing: &mut Drawing, view: &Compass, top: f64) {
    let size = small(view.sheet);
    let marks = [
        (Lies::Within, false, tell!("cents-within")),
        (Lies::Sharp, false, tell!("cents-sharp")),
        (Lies::Flat, false, tell!("cents-flat")),
        (Lies::Within, true, tell!("cents-stale")),
    ];
    let (mut x, mut y) = (0.0, top);
    for (lies, stale, words) in marks {
        let width = 2.0 * MARK_MM + 1.5 + crate::lettering::width_mm(&words, size);
        if x > 0.0 && x + width > view.sheet.width_mm {
            (x, y) = (0.0, y + furniture::row_mm(size));
        }
        let base = furniture::row_baseline(y, size);
        shape(drawing, lies, stale, Point::new(x + MARK_MM, base - 0.36 * size));
        drawing.text(Pen::Text, Point::new(x + 2.0 * MARK_MM + 1.5, base), Anchor::Start, size, words);
        x += width + 5.0;
    }
    let entry = |pen, sample, words: String| furniture::Entry { pen, sample, words };
    let mut entries = vec![entry(Pen::Done, furniture::Sample::Line, tell!("legend-band"))];
    if view.bars.iter().any(|bar| !bar.nodes_mm.is_empty()) {
        entries.push(entry(Pen::Node, furniture::Sample::Line, tell!("legend-node")));
    }
    furniture::legend(drawing, (0.0, view.sheet.width_mm), y + furniture::row_mm(size), size, &entries);
}

/// "Mode 1: 3 within ±2 cents, 4 sharp, 1 flat."; nothing if no bar was heard in it.
pub(super) fn in_words(view: &Compass, mode: usize) -> Option<String> {
    let tolerance = view.tolerance_cents[mode];
    let heard: Vec<f64> = view.bars.iter().filter_map(|bar| bar.cents[mode]).collect();
    let count = |wanted: Lies| heard.iter().filter(|cents| lies(**cents, tolerance) == wanted).count();
    (!heard.is_empty()).then(|| {
        let beyond = heard.iter().filter(|c| !(LOWEST_CENTS..=HIGHEST_CENTS).contains(*c)).count();
        let beyond = if beyond == 0 { String::new() } else { format!(" ({beyond} beyond the edge)") };
        format!(
            "Mode {}: {} within ±{} cents, {} sharp, {} flat{beyond}.",
            mode + 1,
            count(Lies::Within),
            crate::number::number(tolerance),
            count(Lies::Sharp),
            count(Lies::Flat)
        )
    })
}
