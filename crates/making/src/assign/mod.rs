//! Which blank becomes which bar: a least-cost matching of blanks to notes.
//!
//! A blank can become a bar if it is large enough and its wood needs no thinner centre than is allowed. The matching that loses least
//! length and width (so that long blanks are kept for the bass) is found exactly (Kuhn–Munkres); from there blanks are exchanged, with each other
//! and with those left over, as long as that makes loss and unevenness together less: stiffness over density, ring and colour from bar to bar. What
//! is reached is better than every single exchange of it, not proved the best of all.
mod cost;
mod exchange;
mod words;

use crate::error::{MakingError, in_range};
use crate::wood::Blank;
use cost::Costs;
use pathfinding::kuhn_munkres::kuhn_munkres_min;
use pathfinding::matrix::Matrix;

/// A bar that is wanted, and what its arch needs in the plan's own wood.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Its note.
    pub name: String,
    /// Length, width and thickness of the planed blank.
    pub size_m: [f64; 3],
    /// The centre's thickness in the plan's wood; `None` if the plan's bar cannot be made.
    pub centre_m: Option<f64>,
}

/// What is to be matched.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// Bass to treble.
    pub places: Vec<Place>,
    /// The blanks.
    pub blanks: Vec<Blank>,
    /// Stiffness over density of the plan's wood, in m²/s².
    pub plan_e_over_rho: f64,
    /// Thinnest wood anywhere.
    pub min_thickness_m: f64,
    /// (note, label): this blank becomes this bar.
    pub pins: Vec<(String, String)>,
    /// (note, label): not this one.
    pub forbidden: Vec<(String, String)>,
}

/// A blank in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    /// Which of the places.
    pub place: usize,
    /// Which of the blanks.
    pub blank: usize,
    /// Why it is there, and what is left over.
    pub reasons: Vec<String>,
}

/// The matching.
#[derive(Debug, Clone, PartialEq)]
pub struct Assignment {
    /// Bass to treble.
    pub given: Vec<Given>,
    /// Places without a blank, each with what would do.
    pub empty: Vec<(usize, String)>,
    /// Blanks left over, longest first.
    pub spare: Vec<usize>,
    /// The matching's cost, for comparing two answers.
    pub cost: f64,
}

/// Costs become whole numbers of this many parts.
const PARTS: f64 = 1e6;
/// A place left empty costs more than any matching can save.
const EMPTY: f64 = 1e3;

/// Gives blanks to places.
///
/// # Errors
/// `unknown_note`, `unknown_blank` for a pin or a ban that names none, `pinned_twice`, `pin_impossible` with the reason; `out_of_range`.
pub fn assign(task: &Task) -> Result<Assignment, MakingError> {
    let pins = check(task)?;
    let mut costs = Costs::new(task);
    let chosen = exchange::improved(&costs, matched(task, &costs, &pins), &pins, task.blanks.len());
    costs.follow(&chosen);
    let cost = exchange::total(&costs, &chosen);
    Ok(words::told(task, &costs, &chosen, cost))
}

/// The matching of least cost; a pinned blank has only its own place.
fn matched(task: &Task, costs: &Costs<'_>, pins: &[(usize, usize)]) -> Vec<Option<usize>> {
    let (places, blanks) = (task.places.len(), task.blanks.len());
    let part = |cost: f64| (cost * PARTS).round() as i64;
    // Each place has an empty one of its own beside the blanks, so that it may stay without.
    let entry = |(place, column): (usize, usize)| {
        if column >= blanks {
            return if column - blanks == place { part(EMPTY) } else { part(4.0 * EMPTY) };
        }
        let pinned = pins.iter().find(|(pin, blank)| *pin == place || *blank == column);
        match pinned {
            Some(pin) if *pin == (place, column) => 0,
            Some(_) => part(4.0 * EMPTY),
            None => costs.cost(place, column).map_or(part(4.0 * EMPTY), part),
        }
    };
    let matrix = Matrix::from_fn(places, blanks + places, entry);
    let (_, columns) = kuhn_munkres_min(&matrix);
    // What costs more than staying empty is no match.
    columns
        .into_iter()
        .enumerate()
        .map(|(place, column)| (column < blanks && entry((place, column)) < part(EMPTY)).then_some(column))
        .collect()
}

fn check(task: &Task) -> Result<Vec<(usize, usize)>, MakingError> {
    in_range("the number of bars", task.places.len() as f64, 1.0, 200.0, "bars", "give a plan")?;
    in_range(
        "the number of blanks",
        task.blanks.len() as f64,
        0.0,
        2000.0,
        "blanks",
        "leave out what is too small anyway",
    )?;
    in_range("stiffness over density", task.plan_e_over_rho * 1e-6, 1.0, 100.0, "(km/s)²", "check the plan's wood")?;
    for blank in &task.blanks {
        for (what, size_m) in ["length", "width", "thickness"].iter().zip(blank.size_m) {
            let what = format!("the {what} of blank {}", blank.label);
            in_range(&what, size_m * 1e3, 1.0, 3000.0, "mm", "measure the planed blank")?;
        }
        for value in [blank.e_over_rho, blank.quality, blank.tilt_m, blank.density_kg_m3].into_iter().flatten() {
            in_range(
                &format!("a figure of blank {}", blank.label),
                value,
                -1e12,
                1e12,
                "",
                "leave out what is not known",
            )?;
        }
    }
    let named =
        |(note, label): &(String, String)| Ok::<_, MakingError>((place_of(task, note)?, blank_of(task, label)?));
    task.forbidden.iter().try_for_each(|ban| named(ban).map(|_| ()))?;
    let pins: Vec<(usize, usize)> = task.pins.iter().map(named).collect::<Result<_, _>>()?;
    for (i, (place, blank)) in pins.iter().enumerate() {
        if pins[..i].iter().any(|(other, own)| other == place || own == blank) {
            let (note, label) = (&task.places[*place].name, &task.blanks[*blank].label);
            let message = format!("{note} or blank {label} is pinned twice");
            return Err(MakingError::new("pinned_twice", message, "pin each note and each blank once"));
        }
    }
    let costs = Costs::new(task);
    match pins.iter().find_map(|(place, blank)| Some((place, blank, costs.unfit(*place, *blank)?))) {
        Some((place, blank, unfit)) => {
            let (note, label) = (&task.places[*place].name, &task.blanks[*blank].label);
            let message = format!("blank {label} cannot become {note}: {}", unfit.words());
            Err(MakingError::new("pin_impossible", message, "take the pin away, or pin another blank"))
        }
        None => Ok(pins),
    }
}

fn place_of(task: &Task, note: &str) -> Result<usize, MakingError> {
    task.places.iter().position(|place| place.name == note).ok_or_else(|| {
        MakingError::new("unknown_note", format!("the plan has no {note}"), "write the note as the plan does, e.g. C♯3")
    })
}

fn blank_of(task: &Task, label: &str) -> Result<usize, MakingError> {
    task.blanks.iter().position(|blank| blank.label == label).ok_or_else(|| {
        MakingError::new("unknown_blank", format!("there is no blank {label}"), "write its label as the stock does")
    })
}

#[cfg(test)]
mod tests;
