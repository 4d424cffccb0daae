//! Every screen of the page against independent judges: axe-core (WCAG rules, contrast as the browser paints it) in a real
//! browser, HTML Tidy for the mark-up; and that no screen asks anybody else for anything.
//!
//! The screens are found by following the page's own links, so that a new one cannot be forgotten.
//! Needs Debian's `chromium`, `chromium-driver` and `tidy`; see `browser.rs` for what happens without them.
use crate::browser_driver::{Browser, Screen};
use crate::common::served::Served;
use crate::common::three_bars::desk;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::Write;
use std::process::{Command, Stdio};

const DESKTOP: Screen = Screen { name: "desktop", width: 1440, height: 900, mobile: false };
const PHONE: Screen = Screen { name: "phone", width: 390, height: 844, mobile: true };

/// One address for each kind of screen, by the address with names of things left out.
async fn screens(browser: &Browser, url: &str) -> BTreeMap<String, String> {
    let mut found = BTreeMap::from([("/".to_owned(), url.to_owned())]);
    let mut waiting = vec![url.to_owned()];
    while let Some(at) = waiting.pop() {
        browser.client.goto(&at).await.unwrap();
        let links = browser
            .ask(
                "return [...document.querySelectorAll('a[href]')].map((a) => new URL(a.href))\
                 .filter((u) => u.origin === location.origin && !/^.(assets|takes|photos|api).|[.]svg$/.test(u.pathname))\
                 .map((u) => [u.pathname.replace(/[0-9a-f]{8}-[0-9a-f-]{27}/g, 'ID'), u.origin + u.pathname + u.search])",
            )
            .await;
        for link in links.as_array().unwrap() {
            let (kind, address) = (link[0].as_str().unwrap(), link[1].as_str().unwrap());
            if !found.contains_key(kind) {
                found.insert(kind.to_owned(), address.to_owned());
                waiting.push(address.to_owned());
            }
        }
    }
    found
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn no_screen_has_a_finding_of_the_accessibility_checker_or_asks_elsewhere() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let (_folder, desk) = desk();
    let page = Served::start_on_lan(desk).await;
    browser.show_as(DESKTOP, "light").await;
    let screens = screens(&browser, &page.url).await;
    // The queue, a bench and a history at least.
    assert!(screens.len() >= 3, "{screens:?}");
    let mut all = Vec::new();
    for (screen, scheme) in [(DESKTOP, "light"), (DESKTOP, "dark"), (PHONE, "light")] {
        browser.show_as(screen, scheme).await;
        for (kind, address) in &screens {
            browser.client.goto(address).await.unwrap();
            browser.ask("return document.fonts.ready.then(() => true)").await;
            let found = browser.violations().await;
            all.extend(found.into_iter().map(|line| format!("{kind} {} {scheme}: {line}", screen.name)));
            let widths = browser.ask("return [document.documentElement.scrollWidth, window.innerWidth]").await;
            assert!(widths[0].as_u64() <= widths[1].as_u64(), "{kind} runs off the {}: {widths}", screen.name);
            let asked = "return performance.getEntriesByType('resource').map((r) => r.name)\
                 .filter((n) => !n.startsWith(location.origin) && !n.startsWith('data:'))";
            assert_eq!(browser.ask(asked).await, json!([]), "{kind} asks elsewhere");
            browser.picture(&format!("screen{}-{}-{scheme}", kind.replace('/', "-"), screen.name)).await;
        }
    }
    assert!(all.is_empty(), "{} findings:\n{}", all.len(), all.join("\n"));
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

/// What Tidy (5.6, of 2017) says of sound pages, and why it is no fault.
const TIDY_ERRS: [(&str, &str, &str); 4] = [
    ("<svg> attribute", "mm\"", "SVG 2, 8.2: width and height are lengths with a unit"),
    ("<title> proprietary attribute", "\"id\"", "HTML, 3.2.6 and SVG 2, 5.2: any element may have an id"),
    ("<input> proprietary attribute", "\"inputmode\"", "HTML, 6.8.7"),
    ("<a> proprietary attribute", "\"aria-current\"", "WAI-ARIA 1.2, 6.6"),
];

/// What HTML Tidy says of a page; `None` if it is not installed.
fn tidied(html: &str) -> Option<Vec<String>> {
    let mut tidy = Command::new("tidy")
        .args(["-q", "-e", "-utf8", "--drop-empty-elements", "no", "--gnu-emacs", "no"])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .ok()?;
    let mut input = tidy.stdin.take().unwrap();
    let text = html.to_owned();
    let writer = std::thread::spawn(move || input.write_all(text.as_bytes()));
    let output = tidy.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    let known = |line: &str| TIDY_ERRS.iter().any(|(what, detail, _)| line.contains(what) && line.contains(detail));
    let lines = String::from_utf8_lossy(&output.stderr).into_owned();
    Some(lines.lines().filter(|line| !known(line)).map(str::to_owned).collect())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_screen_is_sound_html() {
    if tidied("<!doctype html><title>x</title>").is_none() {
        let required = std::env::var("BARWRIGHT_REQUIRE_READERS").is_ok_and(|value| value == "1");
        assert!(!required, "the Debian package tidy is not installed; apt-get install tidy");
        eprintln!("skipped: the Debian package tidy is not installed");
        return;
    }
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let (_folder, desk) = desk();
    let page = Served::start_on_lan(desk).await;
    for (kind, address) in screens(&browser, &page.url).await {
        // As it is sent, before the browser mends it.
        let script =
            "const done = arguments[arguments.length - 1]; fetch(arguments[0]).then((r) => r.text()).then(done)";
        let text = browser.client.execute_async(script, vec![Value::String(address)]).await.unwrap();
        let said = tidied(text.as_str().unwrap()).unwrap();
        assert!(said.is_empty(), "{kind}:\n{}", said.join("\n"));
    }
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

/// In the system's high-contrast mode every drawing and every button keeps its lines.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn drawings_keep_their_lines_in_forced_colours() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let (_folder, desk) = desk();
    let page = Served::start_on_lan(desk).await;
    browser.show_as(DESKTOP, "light").await;
    let screens = screens(&browser, &page.url).await;
    browser.with_forced_colours().await;
    for (kind, address) in &screens {
        browser.client.goto(address).await.unwrap();
        // A line or a button's edge in the colour of the ground could not be seen.
        let unseen = "const ground = getComputedStyle(document.body).backgroundColor;\
             const lines = [...document.querySelectorAll('svg .pen-outline, svg .pen-node, svg .pen-limit')].filter((e) => getComputedStyle(e).stroke === ground);\
             const edges = [...document.querySelectorAll('button, .button')].filter((e) => getComputedStyle(e).borderTopColor === ground && getComputedStyle(e).backgroundColor === ground);\
             return [...lines, ...edges].map((e) => e.outerHTML.slice(0, 120))";
        assert_eq!(browser.ask(unseen).await, json!([]), "{kind}");
        browser.picture(&format!("screen{}-forced", kind.replace('/', "-"))).await;
    }
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

/// WCAG 2.2: text doubled in size (1.4.4), and a page magnified fourfold on a screen 1280 wide (1.4.10) need no scrolling sideways and
/// cut no words off; nothing moves for who asked for stillness (2.3.3); every drawing says what it shows (1.1.1).
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_screen_can_be_enlarged_is_still_and_has_words_for_its_drawings() {
    const MAGNIFIED: Screen = Screen { name: "magnified", width: 320, height: 256, mobile: true };
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let (_folder, desk) = desk();
    let page = Served::start_on_lan(desk).await;
    browser.show_as(DESKTOP, "light").await;
    let screens = screens(&browser, &page.url).await;
    let wide = "const all = document.documentElement; const off = [...document.querySelectorAll('main *')].findLast((e) => e.getBoundingClientRect().right > all.clientWidth + 1 && !e.closest('.scroll, .queue'));\
         return [all.scrollWidth, all.clientWidth, off ? off.outerHTML.slice(0, 200) : '']";
    // A button whose words are wider than itself is cut off or runs into its neighbour.
    let cut = "return [...document.querySelectorAll('button, .button')].filter((e) => e.offsetParent && e.scrollWidth > e.clientWidth + 1)\
         .map((e) => e.outerHTML.slice(0, 120))";
    let mut wrong = Vec::new();
    for (kind, address) in &screens {
        for (screen, larger) in [(DESKTOP, true), (MAGNIFIED, false)] {
            browser.show_as(screen, "light").await;
            browser.client.goto(address).await.unwrap();
            browser.ask("return document.fonts.ready.then(() => true)").await;
            browser.ask("for (const fold of document.querySelectorAll('details')) fold.open = true").await;
            if larger {
                browser.ask("document.documentElement.style.fontSize = '200%'").await;
            }
            let widths = browser.ask(wide).await;
            if widths[0].as_u64() > widths[1].as_u64() {
                wrong.push(format!("{kind} runs off the {} screen: {widths}", screen.name));
            }
            let cut = browser.ask(cut).await;
            if cut != json!([]) {
                wrong.push(format!("{kind}, {}: {cut}", screen.name));
            }
            browser.picture(&format!("screen{}-{}", kind.replace('/', "-"), screen.name)).await;
        }
        browser.with_little_motion().await;
        let moving = browser.ask("return document.getAnimations().length").await;
        if moving != json!(0) {
            wrong.push(format!("{kind}: {moving} things move"));
        }
        let wordless = "return [...document.querySelectorAll('svg')].filter((e) => e.getAttribute('aria-hidden') !== 'true')\
             .filter((e) => (e.getAttribute('aria-label') || '').length < 10)\
             .filter((e) => !((e.querySelector('title')?.textContent || '').trim() && (e.querySelector('desc')?.textContent || '').trim().length > 10))\
             .map((e) => e.outerHTML.slice(0, 160))";
        let wordless = browser.ask(wordless).await;
        if wordless != json!([]) {
            wrong.push(format!("{kind}: drawings without words {wordless}"));
        }
        let pictures = browser.ask("return [...document.querySelectorAll('img')].filter((e) => !e.alt.trim() || !e.naturalWidth).map((e) => e.src)").await;
        if pictures != json!([]) {
            wrong.push(format!("{kind}: pictures that are missing or say nothing {pictures}"));
        }
    }
    assert!(wrong.is_empty(), "{} findings:\n{}", wrong.len(), wrong.join("\n"));
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
#[ignore = "prints figures; time is no matter for a test"]
async fn first_paint_on_slow_processors() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let (_folder, desk) = desk();
    let page = Served::start_on_lan(desk).await;
    browser.show_as(PHONE, "light").await;
    let screens = screens(&browser, &page.url).await;
    println!("times slower  screen  first paint ms (median of 5)");
    for times in [1.0, 4.0, 6.0] {
        browser.slowed(times).await;
        for (kind, address) in &screens {
            let mut paints = Vec::new();
            for _ in 0..5 {
                browser.client.goto(address).await.unwrap();
                let paint = "return performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? null";
                let mut at = Value::Null;
                while at.is_null() {
                    at = browser.ask(paint).await;
                }
                paints.push(at.as_f64().unwrap());
            }
            paints.sort_by(f64::total_cmp);
            println!("{times:>12} {kind:>14} {:>8.0}", paints[2]);
        }
    }
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_salt_test_is_entered_by_touching_the_bar_and_doubted_in_words() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let (_folder, desk) = desk();
    let page = Served::start_on_lan(desk).await;
    browser.show_as(PHONE, "light").await;
    let address = screens(&browser, &page.url).await["/salt/ID"].clone();
    browser.client.goto(&address).await.unwrap();
    // A touch at this share of the drawing's width and height.
    let touch = |x: f64, y: f64| {
        format!(
            "const svg = document.querySelector('[data-salt]'); const box = svg.getBoundingClientRect();\
             svg.dispatchEvent(new MouseEvent('click', {{ bubbles: true, clientX: box.left + {x} * box.width, clientY: box.top + {y} * box.height }}))"
        )
    };
    // The bar is 470 × 62 mm with 14 mm around it: near and far edge of both lines, at 110 mm from their ends.
    let (x, near, far) = ((14.0 + 110.0) / 498.0, 73.0 / 90.0, 17.0 / 90.0);
    for (x, y) in [(x, near), (x, far), (1.0 - x, near), (1.0 - x, far)] {
        browser.ask(&touch(x, y)).await;
    }
    for field in ["left-near", "left-far", "right-near", "right-far"] {
        let read = browser.ask(&format!("return Number(document.getElementById('salt-{field}').value)")).await;
        // A pixel of this screen is 1.4 mm of the bar.
        assert!((read.as_f64().unwrap() - 110.0).abs() < 1.5, "{field}: {read}");
    }
    assert_eq!(browser.ask("return document.querySelectorAll('#salt-marks path').length").await, json!(4));
    browser.ask("document.querySelector('#salt button').click()").await;
    browser.wait_for("Entered: salt test, face A up").await;
    browser.picture("salt-phone-light").await;
    // A form with two buttons sends the one that was pressed.
    browser.ask("const why = document.getElementById('top-why'); if (why) why.value = 'invented'; document.querySelector('#top button[value=B]').click()").await;
    browser.wait_for("Entered: face B is the top").await;
    // A line that cannot be is refused in words, and nothing is entered.
    browser.ask("document.getElementById('salt-left-near').value = '900'; document.getElementById('salt-left-far').value = '100'; document.getElementById('salt-right-near').value = '100'; document.getElementById('salt-right-far').value = '100'; document.querySelector('#salt button').click()").await;
    browser.wait_for("it must lie between 1 and 469 mm").await;
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

/// The frame with everything on it: 61 bars, rails that stand, the drill chart.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_standing_frame_has_no_finding_of_the_accessibility_checker() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let invented = crate::common::invented_frame::invented_frame();
    let built = records::workshop::Body::FrameBuilt(crate::common::invented_frame::standing());
    let now = jiff::Timestamp::now();
    let mut shop = records::workshop::Workshop::open(invented.folder.path(), now).unwrap();
    shop.write(|step| step.add(invented.instrument, built.into(), now)).unwrap();
    let page = Served::start(invented.desk).await;
    for (screen, scheme) in [(DESKTOP, "light"), (DESKTOP, "dark"), (PHONE, "light")] {
        browser.show_as(screen, scheme).await;
        for place in ["frame".to_owned(), format!("frame/bar?instrument={}&note=C2", invented.instrument)] {
            browser.client.goto(&format!("{}{place}", page.url)).await.unwrap();
            // What is folded counts too.
            browser.ask("for (const fold of document.querySelectorAll('details')) fold.open = true").await;
            browser.ask("return document.fonts.ready.then(() => true)").await;
            let found = browser.violations().await;
            assert!(found.is_empty(), "{place} {} {scheme}: {found:#?}", screen.name);
        }
    }
    browser.client.clone().close().await.unwrap();
    page.end().await;
}
