//! Ink, paper and two coloured pencils, for a light and a dark ground.
use crate::Pen;

/// A colour of the palette on both grounds, as `0xRRGGBB`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Token {
    /// Name used in style sheets: `--ink`.
    pub name: &'static str,
    /// On the light ground ("paper").
    pub light: u32,
    /// On the dark ground ("blackboard").
    pub dark: u32,
}

/// The sheet.
pub const GROUND: Token = Token { name: "ground", light: 0xF7F3E8, dark: 0x16201D };
/// Cards and the drawing's own ground.
pub const SURFACE: Token = Token { name: "surface", light: 0xFFFDF6, dark: 0x1E2A26 };
/// Lettering and outlines.
pub const INK: Token = Token { name: "ink", light: 0x1E2428, dark: 0xF2EFE6 };
/// Dimension lines and secondary lettering.
pub const FAINT: Token = Token { name: "faint", light: 0x4A5256, dark: 0xB7C0BB };
/// Red pencil.
pub const CUT: Token = Token { name: "cut", light: 0x8F2A1A, dark: 0xFF9D86 };
/// Blue pencil.
pub const NODE: Token = Token { name: "node", light: 0x184F78, dark: 0x8CC0EC };
/// In tolerance.
pub const DONE: Token = Token { name: "done", light: 0x20582F, dark: 0x86D19B };
/// Cautions and doubt.
pub const CAUTION: Token = Token { name: "caution", light: 0x6B4600, dark: 0xF0B84A };

/// Every colour, grounds first.
pub const TOKENS: [Token; 8] = [GROUND, SURFACE, INK, FAINT, CUT, NODE, DONE, CAUTION];

/// A colour on paper from a printer: black on white, the pencils as on the light ground.
pub fn printed(token: &Token) -> u32 {
    match *token {
        GROUND | SURFACE => 0xFFFFFF,
        INK => 0x000000,
        other => other.light,
    }
}

/// The colour a pen draws in.
pub fn token(pen: Pen) -> Token {
    match pen {
        Pen::Outline | Pen::Text => INK,
        Pen::Faint | Pen::Centre | Pen::Hidden => FAINT,
        Pen::Cut => CUT,
        Pen::Node => NODE,
        Pen::Done => DONE,
        Pen::Caution => CAUTION,
    }
}

/// Relative luminance of an sRGB colour `0xRRGGBB`, 0…1 (WCAG 2.2, definition of relative luminance).
pub fn luminance(rgb: u32) -> f64 {
    let channel = |shift: u32| {
        let value = f64::from((rgb >> shift) & 0xFF) / 255.0;
        if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * channel(16) + 0.7152 * channel(8) + 0.0722 * channel(0)
}

/// Contrast ratio of two colours, 1…21 (WCAG 2.2, definition of contrast ratio).
pub fn contrast(a: u32, b: u32) -> f64 {
    let (la, lb) = (luminance(a), luminance(b));
    (la.max(lb) + 0.05) / (la.min(lb) + 0.05)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contrast_matches_its_definition_at_the_ends() {
        // Black on white is 21:1 by definition; #767676 on white is the well-known 4.54:1.
        assert!((contrast(0x000000, 0xFFFFFF) - 21.0).abs() < 1e-9);
        assert!((contrast(0x767676, 0xFFFFFF) - 4.54).abs() < 0.005, "4.54 is given to two decimals");
    }

    #[test]
    fn every_colour_reads_on_every_ground_at_the_bench() {
        for colour in [INK, FAINT, CUT, NODE, DONE, CAUTION] {
            for ground in [GROUND, SURFACE] {
                let print = ("print", printed(&colour), printed(&ground));
                let screen = [("light", colour.light, ground.light), ("dark", colour.dark, ground.dark)];
                for (scheme, on, off) in screen.into_iter().chain([print]) {
                    let ratio = contrast(on, off);
                    // 7:1 is the enhanced level of WCAG 2.2 (1.4.6): the bench is read at arm's length in dust.
                    assert!(ratio >= 7.0, "{} on {} ({scheme}) is only {ratio:.2}:1", colour.name, ground.name);
                }
            }
        }
    }

    /// Linear sRGB as seen without one kind of cones, complete: Machado, Oliveira and Fernandes 2009, table 1, severity 1.0.
    /// The figures are quoted from memory; each row must sum to 1, for grey stays grey.
    const VISIONS: [(&str, [[f64; 3]; 3]); 3] = [
        (
            "no red cones",
            [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
        ),
        (
            "no green cones",
            [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
        ),
        (
            "no blue cones",
            [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
        ),
    ];

    fn linear(rgb: u32) -> [f64; 3] {
        [16, 8, 0].map(|shift| {
            let value = f64::from((rgb >> shift) & 0xFF) / 255.0;
            if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        })
    }

    /// CIE 1976 L*a*b* of linear sRGB, white D65 (IEC 61966-2-1; CIE 15).
    fn lab(rgb: [f64; 3]) -> [f64; 3] {
        let [r, g, b] = rgb.map(|v| v.clamp(0.0, 1.0));
        let xyz = [
            (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505,
            0.2126 * r + 0.7152 * g + 0.0722 * b,
            (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.0890,
        ];
        let [x, y, z] = xyz.map(|t| if t > 216.0 / 24389.0 { t.cbrt() } else { (24389.0 / 27.0 * t + 16.0) / 116.0 });
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    #[test]
    fn pens_differ_to_every_eye_by_colour_or_by_their_dashes() {
        let pens = [Pen::Outline, Pen::Cut, Pen::Node, Pen::Done, Pen::Caution];
        for (eye, matrix) in VISIONS {
            assert!(matrix.iter().all(|row| (row.iter().sum::<f64>() - 1.0).abs() < 2e-6), "{eye}");
            let seen = |rgb: u32| {
                let rgb = linear(rgb);
                lab(matrix.map(|row| row.iter().zip(rgb).map(|(a, b)| a * b).sum()))
            };
            for (index, a) in pens.iter().enumerate() {
                for b in &pens[index + 1..] {
                    for (scheme, pair) in
                        [("light", [token(*a).light, token(*b).light]), ("dark", [token(*a).dark, token(*b).dark])]
                    {
                        let [first, second] = pair.map(seen);
                        let away = first.iter().zip(second).map(|(p, q)| (p - q).powi(2)).sum::<f64>().sqrt();
                        // 2.3 is a just noticeable difference of colours side by side (Mahy, Van Eycken and Oosterlinck 1994);
                        // twice that for lines apart from each other. Where colours meet, the line itself must tell.
                        let told = away > 4.6 || a.dash_mm() != b.dash_mm();
                        assert!(told, "{eye}, {scheme}: {} and {} differ by {away:.1}", a.name(), b.name());
                    }
                }
            }
        }
    }
}
