//! The page over real connections: what it answers, what it refuses, and that nothing is lost.
use crate::common::{bending_sound, example, wav};
use barwright::bench::{Bench, SharedBench};
use barwright::page::{ServeOptions, Server};
use records::BarFile;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::{Arc, Mutex};
use strike::synth::blow;
use tokio::runtime::Runtime;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

/// A page about an example bar, stopped when dropped.
struct Page {
    address: SocketAddr,
    bench: SharedBench,
    runtime: Runtime,
    stop: Option<oneshot::Sender<()>>,
    running: Option<JoinHandle<Result<(), barwright::error::Refused>>>,
}

struct Answer {
    status: u16,
    head: String,
    body: String,
}

impl Page {
    fn start(invented: bool) -> Self {
        let file = BarFile::read(&example("c3-rough.bar.json")).unwrap();
        let bench: SharedBench = Arc::new(Mutex::new(Bench::in_memory(file, invented)));
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
        let server = runtime.block_on(Server::bind(Arc::clone(&bench), ServeOptions::default())).unwrap();
        let address = server.address();
        let (stop, stopped) = oneshot::channel::<()>();
        let running = runtime.spawn(server.run(async {
            let _ = stopped.await;
        }));
        Self { address, bench, runtime, stop: Some(stop), running: Some(running) }
    }

    /// Sends a request as it stands and reads the whole answer.
    fn raw(&self, head: &str, body: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(self.address).unwrap();
        stream.write_all(head.as_bytes()).unwrap();
        // The page may answer and close before all is sent.
        let _ = stream.write_all(body);
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
        Answer { status, head: head.to_lowercase(), body: body.to_owned() }
    }

    fn get(&self, path: &str) -> Answer {
        self.raw(&format!("GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", self.address), b"")
    }

    fn post(&self, path: &str, kind: &str, more: &str, body: &[u8]) -> Answer {
        let head = format!(
            "POST {path} HTTP/1.1\r\nHost: {0}\r\nConnection: close\r\nContent-Type: {kind}\r\nContent-Length: {1}\r\n{more}\r\n",
            self.address,
            body.len()
        );
        self.raw(&head, body)
    }

    fn form(&self, path: &str, body: &str) -> Answer {
        self.post(path, "application/x-www-form-urlencoded", "", body.as_bytes())
    }

    /// Sends a recording as the page's form does.
    fn take(&self, name: &str, bytes: &[u8], struck: &str) -> Answer {
        let mut body = format!("--x\r\nContent-Disposition: form-data; name=\"struck\"\r\n\r\n{struck}\r\n--x\r\nContent-Disposition: form-data; name=\"take\"; filename=\"{name}\"\r\nContent-Type: audio/wav\r\n\r\n").into_bytes();
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n--x--\r\n");
        self.post("/take", "multipart/form-data; boundary=x", "", &body)
    }

    fn revision(&self) -> u64 {
        self.bench.lock().unwrap().revision()
    }

    /// A synthetic blow on the bar as it is believed to be.
    fn blow(&self) -> Vec<u8> {
        let modes = self.bench.lock().unwrap().modes().unwrap();
        let sound = bending_sound(&modes);
        wav(&blow(&sound, 48_000.0, 1.2, 0.3, 0.0005, 3), 48_000, 1, 16, false)
    }
}

#[test]
fn the_bench_is_one_page_that_needs_nothing_from_elsewhere() {
    let page = Page::start(false);
    let first = page.get("/");
    assert_eq!(first.status, 200);
    assert!(first.head.contains("content-security-policy: default-src 'self'"), "{}", first.head);
    assert!(!first.head.contains("unsafe"));
    let html = &first.body;
    assert!(html.contains("<h1 class=\"instruction") && html.contains("role=\"img\""));
    let outside: Vec<&str> = html
        .match_indices("http")
        .map(|(at, _)| &html[at..(at + 40).min(html.len())])
        .filter(|s| !s.starts_with("http://www.w3.org/2000/svg"))
        .collect();
    assert!(outside.is_empty(), "{outside:?}");
    assert!(!html.contains(" style=") && !html.contains("<style") && !html.contains("onclick"), "nothing inline");
    for asset in ["bench.css", "bench.js", "regular.woff2", "bold.woff2", "icon.svg"] {
        assert_eq!(page.get(&format!("/assets/{asset}")).status, 200, "{asset}");
    }
    assert_eq!(page.get("/assets/other").status, 404);
    let lost = page.get("/nowhere");
    assert!(lost.status == 404 && lost.body.contains("Back to the start"));
    assert_eq!(page.get("/").body, *html, "a second visit shows the same");
    assert!(!html.contains("invented workshop"));
    assert!(Page::start(true).get("/").body.contains("invented workshop: a simulated bar"));
}

#[test]
fn other_names_and_other_pages_are_refused_in_words() {
    let page = Page::start(false);
    let other = page.raw("GET / HTTP/1.1\r\nHost: example.org\r\nConnection: close\r\n\r\n", b"");
    assert_eq!(other.status, 403);
    assert!(other.body.contains("127.0.0.1") && !other.body.contains("C3"));
    let form = "application/x-www-form-urlencoded";
    let crossed = page.post("/cut", form, "Origin: https://example.org\r\n", b"revision=0&passes=3");
    assert_eq!((crossed.status, page.revision()), (403, 0));
    assert!(crossed.body.contains("nothing was changed"), "{}", crossed.body);
}

#[test]
fn a_recording_is_heard_a_cut_entered_and_both_are_taken_back() {
    let page = Page::start(false);
    let sent = page.take("blow.wav", &page.blow(), "end");
    assert!(sent.status == 303 && sent.head.contains("location: /"), "{} {}", sent.status, sent.body);
    let heard = page.get("/").body;
    assert!(heard.contains("Heard and entered: modes 1, 2 and 3") && heard.contains("Heard last"));
    assert_eq!(page.revision(), 1);
    let advice = page.bench.lock().unwrap().advise().unwrap();
    assert!(!advice.bands.is_empty(), "this test needs a bar that is still to be cut: {}", advice.instruction);
    let (_, most) = advice.passes.unwrap();
    assert_eq!(page.form("/cut", &format!("revision=1&passes={most}")).status, 303);
    assert_eq!(page.revision(), 2);
    let cut = page.get("/").body;
    assert!(cut.contains("The cut is entered") && cut.contains(&format!("({most} pass")), "the bout is in the table");
    let json: serde_json::Value = serde_json::from_str(&page.get("/api/bench").body).unwrap();
    assert_eq!((json["revision"].as_u64(), json["can_undo"].as_bool()), (Some(2), Some(true)));
    assert!(json["bouts"].as_array().unwrap().last().unwrap()["done"].as_str().unwrap().contains("cut"));
    for revision in [3, 4] {
        assert_eq!(page.form("/undo", "").status, 303);
        assert_eq!(page.revision(), revision);
        assert!(page.get("/").body.contains("Taken back"));
    }
    page.form("/undo", "");
    assert_eq!(page.revision(), 4, "nothing more to take back");
    assert!(
        page.get("/").body.contains("nothing was entered since")
            || page.get("/").body.contains("Nothing was entered since")
    );
}

#[test]
fn a_cut_pressed_twice_is_entered_once() {
    let page = Page::start(false);
    let passes = page.bench.lock().unwrap().advise().unwrap().passes.unwrap().0;
    let body = format!("revision=0&passes={passes}");
    page.form("/cut", &body);
    page.form("/cut", &body);
    assert_eq!(page.revision(), 1);
    assert!(page.get("/").body.contains("The bench has changed since this page was shown"));
}

#[test]
fn bad_input_is_refused_in_words_and_changes_nothing() {
    let page = Page::start(false);
    let cases: [(&str, Answer, &str); 6] = [
        ("a text", page.take("song.wav", b"not a recording at all", ""), "recording was not entered"),
        ("nothing", page.take("empty.wav", b"", ""), "Choose a recording"),
        ("a place that is none", page.take("blow.wav", b"RIFF", "middle"), "is no place to strike"),
        ("no form", page.post("/take", "text/plain", "", b"hello"), "not a form with a recording"),
        ("no number", page.form("/cut", "revision=0&passes=many"), "could not be read"),
        ("too many passes", page.form("/cut", "revision=0&passes=100000"), "whole number from 1 to 200"),
    ];
    for (what, answer, _) in &cases {
        assert_eq!(answer.status, 303, "{what}: {}", answer.body);
    }
    assert_eq!(page.revision(), 0);
    // The last refusal is the one shown; each is asked for again on its own.
    assert!(page.get("/").body.contains(cases[5].2));
    for (index, words) in [(0, cases[0].2), (1, cases[1].2), (2, cases[2].2)] {
        let _ = match index {
            0 => page.take("song.wav", b"not a recording at all", ""),
            1 => page.take("empty.wav", b"", ""),
            _ => page.take("blow.wav", b"RIFF", "middle"),
        };
        assert!(page.get("/").body.contains(words), "{words}");
    }
    let json = page.post("/take", "text/plain", "Accept: application/json\r\n", b"hello");
    assert_eq!(json.status, 422);
    let refused: serde_json::Value = serde_json::from_str(&json.body).unwrap();
    assert_eq!(refused["error"]["code"], "upload_broken");
}

#[test]
fn a_recording_beyond_the_limit_is_refused_with_the_limit() {
    let page = Page::start(false);
    // One byte more than 64 MiB.
    let sent = page.take("long.wav", &vec![0; 64 * 1024 * 1024 + 1], "");
    assert_eq!((sent.status, page.revision()), (303, 0));
    let body = page.get("/").body;
    assert!(body.contains("larger than 64 MiB") && body.contains("ten seconds are plenty"), "the refusal is in words");
}

#[test]
fn fewer_and_more_passes_work_without_a_script() {
    let page = Page::start(false);
    assert!(
        page.get("/?passes=7").body.contains("name=\"passes\" min=\"1\" max=\"200\" inputmode=\"numeric\" value=\"7\"")
    );
    assert_eq!(page.get("/?passes=x").status, 200);
}

#[test]
fn stopping_does_not_wait_for_a_connection_that_stays_open() {
    let mut page = Page::start(false);
    let mut idle = TcpStream::connect(page.address).unwrap();
    idle.write_all(format!("POST /take HTTP/1.1\r\nHost: {}\r\nContent-Length: 10\r\n\r\n", page.address).as_bytes())
        .unwrap();
    page.stop.take().unwrap().send(()).unwrap();
    let running = page.running.take().unwrap();
    // Far beyond the three seconds of grace; without the deadline this would never end.
    let ended =
        page.runtime.block_on(async { tokio::time::timeout(std::time::Duration::from_secs(60), running).await });
    ended.expect("the page stops").unwrap().unwrap();
}

#[test]
fn a_taken_port_is_named() {
    let page = Page::start(false);
    let options = ServeOptions { port: page.address.port(), ..ServeOptions::default() };
    let refused = page.runtime.block_on(Server::bind(Arc::clone(&page.bench), options)).err().unwrap();
    assert_eq!(refused.code, "port_taken");
    assert!(refused.message.contains(&page.address.port().to_string()) && !refused.hint.is_empty());
}
