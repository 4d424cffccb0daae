//! How fast is the record of a large workshop? 200 instruments, 12 000 bars, 400 000 readings by default, all invented.
//!
//! `cargo run --release -p records --example large_workshop -- [INSTRUMENTS] [READINGS A BAR]`
//!
//! Prints times of opening, views, an acknowledged action and export, and the most memory the process held. Times are of
//! the disk and machine it runs on.
#![allow(clippy::unwrap_used, reason = "a benchmark fails by panicking")]
use jiff::Timestamp;
use records::workshop::{
    BarFilter, Body, Climate, EnteredRecord, GivenRecord, Kind, OrderRecord, ReadingRecord, Stage, Uid, Workshop,
    Writer,
};
use records::{BandRecord, BarFile, BarRecord, CutRecord, HeardHz, HeardRecord};
use std::time::{Duration, Instant};

const BARS: usize = 60;

fn main() {
    let mut args = std::env::args().skip(1).map(|arg| arg.parse::<usize>().unwrap());
    let (instruments, readings) = (args.next().unwrap_or(200), args.next().unwrap_or(34));
    let folder = tempfile::tempdir_in(".").unwrap();
    let mut shop = Workshop::create(folder.path(), "Invented large workshop", at(0)).unwrap();
    let started = Instant::now();
    let mut last = None;
    for number in 0..instruments {
        last = Some(shop.write(|step| Ok(fill(step, number, readings))).unwrap());
    }
    let (home, bar) = last.unwrap();
    drop(shop);
    println!("{instruments} instruments, {} bars, {} readings", instruments * BARS, instruments * BARS * readings);
    print("filled in", started.elapsed());
    println!("memory while filling: {}", memory());
    let started = Instant::now();
    let mut shop = Workshop::open(folder.path(), at(1)).unwrap();
    print("opened in", started.elapsed());
    view("bars of one instrument", || {
        shop.bars(&BarFilter { instrument: Some(home), ..BarFilter::default() }).unwrap().len()
    });
    view("all stale bars, first 100", || {
        shop.bars(&BarFilter { stale: true, limit: 100, ..BarFilter::default() }).unwrap().len()
    });
    view("every stale bar", || shop.bars(&BarFilter { stale: true, ..BarFilter::default() }).unwrap().len());
    view("bars cut after a time", || {
        shop.bars(&BarFilter { worked_after: Some(at(8)), ..BarFilter::default() }).unwrap().len()
    });
    view("count of stale bars", || shop.count_bars(&BarFilter { stale: true, ..BarFilter::default() }).unwrap());
    let drill = BarFilter { stage: Some(Stage::RoughTune), limit: 100, ..BarFilter::default() };
    view("first 100 bars at a stage", || shop.bars(&drill).unwrap().len());
    view("every bar", || shop.bars(&BarFilter::default()).unwrap().len());
    view("a note in all instruments", || shop.find_bars("C4", None).unwrap().len());
    view("a label", || shop.find_bars("#17", None).unwrap().len());
    view("bars by stage", || shop.count_by_stage(None).unwrap().len());
    view("instruments", || shop.list(Kind::Instrument).unwrap().len());
    view("one bar's history", || shop.history(bar).unwrap().events().len());
    view("one bar as it stands", || shop.bar(bar).unwrap().file.log().len());
    let mut times: Vec<Duration> = (0..100)
        .map(|i| {
            let started = Instant::now();
            shop.write(|step| step.add(bar, heard(400.0 + f64::from(i)).into(), at(9))).unwrap();
            started.elapsed()
        })
        .collect();
    times.sort();
    print("an acknowledged action, median of 100", times[50]);
    print("an acknowledged action, slowest of 100", times[99]);
    let started = Instant::now();
    let report = shop.export(&folder.path().join("all.zip"), at(10), |_, _| ()).unwrap();
    print(&format!("{} events exported in", report.events), started.elapsed());
    println!("most memory: {}", memory());
}

fn fill(step: &Writer<'_>, number: usize, readings: usize) -> (Uid, Uid) {
    let order = OrderRecord {
        name: format!("Invented order {number}"),
        customer: None,
        a4_hz: 442.0,
        reference: Some(Climate { temperature_c: Some(22.0), humidity_pct: Some(45.0) }),
        lowest: None,
        highest: None,
    };
    let home = step.begin(Kind::Instrument, Body::Order(order).into(), at(0)).unwrap();
    let mut last = home;
    for place in 0..BARS {
        let entered =
            EnteredRecord { label: (number * BARS + place).to_string(), board: None, reference: false, bar: blank() };
        let bar = step.begin(Kind::Bar, Body::Entered(Box::new(entered)).into(), at(1)).unwrap();
        let names = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
        let note = format!("{}{}", names[place % 12], 2 + place / 12);
        step.add(bar, Body::Given(GivenRecord { instrument: home, note, a4_hz: 442.0 }).into(), at(2)).unwrap();
        let mut events = Vec::new();
        for reading in 0..readings {
            events.push(heard(500.0 - reading as f64));
            if reading % 3 == 0 {
                let band = BandRecord { from_mm: 0.0, to_mm: 60.0, depth_mm: 0.1, side: None };
                events.push(Body::Cut(CutRecord { bands: vec![band], passes: Some(2) }));
            }
        }
        step.add_all(bar, events.into_iter().map(Into::into), at(3)).unwrap();
        last = bar;
    }
    (home, last)
}

fn blank() -> BarRecord {
    let text = r#"{"format":"barwright-bar/1","length_mm":470,"width_mm":62,"thickness_mm":23,"mass_g":640}"#;
    BarFile::from_bytes(text.as_bytes()).unwrap().record().clone()
}

fn heard(hz: f64) -> Body {
    let hz = HeardHz { bending: Some(vec![Some(hz), Some(2.7 * hz), Some(5.2 * hz)]), torsion: None };
    let heard = HeardRecord { hz, sigma_cents: Some(1.0), temperature_c: Some(21.0) };
    Body::Heard(ReadingRecord { heard, takes: Vec::new(), struck: Some("centre".to_owned()), listener: None })
}

fn at(minute: i64) -> Timestamp {
    Timestamp::from_second(1_780_000_000 + 60 * minute).unwrap()
}

/// Median of nine, after one that fills the caches.
fn view(what: &str, look: impl Fn() -> usize) {
    let found = look();
    let mut times: Vec<Duration> = (0..9)
        .map(|_| {
            let started = Instant::now();
            assert_eq!(look(), found);
            started.elapsed()
        })
        .collect();
    times.sort();
    print(&format!("{what} ({found})"), times[4]);
}

fn print(what: &str, time: Duration) {
    println!("{what:<45} {time:.2?}");
}

/// The most memory held so far, as Linux counts it; a dash elsewhere.
fn memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.map_or("–".to_owned(), |line| line.trim().to_owned())
}
