//! Naming with predicted frequencies.
//!
//! Every way to give tones to modes (one tone at most per mode, a mode may be silent, a tone may
//! be a stranger) has a weight: the normal density of the misfit with the prediction's and the
//! reading's sigma, times the chance that the mode sounds, over the density of strangers. The
//! share of the weight in which a tone has a name is the probability of the name. Weak
//! assignments are dropped on the way (beam search), so the work stays bounded.

use super::{Names, normal, silent, stranger};
use crate::merge::Merged;
use crate::tones::cents;
use crate::types::{Expected, StrikePlace};

/// Misfits beyond this many sigmas are not considered.
const FARTHEST: f64 = 4.0;
/// Partial assignments kept.
const BEAM: usize = 3000;
/// Floor of the prediction's sigma: no model and no scale of temperature is better than this.
const LEAST_SIGMA_CENTS: f64 = 1.0;

/// A partial assignment: for each mode so far the tone, and the log weight.
#[derive(Clone)]
struct Choice {
    given: Vec<Option<usize>>,
    weight: f64,
}

/// Names the tones by the predictions.
pub(crate) fn name(tones: &[Merged], expected: &[Expected], struck: Option<StrikePlace>) -> Names {
    let mut choices = vec![Choice { given: Vec::new(), weight: 0.0 }];
    for mode in expected {
        choices = extend(&choices, tones, mode, struck);
        choices.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        choices.truncate(BEAM);
    }
    let top = choices.first().map_or(0.0, |best| best.weight);
    let total: f64 = choices.iter().map(|c| (c.weight - top).exp()).sum();
    // Probability of each tone (column) to be each mode (row).
    let mut shares = vec![vec![0.0; tones.len()]; expected.len()];
    for choice in &choices {
        for (mode, tone) in choice.given.iter().enumerate() {
            if let Some(tone) = tone {
                shares[mode][*tone] += (choice.weight - top).exp() / total;
            }
        }
    }
    let taken: Vec<f64> = (0..tones.len()).map(|t| shares.iter().map(|row| row[t]).sum()).collect();
    let mut names = Names::default();
    for (mode, own) in expected.iter().zip(&shares) {
        let rivals: Vec<f64> = taken.iter().zip(own).map(|(all, own)| all - own).collect();
        names.decide(tones, mode.kind, mode.number, own, &rivals);
    }
    names
}

fn extend(choices: &[Choice], tones: &[Merged], mode: &Expected, struck: Option<StrikePlace>) -> Vec<Choice> {
    let quiet = silent(mode.kind, mode.number, struck);
    let scores: Vec<(usize, f64)> = tones
        .iter()
        .enumerate()
        .filter(|(_, tone)| !tone.steady)
        .filter_map(|(index, tone)| score(tone, mode).map(|s| (index, s + (1.0 - quiet).ln())))
        .collect();
    let mut longer = Vec::new();
    for choice in choices {
        let mut add = |tone: Option<usize>, gain: f64| {
            let mut given = choice.given.clone();
            given.push(tone);
            longer.push(Choice { given, weight: choice.weight + gain });
        };
        add(None, quiet.ln());
        for (index, gain) in &scores {
            if !choice.given.contains(&Some(*index)) {
                add(Some(*index), *gain);
            }
        }
    }
    longer
}

/// Log weight of the tone being this mode, relative to it being a stranger.
fn score(tone: &Merged, mode: &Expected) -> Option<f64> {
    let sigma = mode.sigma_cents.max(LEAST_SIGMA_CENTS).hypot(tone.sigma_cents);
    let misfit = cents(mode.hz, tone.hz);
    (misfit.abs() <= FARTHEST * sigma).then(|| normal(misfit, sigma) - stranger(tone))
}
