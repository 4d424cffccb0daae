//! A published number with its spread, its source and how far that source was seen.

/// How the number came into the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Seen in the source itself.
    Read,
    /// Seen in a public copy or quotation that names the source, not in the source itself.
    Transcribed,
    /// Recalled; the source was not seen. Check before relying on it.
    FromMemory,
    /// Not known for this wood: a mean over other hardwoods, or derived from such a mean.
    Generic,
}

impl Mark {
    /// In words, for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Read => "read in the source",
            Self::Transcribed => "read in a copy of the source",
            Self::FromMemory => "from memory",
            Self::Generic => "generic, not this wood",
        }
    }
}

/// A value with one standard uncertainty, for a single piece of wood rather than for a species mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// Best value; the unit is in the name of the field that holds it.
    pub value: f64,
    /// One standard uncertainty, same unit.
    pub sigma: f64,
    /// How far the source was seen.
    pub mark: Mark,
    /// Where the value is published.
    pub source: &'static str,
}

impl Figure {
    /// A value whose spread is known as a fraction of it.
    pub(super) const fn relative(value: f64, relative_sigma: f64, mark: Mark, source: &'static str) -> Self {
        Self { value, sigma: value * relative_sigma, mark, source }
    }

    /// A published range, read as the value ± two standard uncertainties.
    pub(super) const fn range(low: f64, high: f64, mark: Mark, source: &'static str) -> Self {
        Self { value: 0.5 * (low + high), sigma: 0.25 * (high - low), mark, source }
    }

    /// Standard uncertainty as a fraction of the value.
    pub fn relative_sigma(&self) -> f64 {
        self.sigma / self.value
    }

    /// The value `deviates` standard uncertainties away, multiplicatively: `value · exp(deviates · σ/value)`.
    ///
    /// Multiplicative because moduli and densities cannot be negative however far one goes.
    pub fn varied(&self, deviates: f64) -> f64 {
        self.value * (deviates * self.relative_sigma()).exp()
    }
}
