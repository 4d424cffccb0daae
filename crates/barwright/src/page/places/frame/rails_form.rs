//! Rails as the page's fields have them: set by hand, tried while they are dragged, or measured on the standing frame.
use super::{Laid, laid};
use crate::bench::{Desk, hold};
use crate::error::Refused;
use crate::framing::Framed;
use crate::page::html::frame_trial;
use crate::page::places::record;
use crate::page::state::PageState;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use records::workshop::{Kind, RailRecord, RailWord, RowWord, Uid};
use records::{Length, LengthUnit};
use std::collections::HashMap;

/// The rails in the order of the fields.
pub(in crate::page) const RAILS: [(RowWord, RailWord, &str); 4] = [
    (RowWord::Natural, RailWord::Player, "natural-player"),
    (RowWord::Natural, RailWord::Far, "natural-far"),
    (RowWord::Accidental, RailWord::Player, "accidental-player"),
    (RowWord::Accidental, RailWord::Far, "accidental-far"),
];
/// Most points of a rail that a form can hold.
const MOST_POINTS: usize = 12;

/// A field's length in millimetres.
///
/// # Errors
/// [`Refused`] saying `what` was left empty or is no length.
pub(super) fn length_mm(written: &str, bare: LengthUnit, what: &str, hint: &str) -> Result<f64, Refused> {
    let why = match Length::parse(written, bare) {
        Ok(length) => return Ok(length.mm),
        Err(_) if written.is_empty() => "it was left empty".to_owned(),
        Err(error) => error.to_string(),
    };
    Err(Refused::new("wrong_length", format!("{what}: {why}"), hint))
}

/// The rails that a form tells: fields `x-RAIL-N` and `y-RAIL-N`; points with both fields empty are left out.
///
/// # Errors
/// [`Refused`] naming the field that is no length, or of which only one of the pair is filled.
pub(super) fn rails_of(fields: &HashMap<String, String>, bare: LengthUnit) -> Result<Vec<RailRecord>, Refused> {
    let mut rails = Vec::new();
    for (row, rail, word) in RAILS {
        let mut points = Vec::new();
        for point in 0..MOST_POINTS {
            let text = |axis: &str| {
                fields
                    .get(&format!("{axis}-{word}-{point}"))
                    .map_or_else(String::new, |text| text.trim().replace('−', "-"))
            };
            let name = RailRecord { row, rail, points: Vec::new() }.name();
            let place = |axis: &str| {
                let what = if axis == "x" { "along" } else { "away" };
                let hint = "give both figures of each place, from one datum";
                length_mm(&text(axis), bare, &format!("{name}, place {}, {what}", point + 1), hint)
            };
            if text("x").is_empty() && text("y").is_empty() {
                continue;
            }
            points.push([place("x")?, place("y")?]);
        }
        if !points.is_empty() {
            points.sort_by(|a, b| a[0].total_cmp(&b[0]));
            rails.push(RailRecord { row, rail, points });
        }
    }
    Ok(rails)
}

/// The instrument that a form is about.
pub(super) fn instrument_of(desk: &Desk, fields: &HashMap<String, String>) -> Result<(Uid, String), Refused> {
    let no_instrument = || Refused::new("not_found", "there is no such instrument here", "open the frame anew");
    let uid: Uid = fields.get("instrument").and_then(|id| id.parse().ok()).ok_or_else(no_instrument)?;
    let known = hold(record(desk)?).list(Kind::Instrument)?;
    let named = known.into_iter().find(|named| named.uid == uid).ok_or_else(no_instrument)?;
    Ok((named.uid, named.name))
}

/// The frame on rails that are only tried; nothing is kept.
fn tried(desk: &Desk, fields: &HashMap<String, String>) -> Result<(Framed, Laid), Refused> {
    let (uid, name) = instrument_of(desk, fields)?;
    let mut framed = Framed::of_record(&hold(record(desk)?), uid, &name)?;
    framed.plan.by_hand = rails_of(fields, LengthUnit::Mm)?;
    let laid = laid(&framed)?;
    Ok((framed, laid))
}

/// What the rails in the fields would do: the living part of the page.
pub async fn trial(State(state): State<PageState>, Query(fields): Query<HashMap<String, String>>) -> Response {
    match state.with_desk(move |state| tried(state.desk(), &fields)).await {
        Ok((framed, laid)) => Html(frame_trial(&framed, &laid).into_string()).into_response(),
        Err(refused) => (StatusCode::UNPROCESSABLE_ENTITY, refused.to_string()).into_response(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fields(pairs: &[(&str, &str)]) -> HashMap<String, String> {
        pairs.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect()
    }

    #[test]
    fn places_are_read_in_both_units_in_any_order_and_half_a_place_is_refused() {
        let given = fields(&[
            ("x-natural-far-0", "90"),
            ("y-natural-far-0", "15 1/8"),
            ("x-natural-far-1", "0 mm"),
            ("y-natural-far-1", "380,5 mm"),
            ("x-natural-far-2", ""),
            ("y-natural-far-2", " "),
        ]);
        let rails = rails_of(&given, LengthUnit::Inch).unwrap();
        // An inch is 25.4 mm exactly.
        assert_eq!(rails.len(), 1);
        assert_eq!(rails[0].points, [[0.0, 380.5], [2286.0, 384.175]]);
        let half = rails_of(&fields(&[("x-natural-far-0", "90")]), LengthUnit::Mm).unwrap_err();
        assert!(
            half.code == "wrong_length" && half.message.contains("The naturals' far rail, place 1, away"),
            "{half:?}"
        );
    }
}
