//! An arch for given targets: the shape of the underside at which all tuned modes are where they are wanted.
//!
//! t(u) = t_c + (H − t_c)(u/a)^q from the centre to the shoulder u = a, H beyond: three numbers for
//! three modes, found by Gauss–Newton with the solid's own sensitivities; of several solutions the
//! one with least change from the usual shape (minimum-norm steps). What this family cannot reach is
//! left to a smooth correction on hat functions under bounds.
use crate::error::MakingError;
use crate::qp::BoxQp;
use crate::{Limits, Targets};
use bar_physics::units::cents;
use bar_physics::{Bar, Modes, Underside, Wanted, solid};
use nalgebra::{Cholesky, DMatrix, DVector};

/// A designed arch.
#[derive(Debug, Clone)]
pub struct Arch {
    /// The underside.
    pub underside: Underside,
    /// Thickness at the centre.
    pub centre_m: f64,
    /// From the centre to the shoulder where the arch begins.
    pub half_length_m: f64,
    /// Cents of each tuned mode above its target, by the solid.
    pub cents: Vec<f64>,
    /// Solves of the solid it took.
    pub solves: usize,
}

/// A mode this near its aim is there: a tenth of what can be measured.
const CLOSE_CENTS: f64 = 0.3;
const MOST_STEPS: usize = 40;
/// Hat functions of the correction, centre to shoulder.
const HATS: usize = 16;

/// Designs the arch of `blank` so that its bending modes lie at note × ratio, `targets.headroom_cents` above.
///
/// `blank` must have a flat underside; its wood, grain and unevenness are used as they are.
///
/// # Errors
/// `not_a_blank`; `arch_out_of_reach`, saying which mode misses by how much and what would help;
/// and whatever the solid refuses.
pub fn design_arch(blank: &Bar, note_hz: f64, targets: &Targets, limits: Limits) -> Result<Arch, MakingError> {
    let (_, thickness_m) = blank.underside.thinnest();
    if blank.underside.thickness_m().iter().any(|t| (t - thickness_m).abs() > 1e-4) {
        let message = "the bar already has an arch";
        return Err(MakingError::new("not_a_blank", message, "give the blank's flat underside"));
    }
    if limits.min_thickness_m >= 0.95 * thickness_m {
        return Err(MakingError::new(
            "arch_out_of_reach",
            format!(
                "the blank is {:.1} mm thick and {:.1} mm must stay",
                thickness_m * 1e3,
                limits.min_thickness_m * 1e3
            ),
            "take a thicker blank or allow less thickness",
        ));
    }
    let mut designer = Designer { blank, note_hz, targets, limits, thickness_m, solves: 0 };
    let (shape, miss) = designer.fit_family()?;
    if largest(&miss) <= CLOSE_CENTS {
        return Ok(designer.answer(designer.underside(&shape, &[])?, &shape, &miss));
    }
    let (underside, miss) = designer.correct(&shape)?;
    // A cent is what a careful maker can read.
    if largest(&miss) <= 1.0 {
        return Ok(designer.answer(underside, &shape, &miss));
    }
    Err(designer.out_of_reach(&shape, &miss))
}

/// The three numbers of the family, as logarithms: centre thickness, half-length, exponent.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Shape([f64; 3]);

impl Shape {
    fn centre_m(&self) -> f64 {
        self.0[0].exp()
    }

    fn half_length_m(&self) -> f64 {
        self.0[1].exp()
    }

    fn exponent(&self) -> f64 {
        self.0[2].exp()
    }

    /// Thickness at `u_m` from the centre.
    fn thickness(&self, thickness_m: f64, u_m: f64) -> f64 {
        let s = (u_m / self.half_length_m()).clamp(0.0, 1.0);
        self.centre_m() + (thickness_m - self.centre_m()) * s.powf(self.exponent())
    }

    /// Derivative of the thickness at `u_m` by each logarithm.
    fn slopes(&self, thickness_m: f64, u_m: f64) -> [f64; 3] {
        let s = u_m / self.half_length_m();
        if s >= 1.0 {
            return [0.0; 3];
        }
        let (q, rise) = (self.exponent(), thickness_m - self.centre_m());
        let power = s.powf(q);
        let log_s = if s > 1e-9 { s.ln() } else { 0.0 };
        [self.centre_m() * (1.0 - power), -rise * q * power, rise * power * log_s * q]
    }
}

struct Designer<'a> {
    blank: &'a Bar,
    note_hz: f64,
    targets: &'a Targets,
    limits: Limits,
    thickness_m: f64,
    solves: usize,
}

impl Designer<'_> {
    fn half_m(&self) -> f64 {
        0.5 * self.blank.length_m()
    }

    /// Bounds of the three logarithms.
    fn bounds(&self) -> [(f64, f64); 3] {
        let half = self.half_m();
        [
            (self.limits.min_thickness_m.ln(), (0.98 * self.thickness_m).ln()),
            ((0.25 * half).ln(), (0.92 * half).ln()),
            (1.3_f64.ln(), 8.0_f64.ln()),
        ]
    }

    /// Gauss–Newton over the family; the best shape and its misses in cents.
    fn fit_family(&mut self) -> Result<(Shape, Vec<f64>), MakingError> {
        let bounds = self.bounds();
        // The usual shape: somewhat under half the thickness, arch over 60 % of the length. Memory.
        let start = [0.45 * self.thickness_m, 0.6 * self.half_m(), 3.0];
        let mut shape = Shape([0, 1, 2].map(|i| start[i].ln().clamp(bounds[i].0, bounds[i].1)));
        let mut best: Option<(Shape, Vec<f64>)> = None;
        for _ in 0..MOST_STEPS {
            let modes = self.solve(&self.underside(&shape, &[])?)?;
            let miss = self.misses(&modes);
            let better = best.as_ref().is_none_or(|(_, least)| largest(&miss) < largest(least));
            if better {
                best = Some((shape, miss.clone()));
            }
            if largest(&miss) <= CLOSE_CENTS {
                break;
            }
            let next = self.step(&shape, &modes, &miss);
            if (0..3).all(|i| (next.0[i] - shape.0[i]).abs() < 1e-6) {
                break;
            }
            shape = next;
        }
        best.ok_or_else(|| MakingError::new("arch_out_of_reach", "no arch could be tried", "check the blank's sizes"))
    }

    /// One minimum-norm step, at most 0.3 in each logarithm; a number on its bound stays there.
    fn step(&self, shape: &Shape, modes: &Modes, miss: &[f64]) -> Shape {
        let bounds = self.bounds();
        let jacobian = self.family_jacobian(shape, modes, miss.len());
        let mut free = [true; 3];
        let mut change = [0.0; 3];
        for _ in 0..3 {
            change = minimum_norm(&jacobian, miss, free);
            let out = |i: usize| {
                let x = shape.0[i] + change[i];
                free[i]
                    && ((shape.0[i] <= bounds[i].0 && x < bounds[i].0)
                        || (shape.0[i] >= bounds[i].1 && x > bounds[i].1))
            };
            let Some(pinned) = (0..3).find(|i| out(*i)) else { break };
            free[pinned] = false;
        }
        let widest = change.iter().fold(0.0, |a: f64, b| a.max(b.abs()));
        let damp = if widest > 0.3 { 0.3 / widest } else { 1.0 };
        Shape([0, 1, 2].map(|i| (shape.0[i] + damp * change[i]).clamp(bounds[i].0, bounds[i].1)))
    }

    /// Cents of each mode per logarithm of the family.
    fn family_jacobian(&self, shape: &Shape, modes: &Modes, tuned: usize) -> DMatrix<f64> {
        let half = self.half_m();
        DMatrix::from_fn(tuned, 3, |i, j| {
            -modes.bending[i].removal_cents(&modes.grid_m, |x| shape.slopes(self.thickness_m, (x - half).abs())[j])
        })
    }

    fn solve(&mut self, underside: &Underside) -> Result<Modes, MakingError> {
        self.solves += 1;
        let bar = Bar { underside: underside.clone(), ..self.blank.clone() };
        let modes = solid::modes(&bar, Wanted::bending(self.targets.ratios.len()))?;
        if modes.bending.len() < self.targets.ratios.len() {
            let message = format!("only {} bending modes could be computed", modes.bending.len());
            return Err(MakingError::new("mode_not_found", message, "tune fewer modes"));
        }
        Ok(modes)
    }

    /// Cents of each tuned mode above its aim.
    fn misses(&self, modes: &Modes) -> Vec<f64> {
        let miss = |(mode, ratio): (&bar_physics::Mode, &f64)| {
            cents(mode.hz, self.note_hz * ratio) - self.targets.headroom_cents
        };
        modes.bending.iter().zip(&self.targets.ratios).map(miss).collect()
    }

    /// The family's underside plus hat heights from centre to shoulder, within the limits.
    fn underside(&self, shape: &Shape, heights_m: &[f64]) -> Result<Underside, MakingError> {
        const STEP_M: f64 = 0.002;
        let (half, a) = (self.half_m(), shape.half_length_m());
        let pieces = (a / STEP_M).ceil() as usize;
        let thickness = |u: f64| {
            let extra: f64 = hat_weights(u / a, heights_m.len()).into_iter().map(|(i, w)| w * heights_m[i]).sum();
            (shape.thickness(self.thickness_m, u) + extra).clamp(self.limits.min_thickness_m, self.thickness_m)
        };
        let us: Vec<f64> = (0..=pieces).map(|k| a * k as f64 / pieces as f64).collect();
        let left = us.iter().rev().map(|u| (half - u, thickness(*u)));
        let right = us.iter().skip(1).map(|u| (half + u, thickness(*u)));
        let ends = |x: f64| std::iter::once((x, self.thickness_m));
        let (x_m, t_m) = ends(0.0).chain(left).chain(right).chain(ends(2.0 * half)).unzip();
        Ok(Underside::new(x_m, t_m, vec![half - a, half + a])?)
    }

    /// Smooth correction on hats under the bounds of thickness, from the best shape of the family.
    fn correct(&mut self, shape: &Shape) -> Result<(Underside, Vec<f64>), MakingError> {
        let mut heights = [0.0; HATS];
        let mut best: Option<(Underside, Vec<f64>)> = None;
        for _ in 0..MOST_STEPS / 2 {
            let underside = self.underside(shape, &heights)?;
            let modes = self.solve(&underside)?;
            let miss = self.misses(&modes);
            if best.as_ref().is_none_or(|(_, least)| largest(&miss) < largest(least)) {
                best = Some((underside, miss.clone()));
            }
            if largest(&miss) <= CLOSE_CENTS {
                break;
            }
            heights = self.smooth_step(shape, &heights, &modes, &miss);
        }
        best.ok_or_else(|| MakingError::new("arch_out_of_reach", "no correction could be tried", "check the sizes"))
    }

    /// Heights that cancel the misses to first order with the least bending and size of the correction.
    fn smooth_step(&self, shape: &Shape, heights: &[f64; HATS], modes: &Modes, miss: &[f64]) -> [f64; HATS] {
        // A miss of 0.1 cent weighs as much as a correction of 1 mm, or a bend of 0.2 mm between nodes.
        const MISS: f64 = 0.1;
        const SIZE_M: f64 = 1e-3;
        const BEND_M: f64 = 0.2e-3;
        let (half, a) = (self.half_m(), shape.half_length_m());
        let jacobian = DMatrix::from_fn(miss.len(), HATS, |i, j| {
            let hat = |x: f64| {
                let weights = hat_weights((x - half).abs() / a, HATS);
                weights.into_iter().filter(|(k, _)| *k == j).map(|(_, w)| w).sum::<f64>()
            };
            -modes.bending[i].removal_cents(&modes.grid_m, hat)
        });
        // J (h − heights) = −miss: the right-hand side for the new heights.
        let wanted = &jacobian * DVector::from_row_slice(heights) - DVector::from_row_slice(miss);
        let mut qp = BoxQp { h: [[0.0; HATS]; HATS], g: [0.0; HATS], low: [0.0; HATS], high: [0.0; HATS] };
        for i in 0..HATS {
            for j in 0..HATS {
                qp.h[i][j] = jacobian.column(i).dot(&jacobian.column(j)) / (MISS * MISS);
            }
            qp.h[i][i] += 1.0 / (SIZE_M * SIZE_M);
            qp.g[i] = jacobian.column(i).dot(&wanted) / (MISS * MISS);
            let t = shape.thickness(self.thickness_m, a * i as f64 / HATS as f64);
            (qp.low[i], qp.high[i]) = (self.limits.min_thickness_m - t, self.thickness_m - t);
        }
        for k in 1..HATS - 1 {
            for (i, p) in [(k - 1, 1.0), (k, -2.0), (k + 1, 1.0)] {
                for (j, q) in [(k - 1, 1.0), (k, -2.0), (k + 1, 1.0)] {
                    qp.h[i][j] += p * q / (BEND_M * BEND_M);
                }
            }
        }
        qp.solve()
    }

    fn answer(&self, underside: Underside, shape: &Shape, miss: &[f64]) -> Arch {
        Arch {
            centre_m: underside.thickness_at(self.half_m()),
            half_length_m: shape.half_length_m(),
            cents: miss.iter().map(|m| m + self.targets.headroom_cents).collect(),
            underside,
            solves: self.solves,
        }
    }

    fn out_of_reach(&self, shape: &Shape, miss: &[f64]) -> MakingError {
        let parts: Vec<String> =
            miss.iter().enumerate().map(|(i, m)| format!("mode {} misses by {m:+.0} cents", i + 1)).collect();
        let low = miss.first().is_some_and(|m| *m < 0.0);
        let hint = if low {
            "a shorter or thicker blank raises the modes; tuning fewer modes is easier"
        } else {
            "a longer or thinner blank, or a smaller minimum thickness, lowers the modes; tuning fewer modes is easier"
        };
        MakingError::new(
            "arch_out_of_reach",
            format!(
                "no arch found: at best, with {:.1} mm at the centre (limit {:.1} mm), {}",
                shape.centre_m() * 1e3,
                self.limits.min_thickness_m * 1e3,
                parts.join(", ")
            ),
            hint,
        )
    }
}

/// The two hats around `s` (0 at the centre, 1 at the shoulder) and their weights; the last ends in nothing.
fn hat_weights(s: f64, hats: usize) -> Vec<(usize, f64)> {
    if hats == 0 || s >= 1.0 {
        return Vec::new();
    }
    let place = s * hats as f64;
    let i = place.floor() as usize;
    let fraction = place - i as f64;
    let mut out = vec![(i, 1.0 - fraction)];
    if i + 1 < hats {
        out.push((i + 1, fraction));
    }
    out
}

/// Smallest change x of the free numbers with J x = −miss (damped where J is poor).
fn minimum_norm(jacobian: &DMatrix<f64>, miss: &[f64], free: [bool; 3]) -> [f64; 3] {
    let mut j = jacobian.clone();
    for (k, free) in free.into_iter().enumerate() {
        if !free {
            j.column_mut(k).fill(0.0);
        }
    }
    // 3 cents of damping: a direction that moves less than this per unit of a logarithm is left alone.
    let gram = &j * j.transpose() + DMatrix::identity(miss.len(), miss.len()) * 9.0;
    let Some(factor) = Cholesky::new(gram) else { return [0.0; 3] };
    let x = -(j.transpose() * factor.solve(&DVector::from_row_slice(miss)));
    [x[0], x[1], x[2]]
}

fn largest(miss: &[f64]) -> f64 {
    miss.iter().fold(0.0, |a: f64, b| a.max(b.abs()))
}
