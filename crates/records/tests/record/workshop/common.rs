//! An invented workshop.
use jiff::Timestamp;
use records::workshop::{
    BarState, Body, EnteredRecord, Entry, Face, FrameBuiltRecord, GivenRecord, Kind, NodeLine, OrderRecord,
    PhotoFormat, PhotoName, PhotoRecord, RailRecord, RailWord, ReadingRecord, RowWord, SaltRecord, TickRecord, Uid,
    Workshop,
};
use records::{BandRecord, BarFile, CutRecord, HeardHz, HeardRecord, LogEntry};
use std::path::Path;

/// Minutes after an invented beginning.
pub fn at(minute: i64) -> Timestamp {
    Timestamp::from_second(1_780_000_000 + 60 * minute).unwrap()
}

pub fn new_workshop(folder: &Path) -> Workshop {
    Workshop::create(folder, "Invented workshop", at(0)).unwrap()
}

pub fn order(workshop: &mut Workshop, name: &str) -> Uid {
    let order = OrderRecord {
        name: name.to_owned(),
        customer: None,
        a4_hz: 442.0,
        reference: None,
        lowest: Some("C3".to_owned()),
        highest: Some("C7".to_owned()),
    };
    workshop.write(|step| step.begin(Kind::Instrument, Body::Order(order).into(), at(1))).unwrap()
}

pub fn blank(label: &str) -> Body {
    let text = r#"{"format":"barwright-bar/1","length_mm":470,"width_mm":62,"thickness_mm":23,"mass_g":640,
        "targets":{"ratios":[1,4,10]}}"#;
    let bar = BarFile::from_bytes(text.as_bytes()).unwrap().record().clone();
    Body::Entered(Box::new(EnteredRecord { label: label.to_owned(), board: None, reference: false, bar }))
}

pub fn enter(workshop: &mut Workshop, label: &str) -> Uid {
    workshop.write(|step| step.begin(Kind::Bar, blank(label).into(), at(2))).unwrap()
}

pub fn give(instrument: Uid, note: &str) -> Body {
    Body::Given(GivenRecord { instrument, note: note.to_owned(), a4_hz: 442.0 })
}

pub fn heard(hz: &[f64]) -> Body {
    let bending = hz.iter().copied().map(Some).collect();
    Body::Heard(ReadingRecord {
        heard: HeardRecord {
            hz: HeardHz { bending: Some(bending), torsion: None },
            sigma_cents: Some(1.0),
            temperature_c: Some(21.0),
        },
        takes: Vec::new(),
        struck: Some("centre".to_owned()),
        listener: None,
    })
}

/// Stands for a photograph; what it holds does not matter to the record.
pub const PICTURE: &[u8] = b"picture of an invented bar";

/// Marks on that photograph, ten pixels a millimetre.
pub fn photo(sha256: String, left_mm: f64) -> PhotoRecord {
    let line = |mm: f64| vec![[10.0 * mm, 700.0], [10.0 * mm, 100.0]];
    PhotoRecord {
        sha256,
        format: PhotoFormat::Jpeg,
        corners_px: [[0.0, 720.0], [4700.0, 720.0], [4700.0, 100.0], [0.0, 100.0]],
        left_px: line(left_mm),
        right_px: line(470.0 - left_mm),
        ruler: vec![
            TickRecord { px: [1000.0, 50.0], reads_mm: 100.0 },
            TickRecord { px: [2000.0, 50.0], reads_mm: 200.0 },
        ],
        sigma_mm: 0.5,
    }
}

/// Keeps the photograph and enters a salt test that was read from it.
pub fn photographed(workshop: &mut Workshop, bar: Uid, left_mm: f64, minute: i64) -> String {
    let sha256 = workshop.photos().keep(PICTURE, PhotoFormat::Jpeg).unwrap();
    let line = |mm: f64| NodeLine { near_mm: mm, centre_mm: None, far_mm: mm };
    let photo = Some(Box::new(photo(sha256.clone(), left_mm)));
    let salt = SaltRecord { face_up: Face::A, left: line(left_mm), right: line(470.0 - left_mm), photo };
    let name = PhotoName { sha256: sha256.clone(), format: PhotoFormat::Jpeg, bytes: PICTURE.len() as u64 };
    let enter = |step: &records::workshop::Writer<'_>| {
        step.photo_kept(&name)?;
        step.add(bar, Body::Salt(salt.clone()).into(), at(minute)).map(drop)
    };
    workshop.write(enter).unwrap();
    sha256
}

pub fn cut(depth_mm: f64) -> Body {
    let band = BandRecord { from_mm: 0.0, to_mm: 60.0, depth_mm, side: None };
    LogEntry::Cut(CutRecord { bands: vec![band], passes: Some(4) }).into()
}

pub fn add(workshop: &mut Workshop, thing: Uid, what: Body, minute: i64) -> Uid {
    workshop.write(|step| step.add(thing, Entry::from(what), at(minute))).unwrap()
}

pub fn refused(workshop: &mut Workshop, thing: Uid, what: Body) -> &'static str {
    workshop.write(|step| step.add(thing, Entry::from(what), at(99))).unwrap_err().code
}

pub fn state(workshop: &Workshop, bar: Uid) -> BarState {
    workshop.bar(bar).unwrap()
}

pub fn sound(workshop: &Workshop) {
    let report = workshop.check(|_, _| ()).unwrap();
    assert!(report.sound(), "{:?}", report.problems);
}

/// Rails of an invented standing frame with one row, `off_mm` off straight in the middle.
pub fn standing_frame(off_mm: f64) -> Body {
    let rail = |rail, y: f64| RailRecord {
        row: RowWord::Natural,
        rail,
        points: vec![[0.0, y], [900.0, y + 50.0 + off_mm], [1800.0, y + 100.0]],
    };
    Body::FrameBuilt(FrameBuiltRecord {
        rails: vec![rail(RailWord::Player, 0.0), rail(RailWord::Far, 350.0)],
        sigma_mm: 1.0,
    })
}
