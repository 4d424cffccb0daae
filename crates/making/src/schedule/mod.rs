//! The schedule of an instrument before the first cut: a specification in, every bar's size, arch, nodes and wood out.
//!
//! * [`Specification`] — compass, pitch, tuned modes, laws of size, wood, limits; [`Specification::proposal`] from five answers
//! * [`Specification::bars`] — what each bar shall be; [`plan_bar`] — its arch, by the full solid
//! * [`assemble`] — rows, predicted rails, wood, mass, and what cannot be made
//! * [`better`] — sizes that put the nodes on straight rails, and what that costs
//!
//! One bar is planned without its neighbours, so that the program may plan them side by side and, after a change, only
//! those that changed.
mod bar;
mod better;
mod law;
mod note;
mod plan;
mod proposal;
mod specification;

pub use bar::{Made, PlannedBar, WantedBar, plan_bar};
pub use better::{BarRunner, Bettered, Hands, better};
pub use law::Law;
pub use note::{A4, note_name};
pub use plan::{BOARD_FOOT_M3, InstrumentPlan, PlannedRow, assemble, replan, row_length_m};
pub use proposal::{Kind, SOURCES};
pub use specification::{ModeRange, Specification};
