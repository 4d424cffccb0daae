//! The command `listen`: one bar in one or several recordings, or a folder of takes.
mod folder;
mod picture;
mod table;

pub(super) use folder::recordings_in;

use super::answer::Form;
use super::args::ListenArgs;
use crate::audio::{self, LongAudio};
use crate::bench::Bench;
use crate::convert;
use crate::error::Refused;
use crate::hearing::{Recording, hear_recordings};
use crate::progress;
use crate::report;
use indicatif::ProgressBar;
use records::Note;
use std::path::Path;
use strike::{Context, Heard};

/// What is known before listening.
struct Asked {
    context: Context,
    /// How many bending modes matter.
    tuned: usize,
    /// Ratios of the tuned modes to the note, for cents from the target.
    ratios: Option<Vec<f64>>,
}

impl Asked {
    fn of(args: &ListenArgs) -> Result<Self, Refused> {
        let note = args.note.as_deref().map(str::parse::<Note>).transpose()?;
        let bench = args.bar.as_deref().map(Bench::from_file).transpose()?;
        let a4_hz = bench.as_ref().map_or(440.0, |bench| bench.file().a4_hz());
        let struck = struck_of(&args.struck, args.takes.len())?;
        let mut context = match &bench {
            Some(bench) => bench.context(struck)?,
            None => Context { struck, ..Context::default() },
        };
        if let Some(note) = &note {
            context.note_hz = Some(note.hz(a4_hz));
        }
        if args.struck.len() > 1 {
            context.struck_each = args.struck.iter().map(|place| Some((*place).into())).collect();
        }
        context.clock = args.clock_ppm.map(|offset_ppm| strike::Clock { offset_ppm, sigma_ppm: 0.0 });
        let targets = bench.as_ref().and_then(|bench| convert::targets(bench.file()));
        let ratios =
            targets.map(|(_, targets)| targets.ratios).or(context.note_hz.map(making::virtual_bench::usual_ratios));
        Ok(Self { context, tuned: bench.as_ref().map_or(1, Bench::tuned), ratios })
    }
}

/// The place of all takes, if they have one; several places must be one a take.
fn struck_of(places: &[super::args::Struck], takes: usize) -> Result<Option<strike::StrikePlace>, Refused> {
    match places {
        [] => Ok(None),
        [one] => Ok(Some((*one).into())),
        several if several.len() == takes => Ok(None),
        several => Err(Refused::new(
            "wrong_places",
            format!("{} places are given for {takes} takes", several.len()),
            "give one place for all takes, or one for each in the same order",
        )),
    }
}

pub(super) fn listen(args: &ListenArgs, form: Form) -> Result<String, Refused> {
    let asked = Asked::of(args)?;
    if let Some(folder) = &args.folder {
        return folder::listen(folder, args.csv.as_deref(), &asked, form);
    }
    let recordings =
        args.takes.iter().map(|path| read(path, &asked.context)).collect::<Result<Vec<Recording>, Refused>>()?;
    let heard = hear_recordings(&recordings, &asked.context, asked.tuned)?;
    let mut written = Vec::new();
    if let Some(path) = &args.picture {
        written = picture::write(path, &args.takes, &recordings, &heard)?;
    }
    let against = asked.context.note_hz.zip(asked.ratios.as_deref());
    let text = || {
        let pictures: String = written.iter().map(|path| format!("\nWritten: {}\n", path.display())).collect();
        report::listen::to_text(&heard, against) + &pictures
    };
    Ok(form.put(|| report::listen::to_json(&heard), text))
}

/// Reads a recording, showing how far it is if it is a long one and somebody watches.
fn read(path: &Path, context: &Context) -> Result<Recording, Refused> {
    let mut bar: Option<ProgressBar> = None;
    let mut read_on = |long: &LongAudio<'_>| {
        let bar = bar.get_or_insert_with(|| progress::bar(long.length_s().map(|s| s as u64), "s of sound"));
        bar.set_position(long.at_s() as u64);
    };
    let prepared = audio::open(path).and_then(|opened| Recording::prepare(opened, context, &mut read_on));
    if let Some(bar) = bar {
        bar.finish_and_clear();
    }
    prepared.map_err(|error| error.about(path.display()))
}

/// Hears one recording by itself.
fn hear_one(path: &Path, asked: &Asked) -> Result<Heard, Refused> {
    let opened = audio::open(path)?;
    let recording = Recording::prepare(opened, &asked.context, &mut |_| {})?;
    hear_recordings(&[recording], &asked.context, asked.tuned)
}
