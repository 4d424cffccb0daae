//! Fine tuning: which bars are good enough, which want a last stroke and where, which are to be looked at again tomorrow; and whether
//! the set is even.
//!
//! * [`Class`] — whom it is for, and what is good enough; [`judge`] — every bar of the row
//! * [`stroke`] — the smallest safe cut for one mode
//! * [`evenness`] — ring, loudness and balance across the compass
mod class;
mod evenness;
mod judge;
mod stroke;

pub use class::Class;
pub use evenness::{Evenness, Figure, Outlier, Sound, evenness};
pub use judge::{FineBar, Judged, Verdict, judge};
pub use stroke::{Stroke, stroke};
