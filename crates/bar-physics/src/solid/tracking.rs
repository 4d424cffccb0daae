//! Which mode of the changed bar is which mode of the old one: follow the shape, not the rank.
use super::types::Mode;

/// Points along, across and through at which shapes are compared: enough for modes up to number 5.
const POINTS: (usize, usize, usize) = (24, 3, 2);

/// Likeness of two shapes, 0…1 (modal assurance criterion, Allemang & Brown 1982), sampled at the same
/// relative places so that bars of different shape and length can be compared.
pub fn likeness(a: &Mode, b: &Mode) -> f64 {
    let (va, vb) = (samples(a), samples(b));
    let dot = |u: &[f64], v: &[f64]| -> f64 { u.iter().zip(v).map(|(x, y)| x * y).sum() };
    let whole = dot(&va, &va) * dot(&vb, &vb);
    if whole > 0.0 { dot(&va, &vb).powi(2) / whole } else { 0.0 }
}

/// For each mode of `before` the index in `after` whose shape is most like it, best pairs first,
/// each used once; `None` if nothing is at least half like it.
pub fn track(before: &[Mode], after: &[Mode]) -> Vec<Option<usize>> {
    let mut pairs: Vec<(f64, usize, usize)> = before
        .iter()
        .enumerate()
        .flat_map(|(i, a)| after.iter().enumerate().map(move |(j, b)| (likeness(a, b), i, j)))
        .filter(|(like, _, _)| *like >= 0.5)
        .collect();
    pairs.sort_by(|p, q| q.0.total_cmp(&p.0));
    let mut out = vec![None; before.len()];
    let mut used = vec![false; after.len()];
    for (_, i, j) in pairs {
        if out[i].is_none() && !used[j] {
            out[i] = Some(j);
            used[j] = true;
        }
    }
    out
}

fn samples(mode: &Mode) -> Vec<f64> {
    let mesh = mode.shape.mesh();
    let (along, across, through) = POINTS;
    let mut out = Vec::with_capacity(along * across * through * 3);
    for i in 0..along {
        let x_m = mesh.length_m * (i as f64 + 0.5) / along as f64;
        for j in 0..across {
            let y_m = mesh.width_m * (j as f64 / (across - 1) as f64 - 0.5);
            for k in 0..through {
                // The top face and, clamped, the underside.
                out.extend(mode.shape.at(x_m, y_m, if k == 0 { 0.0 } else { f64::MAX }));
            }
        }
    }
    out
}
