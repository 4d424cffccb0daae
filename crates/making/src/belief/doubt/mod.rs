//! A reading that does not fit what was believed: how badly, and what is probably behind it.
mod misplaced;

use super::Belief;
use super::observe::{Linear, Observed};
use crate::priors;
use bar_physics::{ModeKind, Wanted, units};
use nalgebra::{DMatrix, DVector};

/// A reading that lies too far from its prediction.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Doubt {
    /// What was found and what is probably behind it.
    pub text: String,
    /// Each observation's distance from its prediction, in cents.
    off_cents: Vec<f64>,
    /// The same in σ.
    off_sigmas: Vec<f64>,
}

impl Doubt {
    /// Distances in cents of the observations that are beyond the limit, 0 for the others.
    pub fn beyond(&self) -> Vec<f64> {
        let keep = |(cents, sigmas): (&f64, &f64)| if sigmas.abs() > priors::DOUBT_SIGMAS { *cents } else { 0.0 };
        self.off_cents.iter().zip(&self.off_sigmas).map(keep).collect()
    }

    /// Makes the doubted observations count as if they were exactly at the limit.
    pub fn soften(&self, noise: &mut DMatrix<f64>) {
        for (i, cents) in self.beyond().into_iter().enumerate() {
            noise[(i, i)] += (cents / priors::DOUBT_SIGMAS).powi(2);
        }
    }
}

/// The doubt about a reading, if any observation is more than [`priors::DOUBT_SIGMAS`] off.
pub(super) fn of(
    belief: &Belief,
    observed: &[Observed],
    innovation: &DVector<f64>,
    linear: &Linear,
    noise: &DMatrix<f64>,
) -> Option<Doubt> {
    let covariance = belief.gaussian.projected(&linear.jacobian) + noise;
    let off_cents: Vec<f64> = innovation.iter().copied().collect();
    let off_sigmas: Vec<f64> =
        off_cents.iter().enumerate().map(|(i, off)| off / covariance[(i, i)].max(1e-12).sqrt()).collect();
    let worst = (0..off_sigmas.len()).max_by(|a, b| off_sigmas[*a].abs().total_cmp(&off_sigmas[*b].abs()))?;
    if off_sigmas[worst].abs() <= priors::DOUBT_SIGMAS {
        return None;
    }
    let seen = observed[worst];
    let text = format!(
        "{} mode {} reads {:+.0} cents from what was expected ({:.0} times its uncertainty): {}",
        kind_name(seen.kind),
        seen.number,
        off_cents[worst],
        off_sigmas[worst].abs(),
        culprit(belief, observed, linear, &off_cents, worst)
    );
    Some(Doubt { text, off_cents, off_sigmas })
}

/// The doubt about a cut that was to lower the modes by a good deal and lowered none; `None` for a small cut.
pub(super) fn not_made(innovation: &DVector<f64>) -> Option<Doubt> {
    // Well above what a reading errs by, well below what a band of a tenth of a millimetre does.
    const NOTICED_CENTS: f64 = 15.0;
    let off_cents: Vec<f64> = innovation.iter().copied().collect();
    let largest = off_cents.iter().copied().fold(0.0, f64::max);
    (largest > NOTICED_CENTS).then(|| Doubt {
        text: format!(
            "the bar reads as it did before the last cut, which was to lower it by {largest:.0} cents: probably less wood was taken off than entered, or none, or another bar was struck"
        ),
        // Every mode is doubted, however wide its prediction.
        off_sigmas: off_cents.iter().map(|_| 2.0 * priors::DOUBT_SIGMAS).collect(),
        off_cents,
    })
}

fn kind_name(kind: ModeKind) -> &'static str {
    if kind == ModeKind::Torsion { "torsion" } else { "bending" }
}

/// The likeliest reason for a misfit.
fn culprit(belief: &Belief, observed: &[Observed], linear: &Linear, off_cents: &[f64], worst: usize) -> String {
    let n = off_cents.len() as f64;
    let mean = off_cents.iter().sum::<f64>() / n;
    let spread = (off_cents.iter().map(|c| (c - mean).powi(2)).sum::<f64>() / n).sqrt();
    let all_alike = off_cents.len() > 1 && spread < 0.3 * mean.abs();
    if all_alike && mean.abs() < 25.0 && mean < 0.0 {
        return "all modes are low alike, probably a warm bar (it reads flat): wait 10 minutes and strike again".into();
    }
    if let Some(text) = misplaced::cut(belief, observed, linear, off_cents) {
        return text;
    }
    if off_cents.len() > 1 && off_cents.iter().all(|c| *c < 0.0) {
        return "all modes are low, probably more wood was taken off than entered: check the last cut, or caliper the bar".into();
    }
    if off_cents.len() > 1 && off_cents.iter().all(|c| *c > 0.0) {
        return "all modes are high, probably less wood was taken off than entered: check the last cut, or caliper the bar".into();
    }
    mistaken_for(belief, observed[worst], off_cents[worst])
        .unwrap_or_else(|| "probably a wrong mode, or a cut entered at the wrong place: strike again".into())
}

/// Names another predicted mode that lies where the doubted one was read (within 30 cents).
fn mistaken_for(belief: &Belief, seen: Observed, off_cents: f64) -> Option<String> {
    let modes = belief.modes(Wanted { bending: 4, torsion: 2, sideways: 1 }).ok()?;
    let own = modes.of(seen.kind).get(seen.number - 1)?;
    let read_hz = units::shifted(own.hz, off_cents);
    let all = modes.bending.iter().chain(&modes.torsion).chain(&modes.sideways);
    let near = all
        .filter(|m| (m.kind, m.number) != (seen.kind, seen.number))
        .min_by(|a, b| units::cents(a.hz, read_hz).abs().total_cmp(&units::cents(b.hz, read_hz).abs()))?;
    (units::cents(near.hz, read_hz).abs() < 30.0).then(|| {
        let name = format!("{:?}", near.kind).to_lowercase();
        format!("probably a wrong mode: {name} mode {} is expected at {:.1} Hz, close to it", near.number, near.hz)
    })
}
