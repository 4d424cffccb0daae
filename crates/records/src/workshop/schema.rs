//! The tables and how they grew: each step leads from one version of the file to the next, never back.
use rusqlite_migration::{M, Migrations};

/// Marks the file as a workshop's record in its header ("BWRK"), so that it is told from other databases.
pub(crate) const APPLICATION_ID: i32 = 0x4257_524b;

/// Every step so far; a step that has shipped is never changed.
pub(crate) const STEPS: &[&str] = &[VERSION_1, VERSION_2, VERSION_3];

/// Version 1: things, their events, their takes, and the present state that follows from the events.
const VERSION_1: &str = "
CREATE TABLE thing (
    id      INTEGER PRIMARY KEY,
    uid     TEXT    NOT NULL UNIQUE,
    kind    TEXT    NOT NULL CHECK (kind IN ('workshop','instrument','board','bar','person','tool'))
) STRICT;

CREATE TABLE event (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    uid     TEXT    NOT NULL UNIQUE,
    thing   INTEGER NOT NULL REFERENCES thing (id),
    at_ms   INTEGER NOT NULL,
    kind    TEXT    NOT NULL,
    body    TEXT    NOT NULL CHECK (json_valid(body))
) STRICT;
CREATE INDEX event_of_thing ON event (thing, id);

CREATE TRIGGER events_are_never_changed BEFORE UPDATE ON event
BEGIN SELECT raise(ABORT, 'events are never changed'); END;
CREATE TRIGGER events_are_never_removed BEFORE DELETE ON event
BEGIN SELECT raise(ABORT, 'events are never removed'); END;

CREATE TABLE take (
    sha256  TEXT    PRIMARY KEY,
    bytes   INTEGER NOT NULL,
    rate_hz INTEGER NOT NULL,
    seconds REAL    NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE event_take (
    event   INTEGER NOT NULL REFERENCES event (id),
    sha256  TEXT    NOT NULL REFERENCES take (sha256),
    PRIMARY KEY (event, sha256)
) STRICT, WITHOUT ROWID;

CREATE TABLE thing_now (
    thing   INTEGER PRIMARY KEY REFERENCES thing (id),
    name    TEXT    NOT NULL,
    body    TEXT    NOT NULL,
    gone    INTEGER NOT NULL
) STRICT;

CREATE TABLE bar_now (
    bar              INTEGER PRIMARY KEY REFERENCES thing (id),
    label            TEXT    NOT NULL,
    instrument       INTEGER REFERENCES thing (id),
    note             TEXT,
    semitone         INTEGER,
    stage            TEXT    NOT NULL,
    heard_at_ms      INTEGER,
    worked_at_ms     INTEGER,
    heard_after_work INTEGER NOT NULL,
    heard_c          REAL,
    cents_1          REAL,
    cents_2          REAL,
    cents_3          REAL,
    sigma_cents      REAL,
    centre_mm        REAL    NOT NULL,
    last_event       INTEGER NOT NULL REFERENCES event (id)
) STRICT;
CREATE INDEX bar_by_instrument ON bar_now (instrument, semitone);
CREATE INDEX bar_by_label ON bar_now (label COLLATE NOCASE);
CREATE INDEX bar_by_stage ON bar_now (stage, instrument);
";

/// Version 2: the photographs that salt tests were read from.
const VERSION_2: &str = "
CREATE TABLE photo (
    sha256  TEXT    PRIMARY KEY,
    format  TEXT    NOT NULL CHECK (format IN ('jpeg','png')),
    bytes   INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE event_photo (
    event   INTEGER NOT NULL REFERENCES event (id),
    sha256  TEXT    NOT NULL REFERENCES photo (sha256),
    PRIMARY KEY (event, sha256)
) STRICT, WITHOUT ROWID;
";

/// Version 3: certificates among the events. No table changes; an earlier program would not understand such an event, and must refuse the file in words.
const VERSION_3: &str = "-- certificates among the events";

pub(crate) fn migrations(steps: &[&'static str]) -> Migrations<'static> {
    Migrations::new(steps.iter().map(|sql| M::up(sql)).collect())
}
