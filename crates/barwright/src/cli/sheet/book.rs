//! `book`: everything there is of a job.
use super::args::BookArgs;
use super::{letterhead_of, planned, written};
use crate::cli::answer::Form;
use crate::cli::workshop::open;
use crate::error::Refused;
use crate::sheets::job::{Job, SheetKind, today};
use crate::sheets::templates::{of_plan, on_paper};
use crate::sheets::{forms, not_drawable, of_set};
use crate::tubing::{TubeNotes, TubeWishes};
use paper::document::{Document, PaperSize, Placed};
use paper::listing::{Column, Letterhead, Listing, Part, Table, pages};
use paper::tile::Tiling;
use paper::{Anchor, Drawing, Pen, Point};
use records::workshop::Kind;
use std::path::Path;
use words::tell;

/// Height of the book's page numbers: above the sheets, inside what common printers print (from memory: all but 5 mm).
const NUMBER_MM: f64 = 9.0;

/// Everything there is of a job, with bookmarks and contents.
pub(in crate::cli) fn book(at: Option<&Path>, args: &BookArgs, form: Form) -> Result<String, Refused> {
    form.on_paper(|| bound(at, args, form))
}

fn bound(at: Option<&Path>, args: &BookArgs, form: Form) -> Result<String, Refused> {
    let mut book = Document { title: tell!("title-book"), ..Document::default() };
    let paper: PaperSize = args.print.paper;
    let mut add = |listing: &Listing, letterhead: &Letterhead| -> Result<(), Refused> {
        book.append(&listing.title, pages(listing, letterhead, paper).map_err(|error| not_drawable(&error))?);
        Ok(())
    };
    let mut left_out: Vec<String> = Vec::new();
    let mut plan = None;
    if let Some(path) = &args.spec {
        let (specification, made) = planned(path)?;
        let head = letterhead_of(&specification);
        add(&crate::sheets::specification(&specification, &made, form.units), &head)?;
        add(&crate::sheets::schedule(&made, form.units)?, &head)?;
        add(&forms::blank_record(made.bars.len() + 8), &head)?;
        let target = |bar: &making::schedule::PlannedBar| {
            (bar.wanted.name.clone(), bar.wanted.ratios.iter().map(|ratio| bar.wanted.hz * ratio).collect())
        };
        add(&forms::tuning(&made.bars.iter().map(target).collect::<Vec<_>>()), &head)?;
        if args.instrument.is_none() {
            let notes = TubeNotes::of_plan(&specification)?;
            let mut wishes = TubeWishes::default();
            wishes.bank.temperature_c = specification.temperature_c;
            wishes.bank.humidity_percent = specification.humidity_percent;
            match wishes.answer(&notes.notes).and_then(|answer| of_set::tubes(&answer, form.units)) {
                Ok(listing) => add(&listing, &head)?,
                Err(why) => left_out.push(format!("{}: {} {}", SheetKind::Tubes.word(), why.message, why.hint)),
            }
        }
        plan = Some((specification, made));
    }
    if let Some(name) = &args.instrument {
        let workshop = open(at)?;
        let named = workshop.find(Kind::Instrument, name)?;
        let job = Job { workshop: &workshop, named: &named, units: form.units };
        for kind in SheetKind::ALL {
            // What is not known yet is no fault of the book: it is named, and the rest is printed.
            match job.document(kind, paper) {
                Ok(document) => {
                    let first = book.pages.len();
                    let inner = document.bookmarks.clone();
                    book.append(&document.title.clone(), document);
                    book.bookmarks.extend(inner.into_iter().skip(1).map(|(name, page)| (name, first + page)));
                }
                Err(why) => left_out.push(format!("{}: {}", kind.word(), why.message)),
            }
        }
    }
    if let (Some((specification, made)), false) = (&plan, args.no_templates) {
        let (templates, _) = of_plan(made, &specification.wood.name, 20.0);
        let document = on_paper(&templates, &Tiling { paper, ..Tiling::default() })?;
        let first = book.pages.len();
        book.bookmarks.push((tell!("title-templates"), first));
        book.bookmarks.extend(
            document
                .bookmarks
                .iter()
                .map(|(name, page)| (tell!("template-title", name = words::note(name)), first + page)),
        );
        book.pages.extend(document.pages);
    }
    let book = with_contents(book, paper)?;
    let text = written(&book, &args.print.out, form)?;
    let left: String = left_out.iter().map(|words| format!("Not in it yet: {words}\n")).collect();
    Ok(if form.json { text } else { text + &left })
}

/// The book with a table of contents before it and its own page numbers at the upper edge, outside what the sheets themselves say.
fn with_contents(book: Document, paper: PaperSize) -> Result<Document, Refused> {
    let listing = |before: usize| {
        let row = |(name, page): &(String, usize)| vec![name.clone(), (page + before + 1).to_string()];
        let columns = vec![Column::words(tell!("contents-sheet")), Column::figures(tell!("contents-page"))];
        let rows = book.bookmarks.iter().map(row).collect();
        Listing { title: tell!("contents"), parts: vec![Part::Table(Table { columns, rows })] }
    };
    let head = Letterhead { date: today(), ..Letterhead::default() };
    let printed = |before| pages(&listing(before), &head, paper).map_err(|error| not_drawable(&error));
    let before = printed(0)?.pages.len();
    let mut whole = Document { title: book.title.clone(), ..Document::default() };
    whole.append(&tell!("contents"), printed(before)?);
    whole.bookmarks.extend(book.bookmarks.iter().map(|(name, page)| (name.clone(), before + page)));
    whole.pages.extend(book.pages);
    for (number, page) in (1..).zip(&mut whole.pages) {
        let mut mark = Drawing::new(String::new(), String::new());
        let at = Point::new(page.size_mm[0] - 10.0, NUMBER_MM);
        mark.text(Pen::Text, at, Anchor::End, 4.2, format!("{number}"));
        page.parts.push(Placed::at(mark, 0.0, 0.0));
    }
    Ok(whole)
}
