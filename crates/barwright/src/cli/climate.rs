//! `climate`: what temperature and humidity do to bars and tubes, learnt from the shop's own reference bars.
use super::answer::Form;
use super::plan::specification_of;
use super::workshop::open;
use crate::climate::{KnownClimate, enter_air};
use crate::error::Refused;
use crate::report::climate as report;
use crate::tubing::{TubeNotes, TubeWishes};
use clap::{Args, Subcommand};
use jiff::{Timestamp, civil::DateTime, tz::TimeZone};
use making::climate::{Air, Coefficients, Cooling, hall, settled};
use records::workshop::Kind;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(crate) struct ClimateArgs {
    #[command(subcommand)]
    what: Option<ClimateCommand>,
}

#[derive(Debug, Subcommand)]
enum ClimateCommand {
    /// Enter the air as it is now
    Now {
        /// In °C
        temperature: f64,
        /// Relative humidity in percent
        #[arg(long)]
        humidity: Option<f64>,
    },
    /// Enter a logger's table (CSV): columns time (2027-01-31T08:00 local, or with Z or an offset), temperature_c, humidity_percent
    Log {
        /// The table
        file: PathBuf,
    },
    /// Bars and tubes set in one room and played in another
    Hall(HallArgs),
    /// A bar that is warm from sanding: how long to wait, and where its pitch goes
    Cool(CoolArgs),
}

#[derive(Debug, Args)]
struct HallArgs {
    /// Temperature and humidity where it is played, e.g. 14,40 or 14
    #[arg(long, value_name = "C[,PERCENT]", value_parser = air, allow_hyphen_values = true)]
    there: Air,
    /// Temperature and humidity at which it is right [usual: the order's or the specification's]
    #[arg(long, value_name = "C[,PERCENT]", value_parser = air)]
    reference: Option<Air>,
    /// The instrument in the record whose tubes are asked about
    #[arg(long, value_name = "NAME", conflicts_with = "spec")]
    instrument: Option<String>,
    /// The specification whose tubes are asked about
    #[arg(long, value_name = "FILE")]
    spec: Option<PathBuf>,
    /// Do not look into the record for the shop's own coefficients
    #[arg(long, conflicts_with = "instrument")]
    no_record: bool,
}

#[derive(Debug, Args)]
struct CoolArgs {
    /// Mean thickness of the bar, in mm
    #[arg(long, value_name = "MM", default_value_t = 18.0)]
    thickness: f64,
    /// Its density, in kg/m³
    #[arg(long, value_name = "KG_M3", default_value_t = 950.0)]
    density: f64,
    /// How much warmer than the room it is, in °C
    #[arg(long, value_name = "C")]
    warmer: Option<f64>,
    /// Cents it may still rise when it is judged
    #[arg(long, value_name = "CENTS", default_value_t = 0.5)]
    within: f64,
    /// Its readings while it cools: minutes and cents, e.g. 0:-9,5:-6.5,12:-4
    #[arg(long, value_name = "MIN:CENTS,…", value_delimiter = ',', value_parser = reading)]
    read: Vec<(f64, f64)>,
}

/// Doubt of a reading that was typed, in cents: a good blow's (a judgement).
const TYPED_SIGMA_CENTS: f64 = 0.5;

fn air(text: &str) -> Result<Air, String> {
    let (warm, damp) = text.split_once(',').map_or((text, None), |(warm, damp)| (warm, Some(damp)));
    let number = |word: &str| {
        word.trim().parse::<f64>().map_err(|_| format!("\"{word}\" is not a number: write 14,40 for 14 °C and 40 %"))
    };
    let air = Air { temperature_c: number(warm)?, humidity_percent: damp.map(number).transpose()? };
    air.checked().map_err(|error| error.to_string())
}

fn reading(text: &str) -> Result<(f64, f64), String> {
    let wrong = || format!("\"{text}\" is not a reading: write minutes and cents, e.g. 5:-6.5");
    let (minutes, cents) = text.split_once(':').ok_or_else(wrong)?;
    Ok((60.0 * minutes.trim().parse::<f64>().map_err(|_| wrong())?, cents.trim().parse().map_err(|_| wrong())?))
}

pub(super) fn climate(at: Option<&Path>, args: &ClimateArgs, form: Form) -> Result<String, Refused> {
    match &args.what {
        None => {
            let workshop = open(at)?;
            let known = KnownClimate::of(&workshop)?;
            let instruments = known.instruments(&workshop)?;
            Ok(form.put(|| report::to_json(&known, &instruments), || report::to_text(&known, &instruments)))
        }
        Some(ClimateCommand::Now { temperature, humidity }) => {
            let air = Air { temperature_c: *temperature, humidity_percent: *humidity };
            enter_air(&mut open(at)?, &[(Timestamp::now(), air)])?;
            Ok(form.told(format!("The air is entered: {}.\n", report::air_words(air))))
        }
        Some(ClimateCommand::Log { file }) => {
            let air = read_log(file).map_err(|refused| refused.about_file(file))?;
            let mut workshop = open(at)?;
            let known = KnownClimate::of(&workshop)?.log;
            let new: Vec<_> = air.iter().copied().filter(|line| !known.contains(line)).collect();
            enter_air(&mut workshop, &new)?;
            let again = air.len() - new.len();
            let twice = if again > 0 { format!("; {again} were there already") } else { String::new() };
            Ok(form.told(format!("{} readings of the air are entered{twice}.\n", new.len())))
        }
        Some(ClimateCommand::Hall(hall)) => played_in(at, hall, form),
        Some(ClimateCommand::Cool(cool)) => cooling(at, cool, form),
    }
}

#[derive(Debug, serde::Deserialize)]
struct LogLine {
    time: String,
    temperature_c: f64,
    humidity_percent: Option<f64>,
}

fn read_log(path: &Path) -> Result<Vec<(Timestamp, Air)>, Refused> {
    let hint = "columns: time,temperature_c,humidity_percent; a time like 2027-01-31T08:00";
    let wrong = |error: csv::Error| Refused::new("not_a_table", error.to_string(), hint);
    let table = records::workshop::table_as_csv(path)?;
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(table.as_slice());
    let mut log = Vec::new();
    for (number, line) in reader.deserialize::<LogLine>().enumerate() {
        let line = line.map_err(wrong)?;
        let local = |text: &str| TimeZone::system().to_timestamp(text.parse::<DateTime>().ok()?).ok();
        let at = line.time.parse::<Timestamp>().ok().or_else(|| local(&line.time)).ok_or_else(|| {
            Refused::new("not_a_time", format!("line {}: \"{}\" is not a time", number + 2, line.time), hint)
        })?;
        let air = Air { temperature_c: line.temperature_c, humidity_percent: line.humidity_percent };
        let checked = air.checked().map_err(|error| Refused::from(error).about(format!("line {}", number + 2)))?;
        log.push((at, checked));
    }
    if log.is_empty() {
        return Err(Refused::new("not_a_table", "the table has no line", hint));
    }
    log.sort_by_key(|(at, _)| *at);
    Ok(log)
}

fn coefficients(at: Option<&Path>, no_record: bool) -> Result<Coefficients, Refused> {
    match open(at) {
        _ if no_record => Ok(Coefficients::generic()),
        Ok(workshop) => Ok(KnownClimate::of(&workshop)?.coefficients),
        Err(error) if at.is_some() => Err(error),
        // A shop that keeps no record yet has no reference bars.
        Err(_) => Ok(Coefficients::generic()),
    }
}

fn played_in(at: Option<&Path>, args: &HallArgs, form: Form) -> Result<String, Refused> {
    let notes = match (&args.instrument, &args.spec) {
        (Some(name), _) => {
            let workshop = open(at)?;
            let found = workshop.find(Kind::Instrument, name)?;
            Some(TubeNotes::of_record(&workshop, found.uid, &found.name)?)
        }
        (None, Some(path)) => Some(TubeNotes::of_plan(&specification_of(path)?.1)?),
        (None, None) => None,
    };
    let of_notes = notes
        .as_ref()
        .and_then(|notes| Some(Air { temperature_c: notes.reference.0?, humidity_percent: notes.reference.1 }));
    let reference = args.reference.or(of_notes).ok_or_else(|| {
        let hint = "give it with --reference 22,45; an order keeps it too: barwright instrument add … --temperature 22";
        Refused::new("no_reference", "it is not said in which air the instrument is right", hint)
    })?;
    let mut wishes = TubeWishes::default();
    wishes.bank.temperature_c = reference.temperature_c;
    wishes.bank.humidity_percent = reference.humidity_percent.unwrap_or(wishes.bank.humidity_percent);
    wishes.bank.played_c =
        [wishes.bank.played_c[0].min(reference.temperature_c), wishes.bank.played_c[1].max(reference.temperature_c)];
    let answer = notes.map(|notes| wishes.answer(&notes.notes)).transpose()?;
    let tubes = answer.as_ref().map_or(&[][..], |answer| &answer.tubes.tubes);
    let coefficients = coefficients(at, args.no_record)?;
    let told = hall(&coefficients, (reference, args.there), (&wishes.bank, tubes))?;
    let airs = (reference, args.there);
    Ok(form.put(
        || report::hall_to_json(&told, airs, &coefficients),
        || report::hall_to_text(&told, airs, &coefficients, form.units),
    ))
}

fn cooling(at: Option<&Path>, args: &CoolArgs, form: Form) -> Result<String, Refused> {
    let cooling = Cooling::of_bar(args.thickness * 1e-3, args.density)?;
    let per_c = coefficients(at, false)?.per_c;
    let answer = report::CoolingAnswer {
        time_s: cooling.time_s,
        wait_s: args.warmer.map(|warmer| cooling.wait_s(warmer, per_c, args.within)).transpose()?,
        within_cents: args.within,
        settled: match args.read.as_slice() {
            [] => None,
            readings => Some(settled(readings, cooling, TYPED_SIGMA_CENTS)?),
        },
    };
    Ok(form.put(|| report::cooling_to_json(&answer), || report::cooling_to_text(&answer)))
}
