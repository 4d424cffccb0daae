//! Sheets to write on: usable with the device off.
use super::table;
use crate::report::units::plain;
use paper::listing::{Column, Listing, Part};
use words::tell;

/// Lines to sign on.
pub(crate) fn signatures<const N: usize>(who: [String; N]) -> Part {
    let rows = who.into_iter().map(|who| vec![who, String::new()]).collect();
    table(vec![Column::words(""), Column::free(tell!("name-date-signature"), 60)], rows)
}

/// A blank, two minutes each: sizes, mass, blow, salt.
pub fn blank_record(lines: usize) -> Listing {
    let columns = vec![
        Column::free(tell!("label"), 16),
        Column::free(tell!("board"), 14),
        Column::free(tell!("length"), 16),
        Column::free(tell!("width"), 14),
        Column::free(tell!("thick-three-times"), 26),
        Column::free(tell!("mass-g"), 16),
        Column::free(tell!("mode-1-hz"), 20),
        Column::free(tell!("lean-mm"), 18),
        Column::free(tell!("face-up"), 14),
        Column::free("°C %", 18),
    ];
    let parts = vec![
        Part::Words(tell!("blanks-words")),
        table(columns, vec![Vec::new(); lines]),
        Part::Caution(tell!("dust-blanks")),
    ];
    Listing { title: tell!("title-blanks"), parts }
}

/// A note to be tuned: name, its targets in hertz.
pub type Target = (String, Vec<f64>);

/// Each note's targets, and room for three readings of each mode.
pub fn tuning(targets: &[Target]) -> Listing {
    let rows = targets
        .iter()
        .map(|(name, hz)| {
            let target = |i: usize| hz.get(i).map_or_else(|| "–".to_owned(), |hz| plain(*hz, 2));
            vec![words::note(name), target(0), target(1), target(2)]
        })
        .collect();
    let columns = vec![
        Column::words(tell!("note")),
        Column::figures(tell!("mode-1-hz")),
        Column::figures(tell!("mode-2-hz")),
        Column::figures(tell!("mode-3-hz")),
        Column::free(tell!("cents-place-passes"), 40),
        Column::free(tell!("again"), 30),
        Column::free(tell!("again"), 30),
        Column::free(tell!("done"), 12),
    ];
    let parts = vec![Part::Words(tell!("tuning-words")), table(columns, rows), Part::Caution(tell!("caution-belt"))];
    Listing { title: tell!("title-tuning"), parts }
}

/// What to do and look at when it is put together (common practice, no source).
pub fn assembly() -> Listing {
    let steps = [
        tell!("assembly-1"),
        tell!("assembly-2"),
        tell!("assembly-3"),
        tell!("assembly-4"),
        tell!("assembly-5"),
        tell!("assembly-6"),
        tell!("assembly-7"),
        tell!("assembly-8"),
        tell!("assembly-9"),
        tell!("assembly-10"),
        tell!("assembly-11"),
        tell!("assembly-12"),
        tell!("assembly-13"),
        tell!("assembly-14"),
        tell!("assembly-15"),
        tell!("assembly-16"),
    ];
    let rows = (1..).zip(steps).map(|(number, step): (usize, String)| vec![number.to_string(), step]).collect();
    let columns = vec![
        Column::figures(""),
        Column::words(tell!("look-at")),
        Column::free(tell!("done"), 14),
        Column::free(tell!("remark"), 40),
    ];
    let parts = vec![
        table(columns, rows),
        Part::Caution(tell!("caution-heavy")),
        signatures([tell!("put-together-by"), tell!("looked-over-by")]),
    ];
    Listing { title: tell!("title-assembly"), parts }
}
