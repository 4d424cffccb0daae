//! Where the top face stands still.
use super::NodeLine;
use super::field::{LengthPoint, Space};
use super::section::Parity;

/// Steps between looks for a change of sign: far finer than any half wave of a low mode.
const LOOKS: usize = 240;

/// Vertical motion along the middle of the top face.
pub(super) fn top_centre(space: &Space, vector: &[f64], grid: &[LengthPoint]) -> Vec<f64> {
    let line = space.line(vector, &space.section_point(0.0, 1.0));
    grid.iter().map(|at| line.at(at)).collect()
}

/// Node lines on the top face, left to right.
///
/// Where a line leaves the bar over its end before it reaches an edge, the place given at that edge is
/// its straight continuation from the other edge and the centre; where it reaches neither (high modes of very broad
/// bars), the centre's own.
pub(super) fn on_top_face(space: &Space, vector: &[f64]) -> Vec<NodeLine> {
    let [centre, far] = [0.0, 1.0].map(|eta| crossings(space, vector, eta));
    let near = if space.parity == Parity::Symmetric { far.clone() } else { crossings(space, vector, -1.0) };
    let (near, far) = (aligned(&near, &centre), aligned(&far, &centre));
    centre
        .iter()
        .zip(near.into_iter().zip(far))
        .map(|(&centre_m, (near, far))| NodeLine {
            near_m: near.or(far.map(|f| 2.0 * centre_m - f)).unwrap_or(centre_m),
            centre_m,
            far_m: far.or(near.map(|n| 2.0 * centre_m - n)).unwrap_or(centre_m),
        })
        .collect()
}

/// The edge's crossings in the order of the centre's, shifted so that they lie closest; lost ones are `None`.
fn aligned(edge: &[f64], centre: &[f64]) -> Vec<Option<f64>> {
    let (n, c) = (edge.len() as isize, centre.len() as isize);
    let at = |shift: isize, i: isize| (0..n).contains(&(i - shift)).then(|| edge[(i - shift) as usize]);
    let misfit = |shift: isize| -> f64 {
        let pairs: Vec<f64> = (0..c).filter_map(|i| at(shift, i).map(|e| (e - centre[i as usize]).abs())).collect();
        if pairs.is_empty() { f64::INFINITY } else { pairs.iter().sum::<f64>() / pairs.len() as f64 }
    };
    let best = (-1..=1).min_by(|a, b| misfit(*a).total_cmp(&misfit(*b))).unwrap_or(0);
    (0..c).map(|i| at(best, i)).collect()
}

fn crossings(space: &Space, vector: &[f64], eta: f64) -> Vec<f64> {
    let line = space.line(vector, &space.section_point(eta, 1.0));
    let motion = |x_m: f64| line.at_x(x_m);
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
