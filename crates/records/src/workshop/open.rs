//! Finding, making and opening a workshop's folder.
use super::backup;
use super::body::{Body, WorkshopRecord};
use super::error::RecordError;
use super::event::Kind;
use super::photo::Photos;
use super::schema::{APPLICATION_ID, STEPS, migrations};
use super::takes::Takes;
use super::write::Writer;
use jiff::Timestamp;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Name of the record inside the workshop's folder.
pub const RECORD_FILE: &str = "workshop.db";
/// How long to wait for another program that is just writing; writing takes milliseconds.
const WAIT_FOR_OTHERS: Duration = Duration::from_secs(5);

/// A workshop's record, open.
///
/// The folder holds the record (`workshop.db`), the sound of the takes (`takes/`), photographs (`photos/`) and copies
/// (`backups/`). Several programs may have it open; each step is written whole or not at all, and is on the disk before it
/// is acknowledged.
#[derive(Debug)]
pub struct Workshop {
    pub(crate) connection: Connection,
    folder: PathBuf,
    identity: Option<FileIdentity>,
}

/// What tells a file from another one that took its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct FileIdentity(u64, u64);

impl Workshop {
    /// Sets up a new workshop in `folder`, which is made if it is missing.
    ///
    /// # Errors
    /// `exists` if there is a workshop already; `disk_full`, `not_writable`, `not_saved`.
    pub fn create(folder: &Path, name: &str, at: Timestamp) -> Result<Self, RecordError> {
        let path = folder.join(RECORD_FILE);
        if path.exists() {
            return Err(RecordError::new(
                "exists",
                format!("{} holds a workshop already; it is left as it is.", folder.display()),
                "Open it, or give another folder.",
            ));
        }
        std::fs::create_dir_all(folder).map_err(|error| RecordError::io(folder, "made", &error))?;
        // Made complete under another name, so that a workshop is there whole or not at all.
        let new = tempfile::Builder::new().prefix(".new-").suffix(".db").tempfile_in(folder);
        let new = new.map_err(|error| RecordError::io(folder, "written to", &error))?;
        {
            let mut connection = Connection::open(new.path())?;
            connection.pragma_update(None, "application_id", APPLICATION_ID)?;
            migrations(STEPS).to_latest(&mut connection).map_err(|error| migration_failed(&error))?;
            let transaction = connection.transaction()?;
            let record = WorkshopRecord { name: name.to_owned(), tool_step: None };
            Writer::new(&transaction).begin(Kind::Workshop, Body::Workshop(record).into(), at)?;
            transaction.commit()?;
            connection.close().map_err(|(_, error)| error)?;
        }
        let saved = new.persist_noclobber(&path).map_err(|error| RecordError::io(&path, "made", &error.error))?;
        saved.sync_all().map_err(|error| RecordError::io(&path, "made", &error))?;
        super::takes::sync_folder(folder)?;
        Self::open(folder, at)
    }

    /// Opens the workshop in `folder`; a record of an earlier version is copied, then brought up to this version.
    ///
    /// # Errors
    /// `no_workshop`, `not_a_workshop`, `newer_file`, `damaged`, `busy`, `not_writable`.
    pub fn open(folder: &Path, at: Timestamp) -> Result<Self, RecordError> {
        Self::open_with(folder, at, STEPS)
    }

    pub(crate) fn open_with(folder: &Path, at: Timestamp, steps: &[&'static str]) -> Result<Self, RecordError> {
        let path = folder.join(RECORD_FILE);
        if !path.is_file() {
            return Err(RecordError::new(
                "no_workshop",
                format!("{} holds no workshop (no file {RECORD_FILE}).", folder.display()),
                "Set one up with `barwright workshop new`, or give the right folder with --workshop.",
            ));
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut connection = Connection::open_with_flags(&path, flags)?;
        connection.busy_timeout(WAIT_FOR_OTHERS)?;
        check_origin(&connection, &path, steps.len())?;
        connection.pragma_update(None, "journal_mode", "WAL")?;
        connection.pragma_update(None, "synchronous", "FULL")?;
        connection.pragma_update(None, "foreign_keys", true)?;
        connection.pragma_update(None, "trusted_schema", false)?;
        connection.pragma_update(None, "cell_size_check", true)?;
        if version(&connection)? < steps.len() {
            backup::before_migration(&connection, folder, at)?;
            migrations(steps).to_latest(&mut connection).map_err(|error| migration_failed(&error))?;
        }
        let identity = identity(&path);
        Ok(Self { connection, folder: folder.to_owned(), identity })
    }

    /// The workshop's folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The sound of the takes.
    pub fn takes(&self) -> Takes {
        Takes::in_folder(&self.folder)
    }

    /// The photographs.
    pub fn photos(&self) -> Photos {
        Photos::in_folder(&self.folder)
    }

    /// Does several steps as one: all of them are kept, or none.
    ///
    /// # Errors
    /// Whatever `steps` refuses; `busy`, `disk_full`, `not_writable`, `vanished`.
    pub fn write<T>(&mut self, steps: impl FnOnce(&Writer<'_>) -> Result<T, RecordError>) -> Result<T, RecordError> {
        self.still_there()?;
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let answer = steps(&Writer::new(&transaction))?;
        transaction.commit()?;
        // SQLite would go on writing to a file whose name is gone; nothing is acknowledged then.
        self.still_there()?;
        Ok(answer)
    }

    /// Lets the record grow to so many pages of 4 KiB at most; tests fill the disk with it.
    ///
    /// # Errors
    /// [`RecordError`] if the record refuses.
    #[doc(hidden)]
    pub fn limit_pages(&self, pages: u32) -> Result<(), RecordError> {
        Ok(self.connection.pragma_update(None, "max_page_count", pages)?)
    }

    /// Moves the journal into the record every so many pages instead of every 1000; tests meet that moment often with it.
    ///
    /// # Errors
    /// [`RecordError`] if the record refuses.
    #[doc(hidden)]
    pub fn checkpoint_every(&self, pages: u32) -> Result<(), RecordError> {
        Ok(self.connection.pragma_update(None, "wal_autocheckpoint", pages)?)
    }

    /// Refuses every writing as a write-protected disk would; tests pull the disk away with it.
    ///
    /// # Errors
    /// [`RecordError`] if the record refuses.
    #[doc(hidden)]
    pub fn read_only(&self, protected: bool) -> Result<(), RecordError> {
        Ok(self.connection.pragma_update(None, "query_only", protected)?)
    }

    fn still_there(&self) -> Result<(), RecordError> {
        if self.identity == identity(&self.folder.join(RECORD_FILE)) {
            return Ok(());
        }
        Err(RecordError::new(
            "vanished",
            format!("{} was moved, removed or replaced while it was open.", self.folder.join(RECORD_FILE).display()),
            "Put it back or open the workshop anew, then repeat the step.",
        ))
    }
}

/// Device and number of the file; always `None` where the system does not tell.
fn identity(path: &Path) -> Option<FileIdentity> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        let metadata = std::fs::metadata(path).ok()?;
        Some(FileIdentity(metadata.dev(), metadata.ino()))
    }
    #[cfg(not(unix))]
    {
        let _ = path;
        None
    }
}

/// Version of the tables in the file.
pub(crate) fn version(connection: &Connection) -> Result<usize, RecordError> {
    let version: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
    usize::try_from(version).map_err(|_| RecordError::damaged(format!("version {version}")))
}

fn check_origin(connection: &Connection, path: &Path, known: usize) -> Result<(), RecordError> {
    let id: i32 = connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
    if id != APPLICATION_ID {
        return Err(RecordError::new(
            "not_a_workshop",
            format!("{} is a database, but not a workshop's record; it is left as it is.", path.display()),
            "Give the right folder with --workshop.",
        ));
    }
    let version = version(connection)?;
    if version > known {
        return Err(RecordError::new(
            "newer_file",
            format!(
                "{} was written by a newer barwright (version {version} of the record; this program knows up to \
                 {known}). It is left as it is.",
                path.display()
            ),
            "Install the newer program on this computer too. Its export can be read by any program.",
        ));
    }
    Ok(())
}

fn migration_failed(error: &rusqlite_migration::Error) -> RecordError {
    RecordError::new(
        "migration_failed",
        format!("The record could not be brought up to this version ({error}); it is as it was before."),
        "A copy made just before lies in the folder backups. Run the check.",
    )
}

#[cfg(test)]
mod tests;
