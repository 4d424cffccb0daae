//! The workshop: its instruments, the copies of its record, and whether the record is sound.
use super::{House, record};
use crate::bench::{Desk, hold};
use crate::error::Refused;
use crate::page::html::workshop_page;
use crate::page::routes::refusal_page;
use crate::page::state::PageState;
use axum::extract::State;
use axum::response::{Html, IntoResponse, Redirect, Response};
use jiff::Timestamp;
use records::workshop::{
    BACKUP_FOLDER, BarFilter, CheckReport, Kind, OrderRecord, RECORD_FILE, RecordCopy, Stage, Workshop, check_copy,
};
use std::path::PathBuf;

/// Copies listed; the folder may hold many more.
const MOST_COPIES: usize = 6;

/// An instrument of the workshop.
#[derive(Debug, Clone, PartialEq)]
pub struct InstrumentLine {
    /// Its name in the record.
    pub id: String,
    /// What was ordered.
    pub order: OrderRecord,
    /// True if it was delivered.
    pub gone: bool,
    /// Bars that serve it, without those given up.
    pub bars: usize,
    /// Those of them that are done.
    pub done: usize,
}

/// What a check of the record and of its newest copy found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checked {
    /// The record.
    pub record: CheckReport,
    /// The newest copy with the events in it, or what is wrong with it; `None` without a copy.
    pub copy: Option<(PathBuf, Result<u64, Refused>)>,
}

/// The last copy and the last check made from the page, for as long as the program runs.
#[derive(Debug, Clone, Default)]
pub struct Upkeep {
    /// When a copy was last asked for, and what came of it.
    pub copy: Option<(Timestamp, Result<RecordCopy, Refused>)>,
    /// When a check was last asked for, and what came of it.
    pub check: Option<(Timestamp, Result<Checked, Refused>)>,
}

/// What the page shows.
#[derive(Debug, Clone)]
pub struct WorkshopView {
    /// The workshop.
    pub house: House,
    /// Its instruments, those delivered last.
    pub instruments: Vec<InstrumentLine>,
    /// The record's file and its size in bytes.
    pub record: (PathBuf, u64),
    /// The newest copies, newest first.
    pub copies: Vec<RecordCopy>,
    /// Copies that are there but not listed.
    pub more_copies: usize,
    /// The folder of the copies.
    pub copy_folder: PathBuf,
    /// What was done from the page.
    pub upkeep: Upkeep,
}

impl WorkshopView {
    /// The workshop as it stands.
    ///
    /// # Errors
    /// [`Refused`] `not_found` without a record; if the record cannot be read.
    pub fn of(desk: &Desk, upkeep: Upkeep) -> Result<Self, Refused> {
        let house = House::of(desk)?;
        let workshop = hold(record(desk)?);
        let instruments = workshop.list(Kind::Instrument)?;
        let line = |named: records::workshop::Named| line(&workshop, &named);
        let instruments = instruments.into_iter().map(line).collect::<Result<Vec<_>, Refused>>()?;
        let file = workshop.folder().join(RECORD_FILE);
        let bytes = std::fs::metadata(&file).map_or(0, |metadata| metadata.len());
        let mut copies = workshop.copies();
        let more_copies = copies.len().saturating_sub(MOST_COPIES);
        copies.truncate(MOST_COPIES);
        let copy_folder = workshop.folder().join(BACKUP_FOLDER);
        Ok(Self { house, instruments, record: (file, bytes), copies, more_copies, copy_folder, upkeep })
    }
}

fn line(workshop: &Workshop, named: &records::workshop::Named) -> Result<InstrumentLine, Refused> {
    let counts = workshop.count_by_stage(Some(named.uid))?;
    let count = |wanted: &dyn Fn(Stage) -> bool| counts.iter().filter(|(s, _)| wanted(*s)).map(|(_, n)| n).sum();
    Ok(InstrumentLine {
        id: named.uid.to_string(),
        order: workshop.order(named.uid)?,
        gone: named.gone,
        bars: count(&|stage| stage != Stage::Discarded),
        done: count(&|stage| stage == Stage::Done),
    })
}

/// How many bars serve an instrument.
pub(super) fn bars_of(workshop: &Workshop, instrument: records::workshop::Uid) -> Result<usize, Refused> {
    Ok(workshop.count_bars(&BarFilter { instrument: Some(instrument), ..BarFilter::default() })?)
}

/// The record opened once more: a copy or a check takes its time, and the bench must not wait for it.
fn opened_again(desk: &Desk) -> Result<Workshop, Refused> {
    let folder = hold(record(desk)?).folder().to_owned();
    Ok(Workshop::open(&folder, Timestamp::now())?)
}

/// Instruments, copies, health.
pub async fn page(State(state): State<PageState>) -> Response {
    match state.with_desk(move |state| WorkshopView::of(state.desk(), state.upkeep())).await {
        Ok(view) => Html(workshop_page(&view).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

/// Makes a copy of the record now.
pub async fn copy(State(state): State<PageState>) -> Response {
    let made = state
        .with_desk(|state| {
            let at = Timestamp::now();
            Ok(opened_again(state.desk())?.copy_now(at)?)
        })
        .await;
    state.remember(|upkeep| upkeep.copy = Some((Timestamp::now(), made)));
    Redirect::to("/workshop#copies").into_response()
}

/// Checks the record and its newest copy.
pub async fn check(State(state): State<PageState>) -> Response {
    let checked = state
        .with_desk(|state| {
            let workshop = opened_again(state.desk())?;
            let newest = workshop.copies().into_iter().next();
            let copy = newest.map(|copy| (copy.path.clone(), check_copy(&copy.path).map_err(Refused::from)));
            Ok(Checked { record: workshop.check(|_, _| ())?, copy })
        })
        .await;
    state.remember(|upkeep| upkeep.check = Some((Timestamp::now(), checked)));
    Redirect::to("/workshop#health").into_response()
}
