//! The drawings. Each takes plain numbers in millimetres or cents and returns a [`Drawing`](crate::Drawing).
mod bar;
mod bar_words;
mod boards;
mod compass;
mod end_board;
mod frame;
pub(crate) mod furniture;
mod ladder;
mod motion;
mod plan;
mod saw;
mod shape;
mod take;
mod template;
mod tubes;

pub use bar::{BandMark, HalfMark, SideView, side_view};
pub use boards::{BoardMark, BoardsView, PieceMark, boards_view};
pub use compass::{CentsAlong, CentsBar, Compass, CompassBar, MOST_COMPASS_BARS, cents_along, compass};
pub use end_board::{EndBoardView, NotchMark, end_board_view};
pub use frame::{FrameBarMark, FrameView, frame_view};
pub use ladder::{Ladder, Rung, ladder};
pub use motion::{Motion, Motions, motions};
pub use plan::{NodeMark, PlanView, plan_view};
pub use saw::{SawView, saw_view};
pub use shape::BarShape;
pub use take::{DecayCurve, TakeAxes, TakePicture, ToneMark, take_picture};
pub use template::{TemplateView, check_page, contour_view, template_view};
pub use tubes::{BankMark, TubeMark, TubesView, tubes_view};

/// The paper a drawing is laid out for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Width, in millimetres (70…1000).
    pub width_mm: f64,
    /// Em size of the lettering, in millimetres (1.5…20).
    pub lettering_mm: f64,
}

impl Sheet {
    /// A sheet as wide as a phone is shown: narrow, with lettering that stays readable there.
    pub const NARROW: Self = Self { width_mm: 100.0, lettering_mm: 4.1 };
    /// A sheet as wide as A4 lies.
    pub const WIDE: Self = Self { width_mm: 240.0, lettering_mm: 4.2 };

    /// This sheet, if a drawing can be laid out on it.
    fn checked(self) -> Result<Self, crate::PaperError> {
        crate::error::within("the width of the sheet in mm", self.width_mm, 70.0, 1000.0)?;
        crate::error::within("the lettering in mm", self.lettering_mm, 1.5, 20.0)?;
        Ok(self)
    }
}
