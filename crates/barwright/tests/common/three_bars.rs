//! An invented record for the page.
use super::example;
use barwright::bench::Desk;
use barwright::lan::devices::{Device, DeviceFile, enter, sha256};
use jiff::Timestamp;
use records::workshop::{Body, DoneStage, EnteredRecord, Entry, GivenRecord, Kind, OrderRecord, StageRecord, Workshop};
use records::{BarFile, BarRecord};

/// What was ordered, invented.
pub fn order() -> Body {
    Body::Order(OrderRecord {
        name: "invented marimba".to_owned(),
        customer: None,
        a4_hz: 440.0,
        reference: None,
        lowest: None,
        highest: None,
    })
}

/// A record with a bar to cut, one to measure and one that is done, and a paired phone, all invented.
pub fn desk() -> (tempfile::TempDir, Desk) {
    let folder = tempfile::tempdir().unwrap();
    let now = Timestamp::now();
    let mut workshop = Workshop::create(folder.path(), "invented workshop", now).unwrap();
    let home = workshop.write(|step| step.begin(Kind::Instrument, order().into(), now)).unwrap();
    let done = Body::Stage(StageRecord { done: DoneStage::FineTuned });
    for (label, note, heard, more) in [("1", "C3", true, None), ("2", "D3", false, None), ("3", "E3", true, Some(done))]
    {
        let mut record = BarFile::read(&example("c3-rough.bar.json")).unwrap().record().clone();
        let log = record.log.take().unwrap();
        let entered = EnteredRecord {
            label: label.to_owned(),
            board: None,
            reference: false,
            bar: BarRecord { note: None, ..record },
        };
        workshop
            .write(|step| {
                let uid = step.begin(Kind::Bar, Body::Entered(Box::new(entered)).into(), now)?;
                let given = Body::Given(GivenRecord { instrument: home, note: note.to_owned(), a4_hz: 440.0 });
                let log = log.into_iter().take(if heard { usize::MAX } else { 0 }).map(Body::from);
                step.add_all(uid, std::iter::once(given).chain(log).chain(more).map(Entry::from), now)
            })
            .unwrap();
    }
    let phone = |devices: &mut Vec<Device>| {
        enter(devices, "0123456789abcdef".to_owned(), "phone at the sander", sha256(b""), now)
    };
    DeviceFile::in_workshop(folder.path()).change(phone).unwrap();
    (folder, Desk::from(workshop))
}
