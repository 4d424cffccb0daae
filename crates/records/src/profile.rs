//! The intended outline of a bar as its log tells it: pure geometry, to find contradictions.
use crate::record::{BandRecord, SideName};

/// How far the ends of a profile may lie from the ends of the bar: what a steel rule cannot tell apart.
pub const LENGTH_TOLERANCE_MM: f64 = 0.5;

/// Stations closer than this are one place.
const SAME_PLACE_MM: f64 = 0.001;

/// Wood left under the top face, linear between stations, as intended by the log so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Places from the left end, rising, the first at 0.
    pub x_mm: Vec<f64>,
    /// Wood left there.
    pub thickness_mm: Vec<f64>,
}

impl Outline {
    /// A blank.
    pub fn flat(length_mm: f64, thickness_mm: f64) -> Self {
        Self { x_mm: vec![0.0, length_mm], thickness_mm: vec![thickness_mm; 2] }
    }

    /// Length covered.
    pub fn length_mm(&self) -> f64 {
        self.x_mm.last().copied().unwrap_or(0.0)
    }

    /// Thickness at `x_mm`, linear between stations, constant beyond the ends.
    pub fn thickness_at(&self, x_mm: f64) -> f64 {
        let i = self.x_mm.partition_point(|s| *s <= x_mm).clamp(1, self.x_mm.len() - 1);
        let (x0, x1) = (self.x_mm[i - 1], self.x_mm[i]);
        let fraction = ((x_mm - x0) / (x1 - x0)).clamp(0.0, 1.0);
        self.thickness_mm[i - 1] + fraction * (self.thickness_mm[i] - self.thickness_mm[i - 1])
    }

    /// Thinnest station: (place, thickness).
    pub fn thinnest(&self) -> (f64, f64) {
        let stations = self.x_mm.iter().copied().zip(self.thickness_mm.iter().copied());
        stations.min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((0.0, 0.0))
    }

    /// Takes an even depth off a band; its edges are taken as steep.
    pub fn remove(&mut self, band: &BandRecord) {
        let centre_mm = 0.5 * self.length_mm();
        let right = (centre_mm + band.from_mm, centre_mm + band.to_mm);
        let left = (centre_mm - band.to_mm, centre_mm - band.from_mm);
        let pieces = match band.side.unwrap_or(SideName::Both) {
            SideName::Left => vec![left],
            SideName::Right => vec![right],
            // Meeting in the centre the two are one, lest the centre be lowered twice.
            SideName::Both if band.from_mm <= SAME_PLACE_MM => vec![(left.0, right.1)],
            SideName::Both => vec![left, right],
        };
        for (from_mm, to_mm) in pieces {
            self.lower(from_mm, to_mm, band.depth_mm);
        }
    }

    fn lower(&mut self, from_mm: f64, to_mm: f64, depth_mm: f64) {
        let before = self.clone();
        let length_mm = self.length_mm();
        let edges = [from_mm - SAME_PLACE_MM, from_mm, to_mm, to_mm + SAME_PLACE_MM];
        self.x_mm.extend(edges.into_iter().filter(|x| *x > 0.0 && *x < length_mm));
        self.x_mm.sort_by(f64::total_cmp);
        self.x_mm.dedup();
        let left = |x: &f64| {
            let inside = *x >= from_mm && *x <= to_mm;
            before.thickness_at(*x) - if inside { depth_mm } else { 0.0 }
        };
        self.thickness_mm = self.x_mm.iter().map(left).collect();
    }

    /// Saws off the ends; the caller has checked that wood remains.
    pub fn trim(&mut self, left_mm: f64, right_mm: f64) {
        let end_mm = self.length_mm() - right_mm;
        let inside = self.x_mm.iter().copied().filter(|x| *x > left_mm && *x < end_mm);
        let places: Vec<f64> = std::iter::once(left_mm).chain(inside).chain(std::iter::once(end_mm)).collect();
        self.thickness_mm = places.iter().map(|x| self.thickness_at(*x)).collect();
        self.x_mm = places.iter().map(|x| x - left_mm).collect();
    }

    /// Area of the side view in mm².
    pub fn side_area_mm2(&self) -> f64 {
        let spans = self.x_mm.windows(2).zip(self.thickness_mm.windows(2));
        spans.map(|(x, t)| 0.5 * (t[0] + t[1]) * (x[1] - x[0])).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_on_both_sides_takes_its_area() {
        let mut outline = Outline::flat(400.0, 20.0);
        outline.remove(&BandRecord { from_mm: 30.0, to_mm: 60.0, depth_mm: 2.0, side: None });
        // Two bands of 30 × 2 mm; the steep edges are 0.001 mm wide, hence 0.01 mm².
        assert!((outline.side_area_mm2() - (8000.0 - 120.0)).abs() < 0.01);
        assert!((outline.thinnest().1 - 18.0).abs() < 1e-9);
        let mut middle = Outline::flat(400.0, 20.0);
        middle.remove(&BandRecord { from_mm: 0.0, to_mm: 60.0, depth_mm: 2.0, side: Some(SideName::Both) });
        assert!((middle.thinnest().1 - 18.0).abs() < 1e-9, "the centre belongs to both sides but is lowered once");
        outline.trim(10.0, 150.0);
        assert!((outline.length_mm() - 240.0).abs() < 1e-9);
        assert!((outline.thickness_at(140.0) - 18.0).abs() < 1e-9, "the left band lay at 140–170 mm");
        assert!((outline.thickness_at(165.0) - 20.0).abs() < 1e-9);
    }
}
