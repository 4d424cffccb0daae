//! What was learned of the wood, and how sure.
use super::KnownBar;
use super::advice::{self, Candidate};
use super::solve::{Fit, posterior};
use super::state::slot;
use crate::{ModeKind, Wood};
use nalgebra::{DMatrix, SMatrix};

/// The constants that a blank can tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// Density, kg/m³.
    Density,
    /// Young's modulus along the grain, Pa.
    ELengthwise,
    /// Shear modulus in the side view, Pa.
    GLengthHeight,
    /// Shear modulus in the plane of the top face, Pa.
    GLengthWidth,
}

impl Quantity {
    /// All four, in the order of [`WoodEstimate::parameters`].
    pub const ALL: [Self; 4] = [Self::Density, Self::ELengthwise, Self::GLengthHeight, Self::GLengthWidth];

    /// The usual symbol.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Density => "density",
            Self::ELengthwise => "E_L",
            Self::GLengthHeight => "G_LH",
            Self::GLengthWidth => "G_LW",
        }
    }

    /// SI unit.
    pub fn unit(self) -> &'static str {
        if self == Self::Density { "kg/m³" } else { "Pa" }
    }

    /// Its logarithm is the sum of these slots of the state; the first is what is its own.
    fn slots(self) -> &'static [usize] {
        match self {
            Self::Density => &[slot::DENSITY],
            Self::ELengthwise => &[slot::E_L],
            Self::GLengthHeight => &[slot::G_LH, slot::E_L],
            Self::GLengthWidth => &[slot::G_LW, slot::E_L],
        }
    }

    fn variance(self, covariance: &DMatrix<f64>) -> f64 {
        covariance_of(self, self, covariance)
    }

    /// Standard uncertainty at most half of the prior's; for a shear modulus that of its ratio to E_L too,
    /// since learning E_L alone narrows it without telling anything of the shear.
    pub(super) fn is_determined(self, prior: &DMatrix<f64>, posterior: &DMatrix<f64>) -> bool {
        let own = self.slots()[0];
        let halved = |after: f64, before: f64| after <= 0.25 * before;
        halved(self.variance(posterior), self.variance(prior)) && halved(posterior[(own, own)], prior[(own, own)])
    }
}

/// Covariance of the logarithms of two quantities.
fn covariance_of(a: Quantity, b: Quantity, covariance: &DMatrix<f64>) -> f64 {
    a.slots().iter().flat_map(|i| b.slots().iter().map(move |j| covariance[(*i, *j)])).sum()
}

/// What is known of one constant.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// Which.
    pub quantity: Quantity,
    /// Most likely value, SI.
    pub value: f64,
    /// One standard uncertainty, SI.
    pub sigma: f64,
    /// One standard uncertainty of the logarithm, about the relative one.
    pub ln_sigma: f64,
    /// Value believed beforehand, SI.
    pub prior_value: f64,
    /// One standard uncertainty beforehand, SI, at the value believed beforehand.
    pub prior_sigma: f64,
    /// The same of the logarithm.
    pub prior_ln_sigma: f64,
    /// Whether the measurements at least halved the uncertainty (of the constant, and for a shear modulus
    /// of its ratio to E_L too).
    pub determined: bool,
    /// What to do to determine it, one sentence; `None` if it is determined.
    pub to_learn_it: Option<String>,
}

/// Something observed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Observed {
    /// The weighing.
    Mass,
    /// A mode's frequency.
    Pitch {
        /// Family.
        kind: ModeKind,
        /// Number inside the family, from 1.
        number: usize,
    },
}

impl std::fmt::Display for Observed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Mass => f.write_str("the weight"),
            Self::Pitch { kind, number } => {
                let kind = match kind {
                    ModeKind::Bending => "bending",
                    ModeKind::Torsion => "torsion",
                    ModeKind::Sideways => "sideways",
                    ModeKind::Lengthwise => "lengthwise",
                    ModeKind::Plate => "plate",
                };
                write!(f, "{kind} {number}")
            }
        }
    }
}

/// One observation held against all others.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Which.
    pub observed: Observed,
    /// As given, Hz or kg.
    pub given: f64,
    /// What the prior and all other observations lead to expect, Hz or kg.
    pub expected: f64,
    /// One standard uncertainty of the difference, relative (1 cent is 0.00058).
    pub relative_sigma: f64,
    /// Given less expected in standard uncertainties of the difference (the outlier statistic of
    /// Baarda 1968, data snooping).
    pub sigmas: f64,
    /// Given less fitted, in cents for a pitch and relative for the mass: what the estimate leaves over.
    pub left_over: f64,
    /// Beyond [`super::CONTRADICTION_SIGMAS`].
    pub contradicts: bool,
}

/// What would explain a contradiction.
#[derive(Debug, Clone, PartialEq)]
pub enum Culprit {
    /// One observation is wrong.
    Observation {
        /// Which.
        observed: Observed,
        /// As given, Hz or kg.
        given: f64,
        /// What the others lead to expect, Hz or kg.
        expected: f64,
        /// For a pitch: the mode it may be instead.
        rather: Option<Observed>,
    },
    /// A size was entered or measured wrong.
    Size {
        /// "length", "width" or "thickness".
        which: &'static str,
        /// As given (for the thickness, its mean), in metres.
        given_m: f64,
        /// What would make everything agree, in metres; rough when far from `given_m`.
        likely_m: f64,
    },
    /// The wood is far from the prior in stiffness.
    Wood {
        /// Name of the wood believed beforehand.
        prior: String,
    },
}

impl std::fmt::Display for Culprit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Observation { observed: Observed::Mass, given, expected, .. } => {
                write!(f, "the weight may be wrong: {:.0} g, expected about {:.0} g", given * 1e3, expected * 1e3)
            }
            Self::Observation { observed, given, expected, rather: None } => {
                write!(f, "{observed} may be another mode or misheard: {given:.1} Hz, expected about {expected:.1} Hz")
            }
            Self::Observation { observed, given, expected, rather: Some(other) } => write!(
                f,
                "{observed} may be a wrong mode, rather {other}: {given:.1} Hz, expected about {expected:.1} Hz"
            ),
            Self::Size { which, given_m, likely_m } => write!(
                f,
                "the {which} may be wrong: {:.2} mm, about {:.2} mm would agree",
                given_m * 1e3,
                likely_m * 1e3
            ),
            Self::Wood { prior } => write!(f, "the wood may be much stiffer or softer than {prior}"),
        }
    }
}

/// Why the iteration stopped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stopped {
    /// The last step moved no prediction by 0.01 cent and no constant by a thousandth of its uncertainty.
    Converged,
    /// Thirty steps were not enough; the values are those of the last, not to be relied on.
    StepLimit,
    /// No shorter step fits better: modes of a stubby bar change places abruptly, or the readings ask for an
    /// impossible wood. The values are the best found, their uncertainty is not to be relied on.
    NoBetterStep,
}

/// The wood of a bar.
#[derive(Debug, Clone, PartialEq)]
pub struct WoodEstimate {
    /// Most likely wood, all nine constants; those not in `parameters` mostly as believed beforehand.
    pub wood: Wood,
    /// Density, E_L, G_LH, G_LW, in the order of [`Quantity::ALL`].
    pub parameters: [Parameter; 4],
    /// Correlations of their logarithms, same order.
    pub correlations: [[f64; 4]; 4],
    /// Each observation held against the others.
    pub checks: Vec<Check>,
    /// If one observation contradicts the others, or all together the prior: what would explain it, likeliest
    /// first.
    pub culprits: Vec<Culprit>,
    /// Squared surprise of all observations together under the prior; about `checks.len()` when all is well.
    pub chi_squared: f64,
    /// Why the iteration stopped.
    pub stopped: Stopped,
    /// Steps taken.
    pub steps: usize,
}

impl WoodEstimate {
    /// What is known of one constant.
    pub fn parameter(&self, quantity: Quantity) -> &Parameter {
        &self.parameters[quantity as usize]
    }

    /// Whether the iteration converged and nothing contradicts.
    pub fn is_sound(&self) -> bool {
        self.stopped == Stopped::Converged && self.culprits.is_empty()
    }
}

/// The four constants.
pub(super) fn parameters(known: &KnownBar, fit: &Fit, candidates: &[Candidate]) -> [Parameter; 4] {
    let after = posterior(&fit.prior, &fit.comparison.slopes, &fit.comparison.noise);
    Quantity::ALL.map(|quantity| {
        let value = |state: &nalgebra::DVector<f64>| quantity.slots().iter().map(|i| state[*i]).sum::<f64>().exp();
        let sigma = |covariance: &DMatrix<f64>| quantity.variance(covariance).max(0.0).sqrt();
        let determined = quantity.is_determined(&fit.prior, &after);
        let (value, prior_value) = (value(&fit.state), value(&fit.prior_state));
        Parameter {
            quantity,
            value,
            sigma: value * sigma(&after),
            ln_sigma: sigma(&after),
            prior_value,
            prior_sigma: prior_value * sigma(&fit.prior),
            prior_ln_sigma: sigma(&fit.prior),
            determined,
            to_learn_it: (!determined).then(|| advice::sentence(known, quantity, fit, candidates)),
        }
    })
}

/// Correlations of the logarithms of the four constants.
pub(super) fn correlations(fit: &Fit) -> [[f64; 4]; 4] {
    let after = posterior(&fit.prior, &fit.comparison.slopes, &fit.comparison.noise);
    let covariance = SMatrix::<f64, 4, 4>::from_fn(|i, j| covariance_of(Quantity::ALL[i], Quantity::ALL[j], &after));
    std::array::from_fn(|i| {
        std::array::from_fn(|j| {
            let scale = (covariance[(i, i)] * covariance[(j, j)]).max(0.0).sqrt();
            if i == j { 1.0 } else { (covariance[(i, j)] / scale).clamp(-1.0, 1.0) }
        })
    })
}
