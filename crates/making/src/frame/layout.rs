//! Places of the bars along the frame.
use super::Row;
use crate::error::{MakingError, in_range};

/// Semitones of the octave that are naturals, counted from C.
const NATURALS: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];

/// A bar to be laid out.
#[derive(Debug, Clone, PartialEq)]
pub struct LayoutBar {
    /// How it is called, e.g. "C♯3".
    pub name: String,
    /// Semitones from any C.
    pub semitone: i32,
    /// Width in metres.
    pub width_m: f64,
}

/// Space between neighbouring bars of a row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// In metres; 12.7 mm (half an inch) is common practice, no source.
    pub between_m: f64,
}

impl Default for Gap {
    fn default() -> Self {
        Self { between_m: 0.0127 }
    }
}

/// Where a bar lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Its row.
    pub row: Row,
    /// Middle of its width along the frame, metres from the bass end of the row's first edge.
    pub centre_x_m: f64,
}

/// All bars along the frame, in the order they were given.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// One place per bar.
    pub places: Vec<Place>,
    /// From the first bar's edge to the last bar's.
    pub overall_m: f64,
    /// Neighbouring accidentals with less than the gap between them: their names and the space in metres (negative: they
    /// overlap).
    pub tight: Vec<(String, String, f64)>,
}

/// The row a note belongs to on an instrument with two rows.
pub fn row_of(semitone: i32) -> Row {
    if NATURALS.contains(&semitone.rem_euclid(12)) { Row::Natural } else { Row::Accidental }
}

/// Lays bars out from the bass up: naturals side by side, each accidental over the gap of its two naturals.
///
/// With `one_row` all bars lie side by side. An accidental beyond the last natural lies over where its gap would be.
///
/// # Errors
/// [`MakingError`] for no bars, bars not in rising order, a width or gap out of range, or an accidental without any
/// natural beside it.
pub fn lay_out(bars: &[LayoutBar], gap: Gap, one_row: bool) -> Result<Layout, MakingError> {
    check(bars, gap)?;
    let row = |bar: &LayoutBar| if one_row { Row::Natural } else { row_of(bar.semitone) };
    let mut places: Vec<Option<Place>> = vec![None; bars.len()];
    let mut edge_m = 0.0;
    for (index, bar) in bars.iter().enumerate().filter(|(_, bar)| row(bar) == Row::Natural) {
        places[index] = Some(Place { row: Row::Natural, centre_x_m: edge_m + bar.width_m / 2.0 });
        edge_m += bar.width_m + gap.between_m;
    }
    let natural = |semitone: i32| {
        let index = bars.iter().position(|b| b.semitone == semitone)?;
        places[index].map(|place| (place.centre_x_m, bars[index].width_m))
    };
    let half_gap = gap.between_m / 2.0;
    let mut accidentals = Vec::new();
    for (index, bar) in bars.iter().enumerate().filter(|(_, bar)| row(bar) == Row::Accidental) {
        let below = natural(bar.semitone - 1).map(|(x, width)| x + width / 2.0 + half_gap);
        let above = natural(bar.semitone + 1).map(|(x, width)| x - width / 2.0 - half_gap);
        let centre_x_m = match (below, above) {
            // With both naturals there, these are the same place unless a natural between them is missing.
            (Some(a), Some(b)) => f64::midpoint(a, b),
            (Some(x), None) | (None, Some(x)) => x,
            (None, None) => {
                return Err(MakingError::new(
                    "no_natural",
                    format!("{} has no natural beside it to be centred on", bar.name),
                    "add the natural below or above it, or lay all bars in one row",
                ));
            }
        };
        accidentals.push((index, Place { row: Row::Accidental, centre_x_m }));
    }
    let tight = tight(bars, &accidentals, gap);
    for (index, place) in accidentals {
        places[index] = Some(place);
    }
    let places: Vec<Place> = places.into_iter().flatten().collect();
    let edges = |sign: f64| places.iter().zip(bars).map(move |(p, b)| p.centre_x_m + sign * b.width_m / 2.0);
    let (first, last) = (edges(-1.0).fold(f64::INFINITY, f64::min), edges(1.0).fold(f64::NEG_INFINITY, f64::max));
    Ok(Layout { places, overall_m: last - first, tight })
}

fn check(bars: &[LayoutBar], gap: Gap) -> Result<(), MakingError> {
    if bars.is_empty() {
        return Err(MakingError::new("no_bars", "there are no bars to lay out", "give at least one bar"));
    }
    in_range("the gap between bars", gap.between_m * 1e3, 1.0, 100.0, "mm", "12.7 mm (1/2 in) is usual")?;
    for bar in bars {
        let what = format!("the width of {}", bar.name);
        in_range(&what, bar.width_m * 1e3, 10.0, 150.0, "mm", "give the width in millimetres")?;
    }
    match bars.windows(2).find(|pair| pair[1].semitone <= pair[0].semitone) {
        Some(pair) => Err(MakingError::new(
            "not_in_order",
            format!("{} comes after {}", pair[1].name, pair[0].name),
            "list every note once, from the bass to the treble",
        )),
        None => Ok(()),
    }
}

/// Neighbouring accidentals (at most a whole tone apart) that leave less than the gap between them.
fn tight(bars: &[LayoutBar], accidentals: &[(usize, Place)], gap: Gap) -> Vec<(String, String, f64)> {
    // Rounding of sums of widths is below a nanometre.
    const ROUNDING_M: f64 = 1e-9;
    let space = |a: &(usize, Place), b: &(usize, Place)| {
        b.1.centre_x_m - a.1.centre_x_m - (bars[a.0].width_m + bars[b.0].width_m) / 2.0
    };
    let name = |at: &(usize, Place)| bars[at.0].name.clone();
    let pairs = accidentals.windows(2).map(|pair| (name(&pair[0]), name(&pair[1]), space(&pair[0], &pair[1])));
    pairs.filter(|(_, _, space_m)| *space_m < gap.between_m - ROUNDING_M).collect()
}

/// How far each accidental's end lies over the longer of the two naturals beside it: (x, overlap), negative where a gap
/// is left.
///
/// `naturals` and `accidentals` hold (x, y of the end concerned): far ends of the naturals, player's ends of the
/// accidentals. Empty if either row is.
pub fn overlaps_m(naturals: &[(f64, f64)], accidentals: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let far_end_at = |x: f64| {
        let mut near: Vec<&(f64, f64)> = naturals.iter().collect();
        near.sort_by(|a, b| (a.0 - x).abs().total_cmp(&(b.0 - x).abs()));
        near.iter().take(2).map(|(_, y)| *y).reduce(f64::max)
    };
    accidentals.iter().filter_map(|(x, y)| Some((*x, far_end_at(*x)? - y))).collect()
}
