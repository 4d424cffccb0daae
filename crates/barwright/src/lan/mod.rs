//! The workshop's network: phones and tablets reach the page over TLS, each with a token of its own.
//!
//! ```text
//! address      which private address is served; never wider
//! certificate  self-signed, made once, its fingerprint shown
//! listener     TLS 1.3, limits in time and number
//! wire         one connection, which can be cut
//! limits       how much an address may ask for
//! pairing      the short code that lets a device in
//! devices      the list of devices as it is kept
//! registry     the list at work: who comes in, who is cut off
//! ```
//! What a request may do is decided in `page::guard`.
pub mod address;
mod certificate;
pub mod devices;
mod limits;
mod listener;
mod pairing;
pub(crate) mod private_file;
mod registry;
mod wire;

pub use limits::Limits;
pub use listener::{Listener, turned_true};
pub use pairing::{Code, Ended, Pairing};
pub use registry::Registry;
pub use wire::Wire;

use crate::error::Refused;
use certificate::Identity;
use devices::DeviceFile;
use jiff::Timestamp;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// Through which door a request came; set where the connection is accepted, by nothing that the request says.
#[derive(Debug, Clone)]
pub enum Door {
    /// The loopback address: this computer itself.
    Home,
    /// The workshop's network.
    Network(Arc<Wire>),
}

/// The door to the workshop's network.
#[derive(Debug)]
pub struct Lan {
    address: SocketAddr,
    fingerprint: String,
    /// The day the certificate ends, and whether it was made just now.
    certificate: (jiff::civil::Date, bool),
    registry: Registry,
    pairing: Mutex<Pairing>,
    limits: Arc<Limits>,
}

impl Lan {
    /// Takes the address and opens the door of a workshop, with a first pairing code.
    ///
    /// # Errors
    /// [`Refused`] if the address cannot be taken, or certificate or devices cannot be read or made.
    pub async fn open(workshop: &Path, address: SocketAddr, now: Timestamp) -> Result<(Arc<Self>, Listener), Refused> {
        let tcp = listener::take(address).await?;
        // A free port was asked for with 0.
        let address = tcp.local_addr().unwrap_or(address);
        let folder = workshop.join(devices::FOLDER);
        private_file::folder(&folder)?;
        let registry = Registry::open(DeviceFile::in_workshop(workshop), now)?;
        let identity = Identity::kept(&folder, address.ip(), now)?;
        let lan = Arc::new(Self {
            address,
            fingerprint: identity.fingerprint(),
            certificate: (identity.expires, identity.is_new),
            registry,
            pairing: Mutex::default(),
            limits: Arc::default(),
        });
        lan.new_code(now)?;
        let listener = Listener::new(tcp, identity, Arc::clone(&lan))?;
        Ok((lan, listener))
    }

    /// Where it is.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// The host as a browser names it: without the port where that is the usual one of HTTPS.
    pub fn host(&self) -> String {
        let text = self.address.to_string();
        text.strip_suffix(":443").map_or(text.clone(), str::to_owned)
    }

    /// The address to open on a phone.
    pub fn url(&self) -> String {
        format!("https://{}/", self.host())
    }

    /// SHA-256 of the certificate, as browsers show it.
    pub fn fingerprint(&self) -> &str {
        &self.fingerprint
    }

    /// The day the certificate ends, and whether it was made just now.
    pub fn certificate(&self) -> (jiff::civil::Date, bool) {
        self.certificate
    }

    /// Who may come in.
    pub fn registry(&self) -> &Registry {
        &self.registry
    }

    /// Counts a request from an address.
    ///
    /// # Errors
    /// The time to wait.
    pub fn request(&self, peer: std::net::IpAddr) -> Result<(), Duration> {
        self.limits.request(peer)
    }

    /// Counts a try to pair from an address.
    ///
    /// # Errors
    /// The time to wait.
    pub fn try_to_pair(&self, peer: std::net::IpAddr) -> Result<(), Duration> {
        self.limits.pairing(peer)
    }

    /// Opens a new pairing code; the old one is void.
    ///
    /// # Errors
    /// [`Refused`] `no_randomness`.
    pub fn new_code(&self, now: Timestamp) -> Result<Code, Refused> {
        let code = Code::from_random(registry::random()?);
        self.pairing().begin(code.clone(), now);
        Ok(code)
    }

    /// The pairing code.
    pub fn pairing(&self) -> MutexGuard<'_, Pairing> {
        self.pairing.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The address that pairs with this code: behind a `#`, so that it is sent nowhere and comes into no log.
    pub fn pair_url(&self, code: &Code) -> String {
        format!("{}pair#{}", self.url(), code.plain())
    }

    /// Pairs a device with a code; returns its name and its token.
    ///
    /// # Errors
    /// [`Refused`] as [`devices::name`], [`Pairing::attempt`] and [`Registry::pair`].
    pub fn pair(&self, typed: &str, name: &str, now: Timestamp) -> Result<(String, String), Refused> {
        // The name first: a wrong one must not use up the code.
        let name = devices::name(name)?;
        self.pairing().attempt(typed, now)?;
        self.registry.pair(&name, now)
    }
}
