//! The door to the workshop's network over real TLS connections: who comes in, who does not, and who is put out.
mod browser;
mod client;
use crate::common::served::Served;
use crate::common::{answer, example, refusal};
use barwright::bench::Desk;
use barwright::lan::devices::DeviceFile;
use barwright::page::{ServeOptions, Server};
use client::{Answer, Phone};
use futures_util::StreamExt;
use jiff::Timestamp;
use records::workshop::Workshop;
use sha2::{Digest, Sha256};
use std::path::Path;
use std::time::Duration;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// Far more than anything here takes, also on a loaded machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// A served workshop and a phone that is not paired.
struct Shop {
    folder: tempfile::TempDir,
    served: Served,
}

impl Shop {
    async fn open() -> (Self, Phone) {
        let folder = tempfile::tempdir().unwrap();
        let workshop = Workshop::create(folder.path(), "invented workshop", Timestamp::now()).unwrap();
        let served = Served::start_on_lan(Desk::of_record(workshop, true)).await;
        let phone = Phone::new(folder.path(), served.lan.as_ref().unwrap().address());
        (Self { folder, served }, phone)
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    /// The code as the terminal shows it.
    fn code(&self) -> String {
        let lan = self.served.lan.as_ref().unwrap();
        let open = lan.pairing().open(Timestamp::now());
        open.unwrap().0.to_string()
    }

    /// A request by the loopback door.
    async fn at_home(&self, method: &str, path: &str, more: &str, body: &str) -> Answer {
        let mut tcp = TcpStream::connect(self.served.address).await.unwrap();
        let host = if more.contains("Host:") { String::new() } else { format!("Host: {}\r\n", self.served.address) };
        let head = format!(
            "{method} {path} HTTP/1.1\r\n{host}Connection: close\r\nContent-Length: {}\r\n\
             Content-Type: application/x-www-form-urlencoded\r\n{more}\r\n{body}",
            body.len()
        );
        tcp.write_all(head.as_bytes()).await.unwrap();
        let mut bytes = Vec::new();
        let _ = tcp.read_to_end(&mut bytes).await;
        Answer::read(&bytes)
    }

    fn devices(&self) -> Vec<barwright::lan::devices::Device> {
        DeviceFile::in_workshop(self.path()).read().unwrap()
    }
}

/// Waits until a WebSocket is over.
async fn ends(socket: &mut (impl StreamExt<Item = Result<impl Sized, impl Sized>> + Unpin)) {
    let over = async { while let Some(Ok(_)) = socket.next().await {} };
    tokio::time::timeout(PATIENCE, over).await.expect("the line is closed");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_unpaired_browser_gets_nothing_but_the_pairing_page() {
    let (shop, phone) = Shop::open().await;
    let page = phone.get("/pair").await;
    assert!(page.status == 200 && page.body.contains("Pair this device"), "{}", page.head);
    assert_eq!(page.header("cache-control"), Some("no-store"));
    assert!(page.header("content-security-policy").unwrap().contains("default-src 'self'"));
    assert!(!page.body.contains(&shop.code()) && !page.body.contains("invented workshop"), "it tells nothing");
    // Whatever the pairing page asks for is there.
    for asset in page.body.split(['"']).filter(|part| part.starts_with("/assets/")) {
        assert_eq!(phone.get(asset).await.status, 200, "{asset}");
    }
    for path in ["/", "/bars", "/workshop", "/settings", "/devices", "/nowhere"] {
        let answer = phone.get(path).await;
        assert_eq!((answer.status, answer.header("location")), (303, Some("/pair")), "{path}");
    }
    for path in ["/assets/bench.js", "/changes", "/takes/a", "/bench/bar/api/pulse"] {
        assert_eq!(phone.ask("GET", path, "", "").await.status, 401, "{path}");
    }
    for path in ["/workshop/copy", "/devices/code", "/devices/revoke", "/settings/units"] {
        assert_eq!(phone.form(path, "").await.status, 401, "{path}");
    }
    assert_eq!(phone.socket("/changes", &phone.origin()).await.unwrap_err(), 401);
    let mut guesser = phone.clone();
    for cookie in ["__Host-barwright=", "__Host-barwright=00", &format!("__Host-barwright={}", "0".repeat(64))] {
        guesser.cookie = Some(cookie.to_owned());
        assert_eq!(guesser.ask("GET", "/bars", "", "").await.status, 401, "{cookie}");
    }
    shop.served.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_device_is_paired_works_and_is_put_out_at_once() {
    let (shop, mut phone) = Shop::open().await;
    let code = shop.code();
    let paired = phone.pair(&code, "phone+at+the+sander").await;
    assert_eq!((paired.status, paired.header("location")), (303, Some("/")), "{}", paired.body);
    let cookie = paired.header("set-cookie").unwrap();
    for wanted in ["__Host-barwright=", "; Secure", "; HttpOnly", "; SameSite=Strict", "; Path=/"] {
        assert!(cookie.contains(wanted), "{cookie}");
    }
    assert!(!cookie.contains("Domain"), "the prefix forbids it");
    for path in ["/", "/bars", "/workshop", "/settings", "/assets/bench.js", "/assets/manifest.json"] {
        assert_eq!(phone.get(path).await.status, 200, "{path}");
    }
    let mut changes = phone.socket("/changes", &phone.origin()).await.unwrap();
    let mut sound = phone.socket("/live/bar", &phone.origin()).await.unwrap();
    // The code was for one device.
    let mut second = phone.clone();
    second.cookie = None;
    assert_eq!(second.pair(&code, "second").await.status, 403);
    assert!(second.cookie.is_none());
    // Another device keeps what it has.
    shop.at_home("POST", "/devices/code", "", "").await;
    assert_eq!(second.pair(&shop.code(), "second").await.status, 303);
    let mut others = second.socket("/changes", &phone.origin()).await.unwrap();

    let list = shop.at_home("GET", "/devices", "", "").await.body;
    assert!(list.contains("phone at the sander") && list.contains("second"), "{list}");
    let device = shop.devices().into_iter().find(|device| device.name == "phone at the sander").unwrap();
    let revoked = shop.at_home("POST", "/devices/revoke", "", &format!("device={}", device.id)).await;
    assert_eq!(revoked.header("location"), Some("/devices"));
    ends(&mut changes).await;
    ends(&mut sound).await;
    assert_eq!(phone.get("/bars").await.status, 303);
    assert_eq!(phone.socket("/changes", &phone.origin()).await.unwrap_err(), 401);
    assert_eq!(second.get("/bars").await.status, 200);
    // The page about the devices was told; so was this line, which is still open.
    let told = tokio::time::timeout(PATIENCE, others.next()).await.unwrap().unwrap().unwrap();
    assert!(!told.is_close(), "{told:?}");
    shop.served.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_command_line_lists_and_puts_out_while_the_page_is_served() {
    let (shop, mut phone) = Shop::open().await;
    phone.pair(&shop.code(), "tablet").await;
    let mut changes = phone.socket("/changes", &phone.origin()).await.unwrap();
    let folder = shop.path().to_str().unwrap().to_owned();
    let program = |args: &'static [&'static str]| {
        let folder = folder.clone();
        tokio::task::spawn_blocking(move || answer(&[args, &["--workshop", &folder, "--json"]].concat()))
    };
    let list = program(&["devices"]).await.unwrap();
    assert_eq!(list["devices"][0]["name"], "tablet");
    assert!(list["devices"][0].get("token_sha256").is_none(), "{list}");
    program(&["devices", "revoke", "tablet"]).await.unwrap();
    ends(&mut changes).await;
    assert_eq!(phone.get("/bars").await.status, 303);
    assert_eq!(program(&["devices", "list"]).await.unwrap()["devices"], serde_json::json!([]));
    shop.served.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pairing_outlives_the_program_and_the_certificate_stays() {
    let (shop, mut phone) = Shop::open().await;
    phone.pair(&shop.code(), "phone").await;
    let fingerprint = shop.served.lan.as_ref().unwrap().fingerprint().to_owned();
    let address = phone.address;
    shop.served.end().await;
    let workshop = Workshop::open(shop.folder.path(), Timestamp::now()).unwrap();
    let options = ServeOptions { lan: Some(address), ..ServeOptions::default() };
    let server = Server::bind(workshop, options).await.unwrap();
    assert_eq!(server.lan().unwrap().fingerprint(), fingerprint);
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let running = tokio::spawn(server.run(async {
        let _ = stopped.await;
    }));
    assert_eq!(phone.get("/bars").await.status, 200);
    let _ = stop.send(());
    running.await.unwrap().unwrap();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn five_wrong_codes_close_it_and_more_have_to_wait() {
    let (shop, mut phone) = Shop::open().await;
    let code = shop.code();
    // A wrong name does not use up a code or a try.
    let nameless = phone.pair(&code, "").await;
    assert!(nameless.status == 422 && nameless.body.contains("has no name"), "{}", nameless.body);
    for left in [4, 3, 2, 1] {
        let wrong = phone.pair("0000-0000", "%3Cb%3Ephone").await;
        assert!(wrong.status == 403 && wrong.body.contains(&format!("{left} more wrong")), "{}", wrong.body);
        assert!(wrong.body.contains("&lt;b&gt;phone") && !wrong.body.contains("<b>phone"), "the name is escaped");
    }
    assert!(phone.pair("0000-0000", "phone").await.body.contains("closed the code"));
    let late = phone.pair(&code, "phone").await;
    assert!(late.status == 403 && late.body.contains("No code is open"), "{}", late.body);
    assert!(shop.at_home("GET", "/devices", "", "").await.body.contains("closed after five wrong tries"));
    let mut waits = phone.pair(&code, "phone").await;
    for _ in 0..20 {
        if waits.status == 429 {
            break;
        }
        waits = phone.pair(&code, "phone").await;
    }
    assert!(waits.status == 429 && waits.body.contains("Too many requests"), "{}", waits.head);
    assert!(waits.header("retry-after").unwrap().parse::<u32>().unwrap() >= 1);
    assert!(phone.cookie.is_none() && shop.devices().is_empty());
    shop.served.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn requests_from_elsewhere_are_refused_even_with_the_token() {
    let (shop, mut phone) = Shop::open().await;
    phone.pair(&shop.code(), "phone").await;
    let (own, home) = (phone.address, shop.served.address);
    for host in ["evil.example", "localhost", "127.0.0.1", &home.to_string()] {
        let answer = phone.ask("GET", "/bars", &format!("Host: {host}\r\n"), "").await;
        assert!(answer.status == 403 && answer.body.contains(&own.to_string()), "{host}: {}", answer.head);
    }
    for origin in [format!("http://{own}"), format!("http://{home}"), "https://evil.example".into(), "null".into()] {
        let sent = phone.ask("POST", "/workshop/copy", &format!("Origin: {origin}\r\n"), "").await;
        assert!(sent.status == 403 && sent.body.contains("nothing was changed"), "{origin}: {}", sent.head);
        assert_eq!(phone.socket("/changes", &origin).await.unwrap_err(), 403, "{origin}");
    }
    assert_eq!(phone.ask("POST", "/workshop/copy", "", "").await.status, 403, "a form without an origin");
    assert!(!shop.path().join("backups").join("copy").exists());
    // Codes, pairing and revoking belong to the workshop's own computer.
    for (method, path) in [("GET", "/devices"), ("POST", "/devices/code"), ("POST", "/devices/revoke")] {
        let answer = phone.ask(method, path, &format!("Origin: https://{own}\r\n"), "").await;
        assert!(answer.status == 403 && answer.body.contains("own computer"), "{path}: {}", answer.head);
    }
    // The token opens nothing at the other door: it asks for no token, and keeps its own rules. (The address served here is
    // a loopback one, whose name that door takes with any port; a workshop's is not.)
    let cookie = format!("Cookie: {}\r\n", phone.cookie.as_ref().unwrap());
    for more in ["", &cookie] {
        let stolen = shop.at_home("GET", "/bars", &format!("{more}Host: 192.168.1.20:8443\r\n"), "").await;
        assert_eq!(stolen.status, 403, "{more}");
        assert_eq!(shop.at_home("GET", "/bars", more, "").await.status, 200, "{more}");
    }
    let stolen = shop.at_home("POST", "/workshop/copy", &format!("{cookie}Origin: https://{own}\r\n"), "").await;
    assert_eq!(stolen.status, 403);
    shop.served.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_not_tls_1_3_is_told_or_refused() {
    let (shop, phone) = Shop::open().await;
    let mut plain = TcpStream::connect(phone.address).await.unwrap();
    plain.write_all(format!("GET /bars HTTP/1.1\r\nHost: {}\r\n\r\n", phone.address).as_bytes()).await.unwrap();
    let mut bytes = Vec::new();
    plain.read_to_end(&mut bytes).await.unwrap();
    let told = Answer::read(&bytes);
    assert!(told.status == 400 && told.body.contains(&format!("https://{}/", phone.address)), "{told:?}");

    // A client that knows TLS 1.2 and nothing newer (RFC 5246, 7.4.1.2; named groups and signatures as it needs them).
    let mut old = TcpStream::connect(phone.address).await.unwrap();
    let extensions: &[u8] = &[0, 10, 0, 4, 0, 2, 0, 23, 0, 13, 0, 4, 0, 2, 4, 3, 0, 23, 0, 0];
    let mut hello = vec![3, 3];
    hello.extend([7; 32]);
    hello.extend([0, 0, 2, 0xC0, 0x2B, 1, 0, 0, u8::try_from(extensions.len()).unwrap()]);
    hello.extend(extensions);
    let length = u8::try_from(hello.len()).unwrap();
    let record = [&[22, 3, 1, 0, length + 4, 1, 0, 0, length][..], &hello].concat();
    old.write_all(&record).await.unwrap();
    let mut alert = Vec::new();
    let _ = old.read_to_end(&mut alert).await;
    // A fatal alert, protocol_version (RFC 8446, 6.2 and D.2).
    assert_eq!(alert, [21, 3, 3, 0, 2, 2, 70]);

    // A client of today gets TLS 1.3, and the certificate whose fingerprint the terminal shows.
    let line = phone.line().await;
    let (_, session) = line.get_ref();
    let version = session.protocol_version().unwrap();
    assert_eq!(version, tokio_rustls::rustls::ProtocolVersion::TLSv1_3);
    let seen = Sha256::digest(&session.peer_certificates().unwrap()[0]);
    let seen: Vec<String> = seen.iter().map(|byte| format!("{byte:02X}")).collect();
    assert_eq!(seen.join(":"), shop.served.lan.as_ref().unwrap().fingerprint());
    shop.served.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_address_that_asks_too_much_has_to_wait() {
    let (shop, phone) = Shop::open().await;
    // 240 at once and 20 a second: a page that is answered in less than 50 ms meets the limit.
    let statuses = phone.hammer("/pair", 2000).await;
    assert_eq!(statuses[0], 200);
    assert!(statuses.contains(&429) && statuses.iter().all(|status| [200, 429].contains(status)), "{statuses:?}");
    shop.served.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn lines_are_limited_and_given_back() {
    let (shop, phone) = Shop::open().await;
    let mut lines = Vec::new();
    for _ in 0..32 {
        lines.push(phone.line().await);
    }
    let mut one_more = TcpStream::connect(phone.address).await.unwrap();
    let mut byte = [0];
    let closed = tokio::time::timeout(PATIENCE, one_more.read(&mut byte)).await.unwrap();
    assert!(!matches!(closed, Ok(1..)), "closed without a word");
    drop(lines);
    let began = std::time::Instant::now();
    loop {
        let tcp = TcpStream::connect(phone.address).await.unwrap();
        // A line that is kept waits for a first byte; one that is not is closed.
        if tokio::time::timeout(Duration::from_millis(200), tcp.readable()).await.is_err() {
            break;
        }
        assert!(began.elapsed() < PATIENCE);
    }
    shop.served.end().await;
}

#[test]
fn nothing_wider_than_a_private_address_is_served() {
    let folder = tempfile::tempdir().unwrap();
    Workshop::create(folder.path(), "invented workshop", Timestamp::now()).unwrap();
    let workshop = folder.path().to_str().unwrap();
    for (address, code) in [
        ("0.0.0.0", "not_private"),
        ("[::]:8443", "not_private"),
        ("192.0.2.1", "not_private"),
        ("2001:db8::1", "not_private"),
        ("workshop.local", "wrong_address"),
    ] {
        let said = refusal(&["serve", "--no-open", "--workshop", workshop, "--lan", address]);
        assert_eq!(said.0, code, "{}", said.1);
    }
    assert!(!folder.path().join("lan").exists(), "nothing was made");
    let bar = example("c3-rough.bar.json");
    let (status, _, stderr) = crate::common::run(&["serve", bar.to_str().unwrap(), "--lan", "10.0.0.1"]);
    assert!(status == 2 && stderr.contains("--lan"), "{stderr}");
    // An address of another computer is told before anything is kept.
    let said = refusal(&["serve", "--no-open", "--workshop", workshop, "--lan", "10.255.255.254"]);
    assert_eq!(said.0, "not_this_computer", "{}", said.1);
    assert!(!folder.path().join("lan").exists(), "nothing was made");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_damaged_list_opens_no_door_and_is_left_as_it_is() {
    let (shop, mut phone) = Shop::open().await;
    phone.pair(&shop.code(), "phone").await;
    let file = shop.path().join("lan/devices.json");
    let half = std::fs::read_to_string(&file).unwrap()[..60].to_owned();
    std::fs::write(&file, &half).unwrap();
    let answer = phone.get("/bars").await;
    assert!(answer.status == 503 && !answer.body.contains("devices.json"), "{answer:?}");
    let page = shop.at_home("GET", "/devices", "", "").await;
    assert!(page.body.contains("devices.json") && page.body.contains("left as it is"), "{}", page.body);
    shop.at_home("POST", "/devices/revoke", "", "device=phone").await;
    shop.served.end().await;
    let workshop = Workshop::open(shop.folder.path(), Timestamp::now()).unwrap();
    let lan = Some(std::net::SocketAddr::from(([127, 0, 0, 1], 0)));
    let refused = Server::bind(workshop, ServeOptions { lan, ..ServeOptions::default() }).await.unwrap_err();
    assert_eq!(refused.code, "devices_damaged");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), half);
}

#[cfg(unix)]
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nobody_else_can_read_what_is_kept_and_no_token_is() {
    use std::os::unix::fs::PermissionsExt;
    let (shop, mut phone) = Shop::open().await;
    phone.pair(&shop.code(), "phone").await;
    let folder = shop.path().join("lan");
    let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&folder), 0o700);
    let token = phone.cookie.as_ref().unwrap().split_once('=').unwrap().1.to_owned();
    let files: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(files.len(), 3, "certificate, devices, lock: {files:?}");
    for file in files {
        assert_eq!(mode(&file), 0o600, "{}", file.display());
        assert!(!std::fs::read_to_string(&file).unwrap().contains(&token));
    }
    shop.served.end().await;
}
