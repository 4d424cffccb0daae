//! Lengths in words, rounded as they are read from a rule: 0.5 mm and 1/32 in.

/// A whole number of parts of `value`: rounded to the nearest `1/parts`.
fn parts_of(value: f64, parts: f64) -> f64 {
    (value * parts).round()
}

/// A length to the half millimetre: "62 mm", "62.5 mm".
pub fn mm(length_mm: f64) -> String {
    let halves = parts_of(length_mm, 2.0);
    let text =
        if (halves % 2.0).abs() < 0.5 { format!("{:.0} mm", halves / 2.0) } else { format!("{:.1} mm", halves / 2.0) };
    with_true_minus(&text)
}

/// A thickness to the tenth of a millimetre, as a caliper is read: "8.2 mm".
pub fn fine_mm(length_mm: f64) -> String {
    with_true_minus(&format!("{length_mm:.1} mm"))
}

/// A length to 1/32 inch: "2 7/16 in", "5/32 in", "0 in".
pub fn inches(length_mm: f64) -> String {
    let thirty_seconds = parts_of(length_mm.abs() / 25.4, 32.0);
    if !thirty_seconds.is_finite() || thirty_seconds > 1e9 {
        return format!("{} in", length_mm / 25.4);
    }
    // Exact: the value is a whole number below 1e9.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let total = thirty_seconds as u64;
    let (whole, mut top, mut bottom) = (total / 32, total % 32, 32);
    while top > 0 && top % 2 == 0 {
        top /= 2;
        bottom /= 2;
    }
    let sign = if length_mm < 0.0 && total > 0 { "−" } else { "" };
    match (whole, top) {
        (whole, 0) => format!("{sign}{whole} in"),
        (0, top) => format!("{sign}{top}/{bottom} in"),
        (whole, top) => format!("{sign}{whole} {top}/{bottom} in"),
    }
}

/// Both units: "62 mm (2 7/16 in)".
pub fn both(length_mm: f64) -> String {
    format!("{} ({})", mm(length_mm), inches(length_mm))
}

/// Cents with their sign, to the whole cent: "+12", "−4", "0".
pub fn cents(value: f64) -> String {
    let rounded = value.round();
    if rounded > 0.0 {
        format!("+{rounded:.0}")
    } else if rounded < 0.0 {
        format!("−{:.0}", -rounded)
    } else if rounded.is_nan() {
        "unknown".to_owned()
    } else {
        "0".to_owned()
    }
}

/// The typographic minus in place of the hyphen; "-0" loses its sign.
fn with_true_minus(text: &str) -> String {
    match text.strip_prefix('-') {
        Some(rest) if rest.trim_start_matches(['0', '.']).starts_with(' ') => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_rounded_to_the_rule() {
        assert_eq!(both(62.0), "62 mm (2 7/16 in)");
        assert_eq!(both(62.3), "62.5 mm (2 7/16 in)");
        assert_eq!(inches(25.4), "1 in");
        assert_eq!(inches(12.7), "1/2 in");
        assert_eq!(inches(0.3), "0 in");
        assert_eq!(inches(-6.35), "−1/4 in");
        assert_eq!(mm(-0.1), "0 mm");
        assert_eq!(mm(-1.5), "−1.5 mm");
        assert_eq!(fine_mm(8.149), "8.1 mm");
    }

    #[test]
    fn cents_carry_their_sign() {
        assert_eq!([12.4, -3.6, 0.2, -0.2].map(cents), ["+12", "−4", "0", "0"]);
        assert_eq!(cents(f64::NAN), "unknown");
    }

    #[test]
    fn no_length_panics() {
        for odd in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, 1e-300] {
            let _ = (mm(odd), inches(odd), both(odd), cents(odd));
        }
    }
}
