//! The maker's decisions: what is believed of this bar, where to cut next, whether it is lost.
//!
//! Pure: no files, no SQL, no HTML, no threads, no clock. A decision takes values and returns a value
//! with its reasons, its uncertainty and its doubts.
mod types;

pub use types::*;
