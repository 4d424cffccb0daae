//! Which further measurement would determine a constant: every choice is tried on the linearised posterior.
use super::observe::{self, Row, SIZES, Slopes};
use super::outcome::{Observed, Quantity};
use super::solve::{Fit, posterior};
use super::state::COUNT;
use super::{EstimateError, KnownBar};
use crate::units::CENTS_PER_RELATIVE_OMEGA_SQUARED as CENTS;
use crate::{ModeKind, Modes};
use nalgebra::{DMatrix, DVector};

/// What a reading yet to come is taken to be worth, cents: an ordinary reading of a blank on foam.
const FUTURE_READING_CENTS: f64 = 2.0;
/// What a weighing yet to come is taken to be worth, kg: a kitchen scale.
const FUTURE_MASS_KG: f64 = 0.001;

/// A measurement that could still be made.
pub(super) struct Candidate {
    pub observed: Observed,
    row: Row,
    variance: f64,
}

impl Candidate {
    fn how(&self) -> &'static str {
        match self.observed {
            Observed::Mass => "weigh the bar",
            Observed::Pitch { kind: ModeKind::Torsion, number: 1 } => "strike a corner and hear torsion 1",
            Observed::Pitch { kind: ModeKind::Torsion, .. } => "strike a corner and hear torsion 2",
            Observed::Pitch { number: 1, .. } => "strike the middle and hear bending 1",
            Observed::Pitch { number: 2, .. } => "strike an end and hear bending 2",
            Observed::Pitch { .. } => "strike the middle or an end and hear bending 3",
        }
    }
}

/// Everything not yet measured, least trouble first.
pub(super) fn candidates(known: &KnownBar, fit: &Fit, modes: &Modes) -> Result<Vec<Candidate>, EstimateError> {
    let bar = observe::bar_at(known, &fit.state);
    let slopes = Slopes::new(&bar)?;
    let mut out = Vec::new();
    if known.mass.is_none() {
        let variance = (CENTS * FUTURE_MASS_KG / modes.mass_kg).powi(2);
        out.push(Candidate { observed: Observed::Mass, row: observe::mass_row(&bar), variance });
    }
    for (kind, most) in [(ModeKind::Bending, 3), (ModeKind::Torsion, 2)] {
        for number in 1..=most {
            let observed = Observed::Pitch { kind, number };
            if let Some(mode) = observe::mode(modes, observed).filter(|_| !fit.comparison.what.contains(&observed)) {
                let row = slopes.of(modes, mode);
                let variance = FUTURE_READING_CENTS.powi(2) + observe::model_variance(known, kind, &row);
                out.push(Candidate { observed, row, variance });
            }
        }
    }
    Ok(out)
}

/// The least further work that would determine `quantity`, as a sentence.
pub(super) fn sentence(known: &KnownBar, quantity: Quantity, fit: &Fit, candidates: &[Candidate]) -> String {
    let symbol = quantity.symbol();
    let sizes = observe::size_variances(known);
    if let Some(chosen) = least(quantity, fit, candidates, &sizes) {
        let steps: Vec<&str> = chosen.iter().map(|c| c.how()).collect();
        return format!("{} to learn {symbol}", steps.join(", "));
    }
    if let Some(chosen) = least(quantity, fit, candidates, &DVector::zeros(SIZES)) {
        let then: String = chosen.iter().map(|c| format!(", {}", c.how())).collect();
        return format!("measure length, width and thickness more closely{then} to learn {symbol}");
    }
    format!("no weight or pitch of this shape tells enough of {symbol}; it stays as believed beforehand")
}

/// The smallest set of candidates that determines `quantity`; of equal sets the one with least trouble.
fn least<'a>(
    quantity: Quantity,
    fit: &Fit,
    candidates: &'a [Candidate],
    sizes: &DVector<f64>,
) -> Option<Vec<&'a Candidate>> {
    // At most six candidates: 64 sets of small matrices.
    let mut sets: Vec<u32> = (0..1_u32 << candidates.len()).collect();
    sets.sort_by_key(|set| (set.count_ones(), *set));
    sets.into_iter()
        .map(|set| candidates.iter().enumerate().filter(|(i, _)| set >> i & 1 == 1).map(|(_, c)| c).collect::<Vec<_>>())
        .find(|chosen| quantity.is_determined(&fit.prior, &with(fit, chosen, sizes)))
}

/// Posterior covariance after these measurements too, with these variances of the sizes.
fn with(fit: &Fit, chosen: &[&Candidate], sizes: &DVector<f64>) -> DMatrix<f64> {
    let had = &fit.comparison;
    let (n, m) = (had.what.len(), had.what.len() + chosen.len());
    let slopes = DMatrix::from_fn(m, COUNT, |i, j| if i < n { had.slopes[(i, j)] } else { chosen[i - n].row.state[j] });
    let size_slopes =
        DMatrix::from_fn(m, SIZES, |i, j| if i < n { had.size_slopes[(i, j)] } else { chosen[i - n].row.sizes[j] });
    let own = DVector::from_fn(m, |i, _| if i < n { had.own_variance[i] } else { chosen[i - n].variance });
    let noise = &size_slopes * DMatrix::from_diagonal(sizes) * size_slopes.transpose() + DMatrix::from_diagonal(&own);
    posterior(&fit.prior, &slopes, &noise)
}
