//! `assign`: which blank becomes which bar of a plan.
use super::all_cores::on_all_cores;
use super::answer::Form;
use super::new_file::write_table;
use super::plan::specification_of;
use super::stock::{Known, known};
use super::workshop::open;
use crate::error::Refused;
use crate::planning::planned;
use crate::report;
use crate::report::assign::{Answer, Pair};
use clap::Args;
use jiff::Timestamp;
use making::assign::{Assignment, Place, Task, assign};
use making::schedule::{Specification, WantedBar, plan_bar};
use records::Note;
use records::workshop::{Body, GivenRecord, Kind};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(crate) struct AssignArgs {
    /// The specification of the instrument, as `plan` takes it
    spec: PathBuf,
    /// Blanks from a table (CSV) instead of the workshop's record; docs/wood.md shows its columns
    #[arg(long, value_name = "FILE")]
    blanks: Option<PathBuf>,
    /// This blank becomes this bar, e.g. C3=117
    #[arg(long = "pin", value_name = "NOTE=LABEL")]
    pins: Vec<String>,
    /// This blank does not become this bar
    #[arg(long = "forbid", value_name = "NOTE=LABEL")]
    forbidden: Vec<String>,
    /// Listen again to each blank's kept sound, so that neighbours ring alike; takes a while
    #[arg(long, conflicts_with = "blanks")]
    ring: bool,
    /// Write the answer as a table to a new CSV file, or a workbook (*.xlsx)
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Give the blanks of the record their notes, in this instrument
    #[arg(long, value_name = "INSTRUMENT", conflicts_with = "blanks")]
    enter_in: Option<String>,
}

/// Pairs that the solid refuses are ruled out and all is matched again, so often at most.
const ROUNDS: usize = 5;

pub(super) fn assign_blanks(at: Option<&Path>, args: &AssignArgs, form: Form) -> Result<String, Refused> {
    let (_, specification) = specification_of(&args.spec)?;
    let plan = planned(&specification, None)?;
    let known = known(at, args.blanks.as_deref(), args.ring)?;
    let place = |bar: &making::schedule::PlannedBar| Place {
        name: bar.wanted.name.clone(),
        size_m: [bar.wanted.length_m, bar.wanted.width_m, bar.wanted.thickness_m],
        centre_m: bar.made.as_ref().ok().map(|made| made.arch.centre_m),
    };
    let wood = &specification.wood;
    let mut task = Task {
        places: plan.bars.iter().map(place).collect(),
        blanks: known.iter().map(|known| known.blank.clone()).collect(),
        plan_e_over_rho: wood.e_l_pa / wood.density_kg_m3,
        min_thickness_m: specification.min_thickness_m,
        pins: args.pins.iter().map(|text| pair(text)).collect::<Result<_, _>>()?,
        forbidden: args.forbidden.iter().map(|text| pair(text)).collect::<Result<_, _>>()?,
    };
    let wanted: Vec<WantedBar> = plan.bars.iter().map(|bar| bar.wanted.clone()).collect();
    let (found, pairs) = solved(&specification, &wanted, &known, &mut task)?;
    let answer = Answer { places: &task.places, blanks: &task.blanks, found: &found, pairs: &pairs };
    if let Some(to) = &args.csv {
        write_table(to, &report::assign::to_lines(&answer))?;
    }
    let entered =
        args.enter_in.as_deref().map(|name| enter(at, name, &answer, &known, specification.a4_hz)).transpose()?;
    Ok(form.put(
        || report::assign::to_json(&answer, entered),
        || report::assign::to_text(&answer, entered, args.enter_in.as_deref(), form.units),
    ))
}

/// Matched, each pair computed by the solid in the blank's own wood; pairs that cannot be are ruled out and all is matched again.
fn solved(
    specification: &Specification,
    wanted: &[WantedBar],
    known: &[Known],
    task: &mut Task,
) -> Result<(Assignment, Vec<Pair>), Refused> {
    let mut round = 1;
    loop {
        let found = assign(task)?;
        let pairs = on_all_cores(&found.given, &|given| {
            let (bar, known) = (&wanted[given.place], &known[given.blank]);
            let own = known.wood.clone().unwrap_or_else(|| specification.wood.clone());
            let thickness_m = bar.thickness_m.min(known.blank.size_m[2]);
            let made = plan_bar(
                &Specification { wood: own, ..specification.clone() },
                &WantedBar { thickness_m, ..bar.clone() },
            )
            .made;
            Pair {
                centre_m: made.as_ref().ok().map(|made| made.arch.centre_m),
                why_not: made.err().map(|error| error.message),
            }
        });
        let pinned = |place: usize| task.pins.iter().any(|(note, _)| *note == task.places[place].name);
        let failed: Vec<_> = found
            .given
            .iter()
            .zip(&pairs)
            .filter(|(given, pair)| pair.centre_m.is_none() && !pinned(given.place))
            .collect();
        if failed.is_empty() || round == ROUNDS {
            return Ok((found, pairs));
        }
        let ruled = failed
            .iter()
            .map(|(given, _)| (task.places[given.place].name.clone(), task.blanks[given.blank].label.clone()));
        let ruled: Vec<_> = ruled.collect();
        task.forbidden.extend(ruled);
        round += 1;
    }
}

/// "C3=117", the note in any spelling.
fn pair(text: &str) -> Result<(String, String), Refused> {
    let wrong =
        || Refused::new("wrong_pair", format!("\"{text}\" is no note and blank"), "write NOTE=LABEL, e.g. C3=117");
    let (note, label) = text.split_once('=').ok_or_else(wrong)?;
    let note: Note = note.trim().parse()?;
    let label = label.trim().trim_start_matches('#');
    if label.is_empty() {
        return Err(wrong());
    }
    Ok((making::schedule::note_name(note.semitones_above_a4() + making::schedule::A4), label.to_owned()))
}

/// Gives the notes in the record, all or none.
fn enter(at: Option<&Path>, name: &str, answer: &Answer<'_>, known: &[Known], a4_hz: f64) -> Result<usize, Refused> {
    let mut workshop = open(at)?;
    let instrument = workshop.find(Kind::Instrument, name)?.uid;
    let now = Timestamp::now();
    let given: Vec<_> = answer
        .found
        .given
        .iter()
        .zip(answer.pairs)
        .filter(|(_, pair)| pair.centre_m.is_some())
        .filter_map(|(given, _)| Some((known[given.blank].uid?, answer.places[given.place].name.clone())))
        .collect();
    workshop.write(|step| {
        for (uid, note) in &given {
            let body = Body::Given(GivenRecord { instrument, note: note.clone(), a4_hz });
            step.add(*uid, body.into(), now)?;
        }
        Ok(())
    })?;
    Ok(given.len())
}
