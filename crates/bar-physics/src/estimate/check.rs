//! Refuses values that cannot be meant.
use super::{EstimateError, KnownBar, PitchReading, Readings, WoodPrior};

pub(super) fn check(known: &KnownBar, readings: &Readings) -> Result<(), EstimateError> {
    sizes(known)?;
    prior(&known.prior)?;
    let heard = heard("bending", &readings.bending)? + heard("torsion", &readings.torsion)?;
    if heard == 0 && known.mass.is_none() { Err(EstimateError::NothingMeasured) } else { Ok(()) }
}

fn in_range(
    what: &str,
    value: f64,
    (low, high): (f64, f64),
    unit: &'static str,
    next_step: &'static str,
) -> Result<(), EstimateError> {
    if value >= low && value <= high {
        return Ok(());
    }
    Err(EstimateError::OutOfRange { what: what.to_owned(), value, unit, low, high, next_step })
}

fn sizes(known: &KnownBar) -> Result<(), EstimateError> {
    let length_mm = known.underside.length_m() * 1e3;
    let (_, thinnest_m) = known.underside.thinnest();
    // The limits of the solid itself.
    in_range("the length", length_mm, (30.0, 3000.0), "mm", "measure it again")?;
    in_range("the width", known.width.m * 1e3, (3.0, 500.0), "mm", "measure it again")?;
    // A fifth: beyond it nothing can be said of stiffness, and errors are no longer small.
    let errors = [
        ("the error of the length", known.length_sigma_m * 1e3, 0.2 * length_mm),
        ("the error of the width", known.width.sigma_m * 1e3, 0.2 * known.width.m * 1e3),
        ("the error of the thickness", known.thickness_sigma_m * 1e3, 0.2 * thinnest_m * 1e3),
    ];
    for (what, sigma_mm, most_mm) in errors {
        in_range(what, sigma_mm, (0.0, most_mm), "mm", "give one standard uncertainty, for example 0.1 mm")?;
    }
    if let Some(mass) = known.mass {
        in_range("the mass", mass.kg * 1e3, (0.1, 100_000.0), "g", "weigh it in grams")?;
        let limits_g = (1e-6 * mass.kg * 1e3, 0.5 * mass.kg * 1e3);
        in_range("the error of the mass", mass.sigma_kg * 1e3, limits_g, "g", "a kitchen scale reads to 1 g")?;
    }
    for (what, turn_rad) in [("the grain's plan angle", known.grain.plan_rad), ("the grain's dip", known.grain.dip_rad)]
    {
        in_range(what, turn_rad.to_degrees(), (-90.0, 90.0), "degrees", "0 is straight grain")?;
    }
    Ok(())
}

fn prior(prior: &WoodPrior) -> Result<(), EstimateError> {
    prior.mean.check().map_err(|e| crate::PhysicsError::from(crate::GeometryError::Wood(e)))?;
    let poisson = [("nu_LW", prior.mean.nu_lw), ("nu_LH", prior.mean.nu_lh), ("nu_WH", prior.mean.nu_wh)];
    for (what, value) in poisson {
        // They are believed by their logarithm.
        in_range(what, value, (1e-4, 2.0), "", "woods lie between 0.02 and 0.8")?;
    }
    for (what, sigma) in prior.named_sigmas() {
        // Beyond a factor of e either way the linear step is no use; zero would make it certain.
        in_range(what, sigma, (1e-4, 1.0), "(relative)", "give the spread of the wood, for example 0.2")?;
    }
    Ok(())
}

/// How many were heard.
fn heard(kind: &'static str, readings: &[Option<PitchReading>]) -> Result<usize, EstimateError> {
    let mut last: Option<(usize, f64)> = None;
    let mut count = 0;
    for (number, reading) in readings.iter().enumerate().filter_map(|(i, r)| r.map(|r| (i + 1, r))) {
        in_range(&format!("{kind} {number}"), reading.hz, (5.0, 40_000.0), "Hz", "leave out what was not heard")?;
        let what = format!("the error of {kind} {number}");
        in_range(&what, reading.sigma_cents, (1e-3, 200.0), "cents", "1 cent is a good reading")?;
        if let Some((below, below_hz)) = last.filter(|(_, hz)| *hz >= reading.hz) {
            return Err(EstimateError::OutOfOrder { kind, number, hz: reading.hz, below, below_hz });
        }
        last = Some((number, reading.hz));
        count += 1;
    }
    Ok(count)
}
