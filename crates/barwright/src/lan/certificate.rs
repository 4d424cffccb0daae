//! The workshop's own certificate: self-signed, made once, for one address.
//!
//! One file holds certificate and key together, so that one can never be saved without the other.
use super::private_file;
use crate::error::Refused;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use rcgen::{CertificateParams, DnType, ExtendedKeyUsagePurpose, KeyPair, KeyUsagePurpose, SanType, date_time_ymd};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::net::IpAddr;
use std::path::Path;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};

const FILE: &str = "certificate.json";
const FORMAT: &str = "barwright-certificate/1";
/// Lifetime in days: browsers refuse server certificates that live longer than 398 (CA/Browser Forum, Baseline
/// Requirements 6.3.2); one less for the day it is dated back.
const LIVES_DAYS: i32 = 396;
/// Dated back so far: a phone's clock may be behind.
const BACK_DAYS: i32 = 1;
/// Made anew when fewer days are left: a bar takes weeks, and the phones must agree to the new one.
const LEFT_DAYS: i32 = 30;

/// As it is kept.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Kept {
    format: String,
    address: IpAddr,
    expires: Date,
    certificate: String,
    key: String,
}

/// The certificate and its key.
#[derive(Debug)]
pub struct Identity {
    /// The certificate.
    pub certificate: CertificateDer<'static>,
    /// Its key.
    pub key: PrivateKeyDer<'static>,
    /// The day it ends (UTC).
    pub expires: Date,
    /// True if it was made just now: phones will ask about it.
    pub is_new: bool,
}

impl Identity {
    /// The certificate kept in `folder` for this address; a new one if there is none, if it is for another address, or
    /// if it ends within thirty days.
    ///
    /// # Errors
    /// [`Refused`] `certificate_damaged`: it is not made anew silently, for its fingerprint would change without a
    /// reason that the maker knows; `not_saved`, `not_readable`.
    pub fn kept(folder: &Path, address: IpAddr, now: Timestamp) -> Result<Self, Refused> {
        let path = folder.join(FILE);
        let today = now.to_zoned_datetime(TimeZone::UTC).date();
        if let Some(bytes) = private_file::read(&path)? {
            let kept = read(&path, &bytes)?;
            if kept.address == address && today < kept.expires.saturating_sub(LEFT_DAYS.days()) {
                return Self::of(&path, &kept, false);
            }
        }
        let kept = made(address, today).map_err(|error| {
            Refused::new("no_certificate", format!("no certificate could be made ({error})"), "start the program again")
        })?;
        let text = serde_json::to_vec_pretty(&kept).map_err(|error| damaged(&path, &error))?;
        private_file::replace(&path, &text)?;
        Self::of(&path, &kept, true)
    }

    fn of(path: &Path, kept: &Kept, is_new: bool) -> Result<Self, Refused> {
        let certificate = CertificateDer::from_pem_slice(kept.certificate.as_bytes());
        let key = PrivateKeyDer::from_pem_slice(kept.key.as_bytes());
        Ok(Self {
            certificate: certificate.map_err(|error| damaged(path, &error))?,
            key: key.map_err(|error| damaged(path, &error))?,
            expires: kept.expires,
            is_new,
        })
    }

    /// SHA-256 of the certificate as browsers show it: 32 pairs of figures and letters.
    pub fn fingerprint(&self) -> String {
        let pairs: Vec<String> = Sha256::digest(&self.certificate).iter().map(|byte| format!("{byte:02X}")).collect();
        pairs.join(":")
    }
}

fn made(address: IpAddr, today: Date) -> Result<Kept, rcgen::Error> {
    let expires = today.saturating_add(LIVES_DAYS.days());
    let day = |date: Date| date_time_ymd(date.year().into(), date.month().unsigned_abs(), date.day().unsigned_abs());
    let mut wanted = CertificateParams::default();
    wanted.not_before = day(today.saturating_sub(BACK_DAYS.days()));
    wanted.not_after = day(expires);
    wanted.distinguished_name.remove(DnType::CommonName);
    wanted.distinguished_name.push(DnType::CommonName, "barwright in this workshop");
    wanted.subject_alt_names = vec![SanType::IpAddress(address)];
    wanted.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    wanted.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    // ECDSA P-256: every browser knows it.
    let key = KeyPair::generate()?;
    let certificate = wanted.self_signed(&key)?;
    Ok(Kept { format: FORMAT.to_owned(), address, expires, certificate: certificate.pem(), key: key.serialize_pem() })
}

fn read(path: &Path, bytes: &[u8]) -> Result<Kept, Refused> {
    let kept: Kept = serde_json::from_slice(bytes).map_err(|error| damaged(path, &error))?;
    if kept.format != FORMAT {
        let format: String = kept.format.chars().take(60).collect();
        return Err(damaged(path, &format!("its format is \"{format}\", this program knows {FORMAT}")));
    }
    Ok(kept)
}

fn damaged(path: &Path, why: &dyn std::fmt::Display) -> Refused {
    Refused::new(
        "certificate_damaged",
        format!("the workshop's certificate in {} cannot be used ({why}); it is left as it is", path.display()),
        "move that file away and start again: a new certificate is made, and each phone asks once more",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const AT: IpAddr = IpAddr::V4(std::net::Ipv4Addr::new(192, 168, 1, 20));

    fn on(day: &str) -> Timestamp {
        format!("{day}T12:00:00Z").parse().unwrap()
    }

    #[test]
    fn it_is_made_once_and_again_for_another_address_or_before_it_ends() {
        let folder = tempfile::tempdir().unwrap();
        let kept = |ip: IpAddr, day: &str| Identity::kept(folder.path(), ip, on(day)).unwrap();
        let first = kept(AT, "2026-01-10");
        assert!(first.is_new && first.expires.to_string() == "2027-02-10");
        let again = kept(AT, "2027-01-10");
        assert!(!again.is_new && again.fingerprint() == first.fingerprint(), "31 days before its end");
        let next = kept(AT, "2027-01-11");
        assert!(next.is_new && next.fingerprint() != first.fingerprint(), "30 days before its end");
        let elsewhere = kept("10.0.0.7".parse().unwrap(), "2027-01-11");
        assert!(elsewhere.is_new && elsewhere.fingerprint() != next.fingerprint());
    }

    #[test]
    fn the_fingerprint_is_that_of_the_certificate() {
        let folder = tempfile::tempdir().unwrap();
        let identity = Identity::kept(folder.path(), AT, on("2026-01-10")).unwrap();
        let print = identity.fingerprint();
        assert!(print.len() == 95 && print.split(':').all(|pair| pair.len() == 2));
        let first = Sha256::digest(&identity.certificate)[0];
        assert!(print.starts_with(&format!("{first:02X}:")));
    }

    #[test]
    fn a_damaged_file_is_told_and_left() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(FILE);
        Identity::kept(folder.path(), AT, on("2026-01-10")).unwrap();
        let whole = std::fs::read_to_string(&path).unwrap();
        let odd =
            [whole[..200].to_owned(), whole.replace("BEGIN PRIVATE", "BEGIN PUBLIC"), whole.replace("te/1", "te/2")];
        for text in odd {
            std::fs::write(&path, &text).unwrap();
            let refused = Identity::kept(folder.path(), AT, on("2026-01-10")).unwrap_err();
            assert_eq!(refused.code, "certificate_damaged");
            assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
        }
    }

    #[cfg(unix)]
    #[test]
    fn nobody_else_may_read_the_key() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        Identity::kept(folder.path(), AT, on("2026-01-10")).unwrap();
        let mode = std::fs::metadata(folder.path().join(FILE)).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }
}
