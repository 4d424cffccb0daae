//! What moves which mode: every constant of the wood and every simple change of shape.
use super::units;
use crate::convert::rounded;
use crate::error::Refused;
use bar_physics::{Bar, Modes, solid};
use serde_json::{Value, json};

/// The table as JSON: one object a change, `bending` in cents, mode 1 first.
///
/// # Errors
/// [`Refused`] if the wood is impossible after a change.
pub fn to_json(bar: &Bar, modes: &Modes) -> Result<Value, Refused> {
    let rows = solid::sensitivity_table(bar, modes, &modes.bending)?;
    let row = |r: solid::SensitivityRow| {
        let cents: Vec<f64> = r.cents.iter().map(|c| rounded(*c, 3)).collect();
        json!({ "name": r.name, "change": r.change, "bending": cents })
    };
    Ok(rows.into_iter().map(row).collect())
}

/// The table as text.
///
/// # Errors
/// As [`to_json`].
pub fn to_text(bar: &Bar, modes: &Modes) -> Result<String, Refused> {
    let rows = solid::sensitivity_table(bar, modes, &modes.bending)?;
    let mut table = super::table();
    let heads = modes.bending.iter().map(|m| format!("bending {}, cents", m.number));
    table.set_header(std::iter::once("what".to_owned()).chain(["change".to_owned()]).chain(heads));
    for row in rows {
        let cents = row.cents.iter().map(|c| units::plain(*c, 2).replace('-', "−"));
        table.add_row([row.name.to_owned(), row.change.to_owned()].into_iter().chain(cents));
    }
    Ok(format!("What moves what, to first order:\n{}\n", table.trim_fmt()))
}
