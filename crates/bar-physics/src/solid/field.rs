//! Reading a solution vector: displacements, gradients, rigid motions and what kind of motion it is.
use super::mesh::Mesh;
use super::section::{Parity, Section};
use crate::Bar;
use crate::polynomial::{gauss, lagrange, lagrange_values, orthonormal_legendre};
use std::sync::Arc;

/// The motion of one mode, readable anywhere in the bar; M-normalised (modal mass 1 kg).
#[derive(Clone)]
pub struct Shape {
    space: Arc<Space>,
    vector: Arc<[f64]>,
}

impl std::fmt::Debug for Shape {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Shape({} unknowns)", self.vector.len())
    }
}

impl PartialEq for Shape {
    fn eq(&self, other: &Self) -> bool {
        self.vector == other.vector
    }
}

impl Shape {
    pub(super) fn new(space: &Arc<Space>, vector: &[f64]) -> Self {
        Self { space: Arc::clone(space), vector: vector.into() }
    }

    /// Motion (x, y, z) at a place of the bar: `x_m` from the left end, `y_m` from the middle of the
    /// width (far is positive), `below_top_m` under the top face; places outside are moved to the surface.
    pub fn at(&self, x_m: f64, y_m: f64, below_top_m: f64) -> [f64; 3] {
        self.local(x_m, y_m, below_top_m).displacement
    }

    /// Vertical motion of the middle of the top face.
    pub fn top_centre(&self, x_m: f64) -> f64 {
        self.space.vertical(&self.vector, x_m, &self.space.section_point(0.0, 1.0))
    }

    pub(super) fn local(&self, x_m: f64, y_m: f64, below_top_m: f64) -> Local {
        let at = self.space.length_point(x_m);
        let eta = (2.0 * y_m / self.space.mesh.width_m).clamp(-1.0, 1.0);
        let zeta = (1.0 - 2.0 * below_top_m / at.thickness_at(eta)).clamp(-1.0, 1.0);
        let amplitudes = self.space.amplitudes(&self.vector, &at);
        self.space.local(&amplitudes, &at, &self.space.section_point(eta, zeta))
    }

    pub(super) fn vector(&self) -> &[f64] {
        &self.vector
    }

    /// Whether a vector of this shape means nearly the same in `space`.
    pub(super) fn fits(&self, space: &Space) -> bool {
        self.space.parity == space.parity
            && self.space.mesh.order == space.mesh.order
            && self.space.mesh.node_count() == space.mesh.node_count()
            && self.space.section.patterns == space.section.patterns
    }

    pub(super) fn mesh(&self) -> &Mesh {
        &self.space.mesh
    }
}

/// A mesh with the patterns over its sections: enough to read a vector.
#[derive(Debug, Clone)]
pub(super) struct Space {
    pub mesh: Mesh,
    pub section: Section,
    pub parity: Parity,
}

/// Displacement and its gradient at a point: `gradient[c][d]` = ∂u_c/∂x_d.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Local {
    pub displacement: [f64; 3],
    pub gradient: [[f64; 3]; 3],
}

/// Polynomials of the section at one (η, ζ), ready for many x.
pub(super) struct SectionPoint {
    pub eta: f64,
    /// Per pattern: value, ∂η, ∂ζ, (ζ − 1)∂ζ.
    pub rows: Vec<[f64; 4]>,
}

/// Basis along the bar at one x.
#[derive(Clone)]
pub(super) struct LengthPoint {
    pub element: usize,
    pub values: Vec<f64>,
    pub slopes: Vec<f64>,
    pub thickness_m: f64,
    slope: f64,
    lean_m: f64,
    lean_slope: f64,
}

impl LengthPoint {
    /// Thickness at a place across the width.
    pub fn thickness_at(&self, eta: f64) -> f64 {
        self.thickness_m + eta * self.lean_m
    }

    /// Slope of the thickness at a place across the width.
    pub fn slope_at(&self, eta: f64) -> f64 {
        self.slope + eta * self.lean_slope
    }

    /// Half of far minus near thickness.
    pub fn lean_m(&self) -> f64 {
        self.lean_m
    }
}

impl Space {
    pub fn section_point(&self, eta: f64, zeta: f64) -> SectionPoint {
        let (y, dy) = orthonormal_legendre(self.section.order_across, eta);
        let (z, dz) = orthonormal_legendre(self.section.order_through, zeta);
        let rows = self.section.patterns.iter().map(|p| {
            let (j, k) = (p.across, p.through);
            [y[j] * z[k], dy[j] * z[k], y[j] * dz[k], (zeta - 1.0) * y[j] * dz[k]]
        });
        SectionPoint { eta, rows: rows.collect() }
    }

    pub fn length_point(&self, x_m: f64) -> LengthPoint {
        let (element, s) = self.mesh.locate(x_m);
        self.length_point_in(element, s)
    }

    /// The basis at many places.
    pub fn length_points(&self, x_m: &[f64]) -> Vec<LengthPoint> {
        x_m.iter().map(|x| self.length_point(*x)).collect()
    }

    /// The basis at `count` Gauss points of every element, and the length each stands for times the
    /// local stiffness factor.
    pub fn quadrature(&self, bar: &Bar, count: usize) -> (Vec<LengthPoint>, Vec<f64>) {
        let (points, weights) = gauss(count);
        let tables: Vec<_> = points.iter().map(|s| lagrange(&self.mesh.nodes, *s)).collect();
        let mut out = (Vec::new(), Vec::new());
        for (index, element) in self.mesh.elements.iter().enumerate() {
            for ((s, w), table) in points.iter().zip(&weights).zip(&tables) {
                let x_m = element.start_m + 0.5 * (s + 1.0) * element.length_m;
                out.0.push(self.length_point_of(index, table.clone()));
                out.1.push(w * 0.5 * element.length_m * bar.unevenness.at(x_m).0);
            }
        }
        out
    }

    fn length_point_in(&self, element: usize, s: f64) -> LengthPoint {
        self.length_point_of(element, lagrange(&self.mesh.nodes, s))
    }

    fn length_point_of(&self, element: usize, (values, mut slopes): (Vec<f64>, Vec<f64>)) -> LengthPoint {
        let e = &self.mesh.elements[element];
        slopes.iter_mut().for_each(|d| *d *= 2.0 / e.length_m);
        let along = |v: &[f64], nodal: &[f64]| v.iter().zip(nodal).map(|(v, t)| v * t).sum::<f64>();
        let (thickness_m, slope) = (along(&values, &e.thickness_m), along(&slopes, &e.thickness_m));
        let (lean_m, lean_slope) = (along(&values, &e.lean_m), along(&slopes, &e.lean_m));
        LengthPoint { element, values, slopes, thickness_m, slope, lean_m, lean_slope }
    }

    /// Each pattern's amplitude and slope along x at one place: shared by all points of that section.
    pub fn amplitudes(&self, vector: &[f64], at: &LengthPoint) -> Vec<[f64; 2]> {
        let m = self.section.patterns.len();
        let base = at.element * self.mesh.order * m;
        let mut out = vec![[0.0; 2]; m];
        for (i, (v, d)) in at.values.iter().zip(&at.slopes).enumerate() {
            for (a, coefficient) in out.iter_mut().zip(&vector[base + i * m..]) {
                a[0] += v * coefficient;
                a[1] += d * coefficient;
            }
        }
        out
    }

    /// Displacement and gradient at a point of the section with these amplitudes.
    pub fn local(&self, amplitudes: &[[f64; 2]], at: &LengthPoint, section: &SectionPoint) -> Local {
        let mut out = Local::default();
        let thickness_m = at.thickness_at(section.eta);
        let (over_width, over_thickness) = (2.0 / self.mesh.width_m, 2.0 / thickness_m);
        let lever = (at.slope + section.eta * at.lean_slope) / thickness_m;
        let lever_across = at.lean_m / thickness_m;
        for ((pattern, row), [value, slope]) in self.section.patterns.iter().zip(&section.rows).zip(amplitudes) {
            let c = pattern.component;
            out.displacement[c] += value * row[0];
            out.gradient[c][0] += slope * row[0] - lever * value * row[3];
            out.gradient[c][1] += over_width * value * (row[1] - lever_across * row[3]);
            out.gradient[c][2] += over_thickness * value * row[2];
        }
        out
    }

    /// Vertical motion of `vector` at one point.
    pub fn vertical(&self, vector: &[f64], x_m: f64, section: &SectionPoint) -> f64 {
        self.line(vector, section).at(&self.length_point(x_m))
    }

    /// Vertical motion of `vector` along the line of the bar through one point of the section.
    pub fn line(&self, vector: &[f64], section: &SectionPoint) -> Line<'_> {
        let vertical = self.section.patterns.partition_point(|p| p.component < 2);
        let rows = &section.rows[vertical..];
        let nodal = vector
            .chunks_exact(self.section.patterns.len())
            .map(|node| node[vertical..].iter().zip(rows).map(|(a, row)| a * row[0]).sum())
            .collect();
        Line { mesh: &self.mesh, nodal }
    }
}

/// Vertical motion along a line of the bar: its values at the nodes.
pub(super) struct Line<'a> {
    mesh: &'a Mesh,
    nodal: Vec<f64>,
}

impl Line<'_> {
    pub fn at(&self, place: &LengthPoint) -> f64 {
        let nodal = &self.nodal[place.element * self.mesh.order..];
        place.values.iter().zip(nodal).map(|(v, a)| v * a).sum()
    }

    pub fn at_x(&self, x_m: f64) -> f64 {
        let (element, s) = self.mesh.locate(x_m);
        let nodal = &self.nodal[element * self.mesh.order..];
        lagrange_values(&self.mesh.nodes, s).zip(nodal).map(|(v, a)| v * a).sum()
    }
}
