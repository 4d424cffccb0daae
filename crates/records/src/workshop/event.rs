//! One thing that happened, as it is kept for ever.
use super::body::Body;
use super::error::RecordError;
use jiff::Timestamp;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;

/// Name of a thing or an event that no other one on any machine has (a random UUID, RFC 9562 version 4).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Uid(uuid::Uuid);

impl Uid {
    /// A new name.
    pub fn fresh() -> Self {
        Self(uuid::Uuid::new_v4())
    }
}

impl JsonSchema for Uid {
    fn schema_name() -> Cow<'static, str> {
        "Uid".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let description = "Name that no other thing or event on any machine has (RFC 9562, version 4).";
        json_schema!({ "type": "string", "format": "uuid", "description": description })
    }
}

impl fmt::Display for Uid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for Uid {
    type Err = RecordError;

    fn from_str(text: &str) -> Result<Self, RecordError> {
        text.parse().map(Self).map_err(|_| RecordError::damaged(format!("\"{text}\" as a name")))
    }
}

/// What something is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// The workshop itself: its name, settings and climate.
    Workshop,
    /// An instrument ordered.
    Instrument,
    /// A board of wood.
    Board,
    /// A bar, from blank to delivery; also a reference bar.
    Bar,
    /// Somebody who works here.
    Person,
    /// A belt, a drum or another tool.
    Tool,
}

impl Kind {
    /// The word in the record.
    pub fn word(self) -> &'static str {
        match self {
            Self::Workshop => "workshop",
            Self::Instrument => "instrument",
            Self::Board => "board",
            Self::Bar => "bar",
            Self::Person => "person",
            Self::Tool => "tool",
        }
    }

    pub(crate) fn from_word(word: &str) -> Result<Self, RecordError> {
        [Self::Workshop, Self::Instrument, Self::Board, Self::Bar, Self::Person, Self::Tool]
            .into_iter()
            .find(|kind| kind.word() == word)
            .ok_or_else(|| RecordError::damaged(format!("a thing of kind \"{word}\"")))
    }
}

/// Air in the workshop when something was done.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Climate {
    /// Temperature, in degrees Celsius.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_c: Option<f64>,
    /// Relative humidity, in percent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub humidity_pct: Option<f64>,
}

/// Everything about an event but its name, its time and what it is about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// What happened.
    pub what: Body,
    /// Who did it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<Uid>,
    /// The belt or tool it was done with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub with: Option<Uid>,
    /// The air at that time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub climate: Option<Climate>,
    /// Values as they were written, by the name of the value, e.g. `thickness_mm` → `7/8`.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub entered: BTreeMap<String, String>,
}

impl From<Body> for Entry {
    fn from(what: Body) -> Self {
        Self { what, by: None, with: None, climate: None, entered: BTreeMap::new() }
    }
}

/// An event of the record.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Place in the record, rising.
    pub number: i64,
    /// Its name.
    pub uid: Uid,
    /// When it was entered.
    pub at: Timestamp,
    /// The rest.
    pub entry: Entry,
}
