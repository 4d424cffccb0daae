//! Why each blank is where it is, and which places have none.
use super::cost::{Costs, Unfit};
use super::{Assignment, Given, Task};

/// The matching with its reasons.
pub(super) fn told(task: &Task, costs: &Costs<'_>, chosen: &[Option<usize>], cost: f64) -> Assignment {
    let given = chosen.iter().enumerate().filter_map(|(place, blank)| {
        let blank = (*blank)?;
        Some(Given { place, blank, reasons: reasons(task, costs, place, blank) })
    });
    let empty = chosen.iter().enumerate().filter(|(_, blank)| blank.is_none());
    let mut spare: Vec<usize> = (0..task.blanks.len()).filter(|blank| !chosen.contains(&Some(*blank))).collect();
    spare.sort_by(|a, b| task.blanks[*b].size_m[0].total_cmp(&task.blanks[*a].size_m[0]));
    Assignment {
        given: given.collect(),
        empty: empty.map(|(place, _)| (place, why_empty(task, costs, place))).collect(),
        spare,
        cost,
    }
}

fn reasons(task: &Task, costs: &Costs<'_>, place: usize, blank: usize) -> Vec<String> {
    let (wanted, own) = (&task.places[place], &task.blanks[blank]);
    let mut out = Vec::new();
    if task.pins.iter().any(|(note, label)| *note == wanted.name && *label == own.label) {
        out.push("pinned".to_owned());
    }
    let over_mm = |i: usize| (own.size_m[i] - wanted.size_m[i]) * 1e3;
    out.push(format!("{:.0} mm of length and {:.1} mm of width to spare", over_mm(0), over_mm(1)));
    if over_mm(2) < -0.05 {
        out.push(format!("{:.1} mm thinner than planned: measure the arch from the top", -over_mm(2)));
    }
    for (what, share) in ["stiffness over density", "ring"].iter().zip(costs.beside(place, blank)) {
        if let Some(share) = share {
            out.push(format!("{what} {:+.0} % beside its neighbours'", 100.0 * share));
        }
    }
    if own.e_over_rho.is_none() {
        out.push("never heard: strike it before it is arched".to_owned());
    }
    out
}

/// How many blanks fail by what, and what would do.
fn why_empty(task: &Task, costs: &Costs<'_>, place: usize) -> String {
    let wanted = &task.places[place];
    let unfit: Vec<Unfit> = (0..task.blanks.len()).filter_map(|blank| costs.unfit(place, blank)).collect();
    if unfit.contains(&Unfit::Damaged) {
        return "the plan's own bar cannot be made: change the plan".to_owned();
    }
    let count = |of: fn(&Unfit) -> bool| unfit.iter().filter(|unfit| of(unfit)).count();
    let short = count(|unfit| matches!(unfit, Unfit::Short { .. }));
    let narrow = count(|unfit| matches!(unfit, Unfit::Narrow { .. }));
    let thin = count(|unfit| matches!(unfit, Unfit::Thin { .. }));
    let soft = count(|unfit| matches!(unfit, Unfit::Centre { .. }));
    let ruled = count(|unfit| matches!(unfit, Unfit::Forbidden));
    let taken = task.blanks.len() - unfit.len();
    let parts = [
        (short, "too short"),
        (narrow, "too narrow"),
        (thin, "too thin"),
        (soft, "of wood that asks for too thin a centre"),
        (ruled, "ruled out"),
        (taken, "needed elsewhere"),
    ];
    let parts: Vec<String> =
        parts.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!("{count} {what}")).collect();
    let have =
        if parts.is_empty() { "there are no blanks".to_owned() } else { format!("of the blanks {}", parts.join(", ")) };
    format!(
        "{have}; possible with one of {:.0} × {:.0} × {:.1} mm or more",
        (wanted.size_m[0] * 1e3).ceil(),
        (wanted.size_m[1] * 1e3).ceil(),
        wanted.size_m[2] * 1e3
    )
}
