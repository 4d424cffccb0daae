//! `sheet` and `book`: what hangs on the wall and goes to the machines, as PDF in true size.
mod args;
mod book;
mod templates;

pub(crate) use args::{BookArgs, SheetArgs};
pub(super) use book::book;

use super::answer::{Form, Subject};
use super::args::SawWanted;
use super::cutlist::{CutlistArgs, boards};
use super::new_file::write_new;
use super::plan::specification_of;
use super::workshop::open;
use crate::error::Refused;
use crate::planning;
use crate::report::units::plain;
use crate::sheets::job::{Job, SheetKind, today};
use crate::sheets::{forms, not_drawable};
use args::{OfInstrument, Print, SheetCommand, StockSheetArgs};
use making::schedule::{InstrumentPlan, Specification};
use paper::document::{Document, PaperSize};
use paper::listing::{Letterhead, Listing, pages};
use paper::pdf;
use paper::tile::{Tiling, tile};
use records::workshop::Kind;
use serde_json::json;
use std::path::Path;
use words::tell;

pub(super) fn sheet(at: Option<&Path>, args: &SheetArgs, form: Form) -> Result<String, Refused> {
    form.on_paper(|| printed(at, args, form))
}

fn printed(at: Option<&Path>, args: &SheetArgs, form: Form) -> Result<String, Refused> {
    match &args.what {
        SheetCommand::Template(template) => templates::templates(template, form),
        SheetCommand::Check(print) => {
            let drawing = paper::sheets::check_page().map_err(|error| not_drawable(&error))?;
            let tiling = Tiling { paper: print.paper, lying: false, ..Tiling::default() };
            let document = tile(&drawing, &tiling).map_err(|error| not_drawable(&error))?;
            written(&document, &print.out, form)
        }
        SheetCommand::Specification { spec, print } => {
            let (specification, plan) = planned(spec)?;
            let listing = crate::sheets::specification(&specification, &plan, form.units);
            put(&listing, &letterhead_of(&specification), print, form)
        }
        SheetCommand::Schedule { spec, print } => {
            let (specification, plan) = planned(spec)?;
            put(&crate::sheets::schedule(&plan, form.units)?, &letterhead_of(&specification), print, form)
        }
        SheetCommand::Stock(stock) => stock_sheet(at, stock, form),
        SheetCommand::Cutlist(cuts) => {
            let asked = CutlistArgs::on_paper(cuts.spec.clone(), cuts.boards.clone(), cuts.out.clone());
            super::cutlist::cutlist(at, &asked, form)
        }
        SheetCommand::Saw(saw) => {
            let wanted = SawWanted { picture: None, sheet: Some(saw.out.clone()), saw: saw.saw.clone() };
            super::arch::saw(&Subject::read(&saw.bar)?, &wanted, form)
        }
        SheetCommand::Blanks { lines, print } => put(
            &forms::blank_record(usize::from(*lines)),
            &Letterhead { date: today(), ..Letterhead::default() },
            print,
            form,
        ),
        SheetCommand::Tuning(of) => of_record(at, of, SheetKind::Tuning, form),
        SheetCommand::Nodes(of) => of_record(at, of, SheetKind::Nodes, form),
        SheetCommand::Frame(of) => of_record(at, of, SheetKind::Frame, form),
        SheetCommand::Drill(of) => of_record(at, of, SheetKind::Drill, form),
        SheetCommand::Tubes(of) => of_record(at, of, SheetKind::Tubes, form),
        SheetCommand::Assembly(of) => of_record(at, of, SheetKind::Assembly, form),
        SheetCommand::Certificate(of) => of_record(at, of, SheetKind::Certificate, form),
        SheetCommand::Labels(labels) => {
            let workshop = open(at)?;
            let named = workshop.find(Kind::Instrument, &labels.of.instrument)?;
            let bars = crate::sheets::labels::of_record(&workshop, named.uid, labels.page.as_deref())?;
            let paper = labels.of.print.paper;
            let document = crate::sheets::labels::sheets(&bars, paper, labels.grid, usize::from(labels.first) - 1)?;
            written(&document, &labels.of.print.out, form)
        }
        SheetCommand::Retuning(of) => of_record(at, of, SheetKind::Retuning, form),
    }
}

fn stock_sheet(at: Option<&Path>, args: &StockSheetArgs, form: Form) -> Result<String, Refused> {
    // Of the two one may be missing: the sheet shows what there is.
    let missing = |refused: Refused| {
        if matches!(refused.code.as_str(), "no_blanks" | "no_boards") { Ok(()) } else { Err(refused) }
    };
    let known = match (&args.blanks, &args.boards) {
        (None, Some(_)) => Vec::new(),
        (table, _) => super::stock::known(at, table.as_deref(), false).or_else(|r| missing(r).map(|()| Vec::new()))?,
    };
    let (boards, unknown) = match (&args.blanks, &args.boards) {
        (_, Some(path)) => (boards::read(path)?, Vec::new()),
        (Some(_), None) => (Vec::new(), Vec::new()),
        (None, None) => boards::of_record(&open(at)?).or_else(|r| missing(r).map(|()| (Vec::new(), Vec::new())))?,
    };
    if known.is_empty() && boards.is_empty() {
        let hint = "enter blanks (`barwright bar LABEL new …`) or boards (`barwright board NAME …`), or give tables";
        return Err(Refused::new(
            "no_wood",
            "the record knows no blank without a note and no board with its size",
            hint,
        ));
    }
    let lines = super::stock::graded(&known);
    let listing = crate::sheets::stock::stock(&lines, &boards, &unknown, form.units)?;
    put(&listing, &Letterhead { date: today(), ..Letterhead::default() }, &args.print, form)
}

fn planned(path: &Path) -> Result<(Specification, InstrumentPlan), Refused> {
    let (_, specification) = specification_of(path)?;
    let plan = planning::planned(&specification, None).map_err(|refused| refused.about_file(path))?;
    Ok((specification, plan))
}

fn letterhead_of(specification: &Specification) -> Letterhead {
    Letterhead {
        date: today(),
        reference: tell!(
            "pitch-at-air",
            hz = plain(specification.a4_hz, 2),
            air = crate::report::climate::air_words(making::climate::Air {
                temperature_c: specification.temperature_c,
                humidity_percent: Some(specification.humidity_percent),
            }),
        ),
        ..Letterhead::default()
    }
}

fn of_record(at: Option<&Path>, of: &OfInstrument, kind: SheetKind, form: Form) -> Result<String, Refused> {
    let workshop = open(at)?;
    let named = workshop.find(Kind::Instrument, &of.instrument)?;
    let job = Job { workshop: &workshop, named: &named, units: form.units };
    written(&job.document(kind, of.print.paper)?, &of.print.out, form)
}

fn put(listing: &Listing, letterhead: &Letterhead, print: &Print, form: Form) -> Result<String, Refused> {
    let document = pages(listing, letterhead, print.paper).map_err(|error| not_drawable(&error))?;
    written(&document, &print.out, form)
}

/// A sheet that belongs to no job, on A4.
pub(super) fn write_a4(
    form: Form,
    listing: impl FnOnce() -> Result<Listing, Refused>,
    out: &Path,
) -> Result<(), Refused> {
    let letterhead = Letterhead { date: today(), ..Letterhead::default() };
    let document =
        form.on_paper(|| pages(&listing()?, &letterhead, PaperSize::A4).map_err(|error| not_drawable(&error)))?;
    write_new(out, &pdf::render(&document).map_err(|error| not_drawable(&error))?)
}

fn written(document: &Document, out: &Path, form: Form) -> Result<String, Refused> {
    let bytes = pdf::render(document).map_err(|error| not_drawable(&error))?;
    write_new(out, &bytes)?;
    let (count, size) = (document.pages.len(), bytes.len());
    let word = if count == 1 { "page" } else { "pages" };
    Ok(form.put(
        || json!({ "file": out.display().to_string(), "pages": count, "bytes": size, "bookmarks": document.bookmarks.iter().map(|(name, _)| name).collect::<Vec<_>>() }),
        || format!("Written: {}, {count} {word}. Print at 100 %, no fitting to the page.\n", out.display()),
    ))
}
