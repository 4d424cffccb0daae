//! A take as it was heard: the sound with its blows, its spectrum with the modes, and how each mode dies away.
mod decays;
mod panel;
mod sound;
mod spectrum;

use super::{Sheet, furniture};
use crate::error::within;
use crate::{Anchor, Drawing, PaperError, Pen, Point};

/// A tone to mark in the spectrum.
#[derive(Debug, Clone, PartialEq)]
pub struct ToneMark {
    /// What stands over it, short: "1", "T1", "a".
    pub sign: String,
    /// What it is, for the list below: "mode 1, 261.63 Hz ± 0.1 cents".
    pub words: String,
    /// Frequency in hertz.
    pub hz: f64,
    /// Whether it is a mode of this bar; other tones are drawn as doubts.
    pub named: bool,
}

/// How one mode dies away.
#[derive(Debug, Clone, PartialEq)]
pub struct DecayCurve {
    /// Title: "mode 1: 0.50 s".
    pub title: String,
    /// (seconds after the blow, dB).
    pub measured: Vec<(f64, f64)>,
    /// Time in which the fitted amplitude falls by 1/e, in seconds.
    pub decay_s: f64,
}

/// What the sheet shows.
#[derive(Debug, Clone, PartialEq)]
pub struct TakePicture {
    /// Name of the take.
    pub name: String,
    /// Length of the waveform in seconds.
    pub length_s: f64,
    /// Smallest and largest sample of equal stretches, −1…1.
    pub outline: Vec<(f64, f64)>,
    /// Times of the blows used, in seconds.
    pub blows_s: Vec<f64>,
    /// (hertz, dB), frequencies rising; empty if there is nothing to show.
    pub spectrum: Vec<(f64, f64)>,
    /// The noise floor on the same frequencies and scale.
    pub floor: Vec<(f64, f64)>,
    /// Tones to mark, the ones that matter most first.
    pub tones: Vec<ToneMark>,
    /// Decays, lowest mode first.
    pub decays: Vec<DecayCurve>,
    /// The paper.
    pub sheet: Sheet,
    /// Ends of its axes; its own if nothing is said.
    pub axes: Option<TakeAxes>,
}

/// Ends of the axes: takes drawn on the same ones can be compared by eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TakeAxes {
    /// End of the waveform in seconds.
    length_s: f64,
    /// Ends of the spectrum in hertz.
    hz: (f64, f64),
    /// Lowest level of the spectrum in dB.
    bottom_db: f64,
    /// End of the decays in seconds.
    decay_s: f64,
}

impl TakeAxes {
    /// The axes that hold all of these takes.
    pub fn of(views: &[TakePicture]) -> Self {
        let ends = |end: fn(&TakePicture) -> Option<f64>| views.iter().filter_map(end);
        let low_hz = ends(|v| v.spectrum.first().map(|p| p.0)).reduce(f64::min).unwrap_or(10.0);
        let high_hz = ends(|v| v.spectrum.last().map(|p| p.0)).reduce(f64::max).unwrap_or(10_000.0);
        // From the floors' own bottom, rounded to 20 dB.
        let floor = views.iter().flat_map(|v| &v.floor).map(|p| p.1).fold(-40.0, f64::min).max(-120.0);
        let decays = views.iter().flat_map(|v| &v.decays).flat_map(|c| &c.measured);
        Self {
            length_s: ends(|v| Some(v.length_s)).fold(1e-3, f64::max),
            hz: (low_hz, high_hz.max(1.01 * low_hz)),
            bottom_db: (floor / 20.0).floor() * 20.0,
            decay_s: decays.map(|p| p.0).fold(0.05, f64::max),
        }
    }
}

/// Space between two parts of the sheet.
const GAP_MM: f64 = 5.0;

/// Waveform over spectrum over decays.
///
/// # Errors
/// [`PaperError`] for a value that is not finite or out of range.
pub fn take_picture(view: &TakePicture) -> Result<Drawing, PaperError> {
    let sheet = view.sheet.checked()?;
    check(view)?;
    let axes = view.axes.unwrap_or_else(|| TakeAxes::of(std::slice::from_ref(view)));
    let size = sheet.lettering_mm;
    let mut drawing = Drawing::new(format!("Take {}", view.name), description(view));
    let base = furniture::row_baseline(0.0, size);
    drawing.text(Pen::Text, Point::new(0.0, base), Anchor::Start, size, shortened(&view.name, sheet));
    let mut y = sound::draw(&mut drawing, view, &axes, sheet, furniture::row_mm(size));
    if view.spectrum.len() > 1 {
        y = spectrum::draw(&mut drawing, view, &axes, sheet, y + GAP_MM);
    }
    if !view.decays.is_empty() {
        decays::draw(&mut drawing, view, &axes, sheet, y + GAP_MM);
    }
    drawing.checked()
}

/// The name, cut at its front if it is too long for the sheet: the end tells takes apart.
fn shortened(name: &str, sheet: Sheet) -> String {
    let fits = |text: &str| crate::lettering::width_mm(text, sheet.lettering_mm) <= sheet.width_mm;
    if fits(name) {
        return name.to_owned();
    }
    let starts = name.char_indices().map(|(at, _)| at);
    starts.map(|at| format!("…{}", &name[at..])).find(|text| fits(text)).unwrap_or_default()
}

fn check(view: &TakePicture) -> Result<(), PaperError> {
    within("the length of the take in s", view.length_s, 1e-3, 1e6)?;
    for (low, high) in &view.outline {
        within("a sample", *low, -1.001, 1.001)?;
        within("a sample", *high, -1.001, 1.001)?;
    }
    for at_s in &view.blows_s {
        within("the time of a blow in s", *at_s, 0.0, view.length_s)?;
    }
    for (hz, db) in view.spectrum.iter().chain(&view.floor) {
        within("a frequency in Hz", *hz, 1.0, 1e6)?;
        within("a level in dB", *db, -400.0, 400.0)?;
    }
    for tone in &view.tones {
        within(&format!("the frequency of {} in Hz", tone.words), tone.hz, 1.0, 1e6)?;
    }
    for curve in &view.decays {
        within(&format!("the decay time of {} in s", curve.title), curve.decay_s, 1e-6, 1e6)?;
        for (at_s, db) in &curve.measured {
            within("a time in s", *at_s, 0.0, 1e6)?;
            within("a level in dB", *db, -400.0, 400.0)?;
        }
    }
    Ok(())
}

fn description(view: &TakePicture) -> String {
    let blows: Vec<String> = view.blows_s.iter().map(|s| format!("{s:.2} s")).collect();
    let tones: Vec<String> = view.tones.iter().map(|tone| format!("{}: {}", tone.sign, tone.words)).collect();
    let decays: Vec<&str> = view.decays.iter().map(|curve| curve.title.as_str()).collect();
    format!(
        "Sound of {:.2} s with blows at {}. Spectrum with {}. Decays: {}.",
        view.length_s,
        if blows.is_empty() { "no time".to_owned() } else { blows.join(", ") },
        if tones.is_empty() { "no tone named".to_owned() } else { tones.join("; ") },
        if decays.is_empty() { "none".to_owned() } else { decays.join("; ") }
    )
}

#[cfg(test)]
mod tests;
