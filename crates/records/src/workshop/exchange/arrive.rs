//! Import of an archive.
use super::line::{ARCHIVE_FORMAT, EVENTS, EventLine, MANIFEST, Manifest, PhotoLine, TAKES};
use crate::workshop::error::RecordError;
use crate::workshop::event::{Event, Kind, Uid};
use crate::workshop::open::Workshop;
use crate::workshop::photo::PhotoName;
use crate::workshop::read;
use crate::workshop::takes::name_of;
use crate::workshop::write::Writer;
use std::collections::HashMap;
use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use zip::ZipArchive;

/// What an archive may unpack to; a hostile one must not fill the memory or the disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ArchiveLimits {
    /// The list of events, in bytes.
    pub events: u64,
    /// One event, in bytes.
    pub event: u64,
    /// One take, in bytes.
    pub take: u64,
    /// One photograph, in bytes.
    pub photo: u64,
    /// All takes and photographs together, in bytes.
    pub takes: u64,
}

impl Default for ArchiveLimits {
    /// Ten times a workshop of 400 000 readings; a take of an hour; a photograph of 64 MB; 200 GB together.
    fn default() -> Self {
        Self { events: 4 << 30, event: 16 << 20, take: 1 << 30, photo: 64 << 20, takes: 200 << 30 }
    }
}

/// What an import brought, or would bring.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ArrivalReport {
    /// Things that were not here.
    pub things_new: usize,
    /// Events that were not here.
    pub events_new: usize,
    /// Events that were here already.
    pub events_known: usize,
    /// Takes copied, or that would be.
    pub takes_new: usize,
    /// Photographs copied, or that would be.
    pub photos_new: usize,
    /// Things that went on differently here and there: left as they are here.
    pub diverged: Vec<Uid>,
}

/// How the events of one thing in the archive meet what is here.
enum Meeting {
    /// New here.
    New,
    /// Here already; the next event to compare with.
    Known { events: Vec<Uid>, next: usize },
    /// They went on differently.
    Diverged,
}

impl Workshop {
    /// Brings in what an archive holds: whole, or nothing at all. With `dry_run` nothing is kept and the report says
    /// what would be.
    ///
    /// A thing that is here already takes what the archive has beyond it; if both went on differently it is left as it
    /// is here and named in the report.
    ///
    /// # Errors
    /// `not_an_archive`, `newer_file`, `too_large`, `damaged`, `take_altered`; `label_taken` or `note_taken` if a bar of
    /// the archive claims what another bar has here; `disk_full`, `busy`.
    pub fn import(&mut self, path: &Path, dry_run: bool, limits: ArchiveLimits) -> Result<ArrivalReport, RecordError> {
        let file = File::open(path).map_err(|error| RecordError::io(path, "read", &error))?;
        let mut archive = ZipArchive::new(BufReader::new(file)).map_err(|error| not_an_archive(path, &error))?;
        let manifest = manifest(&mut archive, path)?;
        let mut report = ArrivalReport::default();
        let takes = self.takes();
        let mut room = limits.takes;
        for take in &manifest.takes {
            let place = format!("{TAKES}{}.flac", take.sha256);
            let limit = limits.take.min(room);
            let Some(bytes) = kept_bytes(&mut archive, &place, &take.sha256, limit)? else { continue };
            room -= bytes.len() as u64;
            if takes.read(&take.sha256).is_err() {
                report.takes_new += 1;
                if !dry_run {
                    takes.keep(&bytes)?;
                }
            }
        }
        let photos = self.photos();
        for photo in &manifest.photos {
            let limit = limits.photo.min(room);
            let Some(bytes) = kept_bytes(&mut archive, &photo.place(), &photo.sha256, limit)? else { continue };
            room -= bytes.len() as u64;
            if photos.read(&photo.sha256, photo.format).is_err() {
                report.photos_new += 1;
                if !dry_run {
                    photos.keep(&bytes, photo.format)?;
                }
            }
        }
        let events = archive.by_name(EVENTS).map_err(|error| not_an_archive(path, &error))?;
        let done = self.write(|step| {
            for take in &manifest.takes {
                step.take_kept(&take.sha256, usize::try_from(take.bytes).unwrap_or(0), take.rate_hz, take.seconds)?;
            }
            for PhotoLine { sha256, format, bytes } in manifest.photos {
                step.photo_kept(&PhotoName { sha256, format, bytes })?;
            }
            bring(step, events, limits, &mut report)?;
            if dry_run { Err(RecordError::new("dry_run", "", "")) } else { Ok(()) }
        });
        match done {
            Err(error) if error.code != "dry_run" => Err(error),
            _ => Ok(report),
        }
    }
}

fn bring(
    step: &Writer<'_>,
    events: impl Read,
    limits: ArchiveLimits,
    report: &mut ArrivalReport,
) -> Result<(), RecordError> {
    let mut meetings: HashMap<Uid, Meeting> = HashMap::new();
    let mut changed: Vec<(Uid, Kind)> = Vec::new();
    let mut lines = BufReader::new(events.take(limits.events));
    let mut number = 0;
    while let Some(line) = next_line(&mut lines, limits.event)? {
        number += 1;
        let line: EventLine = serde_json::from_str(&line)
            .map_err(|error| RecordError::damaged(format!("line {number} of {EVENTS} ({error})")))?;
        let meeting = match meetings.entry(line.thing) {
            std::collections::hash_map::Entry::Occupied(known) => known.into_mut(),
            std::collections::hash_map::Entry::Vacant(first) => first.insert(meet(step, line.thing, report)?),
        };
        if !meeting.goes_on_with(line.event, report) {
            continue;
        }
        if changed.iter().all(|(thing, _)| *thing != line.thing) {
            changed.push((line.thing, line.kind));
        }
        report.events_new += 1;
        let event = Event { number: 0, uid: line.event, at: line.at, entry: line.entry };
        step.put_unsettled(line.thing, line.kind, &event)?;
    }
    report.diverged = meetings.iter().filter(|(_, m)| matches!(m, Meeting::Diverged)).map(|(uid, _)| *uid).collect();
    report.diverged.sort();
    // Only whole histories make sense: every changed thing is followed and checked once, at the end.
    changed.into_iter().try_for_each(|(thing, kind)| step.settle(thing, kind))
}

fn meet(step: &Writer<'_>, thing: Uid, report: &mut ArrivalReport) -> Result<Meeting, RecordError> {
    let here = read::history_or_empty(step.connection(), thing)?;
    if here.events().is_empty() {
        report.things_new += 1;
        return Ok(Meeting::New);
    }
    Ok(Meeting::Known { events: here.events().iter().map(|event| event.uid).collect(), next: 0 })
}

impl Meeting {
    /// True if the event is new here and follows what is here.
    fn goes_on_with(&mut self, event: Uid, report: &mut ArrivalReport) -> bool {
        match self {
            Self::New => true,
            Self::Diverged => false,
            Self::Known { events, next } if *next < events.len() => {
                if events[*next] == event {
                    *next += 1;
                    report.events_known += 1;
                } else {
                    *self = Self::Diverged;
                }
                false
            }
            Self::Known { .. } => true,
        }
    }
}

fn next_line(lines: &mut impl BufRead, limit: u64) -> Result<Option<String>, RecordError> {
    let mut line = String::new();
    let read = lines.take(limit).read_line(&mut line);
    let length = read.map_err(|error| RecordError::damaged(format!("events that cannot be read ({error})")))?;
    if length as u64 == limit {
        let message = format!("An event in the archive is longer than {limit} bytes.");
        return Err(RecordError::new("too_large", message, "The archive is damaged or not ours; nothing was changed."));
    }
    Ok((length > 0).then_some(line))
}

fn manifest(archive: &mut ZipArchive<BufReader<File>>, path: &Path) -> Result<Manifest, RecordError> {
    let file = archive.by_name(MANIFEST).map_err(|error| not_an_archive(path, &error))?;
    // A list of 400 000 takes has about 60 MB.
    let value: serde_json::Value = serde_json::from_reader(file.take(1 << 30))
        .map_err(|error| RecordError::damaged(format!("a {MANIFEST} that cannot be read ({error})")))?;
    let format = value.get("format").and_then(serde_json::Value::as_str).unwrap_or("");
    if format != ARCHIVE_FORMAT {
        return Err(RecordError::new(
            "newer_file",
            format!("The archive says it is \"{format}\"; this program reads \"{ARCHIVE_FORMAT}\"."),
            "Install the newer program on this computer, or export again with this version.",
        ));
    }
    serde_json::from_value(value).map_err(|error| RecordError::damaged(format!("a {MANIFEST} that is odd ({error})")))
}

/// The bytes of a take or a photograph, if the archive has it; its name proves them.
fn kept_bytes(
    archive: &mut ZipArchive<BufReader<File>>,
    place: &str,
    sha256: &str,
    limit: u64,
) -> Result<Option<Vec<u8>>, RecordError> {
    let Ok(file) = archive.by_name(place) else { return Ok(None) };
    let mut bytes = Vec::new();
    let read = file.take(limit + 1).read_to_end(&mut bytes);
    read.map_err(|error| RecordError::damaged(format!("{place}, which cannot be unpacked ({error})")))?;
    if bytes.len() as u64 > limit {
        let message = format!("{place} unpacks to more than {limit} bytes.");
        return Err(RecordError::new("too_large", message, "The archive is damaged or not ours; nothing was changed."));
    }
    if name_of(&bytes) != sha256 {
        let message = format!("{place} in the archive was altered.");
        return Err(RecordError::new("take_altered", message, "Export again from the workshop it came from."));
    }
    Ok(Some(bytes))
}

#[allow(clippy::needless_pass_by_value, reason = "the shape that map_err wants")]
fn not_an_archive(path: &Path, error: &zip::result::ZipError) -> RecordError {
    let message = format!("{} is no workshop's archive ({error}).", path.display());
    RecordError::new("not_an_archive", message, "Give a file that `barwright export` wrote.")
}
