//! The record of an invented workshop: a few simulated bars in different states, to look around in.
use super::A4_HZ;
use crate::bench::{Bench, Desk};
use crate::convert;
use crate::error::Refused;
use jiff::Timestamp;
use making::virtual_bench::VirtualBar;
use making::{Decision, Event, Job};
use records::workshop::{
    Body, DoneStage, EnteredRecord, Entry, GivenRecord, Kind, OrderRecord, StageRecord, Uid, Workshop,
};
use records::{BarFile, BarRecord, Note};

/// How far a bar of the invented workshop has come.
#[derive(Clone, Copy)]
enum Come {
    /// A blank that was not struck.
    Blank,
    /// Sawn and struck.
    Sawn,
    /// So many bouts after that.
    Bouts(u32),
    /// The same, the last cut not heard yet.
    Warm(u32),
}

/// The other bars, as far as they have come.
const OTHERS: [(&str, Come); 4] =
    [("D3", Come::Bouts(2)), ("F3", Come::Warm(1)), ("A3", Come::Sawn), ("C4", Come::Blank)];

/// A desk on a record in a folder of its own: the demo's bar, and others beside it.
pub(super) fn workshop(tuned: &Bench, seed: u64) -> Result<(tempfile::TempDir, Desk), Refused> {
    let no_folder = |error: std::io::Error| {
        Refused::new(
            "not_saved",
            format!("no folder for the invented workshop could be made: {error}"),
            "make room on the disk",
        )
    };
    let folder = tempfile::tempdir().map_err(no_folder)?;
    let now = Timestamp::now();
    let mut workshop = Workshop::create(folder.path(), "Invented workshop", now)?;
    let order = OrderRecord {
        name: "Invented marimba".to_owned(),
        customer: None,
        a4_hz: A4_HZ,
        reference: None,
        lowest: None,
        highest: None,
    };
    let home = workshop.write(|step| step.begin(Kind::Instrument, Body::Order(order).into(), now))?;
    let done = (tuned.advise()?.decision == Decision::Finished)
        .then_some(Body::Stage(StageRecord { done: DoneStage::FineTuned }));
    enter(&mut workshop, home, "1", tuned.file(), done)?;
    for (place, (note, come)) in OTHERS.iter().enumerate() {
        let note: Note = note.parse()?;
        if tuned.file().note().as_ref() == Some(&note) {
            continue;
        }
        let job = made(&note, seed.wrapping_add(1 + place as u64), *come)?;
        enter(&mut workshop, home, &(2 + place).to_string(), &convert::file_of_job(&job, &note)?, None)?;
    }
    Ok((folder, Desk::of_record(workshop, true)))
}

/// A simulated bar brought so far by the advice; its readings are simulated too, not heard.
fn made(note: &Note, seed: u64, come: Come) -> Result<Job, Refused> {
    let mut bar = VirtualBar::new(seed, note.hz(A4_HZ))?;
    let (bouts, warm) = match come {
        Come::Blank => return Ok(Job { log: Vec::new(), ..bar.job().clone() }),
        Come::Sawn => (0, false),
        Come::Bouts(bouts) => (bouts, false),
        Come::Warm(bouts) => (bouts, true),
    };
    for _ in 0..bouts {
        let advice = bar.advise()?;
        if advice.decision != Decision::Cut {
            break;
        }
        bar.cut(&advice.bands, advice.passes.map(|(low, high)| low.midpoint(high).max(1)))?;
        bar.hear()?;
    }
    let mut job = bar.job().clone();
    if warm && matches!(job.log.last(), Some(Event::Heard(_))) {
        job.log.pop();
    }
    Ok(job)
}

/// Enters a bar with its whole log.
fn enter(workshop: &mut Workshop, home: Uid, label: &str, file: &BarFile, done: Option<Body>) -> Result<(), Refused> {
    let mut record = file.record().clone();
    let log = record.log.take().unwrap_or_default();
    let note = record.note.take();
    let bar = BarRecord { a4_hz: None, ..record };
    let entered = EnteredRecord { label: label.to_owned(), board: None, reference: false, bar };
    let given = note.map(|note| Body::Given(GivenRecord { instrument: home, note, a4_hz: A4_HZ }));
    let now = Timestamp::now();
    workshop.write(|step| {
        let bar = step.begin(Kind::Bar, Body::Entered(Box::new(entered)).into(), now)?;
        let events = given.into_iter().chain(log.into_iter().map(Body::from)).chain(done);
        step.add_all(bar, events.map(Entry::from), now)
    })?;
    Ok(())
}
