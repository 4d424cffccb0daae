//! One bar under the drill: its holes by the standing rails, or by the marks that were made on it as it lay on the frame.
use super::forms::unit;
use super::rails_form::{instrument_of, length_mm};
use super::{Choice, standing};
use crate::bench::{Desk, hold};
use crate::error::Refused;
use crate::framing::{Framed, NodeRow, drilling_cents};
use crate::page::html::drill_page;
use crate::page::places::{House, UnitsShown, record};
use crate::page::routes::refusal_page;
use crate::page::state::PageState;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::response::{Html, IntoResponse, Response};
use making::frame::{DrilledBar, NodeLines};
use std::collections::HashMap;

/// The fields of a bar's marks, and what they are called: all are filled, or none.
pub const MARKS: [(&str, &str); 4] = [
    ("player_left", "player's hole, left side"),
    ("player_right", "player's hole, right side"),
    ("far_left", "far hole, left side"),
    ("far_right", "far hole, right side"),
];

type Fields = HashMap<String, String>;

/// What the page of one bar shows.
#[derive(Debug, Clone)]
pub struct DrillView {
    /// The workshop.
    pub house: House,
    /// The instrument.
    pub instrument: Choice,
    /// The bar with its holes: by its marks if they were given and can be.
    pub bar: DrilledBar,
    /// What its end grain says.
    pub label: Option<String>,
    /// Whether it is entered as drilled.
    pub drilled: bool,
    /// Length and width, in millimetres.
    pub size_mm: [f64; 2],
    /// Diameter of the drill, in millimetres.
    pub diameter_mm: f64,
    /// The hole's axis below the top face, in millimetres.
    pub below_top_mm: f64,
    /// Cents by which drilling changes bending 1 to 3, if the bar can be computed.
    pub cents: Option<Vec<f64>>,
    /// The marks as they were written, in the order of [`MARKS`], if the holes are theirs.
    pub marks: Option<[String; 4]>,
    /// How far the marks lie off the rails' cords at most, in millimetres.
    pub marks_off_mm: Option<f64>,
    /// Whether bare numbers are inches.
    pub inches: bool,
    /// Why the marks were not taken.
    pub refused: Option<Refused>,
}

impl DrillView {
    fn of(desk: &Desk, fields: &Fields) -> Result<Self, Refused> {
        let (uid, name) = instrument_of(desk, fields)?;
        let house = House::of(desk)?;
        let workshop = hold(record(desk)?);
        let framed = Framed::of_record(&workshop, uid, &name)?;
        let mut chart = standing(&framed, None)?.ok_or_else(not_built)?.chart;
        let note = fields.get("note").map_or("", String::as_str);
        let marked = marks_of(&framed, note, fields);
        let off = match &marked {
            Ok(Some(row)) => framed.mark(&mut chart, std::slice::from_ref(row)).map(|told| told.first().map(|t| t.1)),
            Ok(None) => Ok(None),
            Err(refused) => Err(refused.clone()),
        };
        let bar = chart.into_iter().find(|bar| bar.name == note).ok_or_else(no_such_bar)?;
        let row = framed.row(&bar.name);
        let of_record = row.and_then(|row| row.of_record.clone());
        let plan = &framed.plan;
        let cents = match &of_record {
            Some((bar_uid, _)) => {
                let file = workshop.bar(*bar_uid)?.file;
                drilling_cents(&file, &bar, plan.below_top_mm * 1e-3, plan.diameter_mm * 1e-3)
            }
            None => None,
        };
        let (marks_off_mm, refused) = off.map_or_else(|why| (None, Some(why)), |off| (off, None));
        Ok(Self {
            house,
            instrument: Choice { id: uid.to_string(), name },
            label: of_record.map(|(_, label)| label),
            drilled: row.is_some_and(|row| row.drilled),
            size_mm: row.map_or([0.0; 2], |row| [row.length_mm, row.width_mm]),
            diameter_mm: plan.diameter_mm,
            below_top_mm: plan.below_top_mm,
            cents,
            marks: marks_off_mm.map(|_| written(fields)),
            marks_off_mm,
            inches: unit(fields) == records::LengthUnit::Inch,
            refused,
            bar,
        })
    }
}

fn no_such_bar() -> Refused {
    Refused::new("no_such_bar", "there is no such bar on this frame", "choose it in the drill chart")
}

/// Said wherever holes are asked for before the frame stands.
pub(super) fn not_built() -> Refused {
    let hint = "measure the rails of the standing frame and enter them first";
    Refused::new("not_built", "the rails of the standing frame are not known", hint)
}

fn written(fields: &Fields) -> [String; 4] {
    MARKS.map(|(key, _)| fields.get(key).map_or_else(String::new, |text| text.trim().to_owned()))
}

/// The bar's marks as its form tells them, from the end that faces the player; `None` if none is filled.
///
/// # Errors
/// [`Refused`] naming the mark that is missing or no length, or a bar that is not on the frame.
pub(super) fn marks_of(framed: &Framed, note: &str, fields: &Fields) -> Result<Option<NodeRow>, Refused> {
    let texts = written(fields);
    if texts.iter().all(String::is_empty) {
        return Ok(None);
    }
    let known = framed.row(note).ok_or_else(no_such_bar)?;
    let hint = "give all four marks, from the end that faces the player";
    let mut marks_m = [0.0; 4];
    for ((mark_m, text), (_, what)) in marks_m.iter_mut().zip(&texts).zip(MARKS) {
        *mark_m = length_mm(text, unit(fields), what, hint)? * 1e-3;
    }
    let [a, b, c, d] = marks_m;
    Ok(Some(NodeRow { nodes: Some(NodeLines { player_m: [a, b], away_m: [c, d] }), ..known.clone() }))
}

/// The page of one bar under the drill.
pub async fn one_bar(
    State(state): State<PageState>,
    UnitsShown(units): UnitsShown,
    query: Result<Query<Fields>, QueryRejection>,
) -> Response {
    let fields = query.map(|query| query.0).unwrap_or_default();
    match state.with_desk(move |state| DrillView::of(state.desk(), &fields)).await {
        Ok(view) => Html(drill_page(&view, units).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}
