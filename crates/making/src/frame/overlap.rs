//! How the two rows' ends meet.
use super::RowFit;
use super::layout::overlaps_m;

/// How the accidentals' ends lie over the naturals' ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overlap {
    /// On average.
    pub mean_m: f64,
    /// At the bass and at the treble end, by the straight line through all of them.
    pub ends_m: [f64; 2],
    /// Share of the convergence that the outer rails would have to take for it to be the same all along; `None` where
    /// the rails do not converge, or are built.
    ///
    /// Bars grow shorter beyond their nodes too, so this is commonly somewhat more than 1.
    pub even_share: Option<f64>,
}

impl Overlap {
    /// `None` without two accidentals and a natural.
    pub(super) fn of(naturals: &RowFit, accidentals: &RowFit) -> Option<Self> {
        let ends = |row: &RowFit, end: usize| {
            row.bars.iter().map(|b| (b.bar.centre_x_m, b.ends_y_m()[end])).collect::<Vec<_>>()
        };
        let overlaps = overlaps_m(&ends(naturals, 1), &ends(accidentals, 0));
        let (first, last) = (overlaps.first()?.0, overlaps.last()?.0);
        #[allow(clippy::cast_precision_loss)] // a row of bars
        let count = overlaps.len() as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| overlaps.iter().map(of).sum::<f64>() / count;
        let (mean_x, mean_m) = (mean(|o| o.0), mean(|o| o.1));
        let spread: f64 = overlaps.iter().map(|o| (o.0 - mean_x).powi(2)).sum();
        if spread <= 0.0 {
            return None;
        }
        let slope = overlaps.iter().map(|o| (o.0 - mean_x) * (o.1 - mean_m)).sum::<f64>() / spread;
        let middle_x = f64::midpoint(first, last);
        let converging = |row: &RowFit| row.rails[0].slope_at(middle_x) - row.rails[1].slope_at(middle_x);
        // More share turns the naturals' inner rail away from the player and the accidentals' towards him.
        let turns = converging(naturals) + converging(accidentals);
        let shares = naturals.outer_share.zip(accidentals.outer_share).filter(|_| turns > 0.0);
        let even_share = shares.map(|(a, b)| {
            let weighted = (a * converging(naturals) + b * converging(accidentals)) / turns;
            weighted - slope / turns
        });
        Some(Self { mean_m, ends_m: [first, last].map(|x| mean_m + slope * (x - mean_x)), even_share })
    }
}
