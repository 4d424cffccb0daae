//! What the page's requests share: the desk, the last outcome for each bar, and who wants to know of changes.
use super::live::Sessions;
use super::places::workshop::Upkeep;
use crate::bench::{Bench, Desk};
use crate::error::Refused;
use crate::lan::Lan;
use making::schedule::{InstrumentPlan, Specification};
use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, TryLockError};
use tokio::sync::broadcast;

/// Changes that a slow browser may lag behind before it is told to look at everything.
const MOST_UNTOLD: usize = 64;

/// What the page about the devices is called among the benches.
pub const DEVICES: &str = "devices";

/// What came of the last thing the maker did; shown until the next one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// A recording was heard and entered.
    Heard,
    /// A cut was entered.
    Cut,
    /// Something else was entered: which, in words.
    Entered(String),
    /// An entry was taken back: which, in words.
    Undone(String),
    /// An entry was brought back: which, in words.
    Redone(String),
    /// Something was refused: what was tried, and why not.
    Refused {
        /// "The recording was not entered", …
        what: &'static str,
        /// Why, and what to do.
        why: Refused,
    },
}

/// Something about a bar is new.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Change {
    /// The bar, as it is addressed.
    pub bench: String,
    /// Version of what its page shows now.
    pub version: u64,
}

/// Shared by all requests.
#[derive(Debug, Clone)]
pub struct PageState(Arc<Shared>);

#[derive(Debug)]
struct Shared {
    desk: Desk,
    outcomes: Mutex<HashMap<String, Outcome>>,
    sessions: Sessions,
    listening: AtomicUsize,
    changes: broadcast::Sender<Change>,
    upkeep: Mutex<Upkeep>,
    /// What came of the last change of the settings.
    settled: Mutex<Option<Result<String, Refused>>>,
    /// The last plan that was made, so that only changed bars are planned anew.
    plan: Mutex<Option<(Specification, InstrumentPlan)>>,
    /// The door to the workshop's network, if there is one.
    lan: Option<Arc<Lan>>,
}

/// The last outcome for a bar, and how many there were.
#[derive(Debug, Clone, Default)]
struct Outcome {
    notice: Option<Notice>,
    count: u64,
    /// Revision of the bench when it was last used.
    revision: Option<u64>,
}

/// What a page asks now and then, without waiting for a bench that is busy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Pulse {
    /// Changes with everything the page would show; `None` while the bench is busy.
    pub version: Option<u64>,
    /// Recordings being listened to.
    pub listening: usize,
}

/// Counts a recording as being listened to until dropped.
#[derive(Debug)]
pub struct Listening(PageState);

impl Drop for Listening {
    fn drop(&mut self) {
        self.0.0.listening.fetch_sub(1, Ordering::SeqCst);
    }
}

impl PageState {
    /// A page about what is on `desk`, for this computer and perhaps for the workshop's network.
    pub fn new(desk: Desk, lan: Option<Arc<Lan>>) -> Self {
        let (changes, _) = broadcast::channel(MOST_UNTOLD);
        Self(Arc::new(Shared {
            desk,
            outcomes: Mutex::default(),
            sessions: Sessions::default(),
            listening: AtomicUsize::new(0),
            changes,
            upkeep: Mutex::default(),
            settled: Mutex::default(),
            plan: Mutex::default(),
            lan,
        }))
    }

    /// The door to the workshop's network.
    pub fn lan(&self) -> Option<&Arc<Lan>> {
        self.0.lan.as_ref()
    }

    /// Tells the open pages about the devices that there is something new.
    pub fn tell_devices(&self) {
        // Nobody may be listening.
        let _ = self.0.changes.send(Change { bench: DEVICES.to_owned(), version: 0 });
    }

    /// What the page is about.
    pub fn desk(&self) -> &Desk {
        &self.0.desk
    }

    /// Does something that may take its time on a thread of its own.
    ///
    /// # Errors
    /// [`Refused`] `page_failed` if the work did not come to an end; whatever `work` refuses.
    pub async fn with_desk<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Self) -> Result<T, Refused> + Send + 'static,
    ) -> Result<T, Refused> {
        let state = self.clone();
        let done = tokio::task::spawn_blocking(move || work(&state)).await;
        done.unwrap_or_else(|_| {
            Err(Refused::new(
                "page_failed",
                "the program failed while it worked on this",
                "the bar is as it was before; try again, and if it fails again, start the program anew",
            ))
        })
    }

    /// Does something with a bar as it stands now, and tells every page if that changed it.
    ///
    /// # Errors
    /// [`Refused`] `not_found` if there is no such bar; as [`PageState::with_desk`].
    pub async fn with_bench<T: Send + 'static>(
        &self,
        name: &str,
        work: impl FnOnce(&mut Bench) -> Result<T, Refused> + Send + 'static,
    ) -> Result<T, Refused> {
        let name = name.to_owned();
        self.with_desk(move |state| state.on_bench(&name, work)).await
    }

    /// As [`PageState::with_bench`], on this thread.
    ///
    /// # Errors
    /// As [`PageState::with_bench`].
    pub fn on_bench<T>(&self, name: &str, work: impl FnOnce(&mut Bench) -> Result<T, Refused>) -> Result<T, Refused> {
        let bench = self.0.desk.bench(name)?;
        let mut bench = held(&bench);
        let before = bench.revision();
        bench.refresh()?;
        let done = work(&mut bench);
        let revision = bench.revision();
        held(&self.0.outcomes).entry(name.to_owned()).or_default().revision = Some(revision);
        drop(bench);
        if revision != before {
            self.tell(name, revision);
        }
        done
    }

    /// The revision of a bench when it was last used, without waiting for it.
    pub fn revision_of(&self, name: &str) -> Option<u64> {
        held(&self.0.outcomes).get(name).and_then(|outcome| outcome.revision)
    }

    /// The microphones of all pages.
    pub fn sessions(&self) -> &Sessions {
        &self.0.sessions
    }

    /// Marks a recording as being listened to.
    pub fn begin_listening(&self) -> Listening {
        self.0.listening.fetch_add(1, Ordering::SeqCst);
        Listening(self.clone())
    }

    /// What came of the last thing done with a bar.
    pub fn notice(&self, name: &str) -> Option<Notice> {
        held(&self.0.outcomes).get(name).and_then(|outcome| outcome.notice.clone())
    }

    /// Remembers what came of something, for every page that shows the bar.
    pub fn set_notice(&self, name: &str, notice: Notice) {
        {
            let mut outcomes = held(&self.0.outcomes);
            let outcome = outcomes.entry(name.to_owned()).or_default();
            outcome.notice = Some(notice);
            outcome.count += 1;
        }
        if let Ok(bench) = self.0.desk.bench(name)
            && let Some(revision) = revision_now(&bench)
        {
            self.tell(name, revision);
        }
    }

    /// The last copy and check made from the page.
    pub fn upkeep(&self) -> Upkeep {
        held(&self.0.upkeep).clone()
    }

    /// Remembers a copy or a check.
    pub fn remember(&self, done: impl FnOnce(&mut Upkeep)) {
        done(&mut held(&self.0.upkeep));
    }

    /// The plan that was made last, with what it was made from.
    pub fn kept_plan(&self) -> Option<(Specification, InstrumentPlan)> {
        held(&self.0.plan).clone()
    }

    /// Keeps the plan that was made last.
    pub fn keep_plan(&self, specification: &Specification, plan: &InstrumentPlan) {
        *held(&self.0.plan) = Some((specification.clone(), plan.clone()));
    }

    /// What came of the last change of the settings; told once.
    pub fn settled(&self) -> Option<Result<String, Refused>> {
        held(&self.0.settled).take()
    }

    /// Remembers what came of a change of the settings.
    pub fn set_settled(&self, outcome: Result<String, Refused>) {
        *held(&self.0.settled) = Some(outcome);
    }

    /// Changes from now on.
    pub fn changes(&self) -> broadcast::Receiver<Change> {
        self.0.changes.subscribe()
    }

    /// Whether there is something new to show; looks at the record too, where another program may have written.
    pub fn pulse(&self, name: &str) -> Result<Pulse, Refused> {
        let bench = self.0.desk.bench(name)?;
        let revision = match bench.try_lock() {
            Ok(mut bench) => {
                bench.refresh()?;
                Some(bench.revision())
            }
            Err(TryLockError::Poisoned(poisoned)) => Some(poisoned.into_inner().revision()),
            Err(TryLockError::WouldBlock) => None,
        };
        let version = revision.map(|revision| self.version_of(name, revision));
        Ok(Pulse { version, listening: self.0.listening.load(Ordering::SeqCst) })
    }

    /// The version of what is shown of a bar at a revision of its bench.
    pub fn version_of(&self, name: &str, revision: u64) -> u64 {
        // Both only rise, so that their sum changes whenever one of them does.
        revision + held(&self.0.outcomes).get(name).map_or(0, |outcome| outcome.count)
    }

    fn tell(&self, name: &str, revision: u64) {
        let version = self.version_of(name, revision);
        // Nobody may be listening.
        let _ = self.0.changes.send(Change { bench: name.to_owned(), version });
    }
}

/// The revision of a bench that is not busy.
fn revision_now(bench: &Mutex<Bench>) -> Option<u64> {
    match bench.try_lock() {
        Ok(bench) => Some(bench.revision()),
        Err(TryLockError::Poisoned(poisoned)) => Some(poisoned.into_inner().revision()),
        Err(TryLockError::WouldBlock) => None,
    }
}

/// The lock, even if a thread failed while it held it: what it guards changes only as a whole.
pub fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
