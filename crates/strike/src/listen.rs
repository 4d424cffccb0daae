//! The pipeline from takes to named modes.

use crate::check::{self, Ready};
use crate::doubts::{self, MOST_CLIPPED};
use crate::merge::{Merged, merge};
use crate::naming::loudness::Struck;
use crate::naming::{self, Name, Names};
use crate::refuse;
use crate::ring::{self, LEAST_BEFORE_GAP_S, LEAST_EXPLAINED, MOST_SWELL, Ring};
use crate::spectrum::Spectra;
use crate::tones::cents;
use crate::types::{Blow, Clock, Context, Heard, HeardMode, OtherTone, Refusal, RunnerUp, StrikePlace, Take};
use realfft::RealFftPlanner;
use std::cell::RefCell;

pub(crate) use crate::doubts::Facts;

/// More blows than the first so many in one take add nothing but time.
const MOST_BLOWS: usize = 16;

/// Hears a struck bar in one or several takes.
///
/// All takes must be of the same bar in the same state. Frequencies are in hertz, relative to the
/// recorder's own sample clock unless [`Context::clock`] corrects it: its error (commonly up to
/// 0.1 cent) is then not in the sigmas.
///
/// # Errors
/// A [`Refusal`] with a stable code: `empty`, `not_finite`, `bad_rate`, `bad_expected`, `silence`,
/// `noise`, `hum`, `too_short`, `no_ring`, `gap`, `exact_harmonics`. A damaged take (no
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
    let planner = RefCell::new(RealFftPlanner::new());
    let hearing = Hearing { planner: &planner, clock: context.clock };
    let (mut rings, mut blows, mut refused, mut facts) = (Vec::new(), Vec::new(), Vec::new(), Facts::default());
    for (index, take) in takes.iter().enumerate() {
        match hearing.take(take) {
            Ok((found, own)) => {
                for (at_s, ring) in found {
                    blows.push(Blow { take: index, at_s, usable_s: ring.usable_s });
                    rings.push(ring);
                }
                facts = facts.join(own);
            }
            Err(refusal) => refused.push((index, refusal)),
        }
    }
    facts.refused_takes =
        refused.iter().map(|(index, why)| format!("take {} was left out: {}", index + 1, why.message)).collect();
    if rings.is_empty() {
        // The last refusal is as good as any: nothing could be used.
        return Err(refused.pop().map_or_else(refuse::noise, |(_, refusal)| refusal));
    }
    let places: Vec<_> = blows.iter().map(|blow| context.struck_in(blow.take)).collect();
    conclude(&rings, &places, blows, facts, context)
}

/// What every take is heard with.
pub(crate) struct Hearing<'a> {
    pub planner: &'a RefCell<RealFftPlanner<f64>>,
    pub clock: Option<Clock>,
}

impl Hearing<'_> {
    fn spectra(&self, ready: &Ready) -> Spectra<'_> {
        Spectra { sample_rate_hz: ready.sample_rate_hz, planner: self.planner }
    }

    /// Hears all blows of a take, each with its time in seconds; refuses it if none is good.
    fn take(&self, take: &Take) -> Result<(Vec<(f64, Ring)>, Facts), Refusal> {
        let ready = check::prepare(take, self.clock)?;
        let spectra = self.spectra(&ready);
        let found = crate::blows::find(&ready.samples, ready.sample_rate_hz);
        if found.at.is_empty() {
            return Err(ring::steady_hz(&ready.samples, &spectra).map_or_else(refuse::noise, refuse::hum));
        }
        let (mut why_not, mut rings) = (None, Vec::new());
        for (number, at) in found.at.iter().enumerate().take(MOST_BLOWS) {
            let end = found.at.get(number + 1).map_or(ready.samples.len(), |next| next - 1);
            match hear_blow(&ready, &spectra, *at, end) {
                Ok(ring) => rings.push((*at as f64 / ready.sample_rate_hz, ring)),
                Err(refusal) => why_not = Some(refusal),
            }
        }
        if rings.is_empty() {
            return Err(why_not.unwrap_or_else(refuse::noise));
        }
        let own = rings.iter().fold(facts(take, &ready, found.bounce_s), |facts, (_, ring)| facts.with(ring));
        Ok((rings, own))
    }

    /// Hears the blow at sample `at` of a take.
    pub fn blow(&self, take: &Take, at: usize, bounce_s: Option<f64>) -> Result<(Ring, Facts), Refusal> {
        let ready = check::prepare(take, self.clock)?;
        let at = (at / ready.factor).min(ready.samples.len());
        let ring = hear_blow(&ready, &self.spectra(&ready), at, ready.samples.len())?;
        let own = facts(take, &ready, bounce_s).with(&ring);
        Ok((ring, own))
    }
}

fn facts(take: &Take, ready: &Ready, bounce_s: Option<f64>) -> Facts {
    Facts {
        clipped_crests: ready.clipped_crests,
        bounce_s,
        lowest_rate_hz: take.sample_rate_hz,
        edge_hz: doubts::edge_hz(&ready.samples, ready.sample_rate_hz),
        ..Facts::default()
    }
}

/// The place struck, if it was the same in all blows.
fn one_place(places: &[Option<StrikePlace>]) -> Option<StrikePlace> {
    let first = places.first().copied().flatten();
    first.filter(|_| places.iter().all(|place| *place == first))
}

/// One verdict from the rings of one or several blows.
pub(crate) fn conclude(
    rings: &[Ring],
    places: &[Option<StrikePlace>],
    blows: Vec<Blow>,
    facts: Facts,
    context: &Context,
) -> Result<Heard, Refusal> {
    let tones = merge(rings);
    let series = doubts::harmonic_series(&tones);
    // Clipping makes overtones of a bar's own tones: then the series is only a doubt.
    let foreign = context.expected.is_empty() && facts.clipped_crests <= MOST_CLIPPED;
    if let (Some((base, count)), true) = (series, foreign) {
        return Err(refuse::exact_harmonics(base, count));
    }
    let names = if context.expected.is_empty() {
        naming::ratios::name(&tones, context.note_hz, one_place(places))
    } else {
        naming::expected::name(&tones, &context.expected, &Struck::new(places))
    };
    if let (Some((base, count)), true) = (series, names.given.is_empty()) {
        return Err(refuse::exact_harmonics(base, count));
    }
    let mut modes = modes(&tones, &names);
    let mut warnings = doubts::warnings(&facts, &blows, &modes, &tones, &names, context);
    if let Some((base, count)) = series {
        warnings.push(doubts::harmonic_warning(base, count));
    }
    let mut other = others(&tones, &names);
    if let Some(clock) = context.clock {
        // 1200/ln 2 cents per unit of relative change.
        let cents = clock.sigma_ppm * 1e-6 * 1200.0 / std::f64::consts::LN_2;
        modes.iter_mut().for_each(|mode| mode.sigma_cents = mode.sigma_cents.hypot(cents));
        other.iter_mut().for_each(|tone| tone.sigma_cents = tone.sigma_cents.hypot(cents));
    }
    Ok(Heard { other, modes, blows, warnings })
}

fn hear_blow(ready: &Ready, spectra: &Spectra, at: usize, end: usize) -> Result<Ring, Refusal> {
    let rate = ready.sample_rate_hz;
    let Some(ring) = ring::hear(&ready.samples, spectra, at, end) else {
        return Err(refuse::too_short(end.saturating_sub(at) as f64 / rate));
    };
    if let Some(gap_s) = ring.gap_s.filter(|gap_s| *gap_s < LEAST_BEFORE_GAP_S) {
        return Err(refuse::gap(gap_s));
    }
    let ringing = ring.tones.iter().any(|tone| !tone.steady);
    if let (false, Some(steady)) = (ringing, ring.tones.first()) {
        return Err(refuse::hum(steady.hz));
    }
    if ringing && ring.swell > MOST_SWELL {
        return Err(refuse::swells(ring.swell));
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
        late_decay_s: tone.late_decay_s.filter(|_| alone),
        sure: name.sure,
        runner_up: name.runner_up.map(|(other, sure)| RunnerUp { hz: tones[other].hz, sure }),
        blows: tone.levels.len(),
        repeat_cents: tone.repeat_cents,
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
