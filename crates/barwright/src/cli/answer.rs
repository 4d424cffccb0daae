//! The bar that is asked about, and the commands that answer from it alone: `next`, `check`.
use super::args::StageArg;
use crate::convert;
use crate::error::Refused;
use crate::report;
use crate::report::units::Units;
use making::{Job, Stage};
use records::BarFile;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// How an answer is put.
#[derive(Debug, Clone, Copy)]
pub(super) struct Form {
    pub(super) json: bool,
    pub(super) units: Units,
    /// Language of sheets.
    pub(super) language: words::Language,
}

impl Form {
    /// Does `work` in the sheets' language.
    pub(super) fn on_paper<T>(self, work: impl FnOnce() -> T) -> T {
        words::in_language(self.language, work)
    }

    pub(super) fn put(self, json: impl FnOnce() -> Value, text: impl FnOnce() -> String) -> String {
        if self.json { format!("{}\n", json()) } else { text() }
    }

    /// What was done, in words; as JSON under the key `done`.
    pub(super) fn told(self, text: String) -> String {
        self.put(|| json!({ "done": text.trim_end() }), || text.clone())
    }
}

pub(super) fn read_bar(path: &Path) -> Result<BarFile, Refused> {
    BarFile::read(path).map_err(|error| Refused::from(error).about_file(path))
}

/// A bar that is asked about, whether it comes from a file or from the workshop's record.
#[derive(Debug)]
pub(super) struct Subject {
    pub(super) file: BarFile,
    /// What it is called in a refusal.
    pub(super) name: String,
}

impl Subject {
    pub(super) fn read(path: &Path) -> Result<Self, Refused> {
        Ok(Self { file: read_bar(path)?, name: path.display().to_string() })
    }

    pub(super) fn read_all(paths: &[PathBuf]) -> Result<Vec<Self>, Refused> {
        paths.iter().map(|path| Self::read(path)).collect()
    }

    /// The refusal, about this bar.
    pub(super) fn about(&self, error: impl Into<Refused>) -> Refused {
        error.into().about(&self.name)
    }

    pub(super) fn job(&self) -> Result<Job, Refused> {
        convert::job(&self.file).map_err(|error| self.about(error))
    }
}

/// A semitone: what rough tuning commonly leaves, in cents (common practice, no source).
const ROUGH_HEADROOM_CENTS: f64 = 100.0;

pub(super) fn next(subject: &Subject, stage: Option<StageArg>, form: Form) -> Result<String, Refused> {
    let mut job = subject.job()?;
    match stage {
        Some(StageArg::Fine) => job.targets.headroom_cents = 0.0,
        Some(StageArg::Rough) if job.targets.stage() == Stage::Fine => {
            job.targets.headroom_cents = ROUGH_HEADROOM_CENTS;
        }
        _ => {}
    }
    let advice = convert::advise_job(&subject.file, &job).map_err(|error| subject.about(error))?;
    Ok(form.put(|| report::next::to_json(&advice), || report::next::to_text(&advice, &job.targets.ratios, form.units)))
}

pub(super) fn check(subject: &Subject, form: Form) -> Result<String, Refused> {
    // What only the physics can refuse is refused here too, so that a sound file can be worked with.
    convert::believe(&subject.file).map_err(|error| subject.about(error))?;
    Ok(form.put(|| report::check::to_json(&subject.file), || report::check::to_text(&subject.file, form.units)))
}
