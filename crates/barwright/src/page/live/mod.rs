//! The microphone of an open page: sound comes in over a WebSocket, answers go back.
//!
//! ```text
//! page → program   {"session","rate","first",…}  who speaks, and the first sample it still holds
//! program → page   {"type":"go","from"}          send from this sample on
//! page → program   binary                        number of the first sample (u64), samples (f32), little-endian
//! program → page   {"type":"level","got","safe"} received so far; what may be forgotten
//! program → page   {"type":"blow"|"answer"|"entered"|"lost",…}
//! ```
//!
//! Samples travel as 32-bit floats, as the browser's audio hands them over: nothing is rounded or clipped on the
//! way, at 190 kB a second. Every frame carries the running number of its first sample, so that a connection that
//! broke goes on where it was: what comes twice is left out, what is missing is told. The page keeps everything
//! after `safe`, the end of the last ring that was entered: also a program that was started anew then hears a blow
//! once, and once only.
mod answer;
mod bout;
#[cfg(fuzzing)]
pub mod doors;
mod frame;
mod session;

use super::state::PageState;
use crate::error::Refused;
use axum::extract::ws::{Message, WebSocket, WebSocketUpgrade};
use axum::extract::{Path, State};
use axum::response::Response;
use serde::Deserialize;
use serde_json::{Value, json};
use session::Session;
use std::collections::HashMap;
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// A frame of a second at 96 kHz is 384 kB; the page sends a fortieth of a second.
const LARGEST_MESSAGE: usize = 1024 * 1024;
/// A page that says nothing after it has connected is left.
const FIRST_WORD: Duration = Duration::from_secs(10);
/// A session whose page has gone is kept so long.
const KEPT: Duration = Duration::from_secs(90);
/// Microphones at once; a workshop has a few, a school may have a classroom of them. Each takes some megabytes.
const MOST_SESSIONS: usize = 64;

/// The sessions of all pages, by the name each page made up for its own.
pub type Sessions = Mutex<HashMap<String, Arc<Mutex<Session>>>>;

/// What a page says first.
#[derive(Debug, Clone, Deserialize)]
pub struct Hello {
    /// Name of the session, made up by the page; the same after a broken connection.
    session: String,
    /// Samples a second.
    rate: f64,
    /// Number of the first sample that the page still holds.
    first: u64,
    /// The rest, which can be said anew at any time.
    #[serde(flatten)]
    told: Told,
}

/// What the maker says of the next blows.
#[derive(Debug, Clone, Default, Deserialize)]
pub struct Told {
    /// Where the bar is struck: centre, quarter, corner, end, or "" for not said.
    #[serde(default)]
    struck: String,
    /// Name of the recorder in the record, for its clock.
    #[serde(default)]
    recorder: String,
    /// Temperature of the bar in degrees Celsius.
    #[serde(default)]
    temperature_c: Option<f64>,
    /// The microphone is switched off: the last word on a ring that still goes on is wanted.
    #[serde(default)]
    finish: bool,
}

/// Opens the line for one bar.
pub async fn live(State(state): State<PageState>, Path(name): Path<String>, upgrade: WebSocketUpgrade) -> Response {
    upgrade.max_message_size(LARGEST_MESSAGE).on_upgrade(move |socket| talk(socket, state, name))
}

async fn talk(mut socket: WebSocket, state: PageState, name: String) {
    let Some(hello) = first_word(&mut socket).await else { return };
    let token = hello.session.clone();
    let joined = state.with_desk(move |state| join(state, &name, &hello)).await;
    let (session, turn) = match joined {
        Ok(joined) => joined,
        Err(refused) => {
            // The page may have gone already.
            let _ = socket.send(refusal(&refused)).await;
            return;
        }
    };
    let from = super::state::held(&session).next();
    if socket.send(text(&json!({ "type": "go", "from": from }))).await.is_ok() {
        while let Some(Ok(message)) = socket.recv().await {
            let said = serve(&state, &session, turn, message).await;
            let Ok(said) = said else { break };
            for value in &said {
                if socket.send(text(value)).await.is_err() {
                    break;
                }
            }
        }
    }
    leave(state, token, session, turn);
}

async fn first_word(socket: &mut WebSocket) -> Option<Hello> {
    let message = tokio::time::timeout(FIRST_WORD, socket.recv()).await.ok()??.ok()?;
    let parsed = match &message {
        Message::Text(words) => serde_json::from_str::<Hello>(words).map_err(|error| error.to_string()),
        _ => Err("sound came before the first word".to_owned()),
    };
    match parsed {
        Ok(hello) if (1..=64).contains(&hello.session.len()) => Some(hello),
        other => {
            let why = other.err().unwrap_or_else(|| "the session has no name".to_owned());
            let refused = Refused::new(
                "bad_hello",
                format!("the page's first word is not understood ({why})"),
                "load the page anew",
            );
            let _ = socket.send(refusal(&refused)).await;
            None
        }
    }
}

/// The session of that name, or a new one; and the turn of this connection, which ends that of an older one.
fn join(state: &PageState, name: &str, hello: &Hello) -> Result<(Arc<Mutex<Session>>, u64), Refused> {
    let known = super::state::held(state.sessions()).get(&hello.session).cloned();
    if let Some(session) = known {
        let mut held = super::state::held(&session);
        if held.goes_on(name, hello) {
            let turn = held.take_turn();
            held.told(state, &hello.told)?;
            drop(held);
            return Ok((session, turn));
        }
    }
    let session = Arc::new(Mutex::new(Session::begin(state, name, hello)?));
    let mut sessions = super::state::held(state.sessions());
    if sessions.len() >= MOST_SESSIONS && !sessions.contains_key(&hello.session) {
        return Err(Refused::new(
            "too_many_microphones",
            format!("{MOST_SESSIONS} microphones are open already"),
            "close a page that is not used",
        ));
    }
    sessions.insert(hello.session.clone(), Arc::clone(&session));
    let turn = super::state::held(&session).take_turn();
    Ok((session, turn))
}

/// Takes one message; an error ends the connection.
async fn serve(
    state: &PageState,
    session: &Arc<Mutex<Session>>,
    turn: u64,
    message: Message,
) -> Result<Vec<Value>, Refused> {
    let session = Arc::clone(session);
    state
        .with_desk(move |state| {
            let mut session = super::state::held(&session);
            if !session.is_turn(turn) {
                return Err(Refused::new("taken_over", "another connection speaks for this page", ""));
            }
            match message {
                Message::Binary(bytes) => Ok(session.frame(state, &bytes)),
                Message::Text(words) => match serde_json::from_str::<Told>(&words) {
                    Ok(told) => session.told(state, &told),
                    Err(_) => Ok(Vec::new()),
                },
                _ => Ok(Vec::new()),
            }
        })
        .await
}

/// Forgets the session later, unless its page comes back.
fn leave(state: PageState, token: String, session: Arc<Mutex<Session>>, turn: u64) {
    tokio::spawn(async move {
        tokio::time::sleep(KEPT).await;
        if super::state::held(&session).is_turn(turn) {
            super::state::held(state.sessions()).remove(&token);
        }
    });
}

fn text(value: &Value) -> Message {
    Message::text(value.to_string())
}

fn refusal(refused: &Refused) -> Message {
    text(&json!({ "type": "refused", "message": refused.message, "hint": refused.hint }))
}
