//! The maker's decisions: what is believed of this bar, where to cut next, whether it is lost.
//!
//! Pure: no files, no SQL, no HTML, no threads, no clock. A decision takes values and returns a value
//! with its reasons, its uncertainty and its doubts.
//!
//! * [`believe`] — a joint Gaussian over wood, shape and hand from the log
//! * [`next`] — the next cut, or finished, wait, rescue
//! * [`design_arch`] — the underside at which all tuned modes are where they are wanted
//! * [`frame`] — rows, straight rails under the nodes, holes
//! * [`cutlist`] — blanks out of boards, around their defects
//! * [`schedule`] — the instrument before the first cut: specification, sizes, arches, predicted rails, wood
//! * [`tubes`], [`climate`] — resonators; temperature and humidity
//! * [`fine`] — the last cents of a set, and whether it is even
//! * [`retune`] — an instrument that comes back
//! * [`virtual_bench`] — a simulated bar of invented wood and a clumsy maker, for rehearsal and demonstration
//!
//! Every assumed number stands in `priors.rs` with its source, or the word "memory".
mod advice;
pub mod arch;
pub mod assign;
mod bands;
mod basis;
mod belief;
pub mod calendar;
pub mod climate;
pub mod cutlist;
mod error;
pub mod fine;
pub mod frame;
mod gaussian;
mod hand;
mod naming;
mod next;
#[cfg(test)]
mod oracle;
mod plan;
mod priors;
mod qp;
mod rescue;
pub mod retune;
mod salt;
pub mod saw;
pub mod schedule;
mod smooth;
pub mod torsion;
pub mod tubes;
mod types;
pub mod virtual_bench;
mod wait;
pub mod wood;
mod words;

pub use advice::*;
pub use arch::layout::ArchAdvice;
pub use arch::{Arch, design_arch};
pub use bands::{SHOULDER_M, depth_at, stations};
pub use belief::{Belief, ExpectedMode, believe};
pub use error::MakingError;
pub use hand::Hand;
pub use next::next;
pub use rescue::{HoleOutcome, Rescue, RescueAdvice, rescue};
pub use salt::{node_tilt_m, plan_angle_rad};
pub use types::*;
