//! From damped sinusoids to tones: one frequency with an honest uncertainty per ringing part.
//!
//! A real mode is not one exponential: its frequency glides as the amplitude falls, and a tube
//! gives it a second decay. The fit then needs several poles closer than their line widths; they
//! are one tone, whose frequency is that of the best single exponential, i.e. the average over the
//! ring weighted with its energy.

use crate::damped::{Complex, Component, correlate, subtract};
use crate::fit::{Effort, Limits, fit};
use crate::search::{Parts, evidence_limit, level};
use crate::spectrum::Spectra;

/// A tone of one blow.
#[derive(Debug, Clone)]
pub(crate) struct Tone {
    pub hz: f64,
    pub sigma_cents: f64,
    pub early_hz: Option<f64>,
    pub late_hz: Option<f64>,
    pub decay_s: f64,
    /// Decay time of the second stage, if the ring falls in two.
    pub late_decay_s: Option<f64>,
    /// Time after the blow at which the ring ends at once, if it does.
    pub stopped_s: Option<f64>,
    /// Amplitude at the blow.
    pub amplitude: f64,
    /// Energy of the ring in noise variances, as the tone sees the noise.
    pub evidence: f64,
    /// Energy of the ring.
    pub energy: f64,
    /// Does not die away: mains, a machine, a held tone.
    pub steady: bool,
}

impl Tone {
    /// Quality factor πfτ.
    pub fn quality(&self) -> f64 {
        std::f64::consts::PI * self.hz * self.decay_s
    }

    /// Time until the ring is no more than the noise around it, in seconds.
    pub fn usable_s(&self, count: usize) -> f64 {
        0.5 * self.decay_s * (self.evidence / evidence_limit(count)).max(1.0).ln()
    }
}

/// What the tones of a blow are measured in.
pub(crate) struct Frame<'a> {
    pub spectra: &'a Spectra<'a>,
    /// Time from the blow to the first sample of the segment, in seconds.
    pub skipped_s: f64,
}

/// Cents from `from_hz` up to `to_hz`.
pub(crate) fn cents(from_hz: f64, to_hz: f64) -> f64 {
    1200.0 * (to_hz / from_hz).log2()
}

/// Groups the components into tones and measures each.
pub(crate) fn tones(parts: &Parts, frame: &Frame) -> Vec<Tone> {
    groups(&parts.fit.components, &parts.fit.gain).iter().filter_map(|group| measure(parts, group, frame)).collect()
}

/// Components closer than twice the narrower one's half line width, `d/2π` in hertz, belong
/// together: a pair farther apart shows as two lines. (Not the sum of both: a short burst is wide
/// and would swallow every line near it.) Strongest first.
fn groups(components: &[Component], gain: &[f64]) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..components.len()).collect();
    order.sort_by(|a, b| gain[*b].total_cmp(&gain[*a]));
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for index in order {
        let own = components[index].log_pole;
        let home = groups.iter_mut().find(|group| {
            let leader = components[group[0]].log_pole;
            (own.im - leader.im).abs() < 2.0 * own.re.abs().min(leader.re.abs())
        });
        match home {
            Some(group) => group.push(index),
            None => groups.push(vec![index]),
        }
    }
    groups
}

/// A frequency with its standard deviation from noise alone.
#[derive(Debug, Clone, Copy)]
struct Reading {
    hz: f64,
    sigma_hz: f64,
    rate_per_s: f64,
    sigma_rate_per_s: f64,
    amplitude: f64,
    evidence: f64,
    energy: f64,
}

/// The sound of one tone alone, what the model leaves included.
struct Alone<'a> {
    own: Vec<f64>,
    rest: &'a [f64],
    leader: Component,
    frame: &'a Frame<'a>,
}

fn measure(parts: &Parts, group: &[usize], frame: &Frame) -> Option<Tone> {
    let leader = parts.fit.components[group[0]];
    let mut own = parts.rest.clone();
    for index in group {
        let mut component = parts.fit.components[*index];
        component.amplitude = -component.amplitude;
        subtract(&mut own, &component);
    }
    let noise = level(&parts.noise, &leader, frame.spectra.sample_rate_hz);
    let alone = Alone { own, rest: &parts.rest, leader, frame };
    let whole = if let [index] = group {
        joint(parts, *index, noise, frame.spectra.sample_rate_hz)
    } else {
        single(&alone.own, &leader, noise, frame.spectra.sample_rate_hz)?
    };
    let decay_s = 1.0 / whole.rate_per_s.max(1e-3);
    let early = alone.window(0.1, 0.3);
    let late = alone.late();
    let stages = alone.stages(decay_s);
    let sigma_hz = whole.sigma_hz.hypot(range(early.zip(late)).max(range(stages)) / 12f64.sqrt());
    Some(Tone {
        hz: whole.hz,
        sigma_cents: cents(whole.hz, whole.hz + sigma_hz),
        early_hz: early.map(|reading| reading.hz),
        late_hz: late.map(|reading| reading.hz),
        decay_s,
        late_decay_s: stages
            .and_then(second_stage)
            .map(|rest_s| slowest_s(parts, group, frame).clamp(rest_s, 3.0 * rest_s)),
        stopped_s: alone.stopped_s(),
        amplitude: whole.amplitude * (whole.rate_per_s * frame.skipped_s).clamp(0.0, 3.0).exp(),
        evidence: whole.evidence,
        energy: whole.energy,
        steady: false,
    })
}

/// Decay time of the slowest pole of a group. Where the ring falls in two stages the fit has found
/// the second one's own; what follows the first decay time still holds some of the first stage.
fn slowest_s(parts: &Parts, group: &[usize], frame: &Frame) -> f64 {
    let rate = frame.spectra.sample_rate_hz;
    let slowest = group.iter().map(|index| parts.fit.components[*index].rate_per_s(rate)).fold(f64::INFINITY, f64::min);
    1.0 / slowest.max(1e-3)
}

/// Reading of a component from the fit of all together.
fn joint(parts: &Parts, index: usize, noise: f64, sample_rate_hz: f64) -> Reading {
    let component = parts.fit.components[index];
    let per_sample = |at: usize| (parts.fit.covariance[(at, at)] * noise).max(0.0).sqrt();
    Reading {
        hz: component.hz(sample_rate_hz),
        sigma_hz: per_sample(4 * index + 3) * sample_rate_hz / std::f64::consts::TAU,
        sigma_rate_per_s: per_sample(4 * index + 2) * sample_rate_hz,
        rate_per_s: component.rate_per_s(sample_rate_hz),
        amplitude: component.amplitude.norm(),
        evidence: parts.fit.gain[index] / noise,
        energy: component.energy(parts.rest.len()),
    }
}

/// Reading of the best single exponential.
fn single(samples: &[f64], start: &Component, noise: f64, sample_rate_hz: f64) -> Option<Reading> {
    let limits = Limits::new(samples.len(), sample_rate_hz);
    let found = fit(samples, &[start.log_pole], limits, Effort::Fine)?;
    let component = found.components[0];
    let per_sample = |at: usize| (found.covariance[(at, at)] * noise).max(0.0).sqrt();
    let reading = Reading {
        hz: component.hz(sample_rate_hz),
        sigma_hz: per_sample(3) * sample_rate_hz / std::f64::consts::TAU,
        sigma_rate_per_s: per_sample(2) * sample_rate_hz,
        rate_per_s: component.rate_per_s(sample_rate_hz),
        amplitude: component.amplitude.norm(),
        evidence: found.gain[0] / noise,
        energy: component.energy(samples.len()),
    };
    // A window that has lost the tone runs away to something else.
    let away_hz = (reading.hz - start.hz(sample_rate_hz)).abs();
    let width_hz = start.rate_per_s(sample_rate_hz).abs() / std::f64::consts::TAU;
    let window_hz = sample_rate_hz / samples.len() as f64;
    (reading.hz.is_finite() && away_hz < 3.0 * width_hz + 0.5 * window_hz).then_some(reading)
}

impl Alone<'_> {
    /// Reading from the part between two times after the blow, if the tone is clear enough there
    /// to be known to 3 cents.
    fn window(&self, from_s: f64, to_s: f64) -> Option<Reading> {
        let rate = self.frame.spectra.sample_rate_hz;
        let index = |time_s: f64| ((time_s - self.frame.skipped_s) * rate).round().max(0.0) as usize;
        let (from, to) = (index(from_s), index(to_s));
        if to > self.own.len() || to < from + 64 {
            return None;
        }
        let reading = self.between(from, to)?;
        let clear = reading.evidence > 2.0 * evidence_limit(to - from)
            && cents(reading.hz, reading.hz + reading.sigma_hz) < 3.0;
        clear.then_some(reading)
    }

    /// Reading between two samples, with the noise found there.
    fn between(&self, from: usize, to: usize) -> Option<Reading> {
        let rate = self.frame.spectra.sample_rate_hz;
        let noise = self.frame.spectra.level_in(&self.rest[from..to], self.leader.hz(rate)).max(1e-30);
        single(&self.own[from..to], &self.leader.shifted(from as f64), noise, rate)
    }

    /// The last 0.2 s in which the tone stands above −38 dB and above the noise, if that is later
    /// than the early window's middle.
    fn late(&self) -> Option<Reading> {
        let rate = self.frame.spectra.sample_rate_hz;
        let step = ((0.05f64).max(4.0 / self.leader.hz(rate)) * rate) as usize;
        let turn = Complex::new(0.0, -self.leader.log_pole.im);
        let level = |x: &[f64]| correlate(x, turn)[0].norm();
        let levels: Vec<f64> = self.own.chunks_exact(step).map(level).collect();
        let floor = self.rest.chunks_exact(step).map(level);
        let loudest = levels.iter().copied().fold(0.0, f64::max);
        // Twice the noise there, 6 dB: `window` then judges whether it is clear.
        let last = levels
            .iter()
            .zip(floor)
            .rposition(|(level, noise)| *level > loudest * 10f64.powf(-38.0 / 20.0) && *level > 2.0 * noise)?;
        let end_s = self.frame.skipped_s + ((last + 1) * step) as f64 / rate;
        if end_s < 0.4 {
            return None;
        }
        self.window(end_s - 0.2, end_s)
    }

    /// Time after the blow at which the tone falls by more than 12 dB within 50 ms, more than five
    /// times as fast as it fell in the 100 ms before, and does not come back (as a beat would).
    fn stopped_s(&self) -> Option<f64> {
        let rate = self.frame.spectra.sample_rate_hz;
        let step = ((0.025f64).max(4.0 / self.leader.hz(rate)) * rate) as usize;
        let turn = Complex::new(0.0, -self.leader.log_pole.im);
        let level = |x: &[f64]| 20.0 * correlate(x, turn)[0].norm().max(1e-12).log10();
        let levels: Vec<f64> = self.own.chunks_exact(step).map(level).collect();
        let at = (4..levels.len().saturating_sub(2)).find(|&at| {
            let fall = levels[at] - levels[at + 2];
            let usual = (levels[at - 4] - levels[at]).max(0.0) / 2.0;
            let after = levels[at + 2..].iter().copied().fold(f64::NEG_INFINITY, f64::max);
            fall > 12.0 && fall > 5.0 * usual && after < levels[at] - 10.0
        })?;
        Some(self.frame.skipped_s + ((at + 1) * step) as f64 / rate)
    }

    /// Readings of the first decay time and of the rest up to the sixth.
    fn stages(&self, decay_s: f64) -> Option<(Reading, Reading)> {
        let count = self.own.len();
        let decay = decay_s * self.frame.spectra.sample_rate_hz;
        let cut = (decay as usize).min(count / 2);
        let last = ((6.0 * decay) as usize).clamp(cut, count);
        let enough = cut >= 64 && last >= cut + 64;
        enough.then(|| self.between(0, cut).zip(self.between(cut, last))).flatten()
    }
}

/// What a single frequency cannot say: the difference between two parts of the ring where it is
/// more than three times what noise explains. As of a uniform spread it widens the sigma by
/// range/√12.
fn range(pair: Option<(Reading, Reading)>) -> f64 {
    pair.map_or(0.0, |(a, b)| {
        let (difference, sigma) = ((a.hz - b.hz).abs(), a.sigma_hz.hypot(b.sigma_hz));
        if difference > 3.0 * sigma { difference } else { 0.0 }
    })
}

/// Decay time of the rest of the ring if it falls clearly slower than the start: by half as much
/// again, and by more than five times what noise explains.
fn second_stage((first, rest): (Reading, Reading)) -> Option<f64> {
    let sigma = first.sigma_rate_per_s.hypot(rest.sigma_rate_per_s);
    let slower = first.rate_per_s - rest.rate_per_s;
    (rest.rate_per_s > 0.0 && slower > 5.0 * sigma && first.rate_per_s > 1.5 * rest.rate_per_s)
        .then(|| 1.0 / rest.rate_per_s)
}
