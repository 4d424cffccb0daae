//! Which tone is which mode, and how sure.
//!
//! Two ways: with predictions ([`expected`]) every assignment of tones to modes is weighed; without
//! them ([`ratios`]) only what free bars can sound like. A tone that is not clearly one mode stays
//! unnamed, with words.

#[cfg(test)]
mod calibration;
pub(crate) mod expected;
pub(crate) mod loudness;
pub(crate) mod ratios;

use crate::merge::Merged;
use crate::types::{Kind, StrikePlace};

/// Least probability with which a tone gets a mode's name.
pub(crate) const LEAST_SURE: f64 = 0.7;

/// A tone's name.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Name {
    pub tone: usize,
    /// Tones that cannot be told from it: the mode is one of them, or all of them.
    pub blended: Vec<usize>,
    pub kind: Kind,
    pub number: usize,
    pub sure: f64,
    /// The next likeliest tone with its probability, if it has any to speak of.
    pub runner_up: Option<(usize, f64)>,
}

/// A runner-up less likely than this is not told.
const LEAST_RIVAL: f64 = 0.02;

/// Outcome of naming.
#[derive(Debug, Default)]
pub(crate) struct Names {
    pub given: Vec<Name>,
    /// Names that were likeliest but not sure enough.
    pub doubtful: Vec<Name>,
    /// Why nothing was named although something might have been.
    pub why_not: Option<String>,
}

/// A bar has up to five tones within 12 dB of the loudest (check recordings); a voice that glides
/// comes apart into more.
const MOST_LOUD: usize = 7;

/// Says so if the tones are too many to be a bar's.
fn crowd(tones: &[Merged]) -> Option<String> {
    let count = tones.iter().filter(|tone| !tone.steady && tone.level_db > -12.0).count();
    (count > MOST_LOUD)
        .then(|| format!("{count} tones are about as loud as the loudest (limit {MOST_LOUD}), as in speech"))
}

impl Names {
    /// Makes all names doubtful.
    fn take_back(&mut self) {
        self.doubtful.append(&mut self.given);
    }

    /// Whether the tone belongs to a named mode.
    pub fn covers(&self, tone: usize) -> bool {
        self.given.iter().any(|name| name.tone == tone || name.blended.contains(&tone))
    }

    /// Gives a mode its name, or the doubt: `shares` are the probabilities of the tones to be this
    /// mode, `rivals` of the tones to be any other.
    ///
    /// Where no tone alone is sure but neighbours too close to be told apart are it together, the
    /// mode is their blend, unless another mode claims one of them.
    fn decide(&mut self, tones: &[Merged], kind: Kind, number: usize, shares: &[f64], rivals: &[f64]) {
        let Some(tone) = (0..shares.len()).max_by(|a, b| shares[*a].total_cmp(&shares[*b])) else {
            return;
        };
        let (mut sure, mut blended) = (shares[tone], Vec::new());
        if sure < 0.05 {
            return;
        }
        if sure < LEAST_SURE {
            blended = neighbours(tones, tone, |i| shares[i] > 0.02);
            let claimed = blended.iter().chain([&tone]).any(|i| rivals[*i] > 0.1);
            let together = sure + blended.iter().map(|i| shares[*i]).sum::<f64>();
            if claimed || together < LEAST_SURE {
                blended.clear();
            } else {
                sure = together;
            }
        }
        let second = (0..shares.len())
            .filter(|i| *i != tone && !blended.contains(i))
            .max_by(|a, b| shares[*a].total_cmp(&shares[*b]));
        let runner_up = second.map(|i| (i, shares[i])).filter(|(_, share)| *share >= LEAST_RIVAL);
        let name = Name { tone, blended, kind, number, sure, runner_up };
        if sure >= LEAST_SURE {
            self.given.push(name);
        } else {
            self.doubtful.push(name);
        }
    }
}

/// Tones linked to `start` by steps of [`close`] pairs, among those that `may` be the mode.
fn neighbours(tones: &[Merged], start: usize, may: impl Fn(usize) -> bool) -> Vec<usize> {
    let mut linked = vec![start];
    let mut next = 0;
    while next < linked.len() {
        let from = linked[next];
        let new = (0..tones.len()).filter(|i| !linked.contains(i) && may(*i) && close(&tones[from], &tones[*i]));
        linked.extend(new.collect::<Vec<_>>());
        next += 1;
    }
    linked.split_off(1)
}

/// Closer than six half line widths (mean of the two) and alike in decay: the beat between the
/// two hardly finishes while they ring. (A torsion 14 Hz from bending 1 with decay times of 0.1 s
/// is nine half widths away; a burst is wide but dies at once.)
fn close(a: &Merged, b: &Merged) -> bool {
    let half_width = 0.5 * (1.0 / a.decay_s + 1.0 / b.decay_s) / std::f64::consts::TAU;
    let alike = (a.decay_s / b.decay_s).ln().abs() < 3.0f64.ln();
    alike && (a.hz - b.hz).abs() < 6.0 * half_width
}

/// Log density (per cent of pitch) with which a tone of this level is something else than a mode
/// sought: about four strangers over six octaves, loud ones rarer. Judgement, no published source:
/// it decides only how large a misfit makes a name doubtful.
pub(crate) fn stranger(tone: &Merged) -> f64 {
    let loud = 1.7 * ((tone.level_db + 30.0) / 10.0).clamp(0.0, 3.0);
    STRANGERS_PER_CENT.ln() - loud
}

/// About four strangers over six octaves (judgement).
pub(crate) const STRANGERS_PER_CENT: f64 = 4.0 / 7200.0;

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

/// Whether a tone with ten times the energy sounds within 60 cents: then this one is more likely
/// its shadow (an uneven decay, a sideband) than a mode, unless a prediction says otherwise.
pub(crate) fn is_shadow(tones: &[Merged], index: usize) -> bool {
    let own = &tones[index];
    tones.iter().any(|other| {
        !other.steady
            && other.energy_db() > own.energy_db() + 10.0
            && crate::tones::cents(own.hz, other.hz).abs() < 60.0
    })
}
