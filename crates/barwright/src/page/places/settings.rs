//! The settings: pitch and climate of each instrument, units of this browser, tools, what was learnt of the hand.
use super::{House, UnitsShown, record, workshop::bars_of};
use crate::bench::{Desk, hold};
use crate::error::Refused;
use crate::page::html::settings_page;
use crate::page::routes::refusal_page;
use crate::page::state::{PageState, held};
use crate::report::units;
use axum::extract::rejection::FormRejection;
use axum::extract::{Form, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Redirect, Response};
use jiff::Timestamp;
use records::HandRecord;
use records::workshop::{BarFilter, Body, Climate, ClockRecord, Kind, OrderRecord, Stage, Uid, Workshop};
use serde::Deserialize;

/// The same limits as the command line has.
pub(in crate::page) const A4_HZ: std::ops::RangeInclusive<f64> = 380.0..=480.0;
const TEMPERATURE_C: std::ops::RangeInclusive<f64> = -30.0..=60.0;
const HUMIDITY_PCT: std::ops::RangeInclusive<f64> = 0.0..=100.0;

/// An instrument's pitch and climate.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderLine {
    /// Its name in the record.
    pub id: String,
    /// What was ordered.
    pub order: OrderRecord,
    /// Bars that have their notes at that pitch.
    pub bars: usize,
}

/// A belt, drum or recorder.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolLine {
    /// Its name.
    pub name: String,
    /// Grit of the belt.
    pub grit: Option<u32>,
    /// How far its clock is off.
    pub clock: Option<ClockRecord>,
}

/// What the page shows.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingsView {
    /// The workshop.
    pub house: House,
    /// Instruments that were not delivered.
    pub orders: Vec<OrderLine>,
    /// Tools.
    pub tools: Vec<ToolLine>,
    /// A bar that was never cut, by note and label, and the hand it begins with.
    pub hand: Option<(String, HandRecord)>,
    /// What came of the last change.
    pub settled: Option<Result<String, Refused>>,
}

impl SettingsView {
    /// The settings as they stand.
    ///
    /// # Errors
    /// [`Refused`] `not_found` without a record; if the record cannot be read.
    pub fn of(desk: &Desk, settled: Option<Result<String, Refused>>) -> Result<Self, Refused> {
        let house = House::of(desk)?;
        let (orders, tools, uncut) = {
            let workshop = hold(record(desk)?);
            (orders(&workshop)?, tools(&workshop)?, uncut(&workshop)?)
        };
        // Its bench has followed the earlier bars through all their cuts, and keeps what they taught.
        let hand = match uncut {
            Some((id, name)) => {
                let bench = desk.bench(&id)?;
                let hand = held(&bench).file().record().hand.clone();
                hand.map(|hand| (name, hand))
            }
            None => None,
        };
        Ok(Self { house, orders, tools, hand, settled })
    }
}

fn orders(workshop: &Workshop) -> Result<Vec<OrderLine>, Refused> {
    let known = workshop.list(Kind::Instrument)?.into_iter().filter(|named| !named.gone);
    let line = |named: records::workshop::Named| {
        let order = workshop.order(named.uid)?;
        Ok(OrderLine { id: named.uid.to_string(), order, bars: bars_of(workshop, named.uid)? })
    };
    known.map(line).collect()
}

fn tools(workshop: &Workshop) -> Result<Vec<ToolLine>, Refused> {
    let line = |named: records::workshop::Named| {
        let grit = match &named.body {
            Body::Tool(tool) => tool.grit,
            _ => None,
        };
        Ok(ToolLine { clock: workshop.clock_of(named.uid)?, name: named.name, grit })
    };
    workshop.list(Kind::Tool)?.into_iter().map(line).collect()
}

/// The first bar that was never cut and may be: its name in the record, its note and label.
fn uncut(workshop: &Workshop) -> Result<Option<(String, String)>, Refused> {
    let may_be = [Stage::MeasureBlank, Stage::GiveNote, Stage::Saw, Stage::RoughTune];
    for row in workshop.bars(&BarFilter::default())?.into_iter().filter(|row| may_be.contains(&row.stage)) {
        if workshop.first_cut(row.uid)?.is_none() {
            let name = format!("{}, bar {},", row.note.as_deref().unwrap_or("no note"), row.label);
            return Ok(Some((row.uid.to_string(), name)));
        }
    }
    Ok(None)
}

/// Pitch and climate as the form sends them; empty for what is not said.
#[derive(Debug, Deserialize)]
pub struct OrderForm {
    instrument: String,
    a4: String,
    temperature: String,
    humidity: String,
}

/// Changes what was ordered, if that can still be changed.
fn change(desk: &Desk, form: &OrderForm) -> Result<String, Refused> {
    let (a4_hz, reference) = pitch_and_air(&form.a4, &form.temperature, &form.humidity)?;
    let mut workshop = hold(record(desk)?);
    let uid: Uid = form.instrument.parse().map_err(|_| no_instrument())?;
    let known = workshop.list(Kind::Instrument)?;
    let named = known.iter().find(|named| named.uid == uid).ok_or_else(no_instrument)?;
    let before = workshop.order(uid)?;
    let bars = bars_of(&workshop, uid)?;
    // Both were written by people in decimals: a difference below a thousandth of a hertz is none.
    if (a4_hz - before.a4_hz).abs() > 1e-3 && bars > 0 {
        return Err(pitch_is_fixed(&named.name, before.a4_hz, bars));
    }
    let order = OrderRecord { a4_hz, reference, ..before.clone() };
    if order == before {
        return Ok(format!("{} was so already; nothing was changed", named.name));
    }
    workshop.write(|step| step.add(uid, Body::Order(order).into(), Timestamp::now()))?;
    Ok(format!("{}: A4 = {} Hz, {}", named.name, units::plain(a4_hz, 2), climate_words(reference)))
}

/// A4, and the air in which it is wanted if that was said.
pub(super) fn pitch_and_air(a4: &str, temperature: &str, humidity: &str) -> Result<(f64, Option<Climate>), Refused> {
    let a4_hz = number("A4", a4, "Hz", A4_HZ)?
        .ok_or_else(|| Refused::new("a4_missing", "A4 was left empty", "give it in hertz, such as 442"))?;
    let temperature_c = number("the temperature", temperature, "°C", TEMPERATURE_C)?;
    let humidity_pct = number("the humidity", humidity, "%", HUMIDITY_PCT)?;
    let said = temperature_c.is_some() || humidity_pct.is_some();
    Ok((a4_hz, said.then_some(Climate { temperature_c, humidity_pct })))
}

fn climate_words(air: Option<Climate>) -> String {
    let (temperature_c, humidity_pct) = air.map_or((None, None), |air| (air.temperature_c, air.humidity_pct));
    let temperature = temperature_c.map_or("no temperature named".to_owned(), |c| format!("{} °C", units::plain(c, 1)));
    humidity_pct.map_or(temperature.clone(), |pct| format!("{temperature}, {} % humidity", units::plain(pct, 0)))
}

fn pitch_is_fixed(name: &str, a4_hz: f64, bars: usize) -> Refused {
    let have = if bars == 1 { "1 bar has its note".to_owned() } else { format!("{bars} bars have their notes") };
    Refused::new(
        "pitch_is_fixed",
        format!(
            "{name} stays at A4 = {} Hz: {have} at that pitch, and wood that is off cannot be put back",
            units::plain(a4_hz, 2)
        ),
        "enter a new instrument at the other pitch (barwright instrument add NAME --a4 HZ), then take each bar's note back and \
         give it there: barwright bar LABEL withdraw WHY, barwright bar LABEL give NOTE --to NAME",
    )
}

fn no_instrument() -> Refused {
    Refused::new("not_found", "there is no such instrument here", "open the settings anew")
}

/// A decimal with point or comma; `None` for an empty field.
pub(in crate::page) fn number(
    what: &str,
    text: &str,
    unit: &str,
    range: std::ops::RangeInclusive<f64>,
) -> Result<Option<f64>, Refused> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let limits =
        format!("give a number from {} to {} {unit}", units::plain(*range.start(), 0), units::plain(*range.end(), 0));
    let shown: String = text.chars().take(40).collect();
    match text.replace(',', ".").replace('−', "-").parse::<f64>() {
        Ok(value) if range.contains(&value) => Ok(Some(value)),
        Ok(_) => Err(Refused::new("out_of_range", format!("{what} is {shown} {unit}"), limits)),
        Err(_) => Err(Refused::new("not_a_number", format!("{what} is \"{shown}\", which is no number"), limits)),
    }
}

/// Pitch, climate, units, tools, hand.
pub async fn page(State(state): State<PageState>, UnitsShown(units): UnitsShown) -> Response {
    let view = state.with_desk(move |state| SettingsView::of(state.desk(), state.settled())).await;
    match view {
        Ok(view) => Html(settings_page(&view, units).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

/// Changes an instrument's pitch and climate.
pub async fn order(State(state): State<PageState>, form: Result<Form<OrderForm>, FormRejection>) -> Response {
    let outcome = match form {
        Ok(Form(form)) => state.with_desk(move |state| change(state.desk(), &form)).await,
        Err(_) => Err(Refused::new("form_unreadable", "this form could not be read", "open the settings anew")),
    };
    state.set_settled(outcome);
    Redirect::to("/settings").into_response()
}

/// The units chosen.
#[derive(Debug, Deserialize)]
pub struct UnitsForm {
    units: String,
}

/// Keeps the units in this browser's cookie.
pub async fn units(State(state): State<PageState>, form: Result<Form<UnitsForm>, FormRejection>) -> Response {
    let Some(units) = form.ok().and_then(|form| UnitsShown::named(&form.units)) else {
        state.set_settled(Err(Refused::new("wrong_units", "these are no units", "choose mm, inches or both")));
        return Redirect::to("/settings").into_response();
    };
    state.set_settled(Ok("units of this browser".to_owned()));
    ([(header::SET_COOKIE, UnitsShown::cookie(units))], Redirect::to("/settings")).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_write_them_and_refused_with_their_limits() {
        assert_eq!(number("A4", " 442,5 ", "Hz", A4_HZ).unwrap(), Some(442.5));
        assert_eq!(number("A4", "", "Hz", A4_HZ).unwrap(), None);
        assert_eq!(number("the temperature", "−5", "°C", TEMPERATURE_C).unwrap(), Some(-5.0));
        let refused = number("A4", "4400", "Hz", A4_HZ).unwrap_err();
        assert!(
            refused.code == "out_of_range" && refused.message.contains("4400") && refused.hint.contains("380 to 480")
        );
        for odd in ["NaN", "inf", "a", "4 4 2"] {
            assert!(number("A4", odd, "Hz", A4_HZ).is_err(), "{odd}");
        }
    }
}
