//! Saving: all of the new text or all of the old, never a mixture.
use crate::error::BarFileError;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

/// Replaces `path` by `text` in one step, unless the file is no longer `expected` (`None`: must not exist yet).
///
/// The text goes to a temporary file in the same folder, is flushed to the disk, and then takes the name.
pub(crate) fn save(path: &Path, text: &str, expected: Option<&str>) -> Result<(), BarFileError> {
    // A link is followed, so that it stays a link and its target is what changes.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    check_unchanged(&target, expected)?;
    replace(&target, |file| file.write_all(text.as_bytes()), || check_unchanged(&target, expected))
}

fn check_unchanged(path: &Path, expected: Option<&str>) -> Result<(), BarFileError> {
    let name = path.display();
    match (fs::read(path), expected) {
        (Ok(bytes), Some(text)) if bytes == text.as_bytes() => Ok(()),
        (Ok(_), Some(_)) => Err(BarFileError::new(
            "changed_on_disk",
            "",
            format!("{name} was changed by another program after it was read; it is left as it is."),
            "Read it again, then repeat the step.",
        )),
        (Ok(_), None) => Err(BarFileError::new(
            "exists",
            "",
            format!("{name} exists already; it is left as it is."),
            "Give another name, or move the old file away.",
        )),
        (Err(error), None) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        (Err(error), Some(_)) if error.kind() == io::ErrorKind::NotFound => Err(BarFileError::new(
            "changed_on_disk",
            "",
            format!("{name} was moved or removed after it was read; nothing was written."),
            "Put it back, or save under another name.",
        )),
        (Err(error), _) => Err(not_saved(path, &error)),
    }
}

fn replace(
    target: &Path,
    fill: impl FnOnce(&mut File) -> io::Result<()>,
    check_again: impl FnOnce() -> Result<(), BarFileError>,
) -> Result<(), BarFileError> {
    let failed = |error: io::Error| not_saved(target, &error);
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    // Removed again on every way out but `persist`.
    let mut temporary =
        tempfile::Builder::new().prefix(".saving-").suffix(".tmp").tempfile_in(folder).map_err(failed)?;
    fill(temporary.as_file_mut()).map_err(failed)?;
    temporary
        .as_file()
        .set_permissions(wanted_permissions(target, temporary.as_file()).map_err(failed)?)
        .map_err(failed)?;
    temporary.as_file().sync_all().map_err(failed)?;
    check_again()?;
    temporary.persist(target).map_err(|error| failed(error.error))?;
    sync_folder(folder).map_err(failed)
}

/// The old file's permissions; for a new file, what files are usually given.
fn wanted_permissions(target: &Path, temporary: &File) -> io::Result<fs::Permissions> {
    if let Ok(old) = fs::metadata(target) {
        return Ok(old.permissions());
    }
    let permissions = temporary.metadata()?.permissions();
    #[cfg(unix)]
    let permissions = {
        use std::os::unix::fs::PermissionsExt;
        let mut permissions = permissions;
        permissions.set_mode(0o644);
        permissions
    };
    Ok(permissions)
}

/// Makes the renaming itself last through a power cut; only Unix can open a folder for that.
fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

fn not_saved(path: &Path, error: &io::Error) -> BarFileError {
    BarFileError::new(
        "not_saved",
        "",
        format!("{} could not be saved: {error}. The old file is untouched.", path.display()),
        "Check that the folder may be written to and the disk is not full.",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entries(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_fault_in_the_middle_of_writing_leaves_the_old_file_and_no_rubbish() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.bar.json");
        fs::write(&path, "old").unwrap();
        let half = |file: &mut File| {
            file.write_all(b"ne")?;
            Err(io::Error::other("disk full"))
        };
        let error = replace(&path, half, || Ok(())).unwrap_err();
        assert_eq!(error.code, "not_saved");
        assert_eq!(fs::read_to_string(&path).unwrap(), "old");
        assert_eq!(entries(folder.path()), ["a.bar.json"]);
    }

    #[test]
    fn a_change_between_writing_and_renaming_is_not_overwritten() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.bar.json");
        fs::write(&path, "old").unwrap();
        let meanwhile = || {
            fs::write(&path, "theirs").unwrap();
            check_unchanged(&path, Some("old"))
        };
        let error = replace(&path, |file| file.write_all(b"new"), meanwhile).unwrap_err();
        assert_eq!(error.code, "changed_on_disk");
        assert_eq!(fs::read_to_string(&path).unwrap(), "theirs");
        assert_eq!(entries(folder.path()), ["a.bar.json"]);
    }

    #[cfg(unix)]
    #[test]
    fn permissions_and_links_are_kept() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let (path, link) = (folder.path().join("a.bar.json"), folder.path().join("link"));
        fs::write(&path, "old").unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&path, &link).unwrap();
        save(&link, "new", Some("old")).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "new");
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
    }
}
