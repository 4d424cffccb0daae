//! A place where the sound jumps: samples lost, doubled or muted on the way from the microphone.
//!
//! A free ring goes on as it was: amplitudes and phases fitted to one window hold in the next one.
//! Where they do not, all at once and nowhere near, the recording is broken, and a fit across the
//! break reads a wrong pitch with a small sigma. The test compares, in the model's own few
//! dimensions, a window's own fit with what the window before promises, against what neither
//! explains (Chow, Econometrica 28 (1960) 591: a structural break in a regression; from memory).

use crate::damped::{Complex, Component};
use crate::fit::{project_poles, residual};

/// Length of a window; six periods at least, so that the tones of a bar stand apart in it.
const WINDOW_S: f64 = 0.04;
const LEAST_PERIODS: f64 = 6.0;
/// Windows start so many to a window.
const STEPS: usize = 4;
/// Components fainter than this part of the strongest (−30 dB) decide nothing.
const FAINTEST: f64 = 1e-3;
/// Most components of a window.
const MOST: usize = 6;
/// Jump in energy, relative to the window's own, below which a pitch is hardly moved: a phase jump
/// of 0.1 rad shifts a ring of one second by 0.016 Hz.
const LEAST_JUMP: f64 = 0.01;
/// Jump over that of the windows just out of reach before and after: a glide or a beat is there
/// too. In 448 recorded samples of bars, strings, organs and drums (freepats; `scan_patches`) beats
/// reach 12; lost blocks in the tests exceed 20.
const LEAST_CONTRAST: f64 = 15.0;
/// Jump over what neither window explains, as a ratio of mean squares: sustained instruments in
/// the same recordings reach 130, lost blocks 270.
const LEAST_RATIO: f64 = 200.0;

/// How one window follows from the one before it.
#[derive(Debug, Clone, Copy, Default)]
struct Change {
    /// Energy of the difference between what came and what was promised, relative to `tonal`.
    jump: f64,
    /// The same, relative to what is left unexplained, both per degree of freedom.
    ratio: f64,
    /// Energy of the later window's tones.
    tonal: f64,
}

/// The sample up to which the ring goes on as it began, if it breaks later.
///
/// Breaks in the first and last two and a half windows are not seen; the first are heard as a
/// second blow ([`crate::blows`]), the last ones hardly move a pitch.
pub(crate) fn first(samples: &[f64], components: &[Component], sample_rate_hz: f64) -> Option<usize> {
    let poles = distinct(components, samples.len(), sample_rate_hz);
    let lowest = poles.iter().map(|pole| pole.im).fold(f64::INFINITY, f64::min);
    let window = (WINDOW_S * sample_rate_hz).max(LEAST_PERIODS * std::f64::consts::TAU / lowest).ceil();
    if !window.is_finite() || samples.len() < 4 * window as usize {
        return None;
    }
    let (window, step) = (window as usize, window as usize / STEPS);
    let starts = (0..).map(|k| k * step).take_while(|start| start + 2 * window <= samples.len());
    let changes: Vec<Change> = starts
        .map(|start| {
            let (before, after) = samples[start..start + 2 * window].split_at(window);
            change(before, after, &poles).unwrap_or_default()
        })
        .collect();
    // A break is felt by windows that start within a length of it on either side.
    let apart = STEPS + 1;
    (apart..changes.len().saturating_sub(apart))
        .find(|k| {
            let (own, before, after) = (changes[*k], changes[k - apart], changes[k + apart]);
            // Against the energy around it: where a beat is silent for a moment, little can jump.
            let jump = own.jump * own.tonal / own.tonal.max(before.tonal).max(after.tonal);
            let near = before.jump.max(after.jump);
            jump > LEAST_JUMP && own.ratio > LEAST_RATIO && jump > LEAST_CONTRAST * near
        })
        .map(|k| k * step + window)
}

/// The loudest poles that a window can tell apart.
fn distinct(components: &[Component], count: usize, sample_rate_hz: f64) -> Vec<Complex> {
    let mut sorted: Vec<(f64, Complex)> = components.iter().map(|c| (c.energy(count), c.log_pole)).collect();
    sorted.sort_by(|a, b| b.0.total_cmp(&a.0));
    let loudest = sorted.first().map_or(0.0, |(energy, _)| *energy);
    let apart = std::f64::consts::TAU / (WINDOW_S * sample_rate_hz);
    let mut kept: Vec<Complex> = Vec::new();
    for (_, pole) in sorted.iter().filter(|(energy, _)| *energy > FAINTEST * loudest) {
        if kept.len() < MOST && kept.iter().all(|other| (other.im - pole.im).abs() > apart) {
            kept.push(*pole);
        }
    }
    kept
}

fn change(before: &[f64], after: &[f64], poles: &[Complex]) -> Option<Change> {
    let promised: Vec<Component> =
        project_poles(before, poles)?.iter().map(|part| part.shifted(before.len() as f64)).collect();
    let own = project_poles(after, poles)?;
    let energy = |x: &[f64]| x.iter().map(|v| v * v).sum::<f64>();
    let unexplained = energy(&residual(after, &own));
    let difference = (energy(&residual(after, &promised)) - unexplained).max(0.0);
    let tonal = energy(after) - unexplained;
    let free = (2 * poles.len()) as f64;
    Some(Change {
        tonal,
        jump: difference / tonal.max(1e-300),
        ratio: difference / free / (unexplained / (after.len() as f64 - free)).max(1e-300),
    })
}
