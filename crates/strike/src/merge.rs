//! One list of tones from several blows and takes.

use crate::ring::Ring;
use crate::tones::{Tone, cents};

/// A tone heard in one or more blows.
#[derive(Debug, Clone)]
pub(crate) struct Merged {
    pub hz: f64,
    pub sigma_cents: f64,
    pub early_hz: Option<f64>,
    pub late_hz: Option<f64>,
    pub decay_s: f64,
    /// Highest level among the blows, each relative to its own loudest ringing tone.
    pub level_db: f64,
    /// Blow and level there, for every blow it was heard in.
    pub levels: Vec<(usize, f64)>,
    pub steady: bool,
    /// Decay time of the second stage, if most blows show one.
    pub late_decay_s: Option<f64>,
    /// Time after the blow at which the ring ends at once, if it does in any blow.
    pub stopped_s: Option<f64>,
    /// Standard deviation of one blow's reading, from two blows on.
    pub repeat_cents: Option<f64>,
    /// Blows whose reading was too far off to be used, with the distance in cents.
    pub left_out: Vec<(usize, f64)>,
}

impl Merged {
    /// Energy of the ring in dB, for comparisons within one bar.
    pub fn energy_db(&self) -> f64 {
        self.level_db + 10.0 * self.decay_s.max(1e-4).log10()
    }
}

/// A tone with its level in its blow.
struct Entry {
    blow: usize,
    level_db: f64,
    tone: Tone,
}

/// Merges the tones of all blows, lowest frequency first.
pub(crate) fn merge(rings: &[Ring]) -> Vec<Merged> {
    let mut entries: Vec<Entry> = rings.iter().enumerate().flat_map(|(blow, ring)| entries_of(blow, ring)).collect();
    entries.sort_by(|a, b| b.level_db.total_cmp(&a.level_db));
    let mut groups: Vec<Vec<Entry>> = Vec::new();
    for entry in entries {
        let home = groups
            .iter_mut()
            .filter(|group| group.iter().all(|other| other.blow != entry.blow))
            .map(|group| (distance(&group[0], &entry), group))
            .filter(|(excess, _)| *excess < 1.0)
            .min_by(|a, b| a.0.total_cmp(&b.0));
        match home {
            Some((_, group)) => group.push(entry),
            None => groups.push(vec![entry]),
        }
    }
    let mut merged: Vec<Merged> = groups.iter().map(|group| combine(group)).collect();
    merged.sort_by(|a, b| a.hz.total_cmp(&b.hz));
    merged
}

fn entries_of(blow: usize, ring: &Ring) -> Vec<Entry> {
    let ringing = ring.tones.iter().filter(|tone| !tone.steady);
    let loudest = ringing.map(|tone| tone.amplitude).fold(1e-12, f64::max);
    ring.tones
        .iter()
        .map(|tone| Entry { blow, level_db: 20.0 * (tone.amplitude / loudest).max(1e-9).log10(), tone: tone.clone() })
        .collect()
}

/// Distance of two readings relative to what may lie between two blows on the same bar: three
/// standard deviations and 4 cents (a bar cools or is held a little differently; judgement, well
/// below the 12 cents at which a torsion was seen beside bending 1).
fn distance(a: &Entry, b: &Entry) -> f64 {
    let sigma = a.tone.sigma_cents.hypot(b.tone.sigma_cents).min(20.0);
    cents(a.tone.hz, b.tone.hz).abs() / (4.0 + 3.0 * sigma)
}

fn combine(group: &[Entry]) -> Merged {
    let base = group[0].tone.hz;
    let values: Vec<f64> = group.iter().map(|e| cents(base, e.tone.hz)).collect();
    // Below a thousandth of a cent the sample clock decides, not the sound.
    let sigmas: Vec<f64> = group.iter().map(|e| e.tone.sigma_cents.max(1e-3)).collect();
    let kept = keep(&values);
    let pick = |from: &[f64]| -> Vec<f64> { kept.iter().map(|i| from[*i]).collect() };
    let (mean, sigma, _) = weighted_mean(&pick(&values), &pick(&sigmas));
    let two_stage: Vec<f64> = group.iter().filter_map(|e| e.tone.late_decay_s).collect();
    let back = |offset: f64| base * (offset / 1200.0).exp2();
    let middle = |pick: &dyn Fn(&Tone) -> Option<f64>| median(group.iter().filter_map(|e| pick(&e.tone)).collect());
    Merged {
        hz: back(mean),
        sigma_cents: sigma,
        early_hz: middle(&|tone| tone.early_hz),
        late_hz: middle(&|tone| tone.late_hz),
        decay_s: middle(&|tone| Some(tone.decay_s)).unwrap_or(0.0),
        level_db: group.iter().map(|e| e.level_db).fold(f64::NEG_INFINITY, f64::max),
        stopped_s: group.iter().find_map(|e| e.tone.stopped_s),
        levels: group.iter().map(|e| (e.blow, e.level_db)).collect(),
        steady: group.iter().filter(|e| e.tone.steady).count() * 2 > group.len(),
        late_decay_s: if two_stage.len() * 2 > group.len() { median(two_stage) } else { None },
        repeat_cents: deviation(&pick(&values)),
        left_out: (0..values.len()).filter(|i| !kept.contains(i)).map(|i| (group[i].blow, values[i] - mean)).collect(),
    }
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    match n {
        0 => None,
        _ if n % 2 == 1 => Some(values[n / 2]),
        _ => Some(0.5 * (values[n / 2 - 1] + values[n / 2])),
    }
}

/// Mean, its standard deviation, and the standard deviation between the values beyond their own.
///
/// Random-effects mean (DerSimonian & Laird, Controlled Clinical Trials 7 (1986) 177; from
/// memory).
fn weighted_mean(values: &[f64], sigmas: &[f64]) -> (f64, f64, f64) {
    let pairs: Vec<(f64, f64)> = values.iter().copied().zip(sigmas.iter().copied()).collect();
    let weigh = |extra: f64| {
        let weights: Vec<f64> = pairs.iter().map(|(_, s)| 1.0 / (s * s + extra)).collect();
        let sum: f64 = weights.iter().sum();
        let mean = pairs.iter().zip(&weights).map(|((v, _), w)| v * w).sum::<f64>() / sum;
        (mean, weights, sum)
    };
    let (mean, weights, sum) = weigh(0.0);
    let scatter: f64 = pairs.iter().zip(&weights).map(|((v, _), w)| w * (v - mean).powi(2)).sum();
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    let spare = sum - squares / sum;
    let freedom = pairs.len() as f64 - 1.0;
    let extra = if spare > 0.0 { ((scatter - freedom) / spare).max(0.0) } else { 0.0 };
    let (mean, _, sum) = weigh(extra);
    (mean, (1.0 / sum).sqrt(), extra.sqrt())
}

/// Sample standard deviation.
fn deviation(values: &[f64]) -> Option<f64> {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    (values.len() > 1).then(|| (squares / (count - 1.0)).sqrt())
}

/// Values that are used: from four on, those farther from the median than five scaled median
/// deviations (and 1 cent, so that equal values do not make every other an outlier) are left out.
fn keep(values: &[f64]) -> Vec<usize> {
    let all = (0..values.len()).collect();
    if values.len() < 4 {
        return all;
    }
    let Some(middle) = median(values.to_vec()) else {
        return all;
    };
    let deviations = values.iter().map(|v| (v - middle).abs()).collect();
    let scale = 1.4826 * median(deviations).unwrap_or(0.0);
    (0..values.len()).filter(|i| (values[*i] - middle).abs() <= (5.0 * scale).max(1.0)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_readings_shrink_the_sigma() {
        let (mean, sigma, between) = weighted_mean(&[1.0; 4], &[0.2; 4]);
        // Closed form: σ/√4.
        assert!((mean - 1.0).abs() < 1e-12 && (sigma - 0.1).abs() < 1e-12 && between == 0.0);
    }

    #[test]
    fn scattered_readings_widen_it() {
        let (_, sigma, between) = weighted_mean(&[-2.0, 2.0], &[0.1, 0.1]);
        // Equal weights: τ² = s² − σ² with sample variance s² = 8, so σ_mean = √(8/2) = 2.
        assert!((sigma - 2.0).abs() < 1e-9 && (between - (8.0f64 - 0.01).sqrt()).abs() < 1e-9);
    }

    #[test]
    fn one_stray_blow_does_not_move_the_mean() {
        assert_eq!(keep(&[0.0, 0.1, -0.1, 0.05, 9.0]), [0, 1, 2, 3]);
    }
}
