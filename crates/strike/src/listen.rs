//! The pipeline from takes to named modes.

use crate::check::{self, Ready};
use crate::doubts::{self, Facts, MOST_CLIPPED};
use crate::merge::{Merged, merge};
use crate::naming::{self, Name, Names};
use crate::refuse;
use crate::ring::{self, LEAST_EXPLAINED, Ring};
use crate::spectrum::Spectra;
use crate::tones::cents;
use crate::types::{Blow, Context, Heard, HeardMode, OtherTone, Refusal, Take};
use realfft::RealFftPlanner;
use std::cell::RefCell;

/// More blows than the first so many in one take add nothing but time.
const MOST_BLOWS: usize = 16;

/// Hears a struck bar in one or several takes.
///
/// All takes must be of the same bar in the same state. Frequencies are in hertz, relative to the
/// recorder's own sample clock: its error (commonly up to 0.1 cent) is not in the sigmas.
///
/// # Errors
/// A [`Refusal`] with a stable code: `empty`, `not_finite`, `bad_rate`, `bad_expected`, `silence`,
/// `noise`, `hum`, `too_short`, `no_ring`, `exact_harmonics`. A damaged take (no
/// samples, not numbers, a senseless rate) refuses all; a take that merely holds no ring is left
/// out with the warning `take_unused` if another one is good.
pub fn listen(takes: &[Take], context: &Context) -> Result<Heard, Refusal> {
    check::context(context)?;
    if takes.is_empty() {
        return Err(refuse::empty());
    }
    for (index, take) in takes.iter().enumerate() {
        check::numbers(index, take)?;
    }
    let mut gathered = Gathered::new(takes);
    for (index, take) in takes.iter().enumerate() {
        if let Err(refusal) = gathered.hear(index, take) {
            gathered.refused.push((index, refusal));
        }
    }
    gathered.conclude(context)
}

/// What the takes gave.
struct Gathered {
    rings: Vec<Ring>,
    blows: Vec<Blow>,
    refused: Vec<(usize, Refusal)>,
    facts: Facts,
    planner: RefCell<RealFftPlanner<f64>>,
}

impl Gathered {
    fn new(takes: &[Take]) -> Self {
        let lowest = takes.iter().map(|take| take.sample_rate_hz).fold(f64::INFINITY, f64::min);
        Self {
            rings: Vec::new(),
            blows: Vec::new(),
            refused: Vec::new(),
            planner: RefCell::new(RealFftPlanner::new()),
            facts: Facts { lowest_rate_hz: lowest, ..Facts::default() },
        }
    }

    /// Hears all blows of a take; refuses it if none is good.
    fn hear(&mut self, index: usize, take: &Take) -> Result<(), Refusal> {
        let ready = check::prepare(take)?;
        let rate = ready.sample_rate_hz;
        let spectra = Spectra { sample_rate_hz: rate, planner: &self.planner };
        let found = crate::blows::find(&ready.samples, rate);
        if found.at.is_empty() {
            return Err(ring::steady_hz(&ready.samples, &spectra).map_or_else(refuse::noise, refuse::hum));
        }
        let mut why_not = None;
        let before = self.rings.len();
        for (number, at) in found.at.iter().enumerate().take(MOST_BLOWS) {
            let end = found.at.get(number + 1).map_or(ready.samples.len(), |next| next - 1);
            match hear_blow(&ready, &spectra, *at, end) {
                Ok(ring) => {
                    self.blows.push(Blow { take: index, at_s: *at as f64 / rate, usable_s: ring.usable_s });
                    self.rings.push(ring);
                }
                Err(refusal) => why_not = Some(refusal),
            }
        }
        if self.rings.len() == before {
            return Err(why_not.unwrap_or_else(refuse::noise));
        }
        self.facts.clipped_crests = self.facts.clipped_crests.max(ready.clipped_crests);
        self.facts.bounce_s = self.facts.bounce_s.or(found.bounce_s);
        self.facts.edge_hz = self.facts.edge_hz.or(doubts::edge_hz(&ready.samples, rate));
        Ok(())
    }

    fn conclude(mut self, context: &Context) -> Result<Heard, Refusal> {
        if self.rings.is_empty() {
            // The last refusal is as good as any: nothing could be used.
            return Err(self.refused.pop().map_or_else(refuse::noise, |(_, refusal)| refusal));
        }
        let tones = merge(&self.rings);
        let series = doubts::harmonic_series(&tones);
        // Clipping makes overtones of a bar's own tones: then the series is only a doubt.
        let foreign = context.expected.is_empty() && self.facts.clipped_crests <= MOST_CLIPPED;
        if let (Some((base, count)), true) = (series, foreign) {
            return Err(refuse::exact_harmonics(base, count));
        }
        let names = if context.expected.is_empty() {
            naming::ratios::name(&tones, context.note_hz, context.struck)
        } else {
            naming::expected::name(&tones, &context.expected, context.struck)
        };
        if let (Some((base, count)), true) = (series, names.given.is_empty()) {
            return Err(refuse::exact_harmonics(base, count));
        }
        self.facts.usable_s = self.blows.iter().map(|blow| blow.usable_s).fold(0.0, f64::max);
        self.facts.refused_takes = self
            .refused
            .iter()
            .map(|(index, refusal)| format!("take {} was left out: {}", index + 1, refusal.message))
            .collect();
        let modes = modes(&tones, &names);
        let mut warnings = doubts::warnings(&self.facts, &modes, &tones, &names, context);
        if let Some((base, count)) = series {
            warnings.push(doubts::harmonic_warning(base, count));
        }
        Ok(Heard { other: others(&tones, &names), modes, blows: self.blows, warnings })
    }
}

fn hear_blow(ready: &Ready, spectra: &Spectra, at: usize, end: usize) -> Result<Ring, Refusal> {
    let rate = ready.sample_rate_hz;
    let Some(ring) = ring::hear(&ready.samples, spectra, at, end) else {
        return Err(refuse::too_short((end - at) as f64 / rate));
    };
    let ringing = ring.tones.iter().any(|tone| !tone.steady);
    if let (false, Some(steady)) = (ringing, ring.tones.first()) {
        return Err(refuse::hum(steady.hz));
    }
    if !ringing || ring.explained < LEAST_EXPLAINED {
        return Err(refuse::no_ring(ring.best_quality, ring.explained));
    }
    Ok(ring)
}

fn modes(tones: &[Merged], names: &Names) -> Vec<HeardMode> {
    let mut modes: Vec<HeardMode> = names.given.iter().map(|name| mode(tones, name)).collect();
    modes.sort_by_key(|mode| (mode.kind, mode.number));
    modes
}

fn mode(tones: &[Merged], name: &Name) -> HeardMode {
    let tone = &tones[name.tone];
    let (hz, sigma_cents) = blend(tones, name);
    let alone = name.blended.is_empty();
    HeardMode {
        kind: name.kind,
        number: name.number,
        hz,
        sigma_cents,
        early_hz: tone.early_hz.filter(|_| alone),
        late_hz: tone.late_hz.filter(|_| alone),
        decay_s: tone.decay_s,
        level_db: tone.level_db,
        sure: name.sure,
    }
}

/// Mean of the tones that cannot be told apart, weighted with their energies; their spread is
/// part of the sigma.
fn blend(tones: &[Merged], name: &Name) -> (f64, f64) {
    let base = tones[name.tone].hz;
    let parts: Vec<(f64, f64, f64)> = name
        .blended
        .iter()
        .chain([&name.tone])
        .map(|index| {
            let tone = &tones[*index];
            (10f64.powf(tone.energy_db() / 10.0), cents(base, tone.hz), tone.sigma_cents)
        })
        .collect();
    let sum: f64 = parts.iter().map(|(w, _, _)| w).sum();
    let mean = parts.iter().map(|(w, x, _)| w * x).sum::<f64>() / sum;
    let variance = parts.iter().map(|(w, x, s)| w * (s * s + (x - mean).powi(2))).sum::<f64>() / sum;
    (base * (mean / 1200.0).exp2(), variance.sqrt())
}

fn others(tones: &[Merged], names: &Names) -> Vec<OtherTone> {
    (0..tones.len())
        .filter(|index| !names.covers(*index))
        .map(|index| OtherTone {
            hz: tones[index].hz,
            sigma_cents: tones[index].sigma_cents,
            decay_s: tones[index].decay_s,
            level_db: tones[index].level_db,
            maybe: doubts::maybe(tones, index, names),
        })
        .collect()
}
