//! Hears a struck bar: samples in, modes with uncertainties out.
//!
//! Pure: knows no wood, no files, no clock. What is known of the bar comes in as [`Expected`]
//! frequencies with their sigmas.
//!
//! The way of a take: `check` (is it sound at all) → `blows` (where it was struck) → `ring` (one
//! blow: cut out after the contact, told from clap and hum, used only up
//! to a `gap` in the sound) → `search` (candidate peaks in
//! `spectrum`, poles of each band by `esprit`, all together on the raw samples by `fit`) →
//! `tones` (one frequency and sigma per ringing part, early and late values) → `merge` (several
//! blows) → `naming` (which tone is which mode) → `doubts` (warnings).
//!
//! What the sigma of a frequency holds: the Cramér–Rao bound of the fit with the noise found
//! around the tone; the spread between early and late, or between the first decay time and the
//! rest, where it is more than noise; the scatter between blows. What it does not hold: the error
//! of the recorder's clock, and the bar's temperature.
//!
//! ```
//! use strike::{Context, Take, listen, synth};
//! let mode = |hz, decay_s, amplitude| synth::SynthMode { hz, decay_s, amplitude, phase_rad: 0.4 };
//! let modes = [mode(262.0, 0.3, 0.5), mode(1050.0, 0.1, 0.1), mode(2600.0, 0.05, 0.05)];
//! let samples = synth::blow(&modes, 44_100.0, 1.0, 0.3, 1e-3, 1);
//! let take = Take { samples: &samples, sample_rate_hz: 44_100.0 };
//! let context = Context { note_hz: Some(261.63), ..Context::default() };
//! let heard = listen(&[take], &context).unwrap();
//! assert_eq!(heard.modes.len(), 3);
//! assert!((heard.modes[0].hz - 262.0).abs() < 0.01);
//! ```

mod band;
mod blows;
mod check;
pub mod clock;
mod crb;
mod damped;
mod doubts;
mod esprit;
mod fit;
mod gap;
mod listen;
pub mod live;
mod merge;
mod naming;
pub mod portrait;
mod refuse;
mod ring;
mod search;
mod spectrum;
pub mod synth;
mod tones;
mod types;

pub use crb::frequency_bound_hz;
pub use listen::listen;
pub use types::*;
