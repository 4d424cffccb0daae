//! A bar file that was read without complaint.
use super::units::{Units, hz, plain};
use crate::convert::{self, rounded};
use records::BarFile;
use serde_json::{Value, json};

/// The public JSON of `check`.
pub fn to_json(file: &BarFile) -> Value {
    let (x_mm, thinnest_mm) = file.outline().thinnest();
    json!({
        "ok": true,
        "note": file.note().map(|note| note.to_string()),
        "note_hz": file.note_hz().map(|f| rounded(f, 4)),
        "log_entries": file.log().len(),
        "length_mm": rounded(file.outline().length_mm(), 3),
        "thinnest": { "x_mm": rounded(x_mm, 3), "thickness_mm": rounded(thinnest_mm, 3) },
    })
}

/// One line, and the history if there is one.
pub fn to_text(file: &BarFile, units: Units) -> String {
    let note = match (file.note(), file.note_hz()) {
        (Some(note), Some(note_hz)) => format!("{note} ({} Hz at A4 = {} Hz)", hz(note_hz), plain(file.a4_hz(), 2)),
        _ => "no note named".to_owned(),
    };
    let entries = file.log().len();
    let (x_mm, thinnest_mm) = file.outline().thinnest();
    let mut text = format!(
        "The file is sound. {note}; {} long; as intended {}; {entries} log {}.\n",
        units.place(file.outline().length_mm()),
        units.thinnest(x_mm, thinnest_mm, file.outline().thickness_mm.iter().copied()),
        if entries == 1 { "entry" } else { "entries" }
    );
    if let Some((_, targets)) = convert::targets(file) {
        let ratios: Vec<String> = targets.ratios.iter().map(|r| super::units::ratio(*r)).collect();
        text.push_str(&format!(
            "Tuned modes {}, aimed {} cents above their targets.\n",
            ratios.join(", "),
            plain(targets.headroom_cents, 1)
        ));
    }
    let rows = super::bouts::rows(file);
    if !rows.is_empty() {
        text.push_str(&format!("\n{}", super::bouts::table(&rows, units)));
    }
    text
}
