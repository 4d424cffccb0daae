//! An invented instrument with its record: simulated bars that are tuned, certified, played for years and brought back. Everything in it is made up; the
//! demonstration shows it, and tests work on it.
mod mend;
mod years;

pub use mend::Mended;

use crate::convert::{self, rounded};
use crate::error::Refused;
use crate::kept_take::keep;
use bar_physics::units::{cents, shifted};
use bar_physics::{Bar, Grain, Wanted, Wood};
use fastrand::Rng;
use jiff::{Timestamp, ToSpan};
use making::fine::Class;
use making::schedule::{Kind as Family, PlannedBar, Specification};
use making::tubes::Rings;
use making::{Job, Limits, Targets};
use records::workshop::{
    Body, Climate, DoneStage, DrilledRecord, EnteredRecord, Entry, FinishRecord, GivenRecord, HoleRecord, Kind,
    OrderRecord, StageRecord, Uid, Workshop,
};
use records::{BarRecord, HeardHz, HeardRecord, LogEntry, Note, WeighedRecord};
use std::path::Path;

/// Name of the instrument.
pub const NAME: &str = "Invented marimba";
const A4_HZ: f64 = 442.0;
/// The air of its order.
pub const REFERENCE: Climate = Climate { temperature_c: Some(22.0), humidity_pct: Some(45.0) };
/// What the invented wood really does with a degree and with a percent of moisture: not what the book says.
const TRUE_PER_C: f64 = -1.2;
const TRUE_PER_MOISTURE: f64 = -12.0;
const HEARING_SIGMA_CENTS: f64 = 0.3;

/// One simulated bar.
#[derive(Debug, Clone)]
pub(crate) struct SimBar {
    uid: Uid,
    note_hz: f64,
    ratios: Vec<f64>,
    /// Its shape and wood.
    solid: Bar,
    /// Cents of each mode beside what the solid tells: the bar's own, and what years did.
    own_cents: Vec<f64>,
    /// Mass at the reference's moisture.
    mass_g: f64,
    /// Percent of moisture above the reference's.
    damp_percent: f64,
}

/// The instrument and its record.
#[derive(Debug)]
pub struct InventedSet {
    /// The record.
    pub workshop: Workshop,
    /// The instrument.
    pub instrument: Uid,
    bars: Vec<SimBar>,
    now: Timestamp,
    rng: Rng,
}

impl InventedSet {
    /// Plans the instrument, and enters it drilled, finished and fine-tuned, every bar within a working instrument's tolerance; with `sound` each bar's last
    /// reading keeps a synthetic blow, one of which rings too short.
    ///
    /// # Errors
    /// [`Refused`] if a bar cannot be made, or the folder not written.
    pub fn new(
        folder: &Path,
        [lowest, highest]: [i32; 2],
        seed: u64,
        start: Timestamp,
        sound: bool,
    ) -> Result<Self, Refused> {
        let wood = Wood::generic_hardwood(980.0, 19e9);
        let specification = Specification::proposal(Family::Marimba, lowest, highest, A4_HZ, wood);
        let plan = crate::planning::planned(&specification, None)?;
        let mut workshop = Workshop::create(folder, "Invented workshop", start)?;
        let thing = workshop.list(Kind::Workshop)?.first().map(|named| named.uid);
        let order = OrderRecord {
            name: NAME.to_owned(),
            customer: Some("an invented orchestra".to_owned()),
            a4_hz: A4_HZ,
            reference: Some(REFERENCE),
            lowest: plan.bars.first().map(|bar| bar.wanted.name.clone()),
            highest: plan.bars.last().map(|bar| bar.wanted.name.clone()),
        };
        let instrument = workshop.write(|step| {
            for week in 0..8 {
                if let Some(thing) = thing {
                    step.add(thing, Body::Climate(REFERENCE).into(), start + (24 * 7 * week).hours())?;
                }
            }
            step.begin(Kind::Instrument, Body::Order(order).into(), start)
        })?;
        let now = start + (24 * 60).hours();
        let mut set = Self { workshop, instrument, bars: Vec::new(), now, rng: Rng::with_seed(seed) };
        for (i, planned) in plan.bars.iter().enumerate() {
            let bar = set.enter(&specification, planned, i + 1, start)?;
            set.bars.push(bar);
        }
        set.hear_all(22.0, sound)?;
        let done = Entry::from(Body::Stage(StageRecord { done: DoneStage::FineTuned }));
        let (bars, now) = (&set.bars, set.now);
        set.workshop.write(|step| bars.iter().try_for_each(|bar| step.add(bar.uid, done.clone(), now).map(drop)))?;
        Ok(set)
    }

    /// When it is, in the invented workshop.
    pub fn now(&self) -> Timestamp {
        self.now
    }

    fn enter(
        &mut self,
        specification: &Specification,
        planned: &PlannedBar,
        number: usize,
        start: Timestamp,
    ) -> Result<SimBar, Refused> {
        let made = planned.made.as_ref().map_err(|error| Refused::from(error.clone()))?;
        let wanted = &planned.wanted;
        let note: Note = wanted.name.parse()?;
        let solid = Bar::new(wanted.width_m, made.arch.underside.clone(), specification.wood.clone(), Grain::default());
        let class = Class::Working;
        let own_cents = (1..=wanted.ratios.len())
            .map(|mode| 0.6 * class.tolerance_cents(wanted.hz, mode) * self.rng.f64().mul_add(2.0, -1.0))
            .collect();
        let mass_g = made.mass_kg * 1e3;
        let entered = EnteredRecord {
            label: number.to_string(),
            board: None,
            reference: false,
            bar: record(specification, planned, &note)?,
        };
        let holes = [made.nodes.player_m, made.nodes.away_m].map(|[far, near]| HoleRecord {
            near_mm: rounded(near * 1e3, 2),
            far_mm: rounded(far * 1e3, 2),
            below_top_mm: 9.0,
        });
        let instrument = self.instrument;
        let events = [
            Body::Given(GivenRecord { instrument, note: note.to_string(), a4_hz: A4_HZ }),
            Body::Stage(StageRecord { done: DoneStage::RoughTuned }),
            Body::Drilled(DrilledRecord { diameter_mm: 5.0, holes: holes.to_vec(), why: Some("invented".to_owned()) }),
            Body::Finish(FinishRecord { what: "thin oil (invented)".to_owned(), coats: Some(2) }),
            weighed(mass_g),
        ];
        let uid = self.workshop.write(|step| {
            let uid = step.begin(Kind::Bar, Body::Entered(Box::new(entered)).into(), start)?;
            step.add_all(uid, events.into_iter().map(Entry::from), start)?;
            Ok(uid)
        })?;
        Ok(SimBar {
            uid,
            note_hz: wanted.hz,
            ratios: wanted.ratios.clone(),
            solid,
            own_cents,
            mass_g,
            damp_percent: 0.0,
        })
    }

    /// Strikes every bar at that temperature and enters what was heard.
    fn hear_all(&mut self, temperature_c: f64, sound: bool) -> Result<(), Refused> {
        let modes = crate::cli::on_all_cores(&self.bars, &SimBar::cents);
        let dull = self.bars.len() / 3;
        for (i, cents) in modes.into_iter().enumerate() {
            let reading = self.reading(i, &cents?, temperature_c);
            let take = if sound { Some(self.blow(i, &reading, i == dull)?) } else { None };
            let entry = Entry {
                climate: Some(Climate { temperature_c: Some(temperature_c), humidity_pct: None }),
                ..Entry::from(convert::heard_event(
                    reading,
                    take.iter().map(|take| take.sha256.clone()).collect(),
                    Some(strike::StrikePlace::Quarter),
                ))
            };
            let (uid, now) = (self.bars[i].uid, self.now);
            self.workshop.write(|step| {
                take.iter().try_for_each(|take| take.name_in(step))?;
                step.add(uid, entry, now)
            })?;
        }
        Ok(())
    }

    fn reading(&mut self, i: usize, cents: &[f64], temperature_c: f64) -> HeardRecord {
        let bar = &self.bars[i];
        let warm = TRUE_PER_C * (temperature_c - 22.0);
        let bending = cents
            .iter()
            .zip(&bar.ratios)
            .map(|(cents, ratio)| {
                let noise = HEARING_SIGMA_CENTS * normal(&mut self.rng);
                Some(rounded(shifted(bar.note_hz * ratio, cents + warm + noise), 4))
            })
            .collect();
        HeardRecord {
            hz: HeardHz { bending: Some(bending), torsion: None },
            sigma_cents: Some(HEARING_SIGMA_CENTS),
            temperature_c: Some(temperature_c),
        }
    }

    /// A synthetic blow of what was read.
    fn blow(&mut self, i: usize, reading: &HeardRecord, dull: bool) -> Result<crate::kept_take::Kept, Refused> {
        const RATE_HZ: f64 = 48_000.0;
        let ring_s = Rings::usual(self.bars[i].note_hz).in_tune_s * if dull { 0.4 } else { 1.0 };
        let hz: Vec<f64> = reading.hz.bending.iter().flatten().flatten().copied().collect();
        let modes: Vec<strike::synth::SynthMode> = hz
            .iter()
            .enumerate()
            .map(|(mode, hz)| strike::synth::SynthMode {
                hz: *hz,
                decay_s: ring_s / 6.9 / [1.0, 3.0, 6.0][mode.min(2)],
                amplitude: [0.3, 0.1, 0.05][mode.min(2)] * (1.0 + 0.05 * normal(&mut self.rng)),
                phase_rad: -std::f64::consts::FRAC_PI_2,
            })
            .collect();
        let samples = strike::synth::blow(&modes, RATE_HZ, 1.2, 0.3, 0.0005, self.rng.u64(..));
        let audio = crate::audio::Audio { samples, sample_rate_hz: RATE_HZ, warnings: Vec::new() };
        keep(&self.workshop.takes(), &audio)
    }
}

impl SimBar {
    /// Each tuned mode above its target at the reference's temperature, moisture as it is.
    fn cents(&self) -> Result<Vec<f64>, Refused> {
        let wanted = Wanted { bending: self.ratios.len(), torsion: 0, sideways: 0 };
        let modes = bar_physics::solid::modes(&self.solid, wanted)?;
        let damp = TRUE_PER_MOISTURE * self.damp_percent;
        let of = |(mode, (ratio, own)): (&bar_physics::Mode, (&f64, &f64))| {
            cents(mode.hz, self.note_hz * ratio) + own + damp
        };
        Ok(modes.bending.iter().zip(self.ratios.iter().zip(&self.own_cents)).map(of).collect())
    }

    fn mass_now_g(&self) -> f64 {
        // A percent of the dry mass is 1/1.08 of the mass at 8 %.
        self.mass_g * (1.0 + self.damp_percent / 108.0)
    }
}

fn weighed(mass_g: f64) -> Body {
    Body::from(LogEntry::Weighed(WeighedRecord { mass_g: rounded(mass_g, 1) }))
}

fn record(specification: &Specification, planned: &PlannedBar, note: &Note) -> Result<BarRecord, Refused> {
    let wanted = &planned.wanted;
    let made = planned.made.as_ref().map_err(|error| Refused::from(error.clone()))?;
    let job = Job {
        note_hz: wanted.hz,
        length_m: wanted.length_m,
        width_m: wanted.width_m,
        thickness_m: wanted.thickness_m,
        mass_kg: None,
        underside: Some(made.arch.underside.clone()),
        wood: Some(specification.wood.clone()),
        grain: Grain::default(),
        targets: Targets { ratios: wanted.ratios.clone(), headroom_cents: 0.0 },
        limits: Limits { min_thickness_m: specification.min_thickness_m },
        hand: None,
        log: Vec::new(),
    };
    let record = convert::file_of_job(&job, note)?.record().clone();
    Ok(BarRecord { note: None, a4_hz: None, log: None, ..record })
}

/// A normal number by twelve even ones (their variance is one).
fn normal(rng: &mut Rng) -> f64 {
    (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0
}
