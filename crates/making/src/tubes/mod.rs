//! Resonator tubes of an instrument: where each stopper stands, how far it must travel, what is cut from which stock tube.
//!
//! * [`Bank`] — what is asked; [`tubes`] — each note's tube at the reference climate and over a range of temperatures
//! * [`cut_tubes`] — lengths out of stock tubes, with the least number of them by length
mod bank;
mod stock;

pub use bank::{Bank, Note, PlannedTube, Tubes, tubes, usual_diameter_m};
pub use stock::{StockCut, cut_tubes};
