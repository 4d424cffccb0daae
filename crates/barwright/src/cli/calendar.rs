//! `calendar`: when an instrument could be done.
use super::answer::Form;
use super::plan::specification_of;
use super::workshop::open;
use crate::error::Refused;
use crate::report::calendar::{Answer, to_json, to_text};
use clap::Args;
use jiff::civil::Date;
use making::calendar::{Entry, Learnt, Pace, Rests, Step, calendar, learn, usual_hours};
use records::workshop::{BarFilter, Body, DoneStage, Workshop};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(crate) struct CalendarArgs {
    /// The specification of the instrument, as `plan` takes it
    spec: PathBuf,
    /// First day, e.g. 2027-01-11; today if missing
    #[arg(long)]
    start: Option<Date>,
    /// Hours at the bench on a working day
    #[arg(long, default_value_t = 6.0)]
    hours_per_day: f64,
    /// Working days a week
    #[arg(long, default_value_t = 5.0)]
    days_per_week: f64,
    /// Days of rest after sawing and rough tuning
    #[arg(long, default_value_t = 14.0)]
    rest_after_sawing: f64,
    /// Days until the finish has cured
    #[arg(long, default_value_t = 7.0)]
    cure: f64,
    /// Do not look into the record for the shop's own hours
    #[arg(long)]
    no_record: bool,
}

pub(super) fn plan_days(at: Option<&Path>, args: &CalendarArgs, form: Form) -> Result<String, Refused> {
    let (_, specification) = specification_of(&args.spec)?;
    let bars = specification.bars()?.len();
    // A shop that keeps no record yet has no hours of its own; a record that is named and cannot be opened is refused.
    let learnt = match open(at) {
        _ if args.no_record => Learnt::default(),
        Ok(workshop) => learn(&entries(&workshop)?),
        Err(error) if at.is_some() => return Err(error),
        Err(_) => Learnt::default(),
    };
    let rests = Rests { after_sawing_days: args.rest_after_sawing, finish_days: args.cure, ..Rests::default() };
    let pace = Pace { hours_per_day: args.hours_per_day, days_per_week: args.days_per_week };
    let hours = |step: Step| {
        learnt
            .hours(step)
            .map_or_else(|| usual_hours(step), |own| making::calendar::Hours { once: usual_hours(step).once, ..own })
    };
    let list = calendar(bars, hours, &rests, pace)?;
    let start =
        args.start.unwrap_or_else(|| jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::system()).date());
    let answer = Answer { bars, list: &list, start, rests, pace };
    Ok(form.put(|| to_json(&answer), || to_text(&answer)))
}

/// All entries of bars, each with the step it belongs to.
fn entries(workshop: &Workshop) -> Result<Vec<Entry>, Refused> {
    let mut entries = Vec::new();
    for (bar, row) in workshop.bars(&BarFilter::default())?.iter().enumerate() {
        let history = workshop.history(row.uid)?;
        let mut now = Step::Measure;
        for standing in history.standing() {
            let step = match standing.body {
                Body::Cut(_) | Body::Shaped(_) if now == Step::Measure => Step::Rough,
                Body::Stage(stage) if stage.done == DoneStage::RoughTuned => {
                    entries.push(Entry { bar, step: Step::Rough, at_s: standing.event.at.as_second() as f64 });
                    now = Step::Nodes;
                    continue;
                }
                Body::Drilled(_) => Step::Drill,
                Body::Finish(_) => Step::Finish,
                // What follows a finish, or a hole, by ear is fine tuning.
                Body::Heard(_) | Body::Cut(_) if matches!(now, Step::Drill | Step::Finish) => Step::Fine,
                _ => now,
            };
            entries.push(Entry { bar, step, at_s: standing.event.at.as_second() as f64 });
            now = step;
        }
    }
    Ok(entries)
}
