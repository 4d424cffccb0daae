//! Tells every open page at once what has changed: over a WebSocket, for those do not count toward the few plain
//! connections a browser allows to one address.
use super::state::PageState;
use axum::extract::State;
use axum::extract::ws::{Message, WebSocket, WebSocketUpgrade};
use axum::response::Response;
use std::time::Duration;
use tokio::sync::broadcast::error::RecvError;

/// A sleeping tablet is noticed after so long; the ping also keeps the connection through a router alive.
const PING: Duration = Duration::from_secs(20);

/// Opens the line.
pub async fn changes(State(state): State<PageState>, upgrade: WebSocketUpgrade) -> Response {
    upgrade.max_message_size(1024).on_upgrade(move |socket| tell(socket, state))
}

async fn tell(mut socket: WebSocket, state: PageState) {
    let mut changes = state.changes();
    let mut ping = tokio::time::interval(PING);
    loop {
        let message = tokio::select! {
            change = changes.recv() => match change {
                Ok(change) => Message::text(serde_json::to_string(&change).unwrap_or_default()),
                // Too slow to be told each: the page looks at everything anew.
                Err(RecvError::Lagged(_)) => Message::text("{}"),
                Err(RecvError::Closed) => return,
            },
            _ = ping.tick() => Message::Ping(Vec::new().into()),
            said = socket.recv() => match said {
                Some(Ok(_)) => continue,
                _ => return,
            },
        };
        if socket.send(message).await.is_err() {
            return;
        }
    }
}
