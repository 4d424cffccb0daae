//! The invented instrument of `examples/frame/nodes.csv` in a record: 61 bars, arched, salted, with nothing drilled.
use barwright::bench::Desk;
use jiff::Timestamp;
use records::workshop::{
    Body, EnteredRecord, Entry, Face, FrameBuiltRecord, GivenRecord, Kind, NodeLine, OrderRecord, RailRecord, RailWord,
    RowWord, SaltRecord, TopFaceRecord, Uid, Workshop,
};
use records::{BarRecord, ShapedRecord};
use std::path::{Path, PathBuf};

/// A file of the example.
pub fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/frame").join(name)
}

/// The record, its folder and the instrument.
pub struct InventedFrame {
    pub folder: tempfile::TempDir,
    pub desk: Desk,
    pub instrument: Uid,
}

/// A line of the table as cells.
fn lines(name: &str) -> Vec<Vec<String>> {
    let text = std::fs::read_to_string(example(name)).unwrap();
    let lines = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    lines.map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

/// What happened to the bar of a line: arched, top face decided, and salted if the line has its four figures.
fn events(cells: &[String], instrument: Uid) -> Vec<Body> {
    let number = |at: usize| cells[at].parse::<f64>().ok();
    let length = number(1).unwrap();
    let thickness = number(7).unwrap_or(18.0);
    let mut events = vec![
        Body::Given(GivenRecord { instrument, note: cells[0].clone(), a4_hz: 440.0 }),
        Body::TopFace(TopFaceRecord { top: Face::A, why: None }),
        Body::Shaped(ShapedRecord {
            x_mm: vec![0.0, 0.3 * length, 0.5 * length, 0.7 * length, length],
            thickness_mm: vec![thickness, thickness, 0.6 * thickness, thickness, thickness],
            kinks_mm: None,
            sigma_mm: None,
        }),
    ];
    if let [Some(a), Some(b), Some(c), Some(d)] = [3, 4, 5, 6].map(number) {
        // The left end of the bench faces the player: the player's left is the bar's far edge.
        let line = |left: f64, right: f64| NodeLine { near_mm: right, centre_mm: None, far_mm: left };
        events.push(Body::Salt(SaltRecord { face_up: Face::A, left: line(a, b), right: line(c, d), photo: None }));
    }
    events
}

/// A bar of a line before anything happened to it.
fn blank(cells: &[String]) -> BarRecord {
    let text =
        format!(r#"{{"format":"barwright-bar/1","length_mm":{},"width_mm":{},"thickness_mm":22}}"#, cells[1], cells[2]);
    records::BarFile::from_bytes(text.as_bytes()).unwrap().record().clone()
}

/// The whole instrument.
pub fn invented_frame() -> InventedFrame {
    let folder = tempfile::tempdir().unwrap();
    let now = Timestamp::now();
    let mut workshop = Workshop::create(folder.path(), "Invented workshop", now).unwrap();
    let order = OrderRecord {
        name: "Invented marimba".to_owned(),
        customer: None,
        a4_hz: 440.0,
        reference: None,
        lowest: None,
        highest: None,
    };
    let instrument = workshop
        .write(|step| {
            let instrument = step.begin(Kind::Instrument, Body::Order(order).into(), now)?;
            for (number, cells) in lines("nodes.csv").iter().enumerate() {
                let label = (number + 1).to_string();
                let entered = EnteredRecord { label, board: None, reference: false, bar: blank(cells) };
                let uid = step.begin(Kind::Bar, Body::Entered(Box::new(entered)).into(), now)?;
                step.add_all(uid, events(cells, instrument).into_iter().map(Entry::from), now)?;
            }
            Ok(instrument)
        })
        .unwrap();
    InventedFrame { folder, desk: Desk::of_record(workshop, true), instrument }
}

/// The rails of the standing frame of `examples/frame/built.csv`.
pub fn standing() -> FrameBuiltRecord {
    let mut rails: Vec<RailRecord> = Vec::new();
    for cells in lines("built.csv") {
        let row = if cells[0] == "natural" { RowWord::Natural } else { RowWord::Accidental };
        let rail = if cells[1] == "player" { RailWord::Player } else { RailWord::Far };
        let point = [cells[2].parse().unwrap(), cells[3].parse().unwrap()];
        match rails.iter_mut().find(|known| (known.row, known.rail) == (row, rail)) {
            Some(known) => known.points.push(point),
            None => rails.push(RailRecord { row, rail, points: vec![point] }),
        }
    }
    FrameBuiltRecord { rails, sigma_mm: 1.0 }
}
