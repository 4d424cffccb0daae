//! Is the record sound? The database's own checks, then what must hold between the events.
use super::bar::BarState;
use super::error::RecordError;
use super::event::{Kind, Uid};
use super::open::Workshop;
use super::project;
use super::read;
use rusqlite::Connection;

/// What a check found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CheckReport {
    /// Things looked at: bars, instruments, boards, people, tools.
    pub things: usize,
    /// Events followed.
    pub events: usize,
    /// Takes whose sound was read.
    pub takes: usize,
    /// Photographs whose files were read.
    pub photos: usize,
    /// What is wrong, in words; empty if the record is sound.
    pub problems: Vec<String>,
}

impl CheckReport {
    /// True if nothing is wrong.
    pub fn sound(&self) -> bool {
        self.problems.is_empty()
    }
}

impl Workshop {
    /// Checks the whole record: SQLite's own integrity and foreign-key checks, every history, the present state against
    /// the histories, and the file of every take and photograph; `progress` is told (done, of all).
    ///
    /// # Errors
    /// [`RecordError`] only if the file cannot be read at all; what is wrong is in the report.
    pub fn check(&self, mut progress: impl FnMut(usize, usize)) -> Result<CheckReport, RecordError> {
        let mut report = CheckReport::default();
        database_checks(&self.connection, &mut report)?;
        let things = self.things()?;
        let takes = self.take_names()?;
        let photos = self.photo_names()?;
        let all = things.len() + takes.len() + photos.len();
        for (row, uid, kind) in things {
            match self.check_thing(row, uid, kind) {
                Ok(events) => report.events += events,
                Err(problem) => report.problems.push(format!("{} {uid}: {problem}", kind.word())),
            }
            report.things += 1;
            progress(report.things, all);
        }
        for take in takes {
            if let Err(problem) = self.takes().read(&take) {
                report.problems.push(problem.message);
            }
            report.takes += 1;
            progress(report.things + report.takes, all);
        }
        for photo in photos {
            if let Err(problem) = self.photos().read(&photo.sha256, photo.format) {
                report.problems.push(problem.message);
            }
            report.photos += 1;
            progress(report.things + report.takes + report.photos, all);
        }
        Ok(report)
    }

    pub(crate) fn things(&self) -> Result<Vec<(i64, Uid, Kind)>, RecordError> {
        let mut query = self.connection.prepare_cached("SELECT id, uid, kind FROM thing ORDER BY id")?;
        let mut rows = query.query([])?;
        let mut things = Vec::new();
        while let Some(row) = rows.next()? {
            let (uid, kind): (String, String) = (row.get(1)?, row.get(2)?);
            things.push((row.get(0)?, uid.parse()?, Kind::from_word(&kind)?));
        }
        Ok(things)
    }

    /// Follows one history and compares the present state with what it should be.
    fn check_thing(&self, row: i64, uid: Uid, kind: Kind) -> Result<usize, RecordError> {
        let history = read::history(&self.connection, uid)?;
        if let Some(event) = history.events().iter().find(|event| !event.entry.what.belongs_to(kind)) {
            return Err(RecordError::damaged(format!("\"{}\" for a {}", event.entry.what.word(), kind.word())));
        }
        let last = history.events().last().map_or(0, |event| event.number);
        let (table, key) = if kind == Kind::Bar { ("bar_now", "bar") } else { ("thing_now", "thing") };
        let before = present(&self.connection, table, key, row)?;
        // Written anew inside a step that is never kept, then compared.
        self.connection.execute_batch("SAVEPOINT compare")?;
        let written = if kind == Kind::Bar {
            BarState::of(&history).and_then(|state| project::bar(&self.connection, row, &state, last))
        } else {
            project::thing(&self.connection, row, &history)
        };
        let after = written.and_then(|()| present(&self.connection, table, key, row));
        self.connection.execute_batch("ROLLBACK TO compare; RELEASE compare")?;
        if before == after? {
            Ok(history.events().len())
        } else {
            Err(RecordError::damaged("a present state that does not follow from the history"))
        }
    }
}

/// A row of a table as text.
fn present(connection: &Connection, table: &str, key: &str, row: i64) -> Result<Vec<String>, RecordError> {
    let mut query = connection.prepare_cached(&format!("SELECT * FROM {table} WHERE {key} = ?1"))?;
    let columns = query.column_count();
    let mut rows = query.query([row])?;
    let Some(found) = rows.next()? else { return Err(RecordError::damaged("a thing without a present state")) };
    (0..columns).map(|column| Ok(format!("{:?}", found.get_ref(column)?))).collect()
}

fn database_checks(connection: &Connection, report: &mut CheckReport) -> Result<(), RecordError> {
    let mut query = connection.prepare("PRAGMA integrity_check")?;
    let lines: Vec<String> = query.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    report.problems.extend(lines.into_iter().filter(|line| line != "ok"));
    let mut query = connection.prepare("PRAGMA foreign_key_check")?;
    let tables: Vec<String> = query.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    report.problems.extend(tables.into_iter().map(|table| format!("A line of {table} names something that is gone.")));
    Ok(())
}
