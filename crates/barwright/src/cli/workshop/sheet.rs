//! `import` of a maker's own list of bars.
use super::args::ImportArgs;
use super::lists::bare;
use crate::cli::answer::Form;
use crate::error::Refused;
use jiff::Timestamp;
use records::workshop::{Column, Kind, Matching, PlannedBar, RecordError, Sheet, Workshop};
use serde_json::{Value, json};

/// Shows how the columns are read and what each row becomes; enters the bars unless it is a dry run. One row that cannot
/// be a bar stops the whole import.
pub(super) fn import(workshop: &mut Workshop, args: &ImportArgs, form: Form) -> Result<String, Refused> {
    let sheet = Sheet::read(&args.from)?;
    let matching = matching(&sheet, &args.columns)?;
    let plan = sheet.plan(&matching, bare(form.units))?;
    let home = args.instrument.as_deref().map(|name| workshop.find(Kind::Instrument, name)).transpose()?;
    let wrong = plan.iter().filter(|row| row.is_err()).count();
    if !args.dry_run && wrong > 0 {
        let first = plan.iter().enumerate().find_map(|(number, row)| Some((number, row.as_ref().err()?)));
        let told = first.map_or(String::new(), |(number, error)| format!("; row {}: {error}", number + 2));
        let message = format!("{wrong} of {} rows cannot be bars{told}", plan.len());
        return Err(Refused::new("wrong_rows", message, "see all of them with --dry-run; nothing was entered"));
    }
    if !args.dry_run {
        let bars: Vec<PlannedBar> = plan.iter().filter_map(|row| row.as_ref().ok()).cloned().collect();
        workshop.enter_planned(&bars, home.map(|named| named.uid), Timestamp::now())?;
    }
    Ok(form.put(|| to_json(args, &sheet, &matching, &plan), || to_text(args, &sheet, &matching, &plan)))
}

fn matching(sheet: &Sheet, said: &[String]) -> Result<Matching, Refused> {
    let mut matching = sheet.guess();
    for text in said {
        let column = text.split_once('=').and_then(|(word, heading)| Some((Column::named(word)?, heading)));
        let Some((column, heading)) = column else {
            let message = format!("\"{text}\" names no column");
            return Err(Refused::new("wrong_column", message, "write e.g. label=Nr or length=\"L in mm\""));
        };
        let place = sheet.column_of(heading)?;
        matching.retain(|_, used| *used != place);
        matching.insert(column, place);
    }
    Ok(matching)
}

type Row = Result<PlannedBar, RecordError>;

fn to_text(args: &ImportArgs, sheet: &Sheet, matching: &Matching, plan: &[Row]) -> String {
    let mut text = String::new();
    for (column, place) in matching {
        text.push_str(&format!("{:<12} from \"{}\"\n", column.word(), sheet.headings[*place]));
    }
    let unused = (0..sheet.headings.len()).filter(|place| matching.values().all(|used| used != place));
    for place in unused {
        text.push_str(&format!("not used:    \"{}\"\n", sheet.headings[place]));
    }
    for (number, row) in plan.iter().enumerate() {
        match row {
            Ok(bar) => {
                let note = bar.note.as_ref().map_or(String::new(), |note| format!(" for {note}"));
                text.push_str(&format!("row {}: bar {}{note}\n", number + 2, bar.label));
            }
            Err(error) => text.push_str(&format!("row {}: cannot be a bar. {error}\n", number + 2)),
        }
    }
    let good = plan.iter().filter(|row| row.is_ok()).count();
    let verb = if args.dry_run { "would be entered; nothing was kept" } else { "are entered" };
    text.push_str(&format!("{good} of {} rows {verb}.\n", plan.len()));
    text
}

fn to_json(args: &ImportArgs, sheet: &Sheet, matching: &Matching, plan: &[Row]) -> Value {
    let columns: serde_json::Map<String, Value> =
        matching.iter().map(|(column, place)| (column.word().to_owned(), json!(sheet.headings[*place]))).collect();
    let row = |row: &Row| match row {
        Ok(bar) => json!({ "label": bar.label, "note": bar.note }),
        Err(error) => json!({ "error": { "code": error.code, "message": error.message, "hint": error.hint } }),
    };
    json!({ "dry_run": args.dry_run, "columns": columns, "rows": plan.iter().map(row).collect::<Vec<_>>() })
}
