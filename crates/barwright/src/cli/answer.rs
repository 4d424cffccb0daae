//! The commands that answer a question about a bar file: `next`, `check`.
use crate::convert;
use crate::error::Refused;
use crate::report;
use crate::report::units::Units;
use records::BarFile;
use serde_json::Value;
use std::path::Path;

/// How an answer is put.
#[derive(Debug, Clone, Copy)]
pub(super) struct Form {
    pub(super) json: bool,
    pub(super) units: Units,
}

impl Form {
    pub(super) fn put(self, json: impl FnOnce() -> Value, text: impl FnOnce() -> String) -> String {
        if self.json { format!("{}\n", json()) } else { text() }
    }
}

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
