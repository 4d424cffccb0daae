//! The frame: bars laid out in rows, straight rails under their nodes, and the holes that follow from the rails.
//!
//! Everything here is in **instrument view**: seen from above, the player at the bottom, the treble to the right.
//! X runs to the right from the bass end of the natural row, Y away from the player. A bar stands upright in that
//! picture; its *left* and *right* side are the player's, top face up. Lengths are metres.
//!
//! * [`NodeLines`] — the four numbers of a salt test, and how the bench's numbers become them
//! * [`lay_out`] — widths and gaps to places along the frame, accidentals over their gaps
//! * [`lay_frame`] — the whole frame from its bars, [`on_built`] on rails that stand
//! * [`fit_row`] — two straight rails and one lengthwise shift per bar, by weighted least squares
//! * [`best_kink`] — what a second segment would gain, and at which gap
//! * [`follow`] — the same bars on rails as they were really built
//! * [`SaltTest`] — what is doubtful about a salt test; [`SaltMean`] what repeated ones say together,
//!   [`SaltMove`] how far the lines moved since
//! * [`read_photo`] — a salt test from marks on a photograph of the bar
//! * [`choose_face`] — which face and which end lie best on the rails
//! * [`members`] — what the frame is made of: rails, end boards, posts
//! * [`drill`] — the holes, their angle, and the wood left around them
mod built;
mod doubts;
mod drill;
mod face;
mod fit;
mod fitted;
mod layout;
mod least_squares;
mod members;
mod nodes;
mod overlap;
mod photo;
mod plan;
mod rails;
mod robust;
mod salt;
mod salt_moved;
mod symmetric;
#[cfg(test)]
mod tests;

pub use built::{BuiltRails, follow};
pub use doubts::{Doubt, doubts, tolerated_m};
pub use drill::{DrillTask, DrilledBar, Hole, LEAST_WOOD_M, drill, drill_marked};
pub use face::{Choice, FaceAdvice, RailSlopes, choose_face};
pub use fit::{FitBar, FitTask, best_kink, fit_row};
pub use fitted::{FittedBar, RowFit};
pub use layout::{Gap, Layout, LayoutBar, Place, lay_out, row_of};
pub use members::{EndBoard, Member, Members, MembersTask, Notch, Post, members};
pub use nodes::{BenchNodes, FacesPlayer, NodeLines, even_motion_per_m};
pub use overlap::Overlap;
pub use photo::{PhotoMarks, PhotoReading, PictureSize, Pixel, Plane, RulerTicks, read_photo};
pub use plan::{Bend, BuiltRow, FrameBar, FramePlan, FrameTask, lay_frame, on_built};
pub use rails::{Rail, Slant};
pub use salt::{Expected, SaltMean, SaltTest};
pub use salt_moved::{SaltMove, SaltSpread};

/// The two rows of bars.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Row {
    /// The lower row, nearer to the player; the only one of an instrument with one row.
    Natural,
    /// The upper row.
    Accidental,
}

impl Row {
    /// How people call it, in the language of the sheet.
    pub fn words(self) -> String {
        match self {
            Self::Natural => words::tell!("naturals"),
            Self::Accidental => words::tell!("accidentals"),
        }
    }

    /// What its bars are called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Natural => "naturals",
            Self::Accidental => "accidentals",
        }
    }

    /// Which of its two rails lies outside on the frame: 0 the player's, 1 the far one.
    pub fn outer(self) -> usize {
        match self {
            Self::Natural => 0,
            Self::Accidental => 1,
        }
    }
}
