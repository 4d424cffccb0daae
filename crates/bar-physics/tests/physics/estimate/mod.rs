//! The wood of a blank from its weight and pitches: recovery of hidden constants, honesty of the uncertainties,
//! what cannot be told, and readings that contradict.
mod blanks;
mod doubts;
mod recovery;
