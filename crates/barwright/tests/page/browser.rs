//! The main job in a real browser: a recording is dropped, heard, the cut entered, taken back.
//!
//! Needs Debian's `chromium` and `chromium-driver`. Without them the test says "skipped" and passes, unless
//! `BARWRIGHT_REQUIRE_BROWSER=1` is set, as it is where the project is checked.
use crate::browser_driver::{Browser, Screen};
use crate::common::served::Served;
use crate::common::{bending_sound, example, wav};
use barwright::bench::{Bench, SharedBench};
use fantoccini::Locator;
use records::BarFile;
use serde_json::json;
use std::sync::{Arc, Mutex};
use strike::synth::blow;

const SCREENS: [Screen; 3] = [
    Screen { name: "phone", width: 390, height: 844, mobile: true },
    Screen { name: "tablet", width: 1024, height: 768, mobile: true },
    Screen { name: "desktop", width: 1440, height: 900, mobile: false },
];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_maker_strikes_cuts_and_takes_back_in_the_browser() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let file = BarFile::read(&example("c3-rough.bar.json")).unwrap();
    let bench: SharedBench = Arc::new(Mutex::new(Bench::in_memory(file, true)));
    let page = Served::start(Arc::clone(&bench)).await;
    let url = page.url.clone();
    browser.show_as(SCREENS[2], "light").await;
    browser.client.goto(&url).await.unwrap();
    the_whole_job(&browser, &bench).await;
    every_screen_fits(&browser, &url).await;
    without_the_script(&browser, &url, &bench).await;
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

/// Reads, strikes, cuts, takes back.
async fn the_whole_job(browser: &Browser, bench: &SharedBench) {
    let advice = bench.lock().unwrap().advise().unwrap();
    let first_words: String = advice.instruction.chars().take(20).collect();
    browser.wait_for(&first_words).await;
    browser.wait_for("invented workshop").await;
    let folder = tempfile::tempdir().unwrap();
    let take = folder.path().join("blow.wav");
    std::fs::write(&take, sound(bench)).unwrap();
    let client = &browser.client;
    client.find(Locator::Id("take")).await.unwrap().send_keys(&take.display().to_string()).await.unwrap();
    client.find(Locator::Css("#strike button[type=submit]")).await.unwrap().click().await.unwrap();
    browser.wait_for("Heard and entered: modes 1, 2 and 3").await;
    browser.wait_for("Heard last").await;
    assert_eq!(bench.lock().unwrap().revision(), 1);
    let before = browser.ask("return document.getElementById('passes').value").await;
    client.find(Locator::Css("[data-step='1']")).await.unwrap().click().await.unwrap();
    let after = browser.ask("return document.getElementById('passes').value").await;
    let number = |value: &serde_json::Value| value.as_str().unwrap().parse::<u32>().unwrap();
    assert_eq!(number(&after), number(&before) + 1, "+ adds a pass without leaving the page");
    client.find(Locator::Css("#cut button[type=submit]")).await.unwrap().click().await.unwrap();
    browser.wait_for("The cut is entered").await;
    browser.wait_for(&format!("({} pass", number(&after))).await;
    assert_eq!(bench.lock().unwrap().revision(), 2);
    client.find(Locator::Css("form.undo button")).await.unwrap().click().await.unwrap();
    browser.wait_for("Taken back").await;
    assert_eq!(bench.lock().unwrap().revision(), 3);
    // Something changed behind the page's back is shown without a touch.
    bench.lock().unwrap().undo().unwrap();
    let gone = "return !document.body.innerText.includes('Heard last')";
    for _ in 0..100 {
        if browser.ask(gone).await == json!(true) {
            return;
        }
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
    panic!("the page did not follow the bench");
}

/// Nothing runs off the side, things to press are large enough, and pictures are kept.
async fn every_screen_fits(browser: &Browser, url: &str) {
    for screen in SCREENS {
        for scheme in ["light", "dark"] {
            browser.show_as(screen, scheme).await;
            browser.client.goto(url).await.unwrap();
            browser.ask("return document.fonts.ready.then(() => true)").await;
            let widths = browser.ask("return [document.documentElement.scrollWidth, window.innerWidth]").await;
            assert!(widths[0].as_u64() <= widths[1].as_u64(), "{} {scheme}: {widths}", screen.name);
            assert_eq!(widths[1].as_u64(), Some(u64::from(screen.width)), "the page is not laid out wider and shrunk");
            let face = browser.ask("return document.fonts.check('700 20px \"Barwright Sans\"', 'C♯♭')").await;
            assert_eq!(face, json!(true), "the face is loaded");
            browser.picture(&format!("bench-{}-{scheme}", screen.name)).await;
        }
        // 20 mm at 96 to the inch, less one pixel of rounding.
        let small = "return [...document.querySelectorAll('button, .button, .places label, .drop')]\
             .filter((e) => e.getBoundingClientRect().height < 74.5 || e.getBoundingClientRect().width < 74.5).map((e) => e.outerHTML)";
        assert_eq!(browser.ask(small).await, json!([]), "on the {}", screen.name);
    }
    browser.show_as(SCREENS[2], "light").await;
    the_drawing_reads(browser).await;
}

/// As the browser sets it: no lettering of a drawing lies over other lettering.
async fn the_drawing_reads(browser: &Browser) {
    let overlaps = "return [...document.querySelectorAll('svg.drawing')].flatMap((svg) => {\
         const boxes = [...svg.querySelectorAll('text')].map((t) => [t.textContent, t.getBoundingClientRect()]).filter(([, b]) => b.width > 0);\
         return boxes.flatMap(([a, p], i) => boxes.slice(i + 1)\
           .filter(([, q]) => p.left < q.right && q.left < p.right && p.top + p.height * 0.25 < q.bottom - q.height * 0.2 && q.top + q.height * 0.25 < p.bottom - p.height * 0.2)\
           .map(([b]) => a + ' / ' + b)); })";
    // A text's box holds the whole line: the face leaves a quarter above capitals and a fifth under the baseline free.
    assert_eq!(browser.ask(overlaps).await, json!([]));
}

/// The same job as plain forms: scripts off.
async fn without_the_script(browser: &Browser, url: &str, bench: &SharedBench) {
    browser.without_scripts().await;
    browser.client.goto(url).await.unwrap();
    let folder = tempfile::tempdir().unwrap();
    let take = folder.path().join("blow.wav");
    std::fs::write(&take, sound(bench)).unwrap();
    let before = bench.lock().unwrap().revision();
    browser.client.find(Locator::Id("take")).await.unwrap().send_keys(&take.display().to_string()).await.unwrap();
    browser.client.find(Locator::Css("#strike button[type=submit]")).await.unwrap().click().await.unwrap();
    browser.client.wait().for_element(Locator::Id("heard")).await.unwrap();
    assert_eq!(bench.lock().unwrap().revision(), before + 1);
}

/// A synthetic blow on the bar as it is believed to be.
fn sound(bench: &SharedBench) -> Vec<u8> {
    let modes = bench.lock().unwrap().modes().unwrap();
    let sound = bending_sound(&modes);
    wav(&blow(&sound, 48_000.0, 1.2, 0.3, 0.0005, 3), 48_000, 1, 16, false)
}
