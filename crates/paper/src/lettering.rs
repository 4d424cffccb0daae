//! Estimated size of lettering, so that a drawing can be laid out without a font engine.
//!
//! Advance widths are those of the bold cut of the face the program embeds (thousandths of the em,
//! read from its `hmtx` table); the bold cut is the wider one, so that an estimate errs to the safe
//! side. Kerning is left out. Another face may be some percent wider: the layout keeps clearances.

/// Part of the em that capitals and figures rise above the baseline (OS/2 `sCapHeight` of the face, 0.725, and the overshoot of brackets).
pub const ASCENT: f64 = 0.78;
/// Part of the em that descenders hang below the baseline.
pub const DESCENT: f64 = 0.24;

/// Advance widths of U+0020…U+007E in thousandths of the em.
#[rustfmt::skip] // a table: one row per sixteen code points
const ASCII: [u16; 95] = [
    269, 381, 530, 605, 605, 764, 662, 305, 420, 420, 508, 586, 325, 437, 347, 527,
    605, 605, 605, 605, 605, 605, 605, 605, 605, 605, 347, 347, 586, 586, 586, 532,
    851, 725, 676, 676, 725, 592, 586, 719, 740, 510, 503, 698, 552, 906, 754, 732,
    623, 754, 674, 607, 618, 728, 715, 1042, 667, 666, 610, 415, 527, 415, 430, 632,
    312, 613, 593, 499, 618, 542, 391, 579, 603, 312, 327, 556, 312, 859, 608, 566,
    603, 591, 486, 505, 432, 608, 539, 767, 579, 537, 518, 508, 337, 508, 544,
];

/// Advance width of one character in ems; characters outside the face count as wide.
fn advance_em(character: char) -> f64 {
    let code = u32::from(character);
    let thousandths = match code {
        0x20..=0x7E => ASCII[(code - 0x20) as usize],
        0x00A0 => 269,
        0x00B1 | 0x00D7 | 0x2212 | 0x2248 | 0x2260 | 0x2264 | 0x2265 => 605,
        0x00B7 => 366,
        0x00B0 => 349,
        0x00B2 | 0x00B3 => 410,
        0x2013 => 540,
        0x2014 => 872,
        0x2018 | 0x2019 => 378,
        0x201C | 0x201D => 642,
        0x2026 => 811,
        0x266D => 391,
        0x266F => 427,
        _ => 1010,
    };
    f64::from(thousandths) / 1000.0
}

/// Estimated width of `text` at `size_mm` (the em), in millimetres.
pub fn width_mm(text: &str, size_mm: f64) -> f64 {
    text.chars().map(advance_em).sum::<f64>() * size_mm
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_tabular_and_widths_add_up() {
        let one = width_mm("1", 10.0);
        assert!(('0'..='9').all(|d| (width_mm(&d.to_string(), 10.0) - one).abs() < 1e-12));
        assert!((width_mm("A1", 2.0) - (0.725 + 0.605) * 2.0).abs() < 1e-12);
        assert!(width_mm("木", 1.0) > 1.0, "an unknown character counts as wide");
    }
}
