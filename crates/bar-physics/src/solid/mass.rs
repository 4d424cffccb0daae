//! The mass matrix. Orthonormal patterns make it the same narrow band of nodes for every pattern; an
//! underside that leans across couples neighbouring orders across the width as well.
use super::section::Section;

/// M = E ⊗ 1 + T ⊗ H: node bands E (even thickness) and T (lean), pattern coupling H = ∫ηPⱼPⱼ′.
#[derive(Debug, Clone)]
pub(super) struct Mass {
    patterns: usize,
    /// Nodes that one row reaches back to, itself included.
    reach: usize,
    even: Vec<f64>,
    lean: Option<Lean>,
}

#[derive(Debug, Clone)]
struct Lean {
    band: Vec<f64>,
    /// Pattern pairs (row, column, weight), both triangles.
    coupling: Vec<(usize, usize, f64)>,
}

impl Mass {
    pub fn zero(nodes: usize, section: &Section, reach: usize, level: bool) -> Self {
        let lean = (!level).then(|| Lean { band: vec![0.0; nodes * reach], coupling: coupling(section) });
        Self { patterns: section.patterns.len(), reach, even: vec![0.0; nodes * reach], lean }
    }

    fn nodes(&self) -> usize {
        self.even.len() / self.reach
    }

    pub fn size(&self) -> usize {
        self.nodes() * self.patterns
    }

    /// Adds to entry (i, j) of the node bands, j ≤ i.
    pub fn add(&mut self, i: usize, j: usize, even: f64, lean: f64) {
        let at = i * self.reach + self.reach - 1 + j - i;
        self.even[at] += even;
        if let Some(l) = &mut self.lean {
            l.band[at] += lean;
        }
    }

    /// Nonzero entries (j, value) of row `i` of a node band, j ≤ i.
    fn row<'a>(&self, band: &'a [f64], i: usize) -> impl Iterator<Item = (usize, f64)> + use<'a> {
        let reach = self.reach;
        let row = &band[i * reach..(i + 1) * reach];
        row.iter().enumerate().filter(|(_, v)| **v != 0.0).map(move |(k, v)| (i + k + 1 - reach, *v))
    }

    /// Calls `visit(row, column, value)` for every stored entry of the lower triangle.
    pub fn for_each_lower(&self, mut visit: impl FnMut(usize, usize, f64)) {
        let m = self.patterns;
        for i in 0..self.nodes() {
            for (j, value) in self.row(&self.even, i) {
                (0..m).for_each(|s| visit(i * m + s, j * m + s, value));
            }
            let Some(lean) = &self.lean else { continue };
            for (j, value) in self.row(&lean.band, i) {
                for (p, q, weight) in &lean.coupling {
                    if j < i || q <= p {
                        visit(i * m + p, j * m + q, value * weight);
                    }
                }
            }
        }
    }

    /// `self · x`.
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; self.size()];
        self.add_band(&self.even, x, &mut out);
        if let Some(lean) = &self.lean {
            let m = self.patterns;
            let mut turned = vec![0.0; x.len()];
            for (y, x) in turned.chunks_exact_mut(m).zip(x.chunks_exact(m)) {
                lean.coupling.iter().for_each(|(p, q, weight)| y[*p] += weight * x[*q]);
            }
            self.add_band(&lean.band, &turned, &mut out);
        }
        out
    }

    fn add_band(&self, band: &[f64], x: &[f64], out: &mut [f64]) {
        let m = self.patterns;
        for i in 0..self.nodes() {
            for (j, value) in self.row(band, i) {
                axpy(&mut out[i * m..(i + 1) * m], value, &x[j * m..(j + 1) * m]);
                if j != i {
                    axpy(&mut out[j * m..(j + 1) * m], value, &x[i * m..(i + 1) * m]);
                }
            }
        }
    }
}

/// H: ∫ η Pⱼ Pⱼ₊₁ dη = (j + 1)/√((2j + 1)(2j + 3)) for orthonormal Legendre polynomials (their recurrence).
fn coupling(section: &Section) -> Vec<(usize, usize, f64)> {
    let mut out = Vec::new();
    for (p, a) in section.patterns.iter().enumerate() {
        for (q, b) in section.patterns.iter().enumerate() {
            if a.component == b.component && a.through == b.through && a.across.abs_diff(b.across) == 1 {
                let j = a.across.min(b.across) as f64;
                out.push((p, q, (j + 1.0) / ((2.0 * j + 1.0) * (2.0 * j + 3.0)).sqrt()));
            }
        }
    }
    out
}

fn axpy(y: &mut [f64], a: f64, x: &[f64]) {
    y.iter_mut().zip(x).for_each(|(y, x)| *y += a * x);
}
