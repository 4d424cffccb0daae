//! Everything the bench page shows, taken from the bench at one moment.
use crate::bench::{About, Bench, BoutRow};
use crate::convert;
use crate::error::Refused;
use bar_physics::Modes;
use making::{Advice, Band, Decision, Targets};
use std::sync::Arc;
use strike::Heard;

/// One bar as the page shows it. Plain values: the page can be tested without a bench.
#[derive(Debug, Clone)]
pub struct BenchView {
    /// Note, e.g. "C♯3"; "?" if the file names none.
    pub note: String,
    /// Name of the bar's file without its folder, if it has one.
    pub file_name: Option<String>,
    /// Whether bar and workshop are simulated.
    pub invented: bool,
    /// Revision of the bench.
    pub revision: u64,
    /// What would be taken back next, in words.
    pub undo: Option<String>,
    /// What would be brought back next, in words.
    pub redo: Option<String>,
    /// What the record knows besides; `None` for a bar file.
    pub about: Option<About>,
    /// Tuning targets, if the file names a note.
    pub targets: Option<Targets>,
    /// The advice, or why there is none.
    pub advice: Result<Arc<Advice>, Refused>,
    /// Modes of the bar as believed; missing if they cannot be computed.
    pub modes: Option<Arc<Modes>>,
    /// Outline to draw: width, and (x, thickness) from the left end, in millimetres.
    pub outline: OutlineMm,
    /// Thinnest wood allowed, in millimetres.
    pub least_mm: Option<f64>,
    /// What the last recording held.
    pub heard: Option<Heard>,
    /// Readings and cuts so far.
    pub bouts: Vec<BoutRow>,
}

/// A bar's outline in millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct OutlineMm {
    /// Width.
    pub width_mm: f64,
    /// Stations of the underside: (x from the left end, thickness from the top face).
    pub stations_mm: Vec<(f64, f64)>,
}

impl OutlineMm {
    /// Length.
    pub fn length_mm(&self) -> f64 {
        self.stations_mm.last().map_or(0.0, |s| s.0)
    }

    /// Thinnest place: (x, thickness).
    pub fn thinnest_mm(&self) -> (f64, f64) {
        self.stations_mm.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((0.0, 0.0))
    }
}

impl BenchView {
    /// Takes everything from the bench; computes what has not been computed for this revision.
    pub fn of(bench: &Bench) -> Self {
        let advice = bench.advise();
        let file = bench.file();
        let outline = match &advice {
            Ok(advice) => believed_outline(advice, file.record().width_mm),
            Err(_) => intended_outline(file),
        };
        Self {
            note: file.note().map_or_else(|| "?".to_owned(), |n| n.to_string()),
            file_name: bench.path().and_then(|p| p.file_name()).map(|n| n.to_string_lossy().into_owned()),
            invented: bench.invented(),
            revision: bench.revision(),
            undo: bench.undoable(),
            redo: bench.redoable(),
            about: bench.about().cloned(),
            targets: convert::targets(file).map(|(_, targets)| targets),
            advice,
            modes: bench.modes().ok(),
            outline,
            least_mm: convert::job(file).ok().map(|job| job.limits.min_thickness_m * 1e3),
            heard: bench.last_heard().cloned(),
            bouts: bench.bouts().to_vec(),
        }
    }

    /// The bands to remove now, in order.
    pub fn bands(&self) -> &[Band] {
        self.advice.as_ref().map_or(&[], |a| a.bands.as_slice())
    }

    /// What to do, if anything is advised.
    pub fn decision(&self) -> Option<Decision> {
        self.advice.as_ref().ok().map(|a| a.decision)
    }

    /// What is aimed at: "aim +100".
    pub fn aim(&self) -> String {
        match self.targets.as_ref().map(|t| t.headroom_cents) {
            None => "no note".to_owned(),
            Some(aim) if aim.abs() < 0.5 => "aim 0".to_owned(),
            Some(aim) => format!("aim {}", paper::measure::cents(aim)),
        }
    }

    /// The stage in words: "rough, aim +100".
    pub fn stage(&self) -> String {
        match self.targets.as_ref().map(|t| t.headroom_cents) {
            None => "no note named".to_owned(),
            // A quarter of a semitone and more is headroom for later cutting, not a tolerance.
            Some(aim) if aim >= 25.0 => format!("rough, aim {}", paper::measure::cents(aim)),
            Some(aim) if aim.abs() < 0.5 => "fine, aim 0".to_owned(),
            Some(aim) => format!("fine, aim {}", paper::measure::cents(aim)),
        }
    }

    /// Passes to offer when a cut is entered: the middle of the advised range, at least one.
    pub fn usual_passes(&self) -> u32 {
        let range = self.advice.as_ref().ok().and_then(|a| a.passes);
        range.map_or(1, |(low, high)| low.midpoint(high).max(1))
    }
}

/// The bands as they were cut with `made` passes where `advised` were meant.
///
/// Inside the advised range the depth is as intended. Outside it each pass is taken to remove as much as the
/// nearest advised one, so that a bout stopped early is not entered as if it were finished.
pub fn bands_as_made(bands: &[Band], advised: Option<(u32, u32)>, made: u32) -> Vec<Band> {
    let share = match advised {
        Some((low, high)) if low >= 1 && high >= low => f64::from(made) / f64::from(made.clamp(low, high)),
        _ => 1.0,
    };
    bands.iter().map(|b| Band { depth_m: b.depth_m * share, ..*b }).collect()
}

/// The most likely shape.
fn believed_outline(advice: &Advice, width_mm: f64) -> OutlineMm {
    let underside = &advice.belief.underside;
    let stations = underside.x_m().iter().zip(underside.thickness_m());
    OutlineMm { width_mm, stations_mm: stations.map(|(x, t)| (x * 1e3, t * 1e3)).collect() }
}

/// The shape as the file intends it.
fn intended_outline(file: &records::BarFile) -> OutlineMm {
    let outline = file.outline();
    let stations_mm = outline.x_mm.iter().copied().zip(outline.thickness_mm.iter().copied()).collect();
    OutlineMm { width_mm: file.record().width_mm, stations_mm }
}

#[cfg(test)]
mod tests {
    use super::*;
    use making::Side;

    #[test]
    fn passes_outside_the_advised_range_scale_the_depth() {
        let band = Band { from_m: 0.0, to_m: 0.05, depth_m: 0.3e-3, side: Side::Both };
        let depth_mm = |made| bands_as_made(&[band], Some((2, 4)), made)[0].depth_m * 1e3;
        // Exact up to rounding of a product.
        for (made, depth) in [(1, 0.15), (2, 0.3), (3, 0.3), (4, 0.3), (6, 0.45)] {
            assert!((depth_mm(made) - depth).abs() < 1e-12, "{made} passes: {}", depth_mm(made));
        }
        assert!((bands_as_made(&[band], None, 9)[0].depth_m - band.depth_m).abs() < 1e-15);
    }
}
