//! Writing what was asked for into a new file.
use crate::error::Refused;
use std::path::Path;

/// A file that must not be there yet, written whole.
pub(super) fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Refused> {
    let refused = |error: std::io::Error| {
        Refused::new(
            "cannot_write",
            format!("{} cannot be written: {error}", path.display()),
            "name a file that does not exist yet, in a folder that does",
        )
    };
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    // Written beside it first: a full disk must not leave half a file under the asked name.
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(refused)?;
    std::io::Write::write_all(&mut file, bytes).map_err(refused)?;
    file.persist_noclobber(path).map_err(|error| refused(error.error))?;
    Ok(())
}
