//! What an entry taught: the belief before it against the belief after it, in words.
use super::{Belief, slot};
use crate::basis::Hats;
use crate::{Event, Learnt};
use nalgebra::DVector;

/// A change smaller than this share of the doubt before it is not worth a word.
const NOTICED_SIGMAS: f64 = 0.25;
/// … nor one smaller than these: relative for wood, relative for the hand, metres, cents.
const NOTICED_WOOD: f64 = 0.005;
const NOTICED_HAND: f64 = 0.02;
const NOTICED_THICKNESS_M: f64 = 0.05e-3;
const NOTICED_MODEL_CENTS: f64 = 3.0;
/// A doubt that falls below this share of what it was is told even if the value stays.
const SHARPENED: f64 = 0.5;
/// Most sentences for one entry.
const MOST_LINES: usize = 3;

/// Wood and hand, as logarithms: place in the state, name, least change told.
const QUANTITIES: [(usize, &str, f64); 5] = [
    (slot::LN_E, "E_L", NOTICED_WOOD),
    (slot::LN_DENSITY, "density", NOTICED_WOOD),
    (slot::LN_G_LH, "G_LH/E_L", NOTICED_WOOD),
    (slot::LN_G_LW, "G_LW/E_L", NOTICED_WOOD),
    (slot::LN_HAND, "hand", NOTICED_HAND),
];

/// A number and its standard uncertainty.
#[derive(Debug, Clone, Copy)]
struct Known {
    mean: f64,
    sigma: f64,
}

/// The parts of a belief that are told about, at one moment.
#[derive(Debug, Clone)]
pub(super) struct Snapshot {
    quantities: [Known; QUANTITIES.len()],
    /// Thickness error, mean over the middle, the left and the right of the arch.
    regions: [Known; 3],
    model_cents: Vec<f64>,
    remarks: usize,
}

impl Snapshot {
    pub fn of(belief: &Belief) -> Self {
        let at = |slot: usize| Known { mean: belief.gaussian.mean[slot], sigma: belief.gaussian.sigma(slot) };
        let model = slot::BENDING_BIAS..slot::TORSION_BIAS;
        Self {
            quantities: QUANTITIES.map(|(slot, ..)| at(slot)),
            regions: regions(&belief.hats).map(|weights| belief.thickness_error(&weights)),
            model_cents: model.map(|i| belief.gaussian.mean[i]).collect(),
            remarks: belief.diary.remarks.len(),
        }
    }
}

/// Weights of the hats over the middle twentieth either side, and over the arch left and right of it.
fn regions(hats: &Hats) -> [DVector<f64>; 3] {
    let share = |i: usize| i as f64 / (hats.nodes - 1) as f64 - 0.5;
    let over = |low: f64, high: f64| {
        let inside = DVector::from_fn(hats.nodes, |i, _| f64::from(u8::from((low..=high).contains(&share(i)))));
        let count = inside.sum().max(1.0);
        inside / count
    };
    [over(-0.05, 0.05), over(-0.30, -0.05), over(0.05, 0.30)]
}

impl Belief {
    /// What the entries of the log taught, oldest first; those that taught nothing are left out.
    pub fn learnt(&self) -> &[Learnt] {
        &self.diary.learnt
    }

    /// Mean thickness error under `weights`, one for each hat, and its σ.
    fn thickness_error(&self, weights: &DVector<f64>) -> Known {
        let (at, n) = (slot::THICKNESS, self.hats.nodes);
        let covariance = self.gaussian.covariance.view((at, at), (n, n));
        let variance = weights.dot(&(covariance * weights));
        Known { mean: self.gaussian.mean.rows(at, n).dot(weights), sigma: variance.max(0.0).sqrt() }
    }

    /// Notes what `event`, just taken, changed against `before`.
    pub(super) fn learn(&mut self, event: &Event, before: &Snapshot) {
        let (kind, what) = match event {
            Event::Heard(_) => ("heard", "This reading"),
            Event::Caliper { .. } => ("caliper", "The caliper"),
            Event::Weighed { .. } => ("weighed", "The mass"),
            // A cut or a new shape is a deed, not a measurement.
            Event::Shaped { .. } | Event::Cut { .. } | Event::Trim { .. } => return,
        };
        let after = Snapshot::of(self);
        let mut lines = Vec::new();
        if after.remarks > before.remarks {
            lines.push(format!("{what} does not fit and counts for little until it comes again."));
        }
        lines.extend(wood(before, &after, what));
        lines.extend(shape(before, &after));
        lines.extend(hand(before, &after));
        lines.extend(model(before, &after));
        if lines.is_empty() {
            lines.push(format!("{what} fits what was expected; nothing moved."));
        }
        lines.truncate(MOST_LINES);
        self.diary.learnt.push(Learnt { entry: self.diary.entries, kind, lines });
    }
}

fn noticed(before: Known, after: Known, least: f64) -> bool {
    let moved = (after.mean - before.mean).abs();
    moved >= least && moved >= NOTICED_SIGMAS * before.sigma
}

/// "This reading moved E_L up 2 % (± 1 %) and density down 1 % (± 0.5 %)."
fn wood(before: &Snapshot, after: &Snapshot, what: &str) -> Option<String> {
    let mut told: Vec<(f64, String)> = Vec::new();
    for (i, (at, name, least)) in QUANTITIES.into_iter().enumerate().filter(|(_, q)| q.0 != slot::LN_HAND) {
        let (was, is) = (before.quantities[i], after.quantities[i]);
        let shear = at == slot::LN_G_LH || at == slot::LN_G_LW;
        let moved = (is.mean - was.mean).exp_m1();
        if noticed(was, is, least) {
            let way = if moved > 0.0 { "up" } else { "down" };
            let text = format!("{name} {way} {} % (± {} %)", percent(moved), percent(is.sigma));
            told.push((moved.abs() / was.sigma, text));
        } else if is.sigma < SHARPENED * was.sigma && !shear {
            told.push((0.0, format!("{name} to ± {} % (before ± {} %)", percent(is.sigma), percent(was.sigma))));
        }
    }
    told.sort_by(|a, b| b.0.total_cmp(&a.0));
    let parts: Vec<String> = told.into_iter().take(2).map(|(_, text)| text).collect();
    (!parts.is_empty()).then(|| format!("{what} moved {}.", parts.join(" and ")))
}

/// "The arch is about 0.3 mm deeper on the left than was believed (± 0.1 mm)."
fn shape(before: &Snapshot, after: &Snapshot) -> Option<String> {
    let moved: Vec<f64> = (0..3).map(|i| after.regions[i].mean - before.regions[i].mean).collect();
    let is_noticed = |i: usize| noticed(before.regions[i], after.regions[i], NOTICED_THICKNESS_M);
    let names = ["in the middle", "on the left", "on the right"];
    let amount =
        |m: f64| format!("{:.1} mm {}", m.abs().max(0.1e-3) * 1e3, if m < 0.0 { "deeper" } else { "shallower" });
    let alike = (moved[1] - moved[2]).abs() < NOTICED_THICKNESS_M;
    let told: Vec<(f64, String, f64)> = if alike && is_noticed(1) && is_noticed(2) {
        let both = 0.5 * (moved[1] + moved[2]);
        let middle = (moved[0] - both).abs() < NOTICED_THICKNESS_M;
        let place = if middle { "all along" } else { "on both sides of the centre" };
        let mut told = vec![(both, place.to_owned(), after.regions[1].sigma)];
        if !middle && is_noticed(0) {
            told.push((moved[0], names[0].to_owned(), after.regions[0].sigma));
        }
        told
    } else {
        (0..3).filter(|i| is_noticed(*i)).map(|i| (moved[i], names[i].to_owned(), after.regions[i].sigma)).collect()
    };
    if told.is_empty() {
        return None;
    }
    let sigma_mm = told.iter().map(|(.., sigma)| *sigma).fold(0.0, f64::max) * 1e3;
    let parts: Vec<String> = told.iter().map(|(m, place, _)| format!("{} {place}", amount(*m))).collect();
    Some(format!("The arch is about {} than was believed (± {:.1} mm).", parts.join(" and "), sigma_mm.max(0.1)))
}

fn hand(before: &Snapshot, after: &Snapshot) -> Option<String> {
    let i = QUANTITIES.iter().position(|q| q.0 == slot::LN_HAND)?;
    let (was, is) = (before.quantities[i], after.quantities[i]);
    let way = if is.mean > was.mean { "more" } else { "less" };
    noticed(was, is, NOTICED_HAND).then(|| {
        format!(
            "Your hand takes {} % {way} than was believed: {:.2} ± {:.2} of the depth asked for.",
            percent((is.mean - was.mean).exp_m1()),
            is.mean.exp(),
            is.mean.exp() * is.sigma
        )
    })
}

/// What is put down to the computation: the largest change of its error in any bending mode.
fn model(before: &Snapshot, after: &Snapshot) -> Option<String> {
    let moved = |i: usize| after.model_cents[i] - before.model_cents[i];
    let largest = (0..after.model_cents.len()).max_by(|a, b| moved(*a).abs().total_cmp(&moved(*b).abs()))?;
    let signed = format!("{:+.0}", moved(largest)).replace('-', "−");
    (moved(largest).abs() >= NOTICED_MODEL_CENTS)
        .then(|| format!("The computed pitch of mode {} is corrected by {signed} cents.", largest + 1))
}

/// A share in per cent, with one decimal below 2 %.
fn percent(share: f64) -> String {
    let percent = 100.0 * share.abs();
    if percent < 1.95 { format!("{percent:.1}") } else { format!("{percent:.0}") }
}
