//! A beam element of any order that stays accurate from thick bars to the Euler–Bernoulli limit.
//!
//! Unknowns are deflection w and rotation θ at the element's ends, and inside it bubbles of the rotation
//! (integrated Legendre polynomials, Szabó & Babuška 1991, *Finite Element Analysis*) and Legendre
//! coefficients of the shear strain γ. The deflection follows from w' = θ + γ; that it meets both end values
//! fixes the quadratic bubble. Since γ is an unknown of its own, nothing locks or cancels when shear is
//! stiff, and Euler–Bernoulli is the same element without γ: at order 2 the classic cubic one.
use super::banded::Banded;
use super::{BeamError, BeamWood, Profile, Theory};
use crate::polynomial::{gauss, orthonormal_legendre};

/// How many unknowns of which kind an element has.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    order: usize,
    theory: Theory,
}

/// The element's fields at one point: one number per unknown, or, after [`Shapes::combined`], the sum.
#[derive(Debug, Clone)]
pub(super) struct Shapes<T> {
    /// w.
    pub deflection: T,
    /// θ.
    pub rotation: T,
    /// dθ/dx.
    pub curvature: T,
    /// γ = w' − θ.
    pub shear: T,
}

impl Layout {
    pub fn new(order: usize, theory: Theory) -> Self {
        Self { order, theory }
    }

    /// Unknowns of one element, in the order w, θ (left), bubbles, shear, w, θ (right).
    pub fn unknowns(self) -> usize {
        self.stride() + 2
    }

    /// Unknowns from one element's first to the next one's; neighbours share the two at their edge.
    pub fn stride(self) -> usize {
        2 + self.order - 2 + self.shear_unknowns()
    }

    fn shear_unknowns(self) -> usize {
        match self.theory {
            Theory::EulerBernoulli => 0,
            Theory::Timoshenko => self.order,
        }
    }

    /// 1 with rotary inertia, 0 without.
    pub fn rotary(self) -> f64 {
        match self.theory {
            Theory::EulerBernoulli => 0.0,
            Theory::Timoshenko => 1.0,
        }
    }

    /// Fields at ξ in −1…1 of an element of half length `half_m`.
    pub fn shapes(self, xi: f64, half_m: f64) -> Shapes<Vec<f64>> {
        let legendre = legendre(self.order + 1, xi);
        let bubble = |k: usize| (legendre[k] - legendre[k - 2]) / (2 * k - 1) as f64;
        let bubble_integral = |k: usize| (bubble(k + 1) - bubble(k - 1)) / (2 * k - 1) as f64;
        let quadratic = bubble(2);
        let quadratic_integral = (xi * xi * xi - 3.0 * xi - 2.0) / 6.0;
        let mut shapes = Shapes::with_capacity(self.unknowns());
        // Each unknown: its own rotation, that one's slope and integral, its share of the quadratic bubble,
        // its shear, and what it adds to the deflection beside the integral of the rotation.
        let mut push = |rotation: f64, slope: f64, integral: f64, share: f64, shear: f64, deflection: f64| {
            shapes.rotation.push(rotation + share * quadratic);
            shapes.curvature.push((slope + share * xi) / half_m);
            shapes.deflection.push(deflection + half_m * (integral + share * quadratic_integral));
            shapes.shear.push(shear);
        };
        push(0.0, 0.0, 0.0, 1.5 / half_m, 0.0, 1.0);
        push(0.5 * (1.0 - xi), -0.5, 0.25 * (1.0 + xi) * (3.0 - xi), 1.5, 0.0, 0.0);
        for k in 3..=self.order {
            push(bubble(k), legendre[k - 1], bubble_integral(k), 0.0, 0.0, 0.0);
        }
        for (k, shear) in legendre.iter().enumerate().take(self.shear_unknowns()) {
            let (integral, share) = if k == 0 { (1.0 + xi, 3.0) } else { (bubble(k + 1), 0.0) };
            push(0.0, 0.0, 0.0, share, *shear, half_m * integral);
        }
        push(0.0, 0.0, 0.0, -1.5 / half_m, 0.0, 0.0);
        push(0.5 * (1.0 + xi), 0.5, 0.25 * (1.0 + xi).powi(2), 1.5, 0.0, 0.0);
        shapes
    }
}

impl Shapes<Vec<f64>> {
    fn with_capacity(unknowns: usize) -> Self {
        let empty = || Vec::with_capacity(unknowns);
        Self { deflection: empty(), rotation: empty(), curvature: empty(), shear: empty() }
    }

    /// The fields for these values of the element's unknowns.
    pub fn combined(&self, unknowns: &[f64]) -> Shapes<f64> {
        let sum = |shape: &[f64]| super::banded::dot(shape, unknowns);
        Shapes {
            deflection: sum(&self.deflection),
            rotation: sum(&self.rotation),
            curvature: sum(&self.curvature),
            shear: sum(&self.shear),
        }
    }
}

/// Legendre polynomials 0…`order` at ξ.
fn legendre(order: usize, xi: f64) -> Vec<f64> {
    let (orthonormal, _) = orthonormal_legendre(order, xi);
    orthonormal.iter().enumerate().map(|(n, v)| v / (n as f64 + 0.5).sqrt()).collect()
}

/// Rigidities and inertias per length of a bar one metre wide.
#[derive(Debug, Clone, Copy)]
pub(super) struct PerLength {
    /// E I.
    pub bending: f64,
    /// κ G A.
    pub shear: f64,
    /// ρ A.
    pub mass: f64,
    /// ρ I, zero in Euler–Bernoulli's theory.
    pub rotary: f64,
}

impl PerLength {
    pub fn at(x_m: f64, profile: &Profile, wood: &BeamWood, layout: Layout) -> Result<Self, BeamError> {
        let section = profile.section_at(x_m)?;
        let (area, inertia) = (section.thickness_m, section.thickness_m.powi(3) / 12.0);
        let density = wood.density_kg_m3 * section.density_factor;
        Ok(Self {
            bending: wood.e_l_pa * section.stiffness_factor * inertia,
            shear: wood.shear_factor * wood.g_lh_pa * section.stiffness_factor * area,
            mass: density * area,
            rotary: density * inertia * layout.rotary(),
        })
    }
}

/// Stiffness and mass matrix of the whole bar.
///
/// # Errors
/// As [`Profile::section_at`].
pub(super) fn assemble(profile: &Profile, wood: &BeamWood, layout: Layout) -> Result<(Banded, Banded), BeamError> {
    let elements = profile.edges_m().len() - 1;
    let size = elements * layout.stride() + 2;
    let half_band = layout.unknowns() - 1;
    let (mut stiffness, mut mass) = (Banded::zero(size, half_band), Banded::zero(size, half_band));
    // Exact for thickness linear in x (degree 2·order + 3); two points more for curved arches.
    let (points, weights) = gauss(profile.order() + 4);
    for (element, edge) in profile.edges_m().windows(2).enumerate() {
        let (middle, half_m) = (0.5 * (edge[0] + edge[1]), 0.5 * (edge[1] - edge[0]));
        for piece in profile.smooth_pieces(edge[0], edge[1]).windows(2) {
            let (piece_middle, piece_half) = (0.5 * (piece[0] + piece[1]), 0.5 * (piece[1] - piece[0]));
            for (point, weight) in points.iter().zip(&weights) {
                let x_m = piece_middle + piece_half * point;
                let per_length = PerLength::at(x_m, profile, wood, layout)?;
                let shapes = layout.shapes((x_m - middle) / half_m, half_m);
                add_point(
                    &mut stiffness,
                    &mut mass,
                    element * layout.stride(),
                    &shapes,
                    per_length,
                    weight * piece_half,
                );
            }
        }
    }
    Ok((stiffness, mass))
}

fn add_point(
    stiffness: &mut Banded,
    mass: &mut Banded,
    offset: usize,
    shapes: &Shapes<Vec<f64>>,
    per_length: PerLength,
    weight_m: f64,
) {
    let Shapes { deflection: w, rotation: t, curvature: c, shear: g } = shapes;
    for i in 0..w.len() {
        for j in 0..=i {
            let k = per_length.bending * c[i] * c[j] + per_length.shear * g[i] * g[j];
            let m = per_length.mass * w[i] * w[j] + per_length.rotary * t[i] * t[j];
            stiffness.add(offset + i, offset + j, weight_m * k);
            mass.add(offset + i, offset + j, weight_m * m);
        }
    }
}
