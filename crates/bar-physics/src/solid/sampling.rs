//! Motion and strain of a whole mode at many places at once: products of small dense matrices.
use super::field::{LengthPoint, Space};
use nalgebra::{DMatrix, DMatrixView};
use std::ops::Range;

/// Rows of a pattern at a point of the section: value, ∂η, ∂ζ, (ζ − 1)∂ζ.
const KINDS: usize = 4;

/// A point of the section with its weight.
#[derive(Debug, Clone, Copy)]
pub(super) struct Point {
    pub eta: f64,
    pub weight: f64,
}

/// Places along the bar and points of the section, prepared once for all modes of a space.
pub(super) struct Sampler {
    pub places: Vec<LengthPoint>,
    pub points: Vec<Point>,
    /// Patterns of each component.
    components: Vec<Range<usize>>,
    /// Per component: pattern × (kind, point).
    tables: Vec<DMatrix<f64>>,
    over_half_width: f64,
    order: usize,
}

/// One mode at every place and point: per component a matrix place × (kind, point), and its slope along x.
pub(super) struct Sampled {
    values: Vec<DMatrix<f64>>,
    slopes: Vec<DMatrix<f64>>,
}

/// Displacements and engineering strains (Voigt order) at one point of the section, at every place.
#[derive(Default)]
pub(super) struct Motion {
    pub displacement: [Vec<f64>; 3],
    pub strain: [Vec<f64>; 6],
}

impl Sampler {
    /// `points`: (η, ζ, weight).
    pub fn new(space: &Space, places: Vec<LengthPoint>, points: &[(f64, f64, f64)]) -> Self {
        let patterns = &space.section.patterns;
        let components: Vec<Range<usize>> = (0..3)
            .map(|c| patterns.partition_point(|p| p.component < c)..patterns.partition_point(|p| p.component <= c))
            .collect();
        let count = points.len();
        let mut tables: Vec<_> = components.iter().map(|r| DMatrix::zeros(r.len(), KINDS * count)).collect();
        for (index, (eta, zeta, _)) in points.iter().enumerate() {
            let point = space.section_point(*eta, *zeta);
            for (table, range) in tables.iter_mut().zip(&components) {
                for (row, entries) in point.rows[range.clone()].iter().enumerate() {
                    entries.iter().enumerate().for_each(|(kind, v)| table[(row, kind * count + index)] = *v);
                }
            }
        }
        let points = points.iter().map(|(eta, _, weight)| Point { eta: *eta, weight: *weight }).collect();
        let over_half_width = 2.0 / space.mesh.width_m;
        Self { places, points, components, tables, over_half_width, order: space.mesh.order }
    }

    /// Reads `vector` everywhere.
    pub fn sample(&self, vector: &[f64]) -> Sampled {
        let m = self.components[2].end;
        let mut values = vec![0.0; self.places.len() * m];
        let mut slopes = values.clone();
        let rows = values.chunks_exact_mut(m).zip(slopes.chunks_exact_mut(m));
        for (at, (value, slope)) in self.places.iter().zip(rows) {
            let nodes = vector[at.element * self.order * m..].chunks_exact(m);
            for (node, (v, d)) in nodes.zip(at.values.iter().zip(&at.slopes)) {
                value.iter_mut().zip(node).for_each(|(a, b)| *a += v * b);
                slope.iter_mut().zip(node).for_each(|(a, b)| *a += d * b);
            }
        }
        // Places down the columns, so that each point's values at all places lie together.
        let turned = |v: Vec<f64>| DMatrix::from_vec(m, self.places.len(), v).transpose();
        let (values, slopes) = (turned(values), turned(slopes));
        let product = |left: &DMatrix<f64>, range: &Range<usize>, table: DMatrixView<f64>| {
            left.columns(range.start, range.len()) * table
        };
        let both = self.components.iter().zip(&self.tables);
        let (values, slopes) = both
            .map(|(range, table)| {
                let plain = table.columns(0, self.points.len());
                (product(&values, range, table.as_view()), product(&slopes, range, plain))
            })
            .unzip();
        Sampled { values, slopes }
    }

    /// Displacement and strain at point `index` of every section.
    pub fn motion(&self, sampled: &Sampled, index: usize, out: &mut Motion) {
        let (count, eta) = (self.points.len(), self.points[index].eta);
        let column = |c: usize, kind: usize| {
            let all = sampled.values[c].as_slice();
            let start = (kind * count + index) * self.places.len();
            &all[start..start + self.places.len()]
        };
        let slope = |c: usize| &sampled.slopes[c].as_slice()[index * self.places.len()..];
        for c in 0..3 {
            out.displacement[c].clear();
            out.displacement[c].extend_from_slice(column(c, 0));
        }
        out.strain.iter_mut().for_each(|s| s.resize(self.places.len(), 0.0));
        let [ux, uy, uz] = [0, 1, 2].map(|c| [slope(c), column(c, 1), column(c, 2), column(c, 3)]);
        for (k, at) in self.places.iter().enumerate() {
            let thickness_m = at.thickness_at(eta);
            let lever = at.slope_at(eta) / thickness_m;
            let lever_across = at.lean_m() / thickness_m;
            let along = |u: &[&[f64]; 4]| u[0][k] - lever * u[3][k];
            let across = |u: &[&[f64]; 4]| self.over_half_width * (u[1][k] - lever_across * u[3][k]);
            let through = |u: &[&[f64]; 4]| 2.0 / thickness_m * u[2][k];
            out.strain[0][k] = along(&ux);
            out.strain[1][k] = across(&uy);
            out.strain[2][k] = through(&uz);
            out.strain[3][k] = through(&uy) + across(&uz);
            out.strain[4][k] = through(&ux) + along(&uz);
            out.strain[5][k] = across(&ux) + along(&uy);
        }
    }
}

impl Motion {
    /// Σ of the squared displacements at every place.
    pub fn square(&self, place: usize) -> f64 {
        self.displacement.iter().map(|u| u[place] * u[place]).sum()
    }
}
