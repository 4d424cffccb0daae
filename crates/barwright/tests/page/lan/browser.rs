//! A phone's browser: pairs by the QR code's address, lends its microphone, and is put out.
//!
//! Needs Debian's `chromium` and `chromium-driver`; see `tests/page/browser.rs` for what happens without them.
use crate::browser_driver::{Browser, Screen};
use crate::common::served::Served;
use crate::common::three_bars::desk;
use crate::common::{bending_sound, wav};
use jiff::Timestamp;
use serde_json::json;
use std::time::{Duration, Instant};
use strike::synth::blow;

const PHONE: Screen = Screen { name: "phone", width: 390, height: 844, mobile: true };
const DESKTOP: Screen = Screen { name: "desktop", width: 1440, height: 900, mobile: false };
/// Chromium's fake device always runs at this rate.
const FAKE_RATE_HZ: f64 = 44_100.0;
/// Far more than anything here takes, also on a loaded machine.
const PATIENCE: Duration = Duration::from_secs(90);

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_phone_pairs_by_the_code_listens_and_is_put_out() {
    let (_folder, desk) = desk();
    let bar = desk.bars().unwrap().into_iter().find(|bar| bar.note.as_deref() == Some("C3")).unwrap().uid.to_string();
    let modes = desk.bench(&bar).unwrap().lock().unwrap().modes().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("blow.wav");
    let mut sound = blow(&bending_sound(&modes), FAKE_RATE_HZ, 3.0, 2.0, 0.0005, 3);
    sound.extend(blow(&[], FAKE_RATE_HZ, 20.0, 0.0, 0.0005, 4));
    std::fs::write(&path, wav(&sound, 44_100, 1, 16, false)).unwrap();
    // The maker's tap on "go on" after comparing the fingerprint, and a microphone that plays a file.
    let flags = [
        "--ignore-certificate-errors".to_owned(),
        "--use-fake-device-for-media-stream".to_owned(),
        "--use-fake-ui-for-media-stream".to_owned(),
        "--autoplay-policy=no-user-gesture-required".to_owned(),
        format!("--use-file-for-fake-audio-capture={}", path.display()),
    ];
    let Some(browser) = Browser::start_or_skip(&flags).await else { return };
    let page = Served::start_on_lan(desk).await;
    let lan = page.lan.clone().unwrap();

    browser.show_as(DESKTOP, "light").await;
    browser.client.goto(&format!("{}devices", page.url)).await.unwrap();
    browser.picture("devices-desktop-light").await;
    let code = lan.pairing().open(Timestamp::now()).unwrap().0;
    browser.wait_for(&code.to_string()).await;

    browser.show_as(PHONE, "light").await;
    browser.client.goto(&lan.pair_url(&code)).await.unwrap();
    let filled = "return [document.getElementById('code').value, location.hash, document.activeElement.id]";
    assert_eq!(browser.ask(filled).await, json!([code.plain(), "", "name"]), "the code is out of the address again");
    browser.ask("document.getElementById('name').value = 'phone in the test'").await;
    for scheme in ["light", "dark"] {
        browser.show_as(PHONE, scheme).await;
        assert_eq!(browser.violations().await, Vec::<String>::new());
        browser.picture(&format!("pair-phone-{scheme}")).await;
    }
    let widths = browser.ask("return [document.documentElement.scrollWidth, window.innerWidth]").await;
    assert!(widths[0].as_u64() <= widths[1].as_u64(), "it runs off the phone: {widths}");
    browser.ask("document.querySelector('#pair button').click()").await;
    browser.wait_for("Next bar").await;
    assert_eq!(
        browser.ask("return [location.protocol, window.isSecureContext, document.cookie]").await,
        json!(["https:", true, ""])
    );

    browser.client.goto(&format!("{}bench/{bar}", lan.url())).await.unwrap();
    browser.ask("return [...document.querySelectorAll('[data-arm]')].find((b) => b.offsetParent).click()").await;
    browser.wait_for("Heard and entered").await;
    browser.picture("heard-by-phone").await;

    lan.registry().revoke("phone in the test").unwrap();
    let began = Instant::now();
    while browser.ask("return location.pathname").await != json!("/pair") {
        assert!(began.elapsed() < PATIENCE, "the phone still shows the bench");
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    browser.client.clone().close().await.unwrap();
    page.end().await;
}
