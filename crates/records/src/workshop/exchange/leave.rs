//! Export.
use super::line::{ARCHIVE_FORMAT, EVENTS, EventLine, MANIFEST, Manifest, PhotoLine, TAKES, TakeLine};
use super::{schema, tables};
use crate::workshop::error::RecordError;
use crate::workshop::event::Kind;
use crate::workshop::open::Workshop;
use crate::workshop::photo::PhotoName;
use crate::workshop::read;
use crate::workshop::takes::sync_folder;
use jiff::Timestamp;
use std::fs::File;
use std::io::{BufWriter, Seek, Write};
use std::path::Path;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

const README: &str = "This is a barwright workshop, complete.

manifest.json   what this archive is, and the list of takes
events.jsonl    all that happened, one JSON object a line, in the order it was entered
bars.csv        the bars as they stood when this was exported
readings.csv    every reading that stands
cuts.csv        every band of wood that was taken off
takes/          the recordings, as FLAC, named by the SHA-256 of their bytes
photos/         the photographs as they came from the camera, named likewise
*.schema.json   JSON Schemas of manifest.json and of a line of events.jsonl

Lengths are in millimetres, masses in grams, frequencies in hertz, temperatures in degrees Celsius, times in UTC.
`barwright import` brings it back without loss; any program that reads JSON, CSV and FLAC can read it.
";

/// What an export wrote.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ExportReport {
    /// Bars, instruments, boards, people, tools.
    pub things: usize,
    /// Events.
    pub events: usize,
    /// Takes whose sound is in the archive.
    pub takes: usize,
    /// Takes that the record names but whose sound is missing or altered.
    pub takes_lost: usize,
    /// Photographs written.
    pub photos: usize,
    /// Photographs that are missing or altered.
    pub photos_lost: usize,
}

impl Workshop {
    /// Writes everything into a new archive; `progress` is told (events done, of all).
    ///
    /// # Errors
    /// `exists` if there is a file of that name; `disk_full`, `not_writable`, `damaged`. Nothing half-written stays.
    pub fn export(
        &self,
        path: &Path,
        at: Timestamp,
        progress: impl FnMut(usize, usize),
    ) -> Result<ExportReport, RecordError> {
        if path.exists() {
            let message = format!("{} exists already; it is left as it is.", path.display());
            return Err(RecordError::new("exists", message, "Give another name, or move the old file away."));
        }
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let failed = |error: std::io::Error| RecordError::io(path, "written", &error);
        let mut file = tempfile::Builder::new().prefix(".exporting-").tempfile_in(folder).map_err(failed)?;
        // One reading transaction: the archive is of one moment, whoever is writing meanwhile.
        let moment = self.connection.unchecked_transaction()?;
        let report = self.fill(file.as_file_mut(), path, at, progress);
        moment.rollback()?;
        let report = report?;
        file.as_file().sync_all().map_err(failed)?;
        file.persist_noclobber(path).map_err(|error| failed(error.error))?;
        sync_folder(folder)?;
        Ok(report)
    }

    fn fill(
        &self,
        file: &mut File,
        path: &Path,
        at: Timestamp,
        progress: impl FnMut(usize, usize),
    ) -> Result<ExportReport, RecordError> {
        let failed = |error: std::io::Error| RecordError::io(path, "written", &error);
        let zip_failed = |error: zip::result::ZipError| failed(error.into());
        let text = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated).large_file(true);
        // FLAC, JPEG and PNG are compressed already.
        let sound = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
        let mut archive = ZipWriter::new(BufWriter::new(file));
        archive.start_file("README.txt", text).map_err(zip_failed)?;
        archive.write_all(README.as_bytes()).map_err(failed)?;
        let schemas = [
            (schema::MANIFEST_SCHEMA, schema::manifest_schema_text()),
            (schema::EVENTS_SCHEMA, schema::event_schema_text()),
        ];
        for (name, words) in schemas {
            archive.start_file(name, text).map_err(zip_failed)?;
            archive.write_all(words.as_bytes()).map_err(failed)?;
        }
        let takes = self.take_lines()?;
        let photos = self.photo_lines()?;
        let (things, events) = (self.things()?.len(), self.count_events()?);
        let mut report = ExportReport { things, events, ..ExportReport::default() };
        archive.start_file(MANIFEST, text).map_err(zip_failed)?;
        let manifest = Manifest {
            format: ARCHIVE_FORMAT.to_owned(),
            exported_at: at,
            things: report.things,
            events: report.events,
            takes: takes.clone(),
            photos: photos.clone(),
        };
        serde_json::to_writer_pretty(&mut archive, &manifest).map_err(|error| failed(error.into()))?;
        archive.start_file(EVENTS, text).map_err(zip_failed)?;
        self.write_events(&mut archive, report.events, path, progress)?;
        for (name, table) in tables::ALL {
            archive.start_file(name, text).map_err(zip_failed)?;
            table(self, &mut archive)?;
        }
        for photo in &photos {
            match self.photos().read(&photo.sha256, photo.format) {
                Ok(bytes) => {
                    archive.start_file(photo.place(), sound).map_err(zip_failed)?;
                    archive.write_all(&bytes).map_err(failed)?;
                    report.photos += 1;
                }
                Err(_) => report.photos_lost += 1,
            }
        }
        for take in &takes {
            match self.takes().read(&take.sha256) {
                Ok(bytes) => {
                    archive.start_file(format!("{TAKES}{}.flac", take.sha256), sound).map_err(zip_failed)?;
                    archive.write_all(&bytes).map_err(failed)?;
                    report.takes += 1;
                }
                Err(_) => report.takes_lost += 1,
            }
        }
        archive.finish().map_err(zip_failed)?.flush().map_err(failed)?;
        Ok(report)
    }

    fn write_events(
        &self,
        archive: &mut ZipWriter<impl Write + Seek>,
        all: usize,
        path: &Path,
        mut progress: impl FnMut(usize, usize),
    ) -> Result<(), RecordError> {
        let failed = |error: std::io::Error| RecordError::io(path, "written", &error);
        let sql = "SELECT event.id, event.uid, at_ms, body, thing.uid, thing.kind
            FROM event JOIN thing ON thing.id = event.thing ORDER BY event.id";
        let mut query = self.connection.prepare_cached(sql)?;
        let mut rows = query.query([])?;
        let mut done = 0;
        while let Some(row) = rows.next()? {
            let event = read::event(row)?;
            let (thing, kind): (String, String) = (row.get(4)?, row.get(5)?);
            let line = EventLine {
                thing: thing.parse()?,
                kind: Kind::from_word(&kind)?,
                event: event.uid,
                at: event.at,
                entry: event.entry,
            };
            serde_json::to_writer(&mut *archive, &line).map_err(|error| failed(error.into()))?;
            archive.write_all(b"\n").map_err(failed)?;
            done += 1;
            progress(done, all);
        }
        Ok(())
    }

    pub(crate) fn count_events(&self) -> Result<usize, RecordError> {
        let count: i64 = self.connection.query_row("SELECT count(*) FROM event", [], |row| row.get(0))?;
        Ok(usize::try_from(count).unwrap_or(0))
    }

    fn photo_lines(&self) -> Result<Vec<PhotoLine>, RecordError> {
        let line = |photo: PhotoName| PhotoLine { sha256: photo.sha256, format: photo.format, bytes: photo.bytes };
        Ok(self.photo_names()?.into_iter().map(line).collect())
    }

    fn take_lines(&self) -> Result<Vec<TakeLine>, RecordError> {
        let sql = "SELECT sha256, bytes, rate_hz, seconds FROM take ORDER BY sha256";
        let mut query = self.connection.prepare_cached(sql)?;
        let line = |row: &rusqlite::Row<'_>| -> rusqlite::Result<TakeLine> {
            let bytes: i64 = row.get(1)?;
            Ok(TakeLine {
                sha256: row.get(0)?,
                bytes: bytes.unsigned_abs(),
                rate_hz: row.get(2)?,
                seconds: row.get(3)?,
            })
        };
        Ok(query.query_map([], line)?.collect::<Result<_, _>>()?)
    }
}
