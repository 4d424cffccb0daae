//! The commands that answer a question: `listen`, `next`, `check`.
use super::args::ListenArgs;
use crate::audio::{Audio, read_wav};
use crate::bench::Bench;
use crate::convert;
use crate::error::Refused;
use crate::report;
use crate::report::units::Units;
use records::{BarFile, Note};
use serde_json::Value;
use std::path::Path;

/// How an answer is put.
#[derive(Debug, Clone, Copy)]
pub(super) struct Form {
    pub(super) json: bool,
    pub(super) units: Units,
}

impl Form {
    fn put(self, json: impl FnOnce() -> Value, text: impl FnOnce() -> String) -> String {
        if self.json { format!("{}\n", json()) } else { text() }
    }
}

/// Larger recordings than this are refused before they are read: ten minutes of stereo at 96 kHz, 32 bits.
const MOST_TAKE_BYTES: u64 = 500 * 1024 * 1024;

pub(super) fn read_bar(path: &Path) -> Result<BarFile, Refused> {
    BarFile::read(path).map_err(|error| Refused::from(error).about_file(path))
}

pub(super) fn next(path: &Path, form: Form) -> Result<String, Refused> {
    let file = read_bar(path)?;
    let about = |error: Refused| error.about(path.display());
    let job = convert::job(&file).map_err(about)?;
    let advice = making::next(&job).map_err(|error| about(error.into()))?;
    Ok(form.put(|| report::next::to_json(&advice), || report::next::to_text(&advice, &job.targets.ratios, form.units)))
}

pub(super) fn check(path: &Path, form: Form) -> Result<String, Refused> {
    let file = read_bar(path)?;
    // What only the physics can refuse is refused here too, so that a sound file can be worked with.
    convert::believe(&file).map_err(|error| error.about(path.display()))?;
    Ok(form.put(|| report::check::to_json(&file), || report::check::to_text(&file, form.units)))
}

pub(super) fn listen(args: &ListenArgs, form: Form) -> Result<String, Refused> {
    let note = args.note.as_deref().map(str::parse::<Note>).transpose();
    let note =
        note.map_err(|error| Refused::new("wrong_note", format!("\"{}\" is not a note", error.text), error.hint))?;
    let bench = args.bar.as_deref().map(Bench::from_file).transpose()?;
    let takes = args.takes.iter().map(|path| read_take(path)).collect::<Result<Vec<Audio>, Refused>>()?;
    let a4_hz = bench.as_ref().map_or(440.0, |bench| bench.file().a4_hz());
    let struck = args.struck.map(Into::into);
    let mut context = match &bench {
        Some(bench) => bench.context(struck)?,
        None => strike::Context { struck, ..strike::Context::default() },
    };
    if let Some(note) = &note {
        context.note_hz = Some(note.hz(a4_hz));
    }
    let views: Vec<strike::Take<'_>> = takes.iter().map(Audio::take).collect();
    let mut heard = crate::hearing::hear(&views, &context, bench.as_ref().map_or(1, Bench::tuned))?;
    heard.warnings.extend(takes.iter().flat_map(|take| take.warnings.iter().cloned()));
    let targets = bench.as_ref().and_then(|bench| convert::targets(bench.file()));
    let ratios =
        targets.map(|(_, targets)| targets.ratios).or(context.note_hz.map(making::virtual_bench::usual_ratios));
    let against = context.note_hz.zip(ratios.as_deref());
    Ok(form.put(|| report::listen::to_json(&heard), || report::listen::to_text(&heard, against)))
}

fn read_take(path: &Path) -> Result<Audio, Refused> {
    let about = |error: Refused| error.about(path.display());
    let unreadable = |error: std::io::Error| {
        about(Refused::new(
            "unreadable",
            format!("the recording cannot be read: {error}"),
            "check the name and the folder",
        ))
    };
    let bytes = std::fs::metadata(path).map_err(unreadable)?.len();
    if bytes > MOST_TAKE_BYTES {
        let message = format!("the recording has {bytes} bytes; the limit is {MOST_TAKE_BYTES}");
        return Err(about(Refused::new("too_long", message, "cut it to the blows")));
    }
    read_wav(&std::fs::read(path).map_err(unreadable)?).map_err(about)
}
