//! `bar WHICH salt --photo`: node lines off a photograph.
use super::bar::{around, name, now_stands, with_doubts};
use super::bar_args::{BarArgs, SaltRead};
use super::values::Values;
use crate::cli::answer::Form;
use crate::cli::new_file::write_new;
use crate::convert::rounded;
use crate::convert::salted::SaltedBar;
use crate::error::Refused;
use crate::photo::{self, Marks, PhotographedBar, Picture};
use crate::report;
use jiff::Timestamp;
use making::frame::{Doubt, PhotoReading};
use records::workshop::{BarRow, Body, SaltRecord, Workshop};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// Reads the photograph, says what it tells and what is doubtful about that, and enters it unless it is a dry run.
pub(super) fn enter(
    workshop: &mut Workshop,
    row: &BarRow,
    args: &BarArgs,
    what: &SaltRead,
    [photo, marks]: [&PathBuf; 2],
    form: Form,
) -> Result<String, Refused> {
    let picture = Picture::of_bytes(read(photo)?).map_err(|error| error.about_file(photo))?;
    let marks = Marks::parse(&String::from_utf8_lossy(&read(marks)?)).map_err(|error| error.about_file(marks))?;
    let salted = SaltedBar::of(workshop, row.uid)?;
    let bar = PhotographedBar { name: name(row), length_m: salted.length_m, width_m: salted.width_m };
    let reading = bar.read(&marks, picture.size)?;
    let salt = PhotographedBar::salt(&reading, what.face.into(), &marks, &picture);
    let mut doubts = reading.doubts.clone();
    doubts.extend(salted.doubts_about(&salt, &bar.name)?);
    if let Some(path) = &what.strip {
        let strip = photo::strip(&picture.pixels()?, &reading, [bar.length_m, bar.width_m]);
        write_new(path, &photo::to_png(&strip)?)?;
    }
    let told = report::record::what(&Body::Salt(salt.clone()));
    if what.dry_run {
        let text = format!("{}: {told}; not entered.\n{}", bar.name, sure(&reading));
        return Ok(form.put(|| to_json(&salt, &reading, &doubts), || with_doubts(text.clone(), &doubts)));
    }
    let kept = photo::keep(workshop, &picture)?;
    let entry = around(workshop, args, Body::Salt(salt.clone()), Values::default())?;
    workshop.write(|step| {
        step.photo_kept(&kept)?;
        step.add(row.uid, entry, Timestamp::now())
    })?;
    if form.json {
        return Ok(format!("{}\n", to_json(&salt, &reading, &doubts)));
    }
    let done = format!("{}: {told}; kept with its photograph.\n{}", bar.name, sure(&reading));
    Ok(with_doubts(now_stands(workshop, row.uid, done, form)?, &doubts))
}

fn sure(reading: &PhotoReading) -> String {
    let ruler = reading.ruler_off.map_or_else(
        || " No ruler was marked.".to_owned(),
        |off| {
            let than = if off > 0.0 { "longer" } else { "shorter" };
            format!(" By the bar's corners the ruler is {:.1} % {than} than it says.", 100.0 * off.abs())
        },
    );
    format!("± {:.1} mm (one standard deviation).{ruler}\n", reading.sigma_m * 1e3)
}

fn to_json(salt: &SaltRecord, reading: &PhotoReading, doubts: &[Doubt]) -> Value {
    json!({
        "salt": salt, "sigma_mm": rounded(reading.sigma_m * 1e3, 2),
        "ruler_off": reading.ruler_off.map(|off| rounded(off, 4)),
        "doubts": doubts.iter().map(report::salt::doubt_json).collect::<Vec<_>>(),
    })
}

fn read(path: &Path) -> Result<Vec<u8>, Refused> {
    std::fs::read(path).map_err(|error| {
        let message = format!("{}: cannot be read: {error}", path.display());
        Refused::new("unreadable", message, "check the name and the folder")
    })
}
