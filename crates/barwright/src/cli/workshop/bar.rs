//! `bar WHICH …`: everything that happens to one bar.
use super::bar_args::{BarArgs, BarCommand, BlankArgs, EntryCommand, SaltRead};
use super::lists::bare;
use super::values::Values;
use super::{correct, open, questions};
use crate::cli::answer::{Form, read_bar};
use crate::convert::salted::{self, SaltedBar};
use crate::error::Refused;
use crate::report;
use jiff::Timestamp;
use making::frame::Doubt;
use records::workshop::{
    BarRow, Body, Climate, DoneStage, DrilledRecord, EnteredRecord, Entry, FinishRecord, GivenRecord, History, Kind,
    ReadingRecord, RemarkRecord, SaltRecord, StageRecord, TopFaceRecord, Uid, Workshop,
};
use records::{BarFile, BarRecord, CutRecord, LimitsRecord, TargetsRecord, TrimRecord, WeighedRecord};
use serde_json::json;
use std::path::Path;

/// A long match: one arm a command.
pub(in crate::cli) fn bar(at: Option<&Path>, args: &BarArgs, form: Form) -> Result<String, Refused> {
    let mut workshop = open(at)?;
    if let BarCommand::New(blank) = &args.what {
        return new(&mut workshop, args, blank, form);
    }
    let row = find(&workshop, &args.which, args.instrument.as_deref())?;
    let now = Timestamp::now();
    match &args.what {
        BarCommand::Enter(what) => enter(&mut workshop, &row, args, what, form),
        BarCommand::History => history(&workshop, &row, form),
        BarCommand::File { path } => {
            workshop.bar(row.uid)?.file.save_new(path)?;
            Ok(form.told(format!("Written: {}\n", path.display())))
        }
        BarCommand::Listen { takes, struck } => {
            super::listen::listen(&mut workshop, &row, args, (takes, *struck), form)
        }
        BarCommand::Undo => {
            let event = workshop.write(|step| step.undo(row.uid, None, now))?;
            now_stands(&workshop, row.uid, format!("Taken back: {}.\n", report::record::what(&event.entry.what)), form)
        }
        BarCommand::Redo => {
            let event = workshop.write(|step| step.redo(row.uid, now))?;
            now_stands(
                &workshop,
                row.uid,
                format!("Brought back: {}.\n", report::record::what(&event.entry.what)),
                form,
            )
        }
        BarCommand::Correct { number, why, to } => {
            correct::correct(&mut workshop, &row, args, (*number, why.as_deref(), to), form)
        }
        BarCommand::StrikeOut { number, why } => correct::strike_out(&mut workshop, &row, (*number, why), form),
        question => questions::answer(&workshop, &row, args, question, form),
    }
}

/// The one bar that is meant.
pub(super) fn find(workshop: &Workshop, which: &str, instrument: Option<&str>) -> Result<BarRow, Refused> {
    let home = instrument.map(|name| workshop.find(Kind::Instrument, name)).transpose()?;
    one_bar(workshop, which, home.map(|named| named.uid))
}

pub(super) fn one_bar(workshop: &Workshop, which: &str, home: Option<Uid>) -> Result<BarRow, Refused> {
    let mut found = workshop.find_bars(which, home)?;
    match found.len() {
        1 => Ok(found.remove(0)),
        0 => Err(Refused::new(
            "not_found",
            format!("there is no bar \"{which}\""),
            "see `barwright bars`; enter a blank with `barwright bar LABEL new`",
        )),
        count => {
            let homes: Vec<String> =
                found.iter().filter_map(|row| row.instrument.as_ref().map(|(_, name)| name.clone())).collect();
            Err(Refused::new(
                "ambiguous",
                format!("{count} bars are \"{which}\""),
                format!("say which instrument with --in: {}", homes.join(", ")),
            ))
        }
    }
}

fn new(workshop: &mut Workshop, args: &BarArgs, blank: &BlankArgs, form: Form) -> Result<String, Refused> {
    let label = args.which.trim_start_matches('#').to_owned();
    let mut values = Values { bare: bare(form.units), ..Values::default() };
    let (bar, log) = match &blank.from {
        Some(path) => {
            let mut record = read_bar(path)?.record().clone();
            let log = record.log.take().unwrap_or_default();
            // The note is given in an instrument, by an event of its own.
            (BarRecord { note: None, ..record }, log)
        }
        None => (sized(&mut values, blank)?, Vec::new()),
    };
    let board = blank.board.as_deref().map(|name| workshop.find(Kind::Board, name)).transpose()?;
    let entered =
        EnteredRecord { label: label.clone(), board: board.map(|named| named.uid), reference: blank.reference, bar };
    let entry = around(workshop, args, Body::Entered(Box::new(entered)), values)?;
    let now = Timestamp::now();
    let entries = log.len();
    let uid = workshop.write(|step| {
        let bar = step.begin(Kind::Bar, entry, now)?;
        step.add_all(bar, log.into_iter().map(|entry| Body::from(entry).into()), now)?;
        Ok(bar)
    })?;
    let more = if entries == 0 { String::new() } else { format!(" with {entries} entries of its log") };
    now_stands(workshop, uid, format!("Bar {label} is entered{more}. Write the label on its end grain.\n"), form)
}

fn sized(values: &mut Values, blank: &BlankArgs) -> Result<BarRecord, Refused> {
    let mut size = |name: &str, text: &Option<String>| values.length_mm(name, text.as_deref().unwrap_or(""));
    let sizes_mm =
        [size("length_mm", &blank.length)?, size("width_mm", &blank.width)?, size("thickness_mm", &blank.thickness)?];
    Ok(BarFile::blank(sizes_mm, blank.mass)?.record().clone())
}

/// The entry with who, what with, the air, and values as they were written.
pub(super) fn around(workshop: &Workshop, args: &BarArgs, what: Body, values: Values) -> Result<Entry, Refused> {
    let by = args.by.as_deref().map(|name| workshop.find(Kind::Person, name)).transpose()?;
    let with = args.tool.as_deref().map(|name| workshop.find(Kind::Tool, name)).transpose()?;
    let climate = (args.temperature.is_some() || args.humidity.is_some())
        .then_some(Climate { temperature_c: args.temperature, humidity_pct: args.humidity });
    Ok(Entry {
        what,
        by: by.map(|named| named.uid),
        with: with.map(|named| named.uid),
        climate,
        entered: values.entered,
    })
}

/// Enters what is no question.
fn enter(
    workshop: &mut Workshop,
    row: &BarRow,
    args: &BarArgs,
    command: &EntryCommand,
    form: Form,
) -> Result<String, Refused> {
    if let EntryCommand::Salt(salt @ SaltRead { photo: Some(photo), marks: Some(marks), .. }) = command {
        return super::photo::enter(workshop, row, args, salt, [photo, marks], form);
    }
    let mut values = Values { bare: bare(form.units), ..Values::default() };
    let what = said(workshop, args, command, &mut values)?;
    let told = report::record::what(&what);
    if let Body::Salt(salt) = &what {
        let length_mm = workshop.bar(row.uid)?.file.outline().length_mm();
        salted::as_read(salt).checked(length_mm * 1e-3)?;
    }
    let (is_salt, is_cut) = (matches!(what, Body::Salt(_)), matches!(what, Body::Cut(_) | Body::Shaped(_)));
    let entry = around(workshop, args, what, values)?;
    workshop.write(|step| step.add(row.uid, entry, Timestamp::now()))?;
    let stands = now_stands(workshop, row.uid, format!("{}: {told}.\n", name(row)), form)?;
    if form.json || !(is_salt || is_cut) {
        return Ok(stands);
    }
    // Told, not refused: only the maker can look again.
    let bar = SaltedBar::of(workshop, row.uid)?;
    let doubts = if is_salt { bar.doubts(&name(row)) } else { bar.face_too_late(&name(row)).into_iter().collect() };
    Ok(with_doubts(stands, &doubts))
}

pub(super) fn with_doubts(text: String, doubts: &[Doubt]) -> String {
    doubts.iter().map(report::salt::doubt_text).fold(text, |text, doubt| text + &doubt)
}

/// What was done to a bar, and what is to do next.
pub(super) fn now_stands(workshop: &Workshop, bar: Uid, done: String, form: Form) -> Result<String, Refused> {
    let (state, entries) = (workshop.bar(bar)?, workshop.history(bar)?.events().len());
    Ok(form.put(
        || {
            json!({ "done": done.trim_end(), "uid": bar.to_string(), "label": state.label, "entries": entries,
                "stage": state.stage.word() })
        },
        || format!("{done}Next for this bar: {}.\n", state.stage.to_do()),
    ))
}

/// What a command says happened; a long match, one arm a command.
pub(super) fn said(
    workshop: &Workshop,
    args: &BarArgs,
    command: &EntryCommand,
    values: &mut Values,
) -> Result<Body, Refused> {
    let remark = |text: &str| RemarkRecord { text: text.to_owned() };
    Ok(match command {
        EntryCommand::Give { note, instrument } => {
            let home = workshop.find(Kind::Instrument, instrument)?;
            let a4_hz = workshop.order(home.uid)?.a4_hz;
            Body::Given(GivenRecord { instrument: home.uid, note: note.clone(), a4_hz })
        }
        EntryCommand::Withdraw { why } => Body::Withdrawn(remark(why)),
        EntryCommand::Targets { ratios, headroom } => Body::Targets(TargetsRecord {
            ratios: (!ratios.is_empty()).then(|| ratios.clone()),
            headroom_cents: *headroom,
        }),
        EntryCommand::Limits { thickness } => {
            Body::Limits(LimitsRecord { min_thickness_mm: Some(values.length_mm("min_thickness_mm", thickness)?) })
        }
        EntryCommand::Heard { hz, torsion, sigma } => Body::Heard(ReadingRecord {
            heard: Values::heard(hz, torsion, *sigma, args.temperature)?,
            takes: Vec::new(),
            struck: None,
            listener: None,
        }),
        EntryCommand::Shaped { stations, kink, sigma } => {
            Body::Shaped(values.shaped(stations, kink, sigma.as_deref())?)
        }
        EntryCommand::Cut { bands, passes } => {
            let bands = bands.iter().enumerate().map(|(number, text)| values.band(number, text));
            Body::Cut(CutRecord { bands: bands.collect::<Result<_, _>>()?, passes: *passes })
        }
        EntryCommand::Caliper { spots } => Body::Caliper(values.caliper(spots)?),
        EntryCommand::Weigh { grams } => Body::Weighed(WeighedRecord { mass_g: *grams }),
        EntryCommand::Trim { left, right } => Body::Trim(TrimRecord {
            left_mm: Some(values.length_mm("left_mm", left)?),
            right_mm: Some(values.length_mm("right_mm", right)?),
        }),
        EntryCommand::Salt(SaltRead { face, left: Some(left), right: Some(right), .. }) => Body::Salt(SaltRecord {
            face_up: (*face).into(),
            left: values.node_line("left", left)?,
            right: values.node_line("right", right)?,
            photo: None,
        }),
        EntryCommand::Salt(_) => {
            let hint = "give --left and --right, or strike the entry out and read the photograph anew";
            return Err(Refused::new("photo_not_here", "a correction takes figures, no photograph", hint));
        }
        EntryCommand::Top { face, why } => Body::TopFace(TopFaceRecord { top: (*face).into(), why: why.clone() }),
        EntryCommand::Drilled { diameter, holes, why } => {
            let holes = holes.iter().enumerate().map(|(number, text)| values.hole(number, text));
            let holes = holes.collect::<Result<_, _>>()?;
            let diameter_mm = values.length_mm("diameter_mm", diameter)?;
            Body::Drilled(DrilledRecord { diameter_mm, holes, why: why.clone() })
        }
        EntryCommand::Finish { what, coats } => Body::Finish(FinishRecord { what: what.clone(), coats: *coats }),
        EntryCommand::RoughTuned => Body::Stage(StageRecord { done: DoneStage::RoughTuned }),
        EntryCommand::FineTuned => Body::Stage(StageRecord { done: DoneStage::FineTuned }),
        EntryCommand::Remark { text } => Body::Remark(remark(text)),
        EntryCommand::Discard { why } => Body::Discarded(remark(why)),
    })
}

pub(super) fn name(row: &BarRow) -> String {
    match &row.note {
        Some(note) => format!("{note} (bar {})", row.label),
        None => format!("Bar {}", row.label),
    }
}

fn history(workshop: &Workshop, row: &BarRow, form: Form) -> Result<String, Refused> {
    let history: History = workshop.history(row.uid)?;
    Ok(form.put(|| report::record::history_to_json(&history), || report::record::history_to_text(&history)))
}
