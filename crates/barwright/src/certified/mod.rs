//! A tuning certificate: what every bar read when the instrument was done, sealed so that a later copy can be held against it.
//!
//! * [`document`] — what it says; [`seal`] — hash and signature over its canonical JSON; [`key`] — the workshop's signing key
pub mod document;
pub mod key;
pub mod seal;

pub use document::{Certificate, CertifiedBar, Method};
pub use key::SigningKey;
pub use seal::{Checked, Seal, Sealed};

use crate::error::Refused;
use crate::whole_set::WholeSet;
use jiff::Timestamp;
use records::workshop::{Body, CertificateRecord, Workshop};

/// Seals a certificate of the set as it was last heard, and keeps it in the record.
///
/// # Errors
/// [`Refused`] as [`Certificate::of`] and [`SigningKey::of_workshop`]; if the record cannot be written.
pub fn give(
    workshop: &mut Workshop,
    set: &WholeSet,
    given: &document::Given,
    at: Timestamp,
) -> Result<Sealed, Refused> {
    let sealed = Sealed::new(Certificate::of(set, given)?, &SigningKey::of_workshop(workshop.folder())?)?;
    let record = CertificateRecord { text: sealed.text()?, sha256: sealed.seal.sha256.clone() };
    workshop.write(|step| step.add(set.uid, Body::Certified(Box::new(record)).into(), at))?;
    Ok(sealed)
}
