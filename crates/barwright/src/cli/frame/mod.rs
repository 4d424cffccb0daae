//! `rails` and `drill`: from node lines to straight rails, and from the rails as built to the holes.
mod args;
mod from_record;
mod tables;

pub(in crate::cli) use args::{DrillArgs, FrameWishes, RailsArgs};

use super::answer::Form;
use super::new_file::write_new;
use crate::error::Refused;
use crate::report;
use making::frame::{self, DrillTask, DrilledBar, FramePlan, FrameTask};
use std::path::Path;
use tables::NodeRow;

/// Doubt of a rail measured with a rule on the standing frame: ±1 mm over the whole frame (common practice, no source).
const RULE_SIGMA_M: f64 = 1e-3;

pub(super) fn rails(at: Option<&Path>, args: &RailsArgs, form: Form) -> Result<String, Refused> {
    let rows = node_rows(at, &args.wishes)?;
    let task = frame_task(&rows, &args.wishes)?;
    let plan = frame::lay_frame(&task)?;
    if let Some(path) = &args.nodes_csv {
        write_new(path, &tables::write_nodes(&rows)?)?;
    }
    if let Some(path) = &args.picture {
        write_new(path, report::frame::picture(&plan, "Rails under the bars")?.as_bytes())?;
    }
    Ok(form.put(|| report::frame::rails_to_json(&plan), || report::frame::rails_to_text(&plan, form.units)))
}

pub(super) fn drill(at: Option<&Path>, args: &DrillArgs, form: Form) -> Result<String, Refused> {
    let rows = node_rows(at, &args.wishes)?;
    let task = frame_task(&rows, &args.wishes)?;
    let plan = match (&args.built, args.only_planned) {
        (Some(path), false) => frame::on_built(&task, &tables::read_built(path)?, RULE_SIGMA_M)?,
        (None, true) => frame::lay_frame(&task)?,
        (Some(_), true) => {
            let what = "both --built and --only-planned were given";
            return Err(Refused::new("usage", what, "give one of them"));
        }
        (None, false) => {
            return Err(Refused::new(
                "not_built",
                "bars are drilled on the frame as it was really built, and no built rails were given",
                "measure the rails on the standing frame and give them with --built; --only-planned shows what to expect",
            ));
        }
    };
    let bars = holes(&plan, &rows, args)?;
    if let Some(path) = &args.picture {
        write_new(path, report::frame::picture(&plan, "Holes on the rails")?.as_bytes())?;
    }
    let built = args.built.is_some();
    Ok(form.put(
        || report::frame::drill_to_json(&bars, built),
        || report::frame::drill_to_text(&plan, &bars, args.diameter, built, form.units),
    ))
}

fn node_rows(at: Option<&Path>, wishes: &FrameWishes) -> Result<Vec<NodeRow>, Refused> {
    match (&wishes.nodes, &wishes.instrument) {
        (Some(path), None) => tables::read_nodes(path),
        (None, Some(name)) => from_record::node_rows(at, name),
        _ => Err(Refused::new(
            "usage",
            "node lines come either from a table or from an instrument of the record",
            "give a CSV file, or --instrument NAME; docs/frame.md shows the columns",
        )),
    }
}

fn frame_task(rows: &[NodeRow], wishes: &FrameWishes) -> Result<FrameTask, Refused> {
    let bend_after = wishes.bend_after.iter().map(|note| index_of(rows, note)).collect::<Result<_, _>>()?;
    Ok(FrameTask {
        bars: rows.iter().map(|row| row.bar(wishes.sigma)).collect(),
        gap: frame::Gap { between_m: wishes.gap * 1e-3 },
        one_row: wishes.one_row,
        outer_share: (wishes.outer_share_from, wishes.outer_share_to.max(wishes.outer_share_from)),
        fairness: wishes.fair,
        overlap_m: wishes.overlap * 1e-3,
        bend_after,
    })
}

fn index_of(rows: &[NodeRow], note: &str) -> Result<usize, Refused> {
    let wanted: records::Note = note.parse()?;
    rows.iter().position(|row| row.note.semitones_above_a4() == wanted.semitones_above_a4()).ok_or_else(|| {
        Refused::new("no_such_bar", format!("there is no {wanted} among the bars"), "name a bar that is in the list")
    })
}

/// Every bar's holes, bass to treble.
fn holes(plan: &FramePlan, rows: &[NodeRow], args: &DrillArgs) -> Result<Vec<DrilledBar>, Refused> {
    let task = DrillTask {
        below_top_m: args.below_top * 1e-3,
        diameter_m: args.diameter * 1e-3,
        faces: frame::FacesPlayer::LeftEnd,
    };
    let mut bars = Vec::new();
    for row in &plan.rows {
        let of = |index: usize| rows.iter().find(|r| r.note.to_string() == row.bars[index].bar.name);
        bars.extend(frame::drill(row, task, |index, places_m| of(index)?.least_thickness_m(places_m))?);
    }
    let order = |bar: &DrilledBar| rows.iter().position(|row| row.note.to_string() == bar.name);
    bars.sort_by_key(order);
    Ok(bars)
}
