//! All that a page can put on the bench: one bar, or every bar of a workshop's record.
use super::store::{SharedWorkshop, hold};
use super::{Bench, SharedBench};
use crate::error::Refused;
use records::workshop::{BarFilter, BarRow, Kind, Uid, Workshop};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

/// The name under which a single bar is addressed.
pub const ONLY_BAR: &str = "bar";
/// Bars kept ready with what follows from them; a large marimba has 61.
const MOST_READY: usize = 64;

/// What the page is about.
#[derive(Debug)]
pub struct Desk(Holds);

#[derive(Debug)]
enum Holds {
    One(SharedBench),
    Record {
        workshop: SharedWorkshop,
        ready: Mutex<HashMap<Uid, SharedBench>>,
        /// Lengths for the silhouettes; what a trim takes off later cannot be seen at their scale.
        lengths_mm: Mutex<HashMap<Uid, f64>>,
        invented: bool,
    },
}

impl From<SharedBench> for Desk {
    fn from(bench: SharedBench) -> Self {
        Self(Holds::One(bench))
    }
}

impl From<Workshop> for Desk {
    fn from(workshop: Workshop) -> Self {
        Self::of_record(workshop, false)
    }
}

impl Desk {
    /// A desk on a record; `invented` marks a simulated workshop.
    pub fn of_record(workshop: Workshop, invented: bool) -> Self {
        Self(Holds::Record {
            workshop: Arc::new(Mutex::new(workshop)),
            ready: Mutex::default(),
            lengths_mm: Mutex::default(),
            invented,
        })
    }

    /// The bench of the bar of that name.
    ///
    /// # Errors
    /// [`Refused`] `not_found` if there is no such bar; as [`Bench::of_record`].
    pub fn bench(&self, name: &str) -> Result<SharedBench, Refused> {
        match &self.0 {
            Holds::One(bench) if name == ONLY_BAR => Ok(Arc::clone(bench)),
            Holds::One(_) => Err(no_such_bar(name)),
            Holds::Record { workshop, ready, invented, .. } => {
                let uid: Uid = name.parse().map_err(|_| no_such_bar(name))?;
                let mut ready = ready.lock().unwrap_or_else(PoisonError::into_inner);
                if let Some(bench) = ready.get(&uid) {
                    return Ok(Arc::clone(bench));
                }
                if hold(workshop).kind_of(uid).map_err(|_| no_such_bar(name))? != Kind::Bar {
                    return Err(no_such_bar(name));
                }
                let bench = Arc::new(Mutex::new(Bench::of_record(Arc::clone(workshop), uid, *invented)?));
                if ready.len() >= MOST_READY {
                    ready.retain(|_, bench| Arc::strong_count(bench) > 1);
                }
                ready.insert(uid, Arc::clone(&bench));
                Ok(bench)
            }
        }
    }

    /// The bench of a bar of the record that was opened before and is not in use now.
    pub fn idle<T>(&self, bar: Uid, look: impl FnOnce(&mut Bench) -> T) -> Option<T> {
        let Holds::Record { ready, .. } = &self.0 else { return None };
        let bench = Arc::clone(ready.lock().unwrap_or_else(PoisonError::into_inner).get(&bar)?);
        let mut bench = bench.try_lock().ok()?;
        Some(look(&mut bench))
    }

    /// The only bar, if there is no record.
    pub fn only(&self) -> Option<&SharedBench> {
        match &self.0 {
            Holds::One(bench) => Some(bench),
            Holds::Record { .. } => None,
        }
    }

    /// The record, if there is one.
    pub fn workshop(&self) -> Option<&SharedWorkshop> {
        match &self.0 {
            Holds::One(_) => None,
            Holds::Record { workshop, .. } => Some(workshop),
        }
    }

    /// True for a simulated workshop.
    pub fn invented(&self) -> bool {
        match &self.0 {
            Holds::One(bench) => bench.lock().unwrap_or_else(PoisonError::into_inner).invented(),
            Holds::Record { invented, .. } => *invented,
        }
    }

    /// Every bar of the record, by instrument and pitch; none without a record.
    ///
    /// # Errors
    /// [`Refused`] if the record cannot be read.
    pub fn bars(&self) -> Result<Vec<BarRow>, Refused> {
        match self.workshop() {
            Some(workshop) => Ok(hold(workshop).bars(&BarFilter::default())?),
            None => Ok(Vec::new()),
        }
    }

    /// Length of a bar, for its silhouette.
    ///
    /// # Errors
    /// [`Refused`] if the record cannot be read.
    pub fn length_mm(&self, bar: Uid) -> Result<f64, Refused> {
        let Holds::Record { workshop, lengths_mm, .. } = &self.0 else { return Ok(0.0) };
        let mut known = lengths_mm.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(length_mm) = known.get(&bar) {
            return Ok(*length_mm);
        }
        let length_mm = hold(workshop).bar(bar)?.file.record().length_mm;
        known.insert(bar, length_mm);
        Ok(length_mm)
    }
}

fn no_such_bar(name: &str) -> Refused {
    let name: String = name.chars().take(60).collect();
    Refused::new("not_found", format!("there is no bar \"{name}\" here"), "look at the list of bars")
}
