//! The cut list: blanks out of boards with defects, by straight cuts through the whole of a part, as saws make them.
//!
//! * [`Board`], [`Piece`], [`Allowances`] — what there is, what is wanted, what is lost in between; [`spares`] — how many more
//! * [`cut`] — where each piece lies and in which order the cuts are made, with the bound that no cutting can pass
//!
//! Every part is cut either across (crosscut) or along (rip), right through, never turned: the grain stays along the bar. No packing
//! library known here takes defects, unturned pieces and such cuts together.
mod part;
mod search;
mod spare;
#[cfg(test)]
mod tests;

pub use search::{Progress, cut};
pub use spare::spares;

use crate::error::{MakingError, in_range};

/// A place of a board that no piece may hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Defect {
    /// From and to, along the board from its left end.
    pub along_m: [f64; 2],
    /// From and to, across the board from its near edge.
    pub across_m: [f64; 2],
    /// What it is.
    pub what: String,
}

/// A board.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// Name or number.
    pub name: String,
    /// Length, along the grain.
    pub length_m: f64,
    /// Width.
    pub width_m: f64,
    /// Thickness as it is.
    pub thickness_m: f64,
    /// What to cut around.
    pub defects: Vec<Defect>,
}

/// A blank that is wanted, in its planed size.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Its note, or the notes that a spare may serve.
    pub name: String,
    /// Length.
    pub length_m: f64,
    /// Width.
    pub width_m: f64,
    /// Thickness.
    pub thickness_m: f64,
    /// Whether it is wanted only in case another is lost.
    pub spare: bool,
}

/// What is added to a piece and lost at a board. All defaults are from memory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowances {
    /// Added to the length: 15 to 25 mm.
    pub over_length_m: f64,
    /// Added to the width: 2 to 3 mm.
    pub over_width_m: f64,
    /// Added to the thickness: 1.5 to 2 mm.
    pub over_thickness_m: f64,
    /// Off each end of a board, for checks and what a planer spoils: 30 to 60 mm.
    pub end_m: f64,
    /// Width of the saw's cut: 2.5 to 3.2 mm.
    pub kerf_m: f64,
}

impl Default for Allowances {
    fn default() -> Self {
        Self { over_length_m: 0.020, over_width_m: 0.0025, over_thickness_m: 0.0018, end_m: 0.045, kerf_m: 0.003 }
    }
}

impl Allowances {
    /// Length and width as the saw leaves them.
    pub fn rough_m(&self, piece: &Piece) -> [f64; 2] {
        [piece.length_m + self.over_length_m, piece.width_m + self.over_width_m]
    }
}

/// A rectangle of a board: along from its left end, across from its near edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// From and to along the board.
    pub along_m: [f64; 2],
    /// From and to across it.
    pub across_m: [f64; 2],
}

impl Area {
    /// Length and width.
    pub fn size_m(&self) -> [f64; 2] {
        [self.along_m[1] - self.along_m[0], self.across_m[1] - self.across_m[0]]
    }

    /// Area.
    pub fn m2(&self) -> f64 {
        let [length_m, width_m] = self.size_m();
        length_m.max(0.0) * width_m.max(0.0)
    }

    /// Whether the two share more than an edge.
    pub fn overlaps(&self, other: &Self) -> bool {
        let apart = |a: [f64; 2], b: [f64; 2]| a[1] <= b[0] + 1e-9 || b[1] <= a[0] + 1e-9;
        !apart(self.along_m, other.along_m) && !apart(self.across_m, other.across_m)
    }
}

/// Which way a cut goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Across the grain.
    Crosscut,
    /// Along the grain.
    Rip,
}

/// One cut through the whole of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// The part that is cut.
    pub part: Area,
    /// Which way.
    pub way: Way,
    /// Where the cut begins, along the board for a crosscut, across it for a rip; it takes the saw's width from there on.
    pub at_m: f64,
}

/// A piece in its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Which of the pieces.
    pub piece: usize,
    /// Where, as the saw leaves it.
    pub area: Area,
}

/// What becomes of one board.
#[derive(Debug, Clone, PartialEq)]
pub struct CutBoard {
    /// Which of the boards.
    pub board: usize,
    /// The pieces, from the left end.
    pub placed: Vec<Placed>,
    /// The cuts, in an order in which they can be made.
    pub cuts: Vec<Cut>,
    /// What is left and clear, largest first; only what could still hold the smallest piece wanted.
    pub left: Vec<Area>,
}

/// The whole cut list.
#[derive(Debug, Clone, PartialEq)]
pub struct CutList {
    /// The boards that are cut.
    pub boards: Vec<CutBoard>,
    /// Pieces for which there is no place, with why.
    pub missing: Vec<(usize, Missing)>,
    /// Share of the cut boards' area that becomes neither piece (as planed) nor usable rest.
    pub waste: f64,
    /// Fewest of the boards that could hold the placed pieces however they were cut: by area, saw cuts and shapes left aside.
    pub boards_at_least: usize,
}

/// Why a piece has no place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// No board is thick enough.
    Thickness,
    /// No board that is thick enough is wide enough.
    Width,
    /// No board that is thick and wide enough has a clear length that is long enough.
    Length,
    /// A board could hold it, but others are there.
    Room,
}

impl Board {
    /// What is left between the two ends that are cut off.
    pub fn clear(&self, end_m: f64) -> Area {
        Area { along_m: [end_m, self.length_m - end_m], across_m: [0.0, self.width_m] }
    }

    /// # Errors
    /// `out_of_range` with value, limit and next step.
    fn check(&self) -> Result<(), MakingError> {
        let hint = "give it in millimetres as it lies on the rack";
        in_range(&format!("the length of board {}", self.name), self.length_m * 1e3, 100.0, 8000.0, "mm", hint)?;
        in_range(&format!("the width of board {}", self.name), self.width_m * 1e3, 20.0, 1000.0, "mm", hint)?;
        in_range(&format!("the thickness of board {}", self.name), self.thickness_m * 1e3, 5.0, 150.0, "mm", hint)?;
        for defect in &self.defects {
            for ([from, to], most, way) in
                [(defect.along_m, self.length_m, "along"), (defect.across_m, self.width_m, "across")]
            {
                let hint = "along from the board's left end, across from its near edge, the smaller figure first";
                let what = format!("where the {} of board {} begins {way} it", defect.what, self.name);
                in_range(&what, from * 1e3, 0.0, most * 1e3, "mm", hint)?;
                let what = format!("where the {} of board {} ends {way} it", defect.what, self.name);
                in_range(&what, to * 1e3, from * 1e3, most * 1e3, "mm", hint)?;
            }
        }
        Ok(())
    }
}

impl Allowances {
    fn check(&self) -> Result<(), MakingError> {
        let hint = "common ones are 20, 2.5, 1.8, 45 and 3 mm (from memory)";
        for (what, value_m, most_mm) in [
            ("what is added to the length", self.over_length_m, 100.0),
            ("what is added to the width", self.over_width_m, 20.0),
            ("what is added to the thickness", self.over_thickness_m, 20.0),
            ("what is cut off a board's end", self.end_m, 500.0),
        ] {
            in_range(what, value_m * 1e3, 0.0, most_mm, "mm", hint)?;
        }
        // No saw cuts without taking wood.
        in_range("the saw's cut", self.kerf_m * 1e3, 0.5, 10.0, "mm", hint)
    }
}
