//! New things entered on the page: a blank with its sizes, an instrument with its pitch.
use super::settings::{number, pitch_and_air};
use super::{House, UnitsShown, record};
use crate::bench::{Desk, hold};
use crate::error::Refused;
use crate::page::html::blank_page;
use crate::page::routes::refusal_page;
use crate::page::state::PageState;
use crate::report::units::Units;
use axum::extract::rejection::FormRejection;
use axum::extract::{Form, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use jiff::Timestamp;
use records::workshop::{Body, EnteredRecord, Entry, GivenRecord, Kind, OrderRecord, Uid};
use records::{BarFile, Length, LengthUnit};
use serde::Deserialize;
use std::collections::BTreeMap;

/// Grams: from the smallest xylophone bar to a bass bar of the densest wood, with room.
const MASS_G: std::ops::RangeInclusive<f64> = 1.0..=20_000.0;

/// A blank as the form sends it; nothing yet on a fresh page.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
pub struct BlankForm {
    /// Label on its end grain.
    pub label: String,
    /// Length, as written.
    pub length: String,
    /// Width, as written.
    pub width: String,
    /// Thickness, as written.
    pub thickness: String,
    /// Mass in grams; may be empty.
    pub mass: String,
    /// The note it is for; may be empty.
    pub note: String,
    /// The instrument, by its name in the record; may be empty.
    #[serde(default)]
    pub instrument: String,
}

/// What the page shows.
#[derive(Debug, Clone, PartialEq)]
pub struct BlankView {
    /// The workshop.
    pub house: House,
    /// Instruments in work: name in the record, name for people.
    pub instruments: Vec<(String, String)>,
    /// What was filled in.
    pub form: BlankForm,
    /// Why it was not entered.
    pub refused: Option<Refused>,
}

impl BlankView {
    fn of(desk: &Desk, form: BlankForm, refused: Option<Refused>) -> Result<Self, Refused> {
        let house = House::of(desk)?;
        let known = hold(record(desk)?).list(Kind::Instrument)?;
        let instruments =
            known.into_iter().filter(|named| !named.gone).map(|named| (named.uid.to_string(), named.name)).collect();
        Ok(Self { house, instruments, form, refused })
    }
}

/// The empty form.
pub async fn page(State(state): State<PageState>, UnitsShown(units): UnitsShown) -> Response {
    shown(&state, units, BlankForm::default(), None).await
}

async fn shown(state: &PageState, units: Units, form: BlankForm, refused: Option<Refused>) -> Response {
    let view = state.with_desk(move |state| BlankView::of(state.desk(), form, refused)).await;
    match view {
        Ok(view) => Html(blank_page(&view, units).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

/// Enters the blank and puts it on the bench.
pub async fn enter(
    State(state): State<PageState>,
    UnitsShown(units): UnitsShown,
    form: Result<Form<BlankForm>, FormRejection>,
) -> Response {
    let Ok(Form(form)) = form else {
        let refused = Refused::new("form_unreadable", "this form could not be read", "fill it in anew");
        return shown(&state, units, BlankForm::default(), Some(refused)).await;
    };
    let given = form.clone();
    match state.with_desk(move |state| create(state.desk(), &given, units)).await {
        Ok(uid) => Redirect::to(&format!("/bench/{uid}")).into_response(),
        Err(refused) => shown(&state, units, form, Some(refused)).await,
    }
}

fn create(desk: &Desk, form: &BlankForm, units: Units) -> Result<Uid, Refused> {
    let label = form.label.trim().trim_start_matches('#').to_owned();
    if label.is_empty() {
        return Err(Refused::new("no_label", "the blank has no label", "give what stands on its end grain"));
    }
    let bare = if units == Units::Inch { LengthUnit::Inch } else { LengthUnit::Mm };
    let mut entered = BTreeMap::new();
    let mut size = |name: &str, text: &str| -> Result<f64, Refused> {
        let length = Length::parse(text, bare).map_err(|error| {
            Refused::new("wrong_length", format!("{name}: {error}"), "write 470, 470 mm or 18 1/2 in")
        })?;
        entered.insert(format!("{name}_mm"), length.entered);
        Ok(length.mm)
    };
    let sizes_mm = [size("length", &form.length)?, size("width", &form.width)?, size("thickness", &form.thickness)?];
    let bar = BarFile::blank(sizes_mm, number("the mass", &form.mass, "g", MASS_G)?)?.record().clone();
    let mut workshop = hold(record(desk)?);
    let given = given(&workshop, form)?;
    let entered = Entry {
        entered,
        ..Body::Entered(Box::new(EnteredRecord { label, board: None, reference: false, bar })).into()
    };
    let now = Timestamp::now();
    Ok(workshop.write(|step| {
        let bar = step.begin(Kind::Bar, entered, now)?;
        if let Some(given) = given {
            step.add(bar, Body::Given(given).into(), now)?;
        }
        Ok(bar)
    })?)
}

/// The note in the instrument that was chosen; both or neither.
fn given(workshop: &records::workshop::Workshop, form: &BlankForm) -> Result<Option<GivenRecord>, Refused> {
    let (note, instrument) = (form.note.trim(), form.instrument.trim());
    match (note.is_empty(), instrument.is_empty()) {
        (true, _) => Ok(None),
        (false, true) => Err(Refused::new(
            "no_instrument",
            format!("{note} is a note of no instrument"),
            "choose the instrument, or leave the note empty",
        )),
        (false, false) => {
            let unknown = || Refused::new("not_found", "there is no such instrument here", "choose one of the list");
            let uid: Uid = instrument.parse().map_err(|_| unknown())?;
            if workshop.kind_of(uid).map_err(|_| unknown())? != Kind::Instrument {
                return Err(unknown());
            }
            note.parse::<records::Note>()?;
            Ok(Some(GivenRecord { instrument: uid, note: note.to_owned(), a4_hz: workshop.order(uid)?.a4_hz }))
        }
    }
}

/// An instrument as the form sends it.
#[derive(Debug, Deserialize)]
pub struct InstrumentForm {
    name: String,
    a4: String,
    temperature: String,
    humidity: String,
}

/// Enters an instrument; the settings tell what came of it.
pub async fn instrument(State(state): State<PageState>, form: Result<Form<InstrumentForm>, FormRejection>) -> Response {
    let outcome = match form {
        Ok(Form(form)) => state.with_desk(move |state| order(state.desk(), &form)).await,
        Err(_) => Err(Refused::new("form_unreadable", "this form could not be read", "open the settings anew")),
    };
    state.set_settled(outcome);
    Redirect::to("/settings").into_response()
}

fn order(desk: &Desk, form: &InstrumentForm) -> Result<String, Refused> {
    let name = form.name.trim().to_owned();
    if name.is_empty() {
        return Err(Refused::new(
            "no_name",
            "the instrument has no name",
            "any name will do, such as the order's number",
        ));
    }
    let (a4_hz, reference) = pitch_and_air(&form.a4, &form.temperature, &form.humidity)?;
    let told = format!("{name} is entered");
    let order = OrderRecord { name, customer: None, a4_hz, reference, lowest: None, highest: None };
    hold(record(desk)?).write(|step| step.begin(Kind::Instrument, Body::Order(order).into(), Timestamp::now()))?;
    Ok(told)
}
