//! Climate as text and JSON.
use super::units::{Units, cents_with_sigma, plain, signed};
use crate::climate::{InstrumentToday, KnownClimate};
use crate::convert::rounded;
use bar_physics::woods::climate::Basis;
use making::climate::{Air, Coefficient, Coefficients, Fitted, Hall, Reads, Settled};
use serde_json::{Value, json};
use words::tell;

fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::GenericClearWood => "generic clear wood, Wood Handbook",
        Basis::ReferenceBar => "your reference bars",
    }
}

/// Air in words.
pub fn air_words(air: Air) -> String {
    air_in_words(plain(air.temperature_c, 1), air.humidity_percent)
}

/// A temperature as written, and a humidity where it is known.
pub(super) fn air_in_words(celsius: String, humidity_percent: Option<f64>) -> String {
    match humidity_percent {
        Some(percent) => tell!("air-and-humidity", celsius = celsius, percent = plain(percent, 0)),
        None => tell!("air-alone", celsius = celsius),
    }
}

fn air_json(air: Air) -> Value {
    json!({ "temperature_c": air.temperature_c, "humidity_percent": air.humidity_percent })
}

fn coefficient_json(one: Coefficient) -> Value {
    json!({ "cents": rounded(one.value, 3), "sigma": rounded(one.sigma, 3), "from": basis(one.basis) })
}

/// Coefficients as JSON.
pub fn coefficients_json(all: &Coefficients) -> Value {
    json!({ "per_c": coefficient_json(all.per_c), "per_percent_moisture": coefficient_json(all.per_moisture) })
}

fn pair_json((value, sigma): (f64, f64)) -> Value {
    json!({ "cents": rounded(value, 2), "sigma": rounded(sigma, 2) })
}

/// What bars read, as JSON.
pub fn reads_json(reads: &Reads) -> Value {
    json!({ "soon": pair_json(reads.soon), "settled": reads.settled.map(pair_json) })
}

/// What bars read, in words.
pub fn reads_words(reads: &Reads) -> String {
    let soon = format!("{} cents once it has the room's temperature", cents_with_sigma(reads.soon.0, reads.soon.1));
    match reads.settled {
        Some((value, sigma)) => format!("{soon}, {} cents after weeks in it", cents_with_sigma(value, sigma)),
        None => format!("{soon}; what weeks in it do needs both humidities"),
    }
}

/// The public JSON of `climate`; see docs/climate.md.
pub fn to_json(known: &KnownClimate, instruments: &[InstrumentToday]) -> Value {
    let fitted = |one: Fitted| json!({ "cents": rounded(one.value, 3), "sigma": rounded(one.sigma, 3), "bounds_95": one.bounds.map(|b| rounded(b, 3)) });
    json!({
        "coefficients": coefficients_json(&known.coefficients),
        "reference_bars": {
            "labels": known.bars, "readings": known.readings.len(),
            "learnt": known.fit.as_ref().ok().map(|fit| json!({
                "per_c": fit.per_c.map(fitted), "per_percent_moisture": fit.per_moisture.map(fitted), "follows_days": fit.follows_days,
                "scatter_cents": rounded(fit.scatter_cents, 3), "freedom": fit.freedom })),
            "why_not": known.fit.as_ref().err().map(ToString::to_string),
        },
        "air": known.latest().map(|(at, air)| json!({ "at": at.to_string(), "temperature_c": air.temperature_c, "humidity_percent": air.humidity_percent })),
        "logged": known.log.len(),
        "instruments": instruments.iter().map(|one| json!({
            "name": one.name, "reference": air_json(one.reference), "reads_today": one.reads.as_ref().map(reads_json) })).collect::<Vec<_>>(),
    })
}

/// The same for people.
pub fn to_text(known: &KnownClimate, instruments: &[InstrumentToday]) -> String {
    let mut text = match known.latest() {
        Some((at, air)) => format!("Last measured: {} ({}).\n", air_words(air), at.strftime("%Y-%m-%d %H:%M UTC")),
        None => "The air was never measured: barwright climate now 21.5 --humidity 45\n".to_owned(),
    };
    for one in instruments {
        let reads = one.reads.as_ref().map_or_else(|| "not known yet".to_owned(), reads_words);
        text.push_str(&format!("{}: a bar that is right at {} reads {reads}.\n", one.name, air_words(one.reference)));
    }
    text.push_str(&coefficient_words(&known.coefficients));
    match (&known.fit, known.bars.len()) {
        (_, 0) => text.push_str(
            "No reference bar is kept. One finished bar that is never cut, struck at every session, teaches more than any book: barwright bar LABEL new --reference …\n",
        ),
        (Ok(fit), bars) => {
            let one = |name: &str, fitted: Option<Fitted>| {
                fitted.map_or_else(
                    || format!("  {name}: not told yet, it hardly changed\n"),
                    |f| {
                        format!(
                            "  {name}: {} cents, 95 % between {} and {}\n",
                            cents_with_sigma(f.value, f.sigma),
                            signed(f.bounds[0], 2),
                            signed(f.bounds[1], 2)
                        )
                    },
                )
            };
            text.push_str(&format!(
                "{} readings of {bars} reference {} taught, scattering by {} cents:\n{}{}",
                fit.readings,
                if bars == 1 { "bar" } else { "bars" },
                plain(fit.scatter_cents, 2),
                one("a degree", fit.per_c),
                one("a percent of moisture", fit.per_moisture),
            ));
            if fit.per_moisture.is_some() {
                text.push_str(&format!("  moisture follows the air within some {} days\n", plain(fit.follows_days, 0)));
            }
            text.push_str("Where these are surer than the book, they are reckoned with.\n");
        }
        (Err(error), _) => text.push_str(&format!("Reference bars: {error}\n")),
    }
    text
}

/// Coefficients in words.
pub fn coefficient_words(all: &Coefficients) -> String {
    let fine = |one: Coefficient| format!("{} ± {}", signed(one.value, 1), plain(one.sigma, 1));
    format!(
        "Reckoned with {} cents a degree (from {}) and {} cents a percent of moisture (from {}).\n",
        fine(all.per_c),
        basis(all.per_c.basis),
        fine(all.per_moisture),
        basis(all.per_moisture.basis)
    )
}

/// Another room as JSON.
pub fn hall_to_json(hall: &Hall, (reference, there): (Air, Air), coefficients: &Coefficients) -> Value {
    let mm = |m: f64| rounded(m * 1e3, 2);
    json!({
        "reference": air_json(reference), "there": air_json(there), "coefficients": coefficients_json(coefficients),
        "bars": reads_json(&hall.bars), "tubes_cents": rounded(hall.tubes_cents, 2),
        "apart_cents": rounded(hall.bars.soon.0 - hall.tubes_cents, 2),
        "stoppers": hall.notes.iter().map(|note| json!({
            "note": note.name, "soon_towards_mouth_mm": mm(note.soon_towards_mouth_m), "settled_towards_mouth_mm": note.settled_towards_mouth_m.map(mm),
        })).collect::<Vec<_>>(),
    })
}

/// Another room in words.
pub fn hall_to_text(hall: &Hall, (reference, there): (Air, Air), coefficients: &Coefficients, units: Units) -> String {
    let apart = hall.bars.soon.0 - hall.tubes_cents;
    let mut text = format!(
        "Set at {}, played at {}.\nBars: {}.\nTubes: {} cents at once; bars and tubes are {} ± {} cents apart.\nMove the stoppers, do not cut the bars. Ask what pitch the others play at there.\n",
        air_words(reference),
        air_words(there),
        reads_words(&hall.bars),
        signed(hall.tubes_cents, 0),
        plain(apart.abs(), 0),
        plain(hall.bars.soon.1, 0),
    );
    if !hall.notes.is_empty() {
        let mut table = super::table();
        table.set_header(["tube", "stopper, that day", "stopper, after weeks"]);
        let words = |m: f64| {
            let way = if m > 0.0 { "towards the mouth" } else { "away from it" };
            if m.abs() < 5e-5 { "stays".to_owned() } else { format!("{} {way}", units.depth(m.abs() * 1e3)) }
        };
        for note in &hall.notes {
            table.add_row([
                note.name.clone(),
                words(note.soon_towards_mouth_m),
                note.settled_towards_mouth_m.map_or_else(|| "–".to_owned(), words),
            ]);
        }
        text.push_str(&format!("{}\n", table.trim_fmt()));
    }
    text + &coefficient_words(coefficients)
}

/// A bar that cools: the answer's figures.
#[derive(Debug, Clone, Copy)]
pub struct CoolingAnswer {
    /// Seconds to 1/e.
    pub time_s: f64,
    /// Seconds to wait, if it is known how warm the bar is.
    pub wait_s: Option<f64>,
    /// Cents that the bar may still rise.
    pub within_cents: f64,
    /// Where its own readings go.
    pub settled: Option<Settled>,
}

/// A cooling bar as JSON.
pub fn cooling_to_json(answer: &CoolingAnswer) -> Value {
    json!({
        "time_constant_min": rounded(answer.time_s / 60.0, 1), "within_cents": answer.within_cents,
        "wait_min": answer.wait_s.map(|s| rounded(s / 60.0, 1)),
        "settles": answer.settled.map(|s| json!({ "cents": rounded(s.cents.0, 2), "sigma": rounded(s.cents.1, 2), "left_cents": rounded(s.left_cents, 2) })),
    })
}

/// A cooling bar in words.
pub fn cooling_to_text(answer: &CoolingAnswer) -> String {
    let minutes = |s: f64| plain((s / 60.0).ceil(), 0);
    let mut text = format!(
        "What is left of its warmth falls to a third in some {} minutes in still air (good to a factor of 1.5).\n",
        minutes(answer.time_s)
    );
    if let Some(wait_s) = answer.wait_s {
        text.push_str(&format!(
            "Put it back for {} minutes: then it rises by less than {} cents more. Do another bar meanwhile.\n",
            minutes(wait_s),
            plain(answer.within_cents, 1)
        ));
    }
    if let Some(settled) = answer.settled {
        text.push_str(&format!(
            "By its own readings it goes to {} cents, {} more than the last one.\n",
            cents_with_sigma(settled.cents.0, settled.cents.1),
            signed(settled.left_cents, 1)
        ));
    }
    text
}
