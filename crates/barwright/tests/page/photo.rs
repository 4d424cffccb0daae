//! A salt test from a photograph in a real browser: sent, marked by touch and by keys, read, seen, entered.
use crate::browser_driver::{Browser, Screen};
use crate::common::photograph::{LINES_M, Shot, jpeg};
use crate::common::served::Served;
use crate::common::three_bars::desk;
use barwright::bench::{SharedWorkshop, hold};
use fantoccini::Locator;
use records::workshop::{BarFilter, SaltRecord};
use serde_json::{Value, json};

const DESKTOP: Screen = Screen { name: "desktop", width: 1440, height: 900, mobile: false };
const PHONE: Screen = Screen { name: "phone", width: 390, height: 844, mobile: true };

/// A touch at a place of the picture, in the whole picture or in the loupe.
fn touch(svg: &str, [x, y]: [f64; 2]) -> String {
    format!(
        "const svg = document.getElementById('{svg}'); const at = new DOMPoint({x}, {y}).matrixTransform(svg.getScreenCTM());\
         svg.dispatchEvent(new MouseEvent('click', {{ bubbles: true, clientX: at.x, clientY: at.y }}))"
    )
}

async fn press(browser: &Browser, css: &str) {
    browser.ask(&format!("document.querySelector('{css}').click()")).await;
}

/// The salt test of the bar that has a photograph.
fn kept(workshop: &SharedWorkshop) -> Option<SaltRecord> {
    let workshop = hold(workshop);
    let bars = workshop.bars(&BarFilter::default()).unwrap();
    let mut tests = bars.iter().flat_map(|row| workshop.bar(row.uid).unwrap().salt).map(|(salt, _)| salt);
    tests.find(|salt| salt.photo.is_some())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_photograph_becomes_a_salt_test_by_touch() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let (folder, desk) = desk();
    let shown = desk.workshop().unwrap().clone();
    let page = Served::start(desk).await;
    let shot = Shot { size_px: [2400, 1800], ..Shot::HAND_HELD };
    let picture = shot.render();
    let (photo, wrong) = (folder.path().join("salt.jpg"), folder.path().join("salt.heic"));
    // Taken with the camera turned: the page shows and counts it upright.
    std::fs::write(&photo, jpeg(&picture, false)).unwrap();
    std::fs::write(&wrong, b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").unwrap();
    browser.show_as(PHONE, "light").await;
    let bar = first_long_bar(&shown);
    browser.client.goto(&format!("{}salt/{bar}/photo", page.url)).await.unwrap();
    assert_eq!(browser.violations().await, Vec::<String>::new());
    browser.picture("photo-send-phone").await;
    send(&browser, &wrong).await;
    browser.wait_for("choose JPEG").await;
    send(&browser, &photo).await;
    browser.wait_for("Touch the left near corner").await;
    touched(&browser, &shot.marks(&picture)).await;
    assert_eq!(browser.violations().await, Vec::<String>::new());
    let widths = browser.ask("return [document.documentElement.scrollWidth, window.innerWidth]").await;
    assert!(widths[0].as_u64() <= widths[1].as_u64(), "runs off the phone: {widths}");
    browser.picture("photo-marked-phone").await;
    browser.show_as(DESKTOP, "light").await;
    browser.picture("photo-marked-desktop").await;
    browser.show_as(PHONE, "light").await;
    press(&browser, "#read-lines").await;
    browser.wait_for("What the photograph says").await;
    browser.wait_for("one standard deviation").await;
    let drawn = "const done = arguments[arguments.length - 1]; const img = document.querySelector('.strip-picture');\
         const told = () => done([img.naturalWidth, img.naturalHeight]); if (img.complete) told(); else img.onload = img.onerror = told";
    let size = browser.client.execute_async(drawn, Vec::new()).await.unwrap();
    assert!(size[0].as_u64() > Some(400), "the strip is shown: {size}");
    for (screen, scheme) in [(PHONE, "light"), (DESKTOP, "light"), (DESKTOP, "dark")] {
        browser.show_as(screen, scheme).await;
        assert_eq!(browser.violations().await, Vec::<String>::new());
        browser.picture(&format!("photo-read-{}-{scheme}", screen.name)).await;
    }
    assert!(kept(&shown).is_none(), "nothing is entered before it was seen");
    press(&browser, "[value=enter]").await;
    browser.wait_for("Entered: salt test, face A up, off a photograph").await;
    let salt = kept(&shown).unwrap();
    for (line, [near, centre, far]) in [&salt.left, &salt.right].into_iter().zip(LINES_M) {
        for (read_mm, x_m) in [(line.near_mm, near), (line.centre_mm.unwrap(), centre), (line.far_mm, far)] {
            // The aim for a node line; a pixel of this picture is 0.2 mm of the bar.
            assert!((read_mm - 1e3 * x_m).abs() < 1.0, "{read_mm} {x_m}");
        }
    }
    browser.client.goto(&format!("{}history/{bar}", page.url)).await.unwrap();
    browser.wait_for("The photograph").await;
    browser.client.clone().close().await.unwrap();
    page.end().await;
}

fn first_long_bar(workshop: &SharedWorkshop) -> String {
    let workshop = hold(workshop);
    let bars = workshop.bars(&BarFilter::default()).unwrap();
    let long = bars.iter().find(|row| {
        let file = workshop.bar(row.uid).unwrap().file;
        // The bar in the picture.
        (file.outline().length_mm() - 470.0).abs() < 0.5 && (file.record().width_mm - 62.0).abs() < 0.5
    });
    long.unwrap().uid.to_string()
}

async fn send(browser: &Browser, photo: &std::path::Path) {
    let input = browser.client.find(Locator::Id("photo")).await.unwrap();
    input.send_keys(&photo.display().to_string()).await.unwrap();
    press(browser, "#send button[type=submit]").await;
}

/// All marks, as a hand sets them: roughly in the picture, exactly in the loupe, the last pixels by the buttons.
async fn touched(browser: &Browser, marks: &Value) {
    let ticks = marks["ruler"].as_array().unwrap();
    let all: Vec<[f64; 2]> = ["corners_px", "left_px", "right_px"]
        .iter()
        .flat_map(|key| marks[key].as_array().unwrap().clone())
        .chain(ticks.iter().map(|tick| tick["px"].clone()))
        .map(|place| [place[0].as_f64().unwrap(), place[1].as_f64().unwrap()])
        .collect();
    // Too early: what is missing is named, and what was marked stays.
    browser.ask(&touch("picture", all[0])).await;
    press(browser, "#read-lines").await;
    browser.wait_for("The right near corner is not marked yet").await;
    let stays = browser.ask("return JSON.parse(document.getElementById('marks').value).corners[0] !== null").await;
    assert_eq!(stays, json!(true));
    press(browser, "[data-mark=\"corners.0\"]").await;
    for (index, [x, y]) in all.iter().enumerate() {
        browser.ask(&touch("picture", [x + 31.0, y - 17.0])).await;
        if index == 5 {
            browser.picture("photo-loupe-phone").await;
        }
        // The first touch brings the loupe closer, the second is exact.
        browser.ask(&touch("loupe", [x + 5.0, y - 3.0])).await;
        browser.ask(&touch("loupe", [x + 2.0, *y])).await;
        press(browser, "[data-dx=\"-1\"]").await;
        press(browser, "[data-dx=\"-1\"]").await;
        press(browser, "#mark-next").await;
    }
    for (number, tick) in ticks.iter().enumerate() {
        let set = format!("document.getElementById('tick-{}').value = '{}'", number + 1, tick["reads_mm"]);
        browser.ask(&set).await;
    }
    let set = browser.ask("return JSON.parse(document.getElementById('marks').value)").await;
    let corner = set["corners"][2][0].as_f64().unwrap();
    // A loupe of 75 px on some 320: a touch is within a quarter of a pixel.
    assert!((corner - all[2][0]).abs() < 0.6, "{corner} {}", all[2][0]);
    let text = browser.ask("return document.querySelectorAll('.chip-state').length").await;
    assert_eq!(text, json!(13));
}
