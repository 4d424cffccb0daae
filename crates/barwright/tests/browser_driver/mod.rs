//! A real browser, driven through its WebDriver program.
#![allow(dead_code, reason = "each test file uses a part")]
use fantoccini::wd::{Capabilities, WebDriverCompatibleCommand};
use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

const AXE: &str = include_str!("../vendor/axe-core/axe.min.js");
/// Names under which Debian and others install the driver.
const DRIVERS: [&str; 2] = ["chromedriver", "chromium-driver"];

/// A browser with a profile of its own; ended when dropped.
pub struct Browser {
    driver: Child,
    _profile: tempfile::TempDir,
    pub client: Client,
}

impl Drop for Browser {
    fn drop(&mut self) {
        // The session was closed before; the driver itself has nothing left to say.
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

/// How a page is shown.
#[derive(Debug, Clone, Copy)]
pub struct Screen {
    pub name: &'static str,
    pub width: u32,
    pub height: u32,
    pub mobile: bool,
}

/// Commands of the browser's own protocol, for what WebDriver has no word for.
#[derive(Debug)]
struct Devtools {
    name: &'static str,
    parameters: Value,
}

impl WebDriverCompatibleCommand for Devtools {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        base.join(&format!("session/{}/goog/cdp/execute", session.unwrap_or_default()))
    }

    fn method_and_body(&self, _: &url::Url) -> (axum::http::Method, Option<String>) {
        (axum::http::Method::POST, Some(json!({ "cmd": self.name, "params": self.parameters }).to_string()))
    }
}

const NO_DRIVER: &str = "no chromedriver is installed";

/// Starts the driver on a free port.
fn start_driver() -> Result<(Child, u16), String> {
    let started = DRIVERS
        .iter()
        .find_map(|name| Command::new(name).arg("--port=0").stdout(Stdio::piped()).stderr(Stdio::null()).spawn().ok());
    let mut driver = started.ok_or(NO_DRIVER)?;
    let output = driver.stdout.take().ok_or("chromedriver says nothing")?;
    let lines = BufReader::new(output).lines().map_while(Result::ok);
    // "… was started successfully on port 34567."
    for line in lines {
        if let Some((_, port)) = line.rsplit_once("successfully on port ")
            && let Ok(port) = port.trim_end_matches('.').trim().parse()
        {
            return Ok((driver, port));
        }
    }
    let _ = driver.kill();
    Err("chromedriver found no port".to_owned())
}

impl Browser {
    /// A headless browser; the reason if none can be started here.
    pub async fn start() -> Result<Self, String> {
        Self::start_with(&[]).await
    }

    /// A headless browser for a test; `None` without one, unless `BARWRIGHT_REQUIRE_BROWSER=1` asks for it.
    pub async fn start_or_skip(more: &[String]) -> Option<Self> {
        let mut started = Self::start_with(more).await;
        // A machine busy with other builds sometimes lets the first try lapse; what is wrong for good stays wrong.
        for _ in 0..2 {
            if started.as_ref().is_err_and(|why| why != NO_DRIVER) {
                tokio::time::sleep(std::time::Duration::from_secs(1)).await;
                started = Self::start_with(more).await;
            }
        }
        match started {
            Ok(browser) => Some(browser),
            Err(why) if std::env::var("BARWRIGHT_REQUIRE_BROWSER").is_ok_and(|v| v == "1") => panic!("{why}"),
            Err(why) => {
                eprintln!("skipped: {why}; install chromium and chromium-driver to run it");
                None
            }
        }
    }

    /// A headless browser with further arguments.
    pub async fn start_with(more: &[String]) -> Result<Self, String> {
        let (driver, port) = start_driver()?;
        let profile = tempfile::tempdir().map_err(|e| e.to_string())?;
        let folder = profile.path().display();
        let arguments = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            &format!("--user-data-dir={folder}"),
        ];
        let arguments: Vec<&str> = arguments.into_iter().chain(more.iter().map(String::as_str)).collect();
        let mut wanted = Capabilities::new();
        wanted.insert("goog:chromeOptions".to_owned(), json!({ "args": arguments }));
        let connected = ClientBuilder::new(HttpConnector::new())
            .capabilities(wanted)
            .connect(&format!("http://127.0.0.1:{port}"))
            .await;
        match connected {
            Ok(client) => Ok(Self { driver, _profile: profile, client }),
            Err(error) => {
                let mut driver = driver;
                let _ = driver.kill();
                let _ = driver.wait();
                Err(format!("chromedriver could not start a browser ({error})"))
            }
        }
    }

    /// Ends every process of the browser at once, as a crash or an empty battery does: nothing is closed, nothing is said.
    #[cfg(target_os = "linux")]
    pub fn crash(&self) {
        let profile = self._profile.path().as_os_str().as_encoded_bytes();
        let holds = |line: &[u8]| line.windows(profile.len()).any(|part| part == profile);
        let processes = std::fs::read_dir("/proc").unwrap().flatten();
        let ours = processes.filter(|entry| std::fs::read(entry.path().join("cmdline")).is_ok_and(|line| holds(&line)));
        let numbers: Vec<String> = ours.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
        assert!(!numbers.is_empty(), "no process of the browser was found");
        // Some end by themselves once the first is gone.
        let _ = Command::new("sh").args(["-c", &format!("kill -9 {} 2>/dev/null", numbers.join(" "))]).status();
    }

    async fn devtools(&self, name: &'static str, parameters: Value) {
        self.client.issue_cmd(Devtools { name, parameters }).await.expect("the browser understands its own protocol");
    }

    /// Shows pages as on this screen, light or dark.
    pub async fn show_as(&self, screen: Screen, scheme: &str) {
        let size =
            json!({ "width": screen.width, "height": screen.height, "deviceScaleFactor": 1, "mobile": screen.mobile });
        self.devtools("Emulation.setDeviceMetricsOverride", size).await;
        let scheme = json!({ "media": "", "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        self.devtools("Emulation.setEmulatedMedia", scheme).await;
    }

    /// Shows pages in the few colours that the system's high-contrast mode leaves.
    pub async fn with_forced_colours(&self) {
        let forced = json!({ "features": [{ "name": "forced-colors", "value": "active" }] });
        self.devtools("Emulation.setEmulatedMedia", forced).await;
    }

    /// Shows pages as to somebody who asked the system for as little motion as possible.
    pub async fn with_little_motion(&self) {
        let little = json!({ "features": [{ "name": "prefers-reduced-motion", "value": "reduce" }] });
        self.devtools("Emulation.setEmulatedMedia", little).await;
    }

    /// Shows pages as they are printed, on a screen that is light or dark.
    pub async fn on_paper(&self, scheme: &str) {
        let paper = json!({ "media": "print", "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        self.devtools("Emulation.setEmulatedMedia", paper).await;
    }

    /// Makes the page's processor so many times slower.
    pub async fn slowed(&self, times: f64) {
        self.devtools("Emulation.setCPUThrottlingRate", json!({ "rate": times })).await;
    }

    /// Runs a script before the page's own in every page to come.
    pub async fn before_each_page(&self, script: &str) {
        self.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": script })).await;
    }

    /// Turns the page's own scripts off from the next page on.
    pub async fn without_scripts(&self) {
        self.devtools("Emulation.setScriptExecutionDisabled", json!({ "value": true })).await;
    }

    /// A script's answer.
    pub async fn ask(&self, script: &str) -> Value {
        self.client.execute(script, Vec::new()).await.expect("the script runs")
    }

    /// Waits until the page holds these words.
    pub async fn wait_for(&self, words: &str) {
        let script = format!("return document.body.innerText.includes({})", json!(words));
        // Listening and a new belief take a second or two on a slow machine; this is where it gives up.
        for _ in 0..600 {
            if self.ask(&script).await == json!(true) {
                return;
            }
            tokio::time::sleep(std::time::Duration::from_millis(100)).await;
        }
        panic!("the page never said \"{words}\"; it says:\n{}", self.ask("return document.body.innerText").await);
    }

    /// What axe-core finds on the screen as it is shown.
    pub async fn violations(&self) -> Vec<String> {
        self.client.execute(AXE, Vec::new()).await.expect("the checker runs");
        let script = "const done = arguments[arguments.length - 1]; axe.run().then((r) => done(r.violations.flatMap((v) => \
             v.nodes.map((n) => `${v.impact} ${v.id}: ${v.help}: ${n.html.slice(0, 160)} ${n.failureSummary.slice(0, 200)}`))))";
        let answer = self.client.execute_async(script, Vec::new()).await.expect("the checker answers");
        let lines = answer.as_array().expect("a list").iter();
        lines.map(|line| line.as_str().expect("a text").to_owned()).collect()
    }

    /// A picture of what is shown, kept in the build's folder for people to look at.
    pub async fn picture(&self, name: &str) {
        let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("screenshots");
        std::fs::create_dir_all(&folder).expect("the build's folder can be written");
        let png = self.client.screenshot().await.expect("a picture");
        std::fs::write(folder.join(format!("{name}.png")), png).expect("the picture can be written");
    }
}
