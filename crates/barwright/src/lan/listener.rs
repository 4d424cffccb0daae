//! The door to the workshop's network: TLS 1.3 on one private address, with an end to everything that may take time.
use super::certificate::Identity;
use super::limits::Limits;
use super::wire::{Cuttable, Wire};
use super::{Door, Lan};
use crate::error::Refused;
use axum::Router;
use axum::body::Body;
use axum::extract::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use jiff::Timestamp;
use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::watch;
use tokio::task::JoinSet;
use tokio::time::timeout;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::{ServerConfig, version};
use tokio_rustls::server::TlsStream;
use tower_service::Service;

/// A telephone far from the router needs a second or two for the handshake.
const HANDSHAKE: Duration = Duration::from_secs(10);
/// The head of a request must be whole by then; a line on which nothing is asked is closed as well.
const HEAD: Duration = Duration::from_secs(30);
/// A line on which no paired device has shown itself is closed then: time to type a code on a line newly opened.
const STRANGER: Duration = Duration::from_secs(30);
/// What a browser may send in the head of a request.
const LARGEST_HEAD: usize = 32 * 1024;
/// First byte of a TLS connection: the record type "handshake" (RFC 8446, 5.1).
const TLS_HANDSHAKE: u8 = 22;
/// Looks for devices that another program has revoked.
const TEND: Duration = Duration::from_secs(1);
/// Before the next try after the system refused a connection, for want of file handles perhaps.
const PAUSE: Duration = Duration::from_millis(200);

/// A bound door.
#[derive(Debug)]
pub struct Listener {
    tcp: TcpListener,
    lan: Arc<Lan>,
    limits: Arc<Limits>,
    acceptor: Acceptor,
}

/// `TlsAcceptor` has no `Debug`.
#[derive(Clone)]
struct Acceptor(TlsAcceptor);

impl std::fmt::Debug for Acceptor {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Acceptor")
    }
}

/// Takes the address; nothing is made or kept before it is this program's.
///
/// # Errors
/// [`Refused`] `port_taken`, `not_this_computer`, `no_address`.
pub async fn take(address: SocketAddr) -> Result<TcpListener, Refused> {
    TcpListener::bind(address).await.map_err(|error| match error.kind() {
        io::ErrorKind::AddrInUse => Refused::new(
            "port_taken",
            format!("{address} is in use, perhaps by another bench"),
            format!(
                "name another port, such as --lan {}",
                SocketAddr::new(address.ip(), address.port().wrapping_add(1))
            ),
        ),
        io::ErrorKind::AddrNotAvailable => Refused::new(
            "not_this_computer",
            format!("{} is not an address of this computer", address.ip()),
            "give the address that the system's network settings show, or --lan alone to look for it",
        ),
        _ => {
            Refused::new("no_address", format!("{address} cannot be served ({error})"), "name another port or address")
        }
    })
}

impl Listener {
    /// A door with this certificate.
    ///
    /// # Errors
    /// [`Refused`] `no_certificate` if the certificate cannot be used.
    pub fn new(tcp: TcpListener, identity: Identity, lan: Arc<Lan>) -> Result<Self, Refused> {
        let config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
            .with_protocol_versions(&[&version::TLS13])
            .and_then(|b| b.with_no_client_auth().with_single_cert(vec![identity.certificate], identity.key));
        let mut config = config.map_err(|error| {
            Refused::new(
                "no_certificate",
                format!("the workshop's certificate cannot be used ({error})"),
                "move the folder lan in the workshop's folder away and start again",
            )
        })?;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        let acceptor = Acceptor(TlsAcceptor::from(Arc::new(config)));
        Ok(Self { tcp, limits: Arc::clone(&lan.limits), lan, acceptor })
    }

    /// Answers until `stop` turns true; requests under way are finished.
    pub async fn run(self, router: Router, stop: watch::Receiver<bool>) {
        let mut stopped = std::pin::pin!(turned_true(stop.clone()));
        let mut lines = JoinSet::new();
        let mut tend = tokio::time::interval(TEND);
        loop {
            tokio::select! {
                accepted = self.tcp.accept() => match accepted {
                    Ok((stream, peer)) => {
                        if let Some(line) = self.line(stream, peer, router.clone(), stop.clone()) {
                            lines.spawn(line);
                        }
                    }
                    Err(_) => tokio::time::sleep(PAUSE).await,
                },
                Some(_) = lines.join_next() => {}
                _ = tend.tick() => self.tend(|lan| lan.registry.tend(Timestamp::now())).await,
                () = stopped.as_mut() => break,
            }
        }
        drop(self.tcp);
        while lines.join_next().await.is_some() {}
        let lan = self.lan;
        // The program ends in any case; what it would have written is only when a device was last seen.
        let _ = tokio::task::spawn_blocking(move || lan.registry.note_seen(Timestamp::now())).await;
    }

    /// Looks at the disk on a thread where waiting harms nobody.
    async fn tend(&self, work: impl FnOnce(&Lan) + Send + 'static) {
        let lan = Arc::clone(&self.lan);
        let _ = tokio::task::spawn_blocking(move || work(&lan)).await;
    }

    /// What serves a new line; `None` closes it, because its address holds too many or opens them too fast.
    fn line(
        &self,
        stream: TcpStream,
        peer: SocketAddr,
        router: Router,
        stop: watch::Receiver<bool>,
    ) -> Option<impl Future<Output = ()> + Send + use<>> {
        let peer = peer.ip().to_canonical();
        self.limits.request(peer).ok()?;
        let place = self.limits.line(peer)?;
        let wire = Arc::new(Wire::new(peer));
        self.lan.registry.mind(&wire);
        let (acceptor, url) = (self.acceptor.0.clone(), self.lan.url());
        Some(async move {
            let opened = timeout(HANDSHAKE, open(&acceptor, stream, &url)).await;
            if let Ok(Ok(Some(tls))) = opened {
                // The place goes with the stream, into a WebSocket too.
                serve(wire.around(tls, Some(place)), wire, router, stop).await;
            }
        })
    }
}

/// Waits until the value turns true.
pub async fn turned_true(mut watched: watch::Receiver<bool>) {
    // A sender that is gone has nothing more to say: then nothing is to be stopped.
    if watched.wait_for(|stop| *stop).await.is_err() {
        std::future::pending::<()>().await;
    }
}

/// The TLS stream; `None` after a client that speaks something else was told so.
async fn open(acceptor: &TlsAcceptor, mut stream: TcpStream, url: &str) -> io::Result<Option<TlsStream<TcpStream>>> {
    let mut first = [0];
    if stream.peek(&mut first).await? == 0 {
        return Ok(None);
    }
    if first[0] != TLS_HANDSHAKE {
        tell_https(&mut stream, url).await?;
        return Ok(None);
    }
    stream.set_nodelay(true)?;
    acceptor.accept(stream).await.map(Some)
}

/// Tells a browser that was sent here with http:// where to go.
async fn tell_https(stream: &mut TcpStream, url: &str) -> io::Result<()> {
    let words = format!("This address speaks only HTTPS. Open {url} instead, with https:// before it.\n");
    let head = format!(
        "HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain; charset=utf-8\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
        words.len()
    );
    stream.write_all(head.as_bytes()).await?;
    stream.write_all(words.as_bytes()).await?;
    stream.shutdown().await?;
    // A close before the request was read would take the answer away from the browser (RFC 9112, 9.6).
    let mut rest = [0; 1024];
    for _ in 0..32 {
        if stream.read(&mut rest).await? == 0 {
            break;
        }
    }
    Ok(())
}

/// Serves the requests of one line.
async fn serve(stream: Cuttable<TlsStream<TcpStream>>, wire: Arc<Wire>, router: Router, stop: watch::Receiver<bool>) {
    let door = Arc::clone(&wire);
    let answer = service_fn(move |request: hyper::Request<Incoming>| {
        let mut request: Request = request.map(Body::new);
        request.extensions_mut().insert(Door::Network(Arc::clone(&door)));
        router.clone().call(request)
    });
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(HEAD).max_buf_size(LARGEST_HEAD);
    let connection = http.serve_connection(TokioIo::new(stream), answer).with_upgrades();
    tokio::pin!(connection);
    let stranger = tokio::time::sleep(STRANGER);
    tokio::pin!(stranger);
    let stopped = turned_true(stop);
    tokio::pin!(stopped);
    let (mut stopping, mut judged) = (false, false);
    loop {
        tokio::select! {
            // Whatever broke, the browser asks again on another line.
            _ = connection.as_mut() => return,
            () = stopped.as_mut(), if !stopping => {
                stopping = true;
                connection.as_mut().graceful_shutdown();
            }
            () = stranger.as_mut(), if !judged => {
                judged = true;
                if !wire.is_known() {
                    return;
                }
            }
        }
    }
}
