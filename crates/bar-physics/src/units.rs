//! Conversions between the units of the shop and SI.

/// Interval from `reference_hz` to `hz` in cents, `1200 log2(hz / reference_hz)`; sharp is positive.
pub fn cents(hz: f64, reference_hz: f64) -> f64 {
    1200.0 * (hz / reference_hz).log2()
}

/// The frequency that lies `cents` above `reference_hz`, in hertz.
pub fn shifted(reference_hz: f64, cents: f64) -> f64 {
    reference_hz * (cents / 1200.0).exp2()
}

/// Millimetres to metres.
pub fn mm(length_mm: f64) -> f64 {
    length_mm * 1e-3
}

/// Metres to millimetres.
pub fn to_mm(length_m: f64) -> f64 {
    length_m * 1e3
}

/// Cents of frequency per relative change of a squared pulsation: `600 / ln 2`.
pub const CENTS_PER_RELATIVE_OMEGA_SQUARED: f64 = 600.0 / std::f64::consts::LN_2;
