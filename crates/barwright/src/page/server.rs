//! Binding, running and stopping the page.
use super::routes;
use super::state::PageState;
use crate::bench::Desk;
use crate::error::Refused;
use std::future::Future;
use std::net::{Ipv4Addr, SocketAddr};
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::oneshot;

/// Requests that are still being answered get this long when the page is stopped.
const FAREWELL: Duration = Duration::from_secs(3);

/// How to serve the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ServeOptions {
    /// Port on 127.0.0.1; 0 takes any free one.
    pub port: u16,
    /// Whether to open the page in the maker's browser.
    pub open: bool,
}

/// A page that is bound to its address but not yet answering.
#[derive(Debug)]
pub struct Server {
    listener: TcpListener,
    address: SocketAddr,
    desk: Desk,
}

impl Server {
    /// Takes the address; only the loopback one.
    ///
    /// # Errors
    /// [`Refused`] `port_taken` or `no_address`.
    pub async fn bind(desk: impl Into<Desk>, options: ServeOptions) -> Result<Self, Refused> {
        let listener =
            TcpListener::bind((Ipv4Addr::LOCALHOST, options.port)).await.map_err(|e| refused(options.port, &e))?;
        let address = listener.local_addr().map_err(|e| refused(options.port, &e))?;
        Ok(Self { listener, address, desk: desk.into() })
    }

    /// Where the page is.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// The address to open in a browser.
    pub fn url(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Answers until `stop` is done; requests under way then get three seconds.
    ///
    /// # Errors
    /// [`Refused`] `page_failed` if the connection to the network is lost.
    pub async fn run(self, stop: impl Future<Output = ()> + Send + 'static) -> Result<(), Refused> {
        let router = routes::router(PageState::new(self.desk));
        let (stopping, stopped) = oneshot::channel();
        let graceful = async move {
            stop.await;
            // The receiver waits in the same task; it is gone only when the answer no longer matters.
            let _ = stopping.send(());
        };
        let serving = async move { axum::serve(self.listener, router).with_graceful_shutdown(graceful).await };
        let deadline = async {
            match stopped.await {
                Ok(()) => tokio::time::sleep(FAREWELL).await,
                Err(_) => std::future::pending().await,
            }
        };
        tokio::select! {
            served = serving => served.map_err(|e| Refused::new("page_failed", format!("the page stopped answering ({e})"), "start the program again")),
            () = deadline => Ok(()),
        }
    }
}

/// Serves the page until Ctrl-C, printing its address.
///
/// # Errors
/// [`Refused`] as [`Server::bind`] and [`Server::run`].
pub async fn serve(desk: impl Into<Desk>, options: ServeOptions) -> Result<(), Refused> {
    let server = Server::bind(desk, options).await?;
    let url = server.url();
    eprintln!("The bench is at {url} (Ctrl-C stops it).");
    if options.open && open::that_detached(&url).is_err() {
        eprintln!("No browser could be started; open the address yourself.");
    }
    server
        .run(async {
            // Without a signal handler the page runs until the process is ended.
            if tokio::signal::ctrl_c().await.is_err() {
                std::future::pending::<()>().await;
            }
        })
        .await
}

fn refused(port: u16, error: &std::io::Error) -> Refused {
    if error.kind() == std::io::ErrorKind::AddrInUse {
        return Refused::new(
            "port_taken",
            format!("port {port} on 127.0.0.1 is in use, perhaps by another bench"),
            "name another port, or port 0 for any free one",
        );
    }
    Refused::new(
        "no_address",
        format!("the page could not take port {port} on 127.0.0.1 ({error})"),
        "name another port, or port 0 for any free one",
    )
}
