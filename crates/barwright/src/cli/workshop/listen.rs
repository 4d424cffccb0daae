//! `bar WHICH listen`, and listening again to what was kept.
use super::bar::{around, name};
use super::bar_args::BarArgs;
use super::open;
use super::values::Values;
use crate::audio::Audio;
use crate::bench::Bench;
use crate::cli::answer::Form;
use crate::cli::args::Struck;
use crate::error::Refused;
pub(super) use crate::kept_take::{Kept, keep};
use crate::{convert, progress, report};
use jiff::Timestamp;
use records::HeardRecord;
use records::workshop::{BarFilter, BarRow, Body, Kind, Uid, Workshop};
use serde_json::json;
use std::path::{Path, PathBuf};

/// Hears takes of a bar; keeps their sound, then the reading.
pub(super) fn listen(
    workshop: &mut Workshop,
    row: &BarRow,
    args: &BarArgs,
    (paths, struck): (&[PathBuf], Option<Struck>),
    form: Form,
) -> Result<String, Refused> {
    let state = workshop.bar(row.uid)?;
    let bench = Bench::in_memory(state.file, false);
    let takes = paths.iter().map(|path| read_take(path)).collect::<Result<Vec<Audio>, Refused>>()?;
    let recorder = args.tool.as_deref().map(|name| workshop.find(Kind::Tool, name)).transpose()?;
    let heard = hear(&bench, &takes, struck, clock(workshop, recorder.map(|named| named.uid))?)?;
    let reading = convert::heard_record(&heard, bench.tuned())?;
    let kept = takes.iter().map(|take| keep(&workshop.takes(), take)).collect::<Result<Vec<Kept>, Refused>>()?;
    let what = convert::heard_event(
        HeardRecord { temperature_c: args.temperature, ..reading },
        kept.iter().map(|take| take.sha256.clone()).collect(),
        struck.map(Into::into),
    );
    let told = report::record::what(&what);
    let entry = around(workshop, args, what, Values::default())?;
    workshop.write(|step| {
        kept.iter().try_for_each(|take| take.name_in(step))?;
        step.add(row.uid, entry, Timestamp::now())
    })?;
    let ratios = convert::targets(bench.file()).map(|(_, targets)| targets.ratios);
    let against = bench.file().note_hz().zip(ratios.as_deref());
    Ok(form.put(
        || report::listen::to_json(&heard),
        || format!("{}{}: {told}; kept with its sound.\n", report::listen::to_text(&heard, against), name(row)),
    ))
}

/// The clock of a recorder, if one is named and was ever measured.
pub(super) fn clock(workshop: &Workshop, recorder: Option<Uid>) -> Result<Option<strike::Clock>, Refused> {
    let clock = recorder.map(|uid| workshop.clock_of(uid)).transpose()?.flatten();
    Ok(clock.map(|clock| strike::Clock { offset_ppm: clock.offset_ppm, sigma_ppm: clock.sigma_ppm }))
}

pub(super) fn hear(
    bench: &Bench,
    takes: &[Audio],
    struck: Option<Struck>,
    clock: Option<strike::Clock>,
) -> Result<strike::Heard, Refused> {
    let views: Vec<strike::Take<'_>> = takes.iter().map(Audio::take).collect();
    let context = strike::Context { clock, ..bench.context(struck.map(Into::into))? };
    let mut heard = crate::hearing::hear(&views, &context, bench.tuned())?;
    heard.warnings.extend(takes.iter().flat_map(|take| take.warnings.iter().cloned()));
    Ok(heard)
}

pub(super) fn read_take(path: &Path) -> Result<Audio, Refused> {
    let unreadable = |error: std::io::Error| {
        let message = format!("{}: the recording cannot be read: {error}", path.display());
        Refused::new("unreadable", message, "check the name and the folder")
    };
    crate::audio::read(&std::fs::read(path).map_err(unreadable)?).map_err(|error| error.about(path.display()))
}

/// Listens again to every kept take with this version of the listener and says what would read differently.
///
/// Each take is heard with what was known of its bar at that time.
pub(in crate::cli) fn relisten(at: Option<&Path>, form: Form) -> Result<String, Refused> {
    let workshop = open(at)?;
    let bars = workshop.bars(&BarFilter::default())?;
    let bar = progress::bar(Some(bars.len() as u64), "bars heard again");
    let mut rows = Vec::new();
    for row in &bars {
        rows.extend(again(&workshop, row)?);
        bar.inc(1);
    }
    bar.finish_and_clear();
    Ok(form.put(
        || json!({ "readings": rows.iter().map(Again::to_json).collect::<Vec<_>>() }),
        || {
            let lines: String = rows.iter().map(Again::line).collect();
            format!("{lines}{} readings heard again. Nothing was changed.\n", rows.len())
        },
    ))
}

/// One reading heard again.
struct Again {
    bar: String,
    at: Timestamp,
    /// Cents by which each bending mode would read higher now; `None` if either did not hear it.
    cents: Vec<Option<f64>>,
    refused: Option<String>,
}

impl Again {
    fn to_json(&self) -> serde_json::Value {
        json!({ "bar": self.bar, "at": self.at.to_string(), "cents": self.cents, "refused": self.refused })
    }

    fn line(&self) -> String {
        let change = |cents: &Option<f64>| cents.map_or("–".to_owned(), |cents| format!("{cents:+.2} ct"));
        let changes: Vec<String> = self.cents.iter().map(change).collect();
        let told = self.refused.clone().unwrap_or_else(|| changes.join(", "));
        format!("{}, {}: {told}\n", self.bar, self.at.strftime("%Y-%m-%d %H:%M UTC"))
    }
}

fn again(workshop: &Workshop, row: &BarRow) -> Result<Vec<Again>, Refused> {
    let history = workshop.history(row.uid)?;
    let mut file = workshop.bar(row.uid)?.file;
    let mut readings = Vec::new();
    // Backwards, taking entry after entry off the log, so that each reading meets the bar as it was known then.
    for standing in history.standing().into_iter().rev() {
        if standing.body.log_entry().is_some() {
            file.remove_last()?;
        }
        let Body::Heard(reading) = standing.body else { continue };
        if reading.takes.is_empty() {
            continue;
        }
        let takes: Result<Vec<Audio>, Refused> =
            reading.takes.iter().map(|sha256| crate::audio::read(&workshop.takes().read(sha256)?)).collect();
        let bench = Bench::in_memory(file.clone(), false);
        let struck = reading.struck.as_deref().and_then(|word| <Struck as clap::ValueEnum>::from_str(word, true).ok());
        let clock = clock(workshop, standing.event.entry.with)?;
        let heard = takes.and_then(|takes| hear(&bench, &takes, struck, clock));
        let heard = heard.and_then(|heard| convert::heard_record(&heard, bench.tuned()));
        let (cents, refused) = match heard {
            Ok(now) => (differences(&reading.heard, &now), None),
            Err(refused) => (Vec::new(), Some(refused.to_string())),
        };
        readings.push(Again { bar: name(row), at: standing.event.at, cents, refused });
    }
    readings.reverse();
    Ok(readings)
}

/// How mode 1 rings in the last kept sound of a bar: frequency and the time in which its amplitude falls to 1/e. `None` without
/// sound, or if this version of the listener does not trust it.
pub(in crate::cli) fn ring(workshop: &Workshop, bar: Uid) -> Result<Option<(f64, f64)>, Refused> {
    let (history, file) = (workshop.history(bar)?, workshop.bar(bar)?.file);
    let with_sound = history.standing().into_iter().rev().find_map(|standing| match standing.body {
        Body::Heard(reading) if !reading.takes.is_empty() => Some(reading.clone()),
        _ => None,
    });
    let Some(reading) = with_sound else { return Ok(None) };
    let takes = reading.takes.iter().map(|sha256| crate::audio::read(&workshop.takes().read(sha256)?));
    let takes = takes.collect::<Result<Vec<Audio>, Refused>>()?;
    let struck = reading.struck.as_deref().and_then(|word| <Struck as clap::ValueEnum>::from_str(word, true).ok());
    let Ok(heard) = hear(&Bench::in_memory(file, false), &takes, struck, None) else { return Ok(None) };
    let first = heard.modes.iter().find(|mode| mode.kind == strike::Kind::Bending && mode.number == 1);
    Ok(first.map(|mode| (mode.hz, mode.decay_s)))
}

fn differences(before: &HeardRecord, now: &HeardRecord) -> Vec<Option<f64>> {
    let bending = |heard: &HeardRecord, mode: usize| heard.hz.bending.as_ref()?.get(mode).copied().flatten();
    let count = before.hz.bending.as_ref().map_or(0, Vec::len);
    (0..count).map(|mode| Some(bar_physics::units::cents(bending(now, mode)?, bending(before, mode)?))).collect()
}
