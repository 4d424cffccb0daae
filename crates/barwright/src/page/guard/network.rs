//! The door to the workshop's network: whatever comes in by it needs the right host, the page's own origin, and the token
//! of a paired device; without one there is nothing but the page to pair it.
use crate::error::Refused;
use crate::lan::{Lan, Wire};
use crate::page::html::words_page;
use axum::extract::Request;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use jiff::Timestamp;
use std::sync::Arc;
use std::time::Duration;

/// Name of the cookie that holds the token. The prefix makes browsers keep it to this host, to HTTPS, and to the whole of
/// the site (RFC 6265bis, 4.1.3.2).
pub const COOKIE: &str = "__Host-barwright";
/// The page that pairs a device.
pub const PAIR: &str = "/pair";
/// What that page needs. Browsers fetch a manifest without cookies.
const OPEN: [&str; 7] = [
    PAIR,
    "/assets/bench.css",
    "/assets/pair.js",
    "/assets/icon.svg",
    "/assets/manifest.json",
    "/assets/regular.woff2",
    "/assets/bold.woff2",
];
/// Codes are shown, devices paired and revoked only at the workshop's own computer.
const ONLY_AT_HOME: &str = "/devices";

/// Lets a request in, or says why not.
// The answer is large, and is what goes out in that case.
#[allow(clippy::result_large_err)]
pub fn admit(lan: Option<&Arc<Lan>>, wire: &Wire, request: &Request) -> Result<(), Response> {
    let Some(lan) = lan else { return Err(StatusCode::FORBIDDEN.into_response()) };
    lan.request(wire.peer()).map_err(too_many)?;
    let (headers, path) = (request.headers(), request.uri().path());
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    check(headers, &lan.host(), changes || headers.contains_key(header::UPGRADE))
        .map_err(|words| (StatusCode::FORBIDDEN, words).into_response())?;
    if OPEN.contains(&path) {
        return Ok(());
    }
    let token = cookie(headers);
    let device = token.map_or(Ok(None), |token| lan.registry().admit(token, wire, Timestamp::now()));
    match device {
        Ok(Some(_)) if path == ONLY_AT_HOME || path.starts_with(&format!("{ONLY_AT_HOME}/")) => Err(only_at_home()),
        Ok(Some(_)) => Ok(()),
        Ok(None) if !changes && wants_html(headers) => Err(Redirect::to(PAIR).into_response()),
        Ok(None) => {
            let words = format!("This device is not paired with the workshop. Open {}pair on it.", lan.url());
            Err((StatusCode::UNAUTHORIZED, words).into_response())
        }
        Err(refused) => Err((StatusCode::SERVICE_UNAVAILABLE, refused_words(&refused)).into_response()),
    }
}

/// Why a request is refused, in words; one that changes something, or opens a line, must name its origin.
fn check(headers: &HeaderMap, served: &str, must_name_origin: bool) -> Result<(), String> {
    let host = super::one(headers, header::HOST)?;
    if host.as_deref() != Some(served) {
        let host = host.unwrap_or_default();
        return Err(format!(
            "This page answers only to \"{served}\", not to \"{host}\". Open https://{served}/ and do it there."
        ));
    }
    match super::one(headers, header::ORIGIN)? {
        Some(origin) if origin == format!("https://{served}") => Ok(()),
        Some(origin) => Err(format!(
            "This request was sent by another page (\"{origin}\"), and nothing was changed. Open https://{served}/ and do it there."
        )),
        None if must_name_origin => Err(format!(
            "This request does not say which page sent it, and nothing was changed. Open https://{served}/ and do it there."
        )),
        None => Ok(()),
    }
}

/// The token, if there is exactly one: with two, somebody else has set one of them.
fn cookie(headers: &HeaderMap) -> Option<&str> {
    let lines = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let pairs = lines.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='));
    let mut tokens = pairs.filter(|(name, _)| *name == COOKIE).map(|(_, token)| token);
    tokens.next().filter(|_| tokens.next().is_none())
}

fn wants_html(headers: &HeaderMap) -> bool {
    headers.get(header::ACCEPT).and_then(|value| value.to_str().ok()).is_some_and(|value| value.contains("text/html"))
}

fn only_at_home() -> Response {
    let words = words_page(
        "Devices are paired and revoked only at the workshop's own computer",
        "Go to the computer on which the program runs, and open Workshop, then Devices there.",
    );
    (StatusCode::FORBIDDEN, Html(words.into_string())).into_response()
}

/// Details name folders of the workshop's computer, which are told there.
fn refused_words(refused: &Refused) -> String {
    format!("The workshop's computer cannot look up its paired devices ({}). Ask there.", refused.code)
}

/// "Too many", and when it goes on.
pub fn too_many(wait: Duration) -> Response {
    let seconds = wait.as_secs() + 1;
    let words = format!("Too many requests came from this device. Wait {seconds} s, then try again.");
    let after = HeaderValue::from(seconds);
    (StatusCode::TOO_MANY_REQUESTS, [(header::RETRY_AFTER, after)], words).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SERVED: &str = "192.168.1.20:8443";

    fn headers(pairs: &[(header::HeaderName, &str)]) -> HeaderMap {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            headers.append(name.clone(), HeaderValue::from_str(value).unwrap());
        }
        headers
    }

    #[test]
    fn only_the_address_served_is_a_host() {
        for other in ["192.168.1.20", "192.168.1.20:443", "127.0.0.1:8443", "localhost:8443", "evil.example:8443", ""] {
            assert!(check(&headers(&[(header::HOST, other)]), SERVED, false).is_err(), "{other}");
        }
        assert!(check(&headers(&[]), SERVED, false).is_err());
        assert!(check(&headers(&[(header::HOST, SERVED), (header::HOST, SERVED)]), SERVED, false).is_err());
        assert!(check(&headers(&[(header::HOST, SERVED)]), SERVED, false).is_ok());
    }

    #[test]
    fn what_changes_something_must_come_from_the_page_itself() {
        let from = |origin: &str| headers(&[(header::HOST, SERVED), (header::ORIGIN, origin)]);
        for other in ["http://192.168.1.20:8443", "https://192.168.1.20", "https://evil.example", "null"] {
            assert!(
                check(&from(other), SERVED, true).is_err() && check(&from(other), SERVED, false).is_err(),
                "{other}"
            );
        }
        assert!(check(&from("https://192.168.1.20:8443"), SERVED, true).is_ok());
        assert!(check(&headers(&[(header::HOST, SERVED)]), SERVED, true).is_err());
    }

    #[test]
    fn one_token_is_read_and_two_are_none() {
        let of = |lines: &[&str]| {
            let pairs: Vec<_> = lines.iter().map(|line| (header::COOKIE, *line)).collect();
            cookie(&headers(&pairs)).map(str::to_owned)
        };
        assert_eq!(of(&["units=mm; __Host-barwright=abc"]).as_deref(), Some("abc"));
        assert_eq!(of(&["units=mm", "__Host-barwright=abc"]).as_deref(), Some("abc"));
        for none in [&["units=mm"][..], &["barwright=abc"], &["__Host-barwright=a; __Host-barwright=b"], &[]] {
            assert_eq!(of(none), None);
        }
    }
}
