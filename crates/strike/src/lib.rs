//! Hears a struck bar: samples in, modes with uncertainties out.
//!
//! Pure: knows no wood, no files, no clock. What is known of the bar comes in as [`Expected`]
//! frequencies with their sigmas.
mod types;

pub use types::*;
