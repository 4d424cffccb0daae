//! The tables of an archive, for spreadsheets.
use crate::spreadsheet::plain_text as plain;
use crate::workshop::body::Body;
use crate::workshop::error::RecordError;
use crate::workshop::event::Kind;
use crate::workshop::open::Workshop;
use crate::workshop::views::BarFilter;
use std::io::Write;

type Table = fn(&Workshop, &mut dyn Write) -> Result<(), RecordError>;

/// Every table with its file name.
pub(super) const ALL: [(&str, Table); 3] = [("bars.csv", bars), ("readings.csv", readings), ("cuts.csv", cuts)];

fn bars(workshop: &Workshop, out: &mut dyn Write) -> Result<(), RecordError> {
    let mut csv = csv::Writer::from_writer(out);
    let head = [
        "uid",
        "label",
        "instrument",
        "note",
        "stage",
        "heard_at",
        "worked_at",
        "cents_1",
        "cents_2",
        "cents_3",
        "sigma_cents",
        "heard_c",
        "centre_mm",
    ];
    csv.write_record(head).map_err(failed)?;
    for bar in workshop.bars(&BarFilter::default())? {
        csv.write_record([
            bar.uid.to_string(),
            plain(&bar.label),
            bar.instrument.map(|(_, name)| plain(&name)).unwrap_or_default(),
            bar.note.unwrap_or_default(),
            bar.stage.word().to_owned(),
            text(bar.heard_at),
            text(bar.worked_at),
            text(bar.cents[0]),
            text(bar.cents[1]),
            text(bar.cents[2]),
            text(bar.sigma_cents),
            text(bar.heard_c),
            bar.centre_mm.to_string(),
        ])
        .map_err(failed)?;
    }
    csv.flush().map_err(|error| failed(error.into()))
}

fn readings(workshop: &Workshop, out: &mut dyn Write) -> Result<(), RecordError> {
    let mut csv = csv::Writer::from_writer(out);
    let head =
        ["bar", "label", "at", "bending_1_hz", "bending_2_hz", "bending_3_hz", "sigma_cents", "temperature_c", "takes"];
    csv.write_record(head).map_err(failed)?;
    each_standing(workshop, |bar, label, at, body| {
        let Body::Heard(reading) = body else { return Ok(()) };
        let bending = reading.heard.hz.bending.as_deref().unwrap_or(&[]);
        let hz = |mode: usize| text(bending.get(mode).copied().flatten());
        csv.write_record([
            bar,
            label,
            at,
            hz(0),
            hz(1),
            hz(2),
            text(reading.heard.sigma_cents),
            text(reading.heard.temperature_c),
            reading.takes.join(" "),
        ])
        .map_err(failed)
    })?;
    csv.flush().map_err(|error| failed(error.into()))
}

fn cuts(workshop: &Workshop, out: &mut dyn Write) -> Result<(), RecordError> {
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(["bar", "label", "at", "from_mm", "to_mm", "depth_mm", "side", "passes"]).map_err(failed)?;
    each_standing(workshop, |bar, label, at, body| {
        let Body::Cut(cut) = body else { return Ok(()) };
        for band in &cut.bands {
            let side = band.side.map_or_else(|| "both".to_owned(), |side| format!("{side:?}").to_lowercase());
            csv.write_record([
                bar.clone(),
                label.clone(),
                at.clone(),
                band.from_mm.to_string(),
                band.to_mm.to_string(),
                band.depth_mm.to_string(),
                side,
                text(cut.passes),
            ])
            .map_err(failed)?;
        }
        Ok(())
    })?;
    csv.flush().map_err(|error| failed(error.into()))
}

/// Tells (bar, label, time, what) of every event of every bar that stands.
fn each_standing(
    workshop: &Workshop,
    mut tell: impl FnMut(String, String, String, &Body) -> Result<(), RecordError>,
) -> Result<(), RecordError> {
    for (_, uid, kind) in workshop.things()? {
        if kind != Kind::Bar {
            continue;
        }
        let history = workshop.history(uid)?;
        let standing = history.standing();
        let label = match standing.first().map(|first| first.body) {
            Some(Body::Entered(entered)) => plain(&entered.label),
            _ => String::new(),
        };
        for event in &standing {
            tell(uid.to_string(), label.clone(), event.event.at.to_string(), event.body)?;
        }
    }
    Ok(())
}

fn text(value: Option<impl ToString>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}

#[allow(clippy::needless_pass_by_value, reason = "the shape that map_err wants")]
fn failed(error: csv::Error) -> RecordError {
    let message = format!("A table cannot be written: {error}.");
    RecordError::new("not_saved", message, "Check the disk and the folder, then repeat the step.")
}
