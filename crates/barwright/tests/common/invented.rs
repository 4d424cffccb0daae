//! An invented workshop with bars in several states; every number of it is made up.
use super::example;
use barwright::bench::Desk;
use jiff::Timestamp;
use records::workshop::{
    Body, Climate, EnteredRecord, Entry, Face, GivenRecord, Kind, NodeLine, OrderRecord, SaltRecord, Uid, Workshop,
};
use records::{BarFile, BarRecord, LogEntry};

/// Notes of the bars, from the lowest.
pub const NOTES: [&str; 8] = ["C3", "D3", "E3", "F3", "G3", "A3", "B3", "C4"];

/// A desk on the record, its folder, the instrument and the bars.
pub struct Invented {
    pub folder: tempfile::TempDir,
    pub desk: Desk,
    pub instrument: Uid,
    pub bars: Vec<Uid>,
}

/// Bars labelled 1 to 8: the first as the example file has it, the others shorter and higher; the third salted, the
/// last but one cut after its reading, the last a blank that was never struck.
pub fn invented() -> Invented {
    let folder = tempfile::tempdir().unwrap();
    let now = Timestamp::now();
    let mut workshop = Workshop::create(folder.path(), "Invented workshop", now).unwrap();
    let order = OrderRecord {
        name: "Invented marimba".to_owned(),
        customer: Some("An invented customer".to_owned()),
        a4_hz: 440.0,
        reference: Some(Climate { temperature_c: Some(21.0), humidity_pct: Some(45.0) }),
        lowest: None,
        highest: None,
    };
    let (instrument, bars) = workshop
        .write(|step| {
            let instrument = step.begin(Kind::Instrument, Body::Order(order).into(), now)?;
            let mut bars = Vec::new();
            for (place, note) in NOTES.iter().enumerate() {
                let (bar, log) = bar(place);
                let entered = EnteredRecord { label: (place + 1).to_string(), board: None, reference: false, bar };
                let uid = step.begin(Kind::Bar, Body::Entered(Box::new(entered)).into(), now)?;
                let given = GivenRecord { instrument, note: (*note).to_owned(), a4_hz: 440.0 };
                let events = std::iter::once(Body::Given(given)).chain(log).map(Entry::from);
                step.add_all(uid, events, now)?;
                bars.push(uid);
            }
            Ok((instrument, bars))
        })
        .unwrap();
    Invented { folder, desk: Desk::of_record(workshop, true), instrument, bars }
}

/// The bar at that place and what happened to it.
fn bar(place: usize) -> (BarRecord, Vec<Body>) {
    let mut record = BarFile::read(&example("c3-rough.bar.json")).unwrap().record().clone();
    let log = record.log.take().unwrap();
    record.note = None;
    record.a4_hz = None;
    let last = NOTES.len() - 1;
    if place == last {
        return (record, Vec::new());
    }
    let higher = 2f64.powf([0.0, 2.0, 4.0, 5.0, 7.0, 9.0, 11.0][place] / 12.0) * (1.0 - 0.004 * place as f64);
    let mut events: Vec<Body> = log.into_iter().map(|entry| Body::from(scaled(entry, higher))).collect();
    if place == 2 {
        let line = |mm: f64| NodeLine { near_mm: mm - 0.5, centre_mm: None, far_mm: mm + 0.5 };
        events.push(Body::Salt(SaltRecord { face_up: Face::A, left: line(88.0), right: line(382.0), photo: None }));
    }
    if place + 1 == last {
        // The cut stands, the reading after it is still to come.
        events.pop();
    }
    (record, events)
}

fn scaled(entry: LogEntry, by: f64) -> LogEntry {
    let LogEntry::Heard(mut heard) = entry else { return entry };
    for family in [&mut heard.hz.bending, &mut heard.hz.torsion] {
        for hz in family.iter_mut().flatten().flatten() {
            *hz *= by;
        }
    }
    LogEntry::Heard(heard)
}
