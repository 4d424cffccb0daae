//! Displacements over a cross-section: Legendre polynomials across the width and through the thickness.
use crate::StiffnessMatrix;
use crate::polynomial::{gauss, orthonormal_legendre};
use crate::wood::voigt;

/// Which displacements are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Parity {
    /// Symmetric about the lengthwise middle plane: bending and lengthwise motion.
    Symmetric,
    /// Antisymmetric: torsion and sideways motion.
    Antisymmetric,
    /// Everything, for wood whose grain turns in plan.
    Both,
}

/// One displacement pattern: component (0 = x, 1 = y, 2 = z), order across, order through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Pattern {
    pub component: usize,
    pub across: usize,
    pub through: usize,
}

/// The four ways in which a pattern enters a displacement gradient.
///
/// ∂x = x′·Y·Z − (t′/t)·x·Y·(ζ−1)∂ζZ, ∂y = (2/b)·x·∂ηY·Z, ∂z = (2/t)·x·Y·∂ζZ.
pub(super) const TERM_DIRECTION: [usize; 4] = [0, 0, 1, 2];

/// Coupling of two patterns: for each pair of terms (index 4a + b) a weight.
#[derive(Debug, Clone)]
pub(super) struct Coupling {
    pub row: usize,
    pub column: usize,
    pub terms: Vec<(usize, f64)>,
}

/// The patterns of a cross-section and how stiffness couples them.
#[derive(Debug, Clone)]
pub(super) struct Section {
    pub patterns: Vec<Pattern>,
    pub couplings: Vec<Coupling>,
    pub order_across: usize,
    pub order_through: usize,
}

impl Section {
    /// Patterns up to the given orders, of the given parity, coupled by `stiffness`.
    pub fn new(parity: Parity, order_across: usize, order_through: usize, stiffness: &StiffnessMatrix) -> Self {
        let mut patterns = Vec::new();
        for component in 0..3 {
            for across in 0..=order_across {
                let symmetric = (across % 2 == 0) == (component != 1);
                let kept = match parity {
                    Parity::Both => true,
                    Parity::Symmetric => symmetric,
                    Parity::Antisymmetric => !symmetric,
                };
                if kept {
                    // Full order through the thickness for the plain motions of the section, less for its warping.
                    let deepest = (order_across + 1 - across).min(order_through);
                    patterns.extend((0..=deepest).map(|through| Pattern { component, across, through }));
                }
            }
        }
        let couplings = couple(&patterns, order_across, order_through, stiffness);
        Self { patterns, couplings, order_across, order_through }
    }

    /// Index of a pattern, if kept.
    pub fn find(&self, component: usize, across: usize, through: usize) -> Option<usize> {
        self.patterns.iter().position(|p| *p == Pattern { component, across, through })
    }
}

/// ∫ of products of `variants` of the orthonormal Legendre polynomials over −1…1.
fn products(order: usize, variants: impl Fn(f64) -> Vec<Vec<f64>>) -> Vec<Vec<Vec<Vec<f64>>>> {
    let (points, weights) = gauss(order + 2);
    let kinds = variants(0.0).len();
    let mut out = vec![vec![vec![vec![0.0; order + 1]; order + 1]; kinds]; kinds];
    for (s, w) in points.iter().zip(&weights) {
        let v = variants(*s);
        for a in 0..kinds {
            for b in 0..kinds {
                for i in 0..=order {
                    for j in 0..=order {
                        out[a][b][i][j] += w * v[a][i] * v[b][j];
                    }
                }
            }
        }
    }
    out
}

fn couple(
    patterns: &[Pattern],
    order_across: usize,
    order_through: usize,
    stiffness: &StiffnessMatrix,
) -> Vec<Coupling> {
    let y = products(order_across, |s| {
        let (p, d) = orthonormal_legendre(order_across, s);
        vec![p, d]
    });
    let z = products(order_through, |s| {
        let (p, d) = orthonormal_legendre(order_through, s);
        let lever = d.iter().map(|d| (s - 1.0) * d).collect();
        vec![p, lever, d]
    });
    // Which variant of the y and z polynomial each of the four terms uses.
    let (y_variant, z_variant) = ([0, 0, 1, 0], [0, 1, 0, 2]);
    let mut out = Vec::new();
    for (row, p) in patterns.iter().enumerate() {
        for (column, q) in patterns.iter().enumerate() {
            let mut terms = Vec::new();
            for a in 0..4 {
                for b in 0..4 {
                    let c = stiffness[voigt(p.component, TERM_DIRECTION[a])][voigt(q.component, TERM_DIRECTION[b])];
                    let weight = c
                        * y[y_variant[a]][y_variant[b]][p.across][q.across]
                        * z[z_variant[a]][z_variant[b]][p.through][q.through];
                    // Entries below rounding of the largest stiffness are exact zeros of the theory.
                    if weight.abs() > 1e-13 * stiffness[0][0] {
                        terms.push((4 * a + b, weight));
                    }
                }
            }
            if !terms.is_empty() {
                out.push(Coupling { row, column, terms });
            }
        }
    }
    out
}
