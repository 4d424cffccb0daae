use super::*;
use crate::{Item, svg};

/// An invented bar of a compass: shorter and thinner with the pitch.
fn bar(index: usize, of: usize, cents: [Option<f64>; 3]) -> CompassBar {
    let share = count(index) / count(of.max(2) - 1);
    let names = ["C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B"];
    let length_mm = 470.0 - 280.0 * share;
    CompassBar {
        name: format!("{}{}", names[index % 12], 2 + index / 12),
        cents,
        sigma_cents: 0.8,
        stale: index % 7 == 3,
        length_mm,
        thickness_mm: (23.0 - 3.0 * share, 9.0 + 3.0 * share),
        nodes_mm: if index.is_multiple_of(3) { vec![0.21 * length_mm, 0.79 * length_mm] } else { Vec::new() },
    }
}

fn view(bars: usize, sheet: Sheet) -> Compass {
    let cents = |index: usize| {
        let off = count(index * 37 % 61);
        [Some(off - 8.0), Some(0.2 * off - 6.0), (index.is_multiple_of(2)).then_some(3.0 * off - 20.0)]
    };
    let bars = (0..bars).map(|index| bar(index, bars, cents(index))).collect();
    Compass { name: "an invented marimba".to_owned(), bars, tolerance_cents: [2.0, 5.0, 10.0], sheet }
}

#[test]
fn a_small_compass_stays_as_it_is() {
    let drawing = compass(&view(3, Sheet::NARROW)).unwrap();
    insta::assert_snapshot!(svg::render(&drawing, &svg::Options::on_page("compass")));
}

#[test]
fn no_name_or_figure_lies_over_another_on_any_sheet() {
    for sheet in [Sheet::NARROW, Sheet::WIDE] {
        for bars in [1, 5, 37, 61, MOST_COMPASS_BARS] {
            let drawing = compass(&view(bars, sheet)).unwrap();
            let words: Vec<_> =
                drawing.collisions(0.0).into_iter().filter(|hit| !hit.with.starts_with("a line of")).collect();
            assert!(words.is_empty(), "{bars} bars on {} mm: {words:?}", sheet.width_mm);
            let bounds = drawing.bounds().unwrap();
            assert!(bounds.min.x >= -1.0 && bounds.max.x <= sheet.width_mm + 1.0, "{bars}: {bounds:?}");
        }
    }
}

#[test]
fn a_mark_tells_by_its_shape_where_the_reading_lies() {
    let mut view = view(3, Sheet::WIDE);
    for (bar, cents) in view.bars.iter_mut().zip([1.0, 30.0, -30.0]) {
        (bar.cents, bar.stale, bar.nodes_mm) = ([Some(cents), None, None], false, Vec::new());
    }
    let drawing = compass(&view).unwrap();
    // One of each in the picture, one more in the legend (and the hollow dot there).
    let filled = |pen: Pen| {
        let solid = |item: &&Item| match item {
            Item::Arc { pen: p, fill: crate::Fill::Solid, .. } => *p == pen,
            Item::Polygon { pen: p, points, fill: crate::Fill::Solid } => *p == pen && points.len() == 3,
            _ => false,
        };
        drawing.items().iter().filter(solid).count()
    };
    assert_eq!((filled(Pen::Done), filled(Pen::Text), filled(Pen::Cut)), (2, 2, 2));
    assert!(drawing.description.contains("Mode 1: 1 within ±2 cents, 1 sharp, 1 flat."), "{}", drawing.description);
    assert!(!drawing.description.contains("Mode 2"), "{}", drawing.description);
}

#[test]
fn what_cannot_be_drawn_is_refused_with_its_value() {
    assert!(matches!(compass(&view(0, Sheet::WIDE)), Err(PaperError::Empty { .. })));
    assert!(compass(&view(MOST_COMPASS_BARS + 1, Sheet::WIDE)).unwrap_err().to_string().contains("121"));
    let mut odd = view(2, Sheet::WIDE);
    odd.bars[1].cents[0] = Some(f64::NAN);
    assert!(compass(&odd).is_err());
    let mut odd = view(2, Sheet::WIDE);
    odd.bars[0].nodes_mm = vec![9_000.0];
    assert!(compass(&odd).unwrap_err().to_string().contains("C2"));
    let mut far = view(2, Sheet::WIDE);
    far.bars[0].cents[0] = Some(2400.0);
    assert!(compass(&far).unwrap().description.contains("(1 beyond the edge)"));
}
