//! `salt`: the salt tests of all bars, into a table and from one, and how well they are read.
use super::args::SaltArgs;
use super::bar::{name, one_bar};
use super::open;
use super::salt_table::{self, Kept, SaltLine};
use crate::cli::answer::Form;
use crate::cli::new_file::write_new;
use crate::convert::salted::{Salted, SaltedBar};
use crate::error::Refused;
use crate::report;
use jiff::Timestamp;
use making::frame::{Doubt, SaltSpread};
use records::workshop::{BarFilter, BarRow, Body, Entry, Kind, NodeLine, SaltRecord, Stage, Uid, Workshop};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;

/// Figures nearer than this are the same figure written twice: tables keep a micrometre.
const SAME_MM: f64 = 1e-3;

pub(in crate::cli) fn salt(at: Option<&Path>, args: &SaltArgs, form: Form) -> Result<String, Refused> {
    let mut workshop = open(at)?;
    let home = args.instrument.as_deref().map(|name| workshop.find(Kind::Instrument, name)).transpose()?;
    let home = home.map(|named| named.uid);
    match &args.table {
        Some(path) => enter(&mut workshop, home, path, args.dry_run, form),
        None => list(&workshop, home, args.csv.as_deref(), form),
    }
}

/// What becomes of a line of the table.
struct Planned {
    line: u64,
    row: BarRow,
    salt: SaltRecord,
    entered: BTreeMap<String, String>,
    doubts: Vec<Doubt>,
    /// The record has this very test.
    known: bool,
}

/// Shows what each line becomes, and enters the tests unless it is a dry run. One line that can be no test stops all.
fn enter(
    workshop: &mut Workshop,
    home: Option<Uid>,
    path: &Path,
    dry_run: bool,
    form: Form,
) -> Result<String, Refused> {
    let lines = salt_table::read(path)?;
    let mut known = BTreeMap::new();
    let plan: Vec<Result<Planned, Refused>> = lines
        .iter()
        .map(|(number, line)| {
            planned(workshop, home, *number, line, &mut known).map_err(|error| error.about(format!("line {number}")))
        })
        .collect();
    let wrong: Vec<&Refused> = plan.iter().filter_map(|line| line.as_ref().err()).collect();
    if let (Some(first), false) = (wrong.first(), dry_run) {
        let message = format!("{} of {} lines cannot be entered; {}", wrong.len(), plan.len(), first.message);
        let hint = format!("{}; see all of them with --dry-run; nothing was entered", first.hint);
        return Err(Refused::new("wrong_lines", message, hint));
    }
    if !dry_run {
        let new: Vec<&Planned> = plan.iter().filter_map(|line| line.as_ref().ok()).filter(|line| !line.known).collect();
        workshop.write(|step| {
            for line in &new {
                let entry = Entry { entered: line.entered.clone(), ..Body::Salt(line.salt.clone()).into() };
                step.add(line.row.uid, entry, Timestamp::now())?;
            }
            Ok(())
        })?;
    }
    Ok(form.put(|| entered_json(&plan, dry_run), || entered_text(&plan, dry_run)))
}

/// The bar's tests as they were read, less those that lines of the table have been matched with.
type Known = BTreeMap<Uid, Vec<SaltRecord>>;

fn planned(
    workshop: &Workshop,
    home: Option<Uid>,
    number: u64,
    line: &SaltLine,
    known: &mut Known,
) -> Result<Planned, Refused> {
    let row = one_bar(workshop, &line.bar, home)?;
    let bar = SaltedBar::of(workshop, row.uid)?;
    same_bar(line, &row)?;
    let (salt, entered) = line.test(bar.length_m * 1e3)?;
    let doubts = bar.doubts_about(&salt, &name(&row))?;
    let left = known.entry(row.uid).or_insert_with(|| bar.tests.iter().map(|test| as_record(test, &bar)).collect());
    let twin = left.iter().position(|other| same(other, &salt));
    match twin {
        Some(twin) => drop(left.swap_remove(twin)),
        None => not_before_a_cut(line, &row, &bar)?,
    }
    let doubts = if twin.is_some() { Vec::new() } else { doubts };
    Ok(Planned { line: number, row, salt, entered, doubts, known: twin.is_some() })
}

/// What else the line says about its bar must be so.
fn same_bar(line: &SaltLine, row: &BarRow) -> Result<(), Refused> {
    let said = line.note.as_deref().filter(|note| !note.is_empty());
    if let Some(note) = said.filter(|note| row.note.as_deref() != Some(note)) {
        let is = row.note.as_deref().map_or_else(|| "serves no note".to_owned(), |note| format!("is {note}"));
        let message = format!("bar {} {is}, the table says {note}", row.label);
        return Err(Refused::new("another_bar", message, "correct the label or the note, or leave the note empty"));
    }
    Ok(())
}

/// A new test is one of the bar as it is now.
fn not_before_a_cut(line: &SaltLine, row: &BarRow, bar: &SaltedBar) -> Result<(), Refused> {
    match line.cuts_before {
        Some(cuts) if cuts != bar.works => {
            let message = format!("the test was made after {cuts} cuts; {} has {} now", name(row), bar.works);
            let hint = "a test is entered for the bar as it is now: salt it again, and take this line out";
            Err(Refused::new("read_before_a_cut", message, hint))
        }
        _ => Ok(()),
    }
}

fn as_record(test: &Salted, bar: &SaltedBar) -> SaltRecord {
    let read = if test.face_up == bar.face { test.test } else { test.test.rolled() };
    let line = |[near, far]: [f64; 2], centre: Option<f64>| NodeLine {
        near_mm: near * 1e3,
        centre_mm: centre.map(|x_m| x_m * 1e3),
        far_mm: far * 1e3,
    };
    let [left, right] = read.centres_m;
    SaltRecord {
        face_up: test.face_up,
        left: line(read.nodes.left_m, left),
        right: line(read.nodes.right_m, right),
        photo: None,
    }
}

fn same(a: &SaltRecord, b: &SaltRecord) -> bool {
    let numbers = |salt: &SaltRecord| {
        [&salt.left, &salt.right].map(|line| [Some(line.near_mm), line.centre_mm, Some(line.far_mm)]).concat()
    };
    let alike = |(a, b): (Option<f64>, Option<f64>)| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() < SAME_MM,
        (a, b) => a.is_none() && b.is_none(),
    };
    a.face_up == b.face_up && numbers(a).into_iter().zip(numbers(b)).all(alike)
}

fn counts(plan: &[Result<Planned, Refused>]) -> [usize; 3] {
    let of = |known: bool| plan.iter().filter(|line| line.as_ref().is_ok_and(|line| line.known == known)).count();
    [of(false), of(true), plan.iter().filter(|line| line.is_err()).count()]
}

fn entered_text(plan: &[Result<Planned, Refused>], dry_run: bool) -> String {
    let mut text = String::new();
    for line in plan {
        match line {
            Ok(line) if line.known => {
                text.push_str(&format!("line {}: {}: the record has this test already\n", line.line, name(&line.row)));
            }
            Ok(line) => {
                let what = report::record::what(&Body::Salt(line.salt.clone()));
                text.push_str(&format!("line {}: {}: {what}\n", line.line, name(&line.row)));
                text.extend(line.doubts.iter().map(report::salt::doubt_text));
            }
            Err(refused) => text.push_str(&format!("{refused}\n")),
        }
    }
    let [new, known, wrong] = counts(plan);
    let verb = if dry_run { "would be entered; nothing was kept" } else { "entered" };
    let known = if known > 0 {
        format!(
            " {known} were there already; a repeated test with the very same figures is entered with `bar LABEL salt`."
        )
    } else {
        String::new()
    };
    let wrong = if wrong > 0 { format!(" {wrong} cannot be entered, and stop the others.") } else { String::new() };
    text + &format!("{new} salt tests {verb}.{known}{wrong}\n")
}

fn entered_json(plan: &[Result<Planned, Refused>], dry_run: bool) -> Value {
    let line = |line: &Result<Planned, Refused>| match line {
        Ok(line) => json!({
            "line": line.line, "bar": { "uid": line.row.uid.to_string(), "label": line.row.label, "note": line.row.note },
            "salt": line.salt, "known": line.known, "doubts": line.doubts.iter().map(report::salt::doubt_json).collect::<Vec<_>>(),
        }),
        Err(error) => json!({ "error": { "code": error.code, "message": error.message, "hint": error.hint } }),
    };
    let [new, known, wrong] = counts(plan);
    json!({ "dry_run": dry_run, "lines": plan.iter().map(line).collect::<Vec<_>>(), "new": new, "known": known, "refused": wrong })
}

/// All bars with tests that count, and the spread of all repeated ones; into a table if asked.
fn list(workshop: &Workshop, home: Option<Uid>, csv: Option<&Path>, form: Form) -> Result<String, Refused> {
    let rows = workshop.bars(&BarFilter { instrument: home, ..BarFilter::default() })?;
    let mut bars = Vec::new();
    for row in rows.iter().filter(|row| row.stage != Stage::Discarded) {
        let bar = SaltedBar::of(workshop, row.uid)?;
        if !bar.tests.is_empty() {
            bars.push((row, bar));
        }
    }
    if let Some(path) = csv {
        let mut tests = Vec::new();
        for (row, bar) in &bars {
            tests.extend(bar.tests.iter().map(|test| Kept {
                row,
                at: test.at,
                cuts_before: test.works,
                salt: as_record(test, bar),
            }));
        }
        write_new(path, &salt_table::write(&tests)?)?;
    }
    let named: Vec<(String, &SaltedBar)> = bars.iter().map(|(row, bar)| (name(row), bar)).collect();
    let means: Vec<_> = bars.iter().flat_map(|(_, bar)| bar.means()).map(|(_, mean)| mean).collect();
    let spread = SaltSpread::pooled(&means);
    Ok(form
        .put(|| report::salt_list::to_json(&named, spread), || report::salt_list::to_text(&named, spread, form.units)))
}
