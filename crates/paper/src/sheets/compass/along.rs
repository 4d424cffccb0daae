//! Cents along the compass, without the bars themselves.
use super::{Columns, Compass, CompassBar, GAP_MM, cents, check, names};
use crate::sheets::Sheet;
use crate::{Drawing, PaperError};

/// What a bar reads.
#[derive(Debug, Clone, PartialEq)]
pub struct CentsBar {
    /// The note it serves.
    pub name: String,
    /// Cents of modes 1–3 above their targets; `None` for what was not heard or is not tuned.
    pub cents: [Option<f64>; 3],
    /// Standard uncertainty, in cents.
    pub sigma_cents: f64,
}

/// What the picture shows.
#[derive(Debug, Clone, PartialEq)]
pub struct CentsAlong {
    /// Name of the instrument.
    pub name: String,
    /// The bars in the order of the compass.
    pub bars: Vec<CentsBar>,
    /// How far modes 1–3 may be off, in cents.
    pub tolerance_cents: [f64; 3],
    /// The paper.
    pub sheet: Sheet,
}

/// Cents of modes 1, 2, 3 against their targets with the band a finished bar lies in, one column a bar.
///
/// # Errors
/// [`PaperError`] as [`super::compass`].
pub fn cents_along(view: &CentsAlong) -> Result<Drawing, PaperError> {
    let bar = |bar: &CentsBar| CompassBar {
        name: bar.name.clone(),
        cents: bar.cents,
        sigma_cents: bar.sigma_cents,
        stale: false,
        // Not drawn here.
        length_mm: 1.0,
        thickness_mm: (1.0, 1.0),
        nodes_mm: Vec::new(),
    };
    let compass = Compass {
        name: view.name.clone(),
        bars: view.bars.iter().map(bar).collect(),
        tolerance_cents: view.tolerance_cents,
        sheet: view.sheet,
    };
    let sheet = view.sheet.checked()?;
    check(&compass)?;
    let columns = Columns::of(&compass, sheet);
    let words: Vec<String> = (0..3).filter_map(|mode| cents::in_words(&compass, mode)).collect();
    let title = format!("Cents of {} along the compass", view.name);
    let mut drawing = Drawing::new(title, format!("{} bars. {}", view.bars.len(), words.join(" ")));
    let mut y = names(&mut drawing, &compass, &columns, sheet, 0.0);
    for mode in 0..3 {
        if view.bars.iter().any(|bar| bar.cents[mode].is_some()) {
            y = cents::panel(&mut drawing, &compass, mode, &columns, y + GAP_MM);
        }
    }
    cents::legend(&mut drawing, &compass, y + 1.0);
    drawing.checked()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cents_stand_clear_and_are_counted_in_words() {
        let bar = |i: i32| CentsBar {
            name: format!("{}{}", ["C", "D", "E", "F", "G", "A", "B"][(i % 7) as usize], 2 + i / 7),
            cents: [Some(f64::from(i % 5) - 2.0), (i < 20).then_some(4.0), None],
            sigma_cents: 0.3,
        };
        let view = CentsAlong {
            name: "an invented one".to_owned(),
            bars: (0..36).map(bar).collect(),
            tolerance_cents: [2.0, 5.0, 10.0],
            sheet: Sheet::WIDE,
        };
        let drawing = cents_along(&view).unwrap();
        assert!(drawing.collisions(0.1).is_empty(), "{:?}", drawing.collisions(0.1));
        assert!(drawing.description.contains("36 bars. Mode 1: 36 within ±2 cents"), "{}", drawing.description);
        assert!(cents_along(&CentsAlong { bars: Vec::new(), ..view }).is_err());
    }
}
