//! The first page of a new workshop, by the program itself: what it asks, what it refuses, what it leaves.
use crate::browser_driver::{Browser, Screen};
use crate::common::barwright;
use records::workshop::{Kind, Workshop};
use serde_json::json;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

const DESKTOP: Screen = Screen { name: "desktop", width: 1280, height: 1100, mobile: false };
const PHONE: Screen = Screen { name: "phone", width: 390, height: 844, mobile: true };

/// The program, serving a folder that is not there yet; ended when dropped.
struct Program {
    child: Child,
    address: String,
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Program {
    fn start(folder: &Path) -> Self {
        let mut child = Command::new(barwright().get_program())
            .args(["--workshop", folder.to_str().unwrap(), "serve", "--no-open", "--port", "0"])
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stderr.take().unwrap()).lines();
        let line = lines.next().unwrap().unwrap();
        assert!(line.contains("Five questions"), "{line}");
        let address = line.split("http://").nth(1).unwrap().split('/').next().unwrap().to_owned();
        // The program goes on telling; somebody must go on reading.
        std::thread::spawn(move || lines.count());
        Self { child, address }
    }

    /// Asks as a browser does: who is sent to the same address again goes there.
    fn follow(&self, head: &str, origin: &str) -> String {
        for _ in 0..100 {
            let answer = self.ask(head, origin, "").unwrap();
            if !answer.starts_with("HTTP/1.1 307") {
                return answer;
            }
            std::thread::sleep(std::time::Duration::from_millis(50));
        }
        panic!("sent on for five seconds");
    }

    fn ask(&self, head: &str, origin: &str, body: &str) -> std::io::Result<String> {
        let mut stream = TcpStream::connect(&self.address)?;
        write!(
            stream,
            "{head} HTTP/1.1\r\nHost: {}\r\nOrigin: {origin}\r\nConnection: close\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
            self.address,
            body.len()
        )?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer)?;
        Ok(answer)
    }
}

#[test]
fn five_answers_set_a_workshop_up_and_wrong_ones_write_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (home, copies) = (folder.path().join("shop"), folder.path().join("copies"));
    let program = Program::start(&home);
    let own = format!("http://{}", program.address);
    let first = program.ask("GET /", &own, "").unwrap();
    for part in [
        "1. What is it called?",
        "2. Who works here?",
        "3. Lengths in",
        "4. The first instrument?",
        "5. A folder",
        "content-security-policy",
    ] {
        assert!(first.contains(part), "{part}: {first}");
    }
    let form = |name: &str, a4: &str| {
        let copies = copies.display().to_string().replace('/', "%2F");
        format!("name={name}&person=Invented+maker&units=mm&instrument=First+marimba&a4={a4}&copies={copies}")
    };
    for (body, wanted) in [
        (form("", "442"), "has no name"),
        (form("Shop", "4420"), "4420 Hz"),
        (form("Shop", ""), "has no pitch"),
        (form(&"x".repeat(90), "442"), "90 letters"),
        ("name=Shop".to_owned(), "could not be read"),
    ] {
        let answer = program.ask("POST /", &own, &body).unwrap();
        assert!(answer.contains(wanted) && answer.contains("Not set up yet"), "{wanted}: {answer}");
        assert!(!home.exists(), "{wanted}");
    }
    let foreign = program.ask("POST /", "https://example.org", &form("Shop", "442")).unwrap();
    assert!(foreign.starts_with("HTTP/1.1 403") && !home.exists(), "{foreign}");

    let done = program.ask("POST /", &own, &form("Invented+shop", "442%2C5")).unwrap();
    assert!(done.contains("The workshop is set up in") && done.contains("A first copy lies in"), "{done}");
    assert!(done.contains("set-cookie"), "{done}");
    // The program goes on at the same address with the workshop itself; who knocks in between waits and is let in.
    let front = program.follow("GET /workshop", &own);
    assert!(front.starts_with("HTTP/1.1 200"), "{front}");
    assert!(front.contains("Invented shop") && front.contains("First marimba"), "{front}");
    let shop = Workshop::open(&home, jiff::Timestamp::now()).unwrap();
    assert_eq!(shop.list(Kind::Person).unwrap()[0].name, "Invented maker");
    let instrument = shop.list(Kind::Instrument).unwrap()[0].uid;
    assert!((shop.order(instrument).unwrap().a4_hz - 442.5).abs() < 1e-9);
    assert!(std::fs::read_dir(&copies).unwrap().count() >= 1);
}

#[test]
fn a_workshop_that_came_there_meanwhile_is_opened_and_not_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().join("shop");
    let program = Program::start(&home);
    let own = format!("http://{}", program.address);
    drop(Workshop::create(&home, "The other program's", jiff::Timestamp::now()).unwrap());
    let form = "name=Mine&person=&units=mm&instrument=&a4=442&copies=";
    let done = program.ask("POST /", &own, form).unwrap();
    assert!(done.contains("It is opened"), "{done}");
    let front = program.follow("GET /workshop", &own);
    assert!(front.contains("The other program") && !front.contains("Mine"), "{front}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_first_page_is_sound_for_everybody_and_leads_to_the_workshop() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let folder = tempfile::tempdir().unwrap();
    let program = Program::start(&folder.path().join("shop"));
    let url = format!("http://{}/", program.address);
    for (screen, scheme) in [(DESKTOP, "light"), (DESKTOP, "dark"), (PHONE, "light")] {
        browser.show_as(screen, scheme).await;
        browser.client.goto(&url).await.unwrap();
        browser.ask("return document.fonts.ready.then(() => true)").await;
        assert_eq!(browser.violations().await, Vec::<String>::new(), "{} {scheme}", screen.name);
        let widths = browser.ask("return [document.documentElement.scrollWidth, window.innerWidth]").await;
        assert!(widths[0].as_u64() <= widths[1].as_u64(), "{widths}");
        browser.picture(&format!("first-{}-{scheme}", screen.name)).await;
    }
    browser.ask("document.getElementById('instrument').value = 'First marimba'; document.querySelector('form button').click()").await;
    browser.wait_for("The workshop is set up in").await;
    assert_eq!(browser.violations().await, Vec::<String>::new());
    browser.ask("document.querySelector('main a').click()").await;
    browser.wait_for("Settings").await;
    assert_eq!(browser.ask("return !!document.getElementById('places')").await, json!(true));
    browser.picture("first-then").await;
    browser.client.clone().close().await.unwrap();
}
