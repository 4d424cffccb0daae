//! `retune`: an instrument that is back.
use super::answer::Form;
use super::fine::ClassWord;
use super::workshop::open;
use crate::error::Refused;
use crate::report::retune::{Answer, to_json, to_text};
use crate::retuning::Back;
use clap::Args;
use jiff::civil::Date;
use jiff::{Timestamp, tz::TimeZone};
use making::retune::Minutes;
use records::Note;
use records::workshop::Kind;
use std::path::Path;

#[derive(Debug, Args)]
pub(crate) struct RetuneArgs {
    /// The instrument
    instrument: String,
    /// Pitch of A4 wanted now, in Hz; several are compared, e.g. 440,442 [usual: the order's]
    #[arg(long, value_delimiter = ',', value_name = "HZ,…")]
    a4: Vec<f64>,
    /// Whom it is for: what is good enough
    #[arg(long, value_enum, default_value = "working")]
    class: ClassWord,
    /// Only readings since that day count, e.g. 2032-03-01 [usual: since it came back]
    #[arg(long, value_name = "DAY")]
    since: Option<Date>,
    /// What was seen on a bar, which is not cut before it is looked at, e.g. "C4=crack at the hole"; once a bar;
    /// a remark that begins with "damage:" says the same for good
    #[arg(long, value_name = "NOTE=WORDS", value_parser = damage)]
    damage: Vec<(String, String)>,
    /// Price of an hour at the bench, in your money
    #[arg(long, value_name = "PRICE")]
    rate: Option<f64>,
}

fn damage(text: &str) -> Result<(String, String), String> {
    let (note, words) = text.split_once('=').ok_or_else(|| format!("\"{text}\": write NOTE=WORDS"))?;
    let note: Note = note.trim().parse().map_err(|_| format!("\"{note}\" is not a note"))?;
    Ok((note.to_string(), words.trim().to_owned()))
}

pub(super) fn retune(at: Option<&Path>, args: &RetuneArgs, form: Form) -> Result<String, Refused> {
    let workshop = open(at)?;
    let found = workshop.find(Kind::Instrument, &args.instrument)?;
    let since = args.since.map(midnight).transpose()?;
    let mut back = Back::of(&workshop, found.uid, &found.name, since)?;
    for (note, _) in &args.damage {
        if !back.set.bars.iter().any(|bar| bar.note.to_string() == *note) {
            let message = format!("{} has no {note}", found.name);
            return Err(Refused::new("no_such_note", message, "name a note of the instrument"));
        }
    }
    back.damage.retain(|(known, _)| !args.damage.iter().any(|(note, _)| note == known));
    back.damage.extend(args.damage.iter().cloned());
    let pitches = if args.a4.is_empty() { vec![back.set.order.a4_hz] } else { args.a4.clone() };
    for hz in &pitches {
        if !(380.0..=480.0).contains(hz) {
            let message = format!("A4 is {hz} Hz; it must lie between 380 and 480 Hz");
            return Err(Refused::new("out_of_range", message, "ask the customer for the pitch of his orchestra"));
        }
    }
    let class = args.class.into();
    let triages = pitches.into_iter().map(|hz| back.triage(hz, class, &Minutes::default())).collect();
    let answer = Answer { back: &back, class, triages, rate: args.rate };
    Ok(form.put(|| to_json(&answer), || to_text(&answer, form.units)))
}

fn midnight(day: Date) -> Result<Timestamp, Refused> {
    TimeZone::system()
        .to_timestamp(day.at(0, 0, 0, 0))
        .map_err(|error| Refused::new("not_a_time", error.to_string(), "give a day like 2032-03-01"))
}
