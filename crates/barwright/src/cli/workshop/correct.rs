//! Corrections: what an entry should have said; what it did say stays in the history.
use super::bar::{around, name, now_stands, said};
use super::bar_args::{BarArgs, BlankCorrection, NewWords};
use super::lists::bare;
use super::values::Values;
use crate::cli::answer::Form;
use crate::error::Refused;
use crate::report;
use jiff::Timestamp;
use records::workshop::{BarRow, Body, CorrectedRecord, EnteredRecord, Kind, ReadingRecord, Uid, Workshop};
use records::{BarFile, HeardRecord};

pub(super) fn correct(
    workshop: &mut Workshop,
    row: &BarRow,
    args: &BarArgs,
    (number, why, to): (usize, Option<&str>, &NewWords),
    form: Form,
) -> Result<String, Refused> {
    let (event, old) = entry(workshop, row, number)?;
    let mut values = Values { bare: bare(form.units), ..Values::default() };
    let new = match (to, &old) {
        (NewWords::New(blank), Body::Entered(entered)) => blank_anew(workshop, entered, blank, &mut values)?,
        (NewWords::New(_), other) => {
            let message = format!("entry {number} is \"{}\", not the blank", report::record::what(other));
            return Err(Refused::new("wrong_kind", message, "see the numbers with `history`"));
        }
        (NewWords::Entry(command), _) => kept_beside(said(workshop, args, command, &mut values)?, &old),
    };
    let (before, after) = (report::record::what(&old), report::record::what(&new));
    let corrected = CorrectedRecord { event, to: Some(new), why: why.map(str::to_owned) };
    let entry = around(workshop, args, Body::Corrected(Box::new(corrected)), values)?;
    workshop.write(|step| step.add(row.uid, entry, Timestamp::now()))?;
    let done =
        format!("{}: entry {number} now says: {after}.\nIt said: {before}. That stays in the history.\n", name(row));
    now_stands(workshop, row.uid, done, form)
}

pub(super) fn strike_out(
    workshop: &mut Workshop,
    row: &BarRow,
    (number, why): (usize, &str),
    form: Form,
) -> Result<String, Refused> {
    let (event, old) = entry(workshop, row, number)?;
    workshop.write(|step| step.correct(row.uid, event, None, Some(why.to_owned()), Timestamp::now()))?;
    let done = format!("Struck out: {}. Its words stay in the history.\n", report::record::what(&old));
    now_stands(workshop, row.uid, done, form)
}

/// The entry of that number, with what holds of it now.
fn entry(workshop: &Workshop, row: &BarRow, number: usize) -> Result<(Uid, Body), Refused> {
    let history = workshop.history(row.uid)?;
    let count = history.events().len();
    let Some(event) = number.checked_sub(1).and_then(|place| history.events().get(place)) else {
        let message = format!("the history has no entry {number}; it has 1 to {count}");
        return Err(Refused::new("not_found", message, "see the numbers with `history`"));
    };
    let standing = history.standing().into_iter().find(|standing| standing.event.uid == event.uid);
    Ok((event.uid, standing.map_or(&event.entry.what, |standing| standing.body).clone()))
}

/// A reading typed anew keeps the sound it came from, and what was not said anew.
fn kept_beside(new: Body, old: &Body) -> Body {
    match (new, old) {
        (Body::Heard(new), Body::Heard(old)) => {
            let heard = HeardRecord {
                sigma_cents: new.heard.sigma_cents.or(old.heard.sigma_cents),
                temperature_c: new.heard.temperature_c.or(old.heard.temperature_c),
                ..new.heard
            };
            Body::Heard(ReadingRecord { heard, ..old.clone() })
        }
        (new, _) => new,
    }
}

/// The blank with what was said anew; checked as a bar file is.
fn blank_anew(
    workshop: &Workshop,
    old: &EnteredRecord,
    said: &BlankCorrection,
    values: &mut Values,
) -> Result<Body, Refused> {
    let mut new = old.clone();
    let mut size = |name: &str, text: &Option<String>, mm: &mut f64| -> Result<(), Refused> {
        if let Some(said_mm) = values.optional_mm(name, text.as_deref())? {
            *mm = said_mm;
        }
        Ok(())
    };
    size("length_mm", &said.length, &mut new.bar.length_mm)?;
    size("width_mm", &said.width, &mut new.bar.width_mm)?;
    size("thickness_mm", &said.thickness, &mut new.bar.thickness_mm)?;
    new.bar.mass_g = said.mass.or(new.bar.mass_g);
    if let Some(label) = &said.label {
        new.label = label.trim_start_matches('#').to_owned();
    }
    if let Some(board) = &said.board {
        new.board = Some(workshop.find(Kind::Board, board)?.uid);
    }
    BarFile::from_record(&new.bar)?;
    Ok(Body::Entered(Box::new(new)))
}
