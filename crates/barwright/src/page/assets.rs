//! Files that travel inside the program: style, script and the two cuts of the face.
use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

const CSS: &str = include_str!("../../assets/bench.css");
const PRINT: &str = include_str!("../../assets/print.css");
const SCRIPT: &str = include_str!("../../assets/bench.js");
const LIVE: &str = include_str!("../../assets/live.js");
const SALT: &str = include_str!("../../assets/salt.js");
const PHOTO: &str = include_str!("../../assets/photo.js");
const PAIR: &str = include_str!("../../assets/pair.js");
const FRAME: &str = include_str!("../../assets/frame.js");
const EAR: &str = include_str!("../../assets/ear.js");
const MANIFEST: &str = include_str!("../../assets/manifest.json");
const REGULAR: &[u8] = include_bytes!("../../assets/font/barwright-sans-regular.woff2");
const BOLD: &[u8] = include_bytes!("../../assets/font/barwright-sans-bold.woff2");
const ICON: &str = include_str!("../../assets/icon.svg");

/// An asset by its name.
pub async fn asset(Path(name): Path<String>) -> Response {
    // The browser asks again each time whether an asset has changed: after an update of the program the
    // page must not wear the old style.
    let fresh = (header::CACHE_CONTROL, "no-cache");
    match name.as_str() {
        "bench.css" => ([(header::CONTENT_TYPE, "text/css; charset=utf-8"), fresh], style()).into_response(),
        "bench.js" => ([(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), fresh], SCRIPT).into_response(),
        "live.js" => ([(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), fresh], LIVE).into_response(),
        "ear.js" => ([(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), fresh], EAR).into_response(),
        "pair.js" => ([(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), fresh], PAIR).into_response(),
        "salt.js" => ([(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), fresh], SALT).into_response(),
        "photo.js" => ([(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), fresh], PHOTO).into_response(),
        "frame.js" => ([(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), fresh], FRAME).into_response(),
        "manifest.json" => ([(header::CONTENT_TYPE, "application/manifest+json"), fresh], MANIFEST).into_response(),
        "icon.svg" => ([(header::CONTENT_TYPE, "image/svg+xml"), fresh], ICON).into_response(),
        "regular.woff2" => ([(header::CONTENT_TYPE, "font/woff2"), fresh], REGULAR).into_response(),
        "bold.woff2" => ([(header::CONTENT_TYPE, "font/woff2"), fresh], BOLD).into_response(),
        _ => (StatusCode::NOT_FOUND, "There is no such file here.").into_response(),
    }
}

/// The style sheet: the palette and the pens come from the drawings, so that page and drawing share them.
fn style() -> String {
    format!("{}\n{}\n{CSS}\n{PRINT}", paper::svg::palette_rules(":root"), paper::svg::style_rules())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_style_uses_only_colours_of_the_palette() {
        // Contrast is tested in `paper::palette`; a colour written out here would escape that test.
        for (number, line) in CSS.lines().chain(PRINT.lines()).enumerate() {
            let colour = line
                .split('#')
                .skip(1)
                .any(|rest| rest.chars().take(3).all(|c| c.is_ascii_hexdigit()) && rest.len() > 3);
            let named = ["rgb(", "rgba(", "hsl(", ": white", ": black"].iter().any(|word| line.contains(word));
            assert!(!colour && !named, "line {}: {line}", number + 1);
        }
        let all = [CSS, PRINT].concat();
        for used in all.match_indices("var(--").map(|(at, _)| &all[at + 6..]) {
            let name: String = used.chars().take_while(|c| c.is_ascii_lowercase()).collect();
            assert!(paper::palette::TOKENS.iter().any(|t| t.name == name), "--{name} is no colour of the palette");
        }
    }

    #[test]
    fn nothing_is_fetched_from_elsewhere() {
        for text in [CSS, PRINT, SCRIPT, LIVE, PAIR, SALT, PHOTO, EAR, FRAME, MANIFEST] {
            // The name of a namespace, which nobody fetches.
            let text = text.replace("http://www.w3.org/2000/svg", "");
            assert!(
                !text.contains("http:") && !text.contains("https:") && !text.contains("//cdn"),
                "an outside address"
            );
        }
    }
}
