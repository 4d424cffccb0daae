//! The manual in a browser: found by words, read without a script, pictures and all.
use crate::browser_driver::{Browser, Screen};
use crate::common::served::Served;
use crate::common::three_bars::desk;

const PHONE: Screen = Screen { name: "phone", width: 390, height: 844, mobile: true };

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_question_finds_its_section_without_any_script() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let (_folder, desk) = desk();
    let page = Served::start(desk).await;
    browser.show_as(PHONE, "light").await;
    browser.without_scripts().await;
    browser.client.goto(&format!("{}manual?find=pairing+a+device", page.url)).await.unwrap();
    browser.picture("manual-found-phone").await;
    let first = browser.client.find(fantoccini::Locator::Css("#found a")).await.unwrap();
    assert!(first.text().await.unwrap().contains("Pairing a device"));
    first.click().await.unwrap();
    browser.wait_for("Pairing a device").await;
    let address = browser.client.current_url().await.unwrap();
    assert_eq!((address.path(), address.fragment()), ("/manual/lan", Some("pairing-a-device")));
    browser.client.goto(&format!("{}manual?find=%3Cscript%3Ezeppelin", page.url)).await.unwrap();
    browser.wait_for("<script>zeppelin").await;
    browser.client.goto(&format!("{}manual/no-such", page.url)).await.unwrap();
    browser.wait_for("The manual has no such page").await;
    browser.client.clone().close().await.unwrap();
    page.end().await;
}
