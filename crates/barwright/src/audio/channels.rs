//! One channel of several.
//!
//! Never a mix: two microphones a hand's width apart hear a mode in opposite phase at some frequency (17 cm between
//! them and the sound along their line: 1 kHz), and the mean then loses just that mode. One channel costs at most
//! 3 dB of noise.

/// A channel with at most so many flat crests counts as not clipped; more may not be chance.
const MOST_FLAT: usize = 2;
/// A channel weaker than this share of the loudest one's level (−20 dB) is no second take of the same sound.
const LEAST_SHARE: f64 = 0.1;

/// The loudest channel, or the loudest that is not clipped if there is one within 20 dB (recorders that keep a
/// softer safety track). Scaled down where floats pass full scale.
pub(super) fn chosen(interleaved: &[f32], channels: usize) -> Vec<f32> {
    let channel = |index: usize| interleaved.iter().skip(index).step_by(channels.max(1)).copied();
    let levels: Vec<f64> = (0..channels).map(|index| level(channel(index))).collect();
    let mut order: Vec<usize> = (0..channels).collect();
    // Stable, so that of equal channels the first is taken.
    order.sort_by(|a, b| levels[*b].total_cmp(&levels[*a]));
    let loudest = order.first().copied().unwrap_or(0);
    let clean = order
        .iter()
        .copied()
        .take_while(|index| levels[*index] >= LEAST_SHARE * levels[loudest])
        .find(|index| channels == 1 || flat_crests(channel(*index)) <= MOST_FLAT);
    let samples: Vec<f32> = channel(clean.unwrap_or(loudest)).collect();
    let peak = samples.iter().fold(1.0f32, |peak, value| peak.max(value.abs()));
    // In double precision: the largest float divided by itself must come out as one.
    samples.into_iter().map(|value| (f64::from(value) / f64::from(peak)) as f32).collect()
}

/// Root mean square about the mean. Squares of the largest floats are finite in double precision.
fn level(samples: impl Iterator<Item = f32>) -> f64 {
    let (mut count, mut sum, mut squares) = (0.0f64, 0.0f64, 0.0f64);
    for value in samples.map(f64::from) {
        count += 1.0;
        sum += value;
        squares += value * value;
    }
    (squares / count.max(1.0) - (sum / count.max(1.0)).powi(2)).max(0.0).sqrt()
}

/// Crests of four or more samples at the channel's largest value: a limit of the recorder.
fn flat_crests(samples: impl Iterator<Item = f32> + Clone) -> usize {
    let limit = 0.9999 * samples.clone().fold(0.0f32, |peak, value| peak.max(value.abs()));
    if limit <= 0.0 {
        return 0;
    }
    let (mut crests, mut run) = (0, 0);
    for value in samples {
        run = if value.abs() >= limit { run + 1 } else { 0 };
        crests += usize::from(run == 4);
    }
    crests
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sine(amplitude: f32, limit: f32) -> impl Fn(usize) -> f32 {
        move |n| (amplitude * (n as f32 * 0.05).sin()).clamp(-limit, limit)
    }

    fn interleaved(parts: &[&dyn Fn(usize) -> f32]) -> Vec<f32> {
        (0..4800).flat_map(|n| parts.iter().map(move |part| part(n))).collect()
    }

    fn peak(samples: &[f32]) -> f32 {
        samples.iter().fold(0.0, |peak, value| peak.max(value.abs()))
    }

    #[test]
    fn the_louder_channel_is_taken_whatever_its_polarity_or_offset() {
        let (loud, soft) = (sine(0.5, 1.0), sine(0.2, 1.0));
        let offset = |n: usize| 0.7 + soft(n);
        let reversed = |n: usize| -loud(n);
        // The loudest sample of the sine, sampled 126 times a period, is within 0.1 % of its amplitude.
        for pair in [[&loud as &dyn Fn(usize) -> f32, &offset], [&offset, &loud], [&reversed, &loud]] {
            assert!((peak(&chosen(&interleaved(&pair), 2)) - 0.5).abs() < 5e-4);
        }
    }

    #[test]
    fn a_safety_track_is_taken_where_the_louder_one_is_clipped() {
        let (clipped, safety, faint) = (sine(2.0, 0.9), sine(0.5, 1.0), sine(0.01, 1.0));
        assert!((peak(&chosen(&interleaved(&[&clipped, &safety]), 2)) - 0.5).abs() < 5e-4);
        // 40 dB down: not the same sound; the clipped one stays.
        assert!((peak(&chosen(&interleaved(&[&clipped, &faint]), 2)) - 0.9).abs() < 1e-6);
    }

    #[test]
    fn numbers_beyond_full_scale_are_brought_down_together() {
        assert_eq!(chosen(&[f32::MAX, f32::MIN], 1), [1.0, -1.0]);
        assert_eq!(chosen(&[4.0, -2.0, 0.0], 1), [1.0, -0.5, 0.0]);
        assert_eq!(chosen(&[0.5, -0.25], 1), [0.5, -0.25]);
    }
}
