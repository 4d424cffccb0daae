//! A bar's shape as the drawings take it.
use crate::PaperError;
use crate::error::within;

/// A bar's outline in millimetres: x from the left end, thickness from the top face.
#[derive(Debug, Clone, PartialEq)]
pub struct BarShape {
    /// Name to put in the title, e.g. "C3".
    pub name: String,
    /// Length (20…3000).
    pub length_mm: f64,
    /// Width (3…500).
    pub width_mm: f64,
    /// Stations of the underside: (x, thickness left), rising in x.
    pub underside_mm: Vec<(f64, f64)>,
}

impl BarShape {
    /// # Errors
    /// [`PaperError`] naming the value that cannot be drawn.
    pub(crate) fn checked(&self) -> Result<&Self, PaperError> {
        within("the length of the bar in mm", self.length_mm, 20.0, 3000.0)?;
        within("the width of the bar in mm", self.width_mm, 3.0, 500.0)?;
        if self.underside_mm.len() < 2 {
            return Err(PaperError::Empty { what: "the list of underside stations", least: 2 });
        }
        let mut before = 0.0;
        for (x, thickness) in &self.underside_mm {
            // A rounding error beyond the end is no fault of the caller's.
            before = within("a station of the underside in mm", *x, before, self.length_mm * (1.0 + 1e-9))?;
            within("a thickness in mm", *thickness, 0.0, 300.0)?;
        }
        Ok(self)
    }

    /// Greatest thickness.
    pub(crate) fn thickest_mm(&self) -> f64 {
        self.underside_mm.iter().map(|s| s.1).fold(0.0, f64::max)
    }

    /// Thickness at `x_mm`, linear between stations and constant beyond the outer ones.
    pub fn thickness_at(&self, x_mm: f64) -> f64 {
        let stations = &self.underside_mm;
        let after = stations.partition_point(|s| s.0 <= x_mm).clamp(1, stations.len() - 1);
        let ((x0, t0), (x1, t1)) = (stations[after - 1], stations[after]);
        if x1 <= x0 {
            return t1;
        }
        t0 + ((x_mm - x0) / (x1 - x0)).clamp(0.0, 1.0) * (t1 - t0)
    }

    /// Stations strictly between two places, with both places added.
    pub(crate) fn stations_between(&self, from_mm: f64, to_mm: f64) -> Vec<(f64, f64)> {
        let inner = self.underside_mm.iter().copied().filter(|s| s.0 > from_mm && s.0 < to_mm);
        let ends = |x: f64| (x, self.thickness_at(x));
        std::iter::once(ends(from_mm)).chain(inner).chain(std::iter::once(ends(to_mm))).collect()
    }
}
