//! `listen --folder`: every take by itself, side by side on all processor cores; a bad one never stops the rest.
use super::table::{self, Row};
use super::{Asked, hear_one};
use crate::cli::all_cores::on_all_cores;
use crate::cli::answer::Form;
use crate::cli::new_file::write_new;
use crate::error::Refused;
use crate::progress;
use std::path::{Path, PathBuf};

/// Endings of the names of recordings.
const ENDINGS: [&str; 11] = ["wav", "wave", "flac", "mp3", "m4a", "mp4", "aac", "ogg", "oga", "aif", "aiff"];

pub(super) fn listen(folder: &Path, csv: Option<&Path>, asked: &Asked, form: Form) -> Result<String, Refused> {
    let (takes, others) = recordings_in(folder)?;
    if let Some(path) = csv.filter(|path| path.exists()) {
        return Err(Refused::new(
            "cannot_write",
            format!("{} is there already and is not written over", path.display()),
            "name a file that does not exist yet",
        ));
    }
    let rows = hear_all(&takes, asked);
    let table = table::to_csv(&rows)?;
    if let Some(path) = csv {
        write_new(path, &table)?;
    }
    if form.json {
        return Ok(format!("{}\n", table::to_json(&rows, others)));
    }
    let summary = table::summary(&rows, others);
    match csv {
        Some(path) => Ok(format!("{summary}\nWritten: {}\n", path.display())),
        None => {
            // The table alone goes to stdout, so that it can be piped on.
            eprint!("{summary}");
            Ok(String::from_utf8_lossy(&table).into_owned())
        }
    }
}

/// The recordings in a folder by name, and how many other files lie there.
pub(in crate::cli) fn recordings_in(folder: &Path) -> Result<(Vec<PathBuf>, usize), Refused> {
    let unreadable = |error: std::io::Error| {
        Refused::new(
            "unreadable",
            format!("{}: the folder cannot be read: {error}", folder.display()),
            "check the name of the folder",
        )
    };
    let (mut takes, mut others) = (Vec::new(), 0);
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
        if !path.is_file() {
            continue;
        }
        if ending.is_some_and(|e| ENDINGS.contains(&e.as_str())) {
            takes.push(path);
        } else {
            others += 1;
        }
    }
    takes.sort();
    if takes.is_empty() {
        return Err(Refused::new(
            "no_recordings",
            format!(
                "{} holds no recordings ({others} other files); recordings end in .{}",
                folder.display(),
                ENDINGS.join(", .")
            ),
            "name the folder the takes lie in; folders inside it are not looked into",
        ));
    }
    Ok((takes, others))
}

/// Hears each take, in the order of the list.
fn hear_all(takes: &[PathBuf], asked: &Asked) -> Vec<Row> {
    let bar = progress::bar(Some(takes.len() as u64), "takes");
    let rows = on_all_cores(takes, &|path| {
        let row = Row { file: name(path), heard: hear_one(path, asked) };
        bar.inc(1);
        row
    });
    bar.finish_and_clear();
    rows
}

fn name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}
