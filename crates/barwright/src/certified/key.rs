//! The workshop's signing key: made once, kept beside the record for this user only.
use crate::error::Refused;
use crate::lan::private_file;
use ring::rand::SystemRandom;
use ring::signature::{Ed25519KeyPair, KeyPair};
use sha2::{Digest, Sha256};
use std::path::Path;

/// Folder of private files beside the record, and the key's file in it.
const FOLDER: &str = "signing";
const FILE: &str = "key.pk8";

/// The key that seals certificates.
#[derive(Debug)]
pub struct SigningKey(Ed25519KeyPair);

impl SigningKey {
    /// The workshop's key; made if there is none yet. A damaged one is never replaced in silence: its seals would look like another workshop's.
    ///
    /// # Errors
    /// [`Refused`] `key_damaged`, `not_saved`, `not_readable`.
    pub fn of_workshop(workshop: &Path) -> Result<Self, Refused> {
        let folder = workshop.join(FOLDER);
        let path = folder.join(FILE);
        if let Some(bytes) = private_file::read(&path)? {
            return Ed25519KeyPair::from_pkcs8(&bytes).map(Self).map_err(|error| {
                let message = format!("{} is no signing key ({error})", path.display());
                Refused::new(
                    "key_damaged",
                    message,
                    "bring it back from a backup; or put it away, and a new one is made",
                )
            });
        }
        private_file::folder(&folder)?;
        let failed =
            || Refused::new("key_damaged", "no signing key can be made", "this computer gives no random numbers");
        let made = Ed25519KeyPair::generate_pkcs8(&SystemRandom::new()).map_err(|_| failed())?;
        private_file::replace(&path, made.as_ref())?;
        Ed25519KeyPair::from_pkcs8(made.as_ref()).map(Self).map_err(|_| failed())
    }

    /// Its public half.
    pub fn public(&self) -> &[u8] {
        self.0.public_key().as_ref()
    }

    /// Signs.
    pub fn sign(&self, bytes: &[u8]) -> Vec<u8> {
        self.0.sign(bytes).as_ref().to_vec()
    }
}

/// What people compare of a key: the first 16 hexadecimal digits of its SHA-256, in fours.
pub fn fingerprint(public: &[u8]) -> String {
    let digest = Sha256::digest(public);
    let pairs: Vec<String> = digest.iter().take(8).map(|byte| format!("{byte:02x}")).collect();
    pairs.chunks(2).map(<[String]>::concat).collect::<Vec<_>>().join(" ")
}
