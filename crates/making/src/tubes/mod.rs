//! Resonator tubes of an instrument: where each stopper stands, how far it must travel, what is cut from which stock tube.
//!
//! * [`Bank`] — what is asked; [`tubes`] — each note's tube at the reference climate and over a range of temperatures
//! * [`cut_tubes`] — lengths out of stock tubes; [`hanging`] — both banks as they hang, with dummies
//! * [`offsets`] — what standing off on purpose does; [`stopper_move`] — from a tube's tone to its stopper; [`fit_mouth`] — what the bar adds
mod bank;
mod fold;
mod mouth;
mod offset;
mod outline;
mod stock;

pub use bank::{Bank, Note, PlannedTube, Tubes, tubes, usual_diameter_m};
pub use fold::Fold;
pub use mouth::{Found, HeardTube, MouthFit, StopperMove, fit_mouth, stopper_move};
pub use offset::{Offset, Rings, offsets};
pub use outline::{Hanging, Outline, hanging};
pub use stock::{StockCut, cut_tubes};
