//! A blank and an instrument entered on the page, as somebody does who never opens a terminal.
use crate::browser_driver::{Browser, Screen};
use crate::common::served::Served;
use barwright::bench::Desk;
use fantoccini::Locator;
use jiff::Timestamp;
use records::workshop::{BarFilter, Kind, Workshop};
use serde_json::json;

const PHONE: Screen = Screen { name: "phone", width: 390, height: 844, mobile: true };

async fn fill(browser: &Browser, form: &str, values: &[(&str, &str)]) {
    for (name, value) in values {
        let script = format!("document.querySelector('{form} [name={name}]').value = {}", json!(value));
        browser.ask(&script).await;
    }
    browser.client.find(Locator::Css(&format!("{form} button"))).await.unwrap().click().await.unwrap();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_instrument_and_its_first_blank_are_entered_without_a_terminal() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().join("shop");
    let page = Served::start(Desk::from(Workshop::create(&home, "Invented shop", Timestamp::now()).unwrap())).await;
    let shop = || Workshop::open(&home, Timestamp::now()).unwrap();
    browser.show_as(PHONE, "light").await;

    browser.client.goto(&format!("{}settings", page.url)).await.unwrap();
    browser.ask("for (const fold of document.querySelectorAll('details')) fold.open = true").await;
    let form = "form[action=\"/settings/instrument\"]";
    fill(&browser, form, &[("name", "First marimba"), ("a4", "4420")]).await;
    browser.wait_for("4420 Hz").await;
    assert!(shop().list(Kind::Instrument).unwrap().is_empty());
    browser.ask("for (const fold of document.querySelectorAll('details')) fold.open = true").await;
    fill(&browser, form, &[("name", "First marimba"), ("a4", "442,5"), ("temperature", "22")]).await;
    browser.wait_for("First marimba is entered").await;

    browser.client.goto(&page.url).await.unwrap();
    browser.wait_for("No bars yet").await;
    browser.client.find(Locator::Css("a[href=\"/new\"]")).await.unwrap().click().await.unwrap();
    browser.wait_for("label").await;
    assert_eq!(browser.violations().await, Vec::<String>::new());
    browser.picture("new-blank-phone").await;
    let form = "form[action=\"/new\"]";
    let size = [("label", "117"), ("length", "18 1/2 in"), ("width", "62"), ("mass", "636")];
    for (thickness, note, wanted) in [("thick", "", "thickness"), ("2300", "", "thickness_mm"), ("23", "H9", "H9")] {
        let values: Vec<(&str, &str)> =
            size.iter().copied().chain([("thickness", thickness), ("note", note)]).collect();
        fill(&browser, form, &values).await;
        browser.wait_for("It was not entered").await;
        browser.wait_for(wanted).await;
        assert_eq!(shop().count_bars(&BarFilter::default()).unwrap(), 0, "{wanted}");
        // What was typed is still there.
        assert_eq!(browser.ask("return document.querySelector('[name=label]').value").await, json!("117"));
    }
    fill(&browser, form, &[("thickness", "23"), ("note", "C3")]).await;
    browser.wait_for("bar 117").await;
    let bars = shop().bars(&BarFilter::default()).unwrap();
    assert_eq!((bars.len(), bars[0].label.as_str(), bars[0].note.as_deref()), (1, "117", Some("C3")));
    let stands = shop().bar(bars[0].uid).unwrap().file;
    // Half an inch is 12.7 mm exactly (ISO 31-1): 18 1/2 in are 469.9 mm.
    assert!((stands.record().length_mm - 469.9).abs() < 1e-9);
    assert_eq!(browser.client.current_url().await.unwrap().path(), format!("/bench/{}", bars[0].uid));
    browser.picture("new-blank-bench-phone").await;

    // The same label twice is told.
    browser.client.goto(&format!("{}new", page.url)).await.unwrap();
    let again: Vec<(&str, &str)> = size.iter().copied().chain([("thickness", "23")]).collect();
    fill(&browser, form, &again).await;
    browser.wait_for("It was not entered").await;
    assert_eq!(shop().count_bars(&BarFilter::default()).unwrap(), 1);
    browser.client.clone().close().await.unwrap();
    page.end().await;
}
