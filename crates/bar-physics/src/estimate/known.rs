//! What is given: the shape with its measuring errors, the weight, and what was heard.
use super::WoodPrior;
use crate::{GeometryError, Grain, PhysicsError, Underside};

/// A length measured with a standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Value in metres.
    pub m: f64,
    /// One standard uncertainty in metres; 0 means exact.
    pub sigma_m: f64,
}

impl Size {
    /// From millimetres.
    pub fn from_mm(mm: f64, sigma_mm: f64) -> Self {
        Self { m: mm * 1e-3, sigma_m: sigma_mm * 1e-3 }
    }
}

/// A weighing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassReading {
    /// Mass in kilograms.
    pub kg: f64,
    /// One standard uncertainty in kilograms, above 0.
    pub sigma_kg: f64,
}

/// A frequency heard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PitchReading {
    /// Frequency in hertz.
    pub hz: f64,
    /// One standard uncertainty in cents, above 0.
    pub sigma_cents: f64,
}

/// A bar whose shape is known and whose wood is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownBar {
    /// Width.
    pub width: Size,
    /// Underside as measured; its last station is the length.
    pub underside: Underside,
    /// One standard uncertainty of the length in metres; the whole shape stretches with it.
    pub length_sigma_m: f64,
    /// One standard uncertainty, in metres, of the thickness everywhere alike (the zero of the caliper).
    pub thickness_sigma_m: f64,
    /// How the grain lies.
    pub grain: Grain,
    /// Weight, if weighed; without it the density stays nearly unknown and with it E_L.
    pub mass: Option<MassReading>,
    /// What is believed of the wood beforehand.
    pub prior: WoodPrior,
}

impl KnownBar {
    /// A flat blank of straight grain and unknown hardwood, not weighed.
    ///
    /// # Errors
    /// [`GeometryError`] if length and thickness are no blank.
    pub fn blank(length: Size, width: Size, thickness: Size) -> Result<Self, GeometryError> {
        Ok(Self {
            width,
            underside: Underside::flat(length.m, thickness.m)?,
            length_sigma_m: length.sigma_m,
            thickness_sigma_m: thickness.sigma_m,
            grain: Grain::default(),
            mass: None,
            prior: WoodPrior::generic(),
        })
    }

    /// The same bar, weighed.
    pub fn weighed(mut self, kg: f64, sigma_kg: f64) -> Self {
        self.mass = Some(MassReading { kg, sigma_kg });
        self
    }
}

/// What was heard, each optional.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Readings {
    /// Bending 1, 2, 3.
    pub bending: [Option<PitchReading>; 3],
    /// Torsion 1, 2.
    pub torsion: [Option<PitchReading>; 2],
}

/// Why the wood cannot be estimated.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EstimateError {
    /// A value is outside what is possible.
    #[error("{what} is {value} {unit}; it must be between {low} and {high} {unit}: {next_step}")]
    OutOfRange {
        /// What was given.
        what: String,
        /// Its value.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Smallest allowed.
        low: f64,
        /// Largest allowed.
        high: f64,
        /// What to do.
        next_step: &'static str,
    },
    /// Two readings of one kind are exchanged.
    #[error(
        "{kind} {number} ({hz} Hz) is not above {kind} {below} ({below_hz} Hz): \
         exchange them, or leave out the one you are not sure of"
    )]
    OutOfOrder {
        /// Bending or torsion.
        kind: &'static str,
        /// Number of the higher mode.
        number: usize,
        /// Its frequency.
        hz: f64,
        /// Number of the lower mode.
        below: usize,
        /// Its frequency.
        below_hz: f64,
    },
    /// Neither weight nor pitch was given.
    #[error("nothing was measured: weigh the bar, or strike it and give at least bending 1")]
    NothingMeasured,
    /// The solid cannot compute this bar.
    #[error("the bar cannot be computed: {0}; check length, width and thickness")]
    Physics(#[from] PhysicsError),
}
