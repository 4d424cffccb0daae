//! Blanks without a note: from the record, or from a table.
use crate::cli::all_cores::on_all_cores;
use crate::cli::workshop::ring;
use crate::convert;
use crate::convert::salted::SaltedBar;
use crate::error::Refused;
use bar_physics::Wood;
use making::wood::{Blank, Drying, Weighing, decay_quality, drying};
use records::workshop::{BarFilter, BarRow, Body, Kind, Stage, Uid, Workshop};
use records::{BarFile, FORMAT};
use serde::Deserialize;
use serde_json::json;
use std::collections::BTreeMap;
use std::path::Path;

/// A blank with what is kept of it beside its figures.
#[derive(Debug, Clone)]
pub(in crate::cli) struct Known {
    pub(in crate::cli) blank: Blank,
    /// Its name in the record.
    pub(in crate::cli) uid: Option<Uid>,
    /// The board it came from.
    pub(in crate::cli) board: Option<String>,
    /// Its wood, where it was heard.
    pub(in crate::cli) wood: Option<Wood>,
    /// What its weighings tell.
    pub(in crate::cli) drying: Option<Drying>,
}

/// Doubt of a shop's scale.
const SCALE_KG: f64 = 0.5e-3;
const SECONDS_A_DAY: f64 = 86_400.0;

/// All blanks of the record that have no note and of which nothing was cut yet; with their ring if it is to be listened to again.
pub(in crate::cli) fn of_record(workshop: &Workshop, with_ring: bool) -> Result<Vec<Known>, Refused> {
    let boards: BTreeMap<Uid, (String, Option<f64>)> = workshop
        .list(Kind::Board)?
        .into_iter()
        .filter_map(|named| match named.body {
            Body::Board(board) => Some((named.uid, (named.name, board.moisture_pct))),
            _ => None,
        })
        .collect();
    let rows = workshop.bars(&BarFilter::default())?;
    let mut files = Vec::new();
    let free = |row: &&BarRow| {
        row.note.is_none() && row.instrument.is_none() && matches!(row.stage, Stage::MeasureBlank | Stage::GiveNote)
    };
    for row in rows.iter().filter(free) {
        let state = workshop.bar(row.uid)?;
        let board = state.board.and_then(|board| boards.get(&board));
        let salted = SaltedBar::of(workshop, row.uid)?;
        let tilt_m = salted.tests.last().map(|salted| salted.test.tilt_m());
        let drying = dried(workshop, row.uid, state.file.record().mass_g)?;
        let heard = state.reading.is_some();
        let ring = if with_ring { ring(workshop, row.uid)? } else { None };
        files.push((row, state, board, tilt_m, drying, heard, ring));
    }
    // The solid takes a tenth of a second for each.
    let woods = on_all_cores(&files, &|(_, state, _, _, _, heard, _)| heard.then(|| wood(&state.file)).transpose());
    files
        .into_iter()
        .zip(woods)
        .map(|((row, state, board, tilt_m, drying, _, ring), wood)| {
            let record = state.file.record();
            let size_mm = [state.file.outline().length_mm(), record.width_mm, record.thickness_mm];
            let wood = wood?;
            let volume_m3: f64 = size_mm.iter().map(|mm| mm * 1e-3).product();
            let density = record.mass_g.map(|mass_g| mass_g * 1e-3 / volume_m3);
            let blank = Blank {
                label: row.label.clone(),
                size_m: size_mm.map(|mm| mm * 1e-3),
                density_kg_m3: density,
                e_over_rho: wood.as_ref().map(|wood| wood.e_l_pa / wood.density_kg_m3),
                quality: ring.map(|(hz, decay_s)| decay_quality(hz, decay_s)),
                tilt_m,
                moisture_percent: board.and_then(|(_, moisture)| *moisture),
                defects: Vec::new(),
                colour: None,
            };
            Ok(Known { blank, uid: Some(row.uid), board: board.map(|(name, _)| name.clone()), wood, drying })
        })
        .collect()
}

/// The wood as it is believed to be by its pitch and mass.
fn wood(file: &BarFile) -> Result<Wood, Refused> {
    Ok(convert::believe(file)?.bar()?.wood)
}

fn dried(workshop: &Workshop, uid: Uid, entered_g: Option<f64>) -> Result<Option<Drying>, Refused> {
    let history = workshop.history(uid)?;
    let mut weighings: Vec<Weighing> = Vec::new();
    let mut weighed = |at: jiff::Timestamp, mass_g: f64| {
        let day = at.as_second() as f64 / SECONDS_A_DAY;
        // Two on one day are one, the later.
        weighings.retain(|other| day - other.day > 0.5);
        weighings.push(Weighing { day, mass_kg: mass_g * 1e-3 });
    };
    for standing in history.standing() {
        match standing.body {
            Body::Entered(_) => entered_g.into_iter().for_each(|mass_g| weighed(standing.event.at, mass_g)),
            Body::Weighed(record) => weighed(standing.event.at, record.mass_g),
            _ => {}
        }
    }
    if weighings.len() < 2 { Ok(None) } else { Ok(Some(drying(&weighings, SCALE_KG)?)) }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    label: String,
    length_mm: f64,
    width_mm: f64,
    thickness_mm: f64,
    mass_g: Option<f64>,
    f1_hz: Option<f64>,
    decay_s: Option<f64>,
    tilt_mm: Option<f64>,
    moisture_percent: Option<f64>,
    colour: Option<String>,
    defects: Option<String>,
}

/// From a table; one line that cannot be a blank stops all, and is named.
pub(in crate::cli) fn read(path: &Path) -> Result<Vec<Known>, Refused> {
    let unreadable = |error: String| {
        let hint = "a CSV file with label, length_mm, width_mm, thickness_mm, and mass_g, f1_hz, decay_s, tilt_mm, moisture_percent, \
                    colour, defects where known; see docs/wood.md";
        Refused::new("not_blanks", format!("{}: {error}", path.display()), hint)
    };
    let table = records::workshop::table_as_csv(path).map_err(|error| {
        Refused::new("unreadable", format!("{} cannot be read: {error}", path.display()), "check the name")
    })?;
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(table.as_slice());
    let lines =
        reader.deserialize::<Line>().collect::<Result<Vec<_>, _>>().map_err(|error| unreadable(error.to_string()))?;
    if lines.is_empty() {
        return Err(unreadable("it names no blank".to_owned()));
    }
    let mut labels: Vec<&str> = lines.iter().map(|line| line.label.as_str()).collect();
    labels.sort_unstable();
    if let Some(twice) = labels.windows(2).find(|pair| pair[0] == pair[1]) {
        return Err(unreadable(format!("blank {} stands in it twice", twice[0])));
    }
    let known =
        on_all_cores(&lines, &|line| of_line(line).map_err(|error| error.about(format!("blank {}", line.label))));
    known.into_iter().collect::<Result<_, _>>().map_err(|error: Refused| error.about_file(path))
}

fn of_line(line: &Line) -> Result<Known, Refused> {
    let mut bar = json!({
        "format": FORMAT, "length_mm": line.length_mm, "width_mm": line.width_mm, "thickness_mm": line.thickness_mm,
    });
    if let Some(mass_g) = line.mass_g {
        bar["mass_g"] = mass_g.into();
    }
    if let Some(hz) = line.f1_hz {
        bar["log"] = json!([{ "heard": { "hz": { "bending": [hz] } } }]);
    }
    let file = BarFile::from_bytes(bar.to_string().as_bytes())?;
    let wood = line.f1_hz.is_some().then(|| wood(&file)).transpose()?;
    if let Some(decay_s) = line.decay_s.filter(|decay_s| !(0.001..=30.0).contains(decay_s)) {
        let hint = "seconds until mode 1 has fallen to a third (1/e) of its amplitude: `barwright listen` tells it";
        return Err(Refused::new(
            "out_of_range",
            format!("decay_s is {decay_s}; it must lie between 0.001 and 30 s"),
            hint,
        ));
    }
    let size_m = [line.length_mm, line.width_mm, line.thickness_mm].map(|mm| mm * 1e-3);
    let words = |text: &Option<String>| text.clone().filter(|text| !text.is_empty());
    let blank = Blank {
        label: line.label.clone(),
        size_m,
        density_kg_m3: line.mass_g.map(|mass_g| mass_g * 1e-3 / size_m.iter().product::<f64>()),
        e_over_rho: wood.as_ref().map(|wood| wood.e_l_pa / wood.density_kg_m3),
        quality: line.f1_hz.zip(line.decay_s).map(|(hz, decay_s)| decay_quality(hz, decay_s)),
        tilt_m: line.tilt_mm.map(|mm| mm * 1e-3),
        moisture_percent: line.moisture_percent,
        defects: words(&line.defects)
            .map_or_else(Vec::new, |text| text.split(';').map(|word| word.trim().to_owned()).collect()),
        colour: words(&line.colour),
    };
    Ok(Known { blank, uid: None, board: None, wood, drying: None })
}
