//! The microphone's line: what is heard is entered once, whatever happens to the line.
use crate::common::served::Served;
use crate::common::{bending_sound, example};
use barwright::bench::{Bench, Desk, SharedBench};
use futures_util::{SinkExt, StreamExt};
use records::{BarFile, LogEntry};
use serde_json::{Value, json};
use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use strike::synth::blow;
use tokio::net::TcpStream;
use tokio_tungstenite::tungstenite::client::IntoClientRequest;
use tokio_tungstenite::tungstenite::{Error, Message};
use tokio_tungstenite::{WebSocketStream, client_async};

const RATE_HZ: f64 = 48_000.0;
/// A browser sends frames of a twentieth of a second.
const FRAME: usize = 2400;
/// Far more than any answer takes, also on a loaded machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// A page about an example bar.
struct Page {
    bench: SharedBench,
    served: Served,
}

impl Page {
    async fn start(bench: SharedBench) -> Self {
        let served = Served::start(Desk::from(Arc::clone(&bench))).await;
        Self { bench, served }
    }

    async fn end(self) {
        self.served.end().await;
    }

    fn readings(&self) -> usize {
        self.bench.lock().unwrap().file().log().iter().filter(|entry| matches!(entry, LogEntry::Heard(_))).count()
    }
}

fn example_bench() -> SharedBench {
    let file = BarFile::read(&example("c3-rough.bar.json")).unwrap();
    Arc::new(Mutex::new(Bench::in_memory(file, true)))
}

/// Blows on the bar as it is believed to be, each after 0.7 s of quiet.
fn blows(bench: &SharedBench, count: u64) -> Vec<f32> {
    let modes = bench.lock().unwrap().modes().unwrap();
    let sound = bending_sound(&modes);
    // At the end quiet for longer than a ring is ever followed, in whole frames.
    let quiet = blow(&sound, RATE_HZ, 0.01, 6.0, 0.0005, 99);
    let whole = |samples: Vec<f32>| samples[..samples.len() / FRAME * FRAME].to_vec();
    let sounds = (0..count).flat_map(|seed| blow(&sound, RATE_HZ, 1.6, 0.7, 0.0005, seed));
    whole(sounds.chain(quiet[..(5.5 * RATE_HZ) as usize].iter().copied()).collect())
}

type Socket = WebSocketStream<TcpStream>;

async fn open(address: SocketAddr, path: &str, origin: Option<&str>) -> Result<Socket, Error> {
    let mut request = format!("ws://{address}{path}").into_client_request().unwrap();
    if let Some(origin) = origin {
        request.headers_mut().insert("Origin", origin.parse().unwrap());
    }
    let stream = TcpStream::connect(address).await.unwrap();
    Ok(client_async(request, stream).await?.0)
}

/// The next thing said.
async fn said(socket: &mut Socket) -> Value {
    loop {
        let message = tokio::time::timeout(PATIENCE, socket.next()).await.expect("an answer").unwrap().unwrap();
        if let Message::Text(text) = message {
            return serde_json::from_str(&text).unwrap();
        }
    }
}

/// A microphone as the page holds it: all samples, and what may be forgotten.
struct Mic {
    socket: Socket,
    from: u64,
    safe: u64,
    heard: Vec<Value>,
}

impl Mic {
    async fn join(address: SocketAddr, first: u64) -> Self {
        Self::join_as(address, "a page", first).await
    }

    async fn join_as(address: SocketAddr, session: &str, first: u64) -> Self {
        let mut socket = open(address, "/live/bar", Some(&format!("http://{address}"))).await.unwrap();
        let hello = json!({ "session": session, "rate": RATE_HZ, "first": first, "struck": "quarter" });
        socket.send(Message::text(hello.to_string())).await.unwrap();
        let go = said(&mut socket).await;
        assert_eq!(go["type"], "go", "{go}");
        Self { socket, from: go["from"].as_u64().unwrap(), safe: first, heard: Vec::new() }
    }

    /// Sends samples `from..to` of the stream and waits until they are received.
    async fn send(&mut self, samples: &[f32], from: usize, to: usize) {
        for (index, start) in (from..to).step_by(FRAME).enumerate() {
            let end = (start + FRAME).min(to);
            let mut bytes = (start as u64).to_le_bytes().to_vec();
            samples[start..end].iter().for_each(|sample| bytes.extend(sample.to_le_bytes()));
            self.socket.send(Message::binary(bytes)).await.unwrap();
            // The level is told every tenth of a second: after each second frame at the latest.
            if index % 2 == 1 || end == to {
                self.until(end.saturating_sub(FRAME) as u64).await;
            }
        }
    }

    /// Listens until so many samples are received.
    async fn until(&mut self, got: u64) {
        loop {
            let value = said(&mut self.socket).await;
            if value["type"] == "level" {
                self.safe = value["safe"].as_u64().unwrap();
                if value["got"].as_u64().unwrap() >= got {
                    return;
                }
            } else {
                self.heard.push(value);
            }
        }
    }

    fn count(&self, kind: &str) -> usize {
        self.heard.iter().filter(|value| value["type"] == kind).count()
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_whole_blow_is_a_reading_and_every_page_is_told() {
    let page = Page::start(example_bench()).await;
    let before = page.readings();
    let samples = blows(&page.bench, 2);
    let mut changes = open(page.served.address, "/changes", None).await.unwrap();
    let mut mic = Mic::join(page.served.address, 0).await;
    mic.send(&samples, 0, samples.len()).await;
    assert_eq!((mic.count("blow"), mic.count("entered")), (2, 2), "{:#?}", mic.heard);
    let first = mic.heard.iter().find(|value| value["type"] == "answer").unwrap();
    assert_eq!((first["verdict"].as_str(), first["why"].as_str()), (Some("heard"), Some("modes 1, 2 and 3")));
    assert_eq!(page.readings(), before + 2);
    assert_eq!(said(&mut changes).await["bench"], "bar");
    // After a cut the listener knows the bar as it is then.
    let body = format!("revision={}&passes=1", page.bench.lock().unwrap().revision());
    post(page.served.address, "/cut", &body).await;
    let start = samples.len();
    let all: Vec<f32> = samples.into_iter().chain(blows(&page.bench, 1)).collect();
    mic.send(&all, start, all.len()).await;
    assert_eq!(page.readings(), before + 3);
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn blows_at_two_places_make_one_reading() {
    let page = Page::start(example_bench()).await;
    let before = page.readings();
    let modes = page.bench.lock().unwrap().modes().unwrap();
    let sound = bending_sound(&modes);
    // In the middle mode 2 is still; then a quarter from the end, where mode 3 happens to be lost.
    let middle = [sound[0], sound[2]];
    let quarter = [sound[0], sound[1]];
    let quiet = blow(&[], RATE_HZ, 0.01, 6.0, 0.0005, 99);
    let all =
        [blow(&middle, RATE_HZ, 1.6, 0.7, 0.0005, 1), blow(&quarter, RATE_HZ, 1.6, 0.7, 0.0005, 2), quiet].concat();
    let samples = &all[..all.len() / FRAME * FRAME];
    let mut mic = Mic::join(page.served.address, 0).await;
    mic.send(samples, 0, samples.len()).await;
    let verdicts: Vec<&str> = mic.heard.iter().filter_map(|value| value["verdict"].as_str()).collect();
    assert!(verdicts[0] == "place", "{:#?}", mic.heard);
    assert_eq!(mic.count("entered"), 2);
    assert_eq!(page.readings(), before + 1, "the second blow completes the reading of the first");
    let last = page.bench.lock().unwrap().file().log().last().cloned();
    let Some(LogEntry::Heard(reading)) = last else { panic!("a reading") };
    let heard = reading.hz.bending.as_ref().unwrap();
    assert!(heard.len() == 3 && heard.iter().all(Option::is_some), "{heard:?}");
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_line_that_breaks_in_the_ring_loses_no_blow_and_doubles_none() {
    let page = Page::start(example_bench()).await;
    let before = page.readings();
    let samples = blows(&page.bench, 1);
    let middle = (1.0 * RATE_HZ) as usize / FRAME * FRAME;
    let mut mic = Mic::join(page.served.address, 0).await;
    mic.send(&samples, 0, middle).await;
    assert_eq!(mic.count("blow"), 1);
    drop(mic);
    // The page comes back with everything it still holds and sends it all, also what was received already.
    let mut mic = Mic::join(page.served.address, 0).await;
    assert!(mic.from > 0 && mic.from <= middle as u64, "it goes on where it was: {}", mic.from);
    mic.send(&samples, 0, samples.len()).await;
    assert_eq!((mic.count("blow"), mic.count("entered")), (0, 1), "{:#?}", mic.heard);
    assert_eq!(page.readings(), before + 1);
    page.end().await;
}

/// A microphone that was just switched on, and what the program says to that.
async fn switched_on(address: SocketAddr, session: &str) -> (Socket, Value) {
    let mut socket = open(address, "/live/bar", Some(&format!("http://{address}"))).await.unwrap();
    let hello = json!({ "session": session, "rate": RATE_HZ, "first": 0, "struck": "quarter" });
    socket.send(Message::text(hello.to_string())).await.unwrap();
    let first = said(&mut socket).await;
    (socket, first)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn fifty_microphones_are_served_at_once_and_beyond_the_limit_is_told_in_words() {
    let page = Page::start(example_bench()).await;
    let before = page.readings();
    let quiet = blow(&[], RATE_HZ, 0.5, 0.0, 0.0005, 5);
    let mut lines = Vec::new();
    // 64 is the limit: fifty as a classroom may have, and all the room there is.
    for number in 0..64 {
        let (socket, first) = switched_on(page.served.address, &format!("page {number}")).await;
        assert_eq!(first["type"], "go", "line {number}: {first}");
        lines.push(socket);
    }
    for line in &mut lines[..50] {
        for (index, samples) in quiet.chunks_exact(FRAME).enumerate() {
            let mut bytes = ((index * FRAME) as u64).to_le_bytes().to_vec();
            samples.iter().for_each(|sample| bytes.extend(sample.to_le_bytes()));
            line.send(Message::binary(bytes)).await.unwrap();
        }
    }
    for line in &mut lines[..50] {
        // Each is told how far it was heard: to the last frames of its half second.
        while said(line).await["got"].as_u64().is_none_or(|got| got < 8 * FRAME as u64) {}
    }
    let (_socket, refused) = switched_on(page.served.address, "one too many").await;
    assert_eq!(refused["type"], "refused");
    assert!(refused["message"].as_str().unwrap().contains("64 microphones"), "{refused}");
    assert!(!refused["hint"].as_str().unwrap().is_empty());
    // Among all of them a blow is heard as ever: a page whose line broke comes back to its own session.
    drop(lines.pop());
    let mut mic = Mic::join_as(page.served.address, "page 63", 0).await;
    let samples = blows(&page.bench, 1);
    mic.send(&samples, 0, samples.len()).await;
    assert_eq!((mic.count("entered"), page.readings()), (1, before + 1), "{:#?}", mic.heard);
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_program_started_anew_hears_a_blow_once() {
    let page = Page::start(example_bench()).await;
    let bench = Arc::clone(&page.bench);
    let before = page.readings();
    let samples = blows(&bench, 2);
    // Into the second ring: the first blow is entered, the second is not.
    let middle = (2.3 + 1.0) * RATE_HZ;
    let middle = middle as usize / FRAME * FRAME;
    let mut mic = Mic::join(page.served.address, 0).await;
    mic.send(&samples, 0, middle).await;
    assert_eq!((mic.count("blow"), mic.count("entered")), (2, 1), "{:#?}", mic.heard);
    let safe = mic.safe;
    drop(mic);
    page.end().await;
    assert_eq!(
        bench.lock().unwrap().file().log().iter().filter(|e| matches!(e, LogEntry::Heard(_))).count(),
        before + 1
    );
    let page = Page::start(bench).await;
    let mut mic = Mic::join(page.served.address, safe).await;
    assert_eq!(mic.from, safe, "the new program knows nothing: everything that is not settled comes again");
    mic.send(&samples, usize::try_from(safe).unwrap(), samples.len()).await;
    assert_eq!((mic.count("blow"), mic.count("entered")), (1, 1), "{:#?}", mic.heard);
    assert_eq!(page.readings(), before + 2);
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn another_page_gets_no_line_and_nonsense_is_answered_in_words() {
    let page = Page::start(example_bench()).await;
    for path in ["/live/bar", "/changes"] {
        for origin in ["http://example.org", "null"] {
            match open(page.served.address, path, Some(origin)).await {
                Err(Error::Http(answer)) => assert_eq!(answer.status(), 403, "{path} from {origin}"),
                other => panic!("{path} from {origin}: {other:?}"),
            }
        }
    }
    for hello in ["", "{}", "[1]", r#"{"session":"","rate":48000,"first":0}"#, r#"{"session":"x","rate":7,"first":0}"#]
    {
        let mut socket = open(page.served.address, "/live/bar", None).await.unwrap();
        socket.send(Message::text(hello)).await.unwrap();
        assert_eq!(said(&mut socket).await["type"], "refused", "{hello}");
    }
    let mut socket = open(page.served.address, "/live/nobody", None).await.unwrap();
    socket.send(Message::text(r#"{"session":"x","rate":48000,"first":0}"#)).await.unwrap();
    assert!(said(&mut socket).await["message"].as_str().unwrap().contains("nobody"));
    let mut mic = Mic::join(page.served.address, 0).await;
    mic.socket.send(Message::binary(vec![1, 2, 3])).await.unwrap();
    assert_eq!(said(&mut mic.socket).await["type"], "refused");
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_missing_in_the_stream_is_told() {
    let page = Page::start(example_bench()).await;
    let mut mic = Mic::join(page.served.address, 0).await;
    let quiet = vec![0.0; 3 * RATE_HZ as usize];
    mic.send(&quiet, 0, 10 * FRAME).await;
    mic.send(&quiet, 30 * FRAME, 40 * FRAME).await;
    let lost: Vec<f64> = mic.heard.iter().filter_map(|value| value["seconds"].as_f64()).collect();
    // Twenty frames of a twentieth of a second.
    assert!(lost.len() == 1 && (lost[0] - 1.0).abs() < 1e-9, "{lost:?}");
    page.end().await;
}

/// A form, sent as a browser would.
async fn post(address: SocketAddr, path: &str, body: &str) {
    use tokio::io::{AsyncReadExt, AsyncWriteExt};
    let mut stream = TcpStream::connect(address).await.unwrap();
    let request = format!(
        "POST {path} HTTP/1.1\r\nHost: {address}\r\nOrigin: http://{address}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.write_all(request.as_bytes()).await.unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).await.unwrap();
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
}
