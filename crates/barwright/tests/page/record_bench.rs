//! The bench of a bar in the workshop's record: the same as a bar file's, kept as events.
use crate::common::three_bars::order;
use crate::common::{bending_sound, example, wav};
use barwright::bench::{Bench, Desk, hold};
use barwright::page::{ServeOptions, Server};
use barwright::{convert, learnt_hand};
use jiff::Timestamp;
use making::virtual_bench::VirtualBar;
use making::{Band, Decision, Side};
use records::workshop::{Body, EnteredRecord, Entry, Fate, GivenRecord, Kind, PersonRecord, Uid, Workshop};
use records::{BarFile, BarRecord, Note};
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use strike::synth::blow;
use tokio::runtime::Runtime;

fn band() -> Band {
    Band { from_m: 0.02, to_m: 0.06, depth_m: 0.2e-3, side: Side::Both }
}

/// A record with the example bar in it, given the note C3.
pub(crate) fn desk() -> (tempfile::TempDir, Desk, Uid) {
    let folder = tempfile::tempdir().unwrap();
    let now = Timestamp::now();
    let mut workshop = Workshop::create(folder.path(), "invented", now).unwrap();
    let mut record = BarFile::read(&example("c3-rough.bar.json")).unwrap().record().clone();
    let log = record.log.take().unwrap();
    let bar = BarRecord { note: None, ..record };
    let uid = workshop
        .write(|step| {
            let home = step.begin(Kind::Instrument, order().into(), now)?;
            let entered = EnteredRecord { label: "17".to_owned(), board: None, reference: false, bar };
            let uid = step.begin(Kind::Bar, Body::Entered(Box::new(entered)).into(), now)?;
            let given = GivenRecord { instrument: home, note: "C3".to_owned(), a4_hz: 440.0 };
            let log = log.into_iter().map(Body::from);
            step.add_all(uid, std::iter::once(Body::Given(given)).chain(log).map(Entry::from), now)?;
            Ok(uid)
        })
        .unwrap();
    (folder, Desk::from(workshop), uid)
}

/// A blow on the bar as it is believed to be, 1.5 s with its lead.
fn struck(bench: &Bench) -> Vec<u8> {
    let modes = bench.modes().unwrap();
    wav(&blow(&bending_sound(&modes), 48_000.0, 1.2, 0.3, 0.0005, 3), 48_000, 1, 24, false)
}

#[test]
fn a_cut_and_a_blow_are_events_and_taking_back_is_one_too() {
    let (_folder, desk, uid) = desk();
    let bench = desk.bench(&uid.to_string()).unwrap();
    let mut bench = bench.lock().unwrap();
    let (before, advice) = (bench.revision(), bench.advise().unwrap());
    bench.cut(&[band()], Some(3)).unwrap();
    assert!(bench.revision() > before);
    assert!(bench.advise().unwrap().outlook[0].now_cents < advice.outlook[0].now_cents);
    let take = struck(&bench);
    bench.hear(&take, None).unwrap();
    assert!(bench.about().unwrap().heard_after_work);
    let workshop = desk.workshop().unwrap();
    {
        let workshop = hold(workshop);
        let history = workshop.history(uid).unwrap();
        let Body::Heard(reading) = &history.events().last().unwrap().entry.what else { panic!("a reading") };
        // The sound is kept with the reading.
        let kept = barwright::audio::read(&workshop.takes().read(&reading.takes[0]).unwrap()).unwrap();
        assert_eq!(kept.samples.len(), (1.5 * 48_000.0) as usize);
    }
    let count = hold(workshop).history(uid).unwrap().events().len();
    assert!(bench.undo().unwrap().is_some() && bench.undo().unwrap().is_some());
    assert!(bench.redo().unwrap().is_some());
    let history = hold(workshop).history(uid).unwrap();
    assert_eq!(history.events().len(), count + 3, "nothing is ever removed");
    assert_eq!(history.lines().iter().filter(|line| line.fate == Fate::TakenBack).count(), 1);
}

#[test]
fn what_another_program_enters_is_seen() {
    let (folder, desk, uid) = desk();
    let bench = desk.bench(&uid.to_string()).unwrap();
    let mut bench = bench.lock().unwrap();
    assert!(!bench.refresh().unwrap());
    let mut elsewhere = Workshop::open(folder.path(), Timestamp::now()).unwrap();
    let cut = barwright::convert::cut_record(&[band()], None);
    elsewhere.write(|step| step.add(uid, Body::Cut(cut).into(), Timestamp::now())).unwrap();
    // What was shown as the last thing is no longer that: taking it back would take back something unseen.
    assert_eq!(bench.undo().unwrap_err().code, "not_the_last");
    assert!(bench.undo().unwrap().unwrap().contains("cut"), "looked at anew by then");
}

#[test]
fn a_bar_that_is_not_there_is_refused() {
    let (_folder, desk, uid) = desk();
    for name in ["bar", "", "no-such", &Uid::fresh().to_string()] {
        assert_eq!(desk.bench(name).unwrap_err().code, "not_found", "{name}");
    }
    assert!(desk.bench(&uid.to_string()).is_ok());
    let single: barwright::bench::SharedBench = std::sync::Arc::new(std::sync::Mutex::new(Bench::in_memory(
        BarFile::read(&example("c3-rough.bar.json")).unwrap(),
        false,
    )));
    assert!(Desk::from(single).bench("bar").is_ok());
}

/// The desk's page, served as long as the runtime lives.
fn serve(desk: Desk) -> (Runtime, SocketAddr) {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let server = runtime.block_on(Server::bind(desk, ServeOptions::default())).unwrap();
    let address = server.address();
    runtime.spawn(server.run(std::future::pending()));
    (runtime, address)
}

/// One request over a connection of its own; the whole answer.
fn ask(address: SocketAddr, method: &str, path: &str, body: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nHost: {address}\r\nOrigin: http://{address}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    )
    .unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    answer
}

#[test]
fn the_page_lists_the_bars_and_what_is_done_there_is_an_event() {
    let (folder, desk, uid) = desk();
    let (_runtime, address) = serve(desk);
    let list = ask(address, "GET", "/", "");
    for words in ["Next: C3, bar 17", &format!("/bench/{uid}")] {
        assert!(list.contains(words), "{words}: {list}");
    }
    let bench = ask(address, "GET", &format!("/bench/{uid}"), "");
    assert!(bench.contains("bar 17, rough-tune") && bench.contains("invented marimba"), "{bench}");
    let revision = bench.split("name=\"revision\" value=\"").nth(1).unwrap().split('"').next().unwrap();
    let cut = ask(address, "POST", &format!("/bench/{uid}/cut"), &format!("revision={revision}&passes=2"));
    assert!(cut.starts_with("HTTP/1.1 303") && cut.contains(&format!("location: /bench/{uid}")), "{cut}");
    let caliper = ask(address, "POST", &format!("/bench/{uid}/caliper"), "at=50&thickness=22.9&unit=mm");
    assert!(caliper.starts_with("HTTP/1.1 303"), "{caliper}");
    let workshop = Workshop::open(folder.path(), Timestamp::now()).unwrap();
    let words: Vec<&str> =
        workshop.history(uid).unwrap().events().iter().rev().take(2).map(|event| event.entry.what.word()).collect();
    assert_eq!(words, ["caliper", "cut"]);
    for wrong in [Uid::fresh().to_string(), "bar".to_owned()] {
        assert!(ask(address, "GET", &format!("/bench/{wrong}"), "").starts_with("HTTP/1.1 404"));
        assert!(ask(address, "POST", &format!("/bench/{wrong}/undo"), "").starts_with("HTTP/1.1 404"));
    }
}

#[test]
fn a_bars_history_shows_everything_and_plays_its_sound() {
    let (_folder, desk, uid) = desk();
    let sound = {
        let bench = desk.bench(&uid.to_string()).unwrap();
        let mut bench = bench.lock().unwrap();
        bench.cut(&[band()], Some(3)).unwrap();
        bench.undo().unwrap();
        let take = struck(&bench);
        bench.hear(&take, None).unwrap();
        let workshop = hold(desk.workshop().unwrap());
        let history = workshop.history(uid).unwrap();
        let Body::Heard(reading) = &history.events().last().unwrap().entry.what else { panic!("a reading") };
        reading.takes[0].clone()
    };
    let (_runtime, address) = serve(desk);
    let page = ask(address, "GET", &format!("/history/{uid}"), "");
    for words in ["(taken back)", "took back", "mode 1 ", &format!("/takes/{sound}")] {
        assert!(page.contains(words), "{words}: {page}");
    }
    let mut stream = TcpStream::connect(address).unwrap();
    write!(stream, "GET /takes/{sound} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n").unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).unwrap();
    let body = answer.windows(4).position(|four| four == b"\r\n\r\n").unwrap() + 4;
    assert!(String::from_utf8_lossy(&answer[..body]).contains("audio/flac") && answer[body..].starts_with(b"fLaC"));
    for wrong in [format!("/history/{}", Uid::fresh()), "/takes/nothing".to_owned(), "/takes/..%2Fworkshop".to_owned()]
    {
        assert!(ask(address, "GET", &wrong, "").starts_with("HTTP/1.1 404"), "{wrong}");
    }
}

/// What stands in the row of that mode: cents apart, and the words about them.
fn row_of<'a>(page: &'a str, mode: &str) -> (f64, &'a str) {
    let (_, row) = page.split_once(&format!("<th scope=\"row\">{mode}</th>")).unwrap();
    let row = row.split_once("</tr>").unwrap().0;
    let cents = row.split_once("<strong>").unwrap().1.split_once(' ').unwrap().0;
    (cents.replace('\u{2212}', "-").parse().unwrap(), row)
}

#[test]
fn two_takes_are_compared_by_a_fresh_ear_and_a_change_is_told_from_none() {
    let (_folder, desk, uid) = desk();
    let (change, entries) = {
        let bench = desk.bench(&uid.to_string()).unwrap();
        let mut bench = bench.lock().unwrap();
        let hz = |bench: &Bench| bench.modes().unwrap().bending.iter().map(|m| m.hz).collect::<Vec<f64>>();
        let (first, before) = (struck(&bench), hz(&bench));
        // The same blow with other noise: nothing has changed between the two.
        let modes = bench.modes().unwrap();
        let again = wav(&blow(&bending_sound(&modes), 48_000.0, 1.2, 0.3, 0.0005, 4), 48_000, 1, 24, false);
        bench.hear_at(&first, None, Some(18.0)).unwrap();
        bench.hear_at(&again, None, Some(24.0)).unwrap();
        bench.cut(&[band()], Some(3)).unwrap();
        let after = hz(&bench);
        let last = struck(&bench);
        bench.hear(&last, None).unwrap();
        let change: Vec<f64> = before.iter().zip(&after).map(|(a, b)| bar_physics::units::cents(*b, *a)).collect();
        let history = hold(desk.workshop().unwrap()).history(uid).unwrap();
        let heard = |index: usize| matches!(&history.events()[index].entry.what, Body::Heard(r) if !r.takes.is_empty());
        (change, (0..history.events().len()).filter(|i| heard(*i)).map(|i| i + 1).collect::<Vec<usize>>())
    };
    let [first, second, third] = entries[..] else { panic!("three readings with sound: {entries:?}") };
    let (_runtime, address) = serve(desk);
    let compare = |a: &str, b: &str| ask(address, "GET", &format!("/history/{uid}/compare?a={a}&b={b}"), "");
    let take = |entry: usize| format!("{entry}.1");
    let page = ask(address, "GET", &format!("/history/{uid}"), "");
    assert!(page.contains("Compare two takes"), "{page}");
    for (field, entry) in [("a", second), ("b", third)] {
        let chosen = format!("name=\"{field}\" value=\"{entry}.1\" required checked");
        assert!(page.contains(&chosen), "the two newest are chosen: {page}");
    }

    let page = compare(&take(first), &take(second));
    let (cents, row) = row_of(&page, "bending 1");
    // The listener's own uncertainty at this noise is below a tenth of a cent.
    assert!(cents.abs() <= 0.2 && row.contains("no change that can be told"), "{row}");
    assert!(page.contains("6 °C warmer") && page.contains("−6 to −12 cents"), "{page}");

    let page = compare(&take(second), &take(third));
    for (number, truth) in change.iter().enumerate().take(2) {
        let (cents, row) = row_of(&page, &format!("bending {}", number + 1));
        // Shown to a tenth; the reading between has moved the belief by less than its uncertainty.
        assert!((cents - truth).abs() < 1.0, "mode {}: {cents} for {truth}", number + 1);
        assert!(row.contains("lower: ") && row.contains("times the uncertainty"), "{row}");
    }
    assert!(page.contains("temperature was not noted with both"), "{page}");
    assert_eq!(page.matches("<audio").count(), 2);
    // Without the head, which tells the time of day.
    let body = |answer: &str| answer.split_once("\r\n\r\n").unwrap().1.to_string();
    let turned = compare(&take(third), &take(second));
    assert!(body(&page) == body(&turned), "the earlier stands first however they are chosen");

    let same = compare(&take(first), &take(first));
    assert!(!same.starts_with("HTTP/1.1 200") && same.contains("one and the same sound"), "{same}");
    for wrong in ["1.1", "9999.1", "0.1", "x", &format!("{first}.2")] {
        assert!(compare(wrong, &take(third)).starts_with("HTTP/1.1 404"), "{wrong}");
    }
    assert!(ask(address, "GET", &format!("/history/{uid}/compare"), "").starts_with("HTTP/1.1 404"));
}

/// A simulated bar cut `cuts` times and struck after each, as a bar file.
fn worked_on(seed: u64, cuts: usize) -> BarFile {
    let note: Note = "C4".parse().unwrap();
    let mut bar = VirtualBar::new(seed, note.hz(440.0)).unwrap();
    for _ in 0..cuts {
        let advice = bar.advise().unwrap();
        assert_eq!(advice.decision, Decision::Cut, "seed {seed}: {}", advice.instruction);
        bar.cut(&advice.bands, Some(10)).unwrap();
        bar.hear().unwrap();
    }
    convert::file_of_job(bar.job(), &note).unwrap()
}

/// Enters a bar with its whole log, every cut by that person.
fn enter_worked(workshop: &mut Workshop, home: Uid, label: &str, file: &BarFile, by: Option<Uid>) -> Uid {
    let now = Timestamp::now();
    let mut record = file.record().clone();
    let log = record.log.take().unwrap_or_default();
    let bar = BarRecord { note: None, a4_hz: None, ..record };
    let entered = EnteredRecord { label: label.to_owned(), board: None, reference: false, bar };
    workshop
        .write(|step| {
            let uid = step.begin(Kind::Bar, Body::Entered(Box::new(entered)).into(), now)?;
            // A note serves one bar of an instrument; which one it is matters little here.
            let note = match label {
                "1" => "B3",
                "2" => "C4",
                _ => "C#4",
            };
            let note = note.to_owned();
            let given = GivenRecord { instrument: home, note, a4_hz: 440.0 };
            let log = std::iter::once(Body::Given(given)).chain(log.into_iter().map(Body::from));
            step.add_all(uid, log.map(|body| Entry { by, ..body.into() }), now)?;
            Ok(uid)
        })
        .unwrap()
}

#[test]
fn a_new_bar_begins_with_the_hand_learnt_on_the_ones_before() {
    let folder = tempfile::tempdir().unwrap();
    let now = Timestamp::now();
    let mut workshop = Workshop::create(folder.path(), "invented", now).unwrap();
    let person = |name: &str| Body::Person(PersonRecord { name: name.to_owned() });
    let home = workshop.write(|step| step.begin(Kind::Instrument, order().into(), now)).unwrap();
    let someone = workshop.write(|step| step.begin(Kind::Person, person("A").into(), now)).unwrap();
    let (one, two) = (worked_on(1, 3), worked_on(2, 2));
    enter_worked(&mut workshop, home, "1", &one, Some(someone));
    enter_worked(&mut workshop, home, "2", &two, None);
    let blank = worked_on(3, 0);
    let new = enter_worked(&mut workshop, home, "3", &blank, None);
    let file = learnt_hand::file_of(&workshop, new).unwrap();
    let hand = file.record().hand.clone().unwrap();
    // Bar 1 was cut by somebody else.
    assert_eq!(hand.from.as_deref(), Some(&["2".to_owned()][..]));
    // The usual hand is good to 22 %; two cuts with readings after them teach some of it.
    assert!(hand.depth_ratio_pct < 20.0, "{hand:?}");
    let alone = convert::believe(&two).unwrap().hand_learnt();
    assert_eq!(hand.depth_ratio > 1.0, alone.gain > 1.0, "{hand:?} {alone:?}");
    let desk = Desk::from(workshop);
    let bench = desk.bench(&new.to_string()).unwrap();
    let bench = bench.lock().unwrap();
    assert_eq!(bench.file().record().hand.as_ref(), Some(&hand));
    let advice = bench.advise().unwrap();
    assert!(advice.reasons.iter().any(|reason| reason.contains("as on bar 2:")), "{:?}", advice.reasons);
    // What is learnt is not written back: the record's own bar names no hand.
    assert!(hold(desk.workshop().unwrap()).bar(new).unwrap().file.record().hand.is_none());
}
