//! Tracing the neighbour: its arch, carried over to this bar's length, thickness, note and wood.
use super::ArchTask;
use bar_physics::{Bar, Underside};

/// The arch of `neighbour`, whose mode 1 sounds at `neighbour_hz`, scaled to the bar of `task`, to start from
/// and to stay near.
///
/// Along the bar it stretches with the length. Its wood at the centre is scaled by what a thin bar's pitch
/// goes with, f ∝ t √(E/ρ) / L² (Euler–Bernoulli); between centre and shoulder the depth is scaled in the
/// same proportion. Left and right are averaged: an arch is drawn the same on both sides.
pub fn traced(neighbour: &Bar, neighbour_hz: f64, task: &ArchTask) -> Option<Underside> {
    let (old, new) = (neighbour, &task.blank);
    let (old_long_m, new_long_m) = (old.length_m(), new.length_m());
    let speed = |bar: &Bar| (bar.wood.e_l_pa / bar.wood.density_kg_m3).sqrt();
    let at = |u_m: f64| {
        let half_m = 0.5 * old_long_m;
        0.5 * (old.underside.thickness_at(half_m - u_m) + old.underside.thickness_at(half_m + u_m))
    };
    let old_thick_m = at(0.5 * old_long_m);
    let (_, new_thick_m) = new.underside.thinnest();
    let aim_hz = bar_physics::units::shifted(task.note_hz * task.ratios[0], task.headroom_cents[0]);
    let pitch = aim_hz / neighbour_hz * (new_long_m / old_long_m).powi(2) * speed(old) / speed(new);
    let centre_m = (at(0.0) * pitch).clamp(task.limits.min_thickness_m, 0.98 * new_thick_m);
    let depth = (new_thick_m - centre_m) / (old_thick_m - at(0.0)).max(1e-4);
    const PIECES: usize = 400;
    let x_m: Vec<f64> = (0..=PIECES).map(|i| new_long_m * i as f64 / PIECES as f64).collect();
    let thickness = |x: &f64| {
        let u_m = (x - 0.5 * new_long_m).abs() * old_long_m / new_long_m;
        (new_thick_m - depth * (old_thick_m - at(u_m))).clamp(task.limits.min_thickness_m, new_thick_m)
    };
    let thickness_m = x_m.iter().map(thickness).collect();
    // Stations of a sound neighbour give a sound shape; otherwise there is nothing to follow.
    Underside::new(x_m, thickness_m, Vec::new()).ok()
}
