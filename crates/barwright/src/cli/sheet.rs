//! `sheet` and `book`: what hangs on the wall and goes to the machines, as PDF in true size.
use super::answer::{Form, read_bar};
use super::new_file::{write_new, write_table};
use super::plan::specification_of;
use super::workshop::open;
use crate::error::Refused;
use crate::planning;
use crate::report::units::plain;
use crate::sheets::job::{Job, SheetKind, today};
use crate::sheets::templates::{Template, for_machines, of_bar, of_plan, on_paper, stations};
use crate::sheets::{forms, not_drawable, of_set};
use crate::tubing::{TubeNotes, TubeWishes};
use clap::{Args, Subcommand, ValueEnum};
use making::schedule::{InstrumentPlan, Specification};
use paper::document::{Document, PaperSize};
use paper::listing::{Letterhead, Listing, pages};
use paper::pdf;
use paper::tile::{Tiling, tile};
use records::workshop::Kind;
use serde_json::json;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(crate) struct SheetArgs {
    #[command(subcommand)]
    what: SheetCommand,
}

#[derive(Debug, Args)]
struct Print {
    /// The PDF (a new file)
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// The paper
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperWord,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PaperWord {
    A4,
    A3,
    Letter,
}

impl From<PaperWord> for PaperSize {
    fn from(word: PaperWord) -> Self {
        match word {
            PaperWord::A4 => Self::A4,
            PaperWord::A3 => Self::A3,
            PaperWord::Letter => Self::Letter,
        }
    }
}

#[derive(Debug, Subcommand)]
enum SheetCommand {
    /// Arches in true size, over several sheets where they are longer, with check bars
    Template(TemplateArgs),
    /// A page to be printed and measured, so that templates come out right
    Check(Print),
    /// The specification of a plan, to be signed
    Specification {
        /// The specification, as `plan` takes it
        spec: PathBuf,
        #[command(flatten)]
        print: Print,
    },
    /// The bar schedule of a plan
    Schedule {
        /// The specification, as `plan` takes it
        spec: PathBuf,
        #[command(flatten)]
        print: Print,
    },
    /// Lines to write blanks on
    Blanks {
        /// How many
        #[arg(long, default_value_t = 20, value_parser = clap::value_parser!(u16).range(1..=500))]
        lines: u16,
        #[command(flatten)]
        print: Print,
    },
    /// Targets of every note, and room for readings
    Tuning(OfInstrument),
    /// Node lines of every bar
    Nodes(OfInstrument),
    /// Where each bar is drilled
    Drill(OfInstrument),
    /// Tubes: stoppers, travel, what to cut
    Tubes(OfInstrument),
    /// What to look at when it is put together
    Assembly(OfInstrument),
    /// The last certificate
    Certificate(OfInstrument),
    /// What each bar needs of an instrument that is back
    Retuning(OfInstrument),
    /// Labels with note, label and a code that finds the bar, for label sheets
    Labels(LabelsArgs),
}

#[derive(Debug, Args)]
struct LabelsArgs {
    #[command(flatten)]
    of: OfInstrument,
    /// Columns and rows of a sheet of labels; they share the paper evenly
    #[arg(long, value_name = "COLUMNSxROWS", default_value = "3x8", value_parser = grid)]
    grid: [usize; 2],
    /// The first label of the first sheet to print on, from 1: sheets may be used up
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u16).range(1..=400))]
    first: u16,
    /// Where the page is reached, as http://192.0.2.7:8443: a scanned code then opens the bar; without it, it is typed or scanned into barwright
    #[arg(long, value_name = "ADDRESS", value_parser = page_address)]
    page: Option<String>,
}

fn page_address(text: &str) -> Result<String, String> {
    let wrong = || format!("\"{text}\" is no address of a page: write http:// or https://, a name and a port");
    let rest = text.strip_prefix("http://").or_else(|| text.strip_prefix("https://")).ok_or_else(wrong)?;
    let rest = rest.trim_end_matches('/');
    let plain = |letter: char| letter.is_ascii_alphanumeric() || ".:-[]".contains(letter);
    if rest.is_empty() || rest.len() > 80 || !rest.chars().all(plain) {
        return Err(wrong());
    }
    Ok(text.trim_end_matches('/').to_owned())
}

fn grid(text: &str) -> Result<[usize; 2], String> {
    let wrong = || format!("\"{text}\" is no grid: write columns and rows, e.g. 3x8");
    let (columns, rows) = text.split_once(['x', '×']).ok_or_else(wrong)?;
    let number = |word: &str| word.trim().parse::<usize>().ok().filter(|n| (1..=20).contains(n)).ok_or_else(wrong);
    Ok([number(columns)?, number(rows)?])
}

#[derive(Debug, Args)]
struct OfInstrument {
    /// The instrument in the record
    instrument: String,
    #[command(flatten)]
    print: Print,
}

#[derive(Debug, Args)]
struct TemplateArgs {
    /// The specification whose arches are drawn, or bar files (*.json)
    #[arg(required = true)]
    from: Vec<PathBuf>,
    /// Only these notes of a specification, e.g. C3,D3
    #[arg(long, value_delimiter = ',', value_name = "NOTE,…")]
    notes: Vec<String>,
    /// Distance between depth figures, in mm
    #[arg(long, value_name = "MM", default_value_t = 20.0)]
    station: f64,
    /// What your printer made of the check page's square: width and height in mm, e.g. 99.6,99.9
    #[arg(long, value_delimiter = ',', num_args = 1, value_name = "WIDTH,HEIGHT")]
    measured: Vec<f64>,
    /// The PDF (a new file)
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// The paper
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperWord,
    /// A folder for the contours as DXF and SVG, in millimetres, a layer a pen (new files)
    #[arg(long, value_name = "FOLDER")]
    machines: Option<PathBuf>,
    /// The stations as a table (a new CSV file, or *.xlsx)
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct BookArgs {
    /// The specification: specification, schedule, tuning sheet, templates, tubes
    #[arg(required_unless_present = "instrument")]
    spec: Option<PathBuf>,
    /// The instrument in the record: nodes, drill chart, tubes, certificate, retuning
    #[arg(long, value_name = "NAME")]
    instrument: Option<String>,
    /// Without the templates, which take most of the paper
    #[arg(long)]
    no_templates: bool,
    #[command(flatten)]
    print: Print,
}

pub(super) fn sheet(at: Option<&Path>, args: &SheetArgs, form: Form) -> Result<String, Refused> {
    match &args.what {
        SheetCommand::Template(template) => templates(template, form),
        SheetCommand::Check(print) => {
            let drawing = paper::sheets::check_page().map_err(|error| not_drawable(&error))?;
            let tiling = Tiling { paper: print.paper.into(), lying: false, ..Tiling::default() };
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
            put(&crate::sheets::schedule(&plan)?, &letterhead_of(&specification), print, form)
        }
        SheetCommand::Blanks { lines, print } => put(
            &forms::blank_record(usize::from(*lines)),
            &Letterhead { date: today(), ..Letterhead::default() },
            print,
            form,
        ),
        SheetCommand::Tuning(of) => of_record(at, of, SheetKind::Tuning, form),
        SheetCommand::Nodes(of) => of_record(at, of, SheetKind::Nodes, form),
        SheetCommand::Drill(of) => of_record(at, of, SheetKind::Drill, form),
        SheetCommand::Tubes(of) => of_record(at, of, SheetKind::Tubes, form),
        SheetCommand::Assembly(of) => of_record(at, of, SheetKind::Assembly, form),
        SheetCommand::Certificate(of) => of_record(at, of, SheetKind::Certificate, form),
        SheetCommand::Labels(labels) => {
            let workshop = open(at)?;
            let named = workshop.find(Kind::Instrument, &labels.of.instrument)?;
            let bars = crate::sheets::labels::of_record(&workshop, named.uid, labels.page.as_deref())?;
            let paper = labels.of.print.paper.into();
            let document = crate::sheets::labels::sheets(&bars, paper, labels.grid, usize::from(labels.first) - 1)?;
            written(&document, &labels.of.print.out, form)
        }
        SheetCommand::Retuning(of) => of_record(at, of, SheetKind::Retuning, form),
    }
}

fn planned(path: &Path) -> Result<(Specification, InstrumentPlan), Refused> {
    let (_, specification) = specification_of(path)?;
    let plan = planning::planned(&specification, None).map_err(|refused| refused.about_file(path))?;
    Ok((specification, plan))
}

fn letterhead_of(specification: &Specification) -> Letterhead {
    Letterhead {
        date: today(),
        reference: format!(
            "A4 = {} Hz at {} °C and {} %",
            plain(specification.a4_hz, 2),
            plain(specification.temperature_c, 1),
            plain(specification.humidity_percent, 0)
        ),
        ..Letterhead::default()
    }
}

fn of_record(at: Option<&Path>, of: &OfInstrument, kind: SheetKind, form: Form) -> Result<String, Refused> {
    let workshop = open(at)?;
    let named = workshop.find(Kind::Instrument, &of.instrument)?;
    let job = Job { workshop: &workshop, named: &named, units: form.units };
    written(&job.document(kind, of.print.paper.into())?, &of.print.out, form)
}

fn put(listing: &Listing, letterhead: &Letterhead, print: &Print, form: Form) -> Result<String, Refused> {
    let document = pages(listing, letterhead, print.paper.into()).map_err(|error| not_drawable(&error))?;
    written(&document, &print.out, form)
}

/// A sheet that belongs to no job, on A4.
pub(super) fn write_a4(listing: &Listing, out: &Path) -> Result<(), Refused> {
    let letterhead = Letterhead { date: today(), ..Letterhead::default() };
    let document = pages(listing, &letterhead, PaperSize::A4).map_err(|error| not_drawable(&error))?;
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

fn templates(args: &TemplateArgs, form: Form) -> Result<String, Refused> {
    if args.out.is_none() && args.machines.is_none() && args.csv.is_none() {
        return Err(Refused::new(
            "usage",
            "nothing is to be written",
            "give --out FILE, --machines FOLDER or --csv FILE",
        ));
    }
    let (templates, unmade) = gathered(args)?;
    let mut told = Vec::new();
    if let Some(folder) = &args.machines {
        let files = for_machines(&templates)?;
        std::fs::create_dir_all(folder).map_err(|error| {
            Refused::new(
                "cannot_write",
                format!("{} cannot be made: {error}", folder.display()),
                "name a folder that can be written",
            )
        })?;
        for (name, contents) in &files {
            write_new(&folder.join(name), contents.as_bytes())?;
        }
        told.push(format!("{} files in {}", files.len(), folder.display()));
    }
    if let Some(csv) = &args.csv {
        write_table(csv, &stations(&templates))?;
        told.push(csv.display().to_string());
    }
    let mut count = 0;
    if let Some(out) = &args.out {
        let document = on_paper(&templates, &tiling(args)?)?;
        count = document.pages.len();
        write_new(out, &pdf::render(&document).map_err(|error| not_drawable(&error))?)?;
        told.push(format!("{}, {count} pages", out.display()));
    }
    let left = if unmade.is_empty() {
        String::new()
    } else {
        format!("Without {}, which cannot be made.\n", unmade.join(", "))
    };
    Ok(form.put(
        || json!({ "templates": templates.iter().map(|t| &t.name).collect::<Vec<_>>(), "pages": count, "left_out": unmade }),
        || format!("Written: {}.\n{left}Print at 100 %, then measure the check bars: {}\n", told.join("; "), "100 mm and 4 in, lying and upright."),
    ))
}

fn gathered(args: &TemplateArgs) -> Result<(Vec<Template>, Vec<String>), Refused> {
    let is_bar = |path: &PathBuf| path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("json"));
    if args.from.iter().all(is_bar) {
        let read = |path: &PathBuf| {
            let file = read_bar(path)?;
            let stem =
                path.file_stem().map_or_else(|| "bar".to_owned(), |stem| stem.to_string_lossy().replace(".bar", ""));
            let name = file.note().map_or(stem, |note| note.to_string());
            of_bar(&file, &name, args.station).map_err(|refused| refused.about_file(path))
        };
        return Ok((args.from.iter().map(read).collect::<Result<_, _>>()?, Vec::new()));
    }
    let [spec] = args.from.as_slice() else {
        return Err(Refused::new(
            "usage",
            "several files, not all of them bar files",
            "give one specification, or bar files (*.json)",
        ));
    };
    let (specification, plan) = planned(spec)?;
    let words = format!("{}, {}", specification.wood.name, today());
    let (mut all, unmade) = of_plan(&plan, &words, args.station);
    if !args.notes.is_empty() {
        let wanted = args
            .notes
            .iter()
            .map(|note| Ok(note.parse::<records::Note>()?.to_string()))
            .collect::<Result<Vec<_>, Refused>>()?;
        all.retain(|template| wanted.contains(&template.name));
        if all.len() < wanted.len() {
            return Err(Refused::new(
                "no_such_note",
                "not all of these notes are among the bars that can be made",
                "name notes of the plan, e.g. --notes C3,D3",
            ));
        }
    }
    Ok((all, unmade))
}

fn tiling(args: &TemplateArgs) -> Result<Tiling, Refused> {
    let stretch = match args.measured.as_slice() {
        [] => [1.0, 1.0],
        [width, height] if (95.0..=105.0).contains(width) && (95.0..=105.0).contains(height) => {
            [100.0 / width, 100.0 / height]
        }
        _ => {
            let hint =
                "print the check page at 100 %, measure its square: two numbers from 95 to 105 mm, e.g. 99.6,99.9";
            return Err(Refused::new("out_of_range", "what was measured cannot be a square of 100 mm", hint));
        }
    };
    Ok(Tiling { paper: args.paper.into(), stretch, ..Tiling::default() })
}

/// Everything there is of a job, with bookmarks.
pub(super) fn book(at: Option<&Path>, args: &BookArgs, form: Form) -> Result<String, Refused> {
    let mut book = Document { title: "Job book".to_owned(), ..Document::default() };
    let paper: PaperSize = args.print.paper.into();
    let mut add = |name: &str, listing: &Listing, letterhead: &Letterhead| -> Result<(), Refused> {
        book.append(name, pages(listing, letterhead, paper).map_err(|error| not_drawable(&error))?);
        Ok(())
    };
    let mut left_out: Vec<String> = Vec::new();
    let mut plan = None;
    if let Some(path) = &args.spec {
        let (specification, made) = planned(path)?;
        let head = letterhead_of(&specification);
        add("Specification", &crate::sheets::specification(&specification, &made, form.units), &head)?;
        add("Bar schedule", &crate::sheets::schedule(&made)?, &head)?;
        add("Blank record", &forms::blank_record(made.bars.len() + 8), &head)?;
        let target = |bar: &making::schedule::PlannedBar| {
            (bar.wanted.name.clone(), bar.wanted.ratios.iter().map(|ratio| bar.wanted.hz * ratio).collect())
        };
        add("Tuning sheet", &forms::tuning(&made.bars.iter().map(target).collect::<Vec<_>>()), &head)?;
        if args.instrument.is_none() {
            let notes = TubeNotes::of_plan(&specification)?;
            let mut wishes = TubeWishes::default();
            wishes.bank.temperature_c = specification.temperature_c;
            wishes.bank.humidity_percent = specification.humidity_percent;
            add("Tube list", &of_set::tubes(&wishes.answer(&notes.notes)?)?, &head)?;
        }
        plan = Some((specification, made));
    }
    if let Some(name) = &args.instrument {
        let workshop = open(at)?;
        let named = workshop.find(Kind::Instrument, name)?;
        let job = Job { workshop: &workshop, named: &named, units: form.units };
        let head = job.letterhead()?;
        for kind in SheetKind::ALL {
            // What is not known yet is no fault of the book: it is named, and the rest is printed.
            match job.listing(kind) {
                Ok(listing) => add(&listing.title, &listing, &head)?,
                Err(why) => left_out.push(format!("{}: {}", kind.word(), why.message)),
            }
        }
    }
    if let (Some((specification, made)), false) = (&plan, args.no_templates) {
        let (templates, _) = of_plan(made, &specification.wood.name, 20.0);
        let document = on_paper(&templates, &Tiling { paper, ..Tiling::default() })?;
        let first = book.pages.len();
        book.bookmarks.push(("Arch templates".to_owned(), first));
        book.bookmarks.extend(document.bookmarks.iter().map(|(name, page)| (format!("Arch of {name}"), first + page)));
        book.pages.extend(document.pages);
    }
    let text = written(&book, &args.print.out, form)?;
    let left: String = left_out.iter().map(|words| format!("Not in it yet: {words}\n")).collect();
    Ok(if form.json { text } else { text + &left })
}
