//! Invented wood and usual sizes for the virtual bench.
use crate::error::MakingError;
use crate::gaussian::standard_normal;
use bar_physics::{Bar, Grain, Underside, Unevenness, Wood};

/// Note in hertz (A4 = 440), length, width and thickness in millimetres: examples of common sizes,
/// from memory.
const SIZES: [(f64, [f64; 3]); 7] = [
    (65.41, [580.0, 72.0, 24.0]),
    (130.81, [470.0, 62.0, 23.0]),
    (220.0, [390.0, 52.0, 22.0]),
    (261.63, [365.0, 50.0, 22.0]),
    (523.25, [285.0, 44.0, 21.0]),
    (1046.5, [215.0, 41.0, 20.0]),
    (2093.0, [160.0, 40.0, 19.0]),
];

/// Length, width and thickness in metres of a common bar (from memory), interpolated over the logarithm of the note in
/// hertz; C2 to C7, the nearer end's beyond.
pub fn usual_size(note_hz: f64) -> [f64; 3] {
    let i = SIZES.partition_point(|(hz, _)| *hz <= note_hz).clamp(1, SIZES.len() - 1);
    let ((low_hz, low), (high_hz, high)) = (SIZES[i - 1], SIZES[i]);
    let fraction = ((note_hz / low_hz).ln() / (high_hz / low_hz).ln()).clamp(0.0, 1.0);
    [0, 1, 2].map(|k| 1e-3 * (low[k] + fraction * (high[k] - low[k])))
}

/// A blank of invented wood: a dense hardwood, uneven by up to ±4 % in stiffness and ±1.5 % in
/// density along the bar, its grain turned by up to ±3° both ways, its thickness off by 0.1 mm.
pub(super) fn blank(
    random: &mut fastrand::Rng,
    [length_m, width_m, thickness_m]: [f64; 3],
) -> Result<Bar, MakingError> {
    let density_kg_m3 = 940.0 * (0.07 * standard_normal(random)).exp();
    // Specific modulus of bar woods, see the priors; here with a spread of 10 %.
    let e_l_pa = 19.5e6 * density_kg_m3 * (0.10 * standard_normal(random)).exp();
    let mut wood = Wood::generic_hardwood(density_kg_m3, e_l_pa);
    wood.name = "invented hardwood".to_owned();
    for constant in [&mut wood.e_w_pa, &mut wood.e_h_pa, &mut wood.g_lw_pa, &mut wood.g_lh_pa, &mut wood.g_wh_pa] {
        *constant *= (0.15 * standard_normal(random)).exp();
    }
    let mut turn = || 6.0 * random.f64() - 3.0;
    let grain = Grain::from_degrees(turn(), turn());
    let planed = smooth(random, length_m, 0.1e-3);
    let x_m = stations(length_m, 0.01);
    let thickness = x_m.iter().map(|x| thickness_m + planed(*x)).collect();
    let mut bar = Bar::new(width_m, Underside::new(x_m.clone(), thickness, Vec::new())?, wood, grain);
    let (stiffness, density) = (smooth(random, length_m, 0.02), smooth(random, length_m, 0.008));
    bar.unevenness = Unevenness {
        stiffness_factor: x_m.iter().map(|x| 1.0 + stiffness(*x).clamp(-0.04, 0.04)).collect(),
        density_factor: x_m.iter().map(|x| 1.0 + density(*x).clamp(-0.015, 0.015)).collect(),
        x_m,
    };
    Ok(bar)
}

/// Stations about `step_m` apart, both ends included.
pub(super) fn stations(length_m: f64, step_m: f64) -> Vec<f64> {
    let pieces = (length_m / step_m).round().max(8.0) as usize;
    (0..=pieces).map(|i| length_m * i as f64 / pieces as f64).collect()
}

/// A random smooth function along the bar of about this standard deviation: six waves, the shorter
/// the weaker.
pub(super) fn smooth(random: &mut fastrand::Rng, length_m: f64, sigma: f64) -> impl Fn(f64) -> f64 + use<> {
    const WAVES: usize = 6;
    let weight = |k: usize| 1.0 / (1.0 + k as f64 / 2.0);
    let norm: f64 = (1..=WAVES).map(|k| 0.5 * weight(k).powi(2)).sum::<f64>().sqrt();
    let waves: Vec<(f64, f64)> = (1..=WAVES)
        .map(|k| (sigma / norm * weight(k) * standard_normal(random), std::f64::consts::TAU * random.f64()))
        .collect();
    move |x_m| {
        let angle = |i: usize| std::f64::consts::PI * (i + 1) as f64 * x_m / length_m;
        waves.iter().enumerate().map(|(i, (a, phase))| a * (angle(i) + phase).cos()).sum()
    }
}

/// Thinnest wood a maker of this note allows: 6 mm, on the longest bass bars 5 mm (judgement; common practice
/// is 5–6 mm and never less).
pub(super) fn least_thickness_m(note_hz: f64) -> f64 {
    const B2_HZ: f64 = 123.5;
    if note_hz > B2_HZ { 6.0e-3 } else { 5.0e-3 }
}
