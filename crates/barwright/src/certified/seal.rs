//! Hash and signature of a certificate.
//!
//! The hash is SHA-256 over the certificate as canonical JSON (RFC 8785), so that spaces and the order of keys do not matter; the signature is Ed25519 (RFC 8032)
//! over that hash's 32 bytes. A seal proves that the text was not changed since, and by its key that the same workshop gave it; who that is, the key's print on
//! the paper says.
use super::document::{Certificate, FORMAT};
use super::key::{SigningKey, fingerprint};
use crate::error::Refused;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use ring::signature::{ED25519, UnparsedPublicKey};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// The seal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seal {
    /// SHA-256 of the certificate as canonical JSON, in hexadecimal digits.
    pub sha256: String,
    /// The workshop's public key, in base 64.
    pub key: String,
    /// The signature of the hash, in base 64.
    pub signature: String,
}

/// A certificate under its seal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sealed {
    /// What it says.
    pub certificate: Certificate,
    /// The seal.
    pub seal: Seal,
}

/// What a check found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checked {
    /// The hash of what it says.
    pub sha256: String,
    /// The print of the key that sealed it.
    pub key_print: String,
}

fn hash(certificate: &Certificate) -> Result<[u8; 32], Refused> {
    let canonical = serde_json_canonicalizer::to_vec(certificate)
        .map_err(|error| Refused::new("not_a_certificate", format!("it cannot be written: {error}"), "try again"))?;
    Ok(Sha256::digest(&canonical).into())
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Sealed {
    /// Seals a certificate.
    ///
    /// # Errors
    /// [`Refused`] if it holds a number that JSON cannot write.
    pub fn new(certificate: Certificate, key: &SigningKey) -> Result<Self, Refused> {
        let hash = hash(&certificate)?;
        let seal = Seal {
            sha256: hex(&hash),
            key: STANDARD.encode(key.public()),
            signature: STANDARD.encode(key.sign(&hash)),
        };
        Ok(Self { certificate, seal })
    }

    /// As its file has it.
    ///
    /// # Errors
    /// [`Refused`] if it cannot be written.
    pub fn text(&self) -> Result<String, Refused> {
        serde_json::to_string_pretty(self)
            .map(|text| text + "\n")
            .map_err(|error| Refused::new("not_a_certificate", format!("it cannot be written: {error}"), "try again"))
    }

    /// From a file's text; nothing is checked yet but its form.
    ///
    /// # Errors
    /// [`Refused`] `not_a_certificate`.
    pub fn read(text: &str) -> Result<Self, Refused> {
        let hint = "give the file that `certificate` wrote, unchanged";
        let sealed: Self = serde_json::from_str(text)
            .map_err(|error| Refused::new("not_a_certificate", format!("this is no certificate: {error}"), hint))?;
        if sealed.certificate.format != FORMAT {
            let message = format!("its format is \"{}\"; this version reads \"{FORMAT}\"", sealed.certificate.format);
            return Err(Refused::new("not_a_certificate", message, hint));
        }
        Ok(sealed)
    }

    /// Whether hash and signature fit what it says.
    ///
    /// # Errors
    /// [`Refused`] `altered` if the hash is another's, `wrong_seal` if the signature does not fit the key.
    pub fn check(&self) -> Result<Checked, Refused> {
        let found = hash(&self.certificate)?;
        let sha256 = hex(&found);
        if sha256 != self.seal.sha256 {
            let message = format!(
                "it says something else than what was sealed: its hash is {sha256}, the seal's {}",
                self.seal.sha256
            );
            return Err(Refused::new("altered", message, "ask the workshop for the certificate as it was given"));
        }
        let decode = |text: &str| {
            STANDARD.decode(text).map_err(|_| Refused::new("wrong_seal", "the seal is damaged", "get the file anew"))
        };
        let (key, signature) = (decode(&self.seal.key)?, decode(&self.seal.signature)?);
        UnparsedPublicKey::new(&ED25519, &key).verify(&found, &signature).map_err(|_| {
            Refused::new(
                "wrong_seal",
                "the signature does not fit the key",
                "it was not sealed by the workshop whose key it names",
            )
        })?;
        Ok(Checked { sha256, key_print: fingerprint(&key) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::certified::document::{CertifiedBar, Method};
    use proptest::prelude::*;
    use records::workshop::Climate;

    fn certificate(cents: f64) -> Certificate {
        let day = jiff::civil::date(2027, 3, 1);
        Certificate {
            format: FORMAT.to_owned(),
            workshop: "Invented workshop ♯".to_owned(),
            instrument: "Invented marimba".to_owned(),
            customer: None,
            date: day,
            next_visit: jiff::civil::date(2029, 3, 1),
            tuned_by: None,
            a4_hz: 442.0,
            reference: Climate { temperature_c: Some(22.0), humidity_pct: Some(45.0) },
            class: "working".to_owned(),
            method: Method {
                program: "barwright".to_owned(),
                cents_per_c: -1.5,
                cents_per_c_sigma: 0.5,
                cents_per_percent_moisture: -15.5,
                own_reference_bars: false,
                air_sigma_cents: 0.4,
            },
            bars: vec![CertifiedBar {
                note: "C4".to_owned(),
                label: "17".to_owned(),
                ratios: vec![1.0, 4.0],
                hz: vec![262.8, 1051.2],
                cents: vec![cents, 2.0],
                sigma_cents: 0.3,
                air_cents: 0.0,
                heard: day,
                mass_g: Some(289.5),
            }],
        }
    }

    #[test]
    fn a_copy_is_true_until_a_word_is_changed() {
        let folder = tempfile::tempdir().unwrap();
        let key = SigningKey::of_workshop(folder.path()).unwrap();
        let sealed = Sealed::new(certificate(0.42), &key).unwrap();
        let text = sealed.text().unwrap();
        let checked = Sealed::read(&text).unwrap().check().unwrap();
        // The key is made once, and its print is what paper shows.
        assert_eq!(checked.key_print, fingerprint(SigningKey::of_workshop(folder.path()).unwrap().public()));
        // Spaces and the order of keys do not matter; a number does, and so does the seal.
        let compact: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(Sealed::read(&compact.to_string()).unwrap().check().unwrap(), checked);
        let altered = Sealed::read(&text.replace("0.42", "0.41")).unwrap();
        assert_eq!(altered.check().unwrap_err().code, "altered");
        let other = SigningKey::of_workshop(tempfile::tempdir().unwrap().path()).unwrap();
        let mut forged = Sealed::new(certificate(0.41), &other).unwrap();
        forged.seal.key.clone_from(&sealed.seal.key);
        assert_eq!(forged.check().unwrap_err().code, "wrong_seal");
        assert_eq!(Sealed::read("{}").unwrap_err().code, "not_a_certificate");
    }

    #[test]
    fn a_damaged_key_is_not_replaced() {
        let folder = tempfile::tempdir().unwrap();
        SigningKey::of_workshop(folder.path()).unwrap();
        std::fs::write(folder.path().join("signing/key.pk8"), b"nothing").unwrap();
        assert_eq!(SigningKey::of_workshop(folder.path()).unwrap_err().code, "key_damaged");
    }

    proptest! {
        /// Numbers keep their hash through writing and reading.
        #[test]
        fn what_is_read_back_has_the_same_hash(cents in -50.0_f64..50.0) {
            let before = certificate(cents);
            let text = serde_json::to_string(&before).unwrap();
            let after: Certificate = serde_json::from_str(&text).unwrap();
            prop_assert_eq!(hash(&before).unwrap(), hash(&after).unwrap());
        }
    }
}
