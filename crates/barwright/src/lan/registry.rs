//! Who may come in: the devices as the file has them, and the connections they hold open.
//!
//! The file is the truth. The command line may change it while the page is served: it is looked at with every request
//! and every second, and what it no longer names is cut off. A file that cannot be read lets nobody in.
use super::devices::{self, Device, DeviceFile, Stamp, hexadecimal, sha256};
use super::wire::Wire;
use crate::error::Refused;
use jiff::{SignedDuration, Timestamp};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};
use subtle::ConstantTimeEq;

/// When a device was last seen is written down this often at most, in minutes.
const SEEN_EVERY_MIN: i64 = 5;

/// The devices and their connections.
#[derive(Debug)]
pub struct Registry {
    file: DeviceFile,
    inner: Mutex<Inner>,
}

#[derive(Debug)]
struct Inner {
    devices: Result<Vec<Device>, Refused>,
    stamp: Option<Stamp>,
    wires: Vec<Weak<Wire>>,
    noted_at: Timestamp,
}

impl Registry {
    /// The devices of a workshop.
    ///
    /// # Errors
    /// As [`DeviceFile::read`].
    pub fn open(file: DeviceFile, now: Timestamp) -> Result<Self, Refused> {
        // The stamp first: a change between the two is then seen at the next look.
        let stamp = file.stamp();
        let devices = Ok(file.read()?);
        Ok(Self { file, inner: Mutex::new(Inner { devices, stamp, wires: Vec::new(), noted_at: now }) })
    }

    /// Minds a connection: it is cut when a device that has used it is revoked.
    pub fn mind(&self, wire: &Arc<Wire>) {
        let mut inner = self.inner();
        inner.wires.retain(|wire| wire.strong_count() > 0);
        inner.wires.push(Arc::downgrade(wire));
    }

    /// The device whose token this is, and marks the connection as used by it; `None` if it is nobody's.
    ///
    /// # Errors
    /// [`Refused`] if the list of devices cannot be read.
    pub fn admit(&self, token: &str, wire: &Wire, now: Timestamp) -> Result<Option<Device>, Refused> {
        let hash = sha256(token.as_bytes());
        let mut inner = self.inner();
        inner.look_again(&self.file);
        let devices = inner.devices.as_mut().map_err(|refused| refused.clone())?;
        // Hashes are compared, and all of them in the same time: what an answer takes tells nothing of a token.
        let mut found = None;
        for (place, device) in devices.iter().enumerate() {
            if bool::from(device.token_sha256.as_bytes().ct_eq(hash.as_bytes())) {
                found = Some(place);
            }
        }
        Ok(found.map(|place| {
            devices[place].seen_at = now;
            // Under the same lock as a revocation, which thus finds this connection or refuses this token.
            wire.used_by(&devices[place].id);
            devices[place].clone()
        }))
    }

    /// Pairs a device; returns the name it has then and its token, which is kept nowhere here.
    ///
    /// # Errors
    /// [`Refused`] as [`devices::enter`] and [`DeviceFile::change`]; `no_randomness`.
    pub fn pair(&self, name: &str, now: Timestamp) -> Result<(String, String), Refused> {
        let (id, token) = (hexadecimal(&random::<8>()?), hexadecimal(&random::<32>()?));
        let hash = sha256(token.as_bytes());
        let name = self.change(|devices| devices::enter(devices, id, name, hash, now))?;
        Ok((name, token))
    }

    /// Revokes a device by its id or name and cuts off everything it has open; returns it.
    ///
    /// # Errors
    /// [`Refused`] as [`devices::remove`] and [`DeviceFile::change`].
    pub fn revoke(&self, which: &str) -> Result<Device, Refused> {
        self.change(|devices| devices::remove(devices, which))
    }

    /// The devices as they are now.
    ///
    /// # Errors
    /// [`Refused`] if the list cannot be read.
    pub fn list(&self) -> Result<Vec<Device>, Refused> {
        let mut inner = self.inner();
        inner.look_again(&self.file);
        inner.devices.clone()
    }

    /// Looks whether another program has changed the list, and writes down now and then who was seen.
    pub fn tend(&self, now: Timestamp) {
        let due = {
            let mut inner = self.inner();
            inner.look_again(&self.file);
            now.duration_since(inner.noted_at) >= SignedDuration::from_mins(SEEN_EVERY_MIN)
        };
        if due {
            self.note_seen(now);
        }
    }

    /// Writes down who was seen when.
    pub fn note_seen(&self, now: Timestamp) {
        self.inner().noted_at = now;
        // Best effort: the list itself is not in danger, and the next time says the same.
        let _ = self.change(|_| Ok(()));
    }

    /// Changes the list on the disk and here, carrying along who was seen since it was last written.
    fn change<T>(&self, change: impl FnOnce(&mut Vec<Device>) -> Result<T, Refused>) -> Result<T, Refused> {
        let mut inner = self.inner();
        let seen = inner.devices.clone().unwrap_or_default();
        let (done, devices) = self.file.change(|devices| {
            for device in devices.iter_mut() {
                if let Some(known) = seen.iter().find(|known| known.id == device.id) {
                    device.seen_at = device.seen_at.max(known.seen_at);
                }
            }
            change(devices)
        })?;
        inner.devices = Ok(devices);
        // Unknown on purpose: whoever wrote in between is then seen at the next look.
        inner.stamp = None;
        inner.cut_strangers();
        Ok(done)
    }

    fn inner(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Inner {
    fn look_again(&mut self, file: &DeviceFile) {
        let stamp = file.stamp();
        // Without a file there is nobody, however often it is looked for.
        if self.stamp == stamp && stamp.is_some() {
            return;
        }
        self.stamp = stamp;
        let seen = std::mem::replace(&mut self.devices, file.read()).unwrap_or_default();
        if let Ok(devices) = &mut self.devices {
            for device in devices {
                if let Some(known) = seen.iter().find(|known| known.id == device.id) {
                    device.seen_at = device.seen_at.max(known.seen_at);
                }
            }
        }
        self.cut_strangers();
    }

    /// Cuts every connection that was used by a device which is not, or no longer, on the list.
    fn cut_strangers(&mut self) {
        let devices: &[Device] = self.devices.as_deref().unwrap_or_default();
        for wire in self.wires.iter().filter_map(Weak::upgrade) {
            wire.cut_unless(|id| devices.iter().any(|device| device.id == id));
        }
    }
}

/// Bytes that nobody can guess, from the system.
///
/// # Errors
/// [`Refused`] `no_randomness`.
pub fn random<const N: usize>() -> Result<[u8; N], Refused> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|error| {
        Refused::new("no_randomness", format!("the system gave no random numbers ({error})"), "try again in a minute")
    })?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: Timestamp = Timestamp::UNIX_EPOCH;

    fn minutes(n: i64) -> Timestamp {
        NOW + SignedDuration::from_mins(n)
    }

    fn fixture() -> (tempfile::TempDir, DeviceFile, Registry, Arc<Wire>) {
        let workshop = tempfile::tempdir().unwrap();
        let file = DeviceFile::in_workshop(workshop.path());
        let registry = Registry::open(file.clone(), NOW).unwrap();
        let wire = Arc::new(Wire::new(std::net::IpAddr::from([10, 0, 0, 1])));
        registry.mind(&wire);
        (workshop, file, registry, wire)
    }

    #[test]
    fn a_token_opens_for_its_device_until_it_is_revoked() {
        let (_workshop, file, registry, wire) = fixture();
        let (name, token) = registry.pair("phone", NOW).unwrap();
        assert!(name == "phone" && token.len() == 64);
        assert!(!std::fs::read_to_string(file.path()).unwrap().contains(&token), "only its hash is kept");
        let hash = file.read().unwrap()[0].token_sha256.clone();
        for wrong in ["", &token[1..], &token.to_uppercase(), &hash] {
            assert!(registry.admit(wrong, &wire, NOW).unwrap().is_none(), "{wrong}");
        }
        assert!(!wire.is_known());
        assert_eq!(registry.admit(&token, &wire, NOW).unwrap().unwrap().name, "phone");
        assert!(wire.is_known());
        registry.revoke("phone").unwrap();
        assert!(registry.admit(&token, &wire, NOW).unwrap().is_none());
        assert!(registry.list().unwrap().is_empty());
    }

    #[tokio::test]
    async fn what_another_program_revokes_is_cut_off() {
        use tokio::io::AsyncReadExt;
        let (_workshop, file, registry, wire) = fixture();
        let (_, token) = registry.pair("phone", NOW).unwrap();
        registry.admit(&token, &wire, NOW).unwrap();
        let (near, _far) = tokio::io::duplex(8);
        let mut near = wire.around(near, None);
        let waiting = tokio::spawn(async move { near.read_u8().await });
        file.change(|devices| devices::remove(devices, "phone")).unwrap();
        registry.tend(NOW);
        assert_eq!(waiting.await.unwrap().unwrap_err().kind(), std::io::ErrorKind::ConnectionAborted);
        assert!(registry.admit(&token, &wire, NOW).unwrap().is_none());
    }

    #[test]
    fn a_damaged_or_missing_list_lets_nobody_in() {
        let (_workshop, file, registry, wire) = fixture();
        let (_, token) = registry.pair("phone", NOW).unwrap();
        let whole = std::fs::read(file.path()).unwrap();
        std::fs::write(file.path(), b"{").unwrap();
        assert_eq!(registry.admit(&token, &wire, NOW).unwrap_err().code, "devices_damaged");
        assert_eq!(registry.pair("tablet", NOW).unwrap_err().code, "devices_damaged");
        assert_eq!(std::fs::read(file.path()).unwrap(), b"{", "what is left of it is left");
        std::fs::write(file.path(), &whole).unwrap();
        assert!(registry.admit(&token, &wire, NOW).unwrap().is_some());
        std::fs::remove_file(file.path()).unwrap();
        assert!(registry.admit(&token, &wire, NOW).unwrap().is_none());
    }

    #[test]
    fn when_a_device_was_seen_is_written_now_and_then_and_never_brings_one_back() {
        let (_workshop, file, registry, wire) = fixture();
        let (_, token) = registry.pair("phone", NOW).unwrap();
        registry.admit(&token, &wire, minutes(3)).unwrap();
        registry.tend(minutes(3));
        assert_eq!(file.read().unwrap()[0].seen_at, NOW);
        assert_eq!(registry.list().unwrap()[0].seen_at, minutes(3));
        registry.tend(minutes(6));
        assert_eq!(file.read().unwrap()[0].seen_at, minutes(3));
        registry.admit(&token, &wire, minutes(7)).unwrap();
        file.change(|devices| devices::remove(devices, "phone")).unwrap();
        registry.note_seen(minutes(8));
        assert!(file.read().unwrap().is_empty());
    }
}
