//! `listen --picture`: each take as a sheet.
use crate::audio::Part;
use crate::cli::new_file::write_new;
use crate::error::Refused;
use crate::hearing::Recording;
use crate::report::take::{picture, range_hz};
use paper::sheets::take_picture;
use paper::svg;
use std::path::{Path, PathBuf};
use strike::Heard;

/// Writes one picture a take: to `path`, or with several takes to `path` with their numbers before the ending.
pub(super) fn write(
    path: &Path,
    takes: &[PathBuf],
    recordings: &[Recording],
    heard: &Heard,
) -> Result<Vec<PathBuf>, Refused> {
    let names: Vec<PathBuf> = (1..=recordings.len())
        .map(|n| if recordings.len() == 1 { path.to_owned() } else { numbered(path, n) })
        .collect();
    if let Some(taken) = names.iter().find(|name| name.exists()) {
        return Err(Refused::new(
            "cannot_write",
            format!("{} is there already and is not written over", taken.display()),
            "name a file that does not exist yet",
        ));
    }
    for (index, (recording, name)) in recordings.iter().zip(&names).enumerate() {
        let take = takes[index].file_name().unwrap_or_default().to_string_lossy();
        let drawing = draw(&take, index, recording, heard)?;
        write_new(name, svg::render(&drawing, &svg::Options::picture()).as_bytes())?;
    }
    Ok(names)
}

/// `out.svg` to `out-2.svg`.
fn numbered(path: &Path, number: usize) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let ending = path.extension().map_or(String::new(), |e| format!(".{}", e.to_string_lossy()));
    path.with_file_name(format!("{stem}-{number}{ending}"))
}

fn draw(name: &str, index: usize, recording: &Recording, heard: &Heard) -> Result<paper::Drawing, Refused> {
    let blows: Vec<f64> = heard.blows.iter().filter(|b| b.take == index).map(|b| b.at_s).collect();
    let part = shown_part(recording, &blows).ok_or_else(crate::audio::empty)?;
    let length_s = part.samples.len() as f64 / part.sample_rate_hz;
    let inside: Vec<f64> = blows.iter().map(|s| s - part.at_s).filter(|s| (0.0..=length_s).contains(s)).collect();
    let name =
        if recording.long { format!("{name} from {}", crate::hearing::clock(part.at_s)) } else { name.to_owned() };
    take_picture(&picture(name, part, inside, heard, range_hz(&[heard])))
        .map_err(|error| Refused::new("cannot_draw", error.to_string(), "leave --picture out"))
}

/// The whole take; of a long recording the part with the first blow used.
fn shown_part<'a>(recording: &'a Recording, blows: &[f64]) -> Option<&'a Part> {
    let first = blows.first().copied().unwrap_or(0.0);
    recording.parts.iter().rev().find(|part| part.at_s <= first).or(recording.parts.first())
}
