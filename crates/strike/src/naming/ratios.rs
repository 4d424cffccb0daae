//! Naming by frequency ratios alone, when nothing was predicted.
//!
//! Free bars sound near 1 : 2.76 : 5.40 (thin uniform bar, Blevins 1979; thick blanks lower),
//! 1 : 3 : 6 (xylophone arch) or 1 : 4 : 10 (marimba arch); while an arch is being cut the second
//! and third climb together between these. Every pair of pattern and tones has a weight as in
//! [`super::expected`]; widths are judgement from the check recordings (1 : 2.62 : 4.92 to
//! 1 : 4.02 : 9.9).

use super::{Names, crowd, is_shadow, normal, silent, stranger};
use crate::merge::Merged;
use crate::tones::cents;
use crate::types::{Kind, StrikePlace};

/// A pattern: ratios of bending 2 and 3 to bending 1 with their sigmas in cents.
struct Pattern {
    second: f64,
    second_sigma: f64,
    third: f64,
    /// When bending 2 was not heard.
    third_sigma: f64,
    /// Given the second: its misfit moves the third by so many times as much…
    tie: f64,
    /// … and leaves this sigma.
    tied_sigma: f64,
    /// Prior share of the pattern.
    share: f64,
}

const PATTERNS: [Pattern; 4] = [
    // Blank or nearly. Uniform Timoshenko bars lie on one curve through 2.60 : 4.72 with slope 2.2
    // in cents (reference/timoshenko_uniform.csv: 2.34 : 3.87 … 2.76 : 5.40, within 50 cents).
    Pattern {
        second: 2.60,
        second_sigma: 90.0,
        third: 4.72,
        third_sigma: 200.0,
        tie: 2.2,
        tied_sigma: 50.0,
        share: 0.3,
    },
    // Xylophone arch. Here and below an error of bending 1 moves both ratios alike: slope 1.
    Pattern {
        second: 3.0,
        second_sigma: 45.0,
        third: 6.15,
        third_sigma: 120.0,
        tie: 1.0,
        tied_sigma: 110.0,
        share: 0.2,
    },
    // Marimba arch: 3.7–4.3 and 8.5–11.
    Pattern {
        second: 4.0,
        second_sigma: 65.0,
        third: 9.8,
        third_sigma: 190.0,
        tie: 1.0,
        tied_sigma: 180.0,
        share: 0.4,
    },
    // Half way between the last two.
    Pattern {
        second: 3.45,
        second_sigma: 130.0,
        third: 7.8,
        third_sigma: 250.0,
        tie: 1.0,
        tied_sigma: 200.0,
        share: 0.1,
    },
];

/// Names given by ratio alone are never surer than this: a pattern is not a prediction.
const MOST_SURE: f64 = 0.95;
const MOST_SURE_WITHOUT_NOTE: f64 = 0.9;

/// Tones quieter than this are not tried, and no more than the loudest so many.
const FAINTEST_DB: f64 = -50.0;
const MOST_TONES: usize = 14;

/// With so many loud strangers the sound is no bar's (struck bars of the check recordings have up
/// to three beside bending 1 to 3: torsion, sideways, higher bending).
pub(crate) const MOST_STRANGERS: usize = 5;

/// Two tones in a bar's ratio are a bar's only if the first rings as no damped bar, voice or drum does.
const LEAST_QUALITY_OF_TWO: f64 = 60.0;

/// Range in which bending 1 is sought, in cents above the note: an octave below (a bar cut too
/// far) to three octaves above (a C2 blank lies 2760 cents above its note).
const NOTE_RANGE_CENTS: (f64, f64) = (-1200.0, 3600.0);

/// One reading of the tones.
struct Reading {
    modes: [Option<usize>; 3],
    weight: f64,
}

/// What the readings are made from.
struct Search<'a> {
    tones: &'a [Merged],
    usable: Vec<usize>,
    struck: Option<StrikePlace>,
}

/// Names bending 1 to 3 by their ratios.
pub(crate) fn name(tones: &[Merged], note_hz: Option<f64>, struck: Option<StrikePlace>) -> Names {
    let mut usable: Vec<usize> = (0..tones.len())
        .filter(|i| !tones[*i].steady && tones[*i].level_db > FAINTEST_DB && !is_shadow(tones, *i))
        .collect();
    usable.sort_by(|a, b| tones[*b].level_db.total_cmp(&tones[*a].level_db));
    usable.truncate(MOST_TONES);
    let search = Search { tones, usable, struck };
    let readings = search.readings(note_hz);
    let top = readings.iter().map(|r| r.weight).fold(0.0, f64::max);
    // Weight 0 (log) is the reading in which nothing is a bar.
    let total = readings.iter().map(|r| (r.weight - top).exp()).sum::<f64>() + (-top).exp();
    let most_sure = if note_hz.is_some() { MOST_SURE } else { MOST_SURE_WITHOUT_NOTE };
    let mut shares = vec![vec![0.0; tones.len()]; 3];
    for reading in &readings {
        for (place, tone) in reading.modes.iter().enumerate() {
            if let Some(tone) = tone {
                shares[place][*tone] += most_sure * (reading.weight - top).exp() / total;
            }
        }
    }
    let mut names = Names::default();
    for place in 0..3 {
        let rivals: Vec<f64> =
            (0..tones.len()).map(|t| (0..3).filter(|p| *p != place).map(|p| shares[p][t]).sum()).collect();
        names.decide(tones, Kind::Bending, place + 1, &shares[place], &rivals);
    }
    names.why_not = why_not(tones, &names, note_hz.is_some());
    // A ratio to an unknown first tone names nothing.
    let first = names.given.iter().any(|name| name.number == 1);
    if !first || names.why_not.is_some() {
        names.take_back();
    }
    names
}

/// Why the pattern found is no sign of a bar, if it is none. Struck things that are no bar show two
/// tones in a bar's ratio often enough (drums, bells, strings), three with nothing against them
/// hardly ever.
fn why_not(tones: &[Merged], names: &Names, note: bool) -> Option<String> {
    let named = |number: usize| names.given.iter().find(|name| name.number == number).map(|name| &tones[name.tone]);
    let first = named(1)?;
    let needed = if note { 2 } else { 3 };
    if names.given.len() < needed {
        return Some(format!("only {} of {needed} tones needed fit a bar's ratios", names.given.len()));
    }
    let quality = std::f64::consts::PI * first.hz * first.decay_s;
    if names.given.len() < 3 && quality < LEAST_QUALITY_OF_TWO {
        return Some(format!(
            "only two tones fit, and the quality factor of the first is {quality:.0} (limit {LEAST_QUALITY_OF_TWO:.0})"
        ));
    }
    if let Some(name) = names.given.iter().find(|name| name.number == 1 && !name.blended.is_empty()) {
        return Some(format!("what would be bending 1 cannot be told from {} tones beside it", name.blended.len()));
    }
    let loud = |tone: &Merged, db: f64| !tone.steady && tone.level_db > db;
    if let Some(crowd) = crowd(tones) {
        return Some(crowd);
    }
    let unnamed = || (0..tones.len()).filter(|i| !names.covers(*i)).map(|i| &tones[i]);
    // Bending 1 is the lowest mode but for a torsion close to it.
    if let Some(low) = unnamed().find(|tone| loud(tone, -20.0) && tone.hz < 0.9 * first.hz) {
        return Some(format!("a loud tone at {:.1} Hz lies below what would be bending 1", low.hz));
    }
    let beside = unnamed().filter(|tone| loud(tone, -15.0) && cents(first.hz, tone.hz).abs() < 60.0).count();
    if beside >= 2 {
        return Some(format!("{beside} loud tones lie beside what would be bending 1"));
    }
    let top = named(2).or(named(3)).map_or(f64::INFINITY, |tone| tone.hz);
    let between = |tone: &&Merged| tone.hz > 1.1 * first.hz && tone.hz < 0.95 * top;
    if let Some(tone) = unnamed().filter(between).find(|tone| loud(tone, first.level_db + 6.0)) {
        return Some(format!("the tone at {:.1} Hz is louder than what would be bending 1 below it", tone.hz));
    }
    let strangers = strangers(tones, names);
    (strangers >= MOST_STRANGERS).then(|| format!("{strangers} loud tones fit no pattern of a bar"))
}

/// Loud tones (above −20 dB, no shadows) that no name covers.
pub(crate) fn strangers(tones: &[Merged], names: &Names) -> usize {
    (0..tones.len())
        .filter(|i| !tones[*i].steady && tones[*i].level_db > -20.0)
        .filter(|i| !names.covers(*i) && !is_shadow(tones, *i))
        .count()
}

impl Search<'_> {
    fn readings(&self, note_hz: Option<f64>) -> Vec<Reading> {
        let mut all = Vec::new();
        for &first in &self.usable {
            let Some(base) = first_weight(&self.tones[first], note_hz) else {
                continue;
            };
            for pattern in &PATTERNS {
                self.add(&mut all, first, base + pattern.share.ln(), pattern);
            }
        }
        all
    }

    fn add(&self, all: &mut Vec<Reading>, first: usize, base: f64, pattern: &Pattern) {
        let seconds = self.choices(first, 2, pattern.second, pattern.second_sigma);
        for (second, a) in seconds {
            let (ratio, sigma) = match second {
                Some(index) => {
                    let misfit = self.tones[index].hz / (self.tones[first].hz * pattern.second);
                    (pattern.third * misfit.powf(pattern.tie), pattern.tied_sigma)
                }
                None => (pattern.third, pattern.third_sigma),
            };
            for (third, b) in self.choices(first, 3, ratio, sigma) {
                all.push(Reading { modes: [Some(first), second, third], weight: base + a + b });
            }
        }
    }

    /// Tones that may be this mode, and its silence, each with its log weight.
    fn choices(&self, first: usize, number: usize, ratio: f64, sigma: f64) -> Vec<(Option<usize>, f64)> {
        let quiet = silent(Kind::Bending, number, self.struck);
        let base = &self.tones[first];
        let found = self.usable.iter().filter_map(|&index| {
            let tone = &self.tones[index];
            let misfit = cents(base.hz * ratio, tone.hz);
            let weight = normal(misfit, sigma) - stranger(tone) + kinship(base, tone) + (1.0 - quiet).ln();
            (misfit.abs() < 3.0 * sigma).then_some((Some(index), weight))
        });
        std::iter::once((None, quiet.ln())).chain(found).collect()
    }
}

/// Log weight of the two tones having the same friction: the quality factors of a bar's modes
/// differ by a factor of about e (check recordings: up to 3.5), those of a contact burst and a
/// ring by far more. Bounded, so that a damped mode is not excluded by this alone.
fn kinship(a: &Merged, b: &Merged) -> f64 {
    let ratio = (a.hz * a.decay_s / (b.hz * b.decay_s)).ln();
    (-0.5 * ratio * ratio).max(-5.0)
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
