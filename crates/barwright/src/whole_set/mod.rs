//! A whole instrument as it was last heard, every reading brought to the air at which its pitch is wanted.
//!
//! Shared by `fine`, `certificate`, `retune` and their pages; what is decided is decided in [`making::fine`] .
mod air;
mod sounds;

pub use air::AirPart;
pub use sounds::{drilled_miss_mm, sounds};

use crate::climate::{KnownClimate, air_of};
use crate::convert;
use crate::error::Refused;
use jiff::Timestamp;
use making::climate::Air;
use making::fine::FineBar;
use records::Note;
use records::workshop::{BarFilter, BarRow, BarState, Body, OrderRecord, Stage, Uid, Workshop};

/// One bar.
#[derive(Debug, Clone)]
pub struct SetBar {
    /// Its line in lists.
    pub row: BarRow,
    /// Its note.
    pub note: Note,
    /// The note's pitch at the reference.
    pub note_hz: f64,
    /// Ratios of its tuned modes.
    pub ratios: Vec<f64>,
    /// The bar itself.
    pub state: BarState,
    /// Its last reading, if there is one.
    pub heard: Option<HeardBar>,
    /// Its last weighing: when, and in grams.
    pub weighed: Option<(Timestamp, f64)>,
}

/// A reading of it.
#[derive(Debug, Clone)]
pub struct HeardBar {
    /// When.
    pub at: Timestamp,
    /// Tuned modes in hertz, as they were heard.
    pub hz: Vec<Option<f64>>,
    /// The air then, as far as it is known.
    pub air: Option<Air>,
    /// What that air did to it, in cents.
    pub air_part: AirPart,
    /// Tuned modes in cents above their targets, at the reference's air.
    pub cents: Vec<Option<f64>>,
    /// Standard uncertainty of the reading alone, in cents.
    pub sigma_cents: f64,
}

/// The instrument.
#[derive(Debug, Clone)]
pub struct WholeSet {
    /// Its name in the record.
    pub uid: Uid,
    /// Its name.
    pub name: String,
    /// What was ordered.
    pub order: OrderRecord,
    /// The air at which its pitch is wanted, if it was said.
    pub reference: Option<Air>,
    /// What is known of the climate.
    pub climate: KnownClimate,
    /// Its bars, bass to treble.
    pub bars: Vec<SetBar>,
}

impl WholeSet {
    /// Of an instrument of the record.
    ///
    /// # Errors
    /// [`Refused`] `no_bars`; if the record cannot be read.
    pub fn of(workshop: &Workshop, instrument: Uid, name: &str) -> Result<Self, Refused> {
        let order = workshop.order(instrument)?;
        let reference = air_of(order.reference);
        let climate = KnownClimate::of(workshop)?;
        // What its wood lay in while it was away is not in the shop's log.
        let since =
            workshop.history(instrument)?.standing().into_iter().rev().find_map(|standing| match standing.body {
                Body::Returned(_) => Some(standing.event.at),
                _ => None,
            });
        let mut bars = Vec::new();
        let filter = BarFilter { instrument: Some(instrument), ..BarFilter::default() };
        for row in workshop.bars(&filter)?.into_iter().filter(|bar| bar.stage != Stage::Discarded) {
            let Some(note) = row.note.as_ref().and_then(|note| note.parse::<Note>().ok()) else { continue };
            bars.push(bar(workshop, row, note, (order.a4_hz, reference), (&climate, since))?);
        }
        if bars.is_empty() {
            let hint = "give its bars their notes first: barwright bar LABEL give C3 --to NAME";
            return Err(Refused::new("no_bars", format!("{name} has no bars with notes"), hint));
        }
        bars.sort_by_key(|bar| bar.note.semitones_above_a4());
        Ok(Self { uid: instrument, name: name.to_owned(), order, reference, climate, bars })
    }

    /// Its bars for the last strokes.
    pub fn fine_bars(&self, now: Timestamp) -> Vec<FineBar> {
        self.bars.iter().map(|bar| bar.fine(now)).collect()
    }

    /// Standard uncertainty that the air's part gives to all bars alike, in cents: the greatest of any reading.
    pub fn air_sigma_cents(&self) -> f64 {
        self.bars.iter().filter_map(|bar| Some(bar.heard.as_ref()?.air_part.sigma_cents)).fold(0.0, f64::max)
    }
}

fn bar(
    workshop: &Workshop,
    row: BarRow,
    note: Note,
    (a4_hz, reference): (f64, Option<Air>),
    (climate, since): (&KnownClimate, Option<Timestamp>),
) -> Result<SetBar, Refused> {
    let history = workshop.history(row.uid)?;
    let state = BarState::of(&history)?;
    let note_hz = note.hz(a4_hz);
    let ratios = convert::targets(&state.file)
        .map_or_else(|| making::virtual_bench::usual_ratios(note_hz), |(_, targets)| targets.ratios);
    let last = history.standing().into_iter().rev().find_map(|standing| match standing.body {
        Body::Heard(reading) => Some((standing.event.at, reading.heard.clone(), standing.event.entry.climate)),
        _ => None,
    });
    let heard = last.map(|(at, heard, around)| {
        let air = heard_air(heard.temperature_c, air_of(around));
        let air_part = AirPart::of((climate, since), reference, air, at);
        let bending = heard.hz.bending.unwrap_or_default();
        let hz: Vec<Option<f64>> = (0..ratios.len()).map(|i| bending.get(i).copied().flatten()).collect();
        let cents = hz
            .iter()
            .zip(&ratios)
            .map(|(hz, ratio)| Some(bar_physics::units::cents((*hz)?, note_hz * ratio) - air_part.cents))
            .collect();
        HeardBar { at, hz, air, air_part, cents, sigma_cents: heard.sigma_cents.unwrap_or(1.0) }
    });
    let weighed = history.standing().into_iter().rev().find_map(|standing| match standing.body {
        Body::Weighed(weighed) => Some((standing.event.at, weighed.mass_g)),
        _ => None,
    });
    Ok(SetBar { row, note, note_hz, ratios, state, heard, weighed })
}

/// The bar's own temperature before the air's.
fn heard_air(bar_c: Option<f64>, air: Option<Air>) -> Option<Air> {
    let humidity_percent = air.and_then(|air| air.humidity_percent);
    Some(Air { temperature_c: bar_c.or(air.map(|air| air.temperature_c))?, humidity_percent })
}

impl SetBar {
    fn fine(&self, now: Timestamp) -> FineBar {
        let minutes = |since: Timestamp, until: Timestamp| (until.as_second() - since.as_second()) as f64 / 60.0;
        let worked = self.state.worked_at;
        let heard_at = self.heard.as_ref().map(|heard| heard.at);
        let heard_after_work = self.state.heard_after_work && heard_at.is_some();
        FineBar {
            name: self.note.to_string(),
            note_hz: self.note_hz,
            cents: self.heard.as_ref().map_or_else(|| vec![None; self.ratios.len()], |heard| heard.cents.clone()),
            sigma_cents: self.heard.as_ref().map_or(f64::INFINITY, |heard| heard.sigma_cents),
            heard_after_work,
            worked_min: worked.map(|worked| minutes(worked, now)),
            heard_after_min: worked.zip(heard_at).filter(|_| heard_after_work).map(|(worked, at)| minutes(worked, at)),
            not_yet: (self.state.stage < Stage::FineTune).then(|| self.state.stage.to_do().to_owned()),
        }
    }
}
