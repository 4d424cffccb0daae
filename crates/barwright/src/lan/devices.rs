//! The paired devices, as they are kept: a name and the hash of a token for each.
use super::private_file;
use crate::error::Refused;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The folder inside the workshop's own.
pub const FOLDER: &str = "lan";
const FILE: &str = "devices.json";
const LOCK: &str = "devices.lock";
const FORMAT: &str = "barwright-devices/1";
/// A workshop has a handful.
pub const MOST_DEVICES: usize = 64;
/// Longest name, in characters.
pub const LONGEST_NAME: usize = 40;

/// A paired phone, tablet or computer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Device {
    /// Its name in requests: 16 figures and letters.
    pub id: String,
    /// What its owner called it; no two are called the same.
    pub name: String,
    /// SHA-256 of its token; the token itself is known to the device alone.
    pub token_sha256: String,
    /// When it was paired.
    pub paired_at: Timestamp,
    /// When it was last seen, to some minutes.
    pub seen_at: Timestamp,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Kept {
    format: String,
    devices: Vec<Device>,
}

/// What tells two states of the file apart without reading it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stamp {
    modified: Option<SystemTime>,
    bytes: u64,
    /// A saved file is a new one on the disk, even within one tick of the disk's clock.
    inode: u64,
}

/// The file of devices.
#[derive(Debug, Clone)]
pub struct DeviceFile {
    folder: PathBuf,
}

impl DeviceFile {
    /// The file of the workshop in this folder; nothing is made yet.
    pub fn in_workshop(workshop: &Path) -> Self {
        Self { folder: workshop.join(FOLDER) }
    }

    /// Where it lies.
    pub fn path(&self) -> PathBuf {
        self.folder.join(FILE)
    }

    /// The devices; none if there is no file.
    ///
    /// # Errors
    /// [`Refused`] `devices_damaged`, `not_readable`; the file is left as it is.
    pub fn read(&self) -> Result<Vec<Device>, Refused> {
        let path = self.path();
        let Some(bytes) = private_file::read(&path)? else { return Ok(Vec::new()) };
        let kept: Kept = serde_json::from_slice(&bytes).map_err(|error| damaged(&path, &error))?;
        if kept.format != FORMAT {
            let format: String = kept.format.chars().take(60).collect();
            return Err(damaged(&path, &format!("its format is \"{format}\", this program knows {FORMAT}")));
        }
        Ok(kept.devices)
    }

    /// Changes the devices as they stand on the disk, while no other program does; returns them as they are then.
    ///
    /// # Errors
    /// As [`DeviceFile::read`]; [`Refused`] `not_saved`; what `change` refuses. Nothing is changed then.
    pub fn change<T>(
        &self,
        change: impl FnOnce(&mut Vec<Device>) -> Result<T, Refused>,
    ) -> Result<(T, Vec<Device>), Refused> {
        private_file::folder(&self.folder)?;
        private_file::locked(&self.folder.join(LOCK), || {
            let mut devices = self.read()?;
            let before = devices.clone();
            let done = change(&mut devices)?;
            if devices != before {
                let kept = Kept { format: FORMAT.to_owned(), devices: devices.clone() };
                let text = serde_json::to_vec_pretty(&kept).map_err(|error| damaged(&self.path(), &error))?;
                private_file::replace(&self.path(), &text)?;
            }
            Ok((done, devices))
        })
    }

    /// The file's present state; `None` without a file.
    pub fn stamp(&self) -> Option<Stamp> {
        let metadata = std::fs::metadata(self.path()).ok()?;
        #[cfg(unix)]
        let inode = std::os::unix::fs::MetadataExt::ino(&metadata);
        #[cfg(not(unix))]
        let inode = 0;
        Some(Stamp { modified: metadata.modified().ok(), bytes: metadata.len(), inode })
    }
}

/// Enters a device whose token has this hash; a name that is taken gets a number. Returns the name it has then.
///
/// # Errors
/// [`Refused`] `too_many_devices`.
pub fn enter(
    devices: &mut Vec<Device>,
    id: String,
    name: &str,
    token_sha256: String,
    now: Timestamp,
) -> Result<String, Refused> {
    if devices.len() >= MOST_DEVICES {
        return Err(Refused::new(
            "too_many_devices",
            format!("{MOST_DEVICES} devices are paired already"),
            "revoke one that is not used any more, on the workshop's own computer",
        ));
    }
    let taken = |name: &str| devices.iter().any(|device| device.name == name);
    let numbered = (2..).map(|number| format!("{name} ({number})"));
    let name = std::iter::once(name.to_owned()).chain(numbered).find(|name| !taken(name)).unwrap_or_default();
    devices.push(Device { id, name: name.clone(), token_sha256, paired_at: now, seen_at: now });
    Ok(name)
}

/// Takes a device off the list, by its name or id; returns it.
///
/// # Errors
/// [`Refused`] `not_found`.
pub fn remove(devices: &mut Vec<Device>, which: &str) -> Result<Device, Refused> {
    // The id first: a device may have been called like another's.
    let place = devices.iter().position(|device| device.id == which);
    let place = place.or_else(|| devices.iter().position(|device| device.name == which));
    match place {
        Some(place) => Ok(devices.remove(place)),
        None => {
            let which: String = which.chars().take(60).collect();
            Err(Refused::new(
                "not_found",
                format!("no device called \"{which}\" is paired"),
                "look at the list: barwright devices",
            ))
        }
    }
}

/// A name as its owner typed it, without line breaks and the like, blanks put together.
///
/// # Errors
/// [`Refused`] `no_name`, `long_name`.
pub fn name(typed: &str) -> Result<String, Refused> {
    let plain: String = typed.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let name = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    match name.chars().count() {
        0 => {
            Err(Refused::new("no_name", "the device has no name", "call it something, such as \"phone at the sander\""))
        }
        1..=LONGEST_NAME => Ok(name),
        long => Err(Refused::new(
            "long_name",
            format!("this name has {long} characters"),
            format!("use {LONGEST_NAME} at most"),
        )),
    }
}

/// SHA-256 in hexadecimal figures.
pub fn sha256(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// Two figures a byte.
pub fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn damaged(path: &Path, why: &dyn std::fmt::Display) -> Refused {
    Refused::new(
        "devices_damaged",
        format!("the list of paired devices in {} cannot be read ({why}); it is left as it is", path.display()),
        "move that file away and start again: then no device is paired, and each is paired anew with a code",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: Timestamp = Timestamp::UNIX_EPOCH;

    fn entered(file: &DeviceFile, name: &str) -> String {
        file.change(|devices| enter(devices, format!("id of {name}"), name, sha256(name.as_bytes()), NOW)).unwrap().0
    }

    #[test]
    fn what_is_entered_is_there_after_a_restart_and_gone_once_removed() {
        let workshop = tempfile::tempdir().unwrap();
        let file = DeviceFile::in_workshop(workshop.path());
        assert!(file.read().unwrap().is_empty() && file.stamp().is_none());
        assert_eq!(entered(&file, "phone"), "phone");
        assert_eq!(entered(&file, "phone"), "phone (2)");
        let before = file.stamp();
        let again = DeviceFile::in_workshop(workshop.path());
        assert_eq!(again.change(|devices| remove(devices, "phone")).unwrap().0.name, "phone");
        assert_ne!(file.stamp(), before);
        let names: Vec<String> = file.read().unwrap().into_iter().map(|device| device.name).collect();
        assert_eq!(names, ["phone (2)"]);
        assert_eq!(again.change(|devices| remove(devices, "phone")).unwrap_err().code, "not_found");
    }

    #[test]
    fn a_damaged_list_is_told_and_nothing_of_it_is_lost() {
        let workshop = tempfile::tempdir().unwrap();
        let file = DeviceFile::in_workshop(workshop.path());
        entered(&file, "phone");
        let whole = std::fs::read_to_string(file.path()).unwrap();
        for text in
            [whole[..whole.len() / 2].to_owned(), whole.replace("es/1", "es/2"), whole.replace("seen_at", "seen")]
        {
            std::fs::write(file.path(), &text).unwrap();
            assert_eq!(file.read().unwrap_err().code, "devices_damaged");
            let entering = file.change(|devices| enter(devices, String::new(), "x", String::new(), NOW));
            assert_eq!(entering.unwrap_err().code, "devices_damaged");
            assert_eq!(std::fs::read_to_string(file.path()).unwrap(), text);
        }
    }

    #[test]
    fn two_programs_that_enter_at_once_lose_nothing() {
        let workshop = tempfile::tempdir().unwrap();
        std::thread::scope(|scope| {
            for n in 0..8 {
                let file = DeviceFile::in_workshop(workshop.path());
                scope.spawn(move || entered(&file, &format!("device {n}")));
            }
        });
        assert_eq!(DeviceFile::in_workshop(workshop.path()).read().unwrap().len(), 8);
    }

    #[test]
    fn a_device_called_like_anothers_id_does_not_stand_in_for_it() {
        let mut devices = Vec::new();
        enter(&mut devices, "00".to_owned(), "11", String::new(), NOW).unwrap();
        enter(&mut devices, "11".to_owned(), "phone", String::new(), NOW).unwrap();
        assert_eq!(remove(&mut devices, "11").unwrap().name, "phone");
        assert_eq!(remove(&mut devices, "11").unwrap().id, "00");
    }

    #[test]
    fn there_is_an_end_to_devices_and_to_names() {
        let mut devices = Vec::new();
        for n in 0..MOST_DEVICES {
            enter(&mut devices, n.to_string(), "phone", String::new(), NOW).unwrap();
        }
        assert_eq!(enter(&mut devices, String::new(), "x", String::new(), NOW).unwrap_err().code, "too_many_devices");
        assert_eq!(name("  phone\r\n at the\tsander ").unwrap(), "phone at the sander");
        assert_eq!(name(&"♯".repeat(LONGEST_NAME)).unwrap().chars().count(), LONGEST_NAME);
        assert_eq!(name(&"a".repeat(LONGEST_NAME + 1)).unwrap_err().code, "long_name");
        assert_eq!(name(" \u{7}\n").unwrap_err().code, "no_name");
    }

    #[cfg(unix)]
    #[test]
    fn nobody_else_may_read_the_folder_or_what_is_in_it() {
        use std::os::unix::fs::PermissionsExt;
        let workshop = tempfile::tempdir().unwrap();
        let file = DeviceFile::in_workshop(workshop.path());
        let folder = workshop.path().join(FOLDER);
        std::fs::create_dir(&folder).unwrap();
        std::fs::set_permissions(&folder, std::fs::Permissions::from_mode(0o755)).unwrap();
        entered(&file, "phone");
        let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&folder), 0o700);
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            assert_eq!(mode(&path), 0o600, "{}", path.display());
        }
    }
}
