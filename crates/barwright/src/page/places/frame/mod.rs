//! An instrument's frame: rails under the nodes of all bars, what it is made of, the frame as built, the drill chart.
mod bar;
mod forms;
mod rails_form;

pub use bar::{DrillView, MARKS, one_bar};
pub use forms::{board, built, drilled, fit_again, keep_plan, keep_rails, undo};
pub(in crate::page) use rails_form::RAILS;
pub use rails_form::trial;

use super::bars::{Choice, NO_INSTRUMENT};
use super::{House, UnitsShown, record};
use crate::bench::{Desk, hold};
use crate::error::Refused;
use crate::framing::{Framed, most_moved_mm};
use crate::page::html::frame_page;
use crate::page::routes::refusal_page;
use crate::page::state::PageState;
use crate::report;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::response::{Html, IntoResponse, Response};
use jiff::Timestamp;
use making::frame::{DrilledBar, FramePlan, Members};
use records::workshop::{Body, Event, Kind, Named, Uid, Workshop};
use serde::Deserialize;

/// The frame as planned.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// Bars on their rails.
    pub plan: FramePlan,
    /// What it is made of.
    pub members: Members,
    /// Motion at the cords of each row if its rails were fitted, where they are set by hand.
    pub fitted_motion: Vec<f64>,
}

/// The frame that stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Bars on its rails.
    pub plan: FramePlan,
    /// Their holes.
    pub chart: Vec<DrilledBar>,
    /// How far its rails are off those planned at most, in millimetres.
    pub moved_mm: Option<f64>,
    /// When its rails were entered.
    pub since: Timestamp,
}

/// What the page shows.
#[derive(Debug, Clone)]
pub struct FrameView {
    /// The workshop.
    pub house: House,
    /// Every instrument.
    pub instruments: Vec<Choice>,
    /// The one shown.
    pub instrument: Choice,
    /// Its bars, and what was said of the frame; `None` in words if it has none yet.
    pub framed: Result<Framed, Refused>,
    /// As planned.
    pub laid: Result<Laid, Refused>,
    /// As it stands, if that was measured.
    pub standing: Option<Result<Standing, Refused>>,
    /// What would be taken back, in words.
    pub undo: Option<String>,
    /// What came of the last thing done.
    pub settled: Option<Result<String, Refused>>,
}

/// What may stand behind the address.
#[derive(Debug, Default, Deserialize)]
pub struct FrameQuery {
    instrument: Option<String>,
}

impl FrameView {
    /// The frame of the instrument asked for.
    ///
    /// # Errors
    /// [`Refused`] `not_found` without a record or without that instrument; if the record cannot be read.
    pub fn of(desk: &Desk, asked: Option<&str>, settled: Option<Result<String, Refused>>) -> Result<Self, Refused> {
        let house = House::of(desk)?;
        let workshop = hold(record(desk)?);
        let known = workshop.list(Kind::Instrument)?;
        let instruments = known.iter().map(|named| Choice { id: named.uid.to_string(), name: named.name.clone() });
        let instruments: Vec<Choice> = instruments.collect();
        let named = chosen(&known, asked)?;
        let instrument = Choice { id: named.uid.to_string(), name: named.name.clone() };
        let framed = Framed::of_record(&workshop, named.uid, &named.name);
        let laid = framed.clone().and_then(|framed| laid(&framed));
        let standing = framed.as_ref().ok().and_then(|framed| standing(framed, laid.as_ref().ok()).transpose());
        let undo = last_of_frame(&workshop, named.uid)?.map(|event| report::record::what(&event.entry.what));
        Ok(Self { house, instruments, instrument, framed, laid, standing, undo, settled })
    }
}

/// The instrument of that name in the record, else the first one that was not delivered.
pub(super) fn chosen<'a>(known: &'a [Named], asked: Option<&str>) -> Result<&'a Named, Refused> {
    let found = match asked.filter(|asked| *asked != NO_INSTRUMENT) {
        Some(id) => known.iter().find(|named| named.uid.to_string() == id),
        None => known.iter().find(|named| !named.gone).or(known.first()),
    };
    found.ok_or_else(|| {
        let hint = if known.is_empty() {
            "enter what was ordered: barwright instrument add NAME --a4 442"
        } else {
            "choose one from the workshop's list"
        };
        Refused::new("not_found", "there is no such instrument here", hint)
    })
}

pub(super) fn laid(framed: &Framed) -> Result<Laid, Refused> {
    let plan = framed.laid()?;
    let members = framed.members(&plan)?;
    let fitted_motion = if framed.plan.by_hand.is_empty() {
        Vec::new()
    } else {
        let mut fitted = framed.clone();
        fitted.plan.by_hand.clear();
        fitted.laid()?.rows.iter().map(making::frame::RowFit::rms_motion).collect()
    };
    Ok(Laid { plan, members, fitted_motion })
}

fn standing(framed: &Framed, laid: Option<&Laid>) -> Result<Option<Standing>, Refused> {
    let Some((_, since)) = framed.built else { return Ok(None) };
    let Some(plan) = framed.standing()? else { return Ok(None) };
    let chart = framed.holes(&plan)?;
    let moved_mm = laid.and_then(|laid| most_moved_mm(&laid.plan, &plan));
    Ok(Some(Standing { plan, chart, moved_mm, since }))
}

/// The last event of the instrument, if it is about its frame and may be taken back.
fn last_of_frame(workshop: &Workshop, instrument: Uid) -> Result<Option<Event>, Refused> {
    let history = workshop.history(instrument)?;
    let last = history.next_to_undo().cloned();
    Ok(last.filter(|event| matches!(event.entry.what, Body::FramePlanned(_) | Body::FrameBuilt(_))))
}

/// The page.
pub async fn page(
    State(state): State<PageState>,
    UnitsShown(units): UnitsShown,
    query: Result<Query<FrameQuery>, QueryRejection>,
) -> Response {
    let asked = query.map(|query| query.0).unwrap_or_default();
    let view = state.with_desk(move |state| FrameView::of(state.desk(), asked.instrument.as_deref(), state.settled()));
    match view.await {
        Ok(view) => Html(frame_page(&view, units).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}
