//! Naming by frequency ratios alone, when nothing was predicted.
//!
//! Free bars sound near 1 : 2.76 : 5.40 (thin uniform bar, Blevins 1979; thick blanks lower),
//! 1 : 3 : 6 (xylophone arch) or 1 : 4 : 10 (marimba arch); while an arch is being cut the second
//! and third climb together between these. Every pair of pattern and tones has a weight as in
//! [`super::expected`]; widths are judgement from the check recordings (1 : 2.62 : 4.92 to
//! 1 : 4.02 : 9.9).

use super::{LEAST_SURE, Name, Names, is_shadow, normal, stranger};
use crate::merge::Merged;
use crate::tones::cents;
use crate::types::{Kind, StrikePlace};

/// A pattern: ratio of bending 2 and of bending 3 to bending 1, each with the sigma of the
/// pattern in cents, and the prior share of the pattern.
struct Pattern {
    second: f64,
    second_sigma: f64,
    third: f64,
    third_sigma: f64,
    share: f64,
}

const PATTERNS: [Pattern; 4] = [
    // Blank or nearly: 2.5–2.8 and 4.5–5.5.
    Pattern { second: 2.66, second_sigma: 65.0, third: 5.1, third_sigma: 140.0, share: 0.3 },
    // Xylophone arch.
    Pattern { second: 3.0, second_sigma: 45.0, third: 6.15, third_sigma: 110.0, share: 0.2 },
    // Marimba arch: 3.7–4.3 and 8.5–11.
    Pattern { second: 4.0, second_sigma: 65.0, third: 9.8, third_sigma: 180.0, share: 0.4 },
    // Half way between the last two.
    Pattern { second: 3.45, second_sigma: 130.0, third: 7.8, third_sigma: 220.0, share: 0.1 },
];

/// Names given by ratio alone are never surer than this: a pattern is not a prediction.
const MOST_SURE: f64 = 0.95;

/// Tones quieter than this are not tried, and no more than the loudest so many.
const FAINTEST_DB: f64 = -50.0;
const MOST_TONES: usize = 14;

/// One reading of the tones.
struct Reading {
    modes: [Option<usize>; 3],
    weight: f64,
}

/// Range in which bending 1 is sought, in cents above the note: an octave below (a bar cut too
/// far) to three octaves above (a C2 blank lies 2760 cents above its note).
const NOTE_RANGE_CENTS: (f64, f64) = (-1200.0, 3600.0);

/// Names bending 1 to 3 by their ratios.
pub(crate) fn name(tones: &[Merged], note_hz: Option<f64>, struck: Option<StrikePlace>) -> Names {
    let mut usable: Vec<usize> = (0..tones.len())
        .filter(|i| !tones[*i].steady && tones[*i].level_db > FAINTEST_DB && !is_shadow(tones, *i))
        .collect();
    usable.sort_by(|a, b| tones[*b].level_db.total_cmp(&tones[*a].level_db));
    usable.truncate(MOST_TONES);
    let readings = readings(tones, &usable, note_hz, struck);
    let top = readings.iter().map(|r| r.weight).fold(0.0, f64::max);
    // Weight 0 (log) is the reading in which nothing is a bar.
    let total: f64 = readings.iter().map(|r| (r.weight - top).exp()).sum::<f64>() + (-top).exp();
    let Some(best) = readings.iter().max_by(|a, b| a.weight.total_cmp(&b.weight)) else {
        return Names::default();
    };
    let mut names = Names::default();
    for (place, tone) in best.modes.iter().enumerate() {
        let Some(tone) = *tone else { continue };
        let share: f64 = readings.iter().filter(|r| r.modes[place] == Some(tone)).map(|r| (r.weight - top).exp()).sum();
        let sure = (share / total).min(MOST_SURE);
        let name = Name { tone, kind: Kind::Bending, number: place + 1, sure };
        if sure >= LEAST_SURE {
            names.given.push(name);
        } else {
            names.doubtful.push(name);
        }
    }
    names
}

fn readings(tones: &[Merged], usable: &[usize], note_hz: Option<f64>, struck: Option<StrikePlace>) -> Vec<Reading> {
    let mut all = Vec::new();
    for &first in usable {
        let Some(base) = first_weight(&tones[first], note_hz) else {
            continue;
        };
        for pattern in &PATTERNS {
            let score = |index: usize, ratio: f64, sigma: f64| {
                let misfit = cents(tones[first].hz * ratio, tones[index].hz);
                let slower = tones[index].decay_s > 1.5 * tones[first].decay_s;
                // Higher modes die faster; an exception is possible but rare.
                let decay = if slower { -1.2 } else { 0.0 };
                (misfit.abs() < 3.0 * sigma).then(|| normal(misfit, sigma) - stranger(&tones[index]) + decay)
            };
            let quiet = |number: usize| super::silent(Kind::Bending, number, struck).ln();
            let heard = |number: usize| (1.0 - super::silent(Kind::Bending, number, struck)).ln();
            let choices = |ratio: f64, sigma: f64, number: usize| -> Vec<(Option<usize>, f64)> {
                let found = usable
                    .iter()
                    .filter_map(|&index| score(index, ratio, sigma).map(|s| (Some(index), s + heard(number))));
                std::iter::once((None, quiet(number))).chain(found).collect()
            };
            for (second, a) in choices(pattern.second, pattern.second_sigma, 2) {
                for (third, b) in choices(pattern.third, pattern.third_sigma, 3) {
                    all.push(Reading {
                        modes: [Some(first), second, third],
                        weight: base + pattern.share.ln() + a + b,
                    });
                }
            }
        }
    }
    all
}

/// Log weight of a tone being bending 1: by the note if one is given (half of the weight within a
/// semitone of it, the rest anywhere in the range), otherwise anywhere in the compass.
fn first_weight(tone: &Merged, note_hz: Option<f64>) -> Option<f64> {
    let prior = match note_hz {
        Some(note) => {
            let above = cents(note, tone.hz);
            let (low, high) = NOTE_RANGE_CENTS;
            if above < low || above > high {
                return None;
            }
            (0.5 * normal(above, 60.0).exp() + 0.5 / (high - low)).ln()
        }
        None => (1.0f64 / 8400.0).ln(),
    };
    Some(prior - stranger(tone))
}
