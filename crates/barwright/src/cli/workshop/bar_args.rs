//! The arguments of `bar WHICH …`, as clap reads them.
use super::args::decimal;
use crate::cli::args::StageArg;
use crate::cli::args::{ArchWanted, ModesWanted, RescueWanted, SawWanted, Struck};
use clap::{Args, Subcommand, ValueEnum};
use records::workshop::Face;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct BarArgs {
    /// The bar: its note (C3), its label (#117), or the text of its code
    pub(crate) which: String,
    /// The instrument, where several have that note
    #[arg(long = "in")]
    pub(crate) instrument: Option<String>,
    /// Temperature of bar and air, in degrees Celsius
    #[arg(long, value_parser = decimal)]
    pub(crate) temperature: Option<f64>,
    /// Relative humidity, in percent
    #[arg(long, value_parser = decimal)]
    pub(crate) humidity: Option<f64>,
    /// Who does it
    #[arg(long)]
    pub(crate) by: Option<String>,
    /// The belt, tool or recorder it is done with
    #[arg(long = "with")]
    pub(crate) tool: Option<String>,
    #[command(subcommand)]
    pub(crate) what: BarCommand,
}

#[derive(Debug, Subcommand)]
pub(crate) enum BarCommand {
    /// Enter a new blank under this label
    New(BlankArgs),
    /// Hear recordings of it; the reading and the sound are kept
    Listen {
        /// Recordings of this bar
        #[arg(required = true)]
        takes: Vec<PathBuf>,
        /// Where it was struck
        #[arg(long, value_enum)]
        struck: Option<Struck>,
    },
    /// Where to cut next
    Next {
        /// The stage to work for; else as the bar's headroom says
        #[arg(long, value_enum)]
        stage: Option<StageArg>,
    },
    /// Modes, node lines and sensitivity
    Modes(ModesWanted),
    /// Draw the arch: stations, modes, torsion
    Arch {
        /// Further bars of the row, bass to treble, by note or label: designed together
        row: Vec<String>,
        #[command(flatten)]
        wanted: ArchWanted,
    },
    /// Saw steps for the arch: blade heights, stops, kerfs, in order
    Saw(SawWanted),
    /// Is this bar lost, and what could it still be?
    Rescue(RescueWanted),
    /// Its salt tests side by side, against the model, and what is doubtful about the last
    Nodes,
    /// Which face should be the top and which end face the player, by the last salt test
    Face,
    /// Say whether what is known of it fits together, and the table of bouts
    Check,
    #[command(flatten)]
    Enter(EntryCommand),
    /// Take back the last entry
    Undo,
    /// Bring back what was taken back last
    Redo,
    /// Correct an earlier entry by its number in the history; its old words stay in the record
    Correct {
        /// Number in the history
        number: usize,
        /// Why
        #[arg(long)]
        why: Option<String>,
        /// What it should have said
        #[command(subcommand)]
        to: NewWords,
    },
    /// Strike out an earlier entry by its number in the history; its words stay in the record
    StrikeOut {
        /// Number in the history
        number: usize,
        /// Why
        #[arg(long)]
        why: String,
    },
    /// All that happened to it
    History,
    /// Write it as a bar file (a new file)
    File {
        /// The file
        path: PathBuf,
    },
}

/// What an entry should have said.
#[derive(Debug, Subcommand)]
pub(crate) enum NewWords {
    /// The blank as it was entered: give what was written wrongly
    New(BlankCorrection),
    #[command(flatten)]
    Entry(EntryCommand),
}

/// What happens to a bar, as it is told.
#[derive(Debug, Subcommand)]
pub(crate) enum EntryCommand {
    /// Give it a note in an instrument
    Give {
        /// The note, e.g. C3
        note: String,
        /// The instrument
        #[arg(long = "to")]
        instrument: String,
    },
    /// Take it off its note
    Withdraw {
        /// Why
        #[arg(long)]
        why: String,
    },
    /// What it is tuned to: ratios of the modes, e.g. 1,4,10 or 1,3
    Targets {
        /// The ratios; the usual ones if missing
        #[arg(value_delimiter = ',', value_name = "R,…")]
        ratios: Vec<f64>,
        /// Cents above its target at which each mode is aimed for now, e.g. 100 in rough tuning
        #[arg(long, value_parser = decimal)]
        headroom: Option<f64>,
    },
    /// The thinnest wood allowed anywhere
    Limits {
        /// Thickness, e.g. 6.5 or 1/4 in
        thickness: String,
    },
    /// A reading made without barwright: frequencies in hertz, bending 1 first, - for one not heard
    Heard {
        /// The frequencies
        #[arg(required = true)]
        hz: Vec<String>,
        /// The same for torsion
        #[arg(long, value_name = "HZ")]
        torsion: Vec<String>,
        /// How far to trust it, in cents (one standard deviation); 1 if missing
        #[arg(long, value_parser = decimal)]
        sigma: Option<f64>,
    },
    /// The arch as sawn or measured: thickness from the top face along the whole bar, as place:thickness from the left end
    Shaped {
        /// The places, the first at 0, the last at the right end, e.g. 0:23 150:23 235:11 320:23 470:23
        #[arg(required = true)]
        stations: Vec<String>,
        /// Places where the slope jumps, from the left end
        #[arg(long)]
        kink: Vec<String>,
        /// How far to trust it (one standard deviation); 0.5 mm if missing
        #[arg(long)]
        sigma: Option<String>,
    },
    /// Bands that were taken off, as from-to:depth from the centre, e.g. 0-60:1.2 or 80-120:0.4:left
    Cut {
        /// The bands
        #[arg(required = true)]
        bands: Vec<String>,
        /// Passes made
        #[arg(long)]
        passes: Option<u32>,
    },
    /// Thickness measured, as place:thickness from the left end, e.g. 235:9.1
    Caliper {
        /// The places
        #[arg(required = true)]
        spots: Vec<String>,
    },
    /// Weighed, in grams
    Weigh {
        /// Mass
        #[arg(value_parser = decimal)]
        grams: f64,
    },
    /// Ends sawn off
    Trim {
        /// Off the left end
        #[arg(long, default_value = "0")]
        left: String,
        /// Off the right end
        #[arg(long, default_value = "0")]
        right: String,
    },
    /// Node lines read from salt, from the left end: near:far or near:centre:far; or off a photograph
    Salt(SaltRead),
    /// Which face is the top
    Top {
        /// The face
        #[arg(value_enum)]
        face: FaceArg,
        /// Why, if wood has been taken off the underside already
        #[arg(long)]
        why: Option<String>,
    },
    /// Cord holes drilled, each near:far:below-top
    Drilled {
        /// Diameter of the drill
        #[arg(long)]
        diameter: String,
        /// A hole, from the left end at the near and far edge, and below the top face
        #[arg(long = "hole", required = true)]
        holes: Vec<String>,
        /// Why, if the rails of the standing frame have not been measured yet
        #[arg(long)]
        why: Option<String>,
    },
    /// A finish was put on
    Finish {
        /// What it is
        what: String,
        /// Coats
        #[arg(long)]
        coats: Option<u32>,
    },
    /// Rough tuning is done
    RoughTuned,
    /// Fine tuning is done
    FineTuned,
    /// Something worth knowing
    Remark {
        /// The words
        text: String,
    },
    /// Give the bar up; its record stays
    Discard {
        /// Why
        #[arg(long)]
        why: String,
    },
}

/// A salt test: figures, or a photograph with what was marked on it.
#[derive(Debug, Args)]
pub(crate) struct SaltRead {
    /// The face that was up
    #[arg(long, value_enum)]
    pub(crate) face: FaceArg,
    /// The left line
    #[arg(long, required_unless_present = "photo")]
    pub(crate) left: Option<String>,
    /// The right line
    #[arg(long, required_unless_present = "photo")]
    pub(crate) right: Option<String>,
    /// A photograph of the salted bar (JPEG or PNG); it is kept with the test
    #[arg(long, requires = "marks", conflicts_with_all = ["left", "right"])]
    pub(crate) photo: Option<PathBuf>,
    /// What was marked on it, in pixels (JSON: corners_px, left_px, right_px, ruler)
    #[arg(long, requires = "photo")]
    pub(crate) marks: Option<PathBuf>,
    /// Draw the bar cut out of the photograph and laid straight, with the lines on it, into a new PNG file
    #[arg(long, requires = "photo", value_name = "PNG")]
    pub(crate) strip: Option<PathBuf>,
    /// Read the photograph and say what it tells, without entering it
    #[arg(long, requires = "photo")]
    pub(crate) dry_run: bool,
}

/// What was written wrongly of a blank.
#[derive(Debug, Args)]
#[group(required = true, multiple = true)]
pub(crate) struct BlankCorrection {
    /// The label on its end grain
    #[arg(long)]
    pub(crate) label: Option<String>,
    /// Length, e.g. 470 or 18 1/2 in
    #[arg(long)]
    pub(crate) length: Option<String>,
    /// Width
    #[arg(long)]
    pub(crate) width: Option<String>,
    /// Thickness
    #[arg(long)]
    pub(crate) thickness: Option<String>,
    /// Mass in grams
    #[arg(long, value_parser = decimal)]
    pub(crate) mass: Option<f64>,
    /// The board it was cut from
    #[arg(long)]
    pub(crate) board: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct BlankArgs {
    /// Take size, wood, targets and log from this bar file
    #[arg(long, conflicts_with_all = ["length", "width", "thickness", "mass"])]
    pub(crate) from: Option<PathBuf>,
    /// Length, e.g. 470 or 18 1/2 in
    #[arg(long, required_unless_present = "from")]
    pub(crate) length: Option<String>,
    /// Width
    #[arg(long, required_unless_present = "from")]
    pub(crate) width: Option<String>,
    /// Thickness
    #[arg(long, required_unless_present = "from")]
    pub(crate) thickness: Option<String>,
    /// Mass in grams
    #[arg(long, value_parser = decimal)]
    pub(crate) mass: Option<f64>,
    /// The board it was cut from
    #[arg(long)]
    pub(crate) board: Option<String>,
    /// Kept unaltered to watch the climate
    #[arg(long)]
    pub(crate) reference: bool,
}

/// A face of the blank.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum FaceArg {
    /// Face A
    #[value(name = "A", alias = "a")]
    A,
    /// Face B
    #[value(name = "B", alias = "b")]
    B,
}

impl From<FaceArg> for Face {
    fn from(face: FaceArg) -> Self {
        match face {
            FaceArg::A => Self::A,
            FaceArg::B => Self::B,
        }
    }
}
