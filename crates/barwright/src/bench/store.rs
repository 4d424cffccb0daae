//! Where a bench keeps its bar: nowhere, in a bar file, or in the workshop's record.
use crate::convert;
use crate::error::Refused;
use crate::kept_take::{self, Kept};
use crate::learnt_hand::{self, Teachers};
use crate::report;
use jiff::Timestamp;
use records::workshop::{BarState, Body, Entry, History, Stage, Uid, Workshop};
use records::{BarFile, HandRecord, HeardRecord, LogEntry};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::Reading;

/// The record that all benches of one program share; each use is short.
pub type SharedWorkshop = Arc<Mutex<Workshop>>;

/// Where changes go.
#[derive(Debug)]
pub(super) enum Store {
    /// Nowhere: an exercise, a test.
    Memory,
    /// Into a bar file, written over as a whole.
    File(Box<OnDisk>),
    /// Into the record, as events.
    Record(Box<InRecord>),
}

/// A bar file, as it was last read or written.
#[derive(Debug)]
pub(super) struct OnDisk {
    pub(super) path: PathBuf,
    pub(super) saved: BarFile,
}

/// One bar of the record, as it was last read.
#[derive(Debug)]
pub(super) struct InRecord {
    workshop: SharedWorkshop,
    uid: Uid,
    /// Number of its last event.
    pub(super) last_event: i64,
    pub(super) about: About,
    undo: Option<(Uid, String)>,
    redo: Option<String>,
    /// The earlier bars that tell of the hand, and what they tell.
    teachers: Teachers,
    hand: Option<HandRecord>,
}

/// What the record knows of a bar besides what a bar file can say.
#[derive(Debug, Clone, PartialEq)]
pub struct About {
    /// Label on its end grain.
    pub label: String,
    /// Name of the instrument it serves.
    pub instrument: Option<String>,
    /// Where it stands in the order of the work.
    pub stage: Stage,
    /// When it was last heard.
    pub heard_at: Option<Timestamp>,
    /// Temperature at the last reading, in degrees Celsius.
    pub heard_c: Option<f64>,
    /// When wood was last taken off.
    pub worked_at: Option<Timestamp>,
    /// True if the last reading is younger than the last cut.
    pub heard_after_work: bool,
}

/// A reading that was entered, so that a later blow of the same bout can correct it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entered(pub(super) EnteredAs);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum EnteredAs {
    /// Place in the log of a bar file.
    Place(usize),
    /// Name of the event in the record.
    Event(Uid),
}

/// The lock, even if a thread failed while it held it: each step is written whole or not at all.
pub fn hold(workshop: &SharedWorkshop) -> MutexGuard<'_, Workshop> {
    workshop.lock().unwrap_or_else(PoisonError::into_inner)
}

impl InRecord {
    /// Reads a bar from the record.
    pub(super) fn open(workshop: SharedWorkshop, uid: Uid) -> Result<(Self, BarFile), Refused> {
        let (history, state, about, teachers) = {
            let workshop = hold(&workshop);
            let history = workshop.history(uid)?;
            let (state, about) = read(&workshop, uid, &history)?;
            (history, state, about, Teachers::of(&workshop, uid)?)
        };
        let (undo, redo) = steps(&history);
        // Without the lock: it follows the earlier bars through all their cuts.
        let hand = teachers.hand();
        let file = learnt_hand::with(state.file, hand.as_ref())?;
        Ok((Self { workshop, uid, last_event: last_event(&history), about, undo, redo, teachers, hand }, file))
    }

    /// Reads the bar anew if something happened to it elsewhere; `None` if nothing did.
    pub(super) fn refresh(&mut self) -> Result<Option<BarFile>, Refused> {
        let workshop = hold(&self.workshop);
        let history = workshop.history(self.uid)?;
        if last_event(&history) == self.last_event {
            return Ok(None);
        }
        let (state, about) = read(&workshop, self.uid, &history)?;
        let teachers = Teachers::of(&workshop, self.uid)?;
        drop(workshop);
        if teachers != self.teachers {
            self.hand = teachers.hand();
            self.teachers = teachers;
        }
        (self.undo, self.redo) = steps(&history);
        self.last_event = last_event(&history);
        self.about = about;
        Ok(Some(learnt_hand::with(state.file, self.hand.as_ref())?))
    }

    pub(super) fn add(&self, entry: &LogEntry) -> Result<(), Refused> {
        hold(&self.workshop)
            .write(|step| step.add(self.uid, Body::from(entry.clone()).into(), Timestamp::now()))
            .map(drop)
            .map_err(Refused::from)
    }

    /// Adds any event that can happen to a bar.
    pub(super) fn add_entry(&self, entry: Entry) -> Result<(), Refused> {
        Ok(hold(&self.workshop).write(|step| step.add(self.uid, entry, Timestamp::now())).map(drop)?)
    }

    /// Keeps the sound, then enters the reading; in place of an earlier one of the same bout if that still stands.
    pub(super) fn hear(
        &self,
        heard: HeardRecord,
        reading: &Reading<'_>,
        instead_of: Option<Uid>,
    ) -> Result<Uid, Refused> {
        let mut workshop = hold(&self.workshop);
        let kept = {
            let takes = workshop.takes();
            reading.takes.iter().map(|take| kept_take::keep(&takes, take)).collect::<Result<Vec<Kept>, Refused>>()?
        };
        let takes: Vec<String> = kept.iter().map(|kept| kept.sha256.clone()).collect();
        let history = workshop.history(self.uid)?;
        let before = instead_of.and_then(|uid| {
            history
                .standing()
                .into_iter()
                .find(|standing| standing.event.uid == uid)
                .map(|standing| standing.body.clone())
        });
        let what = |takes| convert::heard_event(heard, takes, reading.struck);
        let now = Timestamp::now();
        if let (Some(uid), Some(Body::Heard(earlier))) = (instead_of, before) {
            let all = earlier.takes.into_iter().chain(takes).collect();
            let why = Some("another blow of the same bout".to_owned());
            workshop.write(|step| {
                kept.iter().try_for_each(|kept| kept.name_in(step))?;
                step.correct(self.uid, uid, Some(what(all)), why, now)
            })?;
            return Ok(uid);
        }
        let entry = Entry { with: reading.recorder, ..what(takes).into() };
        Ok(workshop.write(|step| {
            kept.iter().try_for_each(|kept| kept.name_in(step))?;
            step.add(self.uid, entry, now)
        })?)
    }

    /// Takes back what this bench showed as the last thing; returns it in words.
    pub(super) fn undo(&self) -> Result<Option<String>, Refused> {
        let Some((seen, _)) = &self.undo else { return Ok(None) };
        let event = hold(&self.workshop).write(|step| step.undo(self.uid, Some(*seen), Timestamp::now()))?;
        Ok(Some(report::record::what(&event.entry.what)))
    }

    pub(super) fn redo(&self) -> Result<Option<String>, Refused> {
        if self.redo.is_none() {
            return Ok(None);
        }
        let event = hold(&self.workshop).write(|step| step.redo(self.uid, Timestamp::now()))?;
        Ok(Some(report::record::what(&event.entry.what)))
    }

    pub(super) fn undoable(&self) -> Option<&str> {
        self.undo.as_ref().map(|(_, words)| words.as_str())
    }

    pub(super) fn redoable(&self) -> Option<&str> {
        self.redo.as_deref()
    }
}

fn last_event(history: &History) -> i64 {
    history.events().last().map_or(0, |event| event.number)
}

/// What would be taken back and brought back next.
fn steps(history: &History) -> (Option<(Uid, String)>, Option<String>) {
    let words = |event: &records::workshop::Event| report::record::what(&event.entry.what);
    (history.next_to_undo().map(|event| (event.uid, words(event))), history.next_to_redo().map(words))
}

fn read(workshop: &Workshop, uid: Uid, history: &History) -> Result<(BarState, About), Refused> {
    let state = BarState::of(history)?;
    let rows = workshop.find_bars(&uid.to_string(), None)?;
    let about = About {
        label: state.label.clone(),
        instrument: rows.into_iter().next().and_then(|row| row.instrument).map(|(_, name)| name),
        stage: state.stage,
        heard_at: state.reading.as_ref().map(|reading| reading.at),
        heard_c: state.reading.as_ref().and_then(|reading| reading.temperature_c),
        worked_at: state.worked_at,
        heard_after_work: state.heard_after_work,
    };
    Ok((state, about))
}
