//! Killed at any point, cut off from power at any point: what was acknowledged is there.
use crate::workshop::common::*;
use records::workshop::{RECORD_FILE, Uid, Workshop};
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

const CHILD: &str = "BARWRIGHT_TEST_WRITER";

/// Not a test of its own: the program that is killed. Prints the name of each event once it is acknowledged.
#[test]
fn writer_to_be_killed() {
    let Ok(folder) = std::env::var(CHILD) else { return };
    let mut shop = Workshop::open(Path::new(&folder), at(0)).unwrap();
    let bar = shop.find_bars("#117", None).unwrap()[0].uid;
    for minute in 0..i64::MAX {
        let take = shop.takes().keep(format!("take {minute}").as_bytes()).unwrap();
        shop.write(|step| step.take_kept(&take, 9, 44_100, 1.0)).unwrap();
        let name = add(&mut shop, bar, heard(&[500.0]), minute);
        // A line of its own: the test harness writes to the same stream.
        println!("\nkept {name}");
        if minute % 7 == 6 {
            shop.write(|step| step.undo(bar, None, at(minute))).unwrap();
        }
    }
}

#[test]
fn nothing_acknowledged_is_lost_when_the_program_is_killed() {
    let folder = tempfile::tempdir().unwrap();
    let bar = enter(&mut new_workshop(folder.path()), "117");
    let mut kept: Vec<Uid> = Vec::new();
    for round in 0..12_u64 {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "workshop::kills::writer_to_be_killed", "--nocapture"])
            .env(CHILD, folder.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let out = BufReader::new(child.stdout.take().unwrap());
        let reader = std::thread::spawn(move || -> Vec<Uid> {
            let lines = out.lines().map_while(Result::ok);
            lines.filter_map(|line| line.strip_prefix("kept ")?.parse().ok()).collect()
        });
        // Spread over more than one step of the writer, which takes some milliseconds.
        std::thread::sleep(Duration::from_micros(40_000 + 7_919 * round));
        child.kill().unwrap();
        child.wait().unwrap();
        kept.extend(reader.join().unwrap());
        let shop = Workshop::open(folder.path(), at(0)).unwrap();
        let history = shop.history(bar).unwrap();
        let lost = kept.iter().filter(|name| !history.events().iter().any(|event| event.uid == **name)).count();
        assert_eq!(lost, 0, "round {round}");
        sound(&shop);
    }
    assert!(kept.len() > 12, "the writer got too little done to mean anything: {}", kept.len());
}

/// A power cut leaves some beginning of what was written to the journal: every such beginning must open to a
/// beginning of the history that holds all that was acknowledged before that point.
#[test]
fn any_beginning_of_the_journal_opens_to_a_beginning_of_the_history() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().join("shop");
    let mut shop = new_workshop(&home);
    let bar = enter(&mut shop, "117");
    let journal = home.join(format!("{RECORD_FILE}-wal"));
    let mut acknowledged = vec![(fs::metadata(&journal).unwrap().len(), 1)];
    for minute in 0..6 {
        add(&mut shop, bar, heard(&[500.0]), minute);
        acknowledged.push((fs::metadata(&journal).unwrap().len(), 2 + usize::try_from(minute).unwrap()));
    }
    let (record, whole) = (fs::read(home.join(RECORD_FILE)).unwrap(), fs::read(&journal).unwrap());
    let first = usize::try_from(acknowledged[0].0).unwrap();
    // A prime step meets frame borders, frame headers and the middles of pages.
    for (number, end) in (first..=whole.len()).step_by(1487).enumerate() {
        let cut = folder.path().join(format!("cut-{number}"));
        fs::create_dir(&cut).unwrap();
        fs::write(cut.join(RECORD_FILE), &record).unwrap();
        let mut rest = whole[..end].to_vec();
        // The block that was being written may hold anything.
        rest.extend([0xa5; 700]);
        fs::write(cut.join(format!("{RECORD_FILE}-wal")), rest).unwrap();
        let found = Workshop::open(&cut, at(99)).unwrap();
        let events = found.history(bar).unwrap().events().len();
        let safe = acknowledged.iter().filter(|(length, _)| *length <= end as u64).map(|(_, count)| *count).max();
        assert!(events >= safe.unwrap(), "cut at {end}: {events} of {safe:?}");
        sound(&found);
    }
}
