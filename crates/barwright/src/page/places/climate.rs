//! The climate: what bars read today, the air entered by hand, another hall, a bar that is warm.
use super::settings::number;
use super::{House, record};
use crate::bench::hold;
use crate::climate::{InstrumentToday, KnownClimate, enter_air};
use crate::error::Refused;
use crate::page::html::climate_page;
use crate::page::routes::refusal_page;
use crate::page::state::PageState;
use axum::extract::rejection::{FormRejection, QueryRejection};
use axum::extract::{Form, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use jiff::Timestamp;
use making::climate::{Air, Cooling, Hall, hall};
use making::tubes::Bank;
use serde::Deserialize;

/// What the page shows.
#[derive(Debug, Clone)]
pub struct ClimateView {
    /// The workshop.
    pub house: House,
    /// What is known.
    pub known: KnownClimate,
    /// Instruments and what their bars read.
    pub instruments: Vec<InstrumentToday>,
    /// The questions as they were asked.
    pub asked: ClimateQuery,
    /// Another hall, if it was asked about.
    pub hall: Option<Result<Hall, Refused>>,
    /// Seconds to wait for a warm bar, if that was asked.
    pub wait_s: Option<Result<f64, Refused>>,
    /// What came of the last thing done.
    pub settled: Option<Result<String, Refused>>,
}

/// Questions behind the address.
#[derive(Debug, Clone, Default, Deserialize)]
pub struct ClimateQuery {
    /// Where an instrument is right, °C.
    #[serde(default)]
    pub right_c: String,
    /// … and %.
    #[serde(default)]
    pub right_pct: String,
    /// Where it is played, °C.
    #[serde(default)]
    pub there_c: String,
    /// … and %.
    #[serde(default)]
    pub there_pct: String,
    /// How much warmer a bar is, °C.
    #[serde(default)]
    pub warmer: String,
    /// How thick it is, mm.
    #[serde(default)]
    pub thickness: String,
}

fn air(temperature: &str, humidity: &str) -> Result<Option<Air>, Refused> {
    let Some(temperature_c) = number("the temperature", temperature, "°C", 0.0..=45.0)? else { return Ok(None) };
    let humidity_percent = number("the humidity", humidity, "%", 0.0..=95.0)?;
    Ok(Some(Air { temperature_c, humidity_percent }))
}

impl ClimateView {
    fn of(state: &PageState, asked: ClimateQuery) -> Result<Self, Refused> {
        let house = House::of(state.desk())?;
        let (known, instruments) = {
            let workshop = hold(record(state.desk())?);
            let known = KnownClimate::of(&workshop)?;
            let instruments = known.instruments(&workshop)?;
            (known, instruments)
        };
        let hall = another_hall(&known, &instruments, &asked).transpose();
        let wait_s = wait(&known, &asked).transpose();
        Ok(Self { house, known, instruments, asked, hall, wait_s, settled: state.settled() })
    }
}

fn another_hall(
    known: &KnownClimate,
    instruments: &[InstrumentToday],
    asked: &ClimateQuery,
) -> Result<Option<Hall>, Refused> {
    let Some(there) = air(&asked.there_c, &asked.there_pct)? else { return Ok(None) };
    let of_order = instruments.first().map(|one| one.reference);
    let reference = air(&asked.right_c, &asked.right_pct)?.or(of_order).ok_or_else(|| {
        Refused::new("no_reference", "it is not said where the instrument is right", "give its temperature")
    })?;
    Ok(Some(hall(&known.coefficients, (reference, there), (&Bank::default(), &[]))?))
}

fn wait(known: &KnownClimate, asked: &ClimateQuery) -> Result<Option<f64>, Refused> {
    let Some(warmer) = number("how much warmer the bar is", &asked.warmer, "°C", 0.0..=60.0)? else { return Ok(None) };
    let thickness = number("the thickness", &asked.thickness, "mm", 3.0..=80.0)?.unwrap_or(18.0);
    let cooling = Cooling::of_bar(thickness * 1e-3, DENSITY)?;
    Ok(Some(cooling.wait_s(warmer, known.coefficients.per_c, WITHIN_CENTS)?))
}

/// A dense bar wood's, in kg/m³.
const DENSITY: f64 = 950.0;
/// Cents that a bar may still rise when it is judged.
pub const WITHIN_CENTS: f64 = 0.5;

/// The page.
pub async fn page(State(state): State<PageState>, query: Result<Query<ClimateQuery>, QueryRejection>) -> Response {
    let asked = query.map(|Query(asked)| asked).unwrap_or_default();
    match state.with_desk(move |state| ClimateView::of(state, asked)).await {
        Ok(view) => Html(climate_page(&view).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

/// The air as it is now.
#[derive(Debug, Deserialize)]
pub struct AirForm {
    temperature: String,
    humidity: String,
}

/// Enters the air.
pub async fn enter(State(state): State<PageState>, form: Result<Form<AirForm>, FormRejection>) -> Response {
    let outcome = match form {
        Ok(Form(form)) => {
            state
                .with_desk(move |state| {
                    let air = air(&form.temperature, &form.humidity)?.ok_or_else(|| {
                        Refused::new("not_a_number", "the temperature was left empty", "give it in °C, such as 21.5")
                    })?;
                    enter_air(&mut hold(record(state.desk())?), &[(Timestamp::now(), air)])?;
                    Ok(format!("the air: {}", crate::report::climate::air_words(air)))
                })
                .await
        }
        Err(_) => Err(Refused::new("form_unreadable", "this form could not be read", "open the page anew")),
    };
    state.set_settled(outcome);
    Redirect::to("/climate").into_response()
}
