//! The command `modes`: what a bar does, what moves it, and how it moves.
use super::answer::{Form, Subject};
use super::args::ModesWanted;
use super::new_file;
use crate::convert;
use crate::error::Refused;
use crate::report;
use bar_physics::{Wanted, modes_that_stand_out};
use std::path::{Path, PathBuf};

pub(super) fn modes(subject: &Subject, wanted: &ModesWanted, form: Form) -> Result<String, Refused> {
    let file = &subject.file;
    let about = |error: Refused| subject.about(error);
    let given = convert::bar(file).map_err(about)?;
    let modes = modes_that_stand_out(&given.bar, Wanted::default()).map_err(|e| about(e.into()))?;
    report::motion::check(&given.bar, &wanted.at).map_err(about)?;
    let mut written = Vec::new();
    if let Some(folder) = &wanted.shapes {
        let files = [
            ("mode-shapes.csv", report::shapes::to_csv(&given.bar, &modes)),
            ("mode-shapes.svg", report::shapes::to_svg(&modes, file).map_err(about)?),
        ];
        written = write_new(folder, &files)?;
    }
    if form.json {
        let mut value = report::modes::to_json(&modes, &given);
        value["changes"] = report::changes::to_json(&given.bar, &modes).map_err(about)?;
        if !wanted.at.is_empty() {
            value["motion"] = report::motion::to_json(&modes, &wanted.at);
        }
        return Ok(format!("{value}\n"));
    }
    let mut text = report::modes::to_text(&modes, &given, file, form.units);
    if wanted.table {
        text.push_str(&format!("\n{}", report::changes::to_text(&given.bar, &modes).map_err(about)?));
    }
    if !wanted.at.is_empty() {
        text.push_str(&format!("\n{}", report::motion::to_text(&modes, &wanted.at, form.units)));
    }
    for path in written {
        text.push_str(&format!("Written: {}\n", path.display()));
    }
    Ok(text)
}

/// Writes new files into `folder`, or none: nothing that is there is written over.
fn write_new(folder: &Path, files: &[(&str, String)]) -> Result<Vec<PathBuf>, Refused> {
    let refused = |path: &Path, error: std::io::Error| {
        Refused::new(
            "cannot_write",
            format!("{} cannot be written: {error}", path.display()),
            "name a folder where these files do not exist yet",
        )
    };
    std::fs::create_dir_all(folder).map_err(|error| refused(folder, error))?;
    let paths: Vec<PathBuf> = files.iter().map(|(name, _)| folder.join(name)).collect();
    if let Some(taken) = paths.iter().find(|path| path.exists()) {
        return Err(refused(taken, std::io::ErrorKind::AlreadyExists.into()));
    }
    for (path, (_, text)) in paths.iter().zip(files) {
        new_file::write_new(path, text.as_bytes())?;
    }
    Ok(paths)
}
