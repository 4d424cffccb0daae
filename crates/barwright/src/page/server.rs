//! Binding, running and stopping the page.
use super::state::PageState;
use super::{first_run, routes};
use crate::bench::{Desk, hold};
use crate::error::Refused;
use crate::lan::{self, Door, Lan, turned_true};
use crate::report::record::when;
use axum::Extension;
use jiff::Timestamp;
use std::future::Future;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::watch;

/// Requests that are still being answered get this long when the page is stopped.
const FAREWELL: Duration = Duration::from_secs(3);

/// How to serve the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ServeOptions {
    /// Port on 127.0.0.1; 0 takes any free one.
    pub port: u16,
    /// Whether to open the page in the maker's browser.
    pub open: bool,
    /// The private address at which the workshop's network may reach the page, if it may.
    pub lan: Option<SocketAddr>,
}

/// A page that is bound to its addresses but not yet answering.
#[derive(Debug)]
pub struct Server {
    listener: TcpListener,
    address: SocketAddr,
    desk: Desk,
    lan: Option<(Arc<Lan>, lan::Listener)>,
}

impl Server {
    /// Takes the loopback address, and that in the workshop's network if one is asked for; no other.
    ///
    /// # Errors
    /// [`Refused`] `port_taken` or `no_address`; `no_record` for the network without a record; as [`Lan::open`].
    pub async fn bind(desk: impl Into<Desk>, options: ServeOptions) -> Result<Self, Refused> {
        Self::on(bound(options.port)?, desk, options).await
    }

    /// Answers on an address of this computer's own that is bound already; what has knocked there meanwhile is let in.
    async fn on(bound: std::net::TcpListener, desk: impl Into<Desk>, options: ServeOptions) -> Result<Self, Refused> {
        let desk = desk.into();
        let listener = TcpListener::from_std(bound).map_err(|e| refused(options.port, &e))?;
        let address = listener.local_addr().map_err(|e| refused(options.port, &e))?;
        let lan = match options.lan {
            Some(lan) => Some(Lan::open(&workshop_of(&desk)?, lan, Timestamp::now()).await?),
            None => None,
        };
        Ok(Self { listener, address, desk, lan })
    }

    /// Where the page is on this computer.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// The address to open in a browser on this computer.
    pub fn url(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// The door to the workshop's network.
    pub fn lan(&self) -> Option<&Arc<Lan>> {
        self.lan.as_ref().map(|(lan, _)| lan)
    }

    /// Answers until `stop` is done; requests under way then get three seconds.
    ///
    /// # Errors
    /// [`Refused`] `page_failed` if the connection to the network is lost.
    pub async fn run(self, stop: impl Future<Output = ()> + Send + 'static) -> Result<(), Refused> {
        let (lan, network) = self.lan.unzip();
        let router = routes::router(PageState::new(self.desk, lan));
        let (stopping, stopped) = watch::channel(false);
        let home_router = router.clone().layer(Extension(Door::Home));
        let home = axum::serve(self.listener, home_router).with_graceful_shutdown(turned_true(stopped.clone()));
        let network = {
            let stopped = stopped.clone();
            async move {
                if let Some(network) = network {
                    network.run(router, stopped).await;
                }
                Ok(())
            }
        };
        let serving = async move { tokio::try_join!(home, network) };
        let deadline = async move {
            turned_true(stopped).await;
            tokio::time::sleep(FAREWELL).await;
        };
        let stop = async move {
            stop.await;
            stopping.send_replace(true);
            std::future::pending().await
        };
        tokio::select! {
            served = serving => served.map(|_| ()).map_err(|e: std::io::Error| Refused::new("page_failed", format!("the page stopped answering ({e})"), "start the program again")),
            () = deadline => Ok(()),
            () = stop => Ok(()),
        }
    }
}

/// The folder of the workshop whose devices are to be let in.
fn workshop_of(desk: &Desk) -> Result<PathBuf, Refused> {
    let folder = desk.workshop().map(|workshop| hold(workshop).folder().to_owned());
    folder.ok_or_else(|| {
        Refused::new(
            "no_record",
            "a bar file by itself has no workshop that could keep the paired devices",
            "serve the workshop's record: barwright serve --lan, without a bar file",
        )
    })
}

/// Says in the terminal how the workshop's network gets in.
fn tell_lan(lan: &Lan) {
    eprintln!("In the workshop's network it is at {} for paired devices.", lan.url());
    eprintln!("The first visit warns of an unknown certificate; it is the right one if its SHA-256 fingerprint is");
    eprintln!("  {}", lan.fingerprint());
    if let Some((code, until)) = lan.pairing().open(Timestamp::now()) {
        eprintln!("To pair a device, open {}pair on it and type {code} (until {}).", lan.url(), when(until));
        eprintln!("A QR code and further codes: Workshop, then Devices, on this computer's own page.");
    }
}

/// The loopback address with that port, as a socket that outlives the server on it.
fn bound(port: u16) -> Result<std::net::TcpListener, Refused> {
    let failed = |error: std::io::Error| refused(port, &error);
    let listener = std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(failed)?;
    listener.set_nonblocking(true).map_err(failed)?;
    Ok(listener)
}

/// Asks the five questions of a new workshop until it is set up in `folder`; the socket on which it was asked, for the page to go on there.
///
/// # Errors
/// [`Refused`] `port_taken` or `no_address`; `ended` if the program is interrupted before; `page_failed`.
pub async fn set_up(folder: &Path, options: ServeOptions) -> Result<std::net::TcpListener, Refused> {
    let listener = bound(options.port)?;
    let failed = |error: std::io::Error| refused(options.port, &error);
    let asking = listener.try_clone().and_then(TcpListener::from_std).map_err(failed)?;
    let url = format!("http://{}/", listener.local_addr().map_err(failed)?);
    eprintln!("There is no workshop yet. Five questions are at {url} (Ctrl-C stops, and nothing is written).");
    if options.open && open::that_detached(&url).is_err() {
        eprintln!("No browser could be started; open the address yourself.");
    }
    tokio::select! {
        asked = first_run::ask(asking, folder) => asked?,
        _ = tokio::signal::ctrl_c() => {
            return Err(Refused::new("ended", "no workshop was set up", "start the program again when you like"));
        }
    }
    Ok(listener)
}

/// Serves the page until Ctrl-C, printing its address; on a socket that is bound already, or by the options.
///
/// # Errors
/// [`Refused`] as [`Server::bind`] and [`Server::run`].
pub async fn serve(
    desk: impl Into<Desk>,
    options: ServeOptions,
    already_bound: Option<std::net::TcpListener>,
) -> Result<(), Refused> {
    let server = match already_bound {
        Some(listener) => Server::on(listener, desk, options).await?,
        None => Server::bind(desk, options).await?,
    };
    let url = server.url();
    eprintln!("The bench is at {url} (Ctrl-C stops it).");
    if let Some(lan) = server.lan() {
        tell_lan(lan);
    }
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
