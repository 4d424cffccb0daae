//! Files that only the workshop's own user may read: a folder of mode 0700, files of mode 0600, saved all or nothing.
use crate::error::Refused;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

/// Makes the folder, or takes other users' rights to it away.
///
/// # Errors
/// [`Refused`] `not_saved`.
pub fn folder(path: &Path) -> Result<(), Refused> {
    fs::create_dir_all(path).and_then(|()| only_for_owner(path, 0o700)).map_err(|error| not_saved(path, &error))
}

/// The file's bytes; `None` if there is no such file.
///
/// # Errors
/// [`Refused`] `not_readable`.
pub fn read(path: &Path) -> Result<Option<Vec<u8>>, Refused> {
    match fs::read(path) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(Refused::new(
            "not_readable",
            format!("{} cannot be read ({error})", path.display()),
            "let this user read it, then try again",
        )),
    }
}

/// Replaces the file in one step: all of the new bytes or all of the old, also through a power cut.
///
/// # Errors
/// [`Refused`] `not_saved`; the old file is then untouched.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), Refused> {
    write(path, bytes).map_err(|error| not_saved(path, &error))
}

fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    // Made with mode 0600, and removed again on every way out but `persist`.
    let mut temporary = tempfile::Builder::new().prefix(".saving-").suffix(".tmp").tempfile_in(folder)?;
    temporary.write_all(bytes)?;
    temporary.as_file().sync_all()?;
    temporary.persist(path).map_err(|error| error.error)?;
    // Makes the renaming itself last; only Unix can open a folder for that.
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

/// Runs `work` while no other program runs any on the same lock; waits for its turn.
///
/// # Errors
/// [`Refused`] `not_saved` if the lock cannot be made; whatever `work` refuses.
pub fn locked<T>(lock: &Path, work: impl FnOnce() -> Result<T, Refused>) -> Result<T, Refused> {
    let file = File::options().create(true).truncate(false).write(true).open(lock);
    let file = file.and_then(|file| only_for_owner(lock, 0o600).map(|()| file));
    let file = file.and_then(|file| file.lock().map(|()| file)).map_err(|error| not_saved(lock, &error))?;
    let done = work();
    // Closing would unlock it as well.
    drop(file);
    done
}

#[cfg(unix)]
fn only_for_owner(path: &Path, mode: u32) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(path, fs::Permissions::from_mode(mode))
}

/// Elsewhere the user's own folder is private already.
#[cfg(not(unix))]
fn only_for_owner(_: &Path, _: u32) -> io::Result<()> {
    Ok(())
}

fn not_saved(path: &Path, error: &io::Error) -> Refused {
    Refused::new(
        "not_saved",
        format!("{} could not be saved ({error}); what was there is untouched", path.display()),
        "check that the folder may be written to and the disk is not full",
    )
}
