//! Where in a take the bar was struck.
//!
//! A blow is a sudden rise of short-time energy. Three signals are watched, the take and its
//! first and second differences, because a bass ring or mains hum can hide a blow in the first
//! while the mallet's click stands out in the others.

/// Energies are taken over frames of twice this length, one every hop.
pub(crate) const HOP_S: f64 = 0.0025;
/// A blow rises at least this much above the loudest of the frames before it (9 dB).
pub(crate) const RISE: f64 = 8.0;
/// The frames compared with reach back 20 ms: more than a period of the lowest bar (C2, 65 Hz).
pub(crate) const LOOK_BACK: usize = 8;
/// Frames weaker than this part of the loudest (−40 dB) are no blows.
pub(crate) const FAINTEST: f64 = 1e-4;
/// Rises closer than this belong to one blow (mallet and handle, early reflections).
pub(crate) const ATTACK_S: f64 = 0.03;
/// Two blows closer than this are a bounce of the mallet: only what follows the last is used.
pub(crate) const BOUNCE_S: f64 = 0.15;

/// Blows of a take.
#[derive(Debug, Default)]
pub(crate) struct Blows {
    /// Sample index of each usable blow.
    pub at: Vec<usize>,
    /// Distance in seconds of the closest bounce, if there was one.
    pub bounce_s: Option<f64>,
}

/// Finds the blows.
pub(crate) fn find(samples: &[f64], sample_rate_hz: f64) -> Blows {
    let hop = ((HOP_S * sample_rate_hz).round() as usize).max(4);
    let mut marks: Vec<usize> = Vec::new();
    for order in 0..3 {
        let frames = energies(samples, order, hop);
        marks.extend(rises(&frames).into_iter().map(|frame| refine(samples, order, frame * hop, hop)));
    }
    marks.sort_unstable();
    let mut onsets: Vec<usize> = Vec::new();
    let attack = (ATTACK_S * sample_rate_hz) as usize;
    let mut last = None;
    for at in marks {
        if last.is_none_or(|previous| at > previous + attack) {
            onsets.push(at);
        }
        last = Some(at);
    }
    add_start(&mut onsets, samples, hop, sample_rate_hz);
    let (at, bounce_s) = drop_bounces(&onsets, sample_rate_hz);
    Blows { at, bounce_s }
}

/// Energy of the samples (order 0) or their first or second difference.
fn energy(samples: &[f64], order: usize) -> f64 {
    let sum = |values: &mut dyn Iterator<Item = f64>| values.map(|x| x * x).sum();
    match order {
        0 => sum(&mut samples.iter().copied()),
        1 => sum(&mut samples.windows(2).map(|w| w[1] - w[0])),
        _ => sum(&mut samples.windows(3).map(|w| w[2] - 2.0 * w[1] + w[0])),
    }
}

/// The stretch from `start` to `end` with as many samples before it as the difference needs.
fn stretch(samples: &[f64], order: usize, start: usize, end: usize) -> &[f64] {
    &samples[start.saturating_sub(order)..end.min(samples.len())]
}

/// Energy of frames of two hops, one per hop.
fn energies(samples: &[f64], order: usize, hop: usize) -> Vec<f64> {
    let hops: Vec<f64> = (0..samples.len())
        .step_by(hop)
        .map(|start| energy(stretch(samples, order, start, start + hop), order))
        .collect();
    hops.windows(2).map(|pair| pair[0] + pair[1]).collect()
}

/// Frames that rise above everything shortly before them.
fn rises(frames: &[f64]) -> Vec<usize> {
    let loudest = frames.iter().copied().fold(0.0, f64::max);
    (2..frames.len())
        .filter(|&index| {
            // The frame just before overlaps this one by half.
            let before = &frames[index.saturating_sub(LOOK_BACK + 1)..index - 1];
            let background = before.iter().copied().fold(0.0, f64::max);
            frames[index] > RISE * background && frames[index] > FAINTEST * loudest
        })
        .collect()
}

/// Start of the rise inside a frame, to a fifth of a hop.
pub(crate) fn refine(samples: &[f64], order: usize, start: usize, hop: usize) -> usize {
    let end = (start + 2 * hop).min(samples.len());
    let step = (hop / 5).max(1);
    let parts: Vec<f64> =
        (start..end).step_by(step).map(|from| energy(stretch(samples, order, from, from + step), order)).collect();
    let loudest = parts.iter().copied().fold(0.0, f64::max);
    let first = parts.iter().position(|part| *part > 0.1 * loudest);
    start + first.unwrap_or(0) * step
}

/// A take that begins inside a ring has no visible rise: if its start is loud and dies away, the
/// blow is put at sample 0.
fn add_start(onsets: &mut Vec<usize>, signal: &[f64], hop: usize, sample_rate_hz: f64) {
    let early = (0.05 * sample_rate_hz) as usize;
    let end = onsets.first().copied().unwrap_or(signal.len());
    if end <= early {
        return;
    }
    let mean = |part: &[f64]| part.iter().map(|x| x * x).sum::<f64>() / part.len().max(1) as f64;
    let tail = &signal[end - ((end / 5).max(hop)).min(end)..end];
    let (start_level, tail_level) = (mean(&signal[..early]), mean(tail));
    let loudest = energies(signal, 0, hop).into_iter().fold(0.0, f64::max) / (2 * hop) as f64;
    // 1 dB of fall: a steel bar ringing for 2 s falls more than that in a quarter of a second.
    if start_level > 1.26 * tail_level && start_level > 1e-3 * loudest {
        onsets.insert(0, 0);
    }
}

/// Keeps the last of blows that follow each other too closely.
fn drop_bounces(onsets: &[usize], sample_rate_hz: f64) -> (Vec<usize>, Option<f64>) {
    let mut kept = Vec::new();
    let mut closest: Option<f64> = None;
    for (index, at) in onsets.iter().enumerate() {
        let gap_s = onsets.get(index + 1).map(|next| (next - at) as f64 / sample_rate_hz);
        match gap_s {
            Some(gap) if gap < BOUNCE_S => {
                closest = Some(closest.map_or(gap, |c| c.min(gap)));
            }
            _ => kept.push(*at),
        }
    }
    (kept, closest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::synth::{SynthMode, blow};

    fn bass() -> Vec<SynthMode> {
        vec![
            SynthMode { hz: 65.4, decay_s: 0.9, amplitude: 0.4, phase_rad: 1.0 },
            SynthMode { hz: 262.0, decay_s: 0.3, amplitude: 0.1, phase_rad: 0.0 },
        ]
    }

    /// Dies away before the next take begins, so that the joints make no click.
    fn short() -> Vec<SynthMode> {
        bass().into_iter().map(|mode| SynthMode { decay_s: 0.1, ..mode }).collect()
    }

    fn doubles(samples: Vec<f32>) -> Vec<f64> {
        samples.into_iter().map(f64::from).collect()
    }

    #[test]
    fn a_bass_blow_is_found_once_and_in_place() {
        let take = doubles(blow(&bass(), 44_100.0, 1.0, 0.3, 0.004, 5));
        let found = find(&take, 44_100.0);
        assert_eq!(found.at.len(), 1);
        // A hop is the resolution that is promised.
        assert!((found.at[0] as f64 / 44_100.0 - 0.3).abs() < HOP_S);
    }

    #[test]
    fn a_take_without_lead_starts_at_its_first_sample() {
        let take = doubles(blow(&bass(), 44_100.0, 1.0, 0.0, 0.004, 5));
        let found = find(&take, 44_100.0);
        assert_eq!(found.at.len(), 1);
        assert!(found.at[0] < 200);
    }

    #[test]
    fn three_blows_are_three_and_a_bounce_is_told() {
        let mut take = Vec::new();
        for seed in 0..3 {
            take.extend(doubles(blow(&short(), 44_100.0, 0.8, 0.2, 0.002, seed)));
        }
        assert_eq!(find(&take, 44_100.0).at.len(), 3);
        let second = doubles(blow(&short(), 44_100.0, 1.0, 0.0, 0.0, 9));
        for (slot, extra) in take[8820 + 3528..].iter_mut().zip(second) {
            *slot += 0.7 * extra;
        }
        let found = find(&take, 44_100.0);
        assert_eq!(found.at.len(), 3);
        assert!((found.bounce_s.unwrap() - 0.08).abs() < 2.0 * HOP_S);
    }

    #[test]
    fn steady_noise_has_no_blow() {
        let take = doubles(blow(&[], 44_100.0, 1.0, 0.0, 0.1, 5));
        assert!(find(&take, 44_100.0).at.is_empty());
    }
}
