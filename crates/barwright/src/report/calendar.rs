//! When an instrument could be done, as text and JSON.
use super::units::plain;
use crate::convert::rounded;
use jiff::ToSpan;
use jiff::civil::Date;
use making::calendar::{Pace, Planned, Rests, Step};
use serde_json::{Value, json};

/// What was asked and what came of it.
#[derive(Debug, Clone, Copy)]
pub struct Answer<'a> {
    /// How many bars.
    pub bars: usize,
    /// The steps.
    pub list: &'a [Planned],
    /// The first day.
    pub start: Date,
    /// Days of rest.
    pub rests: Rests,
    /// How much is worked.
    pub pace: Pace,
}

/// The day on which something begins, or, if it is an end, by the evening of which it is done.
fn date(answer: &Answer<'_>, day: f64, end: bool) -> Date {
    let whole = if end { (day - 1e-9).ceil() - 1.0 } else { (day + 1e-9).floor() };
    // Calendars end in the year 9999: far beyond any bar.
    answer.start.checked_add((whole.max(0.0) as i64).days()).unwrap_or(Date::MAX)
}

fn source(planned: &Planned) -> String {
    match (planned.from_bars, planned.step) {
        (0, Step::Measure) => "from memory".to_owned(),
        (0, Step::Rough) => "an amateur's, published".to_owned(),
        (0, _) => "a guess, no source".to_owned(),
        (bars, _) => format!("your record, {bars} bars"),
    }
}

/// The public JSON of `calendar`; see docs/planning.md.
pub fn to_json(answer: &Answer<'_>) -> Value {
    let step = |planned: &Planned| {
        json!({
            "step": planned.step.words(), "hours": rounded(planned.hours, 1), "from": source(planned),
            "begins": date(answer, planned.from_day, false).to_string(), "done": date(answer, planned.to_day, true).to_string(),
        })
    };
    let hours: f64 = answer.list.iter().map(|planned| planned.hours).sum();
    let end = answer.list.iter().map(|planned| planned.to_day).fold(0.0, f64::max);
    json!({
        "bars": answer.bars, "steps": answer.list.iter().map(step).collect::<Vec<_>>(),
        "hours": rounded(hours, 1), "done": date(answer, end, true).to_string(),
    })
}

/// The same for people.
pub fn to_text(answer: &Answer<'_>) -> String {
    let mut table = super::table();
    table.set_header(["step", "hours", "they are", "begins", "done"]);
    for planned in answer.list {
        table.add_row([
            planned.step.words().to_owned(),
            plain(planned.hours, 0),
            source(planned),
            date(answer, planned.from_day, false).to_string(),
            date(answer, planned.to_day, true).to_string(),
        ]);
    }
    let hours: f64 = answer.list.iter().map(|planned| planned.hours).sum();
    let end = answer.list.iter().map(|planned| planned.to_day).fold(0.0, f64::max);
    format!(
        "{} bars, {} hours; done by {} at {} hours a day, {} days a week, one maker.\n{}\n\
         Rest: {} days after sawing, {} until the finish has cured, {} before the last look; tubes are made meanwhile. Days off are spread over the week, so that a date may fall on one. Hours are the least sure thing \
         here: those without a source are replaced as your record grows (five bars of a step are enough).\n",
        answer.bars,
        plain(hours, 0),
        date(answer, end, true),
        plain(answer.pace.hours_per_day, 1),
        plain(answer.pace.days_per_week, 1),
        table.trim_fmt(),
        plain(answer.rests.after_sawing_days, 0),
        plain(answer.rests.finish_days, 0),
        plain(answer.rests.before_check_days, 0),
    )
}
