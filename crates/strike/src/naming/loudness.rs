//! How loud a mode sounds, from where the bar was struck.
//!
//! From the free bar's mode shapes: a blow drives a mode in proportion to the mode's motion at the
//! place. The middle is a node of the even bending modes and of torsion; a quarter lies beside the
//! node of bending 1 (0.224 of the length) and near the crest of bending 2; a corner moves in every
//! mode, torsion most. Sideways motion is driven only by a blow that is not square. The decibels
//! are judgement around the levels of the check recordings (bending 2 and 3 some 15 and 20 dB
//! below the loudest); they are wide because mallets, hands and microphones differ.

use crate::merge::Merged;
use crate::types::{Kind, StrikePlace};

/// What a mode sounds like when struck at one place.
#[derive(Debug, Clone, Copy)]
struct Loudness {
    /// Probability that it is not heard at all.
    silent: f64,
    /// Level relative to the loudest tone, and its standard deviation, in dB.
    mean_db: f64,
    sigma_db: f64,
}

fn loudness(kind: Kind, number: usize, struck: Option<StrikePlace>) -> Loudness {
    use StrikePlace::{Centre, Corner, Quarter};
    let at = |silent: f64, mean_db: f64, sigma_db: f64| Loudness { silent, mean_db, sigma_db };
    let step = number.saturating_sub(1);
    let place = |table: [f64; 5]| table[step.min(4)];
    match kind {
        Kind::Bending => {
            let plain = at(place([0.02, 0.1, 0.25, 0.5, 0.6]), place([-4.0, -13.0, -19.0, -26.0, -31.0]), 8.0);
            match struck {
                Some(Centre) if number.is_multiple_of(2) => at(0.65, plain.mean_db - 15.0, 10.0),
                Some(Quarter) if number == 1 => at(0.03, -8.0, 8.0),
                None => Loudness { sigma_db: 9.0, ..plain },
                _ => plain,
            }
        }
        Kind::Torsion => {
            let later = 0.15 * step.min(2) as f64;
            let down = 6.0 * step as f64;
            match struck {
                Some(Centre) => at(0.75, -32.0 - down, 10.0),
                Some(Corner) => at(0.15 + later, -11.0 - down, 9.0),
                Some(_) => at(0.55 + later, -25.0 - down, 11.0),
                None => at(0.5 + later, -20.0 - down, 13.0),
            }
        }
        Kind::Sideways => at(0.85, -33.0 - 4.0 * step as f64, 9.0),
    }
}

/// Chance that a tone that is no mode sought sounds in a given blow.
const STRANGER_HEARD: f64 = 0.5;

/// Density in 1/dB of a stranger's level: mostly faint, rarely anything.
fn stranger_density(level_db: f64) -> f64 {
    0.9 * density(level_db + 35.0, 12.0) + 0.1 / 60.0
}

fn density(off: f64, sigma: f64) -> f64 {
    (-0.5 * (off / sigma).powi(2)).exp() / (sigma * std::f64::consts::TAU.sqrt())
}

/// Places that were struck, each with the blows there.
pub(crate) struct Struck {
    places: Vec<(Option<StrikePlace>, Vec<usize>)>,
}

impl Struck {
    /// From the place of each blow.
    pub fn new(of_blow: &[Option<StrikePlace>]) -> Self {
        let mut places: Vec<(Option<StrikePlace>, Vec<usize>)> = Vec::new();
        for (blow, place) in of_blow.iter().enumerate() {
            match places.iter_mut().find(|(known, _)| known == place) {
                Some((_, blows)) => blows.push(blow),
                None => places.push((*place, vec![blow])),
            }
        }
        Self { places }
    }

    /// Log probability that the mode sounds in none of the places.
    pub fn silent(&self, kind: Kind, number: usize) -> f64 {
        self.places.iter().map(|(place, _)| loudness(kind, number, *place).silent.ln()).sum()
    }

    /// Log of the probability of the tone's levels if it is the mode, over that of a stranger.
    pub fn likelihood(&self, tone: &Merged, kind: Kind, number: usize) -> f64 {
        self.places
            .iter()
            .map(|(place, blows)| {
                let expected = loudness(kind, number, *place);
                let own = tone.levels.iter().filter(|(blow, _)| blows.contains(blow)).map(|(_, level)| *level);
                match own.reduce(f64::max) {
                    // A hand's width off the place, or a hard mallet: one time in twenty any level.
                    Some(level) => {
                        let usual = density(level - expected.mean_db, expected.sigma_db);
                        ((1.0 - expected.silent) * (0.95 * usual + 0.05 / 60.0)).ln()
                            - (STRANGER_HEARD * stranger_density(level)).ln()
                    }
                    None => expected.silent.ln() - (1.0 - STRANGER_HEARD).ln(),
                }
            })
            .sum()
    }
}
