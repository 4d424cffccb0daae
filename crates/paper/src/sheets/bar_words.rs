//! The side view in words: its description, its legend, and its bands as rows.
use super::bar::{BandMark, HalfMark, SideView};
use super::furniture::{Entry, Sample};
use crate::Pen;
use crate::measure::{both, fine_mm, inches, mm};

/// The drawing in words.
pub fn description(view: &SideView) -> String {
    let shape = &view.shape;
    let mut words = format!(
        "Side view of a bar {} long and {} thick, top face up, left end at the left.",
        both(shape.length_mm),
        fine_mm(shape.thickest_mm())
    );
    for band in &view.bands {
        let half = match band.half {
            HalfMark::Both => "on both sides of the centre",
            HalfMark::Left => "left of the centre",
            HalfMark::Right => "right of the centre",
        };
        words.push_str(&format!(
            " Take off {} of the underside from {} to {} from the centre, {half}.",
            depth_words(band.depth_mm),
            both(band.from_mm),
            both(band.to_mm)
        ));
    }
    if view.bands.is_empty() {
        words.push_str(" Nothing is marked to be taken off.");
    }
    if !view.nodes_mm.is_empty() {
        let places: Vec<String> = view.nodes_mm.iter().map(|n| both(*n)).collect();
        words.push_str(&format!(" Node lines at {} from the left end.", places.join(" and ")));
    }
    words
}

/// A depth in words: hundredths below a millimetre, tenths above.
fn depth_words(depth_mm: f64) -> String {
    if depth_mm >= 0.995 { fine_mm(depth_mm) } else { format!("{depth_mm:.2} mm") }
}

/// What the pens mean on this sheet.
pub fn entries(view: &SideView, enlarged: bool) -> Vec<Entry> {
    let mut entries = Vec::new();
    if !view.bands.is_empty() {
        let mut outward: Vec<&BandMark> = view.bands.iter().collect();
        outward.sort_by(|a, b| a.from_mm.total_cmp(&b.from_mm));
        let mut depths: Vec<String> = outward.iter().map(|b| depth_words(b.depth_mm)).collect();
        depths.dedup();
        // One unit at the end: "0.86, 0.22 mm", from the centre outward.
        let last = depths.pop().unwrap_or_default();
        let numbers = depths.iter().map(|d| format!("{}, ", d.trim_end_matches(" mm"))).collect::<String>();
        entries.push(Entry { pen: Pen::Cut, sample: Sample::Patch, words: format!("take off {numbers}{last}") });
        if enlarged {
            entries.push(Entry { pen: Pen::Cut, sample: Sample::None, words: "(drawn deeper)".to_owned() });
        }
    }
    if !view.nodes_mm.is_empty() {
        entries.push(Entry { pen: Pen::Node, sample: Sample::Line, words: "node line".to_owned() });
    }
    if let Some(least) = view.least_mm {
        entries.push(Entry {
            pen: Pen::Caution,
            sample: Sample::Line,
            words: format!("never thinner than {}", mm(least)),
        });
    }
    entries
}

/// The bands as rows of words, for sheets too crowded for dimension lines.
pub fn band_rows(view: &SideView) -> Vec<String> {
    let row = |band: &BandMark| {
        let half = match band.half {
            HalfMark::Both => "both",
            HalfMark::Left => "left",
            HalfMark::Right => "right",
        };
        let inch = |length| inches(length).trim_end_matches(" in").to_owned();
        let (from, to) = (band.from_mm, band.to_mm);
        let from_words = mm(from).trim_end_matches(" mm").to_owned();
        format!("{half}: {from_words} to {}, {} to {} in", mm(to), inch(from), inch(to))
    };
    view.bands.iter().map(row).collect()
}
