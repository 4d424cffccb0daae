//! Copies of the record: verified, kept in rotation, and brought back without touching what is there.
use super::error::RecordError;
use super::open::{RECORD_FILE, Workshop, version};
use super::photo::{PhotoFormat, Photos};
use super::schema::APPLICATION_ID;
use super::takes::{Takes, sync_folder};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use rusqlite::backup::Backup;
use rusqlite::{Connection, OpenFlags};
use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Folder of the automatic copies inside the workshop's folder.
pub const BACKUP_FOLDER: &str = "backups";
/// Beginnings of the names of automatic copies, and of those made by hand.
const AUTOMATIC: &str = "auto-";
const BY_HAND: &str = "copy-";
/// A new automatic copy is made when the newest is older than this: one a working day, whatever the hour.
const AUTOMATIC_EVERY_H: i64 = 20;
/// All automatic copies of the last days are kept …
const KEEP_ALL_DAYS: i64 = 7;
/// … then one a week, then one a month for ever: a fault found late must still have a sound copy before it.
const KEEP_WEEKLY_DAYS: i64 = 60;

/// What a backup copied.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackupReport {
    /// Where the copy of the record lies.
    pub record: PathBuf,
    /// The takes.
    pub takes: CopiedFiles,
    /// The photographs.
    pub photos: CopiedFiles,
}

/// Files beside the record that a backup looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CopiedFiles {
    /// Copied now.
    pub copied: usize,
    /// In the backup already.
    pub there: usize,
    /// Named by the record, but missing or altered.
    pub lost: usize,
}

impl CopiedFiles {
    /// Copies one file unless it is there; one that cannot be read is counted, not an error.
    fn copy(
        &mut self,
        there: bool,
        read: impl FnOnce() -> Result<Vec<u8>, RecordError>,
        keep: impl FnOnce(&[u8]) -> Result<String, RecordError>,
    ) -> Result<(), RecordError> {
        if there {
            self.there += 1;
            return Ok(());
        }
        match read() {
            Ok(bytes) => {
                keep(&bytes)?;
                self.copied += 1;
            }
            Err(_) => self.lost += 1,
        }
        Ok(())
    }
}

/// A copy of the record inside the workshop's folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordCopy {
    /// When it was made.
    pub made_at: Timestamp,
    /// Where it lies.
    pub path: PathBuf,
    /// Its size.
    pub bytes: u64,
    /// True for the day's own copy; one made by hand is never thinned out.
    pub automatic: bool,
}

impl Workshop {
    /// Copies the record into the workshop's own folder of copies, which is kept until somebody removes it; the copy is
    /// verified before it takes its name. The takes and photographs are not copied: they lie in the same folder.
    ///
    /// # Errors
    /// `disk_full`, `not_writable`, `damaged` if the copy is not sound.
    pub fn copy_now(&self, at: Timestamp) -> Result<RecordCopy, RecordError> {
        let folder = self.folder().join(BACKUP_FOLDER);
        fs::create_dir_all(&folder).map_err(|error| RecordError::io(&folder, "made", &error))?;
        let path = folder.join(format!("{BY_HAND}{}.db", stamp(at)));
        copy_record(&self.connection, &path)?;
        let bytes = fs::metadata(&path).map_err(|error| RecordError::io(&path, "read", &error))?.len();
        Ok(RecordCopy { made_at: at, path, bytes, automatic: false })
    }

    /// The copies in the workshop's own folder, newest first.
    pub fn copies(&self) -> Vec<RecordCopy> {
        let folder = self.folder().join(BACKUP_FOLDER);
        let of = |prefix: &str| {
            let copies = copies_named(&folder, prefix).into_iter();
            let bytes = |path: &Path| fs::metadata(path).map_or(0, |metadata| metadata.len());
            let automatic = prefix == AUTOMATIC;
            copies
                .map(|(made_at, path)| RecordCopy { made_at, bytes: bytes(&path), path, automatic })
                .collect::<Vec<_>>()
        };
        let mut all = of(AUTOMATIC);
        all.extend(of(BY_HAND));
        all.sort_by_key(|copy| std::cmp::Reverse(copy.made_at));
        all
    }

    /// Copies the whole workshop into `folder` while it may be in use; takes and photographs that are there already stay.
    ///
    /// The copy is verified before it takes its name; an older copy of the record in that folder is replaced only then.
    ///
    /// # Errors
    /// `same_folder`, `disk_full`, `not_writable`, `damaged` if the copy is not sound.
    pub fn backup(&self, folder: &Path) -> Result<BackupReport, RecordError> {
        fs::create_dir_all(folder).map_err(|error| RecordError::io(folder, "made", &error))?;
        if fs::canonicalize(folder).ok() == fs::canonicalize(self.folder()).ok() {
            let message = format!("{} is the workshop itself.", folder.display());
            return Err(RecordError::new("same_folder", message, "Give a folder on another disk."));
        }
        let (mut takes, mut photos) = (CopiedFiles::default(), CopiedFiles::default());
        // Files first: a record must not name sound or pictures that its copy does not have.
        let (from, to) = (self.takes(), Takes::in_folder(folder));
        for take in self.take_names()? {
            takes.copy(to.read(&take).is_ok(), || from.read(&take), |bytes| to.keep(bytes))?;
        }
        let (from, to) = (self.photos(), Photos::in_folder(folder));
        for photo in self.photo_names()? {
            let there = to.read(&photo.sha256, photo.format).is_ok();
            let read = || from.read(&photo.sha256, photo.format);
            photos.copy(there, read, |bytes| to.keep(bytes, photo.format))?;
        }
        let report = BackupReport { record: folder.join(RECORD_FILE), takes, photos };
        copy_record(&self.connection, &report.record)?;
        Ok(report)
    }

    /// Makes the day's automatic copy if it is due, and thins out the old ones; returns the new copy.
    ///
    /// # Errors
    /// `disk_full`, `not_writable`, `damaged`.
    pub fn automatic_backup(&self, at: Timestamp) -> Result<Option<PathBuf>, RecordError> {
        let folder = self.folder().join(BACKUP_FOLDER);
        let mut copies = copies_named(&folder, AUTOMATIC);
        let due = copies.last().is_none_or(|(newest, _)| hours_between(*newest, at).abs() >= AUTOMATIC_EVERY_H);
        if !due {
            return Ok(None);
        }
        fs::create_dir_all(&folder).map_err(|error| RecordError::io(&folder, "made", &error))?;
        let path = folder.join(format!("{AUTOMATIC}{}.db", stamp(at)));
        copy_record(&self.connection, &path)?;
        copies.push((at, path.clone()));
        for old in superfluous(&copies, at) {
            fs::remove_file(&old).map_err(|error| RecordError::io(&old, "removed", &error))?;
        }
        Ok(Some(path))
    }

    /// Names of all takes the record knows.
    pub(crate) fn take_names(&self) -> Result<Vec<String>, RecordError> {
        let mut query = self.connection.prepare_cached("SELECT sha256 FROM take ORDER BY sha256")?;
        let names = query.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
        Ok(names)
    }
}

/// Looks whether a copy of the record is sound, without changing it; returns the number of events in it.
///
/// # Errors
/// `not_found`, `not_a_workshop`, `damaged`.
pub fn check_copy(path: &Path) -> Result<u64, RecordError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags)?;
    let id: i32 = connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
    if id != APPLICATION_ID {
        let message = format!("{} is no copy of a workshop's record.", path.display());
        return Err(RecordError::new("not_a_workshop", message, "Make a new copy."));
    }
    let verdict: String = connection.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    if verdict != "ok" {
        return Err(RecordError::damaged(format!("pages that are not sound ({verdict})")));
    }
    let events: i64 = connection.query_row("SELECT count(*) FROM event", [], |row| row.get(0))?;
    Ok(u64::try_from(events).unwrap_or(0))
}

/// Brings a backup back as a new workshop in `folder`, which must not hold one; `from` is a backup's folder or a copy
/// of the record (`*.db`), such as the automatic ones; takes and photographs come along from where they lie beside it.
///
/// # Errors
/// `exists`, `not_found`, `damaged` if the backup is not sound, `disk_full`, `not_writable`.
pub fn restore(from: &Path, folder: &Path) -> Result<(), RecordError> {
    let target = folder.join(RECORD_FILE);
    if target.exists() {
        let message = format!("{} holds a workshop already; it is left as it is.", folder.display());
        return Err(RecordError::new("exists", message, "Restore into a new folder, compare, then choose."));
    }
    let record = if from.is_dir() { from.join(RECORD_FILE) } else { from.to_owned() };
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let read_only = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    if !record.is_file() {
        let message = format!("{} is no backup.", from.display());
        return Err(RecordError::new("not_found", message, "Name the backup's folder or its file *.db."));
    }
    // A backup on a write-protected disk must do too.
    let connection =
        Connection::open_with_flags(&record, flags).or_else(|_| Connection::open_with_flags(&record, read_only))?;
    fs::create_dir_all(folder).map_err(|error| RecordError::io(folder, "made", &error))?;
    let beside = beside(from);
    let (takes, photos) = (Takes::in_folder(folder), Photos::in_folder(folder));
    for path in files_under(&beside.join("takes"), "flac")? {
        takes.keep(&bytes_of(&path)?)?;
    }
    for format in [PhotoFormat::Jpeg, PhotoFormat::Png] {
        for path in files_under(&beside.join("photos"), format.extension())? {
            photos.keep(&bytes_of(&path)?, format)?;
        }
    }
    copy_record(&connection, &target)
}

/// The folder with the takes and photographs that a backup's record names: an automatic copy has the workshop's own.
fn beside(from: &Path) -> PathBuf {
    if from.is_dir() {
        return from.to_owned();
    }
    let folder = from.parent().unwrap_or(Path::new(""));
    let automatic = folder.file_name().is_some_and(|name| name == BACKUP_FOLDER);
    if automatic { folder.join("..") } else { folder.to_owned() }
}

/// Files with that end of their names in the folders of a folder, which need not exist.
fn files_under(folder: &Path, extension: &str) -> Result<Vec<PathBuf>, RecordError> {
    let listing = |folder: &Path| -> Result<Vec<PathBuf>, RecordError> {
        let entries = fs::read_dir(folder).map_err(|error| RecordError::io(folder, "read", &error))?;
        Ok(entries.filter_map(|entry| Some(entry.ok()?.path())).collect())
    };
    let mut files = Vec::new();
    if folder.is_dir() {
        for shelf in listing(folder)?.into_iter().filter(|path| path.is_dir()) {
            files.extend(
                listing(&shelf)?.into_iter().filter(|path| path.extension().is_some_and(|end| end == extension)),
            );
        }
    }
    Ok(files)
}

fn bytes_of(path: &Path) -> Result<Vec<u8>, RecordError> {
    fs::read(path).map_err(|error| RecordError::io(path, "read", &error))
}

/// The copy made before the tables change, named after the version it holds.
pub(crate) fn before_migration(connection: &Connection, folder: &Path, at: Timestamp) -> Result<(), RecordError> {
    let backups = folder.join(BACKUP_FOLDER);
    fs::create_dir_all(&backups).map_err(|error| RecordError::io(&backups, "made", &error))?;
    let version = version(connection)?;
    copy_record(connection, &backups.join(format!("before-change-from-version-{version}-{}.db", stamp(at))))
}

/// Copies the record page by page, checks the copy, flushes it and only then gives it its name.
fn copy_record(from: &Connection, to: &Path) -> Result<(), RecordError> {
    let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let failed = |error: std::io::Error| RecordError::io(to, "saved", &error);
    let copy = tempfile::Builder::new().prefix(".copying-").suffix(".db").tempfile_in(folder).map_err(failed)?;
    let mut connection = Connection::open(copy.path())?;
    Backup::new(from, &mut connection)?.run_to_completion(4096, Duration::ZERO, None)?;
    // A copy is one plain file, without a journal beside it.
    connection.pragma_update(None, "journal_mode", "DELETE")?;
    let verdict: String = connection.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    connection.close().map_err(|(_, error)| error)?;
    if verdict != "ok" {
        return Err(RecordError::damaged(format!("pages that are not sound ({verdict})")));
    }
    copy.as_file().sync_all().map_err(failed)?;
    copy.persist(to).map_err(|error| failed(error.error))?;
    sync_folder(folder)
}

/// The copies whose names begin so, with their times, oldest first.
fn copies_named(folder: &Path, prefix: &str) -> Vec<(Timestamp, PathBuf)> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut copies: Vec<(Timestamp, PathBuf)> = entries
        .filter_map(|entry| {
            let name = entry.file_name().into_string().ok()?;
            let text = name.strip_prefix(prefix)?.strip_suffix(".db")?;
            let at = jiff::civil::DateTime::strptime("%Y%m%dT%H%M%SZ", text).ok()?;
            Some((TimeZone::UTC.to_timestamp(at).ok()?, entry.path()))
        })
        .collect();
    copies.sort();
    copies
}

/// Copies that may go: of those older than a week all but the first of each week, and of those older than two months
/// all but the first of each month.
fn superfluous(copies: &[(Timestamp, PathBuf)], now: Timestamp) -> Vec<PathBuf> {
    let mut kept = HashSet::new();
    let mut old = Vec::new();
    for (at, path) in copies {
        let (age_days, date) = (hours_between(*at, now) / 24, TimeZone::UTC.to_datetime(*at).date());
        let period = match age_days {
            ..KEEP_ALL_DAYS => continue,
            KEEP_ALL_DAYS..KEEP_WEEKLY_DAYS => {
                let week = date.iso_week_date();
                (i32::from(week.year()), 100 + i32::from(week.week()))
            }
            _ => (i32::from(date.year()), i32::from(date.month())),
        };
        if !kept.insert(period) {
            old.push(path.clone());
        }
    }
    old
}

fn hours_between(from: Timestamp, to: Timestamp) -> i64 {
    (to.as_second() - from.as_second()) / 3600
}

fn stamp(at: Timestamp) -> String {
    at.strftime("%Y%m%dT%H%M%SZ").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_year_of_daily_copies_is_thinned_to_a_week_of_days_then_weeks_then_months() {
        let start = Timestamp::from_second(1_700_000_000).unwrap();
        let mut copies: Vec<(Timestamp, PathBuf)> = Vec::new();
        for day in 0..365_i64 {
            let at = Timestamp::from_second(start.as_second() + day * 86_400).unwrap();
            copies.push((at, PathBuf::from(day.to_string())));
            let gone = superfluous(&copies, at);
            copies.retain(|(_, path)| !gone.contains(path));
        }
        // 7 days, about 53/7 weeks, about 305/30 months; each limit may cut a period in two.
        assert!((23..=29).contains(&copies.len()), "{}", copies.len());
        assert!(
            copies
                .iter()
                .rev()
                .take(7)
                .map(|(_, path)| path.to_str().unwrap())
                .eq(["364", "363", "362", "361", "360", "359", "358"])
        );
        assert_eq!(copies[0].1, PathBuf::from("0"), "the first copy of all stays");
    }
}
