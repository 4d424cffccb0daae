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

/// Lines of cells as CSV (RFC 4180), the head first.
pub(super) fn to_csv(lines: impl Iterator<Item = Vec<String>>) -> Result<Vec<u8>, Refused> {
    let failed =
        |error: String| Refused::new("cannot_write", format!("the table cannot be written: {error}"), "try again");
    let mut writer = csv::Writer::from_writer(Vec::new());
    for line in lines {
        writer.write_record(line).map_err(|error| failed(error.to_string()))?;
    }
    writer.into_inner().map_err(|error| failed(error.to_string()))
}
