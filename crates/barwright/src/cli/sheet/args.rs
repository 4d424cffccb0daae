//! What `sheet` and `book` are asked with.
use crate::cli::args::SawSettings;
use clap::{Args, Subcommand};
use paper::document::PaperSize;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct SheetArgs {
    #[command(subcommand)]
    pub(super) what: SheetCommand,
}

#[derive(Debug, Args)]
pub(super) struct Print {
    /// The PDF (a new file)
    #[arg(long, value_name = "FILE")]
    pub(super) out: PathBuf,
    /// The paper: a4, a3, letter, or a roll of a width in mm, e.g. roll:610
    #[arg(long, value_name = "PAPER", default_value = "a4", value_parser = paper_size)]
    pub(super) paper: PaperSize,
}

fn paper_size(text: &str) -> Result<PaperSize, String> {
    let wrong =
        || format!("\"{text}\" is no paper: a4, a3, letter, or roll:WIDTH in mm from 200 to 1600, e.g. roll:610");
    match text.to_ascii_lowercase().as_str() {
        "a4" => Ok(PaperSize::A4),
        "a3" => Ok(PaperSize::A3),
        "letter" => Ok(PaperSize::Letter),
        other => {
            let width = other.strip_prefix("roll:").and_then(|word| word.parse::<u16>().ok());
            width.filter(|mm| (200..=1600).contains(mm)).map(PaperSize::Roll).ok_or_else(wrong)
        }
    }
}

#[derive(Debug, Subcommand)]
pub(super) enum SheetCommand {
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
    /// Blanks and boards as they lie on the rack, boards drawn
    Stock(StockSheetArgs),
    /// Boards with the blanks of a plan and the order of the cuts; other allowances: cutlist --sheet
    Cutlist(CutSheetArgs),
    /// Saw steps of a bar file's arch, on the saw's own scale
    Saw(SawSheetArgs),
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
    /// Rails, posts and the frame's wood, with the end boards in true size
    Frame(OfInstrument),
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
pub(super) struct StockSheetArgs {
    /// Blanks from a table (CSV) instead of the workshop's record; docs/wood.md shows its columns
    #[arg(long, value_name = "FILE")]
    pub(super) blanks: Option<PathBuf>,
    /// Boards from a TOML file instead of the record; docs/cutlist.md shows its keys
    #[arg(long, value_name = "FILE")]
    pub(super) boards: Option<PathBuf>,
    #[command(flatten)]
    pub(super) print: Print,
}

#[derive(Debug, Args)]
pub(super) struct CutSheetArgs {
    /// The specification, as `plan` takes it
    pub(super) spec: PathBuf,
    /// The boards: a TOML file; without it those of the record
    #[arg(long, value_name = "FILE")]
    pub(super) boards: Option<PathBuf>,
    /// The PDF (a new file, A4)
    #[arg(long, value_name = "FILE")]
    pub(super) out: PathBuf,
}

#[derive(Debug, Args)]
pub(super) struct SawSheetArgs {
    /// The bar file
    pub(super) bar: PathBuf,
    /// The PDF (a new file, A4)
    #[arg(long, value_name = "FILE")]
    pub(super) out: PathBuf,
    #[command(flatten)]
    pub(super) saw: SawSettings,
}

#[derive(Debug, Args)]
pub(super) struct LabelsArgs {
    #[command(flatten)]
    pub(super) of: OfInstrument,
    /// Columns and rows of a sheet of labels; they share the paper evenly
    #[arg(long, value_name = "COLUMNSxROWS", default_value = "3x8", value_parser = grid)]
    pub(super) grid: [usize; 2],
    /// The first label of the first sheet to print on, from 1: sheets may be used up
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u16).range(1..=400))]
    pub(super) first: u16,
    /// Where the page is reached, as http://192.0.2.7:8443: a scanned code then opens the bar; without it, it is typed or scanned into barwright
    #[arg(long, value_name = "ADDRESS", value_parser = page_address)]
    pub(super) page: Option<String>,
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

fn stock_size(text: &str) -> Result<[f64; 2], String> {
    let wrong = || format!("\"{text}\" is no size: write length and width in mm, from 100 to 3000, e.g. 600x400");
    let (length, width) = text.split_once(['x', '×']).ok_or_else(wrong)?;
    let number =
        |word: &str| word.trim().parse::<f64>().ok().filter(|mm| (100.0..=3000.0).contains(mm)).ok_or_else(wrong);
    let [length, width] = [number(length)?, number(width)?];
    if width > 1000.0 {
        return Err(format!("a sheet {width} mm wide is too wide to be nested: at most 1000 mm, cut it first"));
    }
    Ok([length, width])
}

fn gap(text: &str) -> Result<f64, String> {
    let wrong = || format!("\"{text}\" is out of range: from 0.5 to 10 mm");
    text.parse::<f64>().ok().filter(|mm| (0.5..=10.0).contains(mm)).ok_or_else(wrong)
}

#[derive(Debug, Args)]
pub(super) struct OfInstrument {
    /// The instrument in the record
    pub(super) instrument: String,
    #[command(flatten)]
    pub(super) print: Print,
}

#[derive(Debug, Args)]
pub(super) struct TemplateArgs {
    /// The specification whose arches are drawn, or bar files (*.json)
    #[arg(required = true)]
    pub(super) from: Vec<PathBuf>,
    /// Only these notes of a specification, e.g. C3,D3
    #[arg(long, value_delimiter = ',', value_name = "NOTE,…")]
    pub(super) notes: Vec<String>,
    /// Distance between depth figures, in mm
    #[arg(long, value_name = "MM", default_value_t = 20.0)]
    pub(super) station: f64,
    /// What your printer made of the check page's square: width and height in mm, e.g. 99.6,99.9
    #[arg(long, value_delimiter = ',', num_args = 1, value_name = "WIDTH,HEIGHT")]
    pub(super) measured: Vec<f64>,
    /// The PDF (a new file)
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
    /// The paper: a4, a3, letter, or a roll of a width in mm, e.g. roll:610
    #[arg(long, value_name = "PAPER", default_value = "a4", value_parser = paper_size)]
    pub(super) paper: PaperSize,
    /// A folder for the contours as DXF and SVG, in millimetres, a layer a pen (new files)
    #[arg(long, value_name = "FOLDER")]
    pub(super) machines: Option<PathBuf>,
    /// Lay the contours close together on sheets of this size in mm, one file a sheet, e.g. 600x400
    #[arg(long, value_name = "LENGTHxWIDTH", requires = "machines", value_parser = stock_size)]
    pub(super) nest: Option<[f64; 2]>,
    /// Left between two contours of a nest, in mm: the tool's width and what holds
    #[arg(long, value_name = "MM", default_value_t = 6.0, value_parser = gap)]
    pub(super) gap: f64,
    /// Left free along the edges of a nest's sheets, in mm
    #[arg(long, value_name = "MM", default_value_t = 8.0, value_parser = gap)]
    pub(super) edge: f64,
    /// The stations as a table (a new CSV file, or *.xlsx)
    #[arg(long, value_name = "FILE")]
    pub(super) csv: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct BookArgs {
    /// The specification: specification, schedule, tuning sheet, templates, tubes
    #[arg(required_unless_present = "instrument")]
    pub(super) spec: Option<PathBuf>,
    /// The instrument in the record: nodes, drill chart, tubes, certificate, retuning
    #[arg(long, value_name = "NAME")]
    pub(super) instrument: Option<String>,
    /// Without the templates, which take most of the paper
    #[arg(long)]
    pub(super) no_templates: bool,
    #[command(flatten)]
    pub(super) print: Print,
}
