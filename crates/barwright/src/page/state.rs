//! What the page's requests share: the bench, the last outcome, and whether something is being heard.
use crate::bench::{Bench, SharedBench};
use crate::error::Refused;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, TryLockError};

/// What came of the last thing the maker did; shown until the next one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// A recording was heard and entered.
    Heard,
    /// A cut was entered.
    Cut,
    /// An entry was taken back: which, in words.
    Undone(String),
    /// Something was refused: what was tried, and why not.
    Refused {
        /// "The recording was not entered", …
        what: &'static str,
        /// Why, and what to do.
        why: Refused,
    },
}

/// Shared by all requests.
#[derive(Debug, Clone)]
pub struct PageState {
    bench: SharedBench,
    notice: Arc<Mutex<Option<Notice>>>,
    listening: Arc<AtomicUsize>,
    changes: Arc<AtomicU64>,
}

/// What the page asks every other second, without waiting for a bench that is busy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Pulse {
    /// Changes with everything the page would show; `None` while the bench is busy.
    pub version: Option<u64>,
    /// Recordings being listened to.
    pub listening: usize,
}

/// Counts a recording as being listened to until dropped.
#[derive(Debug)]
pub struct Listening(Arc<AtomicUsize>);

impl Drop for Listening {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::SeqCst);
    }
}

impl PageState {
    /// A page about `bench`.
    pub fn new(bench: SharedBench) -> Self {
        Self { bench, notice: Arc::default(), listening: Arc::default(), changes: Arc::default() }
    }

    /// Does something with the bench on a thread that may take its time.
    ///
    /// # Errors
    /// [`Refused`] `page_failed` if the work did not come to an end.
    pub async fn with_bench<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut Bench) -> T + Send + 'static,
    ) -> Result<T, Refused> {
        let bench = Arc::clone(&self.bench);
        tokio::task::spawn_blocking(move || work(&mut held(&bench))).await.map_err(|_| {
            Refused::new(
                "page_failed",
                "the program failed while it worked on this",
                "the bar's file is as it was before; try again, and if it fails again, start the program anew",
            )
        })
    }

    /// Marks a recording as being listened to.
    pub fn begin_listening(&self) -> Listening {
        self.listening.fetch_add(1, Ordering::SeqCst);
        Listening(Arc::clone(&self.listening))
    }

    /// Recordings being listened to.
    pub fn listening(&self) -> usize {
        self.listening.load(Ordering::SeqCst)
    }

    /// What came of the last thing done.
    pub fn notice(&self) -> Option<Notice> {
        held(&self.notice).clone()
    }

    /// Remembers what came of something.
    pub fn set_notice(&self, notice: Notice) {
        *held(&self.notice) = Some(notice);
        self.changes.fetch_add(1, Ordering::SeqCst);
    }

    /// Whether there is something new to show.
    pub fn pulse(&self) -> Pulse {
        let revision = match self.bench.try_lock() {
            Ok(bench) => Some(bench.revision()),
            Err(TryLockError::Poisoned(poisoned)) => Some(poisoned.into_inner().revision()),
            Err(TryLockError::WouldBlock) => None,
        };
        let version = revision.map(|r| self.version_of(r));
        Pulse { version, listening: self.listening() }
    }

    /// The version of what is shown at a revision of the bench.
    pub fn version_of(&self, revision: u64) -> u64 {
        // Both only rise, so that their sum changes whenever one of them does.
        revision + self.changes.load(Ordering::SeqCst)
    }
}

/// The lock, even if a thread failed while it held it: the bench changes only as a whole.
fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
