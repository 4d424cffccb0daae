//! What kind of motion a mode is, by shares of its kinetic energy.
use super::ModeKind;
use super::field::Space;
use crate::Bar;
use crate::polynomial::{gauss, lagrange_values};

/// Shares of the kinetic energy in each kind of motion.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Share {
    bending: f64,
    torsion: f64,
    sideways: f64,
    lengthwise: f64,
    plate: f64,
}

impl Share {
    /// The largest share and its kind.
    pub fn largest(self) -> (ModeKind, f64) {
        [
            (ModeKind::Bending, self.bending),
            (ModeKind::Torsion, self.torsion),
            (ModeKind::Sideways, self.sideways),
            (ModeKind::Lengthwise, self.lengthwise),
            (ModeKind::Plate, self.plate),
        ]
        .into_iter()
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .unwrap_or((ModeKind::Plate, 0.0))
    }
}

/// Splits the kinetic energy of an M-normalised vector.
///
/// In each section: mean vertical motion and fore-and-aft rotation are bending, mean lengthwise motion
/// (about the section's own middle) lengthwise, mean sideways motion and its rotation in plan sideways,
/// rotation about the length torsion, all else is the section's own bending.
pub(super) fn classify(bar: &Bar, space: &Space, vector: &[f64]) -> Share {
    let (points, weights) = gauss(space.mesh.order + 1);
    let tables: Vec<Vec<f64>> = points.iter().map(|s| lagrange_values(&space.mesh.nodes, *s).collect()).collect();
    let m = space.section.patterns.len();
    let mut out = Share::default();
    for (index, element) in space.mesh.elements.iter().enumerate() {
        for ((s, w), values) in points.iter().zip(&weights).zip(&tables) {
            let thickness_m: f64 = values.iter().zip(&element.thickness_m).map(|(v, t)| v * t).sum();
            let x_m = element.start_m + 0.5 * (s + 1.0) * element.length_m;
            let line_density = bar.wood.density_kg_m3 * bar.unevenness.at(x_m).1;
            let volume = 0.25 * space.mesh.width_m * thickness_m * 0.5 * element.length_m * w * line_density;
            let base = index * space.mesh.order * m;
            for (k, pattern) in space.section.patterns.iter().enumerate() {
                let amplitude: f64 = values.iter().enumerate().map(|(i, v)| v * vector[base + i * m + k]).sum();
                *out.slot(pattern.component, pattern.across, pattern.through) += volume * amplitude * amplitude;
            }
        }
    }
    out
}

impl Share {
    fn slot(&mut self, component: usize, across: usize, through: usize) -> &mut f64 {
        match (component, across, through) {
            (2, 0, _) | (0, 0, 1) => &mut self.bending,
            (0, 0, _) => &mut self.lengthwise,
            (1, 0, 0) | (0, 1, 0) => &mut self.sideways,
            (1, 0, _) | (2, 1, _) | (0, 1, _) => &mut self.torsion,
            _ => &mut self.plate,
        }
    }
}
