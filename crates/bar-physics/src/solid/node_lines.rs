//! Where the top face stands still.
use super::NodeLine;
use super::field::Space;

/// Steps between looks for a change of sign: far finer than any half wave of a low mode.
const LOOKS: usize = 240;

/// Vertical motion along the middle of the top face.
pub(super) fn top_centre(space: &Space, vector: &[f64], grid_m: &[f64]) -> Vec<f64> {
    let point = space.section_point(0.0, 1.0);
    grid_m.iter().map(|x| space.local(vector, &space.length_point(*x), &point).displacement[2]).collect()
}

/// Node lines on the top face, left to right, matched across the width by order.
pub(super) fn on_top_face(space: &Space, vector: &[f64]) -> Vec<NodeLine> {
    let [near, centre, far] = [-1.0, 0.0, 1.0].map(|eta| crossings(space, vector, eta));
    // An edge may lose a crossing on a strongly turned bar: pair each centre node with the nearest.
    let closest = |places: &[f64], x: f64| {
        places.iter().copied().min_by(|a, b| (a - x).abs().total_cmp(&(b - x).abs())).unwrap_or(f64::NAN)
    };
    let paired = near.len() == centre.len() && far.len() == centre.len();
    centre
        .iter()
        .enumerate()
        .map(|(i, &centre_m)| NodeLine {
            near_m: if paired { near[i] } else { closest(&near, centre_m) },
            centre_m,
            far_m: if paired { far[i] } else { closest(&far, centre_m) },
        })
        .collect()
}

fn crossings(space: &Space, vector: &[f64], eta: f64) -> Vec<f64> {
    let point = space.section_point(eta, 1.0);
    let motion = |x_m: f64| space.local(vector, &space.length_point(x_m), &point).displacement[2];
    let step_m = space.mesh.length_m / LOOKS as f64;
    let mut out = Vec::new();
    let mut before = motion(0.0);
    for i in 1..=LOOKS {
        let after = motion(i as f64 * step_m);
        if before * after < 0.0 {
            out.push(bisect(&motion, (i - 1) as f64 * step_m, i as f64 * step_m, before));
        }
        before = after;
    }
    out
}

/// Thirty halvings of 2 mm leave far less than a micrometre.
fn bisect(motion: &impl Fn(f64) -> f64, mut low_m: f64, mut high_m: f64, at_low: f64) -> f64 {
    for _ in 0..30 {
        let middle_m = 0.5 * (low_m + high_m);
        if motion(middle_m) * at_low > 0.0 {
            low_m = middle_m;
        } else {
            high_m = middle_m;
        }
    }
    0.5 * (low_m + high_m)
}
