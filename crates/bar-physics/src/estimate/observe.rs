//! What a wood would weigh and sound like, with exact derivatives for the wood and for the sizes.
use super::state::{self, COUNT};
use super::{BENDING_MODEL_CENTS, EstimateError, KnownBar, Observed, Readings, TORSION_MODEL_CENTS};
use crate::polynomial::gauss;
use crate::units::{CENTS_PER_RELATIVE_OMEGA_SQUARED as CENTS, cents};
use crate::{Bar, GeometryError, Mode, ModeKind, Modes, PhysicsError, StiffnessMatrix, Wanted, solid};
use nalgebra::{DMatrix, DVector};

/// The sizes that may be wrong.
pub(super) const SIZES: usize = 3;
pub(super) const LENGTH: usize = 0;
pub(super) const WIDTH: usize = 1;
pub(super) const THICKNESS: usize = 2;

/// A quantity that can be observed: its prediction is left to the caller, its slopes are here.
pub(super) struct Row {
    /// Per unit of each logarithm of the state.
    pub state: [f64; COUNT],
    /// Per relative error of length and of width, and per metre of thickness.
    pub sizes: [f64; SIZES],
}

/// Everything observed, compared with one state; frequencies in cents, the mass in 1/865.6 of its logarithm
/// (so that all entries are of one size).
pub(super) struct Comparison {
    pub what: Vec<Observed>,
    /// Observed less predicted.
    pub difference: DVector<f64>,
    /// Slopes for the state, one row per observation.
    pub slopes: DMatrix<f64>,
    /// Slopes for the sizes.
    pub size_slopes: DMatrix<f64>,
    /// Variance of each reading and of the solid itself.
    pub own_variance: DVector<f64>,
    /// Covariance of what is not the wood: sizes (common to all), each reading and the solid itself.
    pub noise: DMatrix<f64>,
}

pub(super) fn bar_at(known: &KnownBar, at: &DVector<f64>) -> Bar {
    let wood = state::to_wood(at, &known.prior.mean.name);
    Bar::new(known.width.m, known.underside.clone(), wood, known.grain)
}

/// Modes for the report: besides the `needed` ones those that may have been mistaken or could still be heard.
pub(super) fn modes_for_report(known: &KnownBar, at: &DVector<f64>, needed: Wanted) -> Result<Modes, PhysicsError> {
    let bar = bar_at(known, at);
    let more = Wanted { bending: 4, torsion: 2, sideways: 1 };
    match solid::modes(&bar, more) {
        // A stubby bar has no clear higher modes: then only those that were heard are spoken of.
        Err(PhysicsError::NotABar { .. }) => solid::modes(&bar, needed),
        other => other,
    }
}

/// Compares what was measured with what the wood at `at` would give.
pub(super) fn compare(
    known: &KnownBar,
    readings: &Readings,
    at: &DVector<f64>,
    modes: &Modes,
) -> Result<Comparison, EstimateError> {
    let bar = bar_at(known, at);
    let slopes = Slopes::new(&bar)?;
    let (mut what, mut rows, mut difference, mut variance) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    if let Some(mass) = known.mass {
        what.push(Observed::Mass);
        rows.push(mass_row(&bar));
        difference.push(CENTS * (mass.kg / bar.mass_kg()).ln());
        variance.push((CENTS * mass.sigma_kg / mass.kg).powi(2));
    }
    for (observed, reading) in readings.heard() {
        let Some(mode) = mode(modes, observed) else { continue };
        what.push(observed);
        let row = slopes.of(modes, mode);
        difference.push(cents(reading.hz, mode.hz));
        variance.push(reading.sigma_cents.powi(2) + model_variance(known, mode.kind, &row));
        rows.push(row);
    }
    let n = rows.len();
    let size_slopes = DMatrix::from_fn(n, SIZES, |i, j| rows[i].sizes[j]);
    let sizes = DMatrix::from_diagonal(&size_variances(known));
    let own_variance = DVector::from_vec(variance);
    let noise = &size_slopes * sizes * size_slopes.transpose() + DMatrix::from_diagonal(&own_variance);
    let slopes = DMatrix::from_fn(n, COUNT, |i, j| rows[i].state[j]);
    Ok(Comparison { what, difference: DVector::from_vec(difference), slopes, size_slopes, own_variance, noise })
}

/// The computed mode that an observation names.
pub(super) fn mode(modes: &Modes, observed: Observed) -> Option<&Mode> {
    match observed {
        Observed::Mass => None,
        Observed::Pitch { kind, number } => modes.of(kind).get(number - 1),
    }
}

/// Variance of a computed mode, in cents².
///
/// Besides the solid's own error: on a stubby bar (length under six widths) bending 2 or 3 meets the bending of the
/// section itself, which E_W carries. There pitch is no longer linear in E_W, and by as much as E_W's spread
/// moves the mode it is not trusted. On other bars this is below a cent.
pub(super) fn model_variance(known: &KnownBar, kind: ModeKind, row: &Row) -> f64 {
    let solid = if kind == ModeKind::Bending { BENDING_MODEL_CENTS } else { TORSION_MODEL_CENTS };
    let mixing = row.state[state::slot::E_W] * known.prior.ln_other_ratio_sigma;
    solid * solid + mixing * mixing
}

/// Variances of the size errors in the units of [`Row::sizes`].
pub(super) fn size_variances(known: &KnownBar) -> DVector<f64> {
    let mut out = DVector::zeros(SIZES);
    out[LENGTH] = (known.length_sigma_m / known.underside.length_m()).powi(2);
    out[WIDTH] = (known.width.sigma_m / known.width.m).powi(2);
    out[THICKNESS] = known.thickness_sigma_m.powi(2);
    out
}

/// The mass goes with density, length, width and the mean thickness.
pub(super) fn mass_row(bar: &Bar) -> Row {
    let mut row = Row { state: [0.0; COUNT], sizes: [0.0; SIZES] };
    row.state[state::slot::DENSITY] = CENTS;
    row.sizes = [CENTS, CENTS, CENTS * bar.length_m() / bar.underside.side_area_m2()];
    row
}

impl Readings {
    /// Those that were heard.
    pub(super) fn heard(&self) -> impl Iterator<Item = (Observed, super::PitchReading)> {
        let of = |kind, readings: &[Option<super::PitchReading>]| -> Vec<_> {
            let pitch = |(i, r): (usize, &Option<_>)| r.map(|r| (Observed::Pitch { kind, number: i + 1 }, r));
            readings.iter().enumerate().filter_map(pitch).collect()
        };
        of(ModeKind::Bending, &self.bending).into_iter().chain(of(ModeKind::Torsion, &self.torsion))
    }
}

/// The slopes of the stiffness in bar axes, ready for every mode.
pub(super) struct Slopes {
    length_m: f64,
    width_m: f64,
    underside: crate::Underside,
    stiffness: StiffnessMatrix,
    per_state: [StiffnessMatrix; COUNT],
}

impl Slopes {
    pub fn new(bar: &Bar) -> Result<Self, PhysicsError> {
        let wood = bar.wood.stiffness().map_err(GeometryError::Wood)?;
        let slopes = state::stiffness_slopes(&bar.wood).map_err(GeometryError::Wood)?;
        Ok(Self {
            length_m: bar.length_m(),
            width_m: bar.width_m,
            underside: bar.underside.clone(),
            stiffness: bar.grain.turn(&wood),
            per_state: slopes.map(|slope| bar.grain.turn(&slope)),
        })
    }

    /// Slopes of a mode in cents.
    pub fn of(&self, modes: &Modes, mode: &Mode) -> Row {
        let energy = |c: &StiffnessMatrix| -> f64 {
            c.iter().zip(&mode.strain_products).flat_map(|(c, s)| c.iter().zip(s)).map(|(c, s)| c * s).sum()
        };
        let omega_squared = energy(&self.stiffness);
        let mut state: [f64; COUNT] = std::array::from_fn(|k| CENTS * energy(&self.per_state[k]) / omega_squared);
        state[super::state::slot::DENSITY] = -CENTS;
        let kinetic = self.kinetic_shares(mode);
        let stretch = |axis: usize| CENTS * (2.0 * kinetic[axis] - self.strain_powers(mode, axis) / omega_squared);
        // A caliper that reads too little leaves wood unseen: the opposite of a removal everywhere.
        let thickness = -mode.removal_cents(&modes.grid_m, |_| 1.0);
        Row { state, sizes: [stretch(0), stretch(1), thickness] }
    }

    /// Σ Cₐᵦ Sₐᵦ (nₐ + nᵦ), where nₐ counts how often `axis` stands in the strain a.
    ///
    /// Stretching the bar by s along an axis, with that component of the motion divided by s, divides each
    /// strain by sⁿ; by Rayleigh's principle the old motion gives the first-order change of ω².
    fn strain_powers(&self, mode: &Mode, axis: usize) -> f64 {
        let power = |a: usize| {
            let (i, j) = crate::wood::VOIGT_PAIRS[a];
            f64::from(u8::from(i == axis) + u8::from(j == axis))
        };
        let mut sum = 0.0;
        for a in 0..6 {
            for b in 0..6 {
                sum += self.stiffness[a][b] * mode.strain_products[a][b] * (power(a) + power(b));
            }
        }
        sum
    }

    /// Share of the kinetic energy in the motion along each axis.
    ///
    /// Gauss points over width and thickness, Simpson's rule along the bar; the shares that matter are small
    /// (a few per cent), so that an error of 0.1 % of them is nothing beside the error of a size.
    fn kinetic_shares(&self, mode: &Mode) -> [f64; 3] {
        const PIECES: usize = 40;
        let (points, weights) = gauss(3);
        let mut sums = [0.0; 3];
        for i in 0..=PIECES {
            let x_m = self.length_m * i as f64 / PIECES as f64;
            let simpson = if i == 0 || i == PIECES { 1.0 } else { 2.0 + 2.0 * (i % 2) as f64 };
            let thickness_m = self.underside.thickness_at(x_m);
            for (eta, across) in points.iter().zip(&weights) {
                for (zeta, through) in points.iter().zip(&weights) {
                    let motion = mode.shape.at(x_m, 0.5 * eta * self.width_m, 0.5 * (1.0 - zeta) * thickness_m);
                    let weight = simpson * across * through * thickness_m;
                    sums.iter_mut().zip(motion).for_each(|(sum, u)| *sum += weight * u * u);
                }
            }
        }
        let total: f64 = sums.iter().sum();
        sums.map(|s| s / total)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Size, state};
    use super::*;
    use crate::{Grain, Underside, units};

    /// An arched bar with its grain turned, so that nothing is symmetric.
    fn known(length_m: f64, width_m: f64, thicker_m: f64) -> KnownBar {
        let thickness = [0.022, 0.021, 0.012, 0.009, 0.013, 0.021, 0.022];
        let x_m = (0..7).map(|i| length_m * f64::from(i) / 6.0).collect();
        let underside = Underside::new(x_m, thickness.map(|t| t + thicker_m).to_vec(), vec![]).unwrap();
        let size = Size { m: width_m, sigma_m: 0.0 };
        let mut known = KnownBar::blank(Size::from_mm(400.0, 0.0), size, Size::from_mm(22.0, 0.0)).unwrap();
        known.underside = underside;
        known.grain = Grain::from_degrees(4.0, 2.0);
        known
    }

    const WANTED: Wanted = Wanted { bending: 3, torsion: 2, sideways: 0 };

    fn hz(known: &KnownBar, at: &DVector<f64>) -> Vec<f64> {
        let modes = solid::modes(&bar_at(known, at), WANTED).unwrap();
        modes.bending.iter().chain(&modes.torsion).map(|m| m.hz).collect()
    }

    /// Central differences of the full solve against the slopes.
    fn compare_slopes(differences: &[f64], slopes: impl Iterator<Item = f64>, tolerance: f64, what: &str) {
        for (mode, (difference, slope)) in differences.iter().zip(slopes).enumerate() {
            assert!((difference - slope).abs() < tolerance, "{what}, mode {mode}: {slope} against {difference}");
        }
    }

    #[test]
    fn slopes_are_those_of_the_full_solve() {
        let base = known(0.4, 0.06, 0.0);
        let at = state::from_wood(&base.prior.mean);
        let bar = bar_at(&base, &at);
        let modes = solid::modes(&bar, WANTED).unwrap();
        let slopes = Slopes::new(&bar).unwrap();
        let rows: Vec<Row> = modes.bending.iter().chain(&modes.torsion).map(|m| slopes.of(&modes, m)).collect();
        let change = |up: Vec<f64>, down: Vec<f64>, step: f64| -> Vec<f64> {
            up.iter().zip(&down).map(|(u, d)| units::cents(*u, *d) / (2.0 * step)).collect()
        };
        for slot in 0..COUNT {
            let moved = |h: f64| {
                let mut moved = at.clone();
                moved[slot] += h;
                hz(&base, &moved)
            };
            // Step 0.01: the curvature of a slope of up to 866 cents leaves 0.03; the solve's own rounding 1e-4.
            compare_slopes(&change(moved(0.01), moved(-0.01), 0.01), rows.iter().map(|r| r.state[slot]), 0.1, "wood");
        }
        let length = |h: f64| hz(&known(0.4 * (1.0 + h), 0.06, 0.0), &at);
        let width = |h: f64| hz(&known(0.4, 0.06 * (1.0 + h), 0.0), &at);
        // Slopes of up to 3500 cents per unit; 0.3 % for the quadrature of kinetic shares and the solid's own
        // truncation, which moves with the shape. An error of 0.1 % of length times that is 0.01 cent.
        let sized = |i: usize| rows.iter().map(move |r| r.sizes[i]);
        compare_slopes(&change(length(1e-3), length(-1e-3), 1e-3), sized(LENGTH), 10.0, "length");
        compare_slopes(&change(width(1e-3), width(-1e-3), 1e-3), sized(WIDTH), 10.0, "width");
        // 1e5 cents per metre (100 per mm); 1 % because the mesh's own thickness is a cubic through the corners.
        let thicker = |h: f64| hz(&known(0.4, 0.06, h), &at);
        compare_slopes(&change(thicker(1e-5), thicker(-1e-5), 1e-5), sized(THICKNESS), 1000.0, "thickness");
    }
}
