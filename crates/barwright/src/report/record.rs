//! The workshop's record as text and JSON.
use super::table;
use super::units::hz;
use crate::convert::rounded;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use records::HeardRecord;
use records::workshop::{BarRow, Body, DoneStage, Event, Fate, History, Named, Stage, Stale};
use serde_json::{Value, json};
use std::path::Path;

/// Bars that wait for something else than the maker's next step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Waits {
    /// Bars whose last reading no longer tells how they stand.
    pub stale: usize,
    /// Bars cut so lately that they may still be warm.
    pub warm: usize,
}

/// The public JSON of `workshop`.
pub fn summary_to_json(
    name: &str,
    folder: &Path,
    instruments: &[Named],
    counts: &[(Stage, usize)],
    waits: Waits,
) -> Value {
    let stages: serde_json::Map<String, Value> =
        counts.iter().map(|(stage, count)| (stage.word().to_owned(), json!(count))).collect();
    let instruments: Vec<Value> = instruments
        .iter()
        .map(|named| json!({ "uid": named.uid.to_string(), "name": named.name, "delivered": named.gone }))
        .collect();
    json!({ "name": name, "folder": folder, "instruments": instruments, "bars_by_stage": stages,
        "stale": waits.stale, "perhaps_warm": waits.warm })
}

/// What there is to do, and where the record lies.
pub fn summary_to_text(
    name: &str,
    folder: &Path,
    instruments: &[Named],
    counts: &[(Stage, usize)],
    waits: Waits,
) -> String {
    let mut text = format!("{name}, in {}\n", folder.display());
    for named in instruments {
        text.push_str(&format!("  {}{}\n", named.name, if named.gone { " (delivered)" } else { "" }));
    }
    if counts.is_empty() {
        text.push_str("No bars yet. Enter a blank: barwright bar LABEL new --length 470 --width 62 --thickness 23\n");
    }
    for (stage, count) in counts {
        text.push_str(&format!("{count:>5} {}: {}\n", if *count == 1 { "bar " } else { "bars" }, stage.to_do()));
    }
    if waits.warm > 0 {
        text.push_str(&format!("Cut a short while ago, perhaps still warm: {}. Let them cool.\n", waits.warm));
    }
    if waits.stale > 0 {
        text.push_str(&format!("To be struck again: {}. See barwright bars --stale\n", waits.stale));
    }
    text
}

/// The public JSON of `bars`.
pub fn bars_to_json(rows: &[BarRow]) -> Value {
    let bar = |row: &BarRow| {
        json!({
            "uid": row.uid.to_string(),
            "label": row.label,
            "instrument": row.instrument.as_ref().map(|(_, name)| name),
            "note": row.note,
            "stage": row.stage.word(),
            "heard_at": row.heard_at.map(|at| at.to_string()),
            "worked_at": row.worked_at.map(|at| at.to_string()),
            "stale": row.stale().is_some(),
            "stale_because": row.stale().map(stale_word),
            "heard_c": row.heard_c,
            "cents": row.cents.map(|cents| cents.map(|cents| rounded(cents, 2))),
            "sigma_cents": row.sigma_cents,
            "centre_mm": rounded(row.centre_mm, 3),
        })
    };
    json!({ "bars": rows.iter().map(bar).collect::<Vec<_>>() })
}

fn stale_word(stale: Stale) -> &'static str {
    match stale {
        Stale::BeforeLastCut => "before_last_cut",
        Stale::OtherTemperature => "other_temperature",
    }
}

/// One line a bar.
pub fn bars_to_text(rows: &[BarRow]) -> String {
    if rows.is_empty() {
        return "No such bars.\n".to_owned();
    }
    let mut table = table();
    table.set_header(["note", "label", "instrument", "mode 1", "mode 2", "mode 3", "heard", "next"]);
    for row in rows {
        let cents = |mode: usize| row.cents[mode].map_or("–".to_owned(), |cents| format!("{cents:+.1} ct"));
        let heard = match (row.heard_at, row.stale()) {
            (None, _) => "not yet".to_owned(),
            (Some(at), Some(Stale::BeforeLastCut)) => format!("{}, before the last cut", when(at)),
            (Some(at), Some(Stale::OtherTemperature)) => {
                let heard = row.heard_c.map_or(String::new(), |celsius| format!("at {celsius} °C"));
                let wanted = row.reference_c.map_or(String::new(), |celsius| format!(", wanted at {celsius} °C"));
                format!("{} {heard}{wanted}", when(at))
            }
            (Some(at), None) => when(at),
        };
        table.add_row([
            row.note.clone().unwrap_or_else(|| "–".to_owned()),
            row.label.clone(),
            row.instrument.as_ref().map_or("–".to_owned(), |(_, name)| name.clone()),
            cents(0),
            cents(1),
            cents(2),
            heard,
            row.stage.to_do().to_owned(),
        ]);
    }
    format!("{table}\n")
}

/// The public JSON of `bar … history`: every event as it is kept, with what became of it.
pub fn history_to_json(history: &History) -> Value {
    let line = |(number, line): (usize, records::workshop::Line<'_>)| {
        let fate = match line.fate {
            Fate::Stands => json!("stands"),
            Fate::TakenBack => json!("taken_back"),
            Fate::Corrected(at) => json!({ "corrected": at.to_string() }),
            Fate::StruckOut(at) => json!({ "struck_out": at.to_string() }),
            Fate::Concerns(uid) => json!({ "concerns": uid.to_string() }),
        };
        json!({
            "number": number + 1,
            "uid": line.event.uid.to_string(),
            "at": line.event.at.to_string(),
            "entry": line.event.entry,
            "fate": fate,
        })
    };
    json!({ "history": history.lines().into_iter().enumerate().map(line).collect::<Vec<_>>() })
}

/// One line an event, nothing left out.
pub fn history_to_text(history: &History) -> String {
    let mut text = String::new();
    for (number, line) in history.lines().into_iter().enumerate() {
        let fate = fate(history, line.fate);
        let event = line.event;
        let air = event.entry.climate.and_then(|climate| climate.temperature_c);
        let air = air.map_or(String::new(), |celsius| format!(", {celsius} °C"));
        let written = written(event);
        text.push_str(&format!(
            "{:>4}  {}  {}{written}{air}{fate}\n",
            number + 1,
            when(event.at),
            what(&event.entry.what)
        ));
    }
    text
}

/// What became of an event, to be put after its words: "  (taken back)"; nothing for one that stands.
pub fn fate(history: &History, fate: Fate) -> String {
    match fate {
        Fate::Stands => String::new(),
        Fate::TakenBack => "  (taken back)".to_owned(),
        Fate::Corrected(at) => format!("  (corrected {})", when(at)),
        Fate::StruckOut(at) => format!("  (struck out {})", when(at)),
        Fate::Concerns(uid) => {
            let place = history.events().iter().position(|event| event.uid == uid);
            place.map_or(String::new(), |place| format!(" entry {}", place + 1))
        }
    }
}

/// The numbers of an event as the maker wrote them, where that is more than the number: ", written 1/2".
pub fn written(event: &Event) -> String {
    let written: Vec<&str> = event.entry.entered.values().map(String::as_str).collect();
    if written.is_empty() { String::new() } else { format!(", written {}", written.join(" · ")) }
}

/// A moment in the computer's own time zone.
pub fn when(at: Timestamp) -> String {
    at.to_zoned_datetime(TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string()
}

/// What happened, in workshop words; a long match, one arm a kind of event.
pub fn what(body: &Body) -> String {
    match body {
        Body::Workshop(workshop) => format!("workshop \"{}\"", workshop.name),
        Body::Climate(_) => "the air was measured".to_owned(),
        Body::Order(order) => format!("ordered: {} at A4 = {} Hz", order.name, order.a4_hz),
        Body::Delivered(_) => "delivered".to_owned(),
        Body::Returned(remark) => format!("came back: {}", remark.text),
        Body::Certified(certificate) => {
            format!("certificate given, {}…", certificate.sha256.get(..12).unwrap_or(""))
        }
        Body::FramePlanned(plan) if plan.by_hand.is_empty() => "how the frame is to be".to_owned(),
        Body::FramePlanned(_) => "how the frame is to be, rails set by hand".to_owned(),
        Body::FrameBuilt(built) => format!("{} rails of the standing frame measured", built.rails.len()),
        Body::Board(board) => format!("board {}", board.name),
        Body::Person(person) => person.name.clone(),
        Body::Tool(tool) => tool.name.clone(),
        Body::Calibrated(clock) => {
            format!("its clock runs {:+.2} ± {:.2} ppm", clock.offset_ppm, clock.sigma_ppm)
        }
        Body::Entered(entered) => {
            let bar = &entered.bar;
            format!("entered as {}: {} × {} × {} mm", entered.label, bar.length_mm, bar.width_mm, bar.thickness_mm)
        }
        Body::Given(given) => format!("given the note {} at A4 = {} Hz", given.note, given.a4_hz),
        Body::Withdrawn(remark) => format!("taken off its note: {}", remark.text),
        Body::Targets(targets) => {
            let ratios = targets.ratios.as_deref().unwrap_or(&[]);
            let ratios: Vec<String> = ratios.iter().map(ToString::to_string).collect();
            let ratios = if ratios.is_empty() { "the usual ratios".to_owned() } else { ratios.join(" : ") };
            let above = targets.headroom_cents.map_or(String::new(), |cents| format!(", {cents} ct above for now"));
            format!("tuned to {ratios}{above}")
        }
        Body::Limits(limits) => match limits.min_thickness_mm {
            Some(mm) => format!("nowhere thinner than {mm} mm"),
            None => "no limit of thickness".to_owned(),
        },
        Body::Heard(reading) => format!("heard {}", heard(&reading.heard)),
        Body::Shaped(_) => "sawn or measured to a whole profile".to_owned(),
        Body::Cut(cut) => {
            let bands: Vec<String> = cut.bands.iter().map(band).collect();
            let passes = cut.passes.map_or(String::new(), |passes| format!(" in {passes} passes"));
            format!("cut {}{passes}", bands.join(", "))
        }
        Body::Caliper(caliper) => {
            let spots: Vec<String> =
                caliper.x_mm.iter().zip(&caliper.thickness_mm).map(|(x, t)| format!("{t} mm at {x}")).collect();
            format!("measured {}", spots.join(", "))
        }
        Body::Trim(trim) => {
            format!("trimmed {} mm left, {} mm right", trim.left_mm.unwrap_or(0.0), trim.right_mm.unwrap_or(0.0))
        }
        Body::Weighed(weighed) => format!("weighed {} g", weighed.mass_g),
        Body::Salt(salt) => {
            let photo = salt.photo.as_ref().map_or(String::new(), |photo| {
                format!(
                    ", off a photograph (± {:.1} mm, file {}…)",
                    photo.sigma_mm,
                    photo.sha256.get(..8).unwrap_or("")
                )
            });
            format!("salt test, face {:?} up{photo}", salt.face_up)
        }
        Body::TopFace(face) => {
            let why = face.why.as_ref().map_or(String::new(), |why| format!(" ({why})"));
            format!("face {:?} is the top{why}", face.top)
        }
        Body::Drilled(drilled) => {
            let why = drilled.why.as_ref().map_or(String::new(), |why| format!(" ({why})"));
            format!("{} holes of {} mm drilled{why}", drilled.holes.len(), drilled.diameter_mm)
        }
        Body::Finish(finish) => format!("finish: {}", finish.what),
        Body::Stage(stage) => match stage.done {
            DoneStage::RoughTuned => "rough tuning done".to_owned(),
            DoneStage::FineTuned => "fine tuning done".to_owned(),
        },
        Body::Discarded(remark) => format!("given up: {}", remark.text),
        Body::Remark(remark) => remark.text.clone(),
        Body::Undone(_) => "took back".to_owned(),
        Body::Redone(_) => "brought back".to_owned(),
        Body::Corrected(corrected) => {
            let why = corrected.why.as_ref().map_or(String::new(), |why| format!(" ({why})"));
            match &corrected.to {
                Some(to) => format!("corrected to {}{why}", what(to)),
                None => format!("struck out{why}"),
            }
        }
    }
}

/// The bending modes of a reading, "139.2 Hz, –, 1392 Hz".
pub fn heard(heard: &HeardRecord) -> String {
    let bending = heard.hz.bending.as_deref().unwrap_or(&[]);
    let list: Vec<String> = bending.iter().map(|f| f.map_or("–".to_owned(), |f| format!("{} Hz", hz(f)))).collect();
    list.join(", ")
}

fn band(band: &records::BandRecord) -> String {
    let side = band.side.map_or(String::new(), |side| format!(" {}", side_word(side)));
    format!("{}–{} mm by {} mm{side}", band.from_mm, band.to_mm, band.depth_mm)
}

fn side_word(side: records::SideName) -> &'static str {
    match side {
        records::SideName::Both => "on both sides",
        records::SideName::Left => "on the left",
        records::SideName::Right => "on the right",
    }
}
