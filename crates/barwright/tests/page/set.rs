//! The pages about a whole instrument and about the climate, over real connections; and as they look.
use crate::browser_driver::{Browser, Screen};
use crate::common::invented_instrument::{certify, tuned};
use crate::common::served::Served;
use barwright::bench::Desk;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};

/// The status, the head and the body of an answer.
fn ask(address: SocketAddr, request: &str) -> (u16, String, String) {
    let mut stream = TcpStream::connect(address).unwrap();
    stream.write_all(request.as_bytes()).unwrap();
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes).unwrap();
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let (head, body) = text.split_once("\r\n\r\n").unwrap();
    (head.split(' ').nth(1).unwrap().parse().unwrap(), head.to_owned(), body.to_owned())
}

fn get(address: SocketAddr, path: &str) -> String {
    let (status, _, body) =
        ask(address, &format!("GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n"));
    assert_eq!(status, 200, "{path}: {body}");
    body
}

/// Sends a form and returns where the answer leads.
fn post(address: SocketAddr, path: &str, form: &str) -> String {
    let request = format!(
        "POST {path} HTTP/1.1\r\nHost: {address}\r\nOrigin: http://{address}\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{form}",
        form.len()
    );
    let (status, head, body) = ask(address, &request);
    assert_eq!(status, 303, "{path}: {body}");
    let lead = head.lines().find_map(|line| line.to_lowercase().strip_prefix("location: ").map(str::to_owned));
    lead.unwrap()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_instruments_sheets_answer_and_a_certificate_needs_a_word() {
    let (_folder, set) = tuned(false);
    let id = set.instrument.to_string();
    let page = Served::start(Desk::of_record(set.workshop, true)).await;
    let (at, asked) = (page.address, id.clone());
    tokio::task::spawn_blocking(move || {
        let tubes = get(at, &format!("/tubes?instrument={asked}"));
        for part in ["13 tubes, stoppers at 22 °C", "nobody has published", "What to cut", "eye and ear protection"] {
            assert!(tubes.contains(part), "{part}");
        }
        // A wish that cannot be is told where its form is.
        let wrong = get(at, &format!("/tubes?instrument={asked}&temperature=hot"));
        assert!(wrong.contains("No tubes.") && wrong.contains("no number") && wrong.contains("<form"), "{wrong}");
        let fine = get(at, &format!("/fine?instrument={asked}&class=working"));
        assert!(fine.contains("All 13 bars are good enough: stop"), "{fine}");
        let none = get(at, &format!("/certificate?instrument={asked}"));
        assert!(none.contains("No certificate yet") && none.contains("13 of 13"), "{none}");
        // Without the word nothing is given.
        let lead = post(at, "/certificate", &format!("instrument={asked}&class=working"));
        assert_eq!(lead, format!("/certificate?instrument={asked}"));
        let still = get(at, &lead);
        assert!(still.contains("No certificate yet") && still.contains("readings are final"), "{still}");
        let lead = post(
            at,
            "/certificate",
            &format!("instrument={asked}&class=working&by=%3Cb%3Emaker&next_visit=3&final=on"),
        );
        let given = get(at, &lead);
        for part in ["Tuning certificate", "SHA-256", "All 13 bars are within working class", "tuned by &lt;b&gt;maker"]
        {
            assert!(given.contains(part), "{part}: {given}");
        }
        let file = get(at, &format!("/api/certificate/{asked}.json"));
        assert!(file.contains("barwright-tuning-certificate/1"), "{file}");
        let pdf = get(at, &format!("/api/sheet/certificate/{asked}.pdf"));
        assert!(pdf.starts_with("%PDF-1."), "{}", pdf.get(..40).unwrap_or(""));
        // Not delivered and not returned: held against the certificate just given.
        let retune = get(at, &format!("/retune?instrument={asked}&a4=440+442"));
        assert!(retune.contains("A4 = <strong>440 Hz</strong>"), "{retune}");
        let wrong = get(at, &format!("/retune?instrument={asked}&a4=4400"));
        assert!(wrong.contains("No answer.") && wrong.contains("380 to 480"), "{wrong}");
        let climate = get(at, "/climate?there_c=14&there_pct=40&warmer=8");
        for part in ["cents apart", "minutes", "do not cut the bars", "No reference bar"] {
            assert!(climate.contains(part), "{part}: {climate}");
        }
        post(at, "/climate", "temperature=14,5&humidity=40");
        let climate = get(at, "/climate");
        assert!(
            climate.contains("Entered: the air: 14.5 °C and 40 %") && climate.contains("A right bar reads"),
            "{climate}"
        );
        post(at, "/climate", "temperature=90&humidity=40");
        assert!(get(at, "/climate").contains("Nothing was entered."));
    })
    .await
    .unwrap();
    page.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_instruments_sheets_are_clean_on_desktop_and_phone() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let (_folder, mut set) = tuned(true);
    let id = set.instrument;
    certify(&mut set);
    set.years_later(4).unwrap();
    let page = Served::start(Desk::of_record(set.workshop, true)).await;
    let phone = Screen { name: "phone", width: 390, height: 844, mobile: true };
    let desktop = Screen { name: "desktop", width: 1440, height: 900, mobile: false };
    for screen in [desktop, phone] {
        browser.show_as(screen, "light").await;
        for (name, address) in [
            ("tubes", format!("tubes?instrument={id}&ends=500&middle=250")),
            ("fine", format!("fine?instrument={id}&even=on")),
            ("certificate", format!("certificate?instrument={id}")),
            ("retune", format!("retune?instrument={id}&a4=440+442")),
            ("climate", "climate?there_c=14&there_pct=40&warmer=8".to_owned()),
        ] {
            browser.client.goto(&format!("{}{address}", page.url)).await.unwrap();
            browser.ask("return document.fonts.ready.then(() => true)").await;
            let found = browser.violations().await;
            assert!(found.is_empty(), "{name} {}: {found:?}", screen.name);
            let widths = browser.ask("return [document.documentElement.scrollWidth, window.innerWidth]").await;
            assert!(widths[0].as_u64() <= widths[1].as_u64(), "{name} runs off the {}: {widths}", screen.name);
            browser.picture(&format!("{name}-{}", screen.name)).await;
        }
    }
    browser.client.clone().close().await.unwrap();
    page.end().await;
}
