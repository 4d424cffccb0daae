//! Who may talk to the page: this computer by its loopback names, and only the page itself; paired devices of the
//! workshop's network by the other door (module `network`).
//!
//! Any web page open in the browser can send requests to 127.0.0.1. A name other than the loopback ones
//! in `Host` means that some outside name was pointed at this computer; an `Origin` other than the page's
//! own means that another page sent the form. Both are refused in words.
mod network;

pub use network::{COOKIE, PAIR, too_many};

use super::state::PageState;
use crate::diary::{self, Happened};
use crate::lan::Door;
use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;

/// Everything from here, nothing inline, nowhere to be framed.
const POLICY: &str =
    "default-src 'self'; base-uri 'none'; object-src 'none'; form-action 'self'; frame-ancestors 'none'";

/// Lets a request through if its host and origin are right, and adds the protecting headers to every answer.
pub async fn guard(State(state): State<PageState>, request: Request, next: Next) -> Response {
    let admitted = match request.extensions().get::<Door>() {
        Some(Door::Home) => check(request.headers()).map_err(|words| (StatusCode::FORBIDDEN, words).into_response()),
        Some(Door::Network(wire)) => network::admit(state.lan(), wire, &request),
        // A door that was forgotten is a closed one.
        None => Err(StatusCode::FORBIDDEN.into_response()),
    };
    let route = request.extensions().get::<MatchedPath>().cloned();
    let mut response = match admitted {
        Ok(()) => next.run(request).await,
        Err(answer) => answer,
    };
    if response.status().is_client_error() || response.status().is_server_error() {
        let route = route.as_ref().map_or("", MatchedPath::as_str);
        diary::note(Happened::Answered(route, response.status().as_u16()), Timestamp::now());
    }
    protect(&mut response);
    response
}

/// Lets a request of this computer's own page through, where there is no other door.
pub async fn home_only(request: Request, next: Next) -> Response {
    let mut response = match check(request.headers()) {
        Ok(()) => next.run(request).await,
        Err(words) => (StatusCode::FORBIDDEN, words).into_response(),
    };
    protect(&mut response);
    response
}

fn protect(response: &mut Response) {
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY));
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    // Not "no-referrer": that would make the page's own forms send the origin "null".
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("same-origin"));
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
}

/// Why a request is refused, in words.
fn check(headers: &HeaderMap) -> Result<(), String> {
    let host = one(headers, header::HOST)?.ok_or("This page answers only requests that name their host.")?;
    if !is_loopback(&host) {
        return Err(format!(
            "This page answers only to 127.0.0.1 and localhost, not to \"{host}\". Open it by the address the program printed."
        ));
    }
    match one(headers, header::ORIGIN)? {
        Some(origin) if origin != format!("http://{host}") => Err(format!(
            "This request was sent by another page (\"{origin}\"), and nothing was changed. Open the page at http://{host} and do it there."
        )),
        _ => Ok(()),
    }
}

/// The one value of a header, shortened for messages; several values are refused.
fn one(headers: &HeaderMap, name: header::HeaderName) -> Result<Option<String>, String> {
    const LONGEST: usize = 100;
    let mut values = headers.get_all(&name).iter();
    let first = values.next().map(|v| String::from_utf8_lossy(v.as_bytes()).chars().take(LONGEST).collect());
    if values.next().is_some() {
        return Err(format!("This request names more than one {name}; nothing was changed."));
    }
    Ok(first)
}

/// Whether `host` is a loopback name with or without a port.
///
/// Any port is allowed: a maker may reach the workshop's computer through a forwarded port.
fn is_loopback(host: &str) -> bool {
    ["127.0.0.1", "localhost", "[::1]"].iter().any(|name| match host.strip_prefix(name) {
        Some("") => true,
        Some(port) => port.strip_prefix(':').is_some_and(|p| p.parse::<u16>().is_ok_and(|p| p > 0)),
        None => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(header::HeaderName, &str)]) -> HeaderMap {
        pairs.iter().map(|(name, value)| (name.clone(), HeaderValue::from_str(value).unwrap())).collect()
    }

    #[test]
    fn only_loopback_names_are_hosts() {
        for host in ["127.0.0.1:8123", "localhost:1", "localhost", "[::1]:8123"] {
            assert!(check(&headers(&[(header::HOST, host)])).is_ok(), "{host}");
        }
        for host in [
            "example.org",
            "127.0.0.1.example.org",
            "localhost.example.org:80",
            "192.168.0.4:8123",
            "localhost:",
            "localhost:0",
            "localhost:99999",
            "",
        ] {
            let words = check(&headers(&[(header::HOST, host)])).unwrap_err();
            assert!(words.contains("127.0.0.1"), "{host}: {words}");
        }
        assert!(check(&HeaderMap::new()).is_err());
    }

    #[test]
    fn only_the_page_itself_may_send() {
        let host = (header::HOST, "127.0.0.1:8123");
        assert!(check(&headers(&[host.clone(), (header::ORIGIN, "http://127.0.0.1:8123")])).is_ok());
        for origin in
            ["https://example.org", "null", "http://127.0.0.1:9999", "http://localhost:8123", "https://127.0.0.1:8123"]
        {
            let words = check(&headers(&[host.clone(), (header::ORIGIN, origin)])).unwrap_err();
            assert!(words.contains("nothing was changed"), "{origin}: {words}");
        }
    }

    #[test]
    fn two_hosts_are_one_too_many() {
        let mut two = headers(&[(header::HOST, "localhost")]);
        two.append(header::HOST, HeaderValue::from_static("example.org"));
        assert!(check(&two).is_err());
    }
}
