//! Input checks and preparation: what comes in is finite, loud enough and at a useful rate.

use crate::band::decimate;
use crate::refuse;
use crate::types::{Clock, Context, Refusal, Take};

/// Rate that is enough for every mode of a bar; higher rates are brought down to at least this.
const ENOUGH_HZ: f64 = 48_000.0;

/// A quartz is within 100 ppm; beyond this something else is wrong than the clock.
pub(crate) const MOST_OFFSET_PPM: f64 = 1000.0;

/// A take ready to be searched.
pub(crate) struct Ready {
    pub samples: Vec<f64>,
    pub sample_rate_hz: f64,
    /// So many samples of the take make one of these.
    pub factor: usize,
    /// Crests cut off at the same height.
    pub clipped_crests: usize,
}

/// Checks everything that is known before listening.
pub(crate) fn context(context: &Context) -> Result<(), Refusal> {
    let positive = |what: &str, value: f64| {
        if value.is_finite() && value > 0.0 { Ok(()) } else { Err(refuse::bad_expected(what, value)) }
    };
    if let Some(note_hz) = context.note_hz {
        positive("the note's frequency", note_hz)?;
    }
    for mode in &context.expected {
        positive("a predicted frequency", mode.hz)?;
        positive("the sigma of a predicted frequency", mode.sigma_cents)?;
    }
    if let Some(clock) = context.clock {
        let usable = clock.offset_ppm.abs() <= MOST_OFFSET_PPM && (0.0..=MOST_OFFSET_PPM).contains(&clock.sigma_ppm);
        if !usable {
            return Err(refuse::bad_clock(clock.offset_ppm, clock.sigma_ppm));
        }
    }
    Ok(())
}

/// Checks a sample rate.
pub(crate) fn rate(sample_rate_hz: f64) -> Result<(), Refusal> {
    let (low, high) = refuse::RATES_HZ;
    if (low..=high).contains(&sample_rate_hz) { Ok(()) } else { Err(refuse::bad_rate(sample_rate_hz)) }
}

/// Checks one take's numbers. Silence is told apart later: another take may have sound.
pub(crate) fn numbers(index: usize, take: &Take) -> Result<(), Refusal> {
    if take.samples.is_empty() {
        return Err(refuse::empty());
    }
    rate(take.sample_rate_hz)?;
    // Beyond a thousand times full scale is no sound but a misread file.
    let bad = take.samples.iter().position(|x| x.is_nan() || x.abs() > 1e3);
    match bad {
        Some(at) => Err(refuse::not_finite(index, at, take.samples[at])),
        None => Ok(()),
    }
}

/// Removes the mean, corrects the rate and brings the rate down if it is needlessly high.
pub(crate) fn prepare(take: &Take, clock: Option<Clock>) -> Result<Ready, Refusal> {
    let peak = take.samples.iter().fold(0f32, |peak, x| peak.max(x.abs()));
    if f64::from(peak) < refuse::SILENCE {
        return Err(refuse::silence(f64::from(peak)));
    }
    let mean = take.samples.iter().map(|x| f64::from(*x)).sum::<f64>() / take.samples.len() as f64;
    let samples: Vec<f64> = take.samples.iter().map(|x| f64::from(*x) - mean).collect();
    let true_rate_hz = take.sample_rate_hz * (1.0 + 1e-6 * clock.map_or(0.0, |clock| clock.offset_ppm));
    let factor = ((take.sample_rate_hz / ENOUGH_HZ).floor() as usize).max(1);
    Ok(Ready {
        samples: decimate(&samples, factor),
        sample_rate_hz: true_rate_hz / factor as f64,
        factor,
        clipped_crests: clipped_crests(take.samples, peak),
    })
}

/// Crests on which four or more samples in a row stand at the largest value of the take.
///
/// A decaying tone reaches its largest value once; several flat crests at the very same height
/// are a limit of the recorder.
fn clipped_crests(samples: &[f32], peak: f32) -> usize {
    let limit = peak * 0.9999;
    let (mut crests, mut run) = (0, 0);
    for sample in samples {
        run = if sample.abs() >= limit { run + 1 } else { 0 };
        if run == 4 {
            crests += 1;
        }
    }
    crests
}
