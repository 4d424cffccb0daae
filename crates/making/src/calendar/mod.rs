//! When an instrument could be done: hours of each step, learnt from the shop's own record where it tells them, and rests between.
//!
//! One maker works on one thing at a time; wood and finish rest meanwhile. Of what can be begun, the step with the longest way to the end goes first.
mod learn;

pub use learn::{Entry, Learnt, learn};

use crate::error::{MakingError, in_range};

/// A step of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Step {
    /// Size, mass, blow, first salt test, top face.
    Measure,
    /// Sawing the arch and rough tuning.
    Rough,
    /// Second salt test, node table, rails.
    Nodes,
    /// The frame.
    Frame,
    /// Marking on the frame and drilling.
    Drill,
    /// Sanding and finishing.
    Finish,
    /// Fine tuning.
    Fine,
    /// Resonator tubes.
    Tubes,
    /// Assembly, voicing, checks.
    Assembly,
}

impl Step {
    /// All of them, in the order of the work.
    pub const ALL: [Self; 9] = [
        Self::Measure,
        Self::Rough,
        Self::Nodes,
        Self::Frame,
        Self::Drill,
        Self::Finish,
        Self::Fine,
        Self::Tubes,
        Self::Assembly,
    ];

    /// In a maker's words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Measure => "measure the blanks, first salt test, top faces",
            Self::Rough => "saw and rough tune",
            Self::Nodes => "second salt test, rails",
            Self::Frame => "build the frame",
            Self::Drill => "mark on the frame, drill",
            Self::Finish => "sand and finish",
            Self::Fine => "fine tune",
            Self::Tubes => "cut and set the tubes",
            Self::Assembly => "assemble, voice, check",
        }
    }

    /// Steps that must be done first, with the days of rest after each.
    fn after(self, rests: &Rests) -> Vec<(Self, f64)> {
        match self {
            Self::Measure => Vec::new(),
            Self::Rough => vec![(Self::Measure, 0.0)],
            // Wood moves for a while after heavy cuts.
            Self::Nodes => vec![(Self::Rough, rests.after_sawing_days)],
            Self::Frame => vec![(Self::Nodes, 0.0)],
            Self::Drill => vec![(Self::Frame, 0.0)],
            Self::Finish => vec![(Self::Drill, 0.0)],
            Self::Fine => vec![(Self::Finish, rests.finish_days)],
            // Their lengths need the pitches and the room under the bars only.
            Self::Tubes => vec![(Self::Frame, 0.0)],
            Self::Assembly => vec![(Self::Fine, rests.before_check_days), (Self::Tubes, 0.0)],
        }
    }
}

/// Hours of a step: for each bar, and once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hours {
    /// For each bar.
    pub per_bar: f64,
    /// Besides, for the whole instrument.
    pub once: f64,
    /// How many bars of the shop's record they come from; 0 for a figure of no source.
    pub from_bars: usize,
}

/// What is known without a record. Two minutes a blank are from memory; 75 hours for sawing and rough shaping of 61 bars are an amateur's, published on a
/// builder's page; all others are guesses without a source, to be replaced by the shop's own.
pub fn usual_hours(step: Step) -> Hours {
    let (per_bar, once) = match step {
        Step::Measure => (4.0 / 60.0, 0.0),
        Step::Rough => (75.0 / 61.0, 0.0),
        Step::Nodes => (5.0 / 60.0, 2.0),
        Step::Frame => (0.0, 24.0),
        Step::Drill => (8.0 / 60.0, 1.0),
        Step::Finish => (10.0 / 60.0, 1.0),
        Step::Fine => (0.5, 0.0),
        Step::Tubes => (20.0 / 60.0, 8.0),
        Step::Assembly => (0.0, 8.0),
    };
    Hours { per_bar, once, from_bars: 0 }
}

/// Days of rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rests {
    /// After sawing and rough tuning, before nodes are read: "weeks to months" (TRADE 1.2, from memory).
    pub after_sawing_days: f64,
    /// Until a finish has cured: "days to weeks" (TRADE 1.14, from memory).
    pub finish_days: f64,
    /// In the room before the last look: a day (TRADE 1.15, common practice, no source).
    pub before_check_days: f64,
}

impl Default for Rests {
    fn default() -> Self {
        Self { after_sawing_days: 14.0, finish_days: 7.0, before_check_days: 1.0 }
    }
}

/// How much is worked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Hours at the bench on a working day.
    pub hours_per_day: f64,
    /// Working days a week.
    pub days_per_week: f64,
}

/// A step in the calendar; days are counted from the first, rests on every day, work on working days on average.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Planned {
    /// The step.
    pub step: Step,
    /// Its hours.
    pub hours: f64,
    /// Where they come from.
    pub from_bars: usize,
    /// When it begins.
    pub from_day: f64,
    /// When it is done.
    pub to_day: f64,
}

/// The whole calendar, in the order in which the steps begin.
///
/// # Errors
/// `out_of_range` for bars, hours, rests or a pace that cannot be.
pub fn calendar(
    bars: usize,
    hours: impl Fn(Step) -> Hours,
    rests: &Rests,
    pace: Pace,
) -> Result<Vec<Planned>, MakingError> {
    in_range("the number of bars", bars as f64, 1.0, 200.0, "bars", "give a plan")?;
    in_range("the hours a day", pace.hours_per_day, 0.25, 16.0, "hours", "give what is really worked at the bench")?;
    in_range("the working days a week", pace.days_per_week, 0.25, 7.0, "days", "give what is really worked")?;
    let hint = "give days, e.g. 14";
    for (what, days) in [
        ("the rest after sawing", rests.after_sawing_days),
        ("the finish's curing", rests.finish_days),
        ("the rest before the last look", rests.before_check_days),
    ] {
        in_range(what, days, 0.0, 730.0, "days", hint)?;
    }
    let work = |step: Step| {
        let of = hours(step);
        (of.per_bar * bars as f64 + of.once, of.from_bars)
    };
    for step in Step::ALL {
        in_range(
            &format!("the hours to {}", step.words()),
            work(step).0,
            0.0,
            10_000.0,
            "hours",
            "give the hours in all",
        )?;
    }
    let days = |step: Step| work(step).0 / pace.hours_per_day * 7.0 / pace.days_per_week;
    let mut done: Vec<Planned> = Vec::new();
    let mut free_day = 0.0;
    while done.len() < Step::ALL.len() {
        let ready = Step::ALL.into_iter().filter(|step| !done.iter().any(|planned| planned.step == *step));
        let ready = ready.filter_map(|step| Some((step, ready_day(step, &done, rests)?)));
        // What can be begun now, else what can be begun first; of these the one with the longest way to the end.
        let next = ready.min_by(|(a, a_day), (b, b_day)| {
            let wait = |day: f64| (day - free_day).max(0.0);
            wait(*a_day).total_cmp(&wait(*b_day)).then(way(*b, &days, rests).total_cmp(&way(*a, &days, rests)))
        });
        let Some((step, ready_day)) = next else { break };
        let from_day = f64::max(free_day, ready_day);
        let (hours, from_bars) = work(step);
        free_day = from_day + days(step);
        done.push(Planned { step, hours, from_bars, from_day, to_day: free_day });
    }
    Ok(done)
}

/// When a step may begin; `None` while something before it is not planned.
fn ready_day(step: Step, done: &[Planned], rests: &Rests) -> Option<f64> {
    step.after(rests).into_iter().try_fold(0.0_f64, |day, (before, rest)| {
        let planned = done.iter().find(|planned| planned.step == before)?;
        Some(day.max(planned.to_day + rest))
    })
}

/// Days from the beginning of a step to the end of all, if nothing else were to do.
fn way(step: Step, days: &impl Fn(Step) -> f64, rests: &Rests) -> f64 {
    let later = Step::ALL.into_iter().flat_map(|next| {
        let after = next.after(rests).into_iter().filter(move |(before, _)| *before == step);
        after.map(move |(_, rest)| (next, rest))
    });
    days(step) + later.map(|(next, rest)| rest + way(next, days, rests)).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Eight hours a day, every day: a day is eight hours.
    const ALWAYS: Pace = Pace { hours_per_day: 8.0, days_per_week: 7.0 };

    fn day_each(_: Step) -> Hours {
        Hours { per_bar: 0.0, once: 8.0, from_bars: 0 }
    }

    fn at(list: &[Planned], step: Step) -> Planned {
        *list.iter().find(|planned| planned.step == step).unwrap()
    }

    #[test]
    fn rests_run_while_other_things_are_done() {
        let rests = Rests { after_sawing_days: 10.0, finish_days: 5.0, before_check_days: 0.0 };
        let list = calendar(1, day_each, &rests, ALWAYS).unwrap();
        // Measure 0–1, rough 1–2, rest to 12, nodes 12–13, frame 13–14, drill 14–15, finish 15–16, cure to 21; tubes in between.
        assert!((at(&list, Step::Nodes).from_day - 12.0).abs() < 1e-9);
        let (finish, tubes, fine) = (at(&list, Step::Finish), at(&list, Step::Tubes), at(&list, Step::Fine));
        assert!((finish.to_day - 16.0).abs() < 1e-9 && (tubes.from_day - 16.0).abs() < 1e-9, "{list:?}");
        assert!((fine.from_day - 21.0).abs() < 1e-9 && (at(&list, Step::Assembly).to_day - 23.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_is_done_twice_at_once_and_nothing_before_its_time() {
        let list =
            calendar(61, usual_hours, &Rests::default(), Pace { hours_per_day: 6.0, days_per_week: 5.0 }).unwrap();
        assert_eq!(list.len(), Step::ALL.len());
        assert!(list.windows(2).all(|pair| pair[1].from_day >= pair[0].to_day - 1e-9));
        for planned in &list {
            for (before, rest) in planned.step.after(&Rests::default()) {
                assert!(planned.from_day >= at(&list, before).to_day + rest - 1e-9, "{planned:?}");
            }
        }
        // Sawing and rough tuning of 61 bars are 75 hours; at 30 hours a week two weeks and a half.
        let rough = at(&list, Step::Rough);
        assert!((rough.hours - 75.0).abs() < 1e-9 && (rough.to_day - rough.from_day - 17.5).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let pace = |hours_per_day| Pace { hours_per_day, days_per_week: 5.0 };
        for wrong in [0.0, 30.0, f64::NAN] {
            assert_eq!(calendar(61, usual_hours, &Rests::default(), pace(wrong)).unwrap_err().code, "out_of_range");
        }
        let endless = Rests { finish_days: f64::INFINITY, ..Rests::default() };
        assert!(
            calendar(61, usual_hours, &endless, ALWAYS).is_err()
                && calendar(0, usual_hours, &Rests::default(), ALWAYS).is_err()
        );
    }
}
