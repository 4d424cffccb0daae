//! One blow: cut out its ring, take it apart, tell bar from clap, knock and hum.

use crate::damped::{Complex, Component, correlate};
use crate::fit::residual;
use crate::search::{MOST_PASSES, Parts, take_apart};
use crate::spectrum::Spectra;
use crate::tones::{Frame, Tone, tones};

/// The mallet is still on the bar this long after the onset.
const CONTACT_S: f64 = 0.003;
/// The start is moved up to this much later where the sound is not yet the ring's.
const MOST_SKIPPED_S: f64 = 0.012;
/// Ring longer than this adds nothing to the longest bass bar (decay about 1 s).
pub(crate) const LONGEST_S: f64 = 4.0;
/// Shortest ring that is judged.
pub(crate) const SHORTEST_S: f64 = 0.1;
/// Quality factor πfτ below which a tone is a thud. Struck bars in the check recordings reach
/// 80–5000; table tops, boxes and hands stay below about 25 (judgement, no published source).
pub(crate) const LEAST_QUALITY: f64 = 30.0;
/// Part of the dying sound's energy that ringing tones must explain. Decaying noise gives its
/// strongest thirty components a few per cent, a bar with a hard mallet well over a half.
pub(crate) const LEAST_EXPLAINED: f64 = 0.15;

/// A ring that breaks earlier than this is not worth reading: the live listener's first answer
/// takes as long.
pub(crate) const LEAST_BEFORE_GAP_S: f64 = 0.3;

/// A struck bar is loudest at once; two of its modes that beat may swell by up to this (6 dB).
pub(crate) const MOST_SWELL: f64 = 4.0;

/// One blow heard.
#[derive(Debug, Clone, Default)]
pub(crate) struct Ring {
    /// Tones that ring or hum, strongest energy first.
    pub tones: Vec<Tone>,
    /// Part of the dying energy that is in ringing tones.
    pub explained: f64,
    /// Usable ring in seconds.
    pub usable_s: f64,
    /// Time after the blow until nothing of the ring is left above the noise, recorded or not.
    pub lasts_s: f64,
    /// Highest quality factor among everything found.
    pub best_quality: f64,
    /// So much quieter than before the blow the noise is while the bar rings, in dB.
    pub gain_drop_db: f64,
    /// Time after the blow at which the sound jumps; only what lies before it is used.
    pub gap_s: Option<f64>,
    /// Energy of the loudest 50 ms that follow, over that of the first 50 ms.
    pub swell: f64,
}

/// Takes apart the ring between the blow and `end`.
pub(crate) fn hear(samples: &[f64], spectra: &Spectra, onset: usize, end: usize) -> Option<Ring> {
    let sample_rate_hz = spectra.sample_rate_hz;
    let index = |time_s: f64| (time_s * sample_rate_hz).round() as usize;
    let start = onset + index(CONTACT_S);
    let end = end.min(start + index(LONGEST_S)).min(samples.len());
    if end < start + index(SHORTEST_S).max(256) {
        return None;
    }
    // A first rough model shows how long the contact lasts; the ring after it is then searched anew.
    let Some(rough) = take_apart(&samples[start..end], spectra, None, 0..1) else {
        return Some(Ring::default());
    };
    let skip = settling(&samples[start..end], &rough, sample_rate_hz);
    let start = start + skip;
    let (known, passes) = if skip == 0 { (Some(rough.fit), 1..MOST_PASSES) } else { (None, 0..MOST_PASSES) };
    let Some(parts) = take_apart(&samples[start..end], spectra, known, passes) else {
        return Some(Ring::default());
    };
    if let Some(at) = crate::gap::first(&samples[start..end], &parts.fit.components, sample_rate_hz) {
        // What lies before the gap is a ring like any other, only shorter.
        let before = hear(samples, spectra, onset, start + at).unwrap_or_default();
        let gap_s = (start + at - onset) as f64 / sample_rate_hz;
        return Some(Ring { gap_s: before.gap_s.or(Some(gap_s)), ..before });
    }
    Some(judge(samples, (onset, start, end), &parts, spectra))
}

/// Samples until what the model leaves has fallen below a thousandth of the sound or to six times the
/// later noise, in steps of 1 ms.
fn settling(samples: &[f64], parts: &Parts, sample_rate_hz: f64) -> usize {
    let step = (0.001 * sample_rate_hz).ceil() as usize;
    let power = |part: &[f64]| part.iter().map(|x| x * x).sum::<f64>() / part.len().max(1) as f64;
    let later = power(&parts.rest[parts.rest.len() / 2..]);
    let most = ((MOST_SKIPPED_S - CONTACT_S) * sample_rate_hz) as usize / step;
    let frames = parts.rest.chunks(step).zip(samples.chunks(step));
    let unsettled = frames
        .take(most)
        .take_while(|(rest, sound)| power(rest) > 6.0 * later && power(rest) > 1e-3 * power(sound))
        .count();
    unsettled * step
}

fn judge(samples: &[f64], (onset, start, end): (usize, usize, usize), parts: &Parts, spectra: &Spectra) -> Ring {
    let sample_rate_hz = spectra.sample_rate_hz;
    let frame = Frame { spectra, skipped_s: (start - onset) as f64 / sample_rate_hz };
    let count = end - start;
    let lead = &samples[lead_start(onset, sample_rate_hz)..onset];
    let mut all = tones(parts, &frame);
    for tone in &mut all {
        tone.steady = is_steady(tone, lead, count, sample_rate_hz);
    }
    let best_quality = all.iter().filter(|t| !t.steady).map(Tone::quality).fold(0.0, f64::max);
    let mut kept: Vec<Tone> = all.into_iter().filter(|tone| tone.steady || tone.quality() >= LEAST_QUALITY).collect();
    kept.sort_by(|a, b| b.energy.total_cmp(&a.energy));
    let rings_s = kept.iter().filter(|tone| !tone.steady).map(|tone| tone.usable_s(count)).fold(0.0, f64::max);
    Ring {
        explained: explained(&samples[start..end], parts, &kept),
        tones: kept,
        gap_s: None,
        usable_s: rings_s.min(count as f64 / sample_rate_hz),
        lasts_s: frame.skipped_s + rings_s,
        best_quality,
        swell: swell(&samples[start..end], sample_rate_hz),
        gain_drop_db: gain_drop_db(lead, &parts.rest, sample_rate_hz),
    }
}

/// How far the quietest 50 ms of noise after the blow lie below the quietest before it, in dB (0
/// if there is too little before). The second difference keeps hum and bass out of it; what the
/// model leaves of the ring can only make the noise seem louder.
fn gain_drop_db(lead: &[f64], rest: &[f64], sample_rate_hz: f64) -> f64 {
    let window = (0.05 * sample_rate_hz) as usize;
    let rough = |x: &[f64]| x.windows(3).map(|w| (w[2] - 2.0 * w[1] + w[0]).powi(2)).sum::<f64>();
    let quietest = |x: &[f64]| x.chunks_exact(window).map(rough).fold(f64::INFINITY, f64::min);
    if window < 64 || lead.len() < 2 * window {
        return 0.0;
    }
    let (before, after) = (quietest(lead), quietest(rest));
    // Digital silence before the blow tells nothing, nor does a recording that is only padding after.
    let silence = window as f64 * 1e-12;
    if before > silence && after > silence { (10.0 * (before / after).log10()).max(0.0) } else { 0.0 }
}

fn swell(samples: &[f64], sample_rate_hz: f64) -> f64 {
    let window = (0.05 * sample_rate_hz) as usize;
    let mut parts = samples.chunks_exact(window.max(1)).map(|part| part.iter().map(|x| x * x).sum::<f64>());
    let first = parts.next().unwrap_or(0.0);
    if first > 0.0 { parts.fold(0.0, f64::max) / first } else { 0.0 }
}

/// At most half a second before the blow, without the last 10 ms.
fn lead_start(onset: usize, sample_rate_hz: f64) -> usize {
    onset.saturating_sub((0.5 * sample_rate_hz) as usize)
}

/// Whether the tone was there before the blow about as loud as after it, or does not fall by 2 dB
/// in at least 0.3 s and would take more than 5 s to fall by 1/e (longer than any bar rings).
fn is_steady(tone: &Tone, lead: &[f64], count: usize, sample_rate_hz: f64) -> bool {
    let duration_s = count as f64 / sample_rate_hz;
    if duration_s > 0.3 && tone.decay_s > (duration_s / 0.23).max(5.0) {
        return true;
    }
    let lead = &lead[..lead.len().saturating_sub((0.01 * sample_rate_hz) as usize)];
    // Enough of a lead to tell the tone from the noise: 20 periods and 60 ms.
    if (lead.len() as f64) < sample_rate_hz * (20.0 / tone.hz).max(0.06) {
        return false;
    }
    let turn = Complex::new(0.0, -std::f64::consts::TAU * tone.hz / sample_rate_hz);
    let before = 2.0 * correlate(lead, turn)[0].norm() / lead.len() as f64;
    // Half: a bar that still rings from the blow before has fallen further by the time of the next.
    before > 0.5 * tone.amplitude && tone.decay_s > 0.5 * duration_s
}

/// Part of the energy above the steady noise that ringing tones account for.
fn explained(samples: &[f64], parts: &Parts, kept: &[Tone]) -> f64 {
    let energy = |x: &[f64]| x.iter().map(|v| v * v).sum::<f64>();
    let steady: Vec<Component> = parts
        .fit
        .components
        .iter()
        .filter(|component| component.log_pole.re * (samples.len() as f64) > -0.23)
        .copied()
        .collect();
    let dying = residual(samples, &steady);
    let tail = &parts.rest[parts.rest.len() * 4 / 5..];
    let noise = energy(tail) / tail.len().max(1) as f64 * samples.len() as f64;
    let ringing: f64 = kept.iter().filter(|tone| !tone.steady).map(|tone| tone.energy).sum();
    let total = (energy(&dying) - noise).max(ringing);
    if total > 0.0 { ringing / total } else { 0.0 }
}

/// A steady tone in a take without a blow: the strongest peak's frequency, if any stands out.
pub(crate) fn steady_hz(samples: &[f64], spectra: &Spectra) -> Option<f64> {
    let evidence = crate::search::evidence_limit(samples.len());
    let bank = spectra.bank(samples);
    // Only the longest weights: a hum is narrow.
    let peaks = crate::spectrum::peaks(&bank, 3.0 * evidence, 25.0, 4);
    peaks.first().filter(|peak| peak.decay_s > 0.1).map(|peak| peak.hz)
}
