//! The lines and the manifest of an archive. The words here are a file format: they are never renamed.
use crate::workshop::event::{Entry, Kind, Uid};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// Kind and version of an archive.
pub(crate) const ARCHIVE_FORMAT: &str = "barwright-workshop/1";
pub(crate) const MANIFEST: &str = "manifest.json";
pub(crate) const EVENTS: &str = "events.jsonl";
pub(crate) const TAKES: &str = "takes/";

/// What the archive is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Manifest {
    pub(crate) format: String,
    pub(crate) exported_at: Timestamp,
    pub(crate) things: usize,
    pub(crate) events: usize,
    pub(crate) takes: Vec<TakeLine>,
}

/// A take: its name, and what a list needs to know without opening it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct TakeLine {
    pub(crate) sha256: String,
    pub(crate) bytes: u64,
    pub(crate) rate_hz: u32,
    pub(crate) seconds: f64,
}

/// One event.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct EventLine {
    pub(crate) thing: Uid,
    pub(crate) kind: Kind,
    pub(crate) event: Uid,
    pub(crate) at: Timestamp,
    pub(crate) entry: Entry,
}
