//! Which tone is which mode, and how sure.
//!
//! Two ways: with predictions ([`expected`]) every assignment of tones to modes is weighed; without
//! them ([`ratios`]) only what free bars can sound like. A tone that is not clearly one mode stays
//! unnamed, with words.

pub(crate) mod expected;
pub(crate) mod ratios;

use crate::merge::Merged;
use crate::types::{Kind, StrikePlace};

/// Least probability with which a tone gets a mode's name.
pub(crate) const LEAST_SURE: f64 = 0.7;

/// A tone's name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Name {
    pub tone: usize,
    pub kind: Kind,
    pub number: usize,
    pub sure: f64,
}

/// Outcome of naming.
#[derive(Debug, Default)]
pub(crate) struct Names {
    pub given: Vec<Name>,
    /// Names that were likeliest but not sure enough.
    pub doubtful: Vec<Name>,
}

/// Log density (per cent of pitch) with which a tone of this level is something else than a mode
/// sought: about four strangers over six octaves, loud ones rarer. Judgement, no published source:
/// it decides only how large a misfit makes a name doubtful.
pub(crate) fn stranger(tone: &Merged) -> f64 {
    let loud = ((tone.level_db + 30.0) / 10.0).clamp(0.0, 3.0);
    (4.0f64 / 7200.0).ln() - loud
}

/// Log of the normal density in 1/cent.
pub(crate) fn normal(cents: f64, sigma_cents: f64) -> f64 {
    let reduced = cents / sigma_cents;
    -0.5 * reduced * reduced - sigma_cents.ln() - 0.5 * std::f64::consts::TAU.ln()
}

/// Probability that a mode does not sound, from where the bar was struck (node and symmetry of
/// the mode shapes as in `StrikePlace`; the figures are judgement).
pub(crate) fn silent(kind: Kind, number: usize, struck: Option<StrikePlace>) -> f64 {
    let place = struck.unwrap_or(StrikePlace::End);
    match (kind, place) {
        (Kind::Bending, StrikePlace::Centre) if number.is_multiple_of(2) => 0.8,
        (Kind::Torsion, StrikePlace::Centre) => 0.9,
        (Kind::Torsion, StrikePlace::Corner) => 0.3,
        (Kind::Sideways, _) => 0.95,
        (Kind::Torsion, _) => 0.7,
        (Kind::Bending, _) => match number {
            1 => 0.03,
            2 => 0.1,
            3 => 0.25,
            _ => 0.6,
        },
    }
}

/// Words for a mode, e.g. `bending 2`.
pub(crate) fn words(kind: Kind, number: usize) -> String {
    let family = match kind {
        Kind::Bending => "bending",
        Kind::Torsion => "torsion",
        Kind::Sideways => "sideways",
    };
    format!("{family} {number}")
}

/// Whether a much louder tone sounds within 60 cents: then this one is more likely its shadow (an
/// uneven decay, a sideband) than a mode, unless a prediction says otherwise.
pub(crate) fn is_shadow(tones: &[Merged], index: usize) -> bool {
    let own = &tones[index];
    tones.iter().any(|other| {
        !other.steady && other.level_db > own.level_db + 10.0 && crate::tones::cents(own.hz, other.hz).abs() < 60.0
    })
}
