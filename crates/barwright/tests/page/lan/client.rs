//! A phone: a TLS client that trusts one certificate and keeps one cookie.
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore};
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::client::IntoClientRequest;
use tokio_tungstenite::tungstenite::http::HeaderValue;

/// What came back.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Answer {
    pub fn read(bytes: &[u8]) -> Self {
        let text = String::from_utf8_lossy(bytes).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
        Self { status, head: head.to_owned(), body: body.to_owned() }
    }

    /// The value of a header.
    pub fn header(&self, name: &str) -> Option<&str> {
        let lines = self.head.lines().filter_map(|line| line.split_once(": "));
        lines.into_iter().find(|(key, _)| key.eq_ignore_ascii_case(name)).map(|(_, value)| value)
    }
}

/// A phone in the workshop's network.
#[derive(Clone)]
pub struct Phone {
    pub address: SocketAddr,
    connector: TlsConnector,
    pub cookie: Option<String>,
}

impl Phone {
    /// A phone that was told this workshop's certificate; webpki then checks address, dates and signature.
    pub fn new(workshop: &Path, address: SocketAddr) -> Self {
        let kept = std::fs::read_to_string(workshop.join("lan/certificate.json")).unwrap();
        let kept: serde_json::Value = serde_json::from_str(&kept).unwrap();
        let mut roots = RootCertStore::empty();
        roots.add(CertificateDer::from_pem_slice(kept["certificate"].as_str().unwrap().as_bytes()).unwrap()).unwrap();
        let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
            .with_safe_default_protocol_versions()
            .unwrap()
            .with_root_certificates(roots)
            .with_no_client_auth();
        Self { address, connector: TlsConnector::from(Arc::new(config)), cookie: None }
    }

    /// A TLS line.
    pub async fn line(&self) -> TlsStream<TcpStream> {
        let tcp = TcpStream::connect(self.address).await.unwrap();
        self.connector.connect(ServerName::from(self.address.ip()), tcp).await.unwrap()
    }

    fn head(&self, method: &str, path: &str, more: &str, length: usize) -> String {
        let cookie = self.cookie.as_ref().map(|cookie| format!("Cookie: {cookie}\r\n")).unwrap_or_default();
        let host = if more.contains("Host:") { String::new() } else { format!("Host: {}\r\n", self.address) };
        format!(
            "{method} {path} HTTP/1.1\r\n{host}Content-Length: {length}\r\n\
             Content-Type: application/x-www-form-urlencoded\r\n{cookie}{more}\r\n"
        )
    }

    /// One request on a line of its own.
    pub async fn ask(&self, method: &str, path: &str, more: &str, body: &str) -> Answer {
        let mut line = self.line().await;
        let head = self.head(method, path, &format!("Connection: close\r\n{more}"), body.len());
        line.write_all(head.as_bytes()).await.unwrap();
        line.write_all(body.as_bytes()).await.unwrap();
        let mut bytes = Vec::new();
        let _ = line.read_to_end(&mut bytes).await;
        Answer::read(&bytes)
    }

    /// Goes to a page as a browser does.
    pub async fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, "Accept: text/html\r\n", "").await
    }

    /// Sends a form as the page does.
    pub async fn form(&self, path: &str, body: &str) -> Answer {
        self.ask("POST", path, &format!("Origin: https://{}\r\n", self.address), body).await
    }

    /// Many requests on one line; the statuses of the answers.
    pub async fn hammer(&self, path: &str, times: usize) -> Vec<u16> {
        let mut line = self.line().await;
        let mut statuses = Vec::new();
        for _ in 0..times {
            // HEAD: the answer ends with its head.
            line.write_all(self.head("HEAD", path, "", 0).as_bytes()).await.unwrap();
            let mut bytes = Vec::new();
            while !bytes.ends_with(b"\r\n\r\n") {
                bytes.push(line.read_u8().await.unwrap());
            }
            statuses.push(Answer::read(&bytes).status);
        }
        statuses
    }

    /// Pairs; the cookie is kept from then on.
    pub async fn pair(&mut self, code: &str, name: &str) -> Answer {
        let answer = self.form("/pair", &format!("code={code}&name={name}")).await;
        if let Some(set) = answer.header("set-cookie") {
            self.cookie = set.split(';').next().map(str::to_owned);
        }
        answer
    }

    /// Opens a WebSocket; the status if it is refused.
    pub async fn socket(&self, path: &str, origin: &str) -> Result<WebSocketStream<TlsStream<TcpStream>>, u16> {
        use tokio_tungstenite::tungstenite::Error;
        let mut request = format!("wss://{}{path}", self.address).into_client_request().unwrap();
        request.headers_mut().insert("origin", HeaderValue::from_str(origin).unwrap());
        if let Some(cookie) = &self.cookie {
            request.headers_mut().insert("cookie", HeaderValue::from_str(cookie).unwrap());
        }
        match tokio_tungstenite::client_async(request, self.line().await).await {
            Ok((socket, _)) => Ok(socket),
            Err(Error::Http(answer)) => Err(answer.status().as_u16()),
            Err(other) => panic!("{other}"),
        }
    }

    /// The origin of the workshop's own page.
    pub fn origin(&self) -> String {
        format!("https://{}", self.address)
    }
}
