//! The table of bouts: every reading, and what was done after it.
use super::units::{Units, cents_with_sigma};
use crate::bench::{BoutMode, BoutRow};
use crate::convert;
use records::{BarFile, CutRecord, LogEntry, SideName};

/// Rows from the log of `file`, oldest first; a row is a reading with the happenings up to the next one.
pub fn rows(file: &BarFile) -> Vec<BoutRow> {
    let mut rows: Vec<BoutRow> = Vec::new();
    for (index, entry) in file.log().iter().enumerate() {
        match (entry, rows.last_mut()) {
            (LogEntry::Heard(heard), _) => {
                let (thinnest_x_mm, thinnest_mm) = file.outline_before(index).thinnest();
                let bout = rows.len() + 1;
                rows.push(BoutRow { bout, done: String::new(), modes: modes(file, heard), thinnest_x_mm, thinnest_mm });
            }
            (_, Some(row)) => {
                let words = done(entry);
                row.done = if row.done.is_empty() { words } else { format!("{}; {words}", row.done) };
            }
            (_, None) => {}
        }
    }
    rows
}

fn modes(file: &BarFile, heard: &records::HeardRecord) -> Vec<BoutMode> {
    let targets = convert::targets(file);
    let ratios = targets.as_ref().map_or(&[][..], |(_, targets)| &targets.ratios);
    let note_hz = targets.as_ref().map_or(f64::NAN, |(note_hz, _)| *note_hz);
    let heard_hz = |i: usize| heard.hz.bending.as_ref().and_then(|list| list.get(i).copied().flatten());
    let mode = |(i, ratio): (usize, &f64)| BoutMode {
        mode: i + 1,
        cents: heard_hz(i).map(|hz| bar_physics::units::cents(hz, note_hz * ratio)),
        sigma_cents: heard.sigma_cents.unwrap_or(1.0),
    };
    ratios.iter().enumerate().map(mode).collect()
}

/// Cents of each mode of a reading above its target: "mode 1 +12, mode 2 −3 cents"; empty without a note.
pub fn cents_words(file: &BarFile, heard: &records::HeardRecord) -> String {
    let modes = modes(file, heard).into_iter();
    let words: Vec<String> =
        modes.filter_map(|m| Some(format!("mode {} {}", m.mode, super::units::cents(m.cents?)))).collect();
    if words.is_empty() { String::new() } else { format!("{} cents", words.join(", ")) }
}

/// A happening in workshop words.
pub fn done(entry: &LogEntry) -> String {
    match entry {
        LogEntry::Cut(cut) => cut_words(cut),
        LogEntry::Shaped(_) => "sawn to a new profile".to_owned(),
        LogEntry::Caliper(_) => "measured with the caliper".to_owned(),
        LogEntry::Trim(trim) => format!(
            "trimmed {} mm left, {} mm right",
            super::units::plain(trim.left_mm.unwrap_or(0.0), 1),
            super::units::plain(trim.right_mm.unwrap_or(0.0), 1)
        ),
        LogEntry::Weighed(weighed) => format!("weighed {} g", super::units::plain(weighed.mass_g, 1)),
        LogEntry::Heard(_) => "struck".to_owned(),
    }
}

fn cut_words(cut: &CutRecord) -> String {
    let plain = super::units::plain;
    let band = |b: &records::BandRecord| {
        let side = match b.side.unwrap_or(SideName::Both) {
            SideName::Both => "",
            SideName::Left => " left",
            SideName::Right => " right",
        };
        // A breath of the belt is not nothing.
        let depth = if b.depth_mm < 0.005 { "under 0.01".to_owned() } else { plain(b.depth_mm, 2) };
        format!("{}–{} mm{side}: {depth}", plain(b.from_mm, 0), plain(b.to_mm, 0))
    };
    let bands: Vec<String> = cut.bands.iter().map(band).collect();
    let passes = cut.passes.map_or(String::new(), |n| format!(" ({n} {})", if n == 1 { "pass" } else { "passes" }));
    format!("cut {}{passes}", bands.join(", "))
}

/// The rows as an aligned table.
pub fn table(rows: &[BoutRow], units: Units) -> String {
    let most = rows.iter().map(|row| row.modes.len()).max().unwrap_or(0);
    let mut table = super::table();
    let mut head = vec!["bout".to_owned()];
    head.extend((1..=most).map(|mode| format!("mode {mode}, cents")));
    head.extend(["thinnest as intended".to_owned(), "then, from centre".to_owned()]);
    table.set_header(head);
    for row in rows {
        let mut cells = vec![row.bout.to_string()];
        cells.extend(
            row.modes.iter().map(|m| m.cents.map_or("not heard".to_owned(), |c| cents_with_sigma(c, m.sigma_cents))),
        );
        cells.push(units.depth(row.thinnest_mm));
        cells.push(if row.done.is_empty() { "—".to_owned() } else { row.done.clone() });
        table.add_row(cells);
    }
    format!("{}\n", table.trim_fmt())
}

/// One row as JSON.
pub fn to_json(row: &BoutRow) -> serde_json::Value {
    let mode = |m: &BoutMode| {
        serde_json::json!({
            "mode": m.mode,
            "cents": m.cents.map(|c| convert::rounded(c, 2)),
            "sigma": convert::rounded(m.sigma_cents, 2),
        })
    };
    serde_json::json!({
        "bout": row.bout,
        "modes": row.modes.iter().map(mode).collect::<Vec<_>>(),
        "thinnest": { "x_mm": convert::rounded(row.thinnest_x_mm, 2), "thickness_mm": convert::rounded(row.thinnest_mm, 3) },
        "done": row.done,
    })
}
