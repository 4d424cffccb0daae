//! What is asked about a bar of the record: the same answers as from a bar file.
use super::bar::{find, name};
use super::bar_args::{BarArgs, BarCommand};
use crate::cli::answer::{self, Form, Subject};
use crate::cli::args::RescueWanted;
use crate::cli::{arch, modes};
use crate::convert::salted::{self, SaltedBar};
use crate::error::Refused;
use crate::learnt_hand;
use crate::report;
use records::workshop::{BarRow, Body, Workshop};

pub(super) fn answer(
    workshop: &Workshop,
    row: &BarRow,
    args: &BarArgs,
    question: &BarCommand,
    form: Form,
) -> Result<String, Refused> {
    ask(workshop, row, args, question, form).map_err(|refused| match refused.code.as_str() {
        // The words for a bar file would send the maker to a file that is not there.
        "no_note" => Refused::new(
            "no_note",
            format!("{} serves no note yet", name(row)),
            format!("give it one: barwright bar {} give C3 --to INSTRUMENT", row.label),
        ),
        _ => refused,
    })
}

/// A long match: one arm a question.
fn ask(
    workshop: &Workshop,
    row: &BarRow,
    args: &BarArgs,
    question: &BarCommand,
    form: Form,
) -> Result<String, Refused> {
    let bar = subject(workshop, row)?;
    let find = |which: &str| subject(workshop, &find(workshop, which, args.instrument.as_deref())?);
    match question {
        BarCommand::Next { stage } => answer::next(&bar, *stage, form),
        BarCommand::Check => answer::check(&bar, form),
        BarCommand::Modes(wanted) => modes::modes(&bar, wanted, form),
        BarCommand::Arch { row, wanted } => {
            let others = row.iter().map(|which| find(which));
            let bars = std::iter::once(Ok(bar)).chain(others).collect::<Result<Vec<Subject>, Refused>>()?;
            arch::arch(&bars, wanted, &find, form)
        }
        BarCommand::Saw(wanted) => arch::saw(&bar, wanted, form),
        BarCommand::Rescue(wanted) if wanted.holes.is_empty() => {
            arch::rescue(&bar, &RescueWanted { holes: holes_mm(workshop, row)? }, form)
        }
        BarCommand::Rescue(wanted) => arch::rescue(&bar, wanted, form),
        BarCommand::Nodes => nodes(workshop, row, form),
        BarCommand::Face => face(workshop, row, form),
        other => Err(Refused::new("usage", format!("{other:?} is no question"), "see barwright bar --help")),
    }
}

fn nodes(workshop: &Workshop, row: &BarRow, form: Form) -> Result<String, Refused> {
    let (bar, name) = (SaltedBar::of(workshop, row.uid)?, name(row));
    Ok(form.put(|| report::salt::to_json(&bar, &name), || report::salt::to_text(&bar, &name, form.units)))
}

fn face(workshop: &Workshop, row: &BarRow, form: Form) -> Result<String, Refused> {
    let (bar, name) = (SaltedBar::of(workshop, row.uid)?, name(row));
    let (rails, from_bars) = salted::slopes(workshop, row.uid, bar.row)?;
    let advice = bar.faces(rails).ok_or_else(|| {
        Refused::new(
            "no_salt",
            format!("{name} has no salt test that counts"),
            "make one on the blank and enter it: barwright bar LABEL salt --face A --left NEAR:FAR --right NEAR:FAR",
        )
    })?;
    Ok(form.put(
        || report::salt::faces_json(&bar, &name, &advice, from_bars),
        || report::salt::faces_text(&bar, &name, &advice, from_bars),
    ))
}

fn subject(workshop: &Workshop, row: &BarRow) -> Result<Subject, Refused> {
    Ok(Subject { file: learnt_hand::file_of(workshop, row.uid)?, name: name(row) })
}

/// Middles of the cord holes from the left end of the bar as it is now.
fn holes_mm(workshop: &Workshop, row: &BarRow) -> Result<Vec<f64>, Refused> {
    let history = workshop.history(row.uid)?;
    let mut holes = Vec::new();
    for standing in history.standing() {
        match standing.body {
            Body::Drilled(drilled) => {
                holes = drilled.holes.iter().map(|hole| 0.5 * (hole.near_mm + hole.far_mm)).collect();
            }
            // From then on places count from the new left end.
            Body::Trim(trim) => holes.iter_mut().for_each(|x_mm| *x_mm -= trim.left_mm.unwrap_or(0.0)),
            _ => {}
        }
    }
    Ok(holes)
}
