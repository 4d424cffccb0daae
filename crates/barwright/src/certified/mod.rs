//! A tuning certificate: what every bar read when the instrument was done, sealed so that a later copy can be held against it.
//!
//! * [`document`] — what it says; [`seal`] — hash and signature over its canonical JSON; [`key`] — the workshop's signing key
pub mod document;
pub mod key;
pub mod seal;

pub use document::{Certificate, CertifiedBar, Method};
pub use key::SigningKey;
pub use seal::{Checked, Seal, Sealed};
