//! A part of a board: what is still to be cut, or what was cut and into which parts.
use super::{Area, Board, Cut, Placed, Way};

/// Slack against rounding, far under what a saw knows.
const SLACK_M: f64 = 1e-9;

/// What would be left beside the saw's cut and is thinner than this stays on the piece: it goes with the over-size.
const SLIVER_M: f64 = 5e-3;

/// A rectangle of a board with the defects in it.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub board: usize,
    pub area: Area,
    pub defects: Vec<Area>,
}

/// A place for a piece in a part: its near left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub along_m: f64,
    pub across_m: f64,
}

/// What a part is cut into.
#[derive(Debug, Clone)]
pub(super) struct Split {
    pub cuts: Vec<Cut>,
    pub placed: Placed,
    pub rests: Vec<Part>,
}

impl Part {
    pub(super) fn of_board(index: usize, board: &Board, end_m: f64) -> Self {
        let area = board.clear(end_m);
        let defects = board.defects.iter().map(|d| Area { along_m: d.along_m, across_m: d.across_m });
        Self { board: index, area, defects: defects.filter(|d| d.overlaps(&area)).collect() }
    }

    /// The first clear spot for a piece of that rough size: at the corner, behind a defect, or above one.
    pub(super) fn spot(&self, [length_m, width_m]: [f64; 2], kerf_m: f64) -> Option<Spot> {
        let [part_length_m, part_width_m] = self.area.size_m();
        if length_m > part_length_m + SLACK_M || width_m > part_width_m + SLACK_M {
            return None;
        }
        let (start, near) = (self.area.along_m[0], self.area.across_m[0]);
        // A cut beside a defect takes the saw's width from the defect's side where that is free, so that no kerf is added.
        let along = std::iter::once(start).chain(self.defects.iter().map(|d| d.along_m[1].max(start + kerf_m)));
        let across: Vec<f64> =
            std::iter::once(near).chain(self.defects.iter().map(|d| d.across_m[1].max(near + kerf_m))).collect();
        let spots = along.flat_map(|along_m| across.iter().map(move |across_m| Spot { along_m, across_m: *across_m }));
        let mut clear: Vec<Spot> = spots.filter(|spot| self.holds(*spot, [length_m, width_m])).collect();
        clear.sort_by(|a, b| {
            (a.along_m, a.across_m).partial_cmp(&(b.along_m, b.across_m)).unwrap_or(std::cmp::Ordering::Equal)
        });
        clear.first().copied()
    }

    fn holds(&self, spot: Spot, size_m: [f64; 2]) -> bool {
        let area = at(spot, size_m);
        let inside =
            |inner: [f64; 2], outer: [f64; 2]| inner[0] >= outer[0] - SLACK_M && inner[1] <= outer[1] + SLACK_M;
        inside(area.along_m, self.area.along_m)
            && inside(area.across_m, self.area.across_m)
            && !self.defects.iter().any(|defect| defect.overlaps(&area))
    }

    /// Cuts the piece out: off what lies before and under it first, then beyond it along or across, whichever is asked first.
    pub(super) fn split(&self, piece: usize, spot: Spot, size_m: [f64; 2], first: Way, kerf_m: f64) -> Split {
        let area = at(spot, size_m);
        let mut now = self.area;
        let (mut cuts, mut rests) = (Vec::new(), Vec::new());
        let mut cut = |now: &mut Area, way: Way, keep_from_m: Option<f64>, keep_to_m: Option<f64>| {
            let range = |area: &mut Area| match way {
                Way::Crosscut => area.along_m,
                Way::Rip => area.across_m,
            };
            let set = |area: &mut Area, to: [f64; 2]| match way {
                Way::Crosscut => area.along_m = to,
                Way::Rip => area.across_m = to,
            };
            let mut rest = *now;
            let [from, to] = range(now);
            if let Some(keep_m) = keep_from_m.filter(|keep_m| *keep_m > from + SLACK_M) {
                // The saw's width ends where the kept part begins.
                let at_m = (keep_m - kerf_m).max(from);
                cuts.push(Cut { part: *now, way, at_m });
                set(&mut rest, [from, at_m]);
                set(now, [keep_m, to]);
                rests.push(rest);
            } else if let Some(keep_m) = keep_to_m.filter(|keep_m| *keep_m + kerf_m + SLIVER_M < to) {
                cuts.push(Cut { part: *now, way, at_m: keep_m });
                set(&mut rest, [(keep_m + kerf_m).min(to), to]);
                set(now, [from, keep_m]);
                rests.push(rest);
            }
        };
        cut(&mut now, Way::Crosscut, Some(area.along_m[0]), None);
        cut(&mut now, Way::Rip, Some(area.across_m[0]), None);
        let (one, other) = match first {
            Way::Crosscut => ((Way::Crosscut, area.along_m[1]), (Way::Rip, area.across_m[1])),
            Way::Rip => ((Way::Rip, area.across_m[1]), (Way::Crosscut, area.along_m[1])),
        };
        for (way, to_m) in [one, other] {
            cut(&mut now, way, None, Some(to_m));
        }
        let rests = rests.into_iter().filter(|rest| rest.m2() > 0.0).map(|area| self.inner(area)).collect();
        Split { cuts, placed: Placed { piece, area }, rests }
    }

    fn inner(&self, area: Area) -> Self {
        let defects = self.defects.iter().filter(|defect| defect.overlaps(&area)).copied().collect();
        Self { board: self.board, area, defects }
    }
}

fn at(spot: Spot, [length_m, width_m]: [f64; 2]) -> Area {
    Area { along_m: [spot.along_m, spot.along_m + length_m], across_m: [spot.across_m, spot.across_m + width_m] }
}
