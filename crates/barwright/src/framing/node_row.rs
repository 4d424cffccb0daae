//! One bar of a frame.
use making::frame::{FrameBar, NodeLines};
use records::Note;
use records::workshop::Uid;

/// One bar with its node lines; every number from the end that faces the player, top face up.
#[derive(Debug, Clone)]
pub struct NodeRow {
    /// Its note.
    pub note: Note,
    /// Length, in millimetres.
    pub length_mm: f64,
    /// Width, in millimetres.
    pub width_mm: f64,
    /// Node lines, if they were read.
    pub nodes: Option<NodeLines>,
    /// Thickness along the bar (x from the end that faces the player, thickness), as far as it is known.
    pub thickness_mm: Vec<(f64, f64)>,
    /// Its name in the record and the label on its end grain, if it is there.
    pub of_record: Option<(Uid, String)>,
    /// Whether its holes are drilled.
    pub drilled: bool,
}

impl NodeRow {
    /// For the decisions.
    pub fn bar(&self, sigma_mm: f64) -> FrameBar {
        FrameBar {
            name: self.note.to_string(),
            // C4 is 9 semitones below A4.
            semitone: self.note.semitones_above_a4() + 9,
            length_m: self.length_mm * 1e-3,
            width_m: self.width_mm * 1e-3,
            nodes: self.nodes,
            sigma_m: sigma_mm * 1e-3,
            motion_per_m: None,
        }
    }

    /// Least thickness at these places (metres from the end that faces the player), if it is known.
    pub fn least_thickness_m(&self, places_m: [f64; 2]) -> Option<f64> {
        let at = |x_m: f64| {
            let x = x_m * 1e3;
            let pair = self.thickness_mm.windows(2).find(|pair| x >= pair[0].0 && x <= pair[1].0)?;
            let [(xa, ta), (xb, tb)] = [pair[0], pair[1]];
            Some(if xb > xa { ta + (tb - ta) * (x - xa) / (xb - xa) } else { ta.min(tb) })
        };
        Some(at(places_m[0])?.min(at(places_m[1])?) * 1e-3)
    }
}
