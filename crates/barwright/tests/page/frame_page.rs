//! The frame in a real browser: 61 invented bars from their salt tests to a drill chart, by touch, by keyboard, by typing.
//!
//! Needs Debian's `chromium` and `chromium-driver`; see `browser.rs` for what happens without them.
use crate::browser_driver::{Browser, Screen};
use crate::common::invented_frame::{InventedFrame, invented_frame, standing};
use crate::common::served::Served;
use fantoccini::Locator;
use fantoccini::key::Key;
use records::workshop::Workshop;
use serde_json::{Value, json};
use std::path::Path;

const PHONE: Screen = Screen { name: "phone", width: 390, height: 844, mobile: true };
const DESKTOP: Screen = Screen { name: "desktop", width: 1440, height: 900, mobile: false };

async fn text(browser: &Browser, css: &str) -> String {
    browser.client.find(Locator::Css(css)).await.unwrap().text().await.unwrap()
}

async fn press(browser: &Browser, css: &str) {
    let found = browser.client.find(Locator::Css(css)).await.unwrap();
    browser.ask(&format!("document.querySelector({}).scrollIntoView({{ block: 'center' }})", json!(css))).await;
    found.click().await.unwrap();
}

async fn open(browser: &Browser, id: &str) {
    browser.ask(&format!("document.getElementById('{id}').open = true")).await;
}

fn kept(folder: &Path) -> Workshop {
    Workshop::open(folder, jiff::Timestamp::now()).unwrap()
}

/// The whole page on every size: nothing runs off the side; pictures are kept.
async fn fits(browser: &Browser, name: &str) {
    for (screen, scheme) in [(PHONE, "light"), (DESKTOP, "dark"), (DESKTOP, "light")] {
        browser.show_as(screen, scheme).await;
        browser.ask("return document.fonts.ready.then(() => true)").await;
        let widths = browser.ask("return [document.documentElement.scrollWidth, window.innerWidth]").await;
        assert!(widths[0].as_u64() <= widths[1].as_u64(), "{name} {} {scheme}: {widths}", screen.name);
        let height = browser.ask("return document.documentElement.scrollHeight").await.as_u64().unwrap();
        browser.show_as(Screen { height: u32::try_from(height).unwrap().min(4000), ..screen }, scheme).await;
        browser.picture(&format!("{name}-{}-{scheme}", screen.name)).await;
    }
    browser.show_as(DESKTOP, "light").await;
}

const MISSES: &str = "return [...document.querySelectorAll('#frame-live .then')].map((p) => p.textContent).join()";

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn rails_are_tried_on_the_drawing_kept_and_fitted_again() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let InventedFrame { folder, desk, instrument } = invented_frame();
    let page = Served::start(desk).await;
    browser.show_as(DESKTOP, "light").await;
    browser.client.goto(&format!("{}frame", page.url)).await.unwrap();
    // What is wrong in the example on purpose.
    browser.wait_for("Salt G3 again before you build.").await;
    browser.wait_for("F♯5 has not been read").await;
    assert_eq!(browser.ask("return document.querySelectorAll('.frame-plan rect').length").await, json!(61));
    fits(&browser, "frame").await;
    let before = browser.ask(MISSES).await;
    // By keyboard: the naturals' far rail, treble end, ten millimetres towards the player.
    let handle = "#handle-natural-far-1";
    browser.ask(&format!("document.querySelector('{handle}').focus()")).await;
    let was: f64 =
        browser.ask("return Number(document.getElementById('y-natural-far-1').value)").await.as_f64().unwrap();
    browser.client.active_element().await.unwrap().send_keys(&Key::PageDown.to_string()).await.unwrap();
    browser.wait_for("Only tried: not kept yet.").await;
    let now: f64 =
        browser.ask("return Number(document.getElementById('y-natural-far-1').value)").await.as_f64().unwrap();
    // Fields are kept to a tenth of a millimetre.
    assert!((was - now - 10.0).abs() <= 0.0501, "{was} {now}");
    let tried = browser.ask(MISSES).await;
    assert!(tried != before && tried.as_str().unwrap().contains("Rails set by hand: naturals"), "{tried}");
    assert_eq!(browser.ask("return document.activeElement.id").await, json!("handle-natural-far-1"));
    assert!(kept(folder.path()).frame(instrument).unwrap().plan.is_none(), "nothing is kept by trying");
    // By finger: the same ring 40 pixels down.
    let centre = browser
        .ask(&format!(
            "const e = document.querySelector('{handle} .ring'); e.scrollIntoView({{ block: 'center' }}); \
             const b = e.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]"
        ))
        .await;
    drag(&browser, &centre, 40.0).await;
    browser.ask("return new Promise((done) => setTimeout(() => done(true), 300))").await;
    let dragged: f64 =
        browser.ask("return Number(document.getElementById('y-natural-far-1').value)").await.as_f64().unwrap();
    let per_pixel =
        browser.ask("return 1 / document.querySelector('.frame-plan').getScreenCTM().d").await.as_f64().unwrap();
    // Pixels are whole: half of one either way, and a field's tenth of a millimetre.
    assert!((now - dragged - 40.0 * per_pixel).abs() < per_pixel + 0.1, "{now} {dragged} {per_pixel}");
    press(&browser, "#rails button[type=submit]").await;
    browser.wait_for("Entered: rails set by hand").await;
    let plan = kept(folder.path()).frame(instrument).unwrap().plan.unwrap();
    assert_eq!((plan.by_hand.len(), plan.by_hand[1].points[1][1]), (4, dragged));
    press(&browser, "form[action='/frame/fit'] button").await;
    browser.wait_for("fitted to the bars again").await;
    press(&browser, "form[action='/frame/undo'] button").await;
    browser.wait_for("Entered: taken back").await;
    assert_eq!(kept(folder.path()).frame(instrument).unwrap().plan.unwrap().by_hand.len(), 4);
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

/// A finger that goes down at a place, moves down by so many pixels in steps, and lifts.
async fn drag(browser: &Browser, from: &Value, down: f64) {
    let script = format!(
        "const [x, y] = [{}, {}];\
         const tell = (kind, dy) => (document.elementFromPoint(x, y + dy) ?? document.body).dispatchEvent(\
           new PointerEvent(kind, {{ bubbles: true, cancelable: true, pointerId: 1, pointerType: 'touch', clientX: x, clientY: y + dy }}));\
         tell('pointerdown', 0); for (let step = 1; step <= 8; step++) tell('pointermove', {down} * step / 8); tell('pointerup', {down});",
        from[0], from[1]
    );
    browser.ask(&script).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_standing_frame_makes_the_drill_chart_and_bars_are_entered_as_drilled() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let InventedFrame { folder, desk, instrument } = invented_frame();
    let page = Served::start(desk).await;
    browser.show_as(DESKTOP, "light").await;
    // Without the script: every form is a plain one.
    browser.without_scripts().await;
    browser.client.goto(&format!("{}frame?instrument={instrument}", page.url)).await.unwrap();
    assert!(browser.client.find(Locator::Id("chart")).await.is_err(), "no chart before the frame stands");
    let fill = async |name: String, value: f64| {
        let field = browser.client.find(Locator::Css(&format!("#frame-built [name={name}]"))).await.unwrap();
        field.clear().await.unwrap();
        field.send_keys(&value.to_string()).await.unwrap();
    };
    let built = standing();
    let word = |rail: &records::workshop::RailRecord| format!("{:?}-{:?}", rail.row, rail.rail).to_lowercase();
    for rail in &built.rails {
        for (number, [x, y]) in rail.points.iter().enumerate() {
            fill(format!("x-{}-{number}", word(rail)), *x).await;
            fill(format!("y-{}-{number}", word(rail)), *y).await;
        }
    }
    press(&browser, "#frame-built button[type=submit]").await;
    browser.client.wait().for_element(Locator::Id("chart")).await.unwrap();
    assert!(text(&browser, "#notice").await.contains("the rails as they stand, up to"));
    assert_eq!(kept(folder.path()).frame(instrument).unwrap().built.unwrap().0.rails, built.rails);
    assert!(text(&browser, ".instruction").await.contains("0 of 61 bars are drilled"));
    // G3 was misread and F♯5 not read: no way to enter them as drilled by the chart.
    let chart = text(&browser, "#chart table").await;
    assert_eq!(chart.matches("is drilled").count(), 59, "{chart}");
    press(&browser, "#chart tbody tr:nth-child(1) button").await;
    browser.client.wait().for_element(Locator::Css("#notice .notice")).await.unwrap();
    assert!(text(&browser, "#notice").await.contains("C2: 2 holes of 6 mm drilled"));
    assert!(text(&browser, ".instruction").await.contains("1 of 61 bars are drilled"));
    let shop = kept(folder.path());
    let bar = shop.find_bars("C2", Some(instrument)).unwrap()[0].uid;
    let holes = shop.bar(bar).unwrap().drilled.unwrap().holes;
    // Mode 1's nodes of an arched bar lie near a sixth to a fifth of 573 mm (`reference/node_drift.csv`).
    assert!((90.0..120.0).contains(&holes[0].near_mm) && holes[1].near_mm > 460.0, "{holes:?}");
    // One bar under the drill: its own page, what drilling does to it, and marks made as it lay on the frame.
    press(&browser, "#chart tbody tr:nth-child(2) th a").await;
    browser.client.wait().for_element(Locator::Id("own-marks")).await.unwrap();
    assert!(text(&browser, ".instruction").await.contains("Drill C♯2"));
    let shown = text(&browser, "#main").await;
    assert!(shown.contains("Drilling changes modes 1 to 3 by about"), "{shown}");
    fits(&browser, "drill").await;
    browser.client.find(Locator::Css("#own-marks summary")).await.unwrap().click().await.unwrap();
    let by_rails: Vec<f64> = serde_json::from_value(
        browser
            .ask("return [...document.querySelectorAll('.holes td')].map((c) => Number.parseFloat(c.textContent))")
            .await,
    )
    .unwrap();
    let marks = [by_rails[0] + 1.5, by_rails[1] + 1.5, by_rails[2], by_rails[3]];
    for (key, mark) in ["player_left", "player_right", "far_left", "far_right"].iter().zip(marks) {
        let field = browser.client.find(Locator::Css(&format!("#own-marks [name={key}]"))).await.unwrap();
        field.clear().await.unwrap();
        field.send_keys(&format!("{mark:.1}")).await.unwrap();
    }
    press(&browser, "#own-marks button[type=submit]").await;
    browser.client.wait().for_element(Locator::Css("form[action='/frame/drilled'] [name=far_left]")).await.unwrap();
    let shown = text(&browser, "#main").await;
    // The figures are shown to half a millimetre, the shop's scale, so the marks are off by 1.5 mm less or more a quarter.
    assert!(
        ["1.3", "1.4", "1.5", "1.6", "1.7", "1.8"].iter().any(|mm| shown.contains(&format!("up to {mm} mm off"))),
        "{shown}"
    );
    press(&browser, "form[action='/frame/drilled'] button").await;
    browser.client.wait().for_element(Locator::Css("#notice .notice")).await.unwrap();
    assert!(text(&browser, "#notice").await.contains("C♯2: 2 holes of 6 mm drilled"));
    let shop = kept(folder.path());
    let bar = shop.find_bars("C#2", Some(instrument)).unwrap()[0].uid;
    let holes = shop.bar(bar).unwrap().drilled.unwrap().holes;
    // On the bench the left side on the instrument is the far edge.
    assert!(
        (holes[0].far_mm - marks[0]).abs() < 0.06 && (holes[0].near_mm - marks[1]).abs() < 0.06,
        "{holes:?} {marks:?}"
    );
    // A half-filled place is refused in words and nothing is kept.
    browser.client.find(Locator::Css("#as-built summary")).await.unwrap().click().await.unwrap();
    fill("y-natural-far-0".to_owned(), 380.0).await;
    let field = browser.client.find(Locator::Css("#frame-built [name=x-natural-far-0]")).await.unwrap();
    field.clear().await.unwrap();
    press(&browser, "#frame-built button[type=submit]").await;
    browser.client.wait().for_element(Locator::Css("#notice .refused")).await.unwrap();
    let refused = text(&browser, "#notice").await;
    assert!(refused.contains("The naturals' far rail, place 1, along: it was left empty"), "{refused}");
    assert_eq!(kept(folder.path()).frame(instrument).unwrap().built.unwrap().0.rails, built.rails);
    browser.client.clone().close().await.unwrap();
    page.end().await;

    // With the script again, for the pictures, and the wishes.
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let page = Served::start(barwright::bench::Desk::of_record(kept(folder.path()), true)).await;
    browser.show_as(DESKTOP, "light").await;
    browser.client.goto(&format!("{}frame", page.url)).await.unwrap();
    for fold in ["every-bar", "wishes", "members"] {
        open(&browser, fold).await;
    }
    fits(&browser, "frame-built").await;
    open(&browser, "wishes").await;
    let gap = browser.client.find(Locator::Css("#frame-plan [name=gap]")).await.unwrap();
    gap.clear().await.unwrap();
    gap.send_keys("5/8 in").await.unwrap();
    press(&browser, "#frame-plan button[type=submit]").await;
    browser.wait_for("Entered: how the frame is to be").await;
    assert!((kept(folder.path()).frame(instrument).unwrap().plan.unwrap().gap_mm - 15.875).abs() < 1e-9);
    open(&browser, "wishes").await;
    let gap = browser.client.find(Locator::Css("#frame-plan [name=gap]")).await.unwrap();
    gap.clear().await.unwrap();
    gap.send_keys("600").await.unwrap();
    press(&browser, "#frame-plan button[type=submit]").await;
    browser.wait_for("The gap between bars is 600 mm").await;
    browser.client.clone().close().await.unwrap();
    page.end().await;
}
