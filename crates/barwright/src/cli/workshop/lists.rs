//! Instruments, boards, people, tools and the lists of bars.
use super::args::{BarsArgs, BoardArgs, InstrumentCommand, OrderArgs};
use super::values::Values;
use super::{begin, open};
use crate::cli::answer::Form;
use crate::cli::frame::{enter_built, enter_salt};
use crate::error::Refused;
use crate::report;
use crate::report::units::Units;
use jiff::{SignedDuration, Timestamp};
use records::LengthUnit;
use records::workshop::{
    BarFilter, BoardRecord, Body, Climate, DeliveredRecord, Entry, FAR_FROM_REFERENCE_C, Kind, OrderRecord,
    PersonRecord, RemarkRecord, Stage, ToolRecord, Workshop,
};
use std::path::Path;

/// Bars cut within so many minutes are counted as perhaps still warm: makers wait ten minutes and more after sanding
/// (common practice, no source).
const MAY_BE_WARM_MIN: i64 = 20;

pub(in crate::cli) fn summary(at: Option<&Path>, form: Form) -> Result<String, Refused> {
    let workshop = open(at)?;
    let names = workshop.list(Kind::Workshop)?;
    let name = names.first().map_or("", |named| named.name.as_str());
    let instruments = workshop.list(Kind::Instrument)?;
    let counts = workshop.count_by_stage(None)?;
    let stale = workshop.count_bars(&BarFilter { stale: true, ..BarFilter::default() })?;
    let since = Timestamp::now() - SignedDuration::from_mins(MAY_BE_WARM_MIN);
    let warm = workshop.count_bars(&BarFilter { worked_after: Some(since), ..BarFilter::default() })?;
    let (folder, waits) = (workshop.folder(), report::record::Waits { stale, warm });
    Ok(form.put(
        || report::record::summary_to_json(name, folder, &instruments, &counts, waits),
        || report::record::summary_to_text(name, folder, &instruments, &counts, waits),
    ))
}

pub(in crate::cli) fn instrument(at: Option<&Path>, what: &InstrumentCommand) -> Result<String, Refused> {
    let mut workshop = open(at)?;
    let now = Timestamp::now();
    match what {
        InstrumentCommand::Add(order) => add_order(&mut workshop, order),
        InstrumentCommand::Salt(salt) => {
            let found = workshop.find(Kind::Instrument, &salt.name)?;
            enter_salt(&mut workshop, &found, &salt.nodes, salt.face.map(Into::into))
        }
        InstrumentCommand::Built(built) => {
            let found = workshop.find(Kind::Instrument, &built.name)?;
            enter_built(&mut workshop, &found, &built.rails, built.sigma)
        }
        InstrumentCommand::Deliver { name } => {
            let found = workshop.find(Kind::Instrument, name)?;
            let what = Body::Delivered(DeliveredRecord { to: None });
            workshop.write(|step| step.add(found.uid, what.into(), now))?;
            Ok(format!("{} is delivered. Its record stays for the next retuning.\n", found.name))
        }
        InstrumentCommand::Return { name, why } => {
            let found = workshop.find(Kind::Instrument, name)?;
            let what = Body::Returned(RemarkRecord { text: why.clone() });
            workshop.write(|step| step.add(found.uid, what.into(), now))?;
            Ok(format!("{} is back: {why}.\n", found.name))
        }
    }
}

fn add_order(workshop: &mut Workshop, order: &OrderArgs) -> Result<String, Refused> {
    if !(380.0..=480.0).contains(&order.a4) {
        let message = format!("A4 is {} Hz; it must lie between 380 and 480 Hz", order.a4);
        return Err(Refused::new("out_of_range", message, "ask the customer for the pitch of his orchestra"));
    }
    for note in [&order.lowest, &order.highest].into_iter().flatten() {
        note.parse::<records::Note>()?;
    }
    if workshop.list(Kind::Instrument)?.iter().any(|named| named.name.eq_ignore_ascii_case(&order.name)) {
        let message = format!("there is an instrument named \"{}\" already", order.name);
        return Err(Refused::new("name_taken", message, "give another name"));
    }
    let reference = (order.temperature.is_some() || order.humidity.is_some())
        .then_some(Climate { temperature_c: order.temperature, humidity_pct: order.humidity });
    let record = OrderRecord {
        name: order.name.clone(),
        customer: order.customer.clone(),
        a4_hz: order.a4,
        reference,
        lowest: order.lowest.clone(),
        highest: order.highest.clone(),
    };
    begin(workshop, Kind::Instrument, Body::Order(record))?;
    let doubt = if reference.is_none() {
        "The order names no temperature for that pitch; ask, and enter it with --temperature.\n"
    } else {
        ""
    };
    Ok(format!("{} is entered at A4 = {} Hz.\n{doubt}", order.name, order.a4))
}

pub(in crate::cli) fn board(at: Option<&Path>, units: Units, args: &BoardArgs) -> Result<String, Refused> {
    let mut workshop = open(at)?;
    let mut values = Values { bare: bare(units), ..Values::default() };
    let defects = args.defects.iter().enumerate().map(|(number, text)| values.defect(number, text));
    let defects = defects.collect::<Result<Vec<_>, Refused>>()?;
    let record = BoardRecord {
        name: args.name.clone(),
        wood: args.wood.clone(),
        length_mm: values.optional_mm("length_mm", args.length.as_deref())?,
        width_mm: values.optional_mm("width_mm", args.width.as_deref())?,
        thickness_mm: values.optional_mm("thickness_mm", args.thickness.as_deref())?,
        mass_g: args.mass,
        moisture_pct: args.moisture,
        defects,
        remark: args.remark.clone(),
    };
    let entry = Entry { entered: values.entered, ..Body::Board(record).into() };
    begin(&mut workshop, Kind::Board, entry)?;
    Ok(format!(
        "Board {} is entered.\nCheck the trade rules for this species before buying, shipping or exporting; keep the papers.\n",
        args.name
    ))
}

pub(in crate::cli) fn person(at: Option<&Path>, name: &str) -> Result<String, Refused> {
    begin(&mut open(at)?, Kind::Person, Body::Person(PersonRecord { name: name.to_owned() }))?;
    Ok(format!("{name} is entered.\n"))
}

pub(in crate::cli) fn tool(at: Option<&Path>, name: &str, grit: Option<u32>) -> Result<String, Refused> {
    begin(&mut open(at)?, Kind::Tool, Body::Tool(ToolRecord { name: name.to_owned(), grit }))?;
    Ok(format!("{name} is entered.\n"))
}

pub(in crate::cli) fn bars(at: Option<&Path>, args: &BarsArgs, form: Form) -> Result<String, Refused> {
    let workshop = open(at)?;
    let instrument = args.instrument.as_deref().map(|name| workshop.find(Kind::Instrument, name)).transpose()?;
    let stage = args.stage.as_deref().map(|word| {
        Stage::named(word).ok_or_else(|| {
            let known: Vec<&str> = Stage::ALL.iter().map(|stage| stage.word()).collect();
            Refused::new("wrong_stage", format!("\"{word}\" is no stage"), format!("known: {}", known.join(", ")))
        })
    });
    let filter = BarFilter {
        instrument: instrument.map(|named| named.uid),
        stage: stage.transpose()?,
        stale: args.stale,
        worked_after: args.cut_within.map(|minutes| Timestamp::now() - SignedDuration::from_mins(i64::from(minutes))),
        read_away_from_c: args.read_away_from.map(|celsius| (celsius, FAR_FROM_REFERENCE_C)),
        limit: 0,
    };
    let rows = workshop.bars(&filter)?;
    Ok(form.put(|| report::record::bars_to_json(&rows), || report::record::bars_to_text(&rows)))
}

/// Unit of a bare number for these units on screen.
pub(super) fn bare(units: Units) -> LengthUnit {
    match units {
        Units::Inch => LengthUnit::Inch,
        _ => LengthUnit::Mm,
    }
}
