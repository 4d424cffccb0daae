//! `tubes`: where each note's stopper stands, what is cut from which tube, and what a tube that was heard tells.
use super::answer::Form;
use super::new_file::{write_new, write_table};
use super::plan::specification_of;
use super::workshop::open;
use crate::audio;
use crate::error::Refused;
use crate::hearing::Recording;
use crate::report::tubes as report;
use crate::tubing::{TubeNotes, TubeWishes, hear_tube};
use bar_physics::air::sound_speed_m_s;
use clap::Args;
use making::tubes::{Found, HeardTube, MouthFit, Outline, PlannedTube, fit_mouth, stopper_move};
use paper::sheets::Sheet;
use records::Note;
use records::workshop::Kind;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(crate) struct TubesArgs {
    /// The specification of the instrument, as `plan` takes it
    #[arg(required_unless_present = "instrument", conflicts_with = "instrument")]
    spec: Option<PathBuf>,
    /// Take the notes from this instrument's bars in the record
    #[arg(long, value_name = "NAME")]
    instrument: Option<String>,
    #[command(flatten)]
    wanted: TubesWanted,
    /// The note whose tube was heard, with --take or --hz
    #[arg(long)]
    note: Option<String>,
    /// A recording of that tube by itself: taps on its cap, or breath over its mouth, no bar over it
    #[arg(long, value_name = "FILE", requires = "note", conflicts_with = "hz")]
    take: Option<PathBuf>,
    /// The lowest tone of that tube by itself, in hertz
    #[arg(long, requires = "note")]
    hz: Option<f64>,
    /// Temperature of the air when it was heard, in °C [usual: the reference]
    #[arg(long, value_name = "C", requires = "note")]
    heard_at: Option<f64>,
    /// Write the tubes as a table to a new CSV file, or a workbook (*.xlsx)
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Draw both banks to a new SVG file
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
}

/// How the tubes shall be.
#[derive(Debug, Args)]
struct TubesWanted {
    /// Temperature at which the stoppers are set, in °C [usual: the specification's or the order's]
    #[arg(long, value_name = "C")]
    temperature: Option<f64>,
    /// Relative humidity then, in percent [usual: the specification's or the order's]
    #[arg(long, value_name = "PERCENT")]
    humidity: Option<f64>,
    /// Least temperature played at, in °C
    #[arg(long, value_name = "C", default_value_t = 16.0)]
    coldest: f64,
    /// Most temperature played at, in °C
    #[arg(long, value_name = "C", default_value_t = 28.0)]
    warmest: f64,
    /// Cents by which the bars rise with each °C; see `climate` for your own
    #[arg(long, value_name = "CENTS", default_value_t = -1.5, allow_negative_numbers = true)]
    drift: f64,
    /// Cents by which the tubes stand off their bars on purpose
    #[arg(long, value_name = "CENTS", default_value_t = 0.0, allow_negative_numbers = true)]
    offset: f64,
    /// What the bar over the mouth adds, in inner radii, as --found told
    #[arg(long, value_name = "RADII", default_value_t = 0.0, allow_negative_numbers = true)]
    under_bar: f64,
    /// Stoppers set by ear: CSV with note, inner_mm, stopper_mm, temperature_c and, where the bar was off, hz
    #[arg(long, value_name = "FILE", conflicts_with = "under_bar")]
    found: Option<PathBuf>,
    /// Inner diameters that can be bought, in mm
    #[arg(long, value_delimiter = ',', value_name = "MM,…", default_value = "75,64,51,44,40,38")]
    sizes: Vec<f64>,
    /// Thickness of the wall, in mm
    #[arg(long, value_name = "MM", default_value_t = 1.5)]
    wall: f64,
    /// How far a cap stands out on each side, in mm
    #[arg(long, value_name = "MM", default_value_t = 1.0)]
    cap: f64,
    /// Stopper and margin beyond its face, in mm
    #[arg(long, value_name = "MM", default_value_t = 30.0)]
    beyond: f64,
    /// Room for straight tubes under the bars, in mm
    #[arg(long, value_name = "MM", default_value_t = 750.0)]
    room: f64,
    /// Density of the tubes, in kg/m³ (aluminium 2700, brass 8500)
    #[arg(long, value_name = "KG_M3", default_value_t = 2700.0)]
    density: f64,
    /// Length of a stock tube, in mm
    #[arg(long, value_name = "MM", default_value_t = 3000.0)]
    stock_length: f64,
    /// Width of the saw's cut, in mm
    #[arg(long, value_name = "MM", default_value_t = 2.0)]
    kerf: f64,
    /// Let the lower ends follow an arch: so long at both ends of a bank and in its middle, in mm, e.g. 700,350
    #[arg(long, value_delimiter = ',', num_args = 1, value_name = "ENDS,MIDDLE")]
    arch: Vec<f64>,
    /// Seconds that a bar of yours rings (60 dB) without and over its tube in tune, e.g. 3.1,1.5
    #[arg(long, value_delimiter = ',', num_args = 1, value_name = "WITHOUT,WITH")]
    ring: Vec<f64>,
}

pub(super) fn tubes(at: Option<&Path>, args: &TubesArgs, form: Form) -> Result<String, Refused> {
    let notes = notes(at, args)?;
    let (wishes, fit) = args.wanted.wishes(&notes)?;
    let answer = wishes.answer(&notes.notes)?;
    if let Some(note) = &args.note {
        return heard(args, note, &answer, form);
    }
    if let Some(to) = &args.csv {
        write_table(to, &report::lines(&answer))?;
    }
    if let Some(to) = &args.picture {
        write_new(to, report::picture(&answer, Sheet { width_mm: 400.0, lettering_mm: 4.2 })?.as_bytes())?;
    }
    let told = fit.map_or_else(String::new, |fit| report::mouth_words(&fit));
    Ok(form.put(|| report::to_json(&answer), || told + &report::to_text(&answer, form.units)))
}

fn notes(at: Option<&Path>, args: &TubesArgs) -> Result<TubeNotes, Refused> {
    match (&args.spec, &args.instrument) {
        (_, Some(name)) => {
            let workshop = open(at)?;
            let found = workshop.find(Kind::Instrument, name)?;
            TubeNotes::of_record(&workshop, found.uid, &found.name)
        }
        (Some(path), None) => TubeNotes::of_plan(&specification_of(path)?.1),
        (None, None) => Err(Refused::new("usage", "no notes are given", "give a specification, or --instrument NAME")),
    }
}

impl TubesWanted {
    fn wishes(&self, notes: &TubeNotes) -> Result<(TubeWishes, Option<MouthFit>), Refused> {
        let mm = |mm: f64| mm * 1e-3;
        let mut wishes = TubeWishes::default();
        let bank = &mut wishes.bank;
        bank.temperature_c = self.temperature.or(notes.reference.0).unwrap_or(bank.temperature_c);
        bank.humidity_percent = self.humidity.or(notes.reference.1).unwrap_or(bank.humidity_percent);
        bank.played_c = [self.coldest, self.warmest];
        bank.bar_cents_per_c = self.drift;
        bank.offset_cents = self.offset;
        (bank.wall_m, bank.cap_m, bank.beyond_m) = (mm(self.wall), mm(self.cap), mm(self.beyond));
        (bank.room_m, bank.density_kg_m3) = (mm(self.room), self.density);
        let fit = self
            .found
            .as_deref()
            .map(|path| fit_found(path, notes, bank.humidity_percent).map_err(|refused| refused.about_file(path)))
            .transpose()?;
        bank.under_bar_radii = fit.map_or(self.under_bar, |fit| fit.radii);
        wishes.sizes_m = self.sizes.iter().map(|size| mm(*size)).collect();
        (wishes.stock_m, wishes.kerf_m) = (mm(self.stock_length), mm(self.kerf));
        if let Some([ends, middle]) = pair(&self.arch, "--arch", "700,350")? {
            wishes.outline = Outline::Arch { ends_m: mm(ends), middle_m: mm(middle) };
        }
        wishes.rings_s = pair(&self.ring, "--ring", "3.1,1.5")?;
        Ok((wishes, fit))
    }
}

/// Two positive numbers, or none.
fn pair(values: &[f64], what: &str, example: &str) -> Result<Option<[f64; 2]>, Refused> {
    match values {
        [] => Ok(None),
        [a, b] if *a > 0.0 && *b > 0.0 && a.is_finite() && b.is_finite() => Ok(Some([*a, *b])),
        _ => Err(Refused::new("usage", format!("{what} takes two numbers"), format!("for example {what} {example}"))),
    }
}

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct FoundLine {
    note: String,
    inner_mm: f64,
    stopper_mm: f64,
    temperature_c: f64,
    #[serde(default)]
    hz: Option<f64>,
}

fn fit_found(path: &Path, notes: &TubeNotes, humidity_percent: f64) -> Result<MouthFit, Refused> {
    let wrong = |error: csv::Error| {
        Refused::new(
            "not_a_table",
            error.to_string(),
            "columns: note,inner_mm,stopper_mm,temperature_c and, if known, hz",
        )
    };
    let table = records::workshop::table_as_csv(path)?;
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(table.as_slice());
    let mut found = Vec::new();
    for line in reader.deserialize::<FoundLine>() {
        let line = line.map_err(wrong)?;
        let note = line.note.parse::<Note>()?.to_string();
        let known = notes.notes.iter().find(|known| known.name == note).map(|known| known.hz);
        let hz = line.hz.or(known).ok_or_else(|| {
            Refused::new("no_such_note", format!("{note} is not among the notes"), "give its pitch in the column hz")
        })?;
        found.push(Found {
            hz,
            diameter_m: line.inner_mm * 1e-3,
            stopper_m: line.stopper_mm * 1e-3,
            temperature_c: line.temperature_c,
        });
    }
    Ok(fit_mouth(&found, humidity_percent)?)
}

/// What a tube that was heard tells about its stopper.
fn heard(args: &TubesArgs, note: &str, answer: &report::Answer, form: Form) -> Result<String, Refused> {
    let name = note.parse::<Note>()?.to_string();
    let tube = answer.tubes.tubes.iter().find(|tube| tube.name == name).ok_or_else(|| {
        Refused::new("no_such_note", format!("{name} has no tube here"), "name a note of the instrument")
    })?;
    let temperature_c = args.heard_at.unwrap_or(answer.bank.temperature_c);
    let heard = match (&args.take, args.hz) {
        (Some(path), _) => listen(path, answer, tube, temperature_c)?,
        (None, Some(hz)) => HeardTube { hz, sigma_cents: TYPED_CENTS, temperature_c },
        (None, None) => {
            return Err(Refused::new("usage", "nothing was heard", "give --take FILE or --hz HZ"));
        }
    };
    let told = stopper_move(tube, &heard, &answer.bank)?;
    Ok(form.put(
        || report::move_to_json(tube, heard.hz, &told),
        || report::move_to_text(tube, heard.hz, &told, form.units),
    ))
}

/// Doubt of a tone that was read elsewhere and typed (a guess, no source).
const TYPED_CENTS: f64 = 5.0;

fn listen(path: &Path, answer: &report::Answer, tube: &PlannedTube, temperature_c: f64) -> Result<HeardTube, Refused> {
    let recording =
        audio::open(path).and_then(|opened| Recording::prepare(opened, &strike::Context::default(), &mut |_| {}));
    let recording = recording.map_err(|error| error.about_file(path))?;
    let humidity = answer.bank.humidity_percent;
    let sound = sound_speed_m_s(temperature_c, humidity)
        .map_err(|error| Refused::new("out_of_range", error.to_string(), "give the air's temperature in °C"))?;
    // A quarter wave of the free tube as it is to be.
    let free_m = tube.stopper_m + 0.6 * 0.5 * tube.diameter_m;
    hear_tube(&recording, sound / (4.0 * free_m), temperature_c, tube).map_err(|error| error.about_file(path))
}
