//! Naming with predicted frequencies.
//!
//! Every way to give tones to modes (one tone at most per mode, a mode may be silent, a tone may
//! be a stranger) has a weight: the density of the misfit with the prediction's and the reading's
//! sigma, times the probability of its levels where the bar was struck, over the same for a
//! stranger. The share of the weight in which a tone has a name is the probability of the name.
//!
//! Predictions of one bar err together: its length, density and dryness move every mode alike. So
//! the weights are summed over a common shift. Given the shift, the sum over all assignments is
//! exact (forward and backward over the sets of tones already given away), but for sets that
//! weigh less than a millionth of the heaviest.

use super::loudness::Struck;
use super::{Names, STRANGERS_PER_CENT, crowd, is_shadow, words};
use crate::merge::Merged;
use crate::tones::cents;
use crate::types::{Expected, Kind};
use std::collections::BTreeMap;

/// Floor of the prediction's sigma: no model and no scale of temperature is better than this.
const LEAST_SIGMA_CENTS: f64 = 1.0;
/// A stated sigma is too small for one prediction in so many (wood is uneven, a cut is entered
/// wrongly); it is then this many times as large. Judgement.
const WRONG: f64 = 0.07;
const WRONG_FACTOR: f64 = 4.0;
/// Part of the smallest sigma that all predictions share.
const SHARED: f64 = 0.7;
/// One time in five the whole bar has moved by some 12 cents since it was last known: one per cent
/// of moisture, or ten degrees (Wood Handbook, as in the climate of the bar).
const MOVED: f64 = 0.2;
const MOVED_CENTS: f64 = 12.0;
/// Chance that the predictions are of another bar.
const OTHER_BAR: f64 = 0.01;
/// No name is surer than this: the levels and rates above are judgement.
const MOST_SURE: f64 = 0.995;
/// Sets of tones that weigh less than this part of the heaviest are dropped.
const LIGHTEST: f64 = 1e-6;
/// Most tones that are tried, loudest first (bits of a set).
const MOST_TONES: usize = 60;

/// Weight of every tone (column) for every mode (row), and of each mode's silence.
struct Weights {
    given: Vec<Vec<(u32, f64)>>,
    silent: Vec<f64>,
}

/// Names the tones by the predictions.
pub(crate) fn name(tones: &[Merged], expected: &[Expected], struck: &Struck) -> Names {
    let usable = usable(tones);
    let table = Table::new(tones, &usable, expected, struck);
    let mut shares = vec![vec![0.0; tones.len()]; expected.len()];
    // The weight in which nothing is as predicted: every tone a stranger.
    let mut total = OTHER_BAR;
    for (shift, prior) in shifts(expected) {
        let weights = table.at(shift.offset_cents, shift.step_cents);
        let (sum, parts) = marginals(&weights);
        let prior = (1.0 - OTHER_BAR) * prior;
        total += prior * sum;
        for (mode, row) in parts.iter().enumerate() {
            for (tone, part) in row {
                shares[mode][usable[*tone as usize]] += prior * part;
            }
        }
    }
    for share in shares.iter_mut().flatten() {
        *share = MOST_SURE * *share / total;
    }
    let taken: Vec<f64> = (0..tones.len()).map(|t| shares.iter().map(|row| row[t]).sum()).collect();
    let mut names = Names::default();
    for (mode, own) in expected.iter().zip(&shares) {
        let rivals: Vec<f64> = taken.iter().zip(own).map(|(all, own)| all - own).collect();
        names.decide(tones, mode.kind, mode.number, own, &rivals);
    }
    names.why_not = why_not(tones, &names, expected);
    if names.why_not.is_some() {
        names.take_back();
    }
    names
}

/// Why a single name among several predicted modes is chance. In a voice or a clatter some tone lies
/// near some prediction soon enough; a bar of which one mode is heard gives it loud and clear.
fn why_not(tones: &[Merged], names: &Names, expected: &[Expected]) -> Option<String> {
    let [only] = &names.given[..] else { return None };
    let bending = expected.iter().filter(|mode| mode.kind == Kind::Bending).count();
    if bending < 2 {
        return None;
    }
    let tone = &tones[only.tone];
    let quality = std::f64::consts::PI * tone.hz * tone.decay_s;
    if tone.level_db < ALONE_DB {
        return Some(format!(
            "only {} fits a prediction, and it is {:.0} dB below the loudest tone (limit {:.0})",
            words(only.kind, only.number),
            -tone.level_db,
            -ALONE_DB
        ));
    }
    if quality < ALONE_QUALITY {
        return Some(format!(
            "only {} fits a prediction, and its quality factor is {quality:.0} (limit {ALONE_QUALITY:.0})",
            words(only.kind, only.number)
        ));
    }
    crowd(tones)
}

/// What the only named mode must reach: nearly the loudest, and a ring no hand has damped.
const ALONE_DB: f64 = -6.0;
const ALONE_QUALITY: f64 = 60.0;

fn usable(tones: &[Merged]) -> Vec<usize> {
    let mut all: Vec<usize> = (0..tones.len()).filter(|i| !tones[*i].steady).collect();
    all.sort_by(|a, b| tones[*b].level_db.total_cmp(&tones[*a].level_db));
    all.truncate(MOST_TONES);
    all
}

/// A common shift of all predictions.
struct Shift {
    offset_cents: f64,
    step_cents: f64,
}

fn smallest_sigma(expected: &[Expected]) -> f64 {
    expected.iter().map(|mode| mode.sigma_cents.max(LEAST_SIGMA_CENTS)).fold(f64::INFINITY, f64::min)
}

/// The shifts that are summed over, with their prior probabilities.
fn shifts(expected: &[Expected]) -> Vec<(Shift, f64)> {
    let shared = SHARED * smallest_sigma(expected).min(1e4);
    let moved = MOVED_CENTS.hypot(shared);
    let reach = 3.0 * moved;
    let step_cents = (0.7 * shared).max(reach / 20.0);
    let count = (reach / step_cents).ceil() as i32;
    let prior = |x: f64| {
        let one = |sigma: f64| (-0.5 * (x / sigma).powi(2)).exp() / sigma;
        // A step wider than the shared sigma must not lose the unmoved bar between its points.
        (1.0 - MOVED) * one(shared.max(0.5 * step_cents)) + MOVED * one(moved)
    };
    let points: Vec<f64> = (-count..=count).map(|k| f64::from(k) * step_cents).collect();
    let sum: f64 = points.iter().map(|x| prior(*x)).sum();
    points.into_iter().map(|x| (Shift { offset_cents: x, step_cents }, prior(x) / sum)).collect()
}

/// What does not depend on the shift.
struct Table {
    /// For each mode: tone, misfit in cents, own sigma of the misfit, log weight of everything else.
    rows: Vec<Vec<(u32, f64, f64, f64)>>,
    silent: Vec<f64>,
}

impl Table {
    fn new(tones: &[Merged], usable: &[usize], expected: &[Expected], struck: &Struck) -> Self {
        let shared = SHARED * smallest_sigma(expected);
        let family = family_quality(tones, usable, expected);
        let row = |mode: &Expected| {
            let sigma = mode.sigma_cents.max(LEAST_SIGMA_CENTS);
            usable
                .iter()
                .enumerate()
                .filter_map(|(place, &index)| {
                    let tone = &tones[index];
                    let own = (sigma * sigma - shared * shared).sqrt().hypot(tone.sigma_cents);
                    let misfit = cents(mode.hz, tone.hz);
                    let near = misfit.abs() < 2.0 * WRONG_FACTOR * sigma.hypot(tone.sigma_cents) + 2.0 * MOVED_CENTS;
                    let shadow = if is_shadow(tones, index) { SHADOW } else { 0.0 };
                    let other = struck.likelihood(tone, mode.kind, mode.number) + kinship(tone, family)
                        - STRANGERS_PER_CENT.ln()
                        - shadow;
                    near.then_some((place as u32, misfit, own, other))
                })
                .collect()
        };
        Self {
            rows: expected.iter().map(row).collect(),
            silent: expected.iter().map(|mode| struck.silent(mode.kind, mode.number).exp()).collect(),
        }
    }

    fn at(&self, shift: f64, step: f64) -> Weights {
        let normal = |x: f64, s: f64| (-0.5 * (x / s).powi(2)).exp() / (s * std::f64::consts::TAU.sqrt());
        let weigh = |&(tone, misfit, own, other): &(u32, f64, f64, f64)| {
            // Between two points of the grid the shift is spread by half a step.
            let sigma = own.hypot(0.5 * step);
            let off = misfit - shift;
            let density = (1.0 - WRONG) * normal(off, sigma) + WRONG * normal(off, WRONG_FACTOR * sigma);
            (tone, density * other.exp())
        };
        let given =
            self.rows.iter().map(|row| row.iter().map(weigh).filter(|(_, weight)| *weight > 1e-9).collect()).collect();
        Weights { given, silent: self.silent.clone() }
    }
}

/// Log of how much more strangers there are beside a much louder tone: sidebands, uneven decays.
const SHADOW: f64 = 2.0;

/// Quality factor of the bar: of the most energetic tone near a bending prediction.
fn family_quality(tones: &[Merged], usable: &[usize], expected: &[Expected]) -> Option<f64> {
    let near = |tone: &Merged| {
        expected.iter().any(|mode| {
            mode.kind == Kind::Bending
                && cents(mode.hz, tone.hz).abs() < 3.0 * mode.sigma_cents.max(LEAST_SIGMA_CENTS) + MOVED_CENTS
        })
    };
    usable
        .iter()
        .map(|index| &tones[*index])
        .filter(|tone| near(tone))
        .max_by(|a, b| a.energy_db().total_cmp(&b.energy_db()))
        .map(|tone| tone.hz * tone.decay_s)
}

/// Log weight of the tone having the bar's friction: the quality factors of one bar's modes differ
/// by a factor of about two (check recordings: up to 3.5), strangers' by a factor of five and more.
fn kinship(tone: &Merged, family: Option<f64>) -> f64 {
    let Some(family) = family else { return 0.0 };
    let (bar, stranger) = (0.8f64, 1.6f64);
    let ratio = (tone.hz * tone.decay_s / family).ln();
    let gain = (stranger / bar).ln() - 0.5 * ratio * ratio * (bar.powi(-2) - stranger.powi(-2));
    gain.max(-4.0)
}

type Sets = BTreeMap<u64, f64>;

/// Sum of the weights of all assignments, and for each mode the part in which each tone is it.
fn marginals(weights: &Weights) -> (f64, Vec<Vec<(u32, f64)>>) {
    let mut forward = vec![Sets::from([(0, 1.0)])];
    for (row, silent) in weights.given.iter().zip(&weights.silent) {
        let Some(sets) = forward.last() else { break };
        let mut next = Sets::new();
        for (set, weight) in sets {
            *next.entry(*set).or_insert(0.0) += weight * silent;
            for (tone, gain) in row.iter().filter(|(tone, _)| set & (1 << tone) == 0) {
                *next.entry(set | 1 << tone).or_insert(0.0) += weight * gain;
            }
        }
        let heaviest = next.values().copied().fold(0.0, f64::max);
        next.retain(|_, weight| *weight > LIGHTEST * heaviest);
        forward.push(next);
    }
    let count = weights.given.len();
    let mut after: Sets = forward[count].keys().map(|set| (*set, 1.0)).collect();
    let total = forward[count].values().sum();
    let mut parts: Vec<Vec<(u32, f64)>> =
        weights.given.iter().map(|row| row.iter().map(|r| (r.0, 0.0)).collect()).collect();
    for mode in (0..count).rev() {
        let mut before = Sets::new();
        for (set, weight) in &forward[mode] {
            let mut rest = weights.silent[mode] * after.get(set).copied().unwrap_or(0.0);
            for ((tone, gain), part) in weights.given[mode].iter().zip(&mut parts[mode]) {
                if set & (1 << tone) == 0 {
                    let through = gain * after.get(&(set | 1 << tone)).copied().unwrap_or(0.0);
                    rest += through;
                    part.1 += weight * through;
                }
            }
            before.insert(*set, rest);
        }
        after = before;
    }
    (total, parts)
}
