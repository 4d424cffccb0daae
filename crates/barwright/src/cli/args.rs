//! The arguments, as clap reads them.
use super::assign::AssignArgs;
use super::calendar::CalendarArgs;
use super::certificate::CertificateArgs;
use super::climate::ClimateArgs;
use super::cutlist::CutlistArgs;
use super::doctor::DoctorArgs;
use super::fine::FineArgs;
use super::frame::{DrillArgs, FrameArgs, RailsArgs};
use super::plan::PlanArgs;
use super::retune::RetuneArgs;
use super::sheet::{BookArgs, SheetArgs};
use super::stock::StockArgs;
use super::tubes::TubesArgs;
use super::workshop::{BarArgs, BarsArgs, BoardArgs, ImportArgs, InstrumentCommand, SaltArgs, WorkshopCommand};
use crate::report::units::Units;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;
use strike::StrikePlace;

/// Advice for makers of tuned wooden bar instruments: where to cut next, and how much.
#[derive(Debug, Parser)]
#[command(name = "barwright", version, about)]
pub(crate) struct Cli {
    /// Answer as JSON; errors too
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Units of length in text
    #[arg(long, global = true, value_enum, default_value_t)]
    pub(crate) units: Units,
    /// Language of sheets (`sheet`, `book`, `--sheet`): en or de; answers stay English
    #[arg(long, global = true, value_name = "LANGUAGE", default_value = "en", value_parser = language)]
    pub(crate) language: words::Language,
    /// The workshop's folder; else BARWRIGHT_WORKSHOP, else the usual place for this user's data
    #[arg(long, global = true, value_name = "FOLDER")]
    pub(crate) workshop: Option<PathBuf>,
    #[command(subcommand)]
    pub(crate) command: Command,
}

fn language(tag: &str) -> Result<words::Language, String> {
    words::Language::of_tag(tag).ok_or_else(|| {
        let known: Vec<&str> = words::Language::ALL.iter().map(|language| language.tag()).collect();
        format!("there is no catalogue for \"{tag}\": {}", known.join(" or "))
    })
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Plan an instrument before the first cut: every bar's size, arch and nodes, rails, wood
    Plan(PlanArgs),
    /// When a planned instrument could be done: hours, rests, dates
    Calendar(CalendarArgs),
    /// The blanks without a note: what each is good for, and how far it is from rest
    Stock(StockArgs),
    /// Which blank becomes which bar of a plan
    Assign(AssignArgs),
    /// The blanks of a planned instrument out of the boards at hand, around their defects
    Cutlist(CutlistArgs),
    /// Modes, node lines and sensitivity of the bar in a bar file
    Modes(ModesArgs),
    /// Hear the modes of a struck bar in recordings
    Listen(ListenArgs),
    /// How far a recorder's clock is off, from a recording of a known steady tone
    Clock(ClockArgs),
    /// Where to cut next, how much, and what will happen
    Next {
        /// Bar file with a log
        bar: PathBuf,
        /// The stage to work for; else as the file's headroom says
        #[arg(long, value_enum)]
        stage: Option<StageArg>,
    },
    /// Draw the arch: stations, modes, torsion; several bars of a row are designed together, bass to treble
    Arch(ArchArgs),
    /// Saw steps for the arch: blade heights, stops, kerfs, in order
    Saw(SawArgs),
    /// Is this bar lost, and what could it still be?
    Rescue(RescueArgs),
    /// Four straight rails under the nodes of all bars
    Rails(RailsArgs),
    /// What the frame is made of: rails, end boards, posts, with lengths and angles
    Frame(FrameArgs),
    /// Where each bar's cord holes go, from the rails as built
    Drill(DrillArgs),
    /// A whole set before its last strokes: which bars are good enough, where the last strokes go, is it even
    Fine(FineArgs),
    /// The tuning certificate of an instrument: give, show, verify
    Certificate(CertificateArgs),
    /// An instrument that is back: how far every bar went, and what each needs
    Retune(RetuneArgs),
    /// A sheet for the wall or the machine, as PDF: templates, schedule, drill chart, tubes, certificate, …
    Sheet(SheetArgs),
    /// The whole job book as one PDF with bookmarks
    Book(BookArgs),
    /// Temperature and humidity: what bars read today, what reference bars taught, another hall, a warm bar
    Climate(ClimateArgs),
    /// Closed tubes under the bars: stoppers, travel over temperature, what to cut; what a heard tube tells
    Tubes(TubesArgs),
    /// Tune invented bars with the advice and a clumsy invented hand, and count what becomes of them
    Rehearse(RehearseArgs),
    /// Say whether a bar file, or the whole workshop's record, is sound
    Check {
        /// Bar file; the workshop if missing
        bar: Option<PathBuf>,
    },
    /// One bar of the workshop: enter what happens to it, ask what is next
    Bar(BarArgs),
    /// The bars of the workshop
    Bars(BarsArgs),
    /// The salt tests of all bars: how well they are read, into a table, or entered from one
    Salt(SaltArgs),
    /// The workshop: what there is to do, and setting one up
    Workshop {
        #[command(subcommand)]
        what: Option<WorkshopCommand>,
    },
    /// Instruments ordered, delivered and come back
    Instrument {
        #[command(subcommand)]
        what: InstrumentCommand,
    },
    /// Enter a board
    Board(BoardArgs),
    /// Enter somebody who works here
    Person {
        /// Name
        name: String,
    },
    /// Enter a belt or another tool
    Tool {
        /// Name, e.g. "belt sander, 80 grit"
        name: String,
        /// Grit of the belt
        #[arg(long)]
        grit: Option<u32>,
    },
    /// Copy the whole workshop to a folder, while it may be in use, and verify the copy
    Backup {
        /// The copy's folder, best on another disk
        to: PathBuf,
    },
    /// Bring a backup back into a new folder
    Restore {
        /// The backup: its folder or a copy of the record (*.db)
        from: PathBuf,
        /// The new folder
        into: PathBuf,
    },
    /// Write everything into one archive that any program can read
    Export {
        /// The archive, e.g. workshop.zip (a new file)
        to: PathBuf,
    },
    /// Bring in an archive, a list of bars, or a folder of recordings
    Import(ImportArgs),
    /// Listen again to every kept take and say what would read differently
    Relisten,
    /// Print the JSON Schema of a bar file, or of what an exported archive holds
    Schema {
        /// Of what
        #[arg(value_enum, default_value_t)]
        of: SchemaOf,
    },
    /// An invented workshop: a simulated bar is struck, heard, advised and cut until it is tuned
    Demo(DemoArgs),
    /// Open the local page on the workshop's record, or on one bar file
    Serve(ServeArgs),
    /// Whether this computer and the workshop's folder are fit for the work; what to send to whoever helps
    Doctor(DoctorArgs),
    /// Licences of everything that barwright is built with
    Licences,
    /// The manual: its contents, a page, or what of it answers; the page shows the same at /manual
    Manual {
        /// A page, by its name in the contents
        page: Option<String>,
        /// Words to look for
        #[arg(long, value_name = "WORDS")]
        find: Option<String>,
    },
    /// Write the manual pages (man 1) of all commands into a folder
    Man {
        /// The folder; it is made if it is not there
        to: PathBuf,
    },
    /// Print completions for a shell, to be sourced by it
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// The phones and tablets paired with the workshop
    Devices {
        #[command(subcommand)]
        what: Option<DevicesCommand>,
    },
}

/// A stage of the tuning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum StageArg {
    /// A semitone above the targets, or the file's own headroom if it has more than half of that
    Rough,
    /// To the targets
    Fine,
}

#[derive(Debug, Args)]
pub(crate) struct ModesArgs {
    /// Bar file
    pub(crate) bar: PathBuf,
    #[command(flatten)]
    pub(crate) wanted: ModesWanted,
}

/// What is wanted beside the modes.
#[derive(Debug, Args)]
pub(crate) struct ModesWanted {
    /// Add the table of what moves which mode
    #[arg(long)]
    pub(crate) table: bool,
    /// Add how much the top face moves at a place, relative to the centre: millimetres from the left end, and from
    /// the middle of the width (far is positive), e.g. 92.5 or 92.5,-20
    #[arg(long, value_name = "X[,Y]", allow_hyphen_values = true)]
    pub(crate) at: Vec<Place>,
    /// Write the mode shapes as CSV and SVG into this folder (new files)
    #[arg(long, value_name = "FOLDER")]
    pub(crate) shapes: Option<PathBuf>,
}

/// A place on the top face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// From the left end.
    pub x_mm: f64,
    /// From the middle of the width; far is positive.
    pub y_mm: f64,
}

impl std::str::FromStr for Place {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let (x, y) = text.split_once(',').unwrap_or((text, "0"));
        let number = |word: &str| match word.trim().parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(value),
            _ => Err(format!("\"{word}\" is not a number of millimetres: write 92.5 or 92.5,-20")),
        };
        Ok(Self { x_mm: number(x)?, y_mm: number(y)? })
    }
}

#[derive(Debug, Args)]
pub(crate) struct ListenArgs {
    /// Recordings of the same bar: WAV, FLAC, MP3, M4A, Ogg Vorbis, AIFF
    #[arg(required_unless_present = "folder", conflicts_with = "folder")]
    pub(crate) takes: Vec<PathBuf>,
    /// Hear every recording in this folder by itself; the answer is a table (CSV)
    #[arg(long, value_name = "FOLDER")]
    pub(crate) folder: Option<PathBuf>,
    /// Write the table of --folder here (a new file)
    #[arg(long, value_name = "FILE", requires = "folder")]
    pub(crate) csv: Option<PathBuf>,
    /// Draw each take here as SVG: sound, spectrum, decays (new files)
    #[arg(long, value_name = "FILE", conflicts_with = "folder")]
    pub(crate) picture: Option<PathBuf>,
    /// Bar file whose predictions name the modes
    #[arg(long)]
    pub(crate) bar: Option<PathBuf>,
    /// Note the bar is meant for, e.g. C3
    #[arg(long)]
    pub(crate) note: Option<String>,
    /// Where the bar was struck: once for all takes, or one place a take, e.g. centre,corner
    #[arg(long, value_enum, value_delimiter = ',')]
    pub(crate) struck: Vec<Struck>,
    /// By how many parts per million the recorder's clock runs fast (see `clock`)
    #[arg(long, value_name = "PPM", allow_negative_numbers = true)]
    pub(crate) clock_ppm: Option<f64>,
}

#[derive(Debug, Args)]
pub(crate) struct ClockArgs {
    /// A recording of a steady reference tone, half a minute long
    pub(crate) tone: PathBuf,
    /// Frequency of the reference tone in hertz
    #[arg(long)]
    pub(crate) hz: f64,
    /// Standard uncertainty of the reference in parts per million
    #[arg(long, value_name = "PPM", default_value_t = 1.0)]
    pub(crate) reference_ppm: f64,
    /// Keep the answer in the workshop's record for this recorder (entered with `tool`)
    #[arg(long = "of", value_name = "RECORDER")]
    pub(crate) recorder: Option<String>,
}

/// What a schema describes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub(crate) enum SchemaOf {
    /// A bar file
    #[default]
    Bar,
    /// A line of events.jsonl in an archive
    Event,
    /// manifest.json in an archive
    Manifest,
}

/// Where the bar was struck.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Struck {
    /// The middle of length and width
    Centre,
    /// A quarter of the length from an end
    Quarter,
    /// A corner of an end
    Corner,
    /// The middle of an end
    End,
}

impl From<Struck> for StrikePlace {
    fn from(struck: Struck) -> Self {
        match struck {
            Struck::Centre => Self::Centre,
            Struck::Quarter => Self::Quarter,
            Struck::Corner => Self::Corner,
            Struck::End => Self::End,
        }
    }
}

/// Arguments of `demo`.
#[derive(Debug, Clone, Args)]
pub struct DemoArgs {
    /// Seed of the invented bar and of the hand that cuts it
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Note of the bar
    #[arg(long, default_value = "C3")]
    pub note: String,
    /// Write the bar file here (a new file)
    #[arg(long)]
    pub bar_out: Option<PathBuf>,
    /// Instead: a whole invented marimba C2-C7, tuned and certified, played for so many years, brought back and retuned
    #[arg(long, value_name = "YEARS", value_parser = clap::value_parser!(i64).range(1..=40), conflicts_with_all = ["note", "bar_out"])]
    pub years: Option<i64>,
    /// Do not open a browser
    #[arg(long)]
    pub no_open: bool,
    /// End after the table of bouts, without the page
    #[arg(long)]
    pub no_serve: bool,
    /// Port of the page on 127.0.0.1; 0 takes a free one
    #[arg(long, default_value_t = 0)]
    pub port: u16,
}

#[derive(Debug, Args)]
pub(crate) struct RehearseArgs {
    /// Number of invented bars, spread evenly over the notes
    #[arg(long, default_value_t = 61, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub(crate) bars: u32,
    /// Seed of the first bar and hand; each further bar has the next one
    #[arg(long, default_value_t = 7)]
    pub(crate) seed: u64,
    /// Lowest and highest note, within C2-C7
    #[arg(long, default_value = "C2-C7", value_name = "LOW-HIGH")]
    pub(crate) notes: String,
    /// Rehearse plain greedy advice on the same bars as well, side by side
    #[arg(long)]
    pub(crate) greedy: bool,
}

#[derive(Debug, Args)]
pub(crate) struct ServeArgs {
    /// Bar file; what is entered on the page is saved to it. Without one, the page is about the workshop's record
    pub(crate) bar: Option<PathBuf>,
    /// Port of the page on 127.0.0.1; 0 takes a free one
    #[arg(long, default_value_t = 0)]
    pub(crate) port: u16,
    /// Do not open a browser
    #[arg(long)]
    pub(crate) no_open: bool,
    /// Let paired phones and tablets of the workshop's network in as well, over HTTPS, at this private address of this
    /// computer: 192.168.1.20 or 192.168.1.20:8443; looked for if left out
    #[arg(long, value_name = "ADDRESS", conflicts_with = "bar")]
    pub(crate) lan: Option<Option<String>>,
}

/// What shall be done about the paired devices.
#[derive(Debug, Subcommand)]
pub(crate) enum DevicesCommand {
    /// Show them (as without a word)
    List,
    /// Take a device's leave to come in; what it has open is closed within a second
    Revoke {
        /// Its name or id, as the list shows it
        device: String,
    },
}

#[derive(Debug, Args)]
pub(crate) struct ArchArgs {
    /// Bar file of the blank, with its readings; several are a row
    #[arg(required = true)]
    pub(crate) bars: Vec<PathBuf>,
    #[command(flatten)]
    pub(crate) wanted: ArchWanted,
}

/// What the arch shall be like.
#[derive(Debug, Args)]
pub(crate) struct ArchWanted {
    /// Ratios of the tuned modes, e.g. 1,4,10 or 1,4,10.08 or 1,3; those of the file if missing
    #[arg(long, value_delimiter = ',', value_name = "R,…")]
    pub(crate) ratios: Vec<f64>,
    /// Cents above the target, one for each tuned mode, e.g. 100,105,95; that of the file if missing
    #[arg(long, value_delimiter = ',', value_name = "CENTS,…", allow_negative_numbers = true)]
    pub(crate) headroom: Vec<f64>,
    /// The neighbour whose arch is to be traced: its bar file; in the workshop its note or label
    #[arg(long, value_name = "BAR")]
    pub(crate) neighbour: Option<String>,
    /// Full thickness kept at each end, in mm; a tenth of the length if missing
    #[arg(long, value_name = "MM")]
    pub(crate) end: Option<f64>,
    /// Distance between stations, in mm
    #[arg(long, value_name = "MM", default_value_t = 20.0, value_parser = stations)]
    pub(crate) station: f64,
    /// Warn when torsion comes nearer than this to a tuned mode, in cents
    #[arg(long, value_name = "CENTS", conflicts_with = "torsion_hz")]
    pub(crate) torsion_cents: Option<f64>,
    /// … or in hertz
    #[arg(long, value_name = "HZ")]
    pub(crate) torsion_hz: Option<f64>,
    /// Write a picture of the arch (a new SVG file)
    #[arg(long, value_name = "FILE")]
    pub(crate) picture: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) saw: SawSettings,
}

#[derive(Debug, Args)]
pub(crate) struct SawArgs {
    /// Bar file of the blank, with its readings
    pub(crate) bar: PathBuf,
    #[command(flatten)]
    pub(crate) wanted: SawWanted,
}

/// The saw, and a picture.
#[derive(Debug, Args)]
pub(crate) struct SawWanted {
    /// Write a picture of the steps under the arch (a new SVG file)
    #[arg(long, value_name = "FILE")]
    pub(crate) picture: Option<PathBuf>,
    /// Write the steps as a sheet for the saw (a new PDF file, A4)
    #[arg(long, value_name = "FILE")]
    pub(crate) sheet: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) saw: SawSettings,
}

/// The saw and its user.
#[derive(Debug, Clone, Args)]
pub(crate) struct SawSettings {
    /// Does the blade cross the bar, or run along it?
    #[arg(long, value_enum, default_value = "across")]
    pub(crate) blade: BladeName,
    /// Diameter of the blade, in mm (along only)
    #[arg(long, value_name = "MM", default_value_t = 250.0)]
    pub(crate) blade_diameter: f64,
    /// Width of a kerf, in mm
    #[arg(long, value_name = "MM", default_value_t = 3.0)]
    pub(crate) kerf: f64,
    /// Wood left above the line, in mm
    #[arg(long, value_name = "MM", default_value_t = 3.0)]
    pub(crate) margin: f64,
    /// Deepest cut of one pass, in mm
    #[arg(long, value_name = "MM", default_value_t = 6.0)]
    pub(crate) pass: f64,
    /// Height of the stairs near the line, in mm
    #[arg(long, value_name = "MM", default_value_t = 2.0)]
    pub(crate) stair: f64,
    /// Scale of the saw
    #[arg(long, value_enum, default_value = "half-mm")]
    pub(crate) scale: ScaleName,
}

/// How the blade meets the bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum BladeName {
    /// Kerfs side by side, flat bottoms
    Across,
    /// Dropped and lifted between two stops, round ends
    Along,
}

/// The saw's scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum ScaleName {
    /// Half millimetres
    HalfMm,
    /// 32nds of an inch
    Inch32,
}

#[derive(Debug, Args)]
pub(crate) struct RescueArgs {
    /// Bar file with a log
    pub(crate) bar: PathBuf,
    #[command(flatten)]
    pub(crate) wanted: RescueWanted,
}

/// What else is known of the bar.
#[derive(Debug, Args)]
pub(crate) struct RescueWanted {
    /// Middles of the cord holes from the left end of the bar as it is now, in mm, if it is drilled
    #[arg(long, value_delimiter = ',', value_name = "MM,…")]
    pub(crate) holes: Vec<f64>,
}

/// A distance between stations that a rule can mark.
fn stations(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(mm) if (2.0..=100.0).contains(&mm) => Ok(mm),
        _ => Err("give a distance between 2 and 100 mm".to_owned()),
    }
}
