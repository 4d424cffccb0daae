//! From the sound of a bar to the instruction on the screen, in a real browser with a microphone that plays what it is
//! given.
//!
//! Needs Debian's `chromium` and `chromium-driver`; see `browser.rs` for what happens without them.
use crate::browser_driver::{Browser, Screen};
use crate::common::served::Served;
use crate::common::{bending_sound, example, wav};
use barwright::bench::{Bench, SharedBench};
use barwright::convert;
use fantoccini::Locator;
use fantoccini::key::Key;
use making::virtual_bench::{StrikePlace, VirtualBar};
use making::{Decision, Event};
use records::{BarFile, LogEntry, Note};
use serde_json::json;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use strike::synth::{SynthMode, blow};

/// Chromium's fake device always runs at this rate.
const FAKE_RATE_HZ: f64 = 44_100.0;
const TABLET: Screen = Screen { name: "tablet", width: 1024, height: 768, mobile: true };
/// Far more than anything here takes, also on a loaded machine.
const PATIENCE: Duration = Duration::from_secs(90);

/// A microphone that plays what the test gives it, and lines that the test can cut.
const PLAYED_MICROPHONE: &str = r"
  const Line = window.WebSocket;
  window.lines = [];
  window.WebSocket = class extends Line { constructor(...a) { super(...a); window.lines.push(this); } };
  const media = navigator.mediaDevices;
  let out = null;
  media.getUserMedia = async () => {
    const context = new AudioContext({ sampleRate: 48000 });
    out = { context, to: context.createMediaStreamDestination() };
    const hush = context.createConstantSource();
    hush.offset.value = 1e-6; hush.connect(out.to); hush.start();
    await context.resume();
    return out.to.stream;
  };
  window.playBlow = (base64) => {
    const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
    const sound = new Float32Array(bytes.buffer);
    const buffer = out.context.createBuffer(1, sound.length, 48000);
    buffer.copyToChannel(sound, 0);
    const source = out.context.createBufferSource();
    source.buffer = buffer; source.connect(out.to); source.start();
  };
";

struct Page {
    bench: SharedBench,
    served: Served,
}

impl Page {
    async fn start(file: BarFile) -> Self {
        let bench: SharedBench = Arc::new(Mutex::new(Bench::in_memory(file, true)));
        let served = Served::start(Arc::clone(&bench)).await;
        Self { bench, served }
    }

    fn count(&self, key: &str) -> usize {
        self.bench.lock().unwrap().file().log().iter().filter(|entry| entry.key() == key).count()
    }

    /// Waits until the log holds so many entries of a kind.
    async fn wait_for_entries(&self, key: &str, count: usize) {
        let began = Instant::now();
        while self.count(key) < count {
            assert!(began.elapsed() < PATIENCE, "{} of {count} entries {key}", self.count(key));
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    async fn end(self) {
        self.served.end().await;
    }
}

/// Sound is made in real time: one browser at a time, so that the others do not starve its audio. A loaded machine may
/// lose a block all the same; the listener then says "again".
static ONE_AT_A_TIME: tokio::sync::Mutex<()> = tokio::sync::Mutex::const_new(());

/// Flags of a browser whose microphone plays a WAV file over and over.
fn fake_microphone(path: &std::path::Path) -> Vec<String> {
    [
        "--use-fake-device-for-media-stream".to_owned(),
        "--use-fake-ui-for-media-stream".to_owned(),
        "--autoplay-policy=no-user-gesture-required".to_owned(),
        format!("--use-file-for-fake-audio-capture={}", path.display()),
    ]
    .to_vec()
}

/// A recording for the fake microphone: one blow on the bar, then quiet.
fn one_blow(modes: &bar_physics::Modes) -> (tempfile::TempDir, std::path::PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("blow.wav");
    // The page needs a moment to open the line; the sound waits in the page's own memory until then.
    let mut sound = blow(&bending_sound(modes), FAKE_RATE_HZ, 3.0, 2.0, 0.0005, 3);
    // Long enough for the answer and the pictures before the next blow.
    sound.extend(blow(&[], FAKE_RATE_HZ, 20.0, 0.0, 0.0005, 4));
    std::fs::write(&path, wav(&sound, 44_100, 1, 16, false)).unwrap();
    (folder, path)
}

async fn arm(browser: &Browser) {
    let button = "return [...document.querySelectorAll('[data-arm]')].find((b) => b.offsetParent).click()";
    browser.ask(button).await;
    browser.wait_for("Strike").await;
    let armed = "return document.getElementById('ear').dataset.state === 'armed' || document.documentElement.hasAttribute('data-armed')";
    let began = Instant::now();
    while browser.ask(armed).await != json!(true) {
        let words = browser.ask("return document.getElementById('ear').innerText").await;
        assert!(began.elapsed() < PATIENCE, "not armed: {words}");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn from_the_sound_to_the_instruction() {
    let _alone = ONE_AT_A_TIME.lock().await;
    let page = Page::start(BarFile::read(&example("c3-rough.bar.json")).unwrap()).await;
    let modes = page.bench.lock().unwrap().modes().unwrap();
    let (_folder, path) = one_blow(&modes);
    let Some(browser) = Browser::start_or_skip(&fake_microphone(&path)).await else { return };
    browser.show_as(TABLET, "light").await;
    browser.client.goto(&page.served.url).await.unwrap();
    let before = page.count("heard");
    browser
        .ask(
            "window.seen = []; new MutationObserver(() => { const f = document.getElementById('flash'); \
             if (!f.hidden) window.seen.push(f.dataset.verdict + ': ' + f.innerText); })\
             .observe(document.getElementById('flash'), { attributes: true });",
        )
        .await;
    arm(&browser).await;
    let began = Instant::now();
    let shown =
        "return document.getElementById('flash').hidden ? '' : document.getElementById('flash').dataset.verdict";
    while browser.ask(shown).await != json!("heard") {
        assert!(began.elapsed() < PATIENCE, "no answer: {}", browser.ask("return document.body.innerText").await);
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    browser.picture("answer-tablet-light").await;
    let seen = browser.ask("return window.seen").await;
    let answers: Vec<&str> = seen.as_array().unwrap().iter().map(|answer| answer.as_str().unwrap()).collect();
    let first = answers.iter().position(|answer| answer.starts_with("heard")).unwrap();
    // Nothing but a broken sound may ask for another blow.
    assert!(answers[..first].iter().all(|a| a.starts_with("again") && a.contains("close other programs")), "{seen}");
    assert!(answers[first].contains("modes 1, 2 and 3"), "{seen}");
    page.wait_for_entries("heard", before + 1).await;
    browser.wait_for("Heard and entered: modes 1, 2 and 3").await;
    let Some(LogEntry::Heard(entered)) = page.bench.lock().unwrap().file().log().last().cloned() else { panic!() };
    for (mode, hz) in modes.bending.iter().zip(entered.hz.bending.as_ref().unwrap()) {
        let cents = 1200.0 * (hz.unwrap() / mode.hz).log2();
        // Through the browser's audio and back, 16 bits and noise 50 dB down: far within a cent.
        assert!(cents.abs() < 1.0, "mode {}: {cents} cents", mode.number);
    }
    let advice = page.bench.lock().unwrap().advise().unwrap();
    let words: String = advice.instruction.chars().take(20).collect();
    browser.wait_for(&words).await;
    browser.picture("armed-tablet-light").await;
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

#[cfg(target_os = "linux")]
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_browser_that_crashes_in_the_work_loses_nothing_that_was_entered() {
    let _alone = ONE_AT_A_TIME.lock().await;
    let page = Page::start(BarFile::read(&example("c3-rough.bar.json")).unwrap()).await;
    let (_folder, path) = one_blow(&page.bench.lock().unwrap().modes().unwrap());
    let Some(browser) = Browser::start_or_skip(&fake_microphone(&path)).await else { return };
    browser.show_as(TABLET, "light").await;
    browser.client.goto(&page.served.url).await.unwrap();
    let before = page.count("heard");
    arm(&browser).await;
    page.wait_for_entries("heard", before + 1).await;
    browser.crash();
    let entered = page.count("heard");
    // Another browser finds the bar as it was left, can go on, and nothing is entered twice.
    let Some(other) = Browser::start_or_skip(&fake_microphone(&path)).await else { return };
    other.show_as(TABLET, "light").await;
    other.client.goto(&page.served.url).await.unwrap();
    let advice = page.bench.lock().unwrap().advise().unwrap();
    let words: String = advice.instruction.chars().take(20).collect();
    other.wait_for(&words).await;
    assert_eq!(page.count("heard"), entered);
    arm(&other).await;
    page.wait_for_entries("heard", entered + 1).await;
    other.client.clone().close().await.unwrap();
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_refused_microphone_is_told_in_words() {
    let _alone = ONE_AT_A_TIME.lock().await;
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let page = Page::start(BarFile::read(&example("c3-rough.bar.json")).unwrap()).await;
    browser.client.goto(&page.served.url).await.unwrap();
    browser
        .ask("navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException('', 'NotAllowedError'))")
        .await;
    browser.ask("document.getElementById('ear-arm').click()").await;
    // On a bar to be cut the button stands beside the cut.
    browser.wait_for("The microphone was refused.").await;
    browser.wait_for("then arm again").await;
    assert_eq!(browser.ask("return document.documentElement.hasAttribute('data-armed')").await, json!(false));
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

/// A simulated bar sawn and not yet heard, as a bar file.
fn invented_bar() -> (VirtualBar, BarFile) {
    let note: Note = "C3".parse().unwrap();
    let bar = VirtualBar::new(1, note.hz(440.0)).unwrap();
    let mut job = bar.job().clone();
    if matches!(job.log.last(), Some(Event::Heard(_))) {
        job.log.pop();
    }
    let file = convert::file_of_job(&job, &note).unwrap();
    (bar, file)
}

/// One blow on the hidden bar, as the samples a microphone would give.
fn sound_of(bar: &VirtualBar, seed: u64) -> String {
    let struck = bar.strike(StrikePlace::Quarter).unwrap();
    let loudness: f64 = struck.iter().map(|mode| mode.amplitude).sum();
    let modes: Vec<SynthMode> = struck
        .iter()
        .map(|m| SynthMode { hz: m.hz, decay_s: m.decay_s, amplitude: 0.5 * m.amplitude / loudness, phase_rad: -1.57 })
        .collect();
    let samples = blow(&modes, 48_000.0, 2.0, 0.6, 0.0005, seed);
    base64(&samples.iter().flat_map(|sample| sample.to_le_bytes()).collect::<Vec<u8>>())
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let bits = three.iter().fold(0_u32, |bits, byte| bits << 8 | u32::from(*byte)) << (8 * (3 - three.len()));
        for place in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * place) & 63) as usize];
            text.push(if place <= three.len() { letter as char } else { '=' });
        }
    }
    text
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_invented_bar_is_tuned_by_ear_and_foot_switch_alone() {
    let _alone = ONE_AT_A_TIME.lock().await;
    let Some(browser) = Browser::start_or_skip(&["--autoplay-policy=no-user-gesture-required".to_owned()]).await else {
        return;
    };
    let Some(office) = Browser::start_or_skip(&[]).await else { return };
    let (mut bar, file) = invented_bar();
    let page = Page::start(file).await;
    browser.before_each_page(PLAYED_MICROPHONE).await;
    browser.show_as(TABLET, "light").await;
    browser.client.goto(&page.served.url).await.unwrap();
    office.client.goto(&page.served.url).await.unwrap();
    // The first key arms, for there is nothing to cut yet.
    press(&browser, Key::Enter).await;
    browser.wait_for("Strike the bar").await;
    let mut cuts = 0;
    // The virtual bench finishes within eight bouts as a rule; "strike again" takes a blow each.
    for blow in 1..=24_u64 {
        let heard = page.count("heard");
        let before = page.bench.lock().unwrap().revision();
        browser.ask(&format!("window.playBlow('{}')", sound_of(&bar, blow))).await;
        if blow == 2 {
            // The line breaks in the middle of the ring and comes back by itself.
            tokio::time::sleep(Duration::from_millis(1000)).await;
            browser.ask("window.lines.filter((l) => l.url.includes('/live/')).at(-1).close()").await;
        }
        wait_for_revision(&page, before).await;
        // Each blow adds a reading, also where the line broke: nothing is lost or doubled.
        let now = page.count("heard");
        assert!(now == heard + 1 || (now == heard && blow > 1), "{heard} readings became {now}");
        let advice = page.bench.lock().unwrap().advise().unwrap();
        let first = advice.instruction.split(". ").next().unwrap_or_default();
        let words: String = first.chars().take(16).collect();
        browser.wait_for(&words).await;
        office.wait_for(&words).await;
        match advice.decision {
            Decision::Finished => break,
            Decision::Wait => {}
            Decision::Rescue => panic!("{}", advice.instruction),
            Decision::Cut => {
                let shown = browser.ask("return Number(document.getElementById('passes').value)").await;
                let passes = u32::try_from(shown.as_u64().unwrap()).unwrap();
                bar.cut(&advice.bands, Some(passes)).unwrap();
                press(&browser, Key::PageDown).await;
                cuts += 1;
                page.wait_for_entries("cut", cuts).await;
                browser.wait_for("The cut is entered").await;
            }
        }
    }
    let advice = page.bench.lock().unwrap().advise().unwrap();
    assert_eq!(advice.decision, Decision::Finished, "{}", advice.instruction);
    browser.wait_for("finished").await;
    browser.picture("finished-tablet-light").await;
    // What the rehearsals call finished: within 2, 5 and 10 cents.
    for (cents, limit) in bar.true_cents().unwrap().into_iter().zip(making::virtual_bench::TOLERANCE_CENTS) {
        assert!(cents.abs() <= limit, "{:?}", bar.true_cents());
    }
    assert!(cuts >= 1);
    browser.client.clone().close().await.unwrap();
    office.client.clone().close().await.unwrap();
    page.end().await;
}

/// Something that does not ring: a knock on the bench, as the samples a microphone would give.
fn knock(seed: u64) -> String {
    let mode = |hz, decay_s, amplitude| SynthMode { hz, decay_s, amplitude, phase_rad: 0.4 };
    let samples = blow(&[mode(310.0, 0.01, 0.4), mode(840.0, 0.008, 0.3)], 48_000.0, 0.3, 0.1, 0.0005, seed);
    base64(&samples.iter().flat_map(|sample| sample.to_le_bytes()).collect::<Vec<u8>>())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_knocks_enter_the_cut_where_that_was_chosen_and_one_does_not() {
    let _alone = ONE_AT_A_TIME.lock().await;
    let Some(browser) = Browser::start_or_skip(&["--autoplay-policy=no-user-gesture-required".to_owned()]).await else {
        return;
    };
    let page = Page::start(BarFile::read(&example("c3-rough.bar.json")).unwrap()).await;
    browser.before_each_page(PLAYED_MICROPHONE).await;
    browser.show_as(TABLET, "light").await;
    browser.client.goto(&page.served.url).await.unwrap();
    let before = page.count("cut");
    arm(&browser).await;
    let play = async |seed: u64| {
        browser.ask(&format!("window.playBlow('{}')", knock(seed))).await;
        tokio::time::sleep(Duration::from_millis(1200)).await;
    };
    // Not chosen: knocks are just that.
    play(1).await;
    browser.wait_for("Again").await;
    play(2).await;
    browser.ask("document.getElementById('ear-more').open = true; document.getElementById('ear-knock').click()").await;
    // The two knocks of before do not count.
    tokio::time::sleep(Duration::from_millis(2000)).await;
    play(3).await;
    browser.wait_for("One knock. Knock again to enter the cut.").await;
    assert_eq!(page.count("cut"), before);
    play(4).await;
    browser.wait_for("The cut is entered").await;
    assert_eq!(page.count("cut"), before + 1);
    // The choice is the browser's own and stays.
    browser.client.goto(&page.served.url).await.unwrap();
    assert_eq!(browser.ask("return document.getElementById('ear-knock').checked").await, json!(true));
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

async fn press(browser: &Browser, key: Key) {
    let body = browser.client.find(Locator::Css("body")).await.unwrap();
    body.send_keys(&char::from(key).to_string()).await.unwrap();
}

async fn wait_for_revision(page: &Page, before: u64) {
    let began = Instant::now();
    while page.bench.lock().unwrap().revision() == before {
        assert!(began.elapsed() < PATIENCE, "nothing was entered");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}
