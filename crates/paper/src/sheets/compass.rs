//! A whole instrument at a glance: cents of each mode, node lines and the arch of every bar along the compass.
mod along;
mod cents;
mod wood;

pub use along::{CentsAlong, CentsBar, cents_along};

use super::{Sheet, furniture};
use crate::error::within;
use crate::lettering::width_mm;
use crate::{Anchor, Drawing, PaperError, Pen, Point};

/// One bar as the picture shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct CompassBar {
    /// The note it serves, or what it is called.
    pub name: String,
    /// Cents of modes 1–3 above their targets at the last reading; `None` for what was not heard or has no target.
    pub cents: [Option<f64>; 3],
    /// Standard uncertainty of that reading, in cents.
    pub sigma_cents: f64,
    /// True if the reading no longer tells how the bar stands.
    pub stale: bool,
    /// Length, in millimetres.
    pub length_mm: f64,
    /// Wood at the thickest and at the thinnest place, in millimetres.
    pub thickness_mm: (f64, f64),
    /// Node lines of mode 1 on the middle of the width, in millimetres from the left end; none if they are not known.
    pub nodes_mm: Vec<f64>,
}

/// What the picture shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Compass {
    /// Name of the instrument or of the workshop.
    pub name: String,
    /// The bars in the order of the compass.
    pub bars: Vec<CompassBar>,
    /// How far modes 1–3 of a finished bar may be off, in cents.
    pub tolerance_cents: [f64; 3],
    /// The paper.
    pub sheet: Sheet,
}

/// Most bars that can be told apart on one sheet.
pub const MOST_COMPASS_BARS: usize = 120;
/// Space between two parts of the picture.
const GAP_MM: f64 = 2.5;

/// The last mark must not hang over the edge, however narrow its column.
const EDGE_MM: f64 = 1.4;

/// Where the bars stand on the sheet.
struct Columns {
    left_mm: f64,
    right_mm: f64,
    pitch_mm: f64,
}

impl Columns {
    fn of(view: &Compass, sheet: Sheet) -> Self {
        let left_mm = width_mm("+1000", small(sheet)) + 2.6;
        // Bars of a short list stand together instead of spreading over the sheet.
        let pitch_mm = ((sheet.width_mm - left_mm - EDGE_MM) / count(view.bars.len())).min(16.0);
        Self { left_mm, right_mm: sheet.width_mm, pitch_mm }
    }

    /// Middle of a bar's column.
    fn x(&self, index: usize) -> f64 {
        self.left_mm + (count(index) + 0.5) * self.pitch_mm
    }

    /// Outlines of narrow bars are thin, or they would run together into one dark patch.
    fn outline_pen(&self) -> Pen {
        if self.pitch_mm < 3.0 { Pen::Text } else { Pen::Outline }
    }

    /// Half the width of what is drawn of a bar.
    fn half_mm(&self) -> f64 {
        (0.34 * self.pitch_mm).min(2.6)
    }
}

/// Exact: lists are short.
#[allow(clippy::cast_precision_loss)]
fn count(number: usize) -> f64 {
    number as f64
}

fn small(sheet: Sheet) -> f64 {
    0.85 * sheet.lettering_mm
}

/// Cents of modes 1, 2, 3 against their targets with the band a finished bar lies in, then the bars upright with their
/// node lines, then the wood left, one column a bar.
///
/// # Errors
/// [`PaperError`] without bars, with more than [`MOST_COMPASS_BARS`], or for a value that is not finite or out of range.
pub fn compass(view: &Compass) -> Result<Drawing, PaperError> {
    let sheet = view.sheet.checked()?;
    check(view)?;
    let columns = Columns::of(view, sheet);
    let mut drawing = Drawing::new(format!("All bars of {} along the compass", view.name), description(view));
    let mut y = names(&mut drawing, view, &columns, sheet, 0.0);
    for mode in 0..3 {
        if view.bars.iter().any(|bar| bar.cents[mode].is_some()) {
            y = cents::panel(&mut drawing, view, mode, &columns, y + GAP_MM);
        }
    }
    y = wood::lengths(&mut drawing, view, &columns, y + GAP_MM);
    y = wood::thickness(&mut drawing, view, &columns, y + GAP_MM);
    y = names(&mut drawing, view, &columns, sheet, y + 0.5);
    cents::legend(&mut drawing, view, y + 1.0);
    drawing.checked()
}

fn check(view: &Compass) -> Result<(), PaperError> {
    if view.bars.is_empty() {
        return Err(PaperError::Empty { what: "the list of bars", least: 1 });
    }
    within("the number of bars", count(view.bars.len()), 1.0, count(MOST_COMPASS_BARS))?;
    for (mode, tolerance) in view.tolerance_cents.iter().enumerate() {
        within(&format!("the tolerance of mode {} in cents", mode + 1), *tolerance, 0.1, 100.0)?;
    }
    for bar in &view.bars {
        let name = &bar.name;
        for cents in bar.cents.into_iter().flatten() {
            within(&format!("a reading of {name} in cents"), cents, -12_000.0, 12_000.0)?;
        }
        within(&format!("the uncertainty of {name} in cents"), bar.sigma_cents, 0.0, 12_000.0)?;
        within(&format!("the length of {name} in mm"), bar.length_mm, 1.0, 5_000.0)?;
        within(&format!("the thickness of {name} in mm"), bar.thickness_mm.0, 0.0, 500.0)?;
        within(&format!("the thinnest wood of {name} in mm"), bar.thickness_mm.1, 0.0, bar.thickness_mm.0)?;
        for node in &bar.nodes_mm {
            within(&format!("a node line of {name} in mm"), *node, 0.0, bar.length_mm)?;
        }
    }
    Ok(())
}

/// A row of names, each under its column where there is room: the Cs first, then what fits between; returns the bottom.
fn names(drawing: &mut Drawing, view: &Compass, columns: &Columns, sheet: Sheet, top: f64) -> f64 {
    let size = small(sheet);
    let base = furniture::row_baseline(top, size);
    let mut taken: Vec<(f64, f64)> = Vec::new();
    let is_c = |name: &str| name.starts_with('C') && !name.contains(['♯', '♭', '#']);
    for wanted in [true, false] {
        for (index, bar) in view.bars.iter().enumerate().filter(|(_, bar)| is_c(&bar.name) == wanted) {
            let half = width_mm(&bar.name, size) / 2.0;
            let (from, to) = (columns.x(index) - half, columns.x(index) + half);
            let air = 0.45 * size;
            let free = taken.iter().all(|(left, right)| to + air <= *left || from - air >= *right);
            if free && to <= columns.right_mm && from >= 0.0 {
                taken.push((from, to));
                drawing.text(Pen::Text, Point::new(columns.x(index), base), Anchor::Middle, size, bar.name.clone());
            }
        }
    }
    top + furniture::row_mm(size)
}

/// The title of a part, at the left; returns the bottom.
fn title(drawing: &mut Drawing, view: &Compass, top: f64, words: String) -> f64 {
    let size = small(view.sheet);
    drawing.text(Pen::Text, Point::new(0.0, furniture::row_baseline(top, size)), Anchor::Start, size, words);
    top + furniture::row_mm(size)
}

/// The picture in words.
fn description(view: &Compass) -> String {
    let names = match &view.bars[..] {
        [one] => format!("One bar, {}.", one.name),
        [first, .., last] => format!("{} bars from {} to {}.", view.bars.len(), first.name, last.name),
        [] => String::new(),
    };
    let modes: Vec<String> = (0..3).filter_map(|mode| cents::in_words(view, mode)).collect();
    let stale = view.bars.iter().filter(|bar| bar.stale).count();
    let known = view.bars.iter().filter(|bar| !bar.nodes_mm.is_empty()).count();
    let thinnest = view.bars.iter().min_by(|a, b| a.thickness_mm.1.total_cmp(&b.thickness_mm.1));
    let thinnest = thinnest.map_or(String::new(), |bar| {
        format!(" The thinnest wood is {} on {}.", crate::measure::fine_mm(bar.thickness_mm.1), bar.name)
    });
    format!("{names} {} Readings that are stale: {stale}. Node lines known of {known}.{thinnest}", modes.join(" "))
}

#[cfg(test)]
mod tests;
