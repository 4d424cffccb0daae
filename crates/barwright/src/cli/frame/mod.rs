//! `rails`, `frame` and `drill`: from node lines to straight rails, to what the frame is made of, and from the rails as
//! built to the holes.
mod args;
mod enter;
mod tables;

pub(in crate::cli) use args::{DrillArgs, FrameArgs, FrameWishes, RailsArgs};
pub(in crate::cli) use enter::{enter_built, enter_salt};

use super::answer::Form;
use super::new_file::write_new;
use super::workshop::open;
use crate::error::Refused;
use crate::framing::{Framed, drilling_cents};
use crate::report;
use jiff::Timestamp;
use making::frame::{DrilledBar, FramePlan};
use records::workshop::{Body, FrameBuiltRecord, FramePlanRecord, Kind, Named, Workshop};
use std::path::Path;

/// Doubt of a rail measured with a rule on the standing frame: ±1 mm over the whole frame (common practice, no source).
pub(in crate::cli) const RULE_SIGMA_MM: f64 = 1.0;

/// A frame that is asked about, and the record it comes from, if it does.
struct Asked {
    framed: Framed,
    record: Option<(Workshop, Named)>,
}

impl Asked {
    /// From the table or the record, with these wishes over what was said before.
    fn of(
        at: Option<&Path>,
        wishes: &FrameWishes,
        over: impl FnOnce(FramePlanRecord) -> FramePlanRecord,
    ) -> Result<Self, Refused> {
        match (&wishes.nodes, &wishes.instrument) {
            (Some(path), None) => {
                let plan = over(FramePlanRecord::default());
                let framed = Framed { rows: tables::read_nodes(path)?, plan, built: None };
                Ok(Self { framed, record: None })
            }
            (None, Some(name)) => {
                let workshop = open(at)?;
                let found = workshop.find(Kind::Instrument, name)?;
                let mut framed = Framed::of_record(&workshop, found.uid, &found.name)?;
                framed.plan = over(framed.plan);
                Ok(Self { framed, record: Some((workshop, found)) })
            }
            _ => Err(Refused::new(
                "usage",
                "node lines come either from a table or from an instrument of the record",
                "give a CSV file, or --instrument NAME; docs/frame.md shows the columns",
            )),
        }
    }
}

pub(super) fn rails(at: Option<&Path>, args: &RailsArgs, form: Form) -> Result<String, Refused> {
    let mut asked = Asked::of(at, &args.wishes, |plan| args.wishes.over(plan))?;
    let plan = asked.framed.laid()?;
    if let Some(path) = &args.nodes_csv {
        write_new(path, &tables::write_nodes(&asked.framed.rows)?)?;
    }
    if let Some(path) = &args.picture {
        write_new(path, report::frame::picture(&plan, None, "Rails under the bars")?.as_bytes())?;
    }
    if let Some((workshop, found)) = asked.record.as_mut().filter(|_| args.keep) {
        let what = Body::FramePlanned(Box::new(asked.framed.plan.clone()));
        workshop.write(|step| step.add(found.uid, what.into(), Timestamp::now()))?;
    }
    Ok(form.put(|| report::frame::rails_to_json(&plan), || report::frame::rails_to_text(&plan, form.units)))
}

pub(super) fn frame(at: Option<&Path>, args: &FrameArgs, form: Form) -> Result<String, Refused> {
    let asked = Asked::of(at, &args.wishes, |plan| args.wood.over(args.wishes.over(plan)))?;
    let plan = asked.framed.laid()?;
    let members = asked.framed.members(&plan)?;
    if let Some(path) = &args.picture {
        write_new(path, report::frame::picture(&plan, Some(&members), "The frame")?.as_bytes())?;
    }
    for (path, board) in [&args.bass_board, &args.treble_board].into_iter().zip(&members.end_boards) {
        if let Some(path) = path {
            write_new(path, report::members::board_picture(board)?.as_bytes())?;
        }
    }
    if let Some(path) = &args.posts_csv {
        write_new(path, &tables::write_posts(&members)?)?;
    }
    let said = &asked.framed.plan;
    Ok(form.put(|| report::members::to_json(&members, said), || report::members::to_text(&members, said, form.units)))
}

pub(super) fn drill(at: Option<&Path>, args: &DrillArgs, form: Form) -> Result<String, Refused> {
    let mut asked = Asked::of(at, &args.wishes, |plan| args.over(plan))?;
    if let Some(path) = &args.built {
        let built = FrameBuiltRecord { rails: tables::read_built(path)?, sigma_mm: RULE_SIGMA_MM };
        asked.framed.built = Some((built, Timestamp::now()));
    }
    let standing = if args.only_planned { None } else { asked.framed.standing()? };
    let built = standing.is_some();
    let plan = match standing {
        Some(plan) => plan,
        None if args.only_planned => asked.framed.laid()?,
        None => return Err(not_built()),
    };
    let mut bars = asked.framed.holes(&plan)?;
    let marked = match &args.marked {
        Some(path) => asked.framed.mark(&mut bars, &tables::read_nodes(path)?)?,
        None => Vec::new(),
    };
    for note in &args.drilled {
        let Some((workshop, _)) = asked.record.as_mut() else { continue };
        enter_drilled(workshop, &asked.framed, &bars, note)?;
    }
    if let Some(path) = &args.picture {
        write_new(path, report::frame::picture(&plan, None, "Holes on the rails")?.as_bytes())?;
    }
    let pitch = match &asked.record {
        Some((workshop, _)) => pitch(workshop, &asked.framed, &bars)?,
        None => Vec::new(),
    };
    let moved = if built { moved_from_plan(&asked.framed, &plan) } else { None };
    let chart = report::drill::Chart {
        plan: &plan,
        bars: &bars,
        diameter_mm: asked.framed.plan.diameter_mm,
        built,
        pitch: &pitch,
        moved_mm: moved,
        marked: &marked,
    };
    Ok(form.put(|| chart.to_json(), || chart.to_text(form.units)))
}

fn not_built() -> Refused {
    Refused::new(
        "not_built",
        "bars are drilled on the frame as it was really built, and no built rails were given",
        "measure the rails on the standing frame and give them with --built, or enter them: barwright instrument built \
         NAME RAILS.csv; --only-planned shows what to expect",
    )
}

/// How far the standing rails are off those planned; `None` where these cannot be laid.
fn moved_from_plan(framed: &Framed, standing: &FramePlan) -> Option<f64> {
    crate::framing::most_moved_mm(&framed.laid().ok()?, standing)
}

/// What drilling does to the modes of each bar of the record, by its name.
fn pitch(workshop: &Workshop, framed: &Framed, bars: &[DrilledBar]) -> Result<Vec<(String, Vec<f64>)>, Refused> {
    let (below_top_m, diameter_m) = (framed.plan.below_top_mm * 1e-3, framed.plan.diameter_mm * 1e-3);
    let mut told = Vec::new();
    for bar in bars {
        let Some((uid, _)) = framed.row(&bar.name).and_then(|row| row.of_record.clone()) else { continue };
        let state = workshop.bar(uid)?;
        if let Some(cents) = drilling_cents(&state.file, bar, below_top_m, diameter_m) {
            told.push((bar.name.clone(), cents));
        }
    }
    Ok(told)
}

fn enter_drilled(workshop: &mut Workshop, framed: &Framed, bars: &[DrilledBar], note: &str) -> Result<(), Refused> {
    let (uid, what) = framed.drilled(bars, note)?;
    workshop.write(|step| step.add(uid, what.into(), Timestamp::now()))?;
    Ok(())
}
