//! What a listener tells.

use crate::types::{Heard, Refusal, Warning};

/// Something happened in the stream.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// The bar was struck; an answer follows.
    Blow {
        /// Time of the blow from the start of the stream, in seconds.
        at_s: f64,
    },
    /// What this blow gives so far.
    Heard(Answer),
    /// This blow gives nothing: why, and what to do.
    Refused {
        /// Time of the blow from the start of the stream, in seconds.
        at_s: f64,
        /// The reason.
        refusal: Refusal,
    },
    /// The ring is over; ready for the next blow.
    Armed,
    /// Doubts about the sound between blows (`silence`, `loud_noise`, `hum`, `not_finite`); an
    /// empty list takes the ones before back.
    Backdrop(Vec<Warning>),
}

/// An answer to one blow.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Time of the blow from the start of the stream, in seconds.
    pub at_s: f64,
    /// Ring it was taken from, in seconds.
    pub used_s: f64,
    /// Whether this is the last word on this blow.
    pub last: bool,
    /// Modes, other tones, doubts.
    pub heard: Heard,
}

/// What the listener waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// For a blow.
    Armed,
    /// For enough ring after a blow to answer.
    Struck,
    /// For more of the ring, to refine the answer.
    Ringing,
}
