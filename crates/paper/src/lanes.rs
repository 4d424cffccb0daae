//! Places for dimension lines below or above a view, so that no figure is crossed by a line.
/// One dimension to be placed: a horizontal span with words on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// Left end.
    pub from_x: f64,
    /// Right end.
    pub to_x: f64,
    /// Width of the words.
    pub words_mm: f64,
    /// How far the line runs past both ends: room for arrowheads that stand outside.
    pub tail_mm: f64,
}

/// Where a dimension went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Lane, from 0 nearest the view.
    pub lane: usize,
    /// Middle of the words.
    pub words_x: f64,
}

/// From the dimension line up to the words: more than half an arrowhead.
const GAP_UNDER_MM: f64 = 0.75;
/// From the words up to the next dimension line, arrowheads included.
const GAP_ABOVE_MM: f64 = 0.85;

/// Most lanes tried: more would push the drawing off a phone.
const MOST_LANES: usize = 8;

/// Puts every span into a lane, words centred on it or, where they do not fit, beside it.
///
/// `uprights` are lines that cross all lanes (centre lines). The ends of a span come down from the view
/// and cross the lanes above its own. Words keep `clearance` from all of these and from each other and
/// stay inside `limits`. `None` if that cannot be had.
pub fn place(spans: &[Span], uprights: &[f64], limits: (f64, f64), clearance: f64) -> Option<Vec<Place>> {
    let mut order: Vec<usize> = (0..spans.len()).collect();
    // Short ones nearest the view, as draughtsmen do.
    order.sort_by(|a, b| width(&spans[*a]).total_cmp(&width(&spans[*b])).then(a.cmp(b)));
    let mut placed: Vec<Option<Place>> = vec![None; spans.len()];
    for index in order {
        let found = (0..MOST_LANES).find_map(|lane| {
            let lines = lines_through(spans, &placed, uprights, lane);
            let taken = taken_in(spans, &placed, lane, clearance);
            fit(&spans[index], lane, &lines, &taken, limits, clearance)
        });
        placed[index] = Some(found?);
    }
    placed.into_iter().collect()
}

fn width(span: &Span) -> f64 {
    span.to_x - span.from_x
}

/// Upright lines through `lane`: those of spans that lie there or farther out, or have no lane yet.
fn lines_through(spans: &[Span], placed: &[Option<Place>], uprights: &[f64], lane: usize) -> Vec<f64> {
    let crossing = spans.iter().zip(placed).filter(|(_, p)| p.is_none_or(|p| p.lane >= lane));
    let ends = crossing.flat_map(|(s, _)| [s.from_x, s.to_x]);
    uprights.iter().copied().chain(ends).collect()
}

/// Stretches of `lane` that dimension lines and words take up.
fn taken_in(spans: &[Span], placed: &[Option<Place>], lane: usize, clearance: f64) -> Vec<(f64, f64)> {
    let here = spans.iter().zip(placed).filter_map(|(s, p)| p.filter(|p| p.lane == lane).map(|p| (s, p)));
    here.map(|(s, p)| stretch(s, p.words_x, clearance)).collect()
}

/// The stretch a span takes up with its tails and its words at `words_x`.
fn stretch(span: &Span, words_x: f64, clearance: f64) -> (f64, f64) {
    let half = span.words_mm / 2.0 + clearance;
    ((span.from_x - span.tail_mm).min(words_x - half), (span.to_x + span.tail_mm).max(words_x + half))
}

/// A place for `span` in `lane`, if there is one.
fn fit(
    span: &Span,
    lane: usize,
    lines: &[f64],
    taken: &[(f64, f64)],
    (left, right): (f64, f64),
    clearance: f64,
) -> Option<Place> {
    let half = span.words_mm / 2.0 + clearance;
    let middle = (span.from_x + span.to_x) / 2.0;
    // Centred first, then ever farther to the right and to the left.
    let tries = std::iter::once(middle).chain((1..200).flat_map(|i| [middle + f64::from(i), middle - f64::from(i)]));
    tries
        .filter(|x| x - half >= left && x + half <= right)
        .find(|x| {
            let (from, to) = stretch(span, *x, clearance);
            let clear = lines.iter().all(|l| *l <= x - half || *l >= x + half);
            clear && taken.iter().all(|t| t.0 >= to || t.1 <= from)
        })
        .map(|words_x| Place { lane, words_x })
}

/// Baseline of words that stand on a dimension line at `line_y`.
pub fn baseline(line_y: f64, size_mm: f64) -> f64 {
    line_y - crate::lettering::DESCENT * size_mm - GAP_UNDER_MM
}

/// Height of a lane for lettering of `size_mm`: the words, a gap under and one above.
pub fn pitch_mm(size_mm: f64) -> f64 {
    (crate::lettering::ASCENT + crate::lettering::DESCENT) * size_mm + GAP_UNDER_MM + GAP_ABOVE_MM
}

/// From where to where the dimension line runs so that it carries its words and its tails.
pub fn reach(span: &Span, place: Place) -> (f64, f64) {
    stretch(span, place.words_x, 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_span_gets_its_words_beside_it_and_a_long_one_a_lane_farther_out() {
        let spans = [
            Span { from_x: 0.0, to_x: 60.0, words_mm: 20.0, tail_mm: 0.0 },
            Span { from_x: 0.0, to_x: 10.0, words_mm: 20.0, tail_mm: 0.0 },
        ];
        let places = place(&spans, &[], (-100.0, 100.0), 0.5).unwrap();
        assert_eq!(places[1].lane, 0);
        assert!(places[1].words_x - 10.0 >= 10.0, "beside its own end: {places:?}");
        assert_eq!(places[0].lane, 1, "the words of the short one fill lane 0 under the long one");
    }

    #[test]
    fn words_keep_clear_of_uprights() {
        let spans = [Span { from_x: -30.0, to_x: 30.0, words_mm: 20.0, tail_mm: 0.0 }];
        let places = place(&spans, &[0.0], (-100.0, 100.0), 0.5).unwrap();
        assert!(places[0].words_x.abs() >= 10.5, "{places:?}");
    }

    #[test]
    fn words_that_fit_nowhere_are_not_forced() {
        let spans = [Span { from_x: 0.0, to_x: 10.0, words_mm: 30.0, tail_mm: 0.0 }];
        assert_eq!(place(&spans, &[], (-20.0, 25.0), 0.5), None);
    }
}
