//! A day of eight hours at the bench, as fast as the program can listen: `cargo run --release -p barwright --example long_day -- [HOURS]`.
//!
//! One page listens all day. Every minute something is knocked, every ten minutes the bar is struck; a machine runs for a
//! quarter of each minute. Prints what the program holds after each hour: memory that grows with the hours would be a leak.
#![allow(clippy::unwrap_used, reason = "an example fails by panicking")]
use barwright::bench::{Bench, Desk, SharedBench};
use barwright::page::{ServeOptions, Server};
use futures_util::{SinkExt, StreamExt};
use records::BarFile;
use serde_json::{Value, json};
use std::sync::{Arc, Mutex};
use std::time::Instant;
use strike::synth::{SynthMode, blow};
use tokio_tungstenite::client_async;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::tungstenite::client::IntoClientRequest;

const RATE_HZ: f64 = 48_000.0;
/// A browser sends frames of a fortieth of a second.
const FRAME: usize = 1200;

/// A minute of the workshop: something struck or knocked at 2 s, a machine from 30 to 45 s.
fn minute(modes: &[SynthMode], seed: u64) -> Vec<f32> {
    let mut sound = blow(modes, RATE_HZ, 58.0, 2.0, 0.0005, seed);
    let machine = blow(&[], RATE_HZ, 15.0, 0.0, 0.05, seed + 1_000_000);
    let from = (30.0 * RATE_HZ) as usize;
    sound[from..from + machine.len()].iter_mut().zip(&machine).for_each(|(sample, noise)| *sample += noise);
    sound
}

/// Memory this program holds, in megabytes (Linux; zero elsewhere).
fn held_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmRSS:")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|kb| kb.parse::<f64>().ok()).unwrap_or(0.0) / 1024.0
}

#[tokio::main]
async fn main() {
    let hours: u64 = std::env::args().nth(1).and_then(|hours| hours.parse().ok()).unwrap_or(8);
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/c3-rough.bar.json");
    let bench: SharedBench =
        Arc::new(Mutex::new(Bench::in_memory(BarFile::read(std::path::Path::new(path)).unwrap(), true)));
    let bending = bench.lock().unwrap().modes().unwrap().bending.clone();
    let mode = |hz, decay_s, amplitude| SynthMode { hz, decay_s, amplitude, phase_rad: 0.4 };
    let bar: Vec<SynthMode> =
        bending.iter().zip([(0.9, 0.4), (0.35, 0.3), (0.15, 0.2)]).map(|(m, (d, a))| mode(m.hz, d, a)).collect();
    let knock = [mode(310.0, 0.01, 0.4), mode(840.0, 0.008, 0.3)];
    let server = Server::bind(Desk::from(Arc::clone(&bench)), ServeOptions::default()).await.unwrap();
    let address = server.address();
    tokio::spawn(server.run(std::future::pending()));

    let mut request = format!("ws://{address}/live/bar").into_client_request().unwrap();
    request.headers_mut().insert("Origin", format!("http://{address}").parse().unwrap());
    let stream = tokio::net::TcpStream::connect(address).await.unwrap();
    let (mut line, _) = client_async(request, stream).await.unwrap();
    let hello = json!({ "session": "a day", "rate": RATE_HZ, "first": 0, "struck": "quarter" });
    line.send(Message::text(hello.to_string())).await.unwrap();

    let (began, mut at, mut answers, mut entered) = (Instant::now(), 0_u64, 0, 0);
    println!("hour  held MB  blows and knocks answered  readings entered  seconds");
    println!("{:>4} {:>8.1} {:>26} {:>17} {:>8.0}", 0, held_mb(), 0, 0, 0.0);
    for minute_of_day in 0..hours * 60 {
        let sound = minute(if minute_of_day % 10 == 0 { &bar } else { &knock }, minute_of_day);
        for frame in sound.chunks_exact(FRAME) {
            let mut bytes = at.to_le_bytes().to_vec();
            frame.iter().for_each(|sample| bytes.extend(sample.to_le_bytes()));
            at += FRAME as u64;
            line.send(Message::binary(bytes)).await.unwrap();
        }
        // Until the minute is received: the program is never asked to hold more than that.
        loop {
            let Some(Ok(message)) = line.next().await else { panic!("the line broke") };
            let Message::Text(text) = message else { continue };
            let said: Value = serde_json::from_str(&text).unwrap();
            match said["type"].as_str().unwrap() {
                "answer" => answers += 1,
                "entered" => entered += 1,
                "level" if said["got"].as_u64().unwrap() + 4 * FRAME as u64 >= at => break,
                _ => {}
            }
        }
        if minute_of_day % 60 == 59 {
            let hour = minute_of_day / 60 + 1;
            println!("{hour:>4} {:>8.1} {answers:>26} {entered:>17} {:>8.0}", held_mb(), began.elapsed().as_secs_f64());
        }
    }
}
