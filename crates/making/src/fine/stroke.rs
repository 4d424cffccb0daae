//! The smallest safe cut that lowers one mode and spares the others.
use crate::error::MakingError;
use crate::plan::Kernel;
use bar_physics::{Bar, Modes};

/// A band on both sides of the centre, or over it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// From so far from the centre.
    pub from_m: f64,
    /// To so far.
    pub to_m: f64,
    /// How deep.
    pub depth_m: f64,
    /// What it does to each tuned mode, in cents.
    pub cents: Vec<f64>,
}

/// Width of the strip: what a scraper or a finger's breadth of paper takes (a judgement).
const STRIP_M: f64 = 0.020;

/// Where mode `mode` (from 1) falls by `by_cents` while the others, which stand `above` the lowest they may be, in cents, fall least of what they have to spare.
///
/// First order, for a few cents; `least_m` is the thinnest wood allowed.
///
/// # Errors
/// `no_stroke` where no place lowers that mode without leaving another flat or the wood too thin.
pub fn stroke(
    bar: &Bar,
    modes: &Modes,
    mode: usize,
    (by_cents, above, least_m): (f64, &[f64], f64),
) -> Result<Stroke, MakingError> {
    let kernel = Kernel::new(modes, above.len());
    let half_m = kernel.half_m();
    let steps = (0.8 * half_m / 0.005) as usize;
    let candidates = (0..=steps).map(|i| (0.005 * i as f64 - 0.5 * STRIP_M).max(0.0)).map(|from_m| {
        let to_m = if from_m > 0.0 { from_m + STRIP_M } else { 0.5 * STRIP_M };
        let per_m: Vec<f64> = (0..above.len()).map(|k| kernel.cents_per_m(k, from_m, to_m)).collect();
        let depth_m = -by_cents / per_m[mode - 1];
        Stroke { from_m, to_m, depth_m, cents: per_m.iter().map(|per_m| per_m * depth_m).collect() }
    });
    let allowed = |stroke: &Stroke| {
        let places = [half_m - stroke.from_m, half_m - stroke.to_m, half_m + stroke.from_m, half_m + stroke.to_m];
        let thick = places.iter().all(|x_m| bar.underside.thickness_at(*x_m) - stroke.depth_m >= least_m);
        let spare = stroke.cents.iter().zip(above).all(|(fall, above)| *fall + above > 0.0);
        // Half a millimetre for a few cents means that the mode hardly answers there.
        stroke.depth_m > 0.0 && stroke.depth_m < 5e-4 && thick && spare
    };
    let harm = |stroke: &Stroke| -> f64 {
        let others = stroke.cents.iter().zip(above).enumerate().filter(|(k, _)| k + 1 != mode);
        others.map(|(_, (fall, above))| (fall / above.max(0.1)).abs()).sum::<f64>() + 1e3 * stroke.depth_m
    };
    candidates.filter(allowed).min_by(|a, b| harm(a).total_cmp(&harm(b))).ok_or_else(|| {
        MakingError::new(
            "no_stroke",
            format!("no place lowers mode {mode} by {by_cents:.1} cents without leaving another mode flat or the wood too thin"),
            "ask `next` or `rescue` for the whole bar",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use bar_physics::solid::modes;
    use bar_physics::{Grain, Underside, Wanted, Wood};

    fn c4() -> Bar {
        // A C4 with an arch as the trade's example: 365 × 50 × 22 mm, 7.8 mm in the middle, 119 mm of half-length.
        let (length_m, half_arch_m) = (0.365_f64, 0.119_f64);
        let at = |x: f64| {
            let u = ((x - 0.5 * length_m).abs() / half_arch_m).min(1.0);
            0.0078 + (0.022 - 0.0078) * u.powi(4)
        };
        let x_m: Vec<f64> = (0..=365).map(|i| 0.001 * f64::from(i)).collect();
        let thickness_m = x_m.iter().map(|x| at(*x)).collect();
        let underside = Underside::new(x_m, thickness_m, Vec::new()).unwrap();
        Bar::new(0.050, underside, Wood::generic_hardwood(1000.0, 20e9), Grain::from_degrees(0.0, 0.0))
    }

    #[test]
    fn a_stroke_does_to_the_solid_what_it_says() {
        let bar = c4();
        let wanted = Wanted { bending: 3, torsion: 0, sideways: 0 };
        let before = modes(&bar, wanted).unwrap();
        for (mode, near) in [(1, 0.0..0.02), (2, 0.04..0.13), (3, 0.05..0.14)] {
            let told = stroke(&bar, &before, mode, (3.0, &[20.0, 20.0, 20.0], 0.005)).unwrap();
            // The trade's table: mode 1 answers in the centre, mode 2 from 0.10 to 0.20 L, mode 3 about 0.20 L; L is 365 mm.
            assert!(near.contains(&told.from_m), "mode {mode}: {told:?}");
            assert!((told.cents[mode - 1] + 3.0).abs() < 1e-9);
            let centre_m = 0.5 * bar.length_m();
            let inside = |x: f64| ((x - centre_m).abs() >= told.from_m) && ((x - centre_m).abs() <= told.to_m);
            let stations: Vec<f64> = (0..=3650).map(|i| 1e-4 * f64::from(i)).collect();
            let cut = bar.underside.lowered(&stations, |x| if inside(x) { told.depth_m } else { 0.0 }).unwrap();
            let after = modes(&Bar { underside: cut, ..bar.clone() }, wanted).unwrap();
            for (k, told) in told.cents.iter().enumerate() {
                let found = bar_physics::units::cents(after.bending[k].hz, before.bending[k].hz);
                // First order on 3 cents, and the band's edges at tenths of a millimetre: a tenth of it.
                assert!((found - told).abs() < 0.1 * 3.0, "mode {mode}, of {}: {found} {told}", k + 1);
            }
        }
    }

    #[test]
    fn no_stroke_is_told_past_the_least_thickness_or_a_flat_mode() {
        let bar = c4();
        let before = modes(&bar, Wanted { bending: 3, torsion: 0, sideways: 0 }).unwrap();
        let all_spent = stroke(&bar, &before, 3, (3.0, &[0.0, 0.0, 20.0], 0.005)).unwrap_err();
        assert_eq!(all_spent.code, "no_stroke");
        assert_eq!(stroke(&bar, &before, 1, (3.0, &[20.0; 3], 0.03)).unwrap_err().code, "no_stroke");
    }
}
