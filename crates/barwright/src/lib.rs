//! The `barwright` program: command line and local page over the pure crates.
pub mod audio;
pub mod bench;
pub mod certified;
pub mod cli;
pub mod climate;
pub mod convert;
pub mod diary;
#[cfg(fuzzing)]
pub mod doors;
pub mod error;
pub mod framing;
pub mod hearing;
pub mod invented_set;
pub mod kept_take;
pub mod lan;
pub mod learnt_hand;
pub mod manual;
pub mod page;
pub mod photo;
mod planning;
mod progress;
pub mod report;
pub mod retuning;
pub mod sheets;
mod tubing;
pub mod whole_set;

pub use cli::run;
