//! The lines and the manifest of an archive. The words here are a file format: they are never renamed.
use crate::workshop::event::{Entry, Kind, Uid};
use crate::workshop::photo::PhotoFormat;
use jiff::Timestamp;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Kind and version of an archive.
pub(crate) const ARCHIVE_FORMAT: &str = "barwright-workshop/1";
pub(crate) const MANIFEST: &str = "manifest.json";
pub(crate) const EVENTS: &str = "events.jsonl";
pub(crate) const TAKES: &str = "takes/";
pub(crate) const PHOTOS: &str = "photos/";

/// What the archive is: manifest.json.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Manifest {
    /// Kind and version of the archive: barwright-workshop/1.
    #[schemars(extend("const" = ARCHIVE_FORMAT))]
    pub(crate) format: String,
    /// When it was written (RFC 3339, UTC).
    #[schemars(with = "String", extend("format" = "date-time"))]
    pub(crate) exported_at: Timestamp,
    /// How many bars, instruments, boards, people and tools it holds.
    pub(crate) things: usize,
    /// How many lines events.jsonl has.
    pub(crate) events: usize,
    /// The takes, each as takes/SHA256.flac unless its sound was lost.
    pub(crate) takes: Vec<TakeLine>,
    /// The photographs, each as photos/SHA256.jpg or .png unless it was lost.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(crate) photos: Vec<PhotoLine>,
}

/// A photograph: its name, and what a list needs to know without opening it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct PhotoLine {
    /// SHA-256 of the file, in small hexadecimal figures.
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"))]
    pub(crate) sha256: String,
    /// How it is kept.
    pub(crate) format: PhotoFormat,
    /// Length of the file.
    pub(crate) bytes: u64,
}

impl PhotoLine {
    /// Its place in the archive.
    pub(crate) fn place(&self) -> String {
        format!("{PHOTOS}{}.{}", self.sha256, self.format.extension())
    }
}

/// A take: its name, and what a list needs to know without opening it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct TakeLine {
    /// SHA-256 of the FLAC file, in small hexadecimal figures.
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"))]
    pub(crate) sha256: String,
    /// Length of the FLAC file.
    pub(crate) bytes: u64,
    /// Sampling rate.
    pub(crate) rate_hz: u32,
    /// Length of the sound.
    pub(crate) seconds: f64,
}

/// One event: a line of events.jsonl.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct EventLine {
    /// What it happened to.
    pub(crate) thing: Uid,
    /// What that is.
    pub(crate) kind: Kind,
    /// Name of the event.
    pub(crate) event: Uid,
    /// When it was entered (RFC 3339, UTC).
    #[schemars(with = "String", extend("format" = "date-time"))]
    pub(crate) at: Timestamp,
    /// What happened, and what surrounds it.
    pub(crate) entry: Entry,
}
