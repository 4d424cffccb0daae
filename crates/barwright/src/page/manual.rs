//! The manual as pages: contents, search, each page, its pictures.
use super::html::{manual_contents, manual_page, words_page};
use crate::manual;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Path, Query};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use serde::Deserialize;

/// More than anybody asks with; the rest is not looked at.
const LONGEST_QUESTION: usize = 200;

/// What may stand behind the contents' address.
#[derive(Debug, Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    find: String,
}

/// Contents, and what was found.
pub async fn contents(asked: Result<Query<Asked>, QueryRejection>) -> Response {
    let asked: String =
        asked.map(|Query(asked)| asked.find).unwrap_or_default().chars().take(LONGEST_QUESTION).collect();
    let found = manual::find(&asked);
    Html(manual_contents(&asked, &found).into_string()).into_response()
}

/// One page.
pub async fn page(Path(name): Path<String>) -> Response {
    match manual::page(&name) {
        Some(page) => Html(manual_page(page).into_string()).into_response(),
        None => {
            let words = words_page("The manual has no such page", "Look for it in the contents: /manual");
            (StatusCode::NOT_FOUND, Html(words.into_string())).into_response()
        }
    }
}

/// One picture.
pub async fn picture(Path(name): Path<String>) -> Response {
    match manual::picture(&name) {
        Some((bytes, kind)) => {
            ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "no-cache")], bytes).into_response()
        }
        None => (StatusCode::NOT_FOUND, "There is no such picture here.").into_response(),
    }
}
