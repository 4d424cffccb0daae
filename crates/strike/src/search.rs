//! Finds the damped sinusoids of one segment: candidates, band by band, then all together.
//!
//! Each pass looks for peaks in what is left of the sound, splits every peak's band into poles,
//! fits everything again on the raw samples and drops what the evidence does not carry.

use crate::band::extract;
use crate::damped::{Complex, Component};
use crate::esprit::log_poles;
use crate::fit::{Effort, Fit, Limits, fit, residual};
use crate::spectrum::{Bank, Peak, Spectra, peaks};
use std::ops::Range;

/// Most passes, most new peaks per pass and most components altogether: bounds of the work for
/// sounds that are no bars. A struck bar needs two passes and about ten components.
pub(crate) const MOST_PASSES: usize = 3;
const MOST_PEAKS: usize = 8;
const MOST_COMPONENTS: usize = 24;

/// Components whose energy is below this part of the strongest peak's (−60 dB) are not sought.
const FAINTEST: f64 = 1e-6;

/// Lowest frequency listened for: well below bending 1 of the lowest bar (C2, 65 Hz) so that
/// hum and rumble can be told.
const LOWEST_HZ: f64 = 25.0;

/// A segment taken apart.
pub(crate) struct Parts {
    pub fit: Fit,
    /// What the model leaves.
    pub rest: Vec<f64>,
    /// Bank of the rest: the noise as each component sees it.
    pub noise: Bank,
}

/// Fall of the residual energy, in noise variances, that justifies a component: the Bayesian
/// criterion with a frequency counted three times, 5·ln N (Djurić, IEEE Trans. Signal Process.
/// 44 (1996) 1744; from memory).
pub(crate) fn evidence_limit(count: usize) -> f64 {
    5.0 * (count.max(2) as f64).ln()
}

/// Takes a segment apart, `passes` counted from those that `known` has had; `None` if nothing
/// tonal is in it.
pub(crate) fn take_apart(
    samples: &[f64],
    spectra: &Spectra,
    known: Option<Fit>,
    passes: Range<usize>,
) -> Option<Parts> {
    let rate = spectra.sample_rate_hz;
    let limits = Limits::new(samples.len(), rate);
    let mut best = known;
    let mut rest = residual(samples, components(&best));
    let mut faintest = 0.0;
    for pass in passes {
        let mut poles: Vec<Complex> = components(&best).iter().map(|c| c.log_pole).collect();
        let known = poles.len();
        let found = peaks(&spectra.bank(&rest), evidence_limit(samples.len()), LOWEST_HZ, MOST_PEAKS);
        for peak in found {
            faintest = f64::max(faintest, FAINTEST * peak.power);
            if peak.power < faintest {
                break;
            }
            if pass == 0 || !is_shadow(&best, &peak, rate) {
                add_peak(&mut poles, &rest, rate, &peak, pass > 0);
            }
        }
        poles.truncate(MOST_COMPONENTS);
        if poles.len() == known {
            break;
        }
        let Some(fitted) = settle(samples, &poles, limits, spectra) else {
            break;
        };
        rest = residual(samples, &fitted.components);
        best = Some(fitted);
    }
    let found: Vec<Complex> = components(&best).iter().map(|c| c.log_pole).collect();
    let fit = fit(samples, &found, limits, Effort::Fine)?;
    let rest = residual(samples, &fit.components);
    let noise = spectra.bank(&rest);
    Some(Parts { fit, rest, noise })
}

/// Whether what is left beside a component, within 60 cents and with less than a hundredth of its
/// energy, is only that the ring is not quite exponential. It stays in the noise, where it widens
/// the sigma, instead of costing a component.
fn is_shadow(fit: &Option<Fit>, peak: &Peak, sample_rate_hz: f64) -> bool {
    fit.as_ref().is_some_and(|fit| {
        fit.components.iter().zip(&fit.gain).any(|(component, gain)| {
            let away = crate::tones::cents(component.hz(sample_rate_hz), peak.hz);
            away.abs() < 60.0 && 2.0 * peak.power < 0.01 * gain
        })
    })
}

fn components(fit: &Option<Fit>) -> &[Component] {
    fit.as_ref().map_or(&[], |fit| &fit.components)
}

/// Adds the poles of the peak's band, or the peak itself where the band shows none.
fn add_peak(poles: &mut Vec<Complex>, samples: &[f64], sample_rate_hz: f64, peak: &Peak, single: bool) {
    let per_sample = std::f64::consts::TAU / sample_rate_hz;
    let plain = Complex::new(-1.0 / (peak.decay_s * sample_rate_hz), peak.hz * per_sample);
    let mut found = if single { Vec::new() } else { band_poles(samples, plain, sample_rate_hz) };
    if found.is_empty() {
        found.push(plain);
    }
    for pole in found {
        if !poles.iter().any(|known| same(known, &pole)) {
            poles.push(pole);
        }
    }
}

/// Poles within a quarter of their line widths are taken for one: a fit cannot start from both.
fn same(a: &Complex, b: &Complex) -> bool {
    (a.im - b.im).abs() < 0.25 * (a.re.abs() + b.re.abs()) && (a.re / b.re).abs().ln().abs() < 0.5
}

fn band_poles(samples: &[f64], centre: Complex, sample_rate_hz: f64) -> Vec<Complex> {
    // About 30 band samples per decay time, so that the filter's 11 band samples cost a third of
    // it; never wider than a fifth of the frequency on either side.
    let wanted = 30.0 * -centre.re;
    let widest = (centre.im / std::f64::consts::TAU).min(0.25);
    let factor = (1.0 / wanted.min(widest)).ceil().max(2.0) as usize;
    let factor = factor.min((sample_rate_hz / 40.0) as usize).max(2);
    let band = extract(samples, centre.im, factor, 96);
    log_poles(&band)
        .into_iter()
        .filter(|pole| pole.im.abs() < 0.3 * std::f64::consts::TAU && pole.re < 0.01)
        .map(|pole| {
            let scaled = pole / factor as f64;
            Complex::new(scaled.re.min(-1e-9), scaled.im + centre.im)
        })
        .collect()
}

/// Fits, drops the components without evidence, fits again until all that are left carry weight.
fn settle(samples: &[f64], poles: &[Complex], limits: Limits, spectra: &Spectra) -> Option<Fit> {
    let evidence = evidence_limit(samples.len());
    let mut poles = poles.to_vec();
    loop {
        let fitted = fit(samples, &poles, limits, Effort::Rough)?;
        let noise = spectra.bank(&residual(samples, &fitted.components));
        let carries: Vec<bool> = fitted
            .components
            .iter()
            .zip(&fitted.gain)
            .map(|(component, gain)| *gain > evidence * level(&noise, component, spectra.sample_rate_hz))
            .collect();
        if carries.iter().all(|carried| *carried) {
            return Some(fitted);
        }
        poles = fitted
            .components
            .iter()
            .zip(carries)
            .filter_map(|(component, carried)| carried.then_some(component.log_pole))
            .collect();
        if poles.is_empty() {
            return None;
        }
    }
}

/// Noise variance per sample as this component sees it.
pub(crate) fn level(noise: &Bank, component: &Component, sample_rate_hz: f64) -> f64 {
    let rate = component.rate_per_s(sample_rate_hz).max(1e-3);
    noise.level_near(component.hz(sample_rate_hz), 1.0 / rate).max(1e-30)
}
