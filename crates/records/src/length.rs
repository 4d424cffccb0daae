//! Lengths as a maker writes them, kept beside exact millimetres.
use serde::{Deserialize, Serialize};
use std::fmt;

/// Millimetres in an inch, exact by definition (international yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// Unit meant by a bare number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LengthUnit {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
}

/// A length with the words it was entered in.
#[derive(Debug, Clone, PartialEq)]
pub struct Length {
    /// The exact value, in millimetres.
    pub mm: f64,
    /// The text as it was entered, without outer spaces.
    pub entered: String,
}

/// A text that is no length.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{text}\" is not a length: {reason}. Write 12.7, 12,7, 1/2 in, 1 1/2\" or 0.5in.")]
pub struct LengthError {
    /// The text given, shortened.
    pub text: String,
    /// What is wrong with it.
    pub reason: String,
}

impl Length {
    /// Reads "12.7", "12,7", "12.7 mm", "0.5in", "1/2", "1 1/2 in", "1-1/2\"", "2 cm"; a bare decimal number is in
    /// `bare`, a bare fraction is in inches, since nobody writes millimetres in fractions.
    ///
    /// # Errors
    /// [`LengthError`] if the text is no number, its unit is unknown, or a comma could mean thousands.
    pub fn parse(text: &str, bare: LengthUnit) -> Result<Self, LengthError> {
        let entered = text.trim();
        let refuse = |reason: &str| LengthError { text: entered.chars().take(30).collect(), reason: reason.to_owned() };
        let (number, unit) = split_unit(entered).ok_or_else(|| refuse("its unit is not mm, cm, m or in"))?;
        let value = if number.contains('/') { mixed_number(number) } else { decimal_number(number) };
        let value = value.map_err(refuse)?;
        let per_unit = match unit {
            Some(mm) => mm,
            None if number.contains('/') || bare == LengthUnit::Inch => MM_PER_INCH,
            None => 1.0,
        };
        let mm = tidy(value * per_unit);
        if mm.is_finite() { Ok(Self { mm, entered: entered.to_owned() }) } else { Err(refuse("it is too large")) }
    }
}

impl fmt::Display for Length {
    /// As entered; the millimetres follow if they were not what was written.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.entered.parse::<f64>().is_ok_and(|v| (v - self.mm).abs() < 1e-9) {
            write!(f, "{} mm", self.entered)
        } else {
            write!(f, "{} ({} mm)", self.entered, self.mm)
        }
    }
}

/// Rounds to a millionth of a millimetre: 64ths of an inch are exact there, and 12,7 stays 12.7.
fn tidy(mm: f64) -> f64 {
    (mm * 1e6).round() / 1e6
}

/// The number and the millimetres of its unit, if one is written.
fn split_unit(text: &str) -> Option<(&str, Option<f64>)> {
    let number = text.trim_end_matches(|c: char| c.is_alphabetic() || "\"″'”.".contains(c));
    let unit = text[number.len()..].trim().trim_end_matches('.').to_lowercase();
    let millimetres = match unit.as_str() {
        "" => None,
        "mm" => Some(1.0),
        "cm" => Some(10.0),
        "m" => Some(1000.0),
        "in" | "inch" | "inches" | "\"" | "″" | "”" | "''" => Some(MM_PER_INCH),
        _ => return None,
    };
    Some((number.trim(), millimetres))
}

/// "1/2", "1 1/2", "1-1/2".
fn mixed_number(text: &str) -> Result<f64, &'static str> {
    let (whole, fraction) = match text.rsplit_once([' ', '-']) {
        Some((whole, fraction)) => (whole.trim(), fraction),
        None => ("0", text),
    };
    let (above, below) = fraction.split_once('/').ok_or("its fraction is broken")?;
    let whole: u32 = whole.parse().map_err(|_| "its whole part is no whole number")?;
    let above: u32 = above.trim().parse().map_err(|_| "its fraction is broken")?;
    let below: u32 = below.trim().parse().map_err(|_| "its fraction is broken")?;
    if below == 0 {
        return Err("it divides by nothing");
    }
    Ok(f64::from(whole) + f64::from(above) / f64::from(below))
}

/// "12.7" or "12,7"; "1,234.5" is refused because it could mean either.
fn decimal_number(text: &str) -> Result<f64, &'static str> {
    let marks = text.matches(['.', ',']).count();
    if marks > 1 {
        return Err("it has more than one decimal mark");
    }
    let plain = text.replace(',', ".");
    // Rust reads "nan" and "inf" as numbers; a length is written in figures.
    if !plain.chars().all(|c| c.is_ascii_digit() || c == '.' || c == '-') {
        return Err("it holds something else than figures");
    }
    plain.parse().map_err(|_| "it is no number")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_spellings_of_a_workshop_are_read() {
        for (text, mm) in [
            ("12.7", 12.7),
            ("12,7", 12.7),
            (" 12.7 mm ", 12.7),
            ("1/2", 12.7),
            ("1/2 in", 12.7),
            ("0.5in", 12.7),
            ("0,5 in.", 12.7),
            ("1 1/2\"", 38.1),
            ("1-1/2 inch", 38.1),
            ("1/64", 0.396875),
            ("2 cm", 20.0),
            ("0.47 m", 470.0),
            ("4''", 101.6),
        ] {
            let length = Length::parse(text, LengthUnit::Mm).unwrap();
            // Exact: 64ths of an inch have six decimals in millimetres.
            assert!((length.mm - mm).abs() < 1e-9, "{text} gave {}", length.mm);
            assert_eq!(length.entered, text.trim());
        }
        assert!((Length::parse("0.5", LengthUnit::Inch).unwrap().mm - 12.7).abs() < 1e-9);
        assert!((Length::parse("12.7 mm", LengthUnit::Inch).unwrap().mm - 12.7).abs() < 1e-9);
    }

    #[test]
    fn other_texts_are_refused_with_a_reason() {
        for text in ["", "abc", "1/0", "1,234.5", "12 ft", "1e3", "nan", "inf", "1/2/3", "half", "--3", "1 /"] {
            assert!(Length::parse(text, LengthUnit::Mm).is_err(), "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_text_gives_a_length_or_a_reason(text in ".{0,40}") {
            if let Ok(length) = Length::parse(&text, LengthUnit::Mm) {
                prop_assert!(length.mm.is_finite());
            }
        }

        #[test]
        fn sixty_fourths_are_exact(n in 1_u32..10_000) {
            let length = Length::parse(&format!("{n}/64"), LengthUnit::Mm).unwrap();
            // 25.4/64 = 0.396875 has six decimals, so whole millionths are exact.
            prop_assert!((length.mm * 1e6 - f64::from(n) * 396_875.0).abs() < 1e-3);
        }
    }
}
