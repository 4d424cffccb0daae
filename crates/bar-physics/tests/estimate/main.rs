//! The wood of a blank from its weight and pitches: recovery of hidden constants, honesty of the uncertainties,
//! what cannot be told, and readings that contradict.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod blanks;
mod doubts;
mod recovery;
