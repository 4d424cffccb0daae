//! Is anything acknowledged lost when the program is killed? `cargo run --release -p records --example thousand_kills -- [KILLS]`
//!
//! A child writes readings and takes as fast as it can and prints each name once it is acknowledged; it is ended with
//! SIGKILL at another moment each time, a thousand times by default. After each kill the record is opened and everything
//! printed so far is looked for; every hundredth time it is checked whole. Prints what was written, lost, and how long it took.
#![allow(clippy::unwrap_used, reason = "a benchmark fails by panicking")]
use jiff::Timestamp;
use records::workshop::{Body, EnteredRecord, Kind, ReadingRecord, Uid, Workshop};
use records::{BarFile, HeardHz, HeardRecord};
use std::collections::HashSet;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Given to the child: the folder and the bar.
const CHILD: &str = "--write";
/// Bars are changed now and then: a history of a hundred thousand entries would only measure its own reading.
const KILLS_A_BAR: usize = 50;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    match args.as_slice() {
        [flag, folder, bar] if flag == CHILD => write_until_killed(Path::new(folder), bar.parse().unwrap()),
        _ => kill_and_look(args.first().map_or(1000, |kills| kills.parse().unwrap())),
    }
}

fn at(second: i64) -> Timestamp {
    Timestamp::from_second(1_780_000_000 + second).unwrap()
}

fn write_until_killed(folder: &Path, bar: Uid) {
    let mut shop = Workshop::open(folder, at(0)).unwrap();
    for second in 0.. {
        let take = shop.takes().keep(format!("take {second} of {}", std::process::id()).as_bytes()).unwrap();
        let heard = HeardRecord {
            hz: HeardHz { bending: Some(vec![Some(500.0)]), torsion: None },
            sigma_cents: Some(1.0),
            temperature_c: Some(21.0),
        };
        let reading = ReadingRecord { heard, takes: vec![take.clone()], struck: None, listener: None };
        let name = shop.write(|step| {
            step.take_kept(&take, 9, 48_000, 1.0)?;
            step.add(bar, Body::Heard(reading).into(), at(second))
        });
        println!("{} {take}", name.unwrap());
    }
}

fn new_bar(shop: &mut Workshop, number: usize) -> Uid {
    let text = r#"{"format":"barwright-bar/1","length_mm":470,"width_mm":62,"thickness_mm":23}"#;
    let bar = BarFile::from_bytes(text.as_bytes()).unwrap().record().clone();
    let entered = EnteredRecord { label: format!("invented {number}"), board: None, reference: false, bar };
    shop.write(|step| step.begin(Kind::Bar, Body::Entered(Box::new(entered)).into(), at(0))).unwrap()
}

fn kill_and_look(kills: usize) {
    let folder = tempfile::tempdir_in(".").unwrap();
    let mut shop = Workshop::create(folder.path(), "Invented workshop", at(0)).unwrap();
    let (mut acknowledged, mut lost, mut unsound, mut empty) = (0, 0, 0, 0);
    let (mut bar, mut of_bar) = (new_bar(&mut shop, 0), HashSet::new());
    drop(shop);
    let started = Instant::now();
    for number in 0..kills {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([CHILD, folder.path().to_str().unwrap(), &bar.to_string()])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        // From before its first step until some tens of steps later, spread by a step that divides nothing.
        std::thread::sleep(Duration::from_micros(3_000 + (number as u64 * 7_919) % 60_000));
        child.kill().unwrap();
        child.wait().unwrap();
        // A line without its end was cut off while it was printed.
        let names: Vec<String> =
            lines.by_ref().map_while(Result::ok).filter(|line| line.len() == 36 + 1 + 64).collect();
        empty += usize::from(names.is_empty());
        acknowledged += names.len();
        of_bar.extend(names);
        let mut shop = Workshop::open(folder.path(), at(0)).unwrap();
        let history = shop.history(bar).unwrap();
        let found: HashSet<String> = history.events().iter().map(|event| event.uid.to_string()).collect();
        let gone = |line: &&String| !found.contains(&line[..36]) || shop.takes().read(&line[37..]).is_err();
        lost += of_bar.iter().filter(gone).count();
        if number % 100 == 99 {
            unsound += shop.check(|_, _| ()).unwrap().problems.len();
        }
        if number % KILLS_A_BAR == KILLS_A_BAR - 1 {
            (bar, of_bar) = (new_bar(&mut shop, number + 1), HashSet::new());
        }
    }
    println!("{kills} kills in {:.0} s, {empty} of them before the first step", started.elapsed().as_secs_f64());
    println!("{acknowledged} steps acknowledged, {lost} lost, {unsound} problems found by the check");
    assert!(lost == 0 && unsound == 0 && acknowledged > kills, "see above");
}
