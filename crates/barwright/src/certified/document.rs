//! What a certificate says: plain values, rounded as they are printed, so that paper and file agree.
use crate::convert::rounded;
use crate::error::Refused;
use crate::whole_set::{SetBar, WholeSet};
use bar_physics::woods::climate::Basis;
use jiff::civil::Date;
use making::fine::Class;
use records::workshop::Climate;
use serde::{Deserialize, Serialize};

/// Kind and version of a certificate.
pub const FORMAT: &str = "barwright-tuning-certificate/1";

/// A certificate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Certificate {
    /// [`FORMAT`].
    pub format: String,
    /// The workshop's name.
    pub workshop: String,
    /// The instrument's name.
    pub instrument: String,
    /// For whom, if it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub customer: Option<String>,
    /// The day it was given.
    pub date: Date,
    /// When to come back.
    pub next_visit: Date,
    /// Who tuned it, if it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tuned_by: Option<String>,
    /// Pitch of A4, in hertz.
    pub a4_hz: f64,
    /// The air at which that pitch is right.
    pub reference: Climate,
    /// What was good enough: concert, working or school.
    pub class: String,
    /// How it was measured.
    pub method: Method,
    /// The bars, bass to treble.
    pub bars: Vec<CertifiedBar>,
}

/// How it was measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Method {
    /// Name and version of the program.
    pub program: String,
    /// Cents per degree by which readings were brought to the reference.
    pub cents_per_c: f64,
    /// Their standard uncertainty.
    pub cents_per_c_sigma: f64,
    /// Cents per percent of moisture.
    pub cents_per_percent_moisture: f64,
    /// Whether the first is of the shop's own reference bars.
    pub own_reference_bars: bool,
    /// Standard uncertainty that the air's part gives to all bars alike, in cents.
    pub air_sigma_cents: f64,
}

/// One bar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CertifiedBar {
    /// Its note.
    pub note: String,
    /// The label on its end grain.
    pub label: String,
    /// Ratios of its tuned modes.
    pub ratios: Vec<f64>,
    /// Tuned modes in hertz, at the reference's air.
    pub hz: Vec<f64>,
    /// The same in cents above their targets.
    pub cents: Vec<f64>,
    /// Standard uncertainty of the reading, in cents.
    pub sigma_cents: f64,
    /// Cents that the air's part was reckoned to be.
    pub air_cents: f64,
    /// The day it was heard.
    pub heard: Date,
    /// Its mass in grams, if it was weighed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<f64>,
}

/// What the maker says beside the readings.
#[derive(Debug, Clone)]
pub struct Given {
    /// Workshop's name.
    pub workshop: String,
    /// The day.
    pub date: Date,
    /// When to come back.
    pub next_visit: Date,
    /// Who tuned it.
    pub tuned_by: Option<String>,
    /// What was good enough.
    pub class: Class,
}

impl Certificate {
    /// Of a set as it was last heard.
    ///
    /// # Errors
    /// [`Refused`] `no_reference` without the air at which the pitch is right, `not_ready` naming the bars that are not heard, or not heard
    /// since their last cut.
    pub fn of(set: &WholeSet, given: &Given) -> Result<Self, Refused> {
        let Some(reference) = set.reference else {
            let hint = "enter it with the order: Settings on the page, or barwright instrument add … --temperature 22 --humidity 45";
            return Err(Refused::new(
                "no_reference",
                "a pitch without its air certifies nothing: the order names none",
                hint,
            ));
        };
        let ready = |bar: &&SetBar| {
            bar.state.heard_after_work
                && bar.heard.as_ref().is_some_and(|heard| heard.cents.iter().all(Option::is_some))
        };
        let missing: Vec<String> = set.bars.iter().filter(|bar| !ready(bar)).map(|bar| bar.note.to_string()).collect();
        if !missing.is_empty() {
            let message = format!(
                "{} of {} bars are not heard with all their modes since their last cut: {}",
                missing.len(),
                set.bars.len(),
                missing.join(", ")
            );
            return Err(Refused::new("not_ready", message, "strike them, then give the certificate"));
        }
        let coefficients = &set.climate.coefficients;
        Ok(Self {
            format: FORMAT.to_owned(),
            workshop: given.workshop.clone(),
            instrument: set.name.clone(),
            customer: set.order.customer.clone(),
            date: given.date,
            next_visit: given.next_visit,
            tuned_by: given.tuned_by.clone(),
            a4_hz: set.order.a4_hz,
            reference: Climate {
                temperature_c: Some(reference.temperature_c),
                humidity_pct: reference.humidity_percent,
            },
            class: crate::report::fine::class_word(given.class).to_owned(),
            method: Method {
                program: format!("barwright {}", env!("CARGO_PKG_VERSION")),
                cents_per_c: rounded(coefficients.per_c.value, 3),
                cents_per_c_sigma: rounded(coefficients.per_c.sigma, 3),
                cents_per_percent_moisture: rounded(coefficients.per_moisture.value, 3),
                own_reference_bars: coefficients.per_c.basis == Basis::ReferenceBar,
                air_sigma_cents: rounded(set.air_sigma_cents(), 2),
            },
            bars: set.bars.iter().filter_map(certified).collect(),
        })
    }

    /// The class by its word.
    pub fn class(&self) -> Class {
        match self.class.as_str() {
            "concert" => Class::Concert,
            "school" => Class::School,
            _ => Class::Working,
        }
    }
}

fn certified(bar: &SetBar) -> Option<CertifiedBar> {
    let heard = bar.heard.as_ref()?;
    let cents: Vec<f64> =
        heard.cents.iter().map(|cents| cents.map(|cents| rounded(cents, 2))).collect::<Option<_>>()?;
    let hz = cents
        .iter()
        .zip(&bar.ratios)
        .map(|(cents, ratio)| rounded(bar_physics::units::shifted(bar.note_hz * ratio, *cents), 3))
        .collect();
    let day = heard.at.to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
    Some(CertifiedBar {
        note: bar.note.to_string(),
        label: bar.state.label.clone(),
        ratios: bar.ratios.clone(),
        hz,
        cents,
        sigma_cents: rounded(heard.sigma_cents, 2),
        air_cents: rounded(heard.air_part.cents, 2),
        heard: day,
        mass_g: bar.weighed.map(|(_, mass_g)| mass_g),
    })
}
