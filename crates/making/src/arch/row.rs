//! Arches along a row: neighbouring bars with arches that vary smoothly.
//!
//! Every bar is designed by itself first. Then the shapes of neighbours with equally many tuned modes are
//! averaged, each scaled to the bar in question, and every bar is designed again to stay near its average.
//! The wood of each bar is its own, so the arches differ by what their wood asks for, and by no more.
use super::{Arch, ArchTask, Design, design, traced};
use crate::error::MakingError;
use bar_physics::{Bar, Underside};

/// Neighbours on each side that share in the average.
const REACH: usize = 3;

/// Runs a function over a list, in any order or at once; the results in the order of the list.
///
/// `making` itself knows no threads: the program gives one that uses its cores, [`one_by_one`] uses none.
pub type Runner<'r> = dyn Fn(&[ArchTask], &(dyn Fn(&ArchTask) -> Outcome + Sync)) -> Vec<Outcome> + 'r;

/// What became of one bar.
pub type Outcome = Result<Design, MakingError>;

/// A runner without threads.
pub fn one_by_one(tasks: &[ArchTask], job: &(dyn Fn(&ArchTask) -> Outcome + Sync)) -> Vec<Outcome> {
    tasks.iter().map(job).collect()
}

/// Designs the arches of a row, bass to treble, so that neighbours look alike.
///
/// A bar that cannot be designed keeps its refusal and has no part in the averages.
pub fn design_row(tasks: &[ArchTask], run: &Runner<'_>) -> Vec<Outcome> {
    let alone = run(tasks, &design);
    let near: Vec<ArchTask> =
        (0..tasks.len()).map(|i| ArchTask { follow: average(tasks, &alone, i), ..tasks[i].clone() }).collect();
    let together = run(&near, &design);
    // A bar that cannot follow its neighbours keeps the arch it had alone.
    let better = |(together, alone): (Outcome, Outcome)| match (&together, &alone) {
        (Ok(Design::Found(_)), _) => together,
        (_, Ok(Design::Found(_))) => alone,
        _ => together,
    };
    together.into_iter().zip(alone).map(better).collect()
}

/// The mean of the neighbours' shapes and the bar's own, scaled to it; near ones count more.
fn average(tasks: &[ArchTask], alone: &[Outcome], i: usize) -> Option<Underside> {
    let own = found(&alone[i])?;
    let alike = |j: &usize| tasks[*j].ratios.len() == tasks[i].ratios.len();
    let span = i.saturating_sub(REACH)..=(i + REACH).min(tasks.len() - 1);
    let mut sum: Vec<f64> = vec![0.0; own.underside.x_m().len()];
    let mut total = 0.0;
    for j in span.filter(alike) {
        let Some(arch) = found(&alone[j]) else { continue };
        let bar = Bar { underside: arch.underside.clone(), ..tasks[j].blank.clone() };
        let Some(shape) =
            (if i == j { Some(arch.underside.clone()) } else { traced(&bar, pitch(&tasks[j]), &tasks[i]) })
        else {
            continue;
        };
        // A triangle over the neighbours, as smoothers go.
        let share = 1.0 - i.abs_diff(j) as f64 / (REACH + 1) as f64;
        total += share;
        sum.iter_mut().zip(own.underside.x_m()).for_each(|(s, x)| *s += share * shape.thickness_at(*x));
    }
    let thickness_m = sum.into_iter().map(|s| s / total).collect();
    Underside::new(own.underside.x_m().to_vec(), thickness_m, Vec::new()).ok()
}

/// The aim of mode 1, by which neighbours are scaled.
fn pitch(task: &ArchTask) -> f64 {
    bar_physics::units::shifted(task.note_hz * task.ratios[0], task.headroom_cents[0])
}

fn found(outcome: &Outcome) -> Option<&Arch> {
    match outcome {
        Ok(Design::Found(arch)) => Some(arch),
        _ => None,
    }
}

/// How unevenly a shape varies along the row: for each inner bar the largest distance, in metres, of its
/// thickness from the mean of its two neighbours', at equal shares of the half-length, centre to shoulder.
pub fn unevenness_m(arches: &[&Arch]) -> Vec<f64> {
    let at = |arch: &Arch, share: f64| {
        let half_m = 0.5 * arch.underside.length_m();
        arch.underside.thickness_at(half_m * (1.0 + share))
    };
    let off = |w: &[&Arch], share: f64| (at(w[1], share) - 0.5 * (at(w[0], share) + at(w[2], share))).abs();
    let worst = |w: &[&Arch]| (0..=50).map(|k| off(w, f64::from(k) / 50.0)).fold(0.0, f64::max);
    arches.windows(3).map(worst).collect()
}
