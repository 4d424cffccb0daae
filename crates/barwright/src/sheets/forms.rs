//! Sheets to write on: usable with the device off.
use super::table;
use crate::report::units::plain;
use paper::listing::{Column, Listing, Part};

/// Lines to sign on.
pub(crate) fn signatures(who: &[&str]) -> Part {
    let rows = who.iter().map(|who| vec![(*who).to_owned(), String::new()]).collect();
    table(vec![Column::words(""), Column::free("name, date, signature", 60)], rows)
}

/// A blank, two minutes each: sizes, mass, blow, salt.
pub fn blank_record(lines: usize) -> Listing {
    let columns = vec![
        Column::free("label", 16),
        Column::free("board", 14),
        Column::free("length", 16),
        Column::free("width", 14),
        Column::free("thick 3×", 26),
        Column::free("mass g", 16),
        Column::free("mode 1 Hz", 20),
        Column::free("lean mm /\\", 18),
        Column::free("face up", 14),
        Column::free("°C %", 18),
    ];
    let parts = vec![
        Part::Words("On two foam strips, struck lightly in the middle; salt for the node lines. Label on the end grain, face A and B marked, an arrow to the bass. Lean: far edge less near edge, in bench view.".to_owned()),
        table(columns, vec![Vec::new(); lines]),
        Part::Caution("Dust of rosewoods, padauk and their kin sensitises skin and lungs: extraction and a mask.".to_owned()),
    ];
    Listing { title: "Blank record".to_owned(), parts }
}

/// A note to be tuned: name, its targets in hertz.
pub type Target = (String, Vec<f64>);

/// Each note's targets, and room for three readings of each mode.
pub fn tuning(targets: &[Target]) -> Listing {
    let rows = targets
        .iter()
        .map(|(name, hz)| {
            let target = |i: usize| hz.get(i).map_or_else(|| "–".to_owned(), |hz| plain(*hz, 2));
            vec![name.clone(), target(0), target(1), target(2)]
        })
        .collect();
    let columns = vec![
        Column::words("note"),
        Column::figures("mode 1 Hz"),
        Column::figures("mode 2 Hz"),
        Column::figures("mode 3 Hz"),
        Column::free("cents 1/2/3, place, passes, °C", 40),
        Column::free("again", 30),
        Column::free("again", 30),
        Column::free("done", 12),
    ];
    let parts = vec![
        Part::Words("Order: mode 3, then 2, then 1. Half of what is left, then strike again. A warm bar reads flat: put it back for ten minutes.".to_owned()),
        table(columns, rows),
        Part::Caution("Belt and drum: sand on the side that runs away from you, short bars in a holder, no gloves; extraction and a mask, muffs on while machines run. The machines' manuals come first.".to_owned()),
    ];
    Listing { title: "Tuning sheet".to_owned(), parts }
}

/// What to do and look at when it is put together (common practice, no source).
pub fn assembly() -> Listing {
    const STEPS: [&str; 16] = [
        "frame stands level, end boards square, rails as measured",
        "posts felted, none touches a bar on either side",
        "bars laid in order, bass to treble, top faces up, labels to the player's end",
        "cord through all bars of a row, spring at one end; tension so that bars sit and ring",
        "tops level, gaps even, accidentals clear of naturals",
        "each bar free: lift it a little, strike it, no buzz",
        "tubes hung straight, each middle under its bar, caps clear of one another",
        "stoppers tight; set at the room's temperature after two hours in it",
        "played chromatically with the customer's mallets: loudness even",
        "ring even: no bar under 0.6 of its neighbours (from memory)",
        "octaves and fourths: no beating that was not wanted",
        "corners struck: no loud twist beside a tuned mode",
        "temperature and humidity noted",
        "taken apart, carried, put together again: as before",
        "certificate given, advice sheet explained, next visit agreed",
        "papers of the wood handed over",
    ];
    let rows = STEPS.iter().enumerate().map(|(i, step)| vec![(i + 1).to_string(), (*step).to_owned()]).collect();
    let columns =
        vec![Column::figures(""), Column::words("look at"), Column::free("done", 14), Column::free("remark", 40)];
    let parts = vec![
        table(columns, rows),
        Part::Caution("It is heavy: two people lift a frame. Fresh tube ends are sharp.".to_owned()),
        signatures(&["put together by", "looked over by"]),
    ];
    Listing { title: "Assembly and check list".to_owned(), parts }
}
