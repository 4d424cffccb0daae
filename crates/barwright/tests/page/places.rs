//! The places beside the bench in a real browser: with the script and without, by keyboard, on every size.
//!
//! Needs Debian's `chromium` and `chromium-driver`; see `browser.rs` for what happens without them.
use crate::browser_driver::{Browser, Screen};
use crate::common::invented::{Invented, invented};
use crate::common::served::Served;
use fantoccini::Locator;
use fantoccini::key::Key;
use serde_json::json;

const PHONE: Screen = Screen { name: "phone", width: 390, height: 844, mobile: true };
const DESKTOP: Screen = Screen { name: "desktop", width: 1440, height: 900, mobile: false };

/// Shows a place on every size: nothing runs off the side, every link and button can be hit; pictures are kept.
async fn fits(browser: &Browser, url: &str, name: &str) {
    for (screen, scheme) in [(PHONE, "light"), (DESKTOP, "dark"), (DESKTOP, "light")] {
        browser.show_as(screen, scheme).await;
        browser.client.goto(url).await.unwrap();
        browser.ask("return document.fonts.ready.then(() => true)").await;
        let widths = browser.ask("return [document.documentElement.scrollWidth, window.innerWidth]").await;
        assert!(widths[0].as_u64() <= widths[1].as_u64(), "{name} {} {scheme}: {widths}", screen.name);
        assert_eq!(widths[1].as_u64(), Some(u64::from(screen.width)), "the page is not laid out wider and shrunk");
        // 12 mm at 96 to the inch, less a pixel of rounding; words inside a sentence may be links too.
        let small = "return [...document.querySelectorAll('main a, main button, main select, main summary')]\
             .filter((e) => e.getClientRects().length && e.getBoundingClientRect().height < 44).map((e) => e.outerHTML)";
        assert_eq!(browser.ask(small).await, json!([]), "{name} on the {}", screen.name);
        let nameless = "return [...document.querySelectorAll('input, select, audio, svg.drawing')].filter((e) =>\
             e.type !== 'hidden' && !(e.labels?.length || e.ariaLabel || e.getAttribute('aria-label') || e.getAttribute('aria-labelledby') || e.querySelector?.('title'))).map((e) => e.outerHTML.slice(0, 120))";
        assert_eq!(browser.ask(nameless).await, json!([]), "{name}");
        // The whole page, however long.
        let height = browser.ask("return document.documentElement.scrollHeight").await.as_u64().unwrap();
        let whole = Screen { height: u32::try_from(height).unwrap().min(6000), ..screen };
        browser.show_as(whole, scheme).await;
        browser.picture(&format!("{name}-{}-{scheme}", screen.name)).await;
    }
    browser.show_as(DESKTOP, "light").await;
}

/// Goes to the next thing with the Tab key until one with this text has the focus, then presses Enter.
async fn press_by_keyboard(browser: &Browser, words: &str) {
    let focused = "return document.activeElement?.innerText ?? ''";
    for _ in 0..80 {
        browser.client.active_element().await.unwrap().send_keys(&Key::Tab.to_string()).await.unwrap();
        if browser.ask(focused).await.as_str().unwrap().contains(words) {
            browser.client.active_element().await.unwrap().send_keys(&Key::Enter.to_string()).await.unwrap();
            return;
        }
    }
    panic!("\"{words}\" cannot be reached with the Tab key");
}

async fn text(browser: &Browser, css: &str) -> String {
    browser.client.find(Locator::Css(css)).await.unwrap().text().await.unwrap()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn all_bars_are_listed_filtered_sorted_and_drawn() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let Invented { folder: _folder, desk, bars, .. } = invented();
    let page = Served::start(desk).await;
    let address = format!("{}bars", page.url);
    browser.show_as(DESKTOP, "light").await;
    browser.client.goto(&page.url).await.unwrap();
    press_by_keyboard(&browser, "All bars").await;
    browser.wait_for("Node lines of mode 1 from the left end").await;
    let rows = "return document.querySelectorAll('#table tbody tr').length";
    assert_eq!(browser.ask(rows).await, json!(8));
    // Every bar once in the picture: upright boxes of lengths and of wood, two rows of names.
    assert_eq!(browser.ask("return document.querySelectorAll('.sheet.wide svg text').length > 16").await, json!(true));
    // C3 at A4 = 440 Hz is 130.81 Hz: 142.06 Hz is 1200 log2(142.06 / 130.81) = +143 cents.
    assert!(text(&browser, "#table tbody tr:nth-child(1)").await.contains("+143 ± 0.4"));
    let salted = text(&browser, "#table tbody tr:nth-child(3)").await;
    assert!(salted.contains("382 mm (15 1/32 in)"), "{salted}");
    assert!(text(&browser, "#table tbody tr:nth-child(7)").await.contains("read before the last cut"));
    browser.client.find(Locator::Css(".filters a[href*='state=measure']")).await.unwrap().click().await.unwrap();
    browser.wait_for("C4").await;
    assert_eq!(browser.ask(rows).await, json!(1));
    browser.client.back().await.unwrap();
    browser.client.find(Locator::Css("th a[href$='sort=mode1']")).await.unwrap().click().await.unwrap();
    browser.client.wait().for_element(Locator::Css("th[aria-sort=descending]")).await.unwrap();
    assert!(text(&browser, "#table tbody tr:nth-child(1)").await.contains("B3"), "furthest off first: sawn, then cut");
    browser.client.find(Locator::Css("#table tbody tr:nth-child(2) a")).await.unwrap().click().await.unwrap();
    browser.client.wait().for_element(Locator::Id("say")).await.unwrap();
    assert!(browser.client.current_url().await.unwrap().path().ends_with(&bars[0].to_string()));
    // Its bench has worked its nodes out; the list shows them now.
    browser.client.goto(&address).await.unwrap();
    assert!(!text(&browser, "#table tbody tr:nth-child(1)").await.contains("not known"));
    fits(&browser, &address, "bars").await;
    browser.without_scripts().await;
    browser.client.goto(&format!("{address}?state=stale")).await.unwrap();
    browser.client.find(Locator::Css(".bar-link")).await.unwrap().click().await.unwrap();
    browser.client.wait().for_element(Locator::Id("say")).await.unwrap();
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_workshop_makes_a_copy_and_checks_the_record() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let Invented { folder, desk, .. } = invented();
    let page = Served::start(desk).await;
    let address = format!("{}workshop", page.url);
    let copies = || std::fs::read_dir(folder.path().join("backups")).map_or(0, Iterator::count);
    browser.show_as(DESKTOP, "light").await;
    browser.client.goto(&address).await.unwrap();
    browser.wait_for("No copy of this record yet").await;
    let instrument = text(&browser, "#instruments tbody tr").await;
    assert!(
        ["An invented customer", "440 Hz", "21 °C", "8", "0"].iter().all(|w| instrument.contains(w)),
        "{instrument}"
    );
    press_by_keyboard(&browser, "Make a backup now").await;
    browser.wait_for("Copied and checked: copy-").await;
    assert_eq!(copies(), 1);
    let name = std::fs::read_dir(folder.path().join("backups")).unwrap().next().unwrap().unwrap().file_name();
    assert!(text(&browser, "#copies .notice").await.contains(name.to_str().unwrap()), "the copy is named");
    press_by_keyboard(&browser, "Check it now").await;
    browser.wait_for("The record is sound").await;
    browser.wait_for(": sound, ").await;
    fits(&browser, &address, "workshop").await;
    // What is wrong is said, and where the sound copy lies.
    std::fs::write(folder.path().join("backups").join(&name), b"not a database").unwrap();
    browser.without_scripts().await;
    browser.client.goto(&address).await.unwrap();
    browser.client.find(Locator::Css("#health button")).await.unwrap().click().await.unwrap();
    browser.client.wait().for_element(Locator::Css("#health .notice.refused")).await.unwrap();
    assert!(text(&browser, "#health .notice").await.contains("is not sound"));
    browser.client.find(Locator::Css("#copies button")).await.unwrap().click().await.unwrap();
    // The notice of the first copy stands there already: what shows the second is its file.
    for _ in 0..100 {
        if copies() == 2 {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
    assert_eq!(copies(), 2);
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn settings_change_what_can_be_changed_and_say_why_not() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let Invented { folder, desk, instrument, .. } = invented();
    let page = Served::start(desk).await;
    let address = format!("{}settings", page.url);
    let order = || {
        let shop = records::workshop::Workshop::open(folder.path(), jiff::Timestamp::now()).unwrap();
        shop.order(instrument).unwrap()
    };
    let client = &browser.client;
    let enter = async |name: &str, value: &str| {
        let field = client.find(Locator::Css(&format!("[name={name}]"))).await.unwrap();
        field.clear().await.unwrap();
        field.send_keys(value).await.unwrap();
    };
    browser.show_as(DESKTOP, "light").await;
    client.goto(&address).await.unwrap();
    // The blank begins with the hand of the bars that were cut.
    browser.wait_for("of the depth asked for").await;
    browser.wait_for("What C4, bar 8, begins with, learnt on bars").await;
    enter("a4", "442").await;
    client.find(Locator::Css("#orders button")).await.unwrap().click().await.unwrap();
    browser.wait_for("stays at A4 = 440 Hz: 8 bars have their notes").await;
    enter("temperature", "19,5").await;
    client.find(Locator::Css("#orders button")).await.unwrap().click().await.unwrap();
    browser.wait_for("Kept: Invented marimba: A4 = 440 Hz, 19.5 °C, 45 % humidity").await;
    let kept = order();
    assert_eq!((kept.a4_hz, kept.reference.unwrap().temperature_c), (440.0, Some(19.5)));
    assert_eq!(kept.customer.as_deref(), Some("An invented customer"), "what the form does not show stays");
    client.find(Locator::Css("[name=units][value=inch]")).await.unwrap().click().await.unwrap();
    assert_eq!(browser.ask("return document.querySelector('[name=units]:checked').value").await, json!("inch"));
    client.find(Locator::Css("#units button")).await.unwrap().click().await.unwrap();
    browser.wait_for("Kept: units of this browser").await;
    client.goto(&format!("{}bars", page.url)).await.unwrap();
    let row = text(&browser, "#table tbody tr:nth-child(3)").await;
    assert!(row.contains("3 15/32 in") && !row.contains("mm"), "{row}");
    fits(&browser, &address, "settings").await;
    browser.without_scripts().await;
    client.goto(&address).await.unwrap();
    enter("humidity", "150").await;
    client.find(Locator::Css("#orders button")).await.unwrap().click().await.unwrap();
    client.wait().for_element(Locator::Css("#notice .refused")).await.unwrap();
    assert!(text(&browser, "#notice").await.contains("from 0 to 100 %"));
    client.clone().close().await.unwrap();
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_instrument_is_planned_changed_and_bettered_on_the_page() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let Invented { folder: _folder, desk, .. } = invented();
    let page = Served::start(desk).await;
    let address = format!("{}plan", page.url);
    browser.show_as(DESKTOP, "light").await;
    browser.client.goto(&address).await.unwrap();
    let spec = |lowest: &str| {
        format!(
            "document.getElementById('spec').value = `kind = \"marimba\"\nlowest = \"{lowest}\"\nhighest = \"C5\"\na4_hz = 442\nwood = \"Honduras rosewood\"\n`;"
        )
    };
    browser.ask(&(spec("C4") + "document.querySelector('#plan [value=plan]').click()")).await;
    browser.wait_for("Every bar can be made").await;
    assert!(text(&browser, "#answer").await.contains("nodes too far from straight rails"));
    let bars = "return document.querySelectorAll('#answer tbody tr').length";
    assert_eq!(browser.ask(bars).await, serde_json::json!(13));
    fits(&browser, &address, "plan-empty").await;
    for (screen, scheme) in [(PHONE, "light"), (DESKTOP, "dark"), (DESKTOP, "light")] {
        browser.show_as(screen, scheme).await;
        browser.client.goto(&address).await.unwrap();
        browser.ask(&(spec("G3") + "document.querySelector('#plan [value=plan]').click()")).await;
        browser.wait_for("Every bar can be made").await;
        assert_eq!(browser.violations().await, Vec::<String>::new());
        browser.picture(&format!("plan-{}-{scheme}", screen.name)).await;
    }
    browser.ask("document.querySelector('#plan [value=better]').click()").await;
    browser.wait_for("Better sizes, and what they cost").await;
    // What is wrong is said, and what was written stays.
    browser.ask(&(spec("H4") + "document.querySelector('#plan [value=plan]').click()")).await;
    browser.wait_for("No plan.").await;
    assert!(
        browser.ask("return document.getElementById('spec').value.includes('H4')").await == serde_json::json!(true)
    );
    browser.without_scripts().await;
    browser.client.goto(&address).await.unwrap();
    browser.client.find(Locator::Css("#plan [value=plan]")).await.unwrap().click().await.unwrap();
    browser.client.wait().for_element(Locator::Css("#answer")).await.unwrap();
    browser.client.clone().close().await.unwrap();
    page.end().await;
}
