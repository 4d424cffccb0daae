//! The sound of the takes, each in a file named after its own contents.
use super::error::RecordError;
use sha2::{Digest, Sha256};
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

/// The takes of a workshop: FLAC files under `takes/`, named by the SHA-256 of their bytes, so that a file that was
/// altered is found out and the same take is kept once.
#[derive(Debug, Clone)]
pub struct Takes {
    folder: PathBuf,
}

impl Takes {
    pub(crate) fn in_folder(workshop: &Path) -> Self {
        Self { folder: workshop.join("takes") }
    }

    /// Where the take of that name lies.
    pub fn path(&self, sha256: &str) -> PathBuf {
        self.folder.join(sha256.get(..2).unwrap_or("xx")).join(format!("{sha256}.flac"))
    }

    /// Keeps the bytes of a take and returns its name; they are on the disk when this returns.
    ///
    /// # Errors
    /// `disk_full`, `not_writable`, `not_saved`.
    pub fn keep(&self, flac: &[u8]) -> Result<String, RecordError> {
        let name = name_of(flac);
        keep_file(&self.path(&name), &self.folder, flac)?;
        Ok(name)
    }

    /// The bytes of a take.
    ///
    /// # Errors
    /// `take_missing` if its file is gone, `take_altered` if it no longer holds what it held.
    pub fn read(&self, sha256: &str) -> Result<Vec<u8>, RecordError> {
        read_file(&self.path(sha256), sha256, &["take_missing", "take_altered", "sound of a take"])
    }
}

/// Puts bytes on the disk under a path below `all`, so that they last through a power cut.
pub(super) fn keep_file(path: &Path, all: &Path, bytes: &[u8]) -> Result<(), RecordError> {
    if fs::read(path).is_ok_and(|kept| kept == bytes) {
        return Ok(());
    }
    let folder = path.parent().unwrap_or(all);
    let failed = |error: std::io::Error| RecordError::io(path, "saved", &error);
    fs::create_dir_all(folder).map_err(failed)?;
    let mut file = tempfile::Builder::new().prefix(".saving-").tempfile_in(folder).map_err(failed)?;
    file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(failed)?;
    file.persist(path).map_err(|error| failed(error.error))?;
    sync_folder(folder)?;
    sync_folder(all)
}

/// The bytes of a file named after its contents; `missing` and `altered` are the codes of a refusal.
pub(super) fn read_file(
    path: &Path,
    sha256: &str,
    [missing, altered, what]: &[&'static str; 3],
) -> Result<Vec<u8>, RecordError> {
    let hint = "Copy it back from a backup of the workshop's folder; the figures themselves are kept.";
    let bytes = fs::read(path).map_err(|error| {
        RecordError::new(missing, format!("The {what} is missing: {} ({error}).", path.display()), hint)
    })?;
    if name_of(&bytes) != sha256 {
        return Err(RecordError::new(altered, format!("The {what} was altered: {}.", path.display()), hint));
    }
    Ok(bytes)
}

/// SHA-256 of the bytes in small hexadecimal figures, as `sha256sum` prints it.
pub fn name_of(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut name, byte| {
        // Writing into a string cannot fail.
        let _ = write!(name, "{byte:02x}");
        name
    })
}

/// Makes new names in a folder last through a power cut; only Unix can open a folder for that.
pub(crate) fn sync_folder(folder: &Path) -> Result<(), RecordError> {
    if !cfg!(unix) {
        return Ok(());
    }
    File::open(folder)
        .and_then(|folder| folder.sync_all())
        .map_err(|error| RecordError::io(folder, "written to", &error))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_are_named_by_their_contents() {
        // FIPS 180-2, appendix B.1.
        assert_eq!(name_of(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn a_take_is_kept_once_and_an_altered_one_is_found_out() {
        let folder = tempfile::tempdir().unwrap();
        let takes = Takes::in_folder(folder.path());
        let name = takes.keep(b"sound").unwrap();
        assert_eq!(takes.keep(b"sound").unwrap(), name);
        assert_eq!(takes.read(&name).unwrap(), b"sound");
        fs::write(takes.path(&name), b"other").unwrap();
        assert_eq!(takes.read(&name).unwrap_err().code, "take_altered");
        assert_eq!(takes.keep(b"sound").unwrap(), name, "an altered file is mended");
        assert_eq!(takes.read(&name).unwrap(), b"sound");
        fs::remove_file(takes.path(&name)).unwrap();
        assert_eq!(takes.read(&name).unwrap_err().code, "take_missing");
    }
}
