//! What is done to the bar on the bench: heard, cut, taken back, brought back.
use super::store::{EnteredAs, Store};
use super::{Bench, Derived, Entered, Reading};
use crate::convert;
use crate::error::Refused;
use crate::hearing::{Recording, hear_recordings};
use crate::report;
use making::Band;
use records::workshop::Entry;
use records::{BarFile, HeardRecord, LogEntry};
use strike::{Heard, StrikePlace};

impl Bench {
    /// Listens to a recording of this bar (see [`crate::audio::open_bytes`]), enters what was heard and saves.
    ///
    /// # Errors
    /// [`Refused`] if the recording cannot be trusted or the file cannot be saved; nothing changes then.
    pub fn hear(&mut self, wav: &[u8], struck: Option<StrikePlace>) -> Result<Heard, Refused> {
        self.hear_at(wav, struck, None)
    }

    /// As [`Bench::hear`], with the bar's temperature in degrees Celsius if it was measured.
    ///
    /// # Errors
    /// As [`Bench::hear`].
    pub fn hear_at(
        &mut self,
        wav: &[u8],
        struck: Option<StrikePlace>,
        temperature_c: Option<f64>,
    ) -> Result<Heard, Refused> {
        let context = self.context(struck)?;
        let recording = Recording::prepare(crate::audio::open_bytes(wav)?, &context, &mut |_| {})?;
        let heard = hear_recordings(std::slice::from_ref(&recording), &context, self.tuned())?;
        let takes = if matches!(self.store, Store::Record(_)) { recording.into_takes() } else { Vec::new() };
        let reading = Reading { heard: &heard, takes: &takes, struck, temperature_c, recorder: None };
        self.enter_reading(&reading, None)?;
        Ok(heard)
    }

    /// Enters a reading made by listening, keeping its sound where there is a record. With `instead_of`, an earlier
    /// reading of the same bout that still stands is replaced: its blows are in this one too.
    ///
    /// # Errors
    /// [`Refused`] `nothing_sure` if nothing was heard surely enough, or if it cannot be saved; nothing changes then.
    pub fn enter_reading(&mut self, reading: &Reading<'_>, instead_of: Option<Entered>) -> Result<Entered, Refused> {
        let record = convert::heard_record(reading.heard, self.tuned())?;
        let record = HeardRecord { temperature_c: reading.temperature_c, ..record };
        let entered = match &self.store {
            Store::Record(stored) => {
                let before = instead_of.and_then(|Entered(entered)| match entered {
                    EnteredAs::Event(uid) => Some(uid),
                    EnteredAs::Place(_) => None,
                });
                let uid = stored.hear(record, reading, before)?;
                self.refresh()?;
                EnteredAs::Event(uid)
            }
            _ => {
                let last = self.file.log().len().wrapping_sub(1);
                if instead_of == Some(Entered(EnteredAs::Place(last))) {
                    let mut next = self.file.clone();
                    next.remove_last()?;
                    next.append(&LogEntry::Heard(record))?;
                    self.replace(next)?;
                } else {
                    self.enter(&LogEntry::Heard(record))?;
                }
                EnteredAs::Place(self.file.log().len().wrapping_sub(1))
            }
        };
        self.last_heard = Some(reading.heard.clone());
        Ok(Entered(entered))
    }

    /// Enters bands just removed and saves.
    ///
    /// # Errors
    /// [`Refused`] if that cannot have been cut from this bar or the file cannot be saved; nothing changes then.
    pub fn cut(&mut self, bands: &[Band], passes: Option<u32>) -> Result<(), Refused> {
        self.enter(&LogEntry::Cut(convert::cut_record(bands, passes)))
    }

    /// Enters any entry and saves.
    ///
    /// # Errors
    /// [`Refused`] as [`Bench::cut`].
    pub fn enter(&mut self, entry: &LogEntry) -> Result<(), Refused> {
        if let Store::Record(stored) = &self.store {
            stored.add(entry)?;
            self.refresh()?;
            return Ok(());
        }
        let mut next = self.file.clone();
        next.append(entry)?;
        self.replace(next)?;
        self.undoable += 1;
        self.taken_back.clear();
        Ok(())
    }

    /// Enters an event that only a record can keep: a stage declared done, a remark.
    ///
    /// # Errors
    /// [`Refused`] `no_record` for a bar file; whatever makes the event impossible for this bar.
    pub fn enter_event(&mut self, entry: Entry) -> Result<(), Refused> {
        let Store::Record(stored) = &self.store else {
            return Err(Refused::new(
                "no_record",
                "a bar file cannot keep this",
                "bring the bar into the workshop's record: barwright bar LABEL new --from FILE",
            ));
        };
        stored.add_entry(entry)?;
        self.refresh()?;
        Ok(())
    }

    /// Takes back the last thing and saves; returns it in words, or `None` if there is nothing.
    ///
    /// In a record that is the last event that stands, whoever entered it, and taking it back is an event too; in a
    /// bar file it is the last entry made in this session.
    ///
    /// # Errors
    /// [`Refused`] if it cannot be saved, `not_the_last` if something was entered elsewhere; nothing changes then.
    pub fn undo(&mut self) -> Result<Option<String>, Refused> {
        if let Store::Record(stored) = &self.store {
            let words = stored.undo();
            self.refresh()?;
            self.last_heard = None;
            return words;
        }
        if self.undoable == 0 {
            return Ok(None);
        }
        let mut next = self.file.clone();
        let taken_back = next.remove_last()?;
        self.replace(next)?;
        self.undoable -= 1;
        if matches!(taken_back, Some(LogEntry::Heard(_))) {
            self.last_heard = None;
        }
        let words = taken_back.as_ref().map(report::bouts::done);
        self.taken_back.extend(taken_back);
        Ok(words)
    }

    /// Brings back what was taken back last; returns it in words, or `None` if there is nothing.
    ///
    /// # Errors
    /// [`Refused`] as [`Bench::undo`].
    pub fn redo(&mut self) -> Result<Option<String>, Refused> {
        if let Store::Record(stored) = &self.store {
            let words = stored.redo();
            self.refresh()?;
            return words;
        }
        let Some(entry) = self.taken_back.last().cloned() else { return Ok(None) };
        let mut next = self.file.clone();
        next.append(&entry)?;
        self.replace(next)?;
        self.undoable += 1;
        self.taken_back.pop();
        Ok(Some(report::bouts::done(&entry)))
    }

    /// Saves `next` and makes it the bench's file.
    fn replace(&mut self, next: BarFile) -> Result<(), Refused> {
        if let Store::File(on_disk) = &mut self.store {
            next.save_over(&on_disk.path, &on_disk.saved)?;
            on_disk.saved = next.clone();
        }
        self.file = next;
        self.revision += 1;
        self.derived = Derived::default();
        Ok(())
    }
}
