//! Wood before it is a bar: its moisture, its drying, and what a blank is good for beside the shop's other blanks.
//!
//! * [`equilibrium_moisture_percent`] — what wood comes to in a climate; [`drying`] — how far a blank is from it, by its weighings
//! * [`Blank`], [`grade`] — density, E/ρ, ring and lean against the stock's quartiles, and a verdict with reasons
mod drying;
mod grade;
mod moisture;

pub use drying::{Drying, STOP_SHARE_PER_WEEK, Weighing, drying};
pub use grade::{Blank, Confidence, Grade, Stock, Verdict, decay_quality, grade};
pub use moisture::equilibrium_moisture_percent;
