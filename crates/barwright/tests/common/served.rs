//! A page that is served for a test and stopped at its end.
use barwright::bench::Desk;
use barwright::error::Refused;
use barwright::page::{ServeOptions, Server};
use std::net::SocketAddr;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

/// A page that answers until it is ended.
pub struct Served {
    pub address: SocketAddr,
    pub url: String,
    stop: oneshot::Sender<()>,
    running: JoinHandle<Result<(), Refused>>,
}

impl Served {
    /// Serves what is on the desk on a free port.
    pub async fn start(desk: impl Into<Desk>) -> Self {
        let server = Server::bind(desk, ServeOptions::default()).await.unwrap();
        let (address, url) = (server.address(), server.url());
        let (stop, stopped) = oneshot::channel::<()>();
        let running = tokio::spawn(server.run(async {
            let _ = stopped.await;
        }));
        Self { address, url, stop, running }
    }

    /// Stops the page; it must have answered well to the end.
    pub async fn end(self) {
        let _ = self.stop.send(());
        self.running.await.unwrap().unwrap();
    }
}
