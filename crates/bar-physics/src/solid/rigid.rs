//! The rigid motions of a bar, held exactly by its space of displacements.
use super::field::Space;
use super::section::Parity;

/// Coefficients of 1, of η or ζ, and of ηζ in orthonormal Legendre polynomials (P0 = 1/√2, P1 = √(3/2)·s).
const ONE: f64 = 2.0;
const LINEAR: f64 = 1.154_700_538_379_251_5;
const BILINEAR: f64 = 2.0 / 3.0;

/// Part of a motion: component, order across, order through, coefficient at a node.
type Part<'a> = (usize, usize, usize, &'a dyn Fn(usize) -> f64);

/// The rigid motions `space` holds, as vectors (not yet normalised): three per symmetry class.
pub(super) fn motions(space: &Space) -> Vec<Vec<f64>> {
    let mesh = &space.mesh;
    let x = |node: usize| mesh.node_x_m(node) * ONE;
    let minus_x = |node: usize| -x(node);
    let y = |_: usize| 0.5 * mesh.width_m * LINEAR;
    let minus_y = |node: usize| -y(node);
    // z = (ζ − 1)(t + ηh)/2, with t the thickness on the middle and h half of far minus near.
    let half_t = |node: usize| 0.5 * mesh.node_thickness_m(node);
    let half_h = |node: usize| 0.5 * mesh.node_lean_m(node);
    let height = [
        (0, 0, &(|n: usize| -half_t(n) * ONE) as &dyn Fn(usize) -> f64),
        (0, 1, &|n: usize| half_t(n) * LINEAR),
        (1, 0, &|n: usize| -half_h(n) * LINEAR),
        (1, 1, &|n: usize| half_h(n) * BILINEAR),
    ];
    let minus = height.map(|(_, _, f)| move |n: usize| -f(n));
    let one = |_: usize| ONE;
    let mut out = Vec::new();
    if space.parity != Parity::Antisymmetric {
        out.push(field(space, &[(0, 0, 0, &one)]));
        out.push(field(space, &[(2, 0, 0, &one)]));
        let mut about_y: Vec<Part> = height.iter().map(|(j, k, f)| (0, *j, *k, *f)).collect();
        about_y.push((2, 0, 0, &minus_x));
        out.push(field(space, &about_y));
    }
    if space.parity != Parity::Symmetric {
        out.push(field(space, &[(1, 0, 0, &one)]));
        out.push(field(space, &[(0, 1, 0, &minus_y), (1, 0, 0, &x)]));
        let mut about_x: Vec<Part> =
            height.iter().zip(&minus).map(|((j, k, _), f)| (1, *j, *k, f as &dyn Fn(usize) -> f64)).collect();
        about_x.push((2, 1, 0, &y));
        out.push(field(space, &about_x));
    }
    out
}

/// The vector of these parts; a part the space lacks is one that is zero by symmetry.
fn field(space: &Space, parts: &[Part]) -> Vec<f64> {
    let m = space.section.patterns.len();
    let mut v = vec![0.0; space.mesh.node_count() * m];
    for (component, across, through, value) in parts {
        if let Some(s) = space.section.find(*component, *across, *through) {
            for node in 0..space.mesh.node_count() {
                v[node * m + s] += value(node);
            }
        }
    }
    v
}
