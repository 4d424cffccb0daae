//! Two programs serving the same thing: what one entered the other never overwrites.
use crate::common::example;
use crate::common::served::Served;
use crate::record_bench;
use barwright::bench::{Bench, Desk, SharedBench};
use barwright::page::{ServeOptions, Server};
use jiff::Timestamp;
use records::workshop::Workshop;
use records::{BarFile, LogEntry, WeighedRecord};
use std::net::SocketAddr;
use std::path::Path;
use std::sync::{Arc, Mutex};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// One request; the whole answer.
async fn ask(address: SocketAddr, head: &str, body: &str) -> String {
    let mut stream = TcpStream::connect(address).await.unwrap();
    let request = format!(
        "{head} HTTP/1.1\r\nHost: {address}\r\nOrigin: http://{address}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.write_all(request.as_bytes()).await.unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).await.unwrap();
    answer
}

/// Enters a cut as the page's button does, by a page that saw `revision`; the page that follows.
async fn cut(address: SocketAddr, bench: &str, revision: u64) -> String {
    let body = format!("revision={revision}&passes=2");
    let answer = ask(address, &format!("POST {bench}/cut"), &body).await;
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    ask(address, &format!("GET {}", if bench.is_empty() { "/" } else { bench }), "").await
}

fn cuts_in(path: &Path) -> usize {
    BarFile::read(path).unwrap().log().iter().filter(|entry| entry.key() == "cut").count()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_servers_on_one_bar_file_never_write_over_each_other() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("c3.bar.json");
    std::fs::copy(example("c3-rough.bar.json"), &path).unwrap();
    let open = || -> SharedBench { Arc::new(Mutex::new(Bench::from_file(&path).unwrap())) };
    let (here, there) = (open(), open());
    let first = Served::start(Desk::from(Arc::clone(&here))).await;
    let second = Served::start(Desk::from(Arc::clone(&there))).await;
    let before = cuts_in(&path);
    let (here_saw, there_saw) = (here.lock().unwrap().revision(), there.lock().unwrap().revision());
    cut(first.address, "", here_saw).await;
    assert_eq!(cuts_in(&path), before + 1);
    let shown = cut(second.address, "", there_saw).await;
    assert!(shown.contains("changed by another program"), "{shown}");
    assert_eq!(cuts_in(&path), before + 1, "what the first entered is there, and only that");
    // Opened anew it goes on from there.
    let weighed = LogEntry::Weighed(WeighedRecord { mass_g: 480.0 });
    there.lock().unwrap().enter(&weighed).unwrap_err();
    open().lock().unwrap().enter(&weighed).unwrap();
    assert_eq!(BarFile::read(&path).unwrap().log().last().unwrap().key(), "weighed");
    second.end().await;
    first.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_servers_on_one_record_show_each_others_entries() {
    let (folder, desk, uid) = record_bench::desk();
    let other = Desk::from(Workshop::open(folder.path(), Timestamp::now()).unwrap());
    let name = uid.to_string();
    let (here, there) = (desk.bench(&name).unwrap(), other.bench(&name).unwrap());
    let (first, second) = (Served::start(desk).await, Served::start(other).await);
    let bench = format!("/bench/{name}");
    let events = || Workshop::open(folder.path(), Timestamp::now()).unwrap().history(uid).unwrap().events().len();
    let before = events();
    let saw = here.lock().unwrap().revision();
    let there_saw = there.lock().unwrap().revision();
    cut(first.address, &bench, saw).await;
    assert_eq!(events(), before + 1);
    // The second page still shows the bar as it was: its button would enter the old advice once more.
    let shown = cut(second.address, &bench, there_saw).await;
    assert_eq!(events(), before + 1, "{shown}");
    // What it shows now is the bar with that cut, and from there it goes on.
    assert_eq!(there.lock().unwrap().revision(), here.lock().unwrap().revision());
    let answer = ask(second.address, &format!("POST {bench}/undo"), "").await;
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    assert_eq!(events(), before + 2);
    let shown = ask(first.address, &format!("GET {bench}"), "").await;
    assert!(shown.starts_with("HTTP/1.1 200"), "{shown}");
    assert_eq!(here.lock().unwrap().revision(), there.lock().unwrap().revision(), "each shows what the other entered");
    first.end().await;
    second.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_second_server_on_the_same_port_is_told_so_and_the_first_goes_on() {
    let bench: SharedBench =
        Arc::new(Mutex::new(Bench::in_memory(BarFile::read(&example("c3-rough.bar.json")).unwrap(), true)));
    let first = Served::start(Desk::from(Arc::clone(&bench))).await;
    let options = ServeOptions { port: first.address.port(), ..ServeOptions::default() };
    let refused = Server::bind(Desk::from(bench), options).await.err().unwrap();
    assert_eq!(refused.code, "port_taken");
    assert!(ask(first.address, "GET /", "").await.starts_with("HTTP/1.1 200"));
    first.end().await;
}
