//! What can be done with a frame: each form posts, says what came of it, and leads back to the page.
use super::bar::{marks_of, not_built};
use super::last_of_frame;
use super::rails_form::{instrument_of, rails_of};
use crate::bench::{Desk, hold};
use crate::error::Refused;
use crate::framing::{Framed, most_moved_mm};
use crate::page::places::record;
use crate::page::routes::refusal_page;
use crate::page::state::PageState;
use crate::report::{self, units};
use axum::extract::rejection::{FormRejection, QueryRejection};
use axum::extract::{Form, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use records::workshop::{Body, FrameBuiltRecord, FramePlanRecord, RailRecord};
use records::{Length, LengthUnit};
use serde::Deserialize;
use std::collections::HashMap;

/// Doubt of a rail measured with a rule: ±1 mm over the whole frame (common practice, no source).
const RULE_SIGMA_MM: f64 = 1.0;

type Fields = HashMap<String, String>;
type Sent = Result<Form<Fields>, FormRejection>;

/// Does what a form asks on a thread of its own, and leads back to its instrument's frame.
async fn act(
    state: PageState,
    sent: Sent,
    work: impl FnOnce(&Desk, &Fields) -> Result<String, Refused> + Send + 'static,
) -> Response {
    let Ok(Form(fields)) = sent else {
        state.set_settled(Err(Refused::new("form_unreadable", "this form could not be read", "open the frame anew")));
        return Redirect::to("/frame").into_response();
    };
    // Only a name of the record's own making goes into an address.
    let id = fields.get("instrument").and_then(|id| id.parse::<records::workshop::Uid>().ok());
    let outcome = state.with_desk(move |state| work(state.desk(), &fields)).await;
    state.set_settled(outcome);
    Redirect::to(&id.map_or("/frame".to_owned(), |id| format!("/frame?instrument={id}"))).into_response()
}

pub(super) fn unit(fields: &Fields) -> LengthUnit {
    if fields.get("unit").is_some_and(|unit| unit == "in") { LengthUnit::Inch } else { LengthUnit::Mm }
}

/// Keeps the wishes.
pub async fn keep_plan(State(state): State<PageState>, sent: Sent) -> Response {
    act(state, sent, |desk, fields| {
        change_plan(desk, fields, |plan| wishes(plan, fields)).map(|()| "how the frame is to be".to_owned())
    })
    .await
}

/// Keeps the rails that were set by hand.
pub async fn keep_rails(State(state): State<PageState>, sent: Sent) -> Response {
    act(state, sent, |desk, fields| {
        let rails = rails_of(fields, LengthUnit::Mm)?;
        if rails.is_empty() {
            return Err(Refused::new("no_rails", "no rail was given", "give both ends of each rail"));
        }
        change_plan(desk, fields, |plan| {
            plan.by_hand = rails;
            Ok(())
        })?;
        Ok("rails set by hand".to_owned())
    })
    .await
}

/// Lets the rails be fitted again.
pub async fn fit_again(State(state): State<PageState>, sent: Sent) -> Response {
    act(state, sent, |desk, fields| {
        change_plan(desk, fields, |plan| {
            plan.by_hand.clear();
            Ok(())
        })?;
        Ok("the rails are fitted to the bars again".to_owned())
    })
    .await
}

/// Enters where the rails of the standing frame are.
pub async fn built(State(state): State<PageState>, sent: Sent) -> Response {
    act(state, sent, |desk, fields| enter_built(desk, fields, rails_of(fields, unit(fields))?)).await
}

/// Enters that a bar was drilled, by the chart or by the marks that were made on it.
pub async fn drilled(State(state): State<PageState>, sent: Sent) -> Response {
    act(state, sent, |desk, fields| {
        let (uid, name) = instrument_of(desk, fields)?;
        let mut workshop = hold(record(desk)?);
        let framed = Framed::of_record(&workshop, uid, &name)?;
        let standing = framed.standing()?.ok_or_else(not_built)?;
        let note = fields.get("note").map_or("", String::as_str);
        let mut chart = framed.holes(&standing)?;
        if let Some(marked) = marks_of(&framed, note, fields)? {
            framed.mark(&mut chart, &[marked])?;
        }
        let (bar, what) = framed.drilled(&chart, note)?;
        let words = report::record::what(&what);
        workshop.write(|step| step.add(bar, what.into(), Timestamp::now()))?;
        Ok(format!("{note}: {words}"))
    })
    .await
}

/// Takes back what was entered last of the frame.
pub async fn undo(State(state): State<PageState>, sent: Sent) -> Response {
    act(state, sent, |desk, fields| {
        let (uid, _) = instrument_of(desk, fields)?;
        let mut workshop = hold(record(desk)?);
        let last = last_of_frame(&workshop, uid)?.ok_or_else(|| {
            Refused::new("nothing_to_undo", "nothing about the frame is left to take back", "look at the frame anew")
        })?;
        workshop.write(|step| step.undo(uid, Some(last.uid), Timestamp::now()))?;
        Ok(format!("taken back: {}", report::record::what(&last.entry.what)))
    })
    .await
}

/// Changes what was said of the frame; refused, as is everything the bars cannot be laid by, before it is kept.
fn change_plan(
    desk: &Desk,
    fields: &Fields,
    change: impl FnOnce(&mut FramePlanRecord) -> Result<(), Refused>,
) -> Result<(), Refused> {
    let (uid, name) = instrument_of(desk, fields)?;
    let mut workshop = hold(record(desk)?);
    let mut framed = Framed::of_record(&workshop, uid, &name)?;
    change(&mut framed.plan)?;
    super::laid(&framed)?;
    workshop.write(|step| step.add(uid, Body::FramePlanned(Box::new(framed.plan)).into(), Timestamp::now()))?;
    Ok(())
}

/// The wishes as the form's fields tell them; one line a field.
fn wishes(plan: &mut FramePlanRecord, fields: &Fields) -> Result<(), Refused> {
    let bare = unit(fields);
    let length = |to: &mut f64, key: &str, what: &str| -> Result<(), Refused> {
        let Some(text) = fields.get(key) else { return Ok(()) };
        *to = Length::parse(text.trim(), bare)
            .map_err(|error| Refused::new("wrong_length", format!("{what}: {error}"), "give a length, such as 12.7"))?
            .mm;
        Ok(())
    };
    let plain = |to: &mut f64, key: &str, what: &str| -> Result<(), Refused> {
        let Some(text) = fields.get(key) else { return Ok(()) };
        *to = text.trim().replace(',', ".").parse().map_err(|_| {
            let shown: String = text.chars().take(40).collect();
            Refused::new(
                "not_a_number",
                format!("{what} is \"{shown}\", which is no number"),
                "give a number, such as 0.5",
            )
        })?;
        Ok(())
    };
    length(&mut plan.gap_mm, "gap", "The gap between bars")?;
    length(&mut plan.overlap_mm, "overlap", "The overlap of the rows")?;
    length(&mut plan.below_top_mm, "below", "The hole's axis below the top")?;
    length(&mut plan.diameter_mm, "diameter", "The drill's diameter")?;
    length(&mut plan.rail_thickness_mm, "rail_thickness", "The thickness of the rails")?;
    length(&mut plan.rail_height_mm, "rail_height", "The height of the rails")?;
    length(&mut plan.end_board_mm, "end_board", "The thickness of the end boards")?;
    length(&mut plan.post_mm, "post", "The diameter of the posts")?;
    length(&mut plan.raise_mm, "raise", "The raise of the accidentals' rails")?;
    plain(&mut plan.outer_share[0], "share_from", "The least share")?;
    plain(&mut plan.outer_share[1], "share_to", "The greatest share")?;
    plain(&mut plan.fairness, "fair", "The weight of fair ends")?;
    // Boxes that are not ticked are not sent.
    plan.symmetric = fields.contains_key("symmetric");
    plan.one_row = fields.contains_key("one_row");
    let bends = fields.get("bend_after").map_or("", String::as_str);
    plan.bend_after =
        bends.split([',', ' ']).map(str::trim).filter(|note| !note.is_empty()).map(ToOwned::to_owned).collect();
    Ok(())
}

fn enter_built(desk: &Desk, fields: &Fields, rails: Vec<RailRecord>) -> Result<String, Refused> {
    let (uid, name) = instrument_of(desk, fields)?;
    let mut workshop = hold(record(desk)?);
    let mut framed = Framed::of_record(&workshop, uid, &name)?;
    let built = FrameBuiltRecord { rails, sigma_mm: RULE_SIGMA_MM };
    framed.built = Some((built.clone(), Timestamp::now()));
    // Rails on which the bars cannot lie are refused before anything is kept.
    let standing = framed.standing()?;
    let moved = standing.zip(framed.laid().ok()).and_then(|(standing, laid)| most_moved_mm(&laid, &standing));
    workshop.write(|step| step.add(uid, Body::FrameBuilt(built).into(), Timestamp::now()))?;
    let moved = moved.map_or_else(String::new, |mm| format!(", up to {} mm off the plan", units::plain(mm, 1)));
    Ok(format!("the rails as they stand{moved}"))
}

/// Which end board is wanted.
#[derive(Debug, Deserialize)]
pub struct BoardQuery {
    instrument: String,
    end: String,
}

/// An end board, full size, as a picture.
pub async fn board(State(state): State<PageState>, query: Result<Query<BoardQuery>, QueryRejection>) -> Response {
    let Ok(Query(asked)) = query else {
        let hint = "open it from the frame's page";
        return refusal_page(&Refused::new("not_found", "there is no such end board", hint));
    };
    let drawn = state.with_desk(move |state| {
        let fields = HashMap::from([("instrument".to_owned(), asked.instrument)]);
        let (uid, name) = instrument_of(state.desk(), &fields)?;
        let framed = Framed::of_record(&hold(record(state.desk())?), uid, &name)?;
        let members = super::laid(&framed)?.members;
        report::members::board_picture(&members.end_boards[usize::from(asked.end != "bass")])
    });
    match drawn.await {
        Ok(svg) => ([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}
