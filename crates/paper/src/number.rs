//! Numbers in files: always the same digits for the same value.

/// `value` to a thousandth, without trailing zeros, never `-0`.
///
/// A thousandth of a millimetre is finer than any printer or saw; more digits would only make
/// snapshots restless.
pub fn number(value: f64) -> String {
    let mut text = format!("{value:.3}");
    if text.contains('.') {
        let kept = text.trim_end_matches('0').trim_end_matches('.').len();
        text.truncate(kept);
    }
    if text == "-0" { "0".to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::number;

    #[test]
    fn numbers_are_short_and_never_minus_nought() {
        let cases = [
            (0.0, "0"),
            (-0.0, "0"),
            (-0.0001, "0"),
            (12.5, "12.5"),
            (100.0, "100"),
            (-2.71449, "-2.714"),
            (0.1 + 0.2, "0.3"),
        ];
        for (value, text) in cases {
            assert_eq!(number(value), text);
        }
    }
}
