//! The page on paper: black on white, nothing to press, drawings and tables whole.
//!
//! Needs Debian's `chromium` and `chromium-driver`; see `browser.rs` for what happens without them. What is printed is
//! kept beside the screenshots as PDF; with `pdftotext` (poppler-utils) its words are looked at too.
use crate::browser_driver::{Browser, Screen};
use crate::common::invented_frame::{InventedFrame, invented_frame};
use crate::common::invented_instrument::tuned;
use crate::common::served::Served;
use crate::common::three_bars::desk;
use fantoccini::wd::PrintConfigurationBuilder;
use serde_json::json;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A4 less 14 mm on each side, at 96 pixels to the inch.
const SHEET: Screen = Screen { name: "A4", width: 688, height: 1017, mobile: false };

/// Everything to press that would still be seen, lines that run off the sheet, drawings larger than it, and the colours.
const LOOK: &str = "
  const seen = (e) => e.getClientRects().length > 0 && getComputedStyle(e).visibility !== 'hidden';
  const pressed = [...document.querySelectorAll('button, .button, input, select, textarea, audio, nav')].filter(seen);
  const wide = [...document.querySelectorAll('main *')].filter((e) => seen(e) && e.closest('svg') === null && e.getBoundingClientRect().right > innerWidth + 1);
  const drawings = [...document.querySelectorAll('svg')].filter(seen);
  const cut = drawings.filter((e) => e.getBoundingClientRect().height > innerHeight || e.getBoundingClientRect().width > innerWidth + 1);
  const name = (e) => e.outerHTML.slice(0, 120);
  const style = getComputedStyle(document.body);
  const variable = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  return {
    pressed: pressed.map(name), wide: wide.map(name), cut: cut.map(name), drawings: drawings.filter((e) => !e.matches('.mark')).length,
    ink: style.color, ground: variable('--ground'), surface: variable('--surface'),
  }";

/// The words of a PDF, if the tool for it is installed.
fn words(pdf: &Path) -> Option<String> {
    let output = Command::new("pdftotext").args(["-layout".as_ref(), pdf.as_os_str(), "-".as_ref()]).output().ok()?;
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).into_owned())
}

fn folder() -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("screenshots");
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// A page: its name, its address, how many drawings there are at least, and words that must come through.
type Page<'a> = (&'a str, &'a str, u64, &'a [&'a str]);

/// Prints pages from a dark screen, which must not make black paper, and looks at what comes.
async fn print(browser: &Browser, url: &str, pages: &[Page<'_>]) {
    for (name, address, drawings, must) in pages {
        browser.show_as(SHEET, "dark").await;
        browser.client.goto(&format!("{url}{address}")).await.unwrap();
        browser.ask("return document.fonts.ready.then(() => true)").await;
        browser.on_paper("dark").await;
        let look = browser.ask(LOOK).await;
        for fault in ["pressed", "wide", "cut"] {
            assert_eq!(look[fault], json!([]), "{name}: {fault}");
        }
        assert!(look["drawings"].as_u64().unwrap() >= *drawings, "{name}: {look}");
        let colours = [&look["ink"], &look["ground"], &look["surface"]];
        assert_eq!(colours, [&json!("rgb(0, 0, 0)"), &json!("#FFFFFF"), &json!("#FFFFFF")], "{name}");
        let sheet = PrintConfigurationBuilder::default().background(true).build().unwrap();
        let pdf = browser.client.print(sheet).await.unwrap();
        let path = folder().join(format!("print-{name}.pdf"));
        std::fs::write(&path, &pdf).unwrap();
        match words(&path) {
            Some(text) => {
                let plain = text.split_whitespace().collect::<Vec<_>>().join(" ");
                for word in *must {
                    assert!(plain.contains(word), "{name} lacks \"{word}\":\n{text}");
                }
            }
            None => eprintln!("the words of {name} were not looked at: pdftotext is not installed"),
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pages_print_black_on_white_and_whole() {
    let Some(browser) = Browser::start_or_skip(&[]).await else { return };
    let (_folder, desk) = desk();
    let bar = desk.bars().unwrap().into_iter().find(|bar| bar.label == "1").unwrap().uid;
    let page = Served::start(desk).await;
    let (bench, history, salt) = (format!("bench/{bar}"), format!("history/{bar}"), format!("salt/{bar}"));
    let pages: [Page; 5] = [
        ("bench", &bench, 2, &["C3", "Bouts so far", "Node lines of mode 1", "What is believed", "density"]),
        ("history", &history, 0, &["Everything entered, newest first", "C3", "heard 142.06 Hz"]),
        ("bars", "bars", 1, &["invented marimba", "C3", "D3", "E3", "not known"]),
        ("salt", &salt, 1, &["Salt test", "Tests so far"]),
        ("workshop", "workshop", 0, &["Instruments", "invented marimba", "Copies of the record"]),
    ];
    print(&browser, &page.url, &pages).await;
    page.end().await;

    // A whole instrument: tables longer than a sheet, and a frame to draw.
    let InventedFrame { folder: _folder, desk, .. } = invented_frame();
    let page = Served::start(desk).await;
    let plan = "plan?spec=kind%20%3D%20%22marimba%22%0Alowest%20%3D%20%22C4%22%0Ahighest%20%3D%20%22C6%22%0Aa4_hz%20%3D%20442%0Awood%20%3D%20%22Honduras%20rosewood%22%0A";
    let pages: [Page; 3] = [
        ("plan", plan, 1, &["Every bar can be made", "C4", "C6", "board feet", "trade rules"]),
        ("bars-61", "bars", 1, &["C2", "C7"]),
        ("frame", "frame", 1, &["C2", "C7", "how far the cords miss its nodes", "invented workshop"]),
    ];
    print(&browser, &page.url, &pages).await;
    page.end().await;

    // A tuned one: its tubes and what its customer gets.
    let (_folder, set) = tuned(false);
    let id = set.instrument;
    let page = Served::start(barwright::bench::Desk::of_record(set.workshop, true)).await;
    let sheets = [format!("tubes?instrument={id}"), format!("fine?instrument={id}"), format!("retune?instrument={id}")];
    let pages: [Page; 4] = [
        (
            "tubes",
            &sheets[0],
            1,
            &["13 tubes", "C4", "C5", "What to cut from which stock tube", "nobody has published"],
        ),
        ("fine", &sheets[1], 0, &["good enough: stop", "C4", "C5"]),
        ("retune", &sheets[2], 0, &["what to do", "leave it", "C5"]),
        ("climate", "climate?there_c=14", 0, &["cents apart", "Reckoned with"]),
    ];
    print(&browser, &page.url, &pages).await;
    browser.client.clone().close().await.unwrap();
    page.end().await;
}
