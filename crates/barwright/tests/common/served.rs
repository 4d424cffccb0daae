//! A page that is served for a test and stopped at its end.
use barwright::bench::Desk;
use barwright::error::Refused;
use barwright::lan::Lan;
use barwright::page::{ServeOptions, Server};
use std::net::SocketAddr;
use std::sync::Arc;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

/// A page that answers until it is ended.
pub struct Served {
    pub address: SocketAddr,
    pub url: String,
    pub lan: Option<Arc<Lan>>,
    stop: oneshot::Sender<()>,
    running: JoinHandle<Result<(), Refused>>,
}

impl Served {
    /// Serves what is on the desk on a free port.
    pub async fn start(desk: impl Into<Desk>) -> Self {
        Self::start_with(desk, ServeOptions::default()).await
    }

    /// Serves it by both doors; what is the workshop's network here is another free port of this computer.
    pub async fn start_on_lan(desk: impl Into<Desk>) -> Self {
        let lan = Some(SocketAddr::from(([127, 0, 0, 1], 0)));
        Self::start_with(desk, ServeOptions { lan, ..ServeOptions::default() }).await
    }

    async fn start_with(desk: impl Into<Desk>, options: ServeOptions) -> Self {
        let server = Server::bind(desk, options).await.unwrap();
        let (address, url, lan) = (server.address(), server.url(), server.lan().cloned());
        let (stop, stopped) = oneshot::channel::<()>();
        let running = tokio::spawn(server.run(async {
            let _ = stopped.await;
        }));
        Self { address, url, lan, stop, running }
    }

    /// Stops the page; it must have answered well to the end.
    pub async fn end(self) {
        let _ = self.stop.send(());
        self.running.await.unwrap().unwrap();
    }
}
