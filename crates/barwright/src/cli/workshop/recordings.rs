//! `import` of a folder of recordings whose names say which bar they are of: shown first, entered with `--yes`.
use super::args::ImportArgs;
use super::bar::name;
use super::listen::{Kept, clock, hear, keep, read_take};
use super::named::{self, Said};
use crate::bench::Bench;
use crate::cli::all_cores::on_all_cores;
use crate::cli::answer::Form;
use crate::cli::args::Struck;
use crate::cli::listen::recordings_in;
use crate::error::Refused;
use crate::kept_take::to_flac;
use crate::{convert, progress, report};
use jiff::Timestamp;
use records::workshop::{BarRow, Climate, Entry, Kind, Takes, Uid, Workshop, name_of};
use records::{BarFile, HeardRecord};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use strike::Clock;

/// A bar is cut down to its note from above: a reading this far below it, in cents, is more likely of another bar.
const FAR_BELOW_CENTS: f64 = -100.0;

/// A recording and the bar it is of.
struct Task {
    path: PathBuf,
    row: BarRow,
    bar: BarFile,
    /// Takes of this bar in the record.
    known: Vec<String>,
    struck: Option<Struck>,
    unused: Vec<String>,
}

/// What was heard in it.
struct Read {
    reading: HeardRecord,
    /// Of bending 1 above the bar's note.
    cents: Option<f64>,
    doubts: Vec<String>,
    kept: Option<Kept>,
}

/// One line of the answer: nothing is passed over in silence.
struct Line {
    file: String,
    result: Result<(Task, Read), Refused>,
}

/// What holds for all recordings of the folder.
struct All {
    takes: Takes,
    clock: Option<Clock>,
    recorder: Option<Uid>,
    yes: bool,
}

/// Shows which recording goes to which bar and what was heard; enters them if told to. A recording that cannot be
/// entered stops none of the others.
pub(super) fn import(workshop: &mut Workshop, args: &ImportArgs, form: Form) -> Result<String, Refused> {
    let (paths, others) = recordings_in(&args.from)?;
    let home = args.instrument.as_deref().map(|name| workshop.find(Kind::Instrument, name)).transpose()?;
    let recorder = args.recorder.as_deref().map(|name| workshop.find(Kind::Tool, name)).transpose()?;
    let recorder = recorder.map(|named| named.uid);
    let all = All { takes: workshop.takes(), clock: clock(workshop, recorder)?, recorder, yes: args.yes };
    let tasks: Vec<(PathBuf, Result<Task, Refused>)> = paths
        .into_iter()
        .map(|path| (path.clone(), task(workshop, &path, args, home.as_ref().map(|h| h.uid))))
        .collect();
    let reads = hear_all(&tasks, &all);
    let lines: Vec<Line> = tasks
        .into_iter()
        .zip(reads)
        .map(|((path, task), read)| {
            let file = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            let result = task.and_then(|task| Ok((task, read.unwrap_or_else(|| Err(never_heard()))?)));
            let result = result.and_then(|(task, read)| {
                enter(workshop, args, &all, &task, &read)?;
                Ok((task, read))
            });
            Line { file, result }
        })
        .collect();
    Ok(form.put(|| to_json(args, &lines, others), || to_text(args, &lines, others)))
}

fn never_heard() -> Refused {
    Refused::new("not_heard", "the recording was not heard", "try again")
}

/// Which bar a recording is of, and what is known of that bar.
fn task(workshop: &Workshop, path: &Path, args: &ImportArgs, home: Option<Uid>) -> Result<Task, Refused> {
    let known = |text: &str| -> Result<Vec<BarRow>, Refused> {
        let found = workshop.find_bars(text, home)?;
        let here = |row: &BarRow| home.is_none_or(|home| row.instrument.as_ref().is_some_and(|(uid, _)| *uid == home));
        Ok(found.into_iter().filter(here).collect())
    };
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let (row, said): (BarRow, Said) = named::bar_of(&stem, &known)?;
    not_before_the_last_cut(path, &row)?;
    let history = workshop.history(row.uid)?;
    let known = history.standing().iter().flat_map(|standing| standing.body.takes().to_vec()).collect();
    let bar = workshop.bar(row.uid)?.file;
    Ok(Task { path: path.to_owned(), row, bar, known, struck: said.struck.or(args.struck), unused: said.unused })
}

/// A sound older than the last cut tells of a bar that is no more.
fn not_before_the_last_cut(path: &Path, row: &BarRow) -> Result<(), Refused> {
    let written = std::fs::metadata(path).and_then(|file| file.modified()).ok();
    let written = written.and_then(|time| Timestamp::try_from(time).ok());
    match (written, row.worked_at) {
        (Some(written), Some(cut)) if written < cut => Err(Refused::new(
            "before_last_cut",
            format!(
                "it was recorded {}, before the last cut of {} at {}",
                report::record::when(written),
                name(row),
                report::record::when(cut)
            ),
            "record the bar anew; if the file's time is wrong, enter it with `bar WHICH listen FILE`",
        )),
        _ => Ok(()),
    }
}

fn hear_all(tasks: &[(PathBuf, Result<Task, Refused>)], all: &All) -> Vec<Option<Result<Read, Refused>>> {
    let bar = progress::bar(Some(tasks.len() as u64), "recordings");
    let reads = on_all_cores(tasks, &|(_, task)| {
        let read = task.as_ref().ok().map(|task| read(task, all));
        bar.inc(1);
        read
    });
    bar.finish_and_clear();
    reads
}

/// Hears one recording; its sound goes to the disk only if it is to be entered.
fn read(task: &Task, all: &All) -> Result<Read, Refused> {
    let take = read_take(&task.path).map_err(|error| without_path(error, &task.path))?;
    if task.known.contains(&name_of(&to_flac(&take)?)) {
        let hint = "nothing is to be done; see it with `bar WHICH history`";
        return Err(Refused::new("known_already", format!("{} has this recording already", name(&task.row)), hint));
    }
    let bench = Bench::in_memory(task.bar.clone(), false);
    let heard = hear(&bench, std::slice::from_ref(&take), task.struck, all.clock)?;
    let reading = convert::heard_record(&heard, bench.tuned())?;
    let first_hz = reading.hz.bending.as_ref().and_then(|bending| bending.first().copied().flatten());
    let cents = task.bar.note_hz().zip(first_hz).map(|(note_hz, hz)| bar_physics::units::cents(hz, note_hz));
    let mut doubts: Vec<String> = heard.warnings.iter().map(|warning| warning.message.clone()).collect();
    if cents.is_some_and(|cents| cents < FAR_BELOW_CENTS) {
        doubts.push("far below its note: is the name right?".to_owned());
    }
    let kept = if all.yes { Some(keep(&all.takes, &take)?) } else { None };
    Ok(Read { reading, cents, doubts, kept })
}

/// The line begins with the file's name already.
fn without_path(error: Refused, path: &Path) -> Refused {
    let message = error.message.replace(&format!("{}: ", path.display()), "");
    Refused::new(&error.code, message, &error.hint)
}

/// Enters one recording, whole or not at all.
fn enter(workshop: &mut Workshop, args: &ImportArgs, all: &All, task: &Task, read: &Read) -> Result<(), Refused> {
    let Some(kept) = &read.kept else { return Ok(()) };
    let heard = HeardRecord { temperature_c: args.temperature, ..read.reading.clone() };
    let what = convert::heard_event(heard, vec![kept.sha256.clone()], task.struck.map(Into::into));
    let climate = args.temperature.map(|celsius| Climate { temperature_c: Some(celsius), humidity_pct: None });
    let entry = Entry { with: all.recorder, climate, ..Entry::from(what) };
    workshop.write(|step| {
        kept.name_in(step)?;
        step.add(task.row.uid, entry, Timestamp::now())
    })?;
    Ok(())
}

fn to_text(args: &ImportArgs, lines: &[Line], others: usize) -> String {
    let mut text = String::new();
    for line in lines {
        match &line.result {
            Ok((task, read)) => {
                let struck = task
                    .struck
                    .map_or(String::new(), |place| format!(", struck at {}", convert::place_word(place.into())));
                let cents = read.cents.map_or(String::new(), |cents| format!(" ({cents:+.1} ct)"));
                let heard = report::record::heard(&read.reading);
                text.push_str(&format!("{}: {}{struck}: {heard}{cents}\n", line.file, name(&task.row)));
                for doubt in &read.doubts {
                    text.push_str(&format!("    {doubt}\n"));
                }
                if !task.unused.is_empty() {
                    text.push_str(&format!("    not used of its name: {}\n", task.unused.join(", ")));
                }
            }
            Err(refused) => text.push_str(&format!("{}: not entered. {refused}\n", line.file)),
        }
    }
    let good = lines.iter().filter(|line| line.result.is_ok()).count();
    let other = if others == 0 { String::new() } else { format!(" {others} other files lie there.") };
    let what = if args.yes { "are entered" } else { "would be entered; nothing was kept. Enter them with --yes" };
    text.push_str(&format!("{good} of {} recordings {what}.{other}\n", lines.len()));
    text
}

fn to_json(args: &ImportArgs, lines: &[Line], others: usize) -> Value {
    let line = |line: &Line| match &line.result {
        Ok((task, read)) => json!({
            "file": line.file,
            "bar": { "uid": task.row.uid.to_string(), "label": task.row.label, "note": task.row.note },
            "struck": task.struck.map(|place| convert::place_word(place.into())),
            "heard": read.reading,
            "cents": read.cents,
            "doubts": read.doubts,
            "unused": task.unused,
        }),
        Err(error) => json!({ "file": line.file,
            "error": { "code": error.code, "message": error.message, "hint": error.hint } }),
    };
    let good = lines.iter().filter(|line| line.result.is_ok()).count();
    json!({
        "dry_run": !args.yes,
        "recordings": lines.iter().map(line).collect::<Vec<_>>(),
        "good": good,
        "refused": lines.len() - good,
        "other_files": others,
    })
}
