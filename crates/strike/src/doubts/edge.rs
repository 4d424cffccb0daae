//! Where a band-limited recording ends.

use realfft::RealFftPlanner;

/// Upper edge of a band-limited recording: above it the noise lies 25 dB lower, up to half the
/// sample rate. `None` if the band is open or the edge is above 8 kHz.
pub(crate) fn edge_hz(samples: &[f64], sample_rate_hz: f64) -> Option<f64> {
    const WIDTH_HZ: f64 = 250.0;
    let length = samples.len().min((2.0 * sample_rate_hz) as usize);
    let mut buffer: Vec<f64> = samples[..length]
        .iter()
        .enumerate()
        .map(|(n, x)| x * (std::f64::consts::PI * (n as f64 + 0.5) / length as f64).sin().powi(2))
        .collect();
    buffer.resize(length.next_power_of_two(), 0.0);
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(buffer.len());
    let mut spectrum = plan.make_output_vec();
    plan.process(&mut buffer, &mut spectrum).ok()?;
    let bins = (WIDTH_HZ / sample_rate_hz * buffer.len() as f64) as usize;
    if bins < 4 {
        return None;
    }
    let mut levels: Vec<f64> = spectrum
        .chunks_exact(bins)
        .map(|band| {
            let mut power: Vec<f64> = band.iter().map(|z| z.norm_sqr()).collect();
            let (_, median, _) = power.select_nth_unstable_by(bins / 2, f64::total_cmp);
            10.0 * median.max(1e-30).log10()
        })
        .collect();
    // The last band may straddle half the sample rate.
    levels.pop();
    let top = *levels.last()?;
    // Two bands in a row: a single one may just hold a loud tone.
    let below = 1 + levels.windows(2).rposition(|pair| pair.iter().all(|l| *l > top + 25.0))?;
    let quiet = &levels[below + 1..];
    // A steep edge: within two bands the level is at the upper floor.
    let steep = quiet.iter().skip(2).all(|level| *level < top + 10.0) && quiet.len() > 4;
    let edge = (below + 1) as f64 * WIDTH_HZ;
    (steep && edge < 8000.0).then_some(edge)
}
