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

/// Number of ways in which a pattern enters a displacement gradient.
pub(super) const TERMS: usize = 5;
/// Direction of each: with T = t + ηh the thickness at a point,
/// ∂x = x′·Y·Z − (T′/T)·x·Y·(ζ−1)∂ζZ, ∂y = (2/b)·x·∂ηY·Z, ∂z = (2/T)·x·Y·∂ζZ, and once more
/// ∂y = −(2/b)(h/T)·x·Y·(ζ−1)∂ζZ where the underside leans.
const TERM_DIRECTION: [usize; TERMS] = [0, 0, 1, 2, 1];
/// Which variant of the polynomials across (value, slope) each term uses.
const ACROSS_VARIANT: [usize; TERMS] = [0, 0, 1, 0, 0];
/// Which variant of the polynomials through (value, (ζ − 1)·slope, slope) each term uses.
const THROUGH_VARIANT: [usize; TERMS] = [0, 1, 0, 2, 1];

/// Coupling of two patterns: its terms in the list of its sheet.
#[derive(Debug, Clone)]
pub(super) struct Coupling {
    pub row: usize,
    pub column: usize,
    pub terms: std::ops::Range<usize>,
}

/// Couplings at one place across the width, or integrated over it where the underside is level.
#[derive(Debug, Clone)]
pub(super) struct Sheet {
    pub eta: f64,
    pub couplings: Vec<Coupling>,
    /// Pair of gradient terms (index `TERMS`·a + b) and weight.
    pub terms: Vec<(usize, f64)>,
}

/// The patterns of a cross-section and how stiffness couples them.
#[derive(Debug, Clone)]
pub(super) struct Section {
    pub patterns: Vec<Pattern>,
    pub sheets: Vec<Sheet>,
    pub order_across: usize,
    pub order_through: usize,
}

impl Section {
    /// Patterns up to the given orders, of the given parity, coupled by `stiffness`; `level` if the
    /// underside does not lean across anywhere.
    pub fn new(
        parity: Parity,
        order_across: usize,
        order_through: usize,
        stiffness: &StiffnessMatrix,
        level: bool,
    ) -> Self {
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
        let sheets = sheets(&patterns, order_across, order_through, stiffness, level);
        Self { patterns, sheets, order_across, order_through }
    }

    /// Index of a pattern, if kept.
    pub fn find(&self, component: usize, across: usize, through: usize) -> Option<usize> {
        self.patterns.iter().position(|p| *p == Pattern { component, across, through })
    }
}

/// Products of polynomials: variants a, b, orders i, j.
type Products = Vec<Vec<Vec<Vec<f64>>>>;

/// Σ weight · products of `variants` of polynomials up to `order` over the given points.
fn products(order: usize, points: &[f64], weights: &[f64], variants: impl Fn(f64) -> Vec<Vec<f64>>) -> Products {
    let kinds = variants(0.0).len();
    let mut out = vec![vec![vec![vec![0.0; order + 1]; order + 1]; kinds]; kinds];
    for (s, w) in points.iter().zip(weights) {
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

fn sheets(
    patterns: &[Pattern],
    order_across: usize,
    order_through: usize,
    stiffness: &StiffnessMatrix,
    level: bool,
) -> Vec<Sheet> {
    let across = |s: f64| {
        let (p, d) = orthonormal_legendre(order_across, s);
        vec![p, d]
    };
    let (zeta, zeta_weights) = gauss(order_through + 2);
    let z = products(order_through, &zeta, &zeta_weights, |s| {
        let (p, d) = orthonormal_legendre(order_through, s);
        let lever = d.iter().map(|d| (s - 1.0) * d).collect();
        vec![p, lever, d]
    });
    let (eta, eta_weights) = gauss(order_across + 2);
    if level {
        let y = products(order_across, &eta, &eta_weights, across);
        // The fifth term is zero where nothing leans.
        return vec![couple(0.0, patterns, (&y, &z), stiffness, TERMS - 1)];
    }
    let sheet = |(eta, weight): (&f64, &f64)| {
        let y = products(order_across, &[*eta], &[*weight], across);
        couple(*eta, patterns, (&y, &z), stiffness, TERMS)
    };
    eta.iter().zip(&eta_weights).map(sheet).collect()
}

fn couple(
    eta: f64,
    patterns: &[Pattern],
    (y, z): (&Products, &Products),
    stiffness: &StiffnessMatrix,
    used: usize,
) -> Sheet {
    let (mut couplings, mut terms) = (Vec::new(), Vec::new());
    for (row, p) in patterns.iter().enumerate() {
        for (column, q) in patterns.iter().enumerate() {
            let start = terms.len();
            for a in 0..used {
                for b in 0..used {
                    let c = stiffness[voigt(p.component, TERM_DIRECTION[a])][voigt(q.component, TERM_DIRECTION[b])];
                    let weight = c
                        * y[ACROSS_VARIANT[a]][ACROSS_VARIANT[b]][p.across][q.across]
                        * z[THROUGH_VARIANT[a]][THROUGH_VARIANT[b]][p.through][q.through];
                    // Entries below rounding of the largest stiffness are exact zeros of the theory.
                    if weight.abs() > 1e-13 * stiffness[0][0] {
                        terms.push((TERMS * a + b, weight));
                    }
                }
            }
            if terms.len() > start {
                couplings.push(Coupling { row, column, terms: start..terms.len() });
            }
        }
    }
    Sheet { eta, couplings, terms }
}
