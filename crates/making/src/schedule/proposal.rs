//! A first proposal from five answers: kind, lowest, highest, A4, wood.
use super::law::Law;
use super::specification::{ModeRange, Specification};
use crate::frame::Gap;
use bar_physics::Wood;

/// Kind of instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// First overtone two octaves up: 1:4:10.
    Marimba,
    /// First overtone a twelfth up: 1:3.
    Xylophone,
}

/// Where each default of a proposal comes from: key, source.
pub const SOURCES: &[(&str, &str)] = &[
    ("reference", "22 °C and 45 % RH, from memory: a pitch without them is half a pitch"),
    ("temperament", "equal, by ISO 16 from A4"),
    ("stretch", "none; some builders stretch the top octave by up to 12 cents"),
    ("modes", "marimba 1:4:10 to C4, 1:4 to C6, then 1, from memory; xylophone 1:3 to C6 (levels from memory), then 1"),
    ("length", "table of common marimba lengths, from memory; no xylophone lengths are known here"),
    ("width", "marimba: table of common widths, from memory; xylophone 40 mm, from memory"),
    ("thickness", "marimba: table of common thicknesses, from memory; xylophone 24 mm, from memory"),
    ("gap", "12.7 mm (half an inch), common practice, no source"),
    ("min_thickness", "5 mm, from memory (\"warn at 6.5, stop at 5\")"),
];

/// MIDI numbers of C4 and C6.
const C4: i32 = 60;
const C6: i32 = 84;

impl Specification {
    /// A complete first proposal; every default has its source in [`SOURCES`].
    pub fn proposal(kind: Kind, lowest: i32, highest: i32, a4_hz: f64, wood: Wood) -> Self {
        let range = |up_to: i32, ratios: &[f64]| ModeRange { up_to, ratios: ratios.to_vec() };
        let top = range(highest.max(C6 + 1), &[1.0]);
        let (modes, width, thickness) = match kind {
            Kind::Marimba => {
                (vec![range(C4, &[1.0, 4.0, 10.0]), range(C6, &[1.0, 4.0]), top], Law::Usual(1.0), Law::Usual(1.0))
            }
            Kind::Xylophone => (vec![range(C6, &[1.0, 3.0]), top], Law::Constant(0.040), Law::Constant(0.024)),
        };
        Self {
            lowest,
            highest,
            one_row: false,
            a4_hz,
            temperature_c: 22.0,
            humidity_percent: 45.0,
            temperament_cents: [0.0; 12],
            stretch: Vec::new(),
            modes,
            length: Law::Usual(1.0),
            width,
            thickness,
            gap: Gap::default(),
            wood,
            min_thickness_m: 0.005,
            longest_blank_m: None,
            most_overall_m: None,
        }
    }
}
