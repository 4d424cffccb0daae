//! One bar on the bench: what is known and believed of it, and what is done to it.
//!
//! The bar is kept in a bar file or in the workshop's record; everything else is the same for both.
mod desk;
mod entering;
mod store;

use crate::audio::Audio;
use crate::convert;
use crate::error::Refused;
use crate::report;
use bar_physics::Modes;
use making::{Advice, Belief};
use records::workshop::Uid;
use records::{BarFile, LogEntry};
use std::path::Path;
use std::sync::{Arc, Mutex, OnceLock};
use store::{InRecord, OnDisk, Store};
use strike::{Heard, StrikePlace};

pub use desk::{Desk, ONLY_BAR};
pub use store::{About, Entered, SharedWorkshop, hold};

/// A bench that the page's requests and the program share.
pub type SharedBench = Arc<Mutex<Bench>>;

/// One bar being made, with everything that follows from its file computed at most once per revision.
#[derive(Debug)]
pub struct Bench {
    file: BarFile,
    store: Store,
    invented: bool,
    revision: u64,
    /// Entries made in this session, and entries taken back: only where there is no record.
    undoable: usize,
    taken_back: Vec<LogEntry>,
    last_heard: Option<Heard>,
    derived: Derived,
}

/// A reading on its way in: what was heard, and where it came from.
#[derive(Debug, Clone, Copy)]
pub struct Reading<'a> {
    /// What was heard.
    pub heard: &'a Heard,
    /// The sound it was heard in; kept where there is a record.
    pub takes: &'a [Audio],
    /// Where the bar was struck, if the maker said so.
    pub struck: Option<StrikePlace>,
    /// Temperature of the bar in degrees Celsius, if it was measured.
    pub temperature_c: Option<f64>,
    /// The recorder, by its name in the record.
    pub recorder: Option<Uid>,
}

/// What follows from the file; thrown away with every change.
#[derive(Debug, Default)]
struct Derived {
    belief: OnceLock<Result<Arc<Belief>, Refused>>,
    advice: OnceLock<Result<Arc<Advice>, Refused>>,
    modes: OnceLock<Result<Arc<Modes>, Refused>>,
    bouts: OnceLock<Vec<BoutRow>>,
}

/// One row of the table of bouts: a reading and the cut that was made after it.
#[derive(Debug, Clone, PartialEq)]
pub struct BoutRow {
    /// Number of the reading, from 1.
    pub bout: usize,
    /// What was done after this reading, in workshop words; empty if nothing yet.
    pub done: String,
    /// Each tuned mode as it was heard.
    pub modes: Vec<BoutMode>,
    /// Thinnest place as intended at the time of the reading: millimetres from the left end.
    pub thinnest_x_mm: f64,
    /// Wood left there as intended.
    pub thinnest_mm: f64,
}

/// One tuned bending mode in a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoutMode {
    /// Mode number, from 1.
    pub mode: usize,
    /// Cents above the target (note × ratio); `None` if it was not heard or the file names no note.
    pub cents: Option<f64>,
    /// Standard uncertainty of the reading.
    pub sigma_cents: f64,
}

impl Bench {
    /// Opens a bar file; every change is saved to it.
    ///
    /// # Errors
    /// [`Refused`] if the file cannot be read or is not a possible bar.
    pub fn from_file(path: &Path) -> Result<Self, Refused> {
        let file = BarFile::read(path).map_err(|error| Refused::from(error).about_file(path))?;
        let store = Store::File(Box::new(OnDisk { path: path.to_owned(), saved: file.clone() }));
        Ok(Self { store, ..Self::in_memory(file, false) })
    }

    /// A bench without a file on disk; `invented` marks a simulated bar.
    pub fn in_memory(file: BarFile, invented: bool) -> Self {
        Self {
            file,
            store: Store::Memory,
            invented,
            revision: 0,
            undoable: 0,
            taken_back: Vec::new(),
            last_heard: None,
            derived: Derived::default(),
        }
    }

    /// The bench of a bar of the record; every change is an event there. `invented` marks a simulated workshop.
    ///
    /// # Errors
    /// [`Refused`] if there is no such bar or its history tells of none that can be.
    pub fn of_record(workshop: SharedWorkshop, bar: Uid, invented: bool) -> Result<Self, Refused> {
        let (stored, file) = InRecord::open(workshop, bar)?;
        let revision = revision_of(stored.last_event);
        Ok(Self { store: Store::Record(Box::new(stored)), revision, ..Self::in_memory(file, invented) })
    }

    /// Looks whether the bar was changed elsewhere, by another program or page; true if it was.
    ///
    /// # Errors
    /// [`Refused`] if the record cannot be read.
    pub fn refresh(&mut self) -> Result<bool, Refused> {
        let Store::Record(stored) = &mut self.store else { return Ok(false) };
        let Some(file) = stored.refresh()? else { return Ok(false) };
        self.revision = revision_of(stored.last_event);
        self.file = file;
        self.derived = Derived::default();
        Ok(true)
    }

    /// What the record knows besides; `None` without a record.
    pub fn about(&self) -> Option<&About> {
        match &self.store {
            Store::Record(stored) => Some(&stored.about),
            _ => None,
        }
    }

    /// The bar file as it stands.
    pub fn file(&self) -> &BarFile {
        &self.file
    }

    /// Where changes are saved, if anywhere.
    pub fn path(&self) -> Option<&Path> {
        match &self.store {
            Store::File(on_disk) => Some(on_disk.path.as_path()),
            _ => None,
        }
    }

    /// True for a simulated bar of an invented workshop; say so wherever it is shown.
    pub fn invented(&self) -> bool {
        self.invented
    }

    /// Rises by one with every change.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// What the last recording held, if one was heard in this session.
    pub fn last_heard(&self) -> Option<&Heard> {
        self.last_heard.as_ref()
    }

    /// What [`Bench::undo`] would take back, in words.
    pub fn undoable(&self) -> Option<String> {
        match &self.store {
            Store::Record(stored) => stored.undoable().map(str::to_owned),
            _ if self.undoable > 0 => self.file.log().last().map(report::bouts::done),
            _ => None,
        }
    }

    /// What [`Bench::redo`] would bring back, in words.
    pub fn redoable(&self) -> Option<String> {
        match &self.store {
            Store::Record(stored) => stored.redoable().map(str::to_owned),
            _ => self.taken_back.last().map(report::bouts::done),
        }
    }

    /// True if [`Bench::undo`] has something to take back.
    pub fn can_undo(&self) -> bool {
        self.undoable().is_some()
    }

    /// The advice for the bar as it stands.
    ///
    /// # Errors
    /// [`Refused`] if the file names no note or its log cannot be believed.
    pub fn advise(&self) -> Result<Arc<Advice>, Refused> {
        self.derived.advice.get_or_init(|| convert::advise(&self.file).map(Arc::new)).clone()
    }

    /// What the log lets us believe of the bar.
    ///
    /// # Errors
    /// [`Refused`] if the log cannot be believed.
    pub fn belief(&self) -> Result<Arc<Belief>, Refused> {
        self.derived.belief.get_or_init(|| convert::believe(&self.file).map(Arc::new)).clone()
    }

    /// Modes of the bar as it is believed to be: bending 1–3, torsion 1–2, sideways 1.
    ///
    /// # Errors
    /// [`Refused`] if the log cannot be believed or the bar cannot be computed.
    pub fn modes(&self) -> Result<Arc<Modes>, Refused> {
        let compute = || {
            let bar = self.belief()?.bar()?;
            Ok(Arc::new(bar_physics::modes_that_stand_out(&bar, bar_physics::Wanted::default())?))
        };
        self.derived.modes.get_or_init(compute).clone()
    }

    /// The modes, if they were worked out already.
    pub fn known_modes(&self) -> Option<Arc<Modes>> {
        self.derived.modes.get().and_then(|modes| modes.clone().ok())
    }

    /// The advice, if it was worked out already.
    pub fn known_advice(&self) -> Option<Arc<Advice>> {
        self.derived.advice.get().and_then(|advice| advice.clone().ok())
    }

    /// The readings so far with the cuts between them, oldest first.
    pub fn bouts(&self) -> &[BoutRow] {
        self.derived.bouts.get_or_init(|| crate::report::bouts::rows(&self.file))
    }

    /// Number of tuned bending modes; 1 for a bar without a note.
    pub fn tuned(&self) -> usize {
        convert::targets(&self.file).map_or(1, |(_, targets)| targets.ratios.len())
    }

    /// What is known before listening.
    ///
    /// # Errors
    /// [`Refused`] as [`Bench::modes`].
    pub fn context(&self, struck: Option<StrikePlace>) -> Result<strike::Context, Refused> {
        let expected = convert::expected(&*self.belief()?)?;
        Ok(strike::Context { expected, note_hz: self.file.note_hz(), struck, ..strike::Context::default() })
    }
}

/// Numbers of events are never negative.
fn revision_of(last_event: i64) -> u64 {
    u64::try_from(last_event).unwrap_or(0)
}
