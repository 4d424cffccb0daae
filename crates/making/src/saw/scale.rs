//! The saw's own scale, and rounding on it towards more wood.

/// Divisions of the scale by which a saw is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SawScale {
    /// Half millimetres.
    #[default]
    HalfMillimetre,
    /// Thirty-seconds of an inch.
    ThirtySecondInch,
}

/// A millionth of a division: what rounding in the last digit may take away without losing a division.
const HAIR: f64 = 1e-6;

impl SawScale {
    /// One division.
    pub fn finest_m(self) -> f64 {
        match self {
            Self::HalfMillimetre => 0.5e-3,
            Self::ThirtySecondInch => 25.4e-3 / 32.0,
        }
    }

    /// The largest whole number of divisions not above `length_m`.
    pub fn down(self, length_m: f64) -> f64 {
        (length_m / self.finest_m() + HAIR).floor() * self.finest_m()
    }

    /// The smallest whole number of divisions not below `length_m`.
    pub fn up(self, length_m: f64) -> f64 {
        (length_m / self.finest_m() - HAIR).ceil() * self.finest_m()
    }
}
