//! Bands on the underside: where they lie on the bar and how deep.
use crate::error::{MakingError, in_range};
use crate::{Band, Side};

/// Width over which a band's edge is feathered: half inside, half outside, so that the area is
/// depth × (to − from). Memory: what a drum of 50 mm leaves at the edge of a shallow cut.
pub const SHOULDER_M: f64 = 0.005;

/// Depth that `bands` take off at `x_m` of a bar of `length_m`, in metres.
pub fn depth_at(bands: &[Band], length_m: f64, x_m: f64) -> f64 {
    let from_centre_m = x_m - 0.5 * length_m;
    bands.iter().map(|band| band_depth(band, from_centre_m)).sum()
}

fn band_depth(band: &Band, from_centre_m: f64) -> f64 {
    let on_side = match band.side {
        Side::Both => true,
        Side::Left => from_centre_m <= 0.0,
        Side::Right => from_centre_m >= 0.0,
    };
    if !on_side {
        return 0.0;
    }
    let u_m = from_centre_m.abs();
    let shoulder_m = shoulder(band);
    let inner = if band.from_m <= 0.0 { 1.0 } else { (u_m - band.from_m) / shoulder_m + 0.5 };
    let outer = (band.to_m - u_m) / shoulder_m + 0.5;
    band.depth_m * inner.clamp(0.0, 1.0) * outer.clamp(0.0, 1.0)
}

fn shoulder(band: &Band) -> f64 {
    if band.to_m - band.from_m < SHOULDER_M { band.to_m - band.from_m } else { SHOULDER_M }
}

/// Places where the depth bends, from the left end, so that a station can stand there.
pub fn stations(bands: &[Band], length_m: f64) -> Vec<f64> {
    let centre_m = 0.5 * length_m;
    let mut out = Vec::new();
    for band in bands {
        let half_m = 0.5 * shoulder(band);
        let mut edges = vec![band.to_m - half_m, band.to_m + half_m];
        if band.from_m > 0.0 {
            edges.extend([band.from_m - half_m, band.from_m + half_m]);
        }
        for u_m in edges.into_iter().filter(|u| *u >= 0.0) {
            out.extend([centre_m - u_m, centre_m + u_m]);
        }
        if band.side != Side::Both && band.from_m <= 0.0 {
            // A one-sided band from the centre ends in a step: a tenth of a millimetre stands for it.
            out.extend([centre_m - 1e-4, centre_m, centre_m + 1e-4]);
        }
    }
    out.retain(|x| *x > 0.0 && *x < length_m);
    out
}

/// Refuses bands that cannot lie on a bar of `length_m`.
pub(crate) fn check(bands: &[Band], length_m: f64) -> Result<(), MakingError> {
    if bands.is_empty() {
        return Err(MakingError::new("empty_cut", "the cut has no bands", "leave the entry out or give its bands"));
    }
    let half_mm = 0.5e3 * length_m;
    for band in bands {
        let hint = "distances count from the centre of the bar, depth is what was taken off there";
        in_range("a band's nearer edge", band.from_m * 1e3, 0.0, half_mm, "mm from centre", hint)?;
        // A hair of tolerance: half a length rarely survives the way through a text file exactly.
        in_range("a band's farther edge", band.to_m * 1e3, band.from_m * 1e3, half_mm + 0.01, "mm from centre", hint)?;
        in_range("a band's depth", band.depth_m * 1e3, 0.0, 30.0, "mm", hint)?;
        if band.to_m - band.from_m < 1e-3 {
            return Err(MakingError::new(
                "narrow_band",
                format!("a band runs from {} to {} mm", band.from_m * 1e3, band.to_m * 1e3),
                "a band is at least 1 mm wide; give its farther edge",
            ));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area_m2(bands: &[Band], length_m: f64) -> f64 {
        let steps = 40_000;
        let dx = length_m / f64::from(steps);
        (0..steps).map(|i| depth_at(bands, length_m, (f64::from(i) + 0.5) * dx) * dx).sum()
    }

    #[test]
    fn feathering_keeps_the_area() {
        let band = |from_m, to_m, side| Band { from_m, to_m, depth_m: 1e-3, side };
        // Tolerance: the midpoint rule over 40 000 steps.
        assert!((area_m2(&[band(0.03, 0.06, Side::Both)], 0.4) - 2.0 * 30e-6).abs() < 1e-9);
        assert!((area_m2(&[band(0.0, 0.04, Side::Both)], 0.4) - 80e-6).abs() < 1e-9);
        assert!((area_m2(&[band(0.03, 0.06, Side::Left)], 0.4) - 30e-6).abs() < 1e-9);
    }

    #[test]
    fn impossible_bands_are_refused_with_their_value() {
        let wide = Band { from_m: 0.01, to_m: 0.3, depth_m: 1e-3, side: Side::Both };
        assert!(check(&[wide], 0.4).unwrap_err().message.contains("300"));
        let nan = Band { from_m: f64::NAN, ..wide };
        assert_eq!(check(&[nan], 0.9).unwrap_err().code, "out_of_range");
        assert_eq!(check(&[], 0.4).unwrap_err().code, "empty_cut");
    }
}
