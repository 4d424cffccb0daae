//! One connection of the network, which can be cut from outside at any moment, whatever runs over it by then.
use super::limits::Line;
use std::future::Future;
use std::io;
use std::net::IpAddr;
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::sync::watch;

/// A connection: where it comes from, and which devices have shown their token on it.
#[derive(Debug)]
pub struct Wire {
    peer: IpAddr,
    devices: Mutex<Vec<String>>,
    cut: watch::Sender<bool>,
}

impl Wire {
    /// A connection from that address, of nobody known yet.
    pub fn new(peer: IpAddr) -> Self {
        Self { peer, devices: Mutex::default(), cut: watch::channel(false).0 }
    }

    /// Where it comes from.
    pub fn peer(&self) -> IpAddr {
        self.peer
    }

    /// Whether a paired device has used it.
    pub fn is_known(&self) -> bool {
        !self.devices().is_empty()
    }

    /// Remembers a device that uses it.
    pub fn used_by(&self, device: &str) {
        let mut devices = self.devices();
        if !devices.iter().any(|known| known == device) {
            devices.push(device.to_owned());
        }
    }

    /// Cuts it unless `may_stay` is true of every device that has used it.
    pub fn cut_unless(&self, may_stay: impl Fn(&str) -> bool) {
        if !self.devices().iter().all(|device| may_stay(device)) {
            self.cut.send_replace(true);
        }
    }

    /// The stream of this connection; it fails in both directions from the moment the wire is cut, and gives its place
    /// among the open lines back when it is dropped.
    pub fn around<S>(self: &Arc<Self>, stream: S, place: Option<Line>) -> Cuttable<S> {
        let wire = Arc::clone(self);
        // Holds the wire for as long as there is a stream: who revokes a device has to find it.
        let cut = async move {
            // The sender lives as long as the wire, so that this ends only by the cut.
            let _ = wire.cut.subscribe().wait_for(|cut| *cut).await;
        };
        Cuttable { stream, cut: Box::pin(cut), is_cut: false, _place: place }
    }

    fn devices(&self) -> std::sync::MutexGuard<'_, Vec<String>> {
        self.devices.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A stream that can be cut.
///
/// HTTP hands the stream on to a WebSocket when that is asked for: cutting the task that served the requests would not
/// reach it then, cutting the stream does.
pub struct Cuttable<S> {
    stream: S,
    cut: Pin<Box<dyn Future<Output = ()> + Send>>,
    is_cut: bool,
    _place: Option<Line>,
}

impl<S> std::fmt::Debug for Cuttable<S> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Cuttable").field("is_cut", &self.is_cut).finish_non_exhaustive()
    }
}

impl<S> Cuttable<S> {
    /// Fails once the wire is cut, and else lets this task be woken when it is.
    fn check(&mut self, context: &mut Context<'_>) -> io::Result<()> {
        self.is_cut = self.is_cut || self.cut.as_mut().poll(context).is_ready();
        if self.is_cut { Err(io::ErrorKind::ConnectionAborted.into()) } else { Ok(()) }
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Cuttable<S> {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        match self.check(cx) {
            Ok(()) => Pin::new(&mut self.stream).poll_read(cx, buf),
            Err(error) => Poll::Ready(Err(error)),
        }
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Cuttable<S> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &[u8]) -> Poll<io::Result<usize>> {
        match self.check(cx) {
            Ok(()) => Pin::new(&mut self.stream).poll_write(cx, buf),
            Err(error) => Poll::Ready(Err(error)),
        }
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.check(cx) {
            Ok(()) => Pin::new(&mut self.stream).poll_flush(cx),
            Err(error) => Poll::Ready(Err(error)),
        }
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex};

    #[tokio::test]
    async fn a_reader_that_waits_is_woken_by_the_cut() {
        let wire = Arc::new(Wire::new(IpAddr::from([10, 0, 0, 1])));
        let (near, mut far) = duplex(64);
        let mut near = wire.around(near, None);
        far.write_all(b"a").await.unwrap();
        assert_eq!(near.read_u8().await.unwrap(), b'a');
        let waiting = tokio::spawn(async move {
            let error = near.read_u8().await.unwrap_err();
            (near, error)
        });
        tokio::task::yield_now().await;
        wire.cut_unless(|_| false);
        assert!(!waiting.is_finished(), "nobody known has used it: there is nobody to cut off");
        wire.used_by("phone");
        wire.used_by("tablet");
        wire.cut_unless(|device| device == "tablet");
        let (mut near, error) = waiting.await.unwrap();
        assert_eq!(error.kind(), io::ErrorKind::ConnectionAborted);
        assert!(near.write_all(b"b").await.is_err() && near.read_u8().await.is_err());
    }
}
