//! What the page answers to.
use super::html::{bench_page, words_page};
use super::state::{Notice, PageState};
use super::upload::{self, SentTake};
use super::view::{BenchView, bands_as_made};
use super::{assets, guard};
use crate::bench::Bench;
use crate::error::Refused;
use crate::report;
use axum::Router;
use axum::extract::multipart::MultipartRejection;
use axum::extract::rejection::{FormRejection, QueryRejection};
use axum::extract::{DefaultBodyLimit, Form, Multipart, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use serde::Deserialize;
use serde_json::{Value, json};

/// Most passes that can be entered at once.
const MOST_PASSES: u32 = 200;

/// The page about one bench.
pub fn router(state: PageState) -> Router {
    Router::new()
        .route("/", get(bench))
        // The upload counts its own bytes, so that it can answer in words.
        .route("/take", post(take).layer(DefaultBodyLimit::disable()))
        .route("/cut", post(cut))
        .route("/undo", post(undo))
        .route("/api/bench", get(api_bench))
        .route("/api/pulse", get(pulse))
        .route("/assets/{name}", get(assets::asset))
        .fallback(not_found)
        .layer(axum::middleware::from_fn(guard::guard))
        .with_state(state)
}

/// What may stand behind the page's address.
#[derive(Debug, Default, Deserialize)]
struct PageQuery {
    /// Passes chosen with − and + where there is no script.
    passes: Option<u32>,
}

async fn bench(State(state): State<PageState>, query: Result<Query<PageQuery>, QueryRejection>) -> Response {
    let passes = query.ok().and_then(|q| q.0.passes).map(|p| p.clamp(1, MOST_PASSES));
    match state.with_bench(|bench| BenchView::of(bench)).await {
        Ok(view) => {
            let version = state.version_of(view.revision);
            Html(bench_page(&view, state.notice().as_ref(), version, passes).into_string()).into_response()
        }
        Err(refused) => refusal_page(StatusCode::INTERNAL_SERVER_ERROR, &refused),
    }
}

async fn take(
    State(state): State<PageState>,
    headers: HeaderMap,
    form: Result<Multipart, MultipartRejection>,
) -> Response {
    let listening = state.begin_listening();
    let sent = match form {
        Ok(form) => upload::read(form).await,
        Err(_) => Err(Refused::new(
            "upload_broken",
            "this was not a form with a recording",
            "choose a recording, or drop one on the page",
        )),
    };
    let outcome = match sent {
        Ok(SentTake { wav, struck }) => {
            state.with_bench(move |bench| bench.hear(&wav, struck)).await.and_then(|heard| heard)
        }
        Err(refused) => Err(refused),
    };
    drop(listening);
    finish(&state, &headers, outcome.map(|_| Notice::Heard), "The recording was not entered").await
}

/// A cut as the form sends it.
#[derive(Debug, Deserialize)]
struct CutForm {
    /// Revision the maker saw.
    revision: u64,
    /// Passes made.
    passes: u32,
}

async fn cut(
    State(state): State<PageState>,
    headers: HeaderMap,
    form: Result<Form<CutForm>, FormRejection>,
) -> Response {
    let outcome = match form {
        Ok(Form(form)) => state.with_bench(move |bench| enter_cut(bench, &form)).await.and_then(|entered| entered),
        Err(_) => Err(Refused::new(
            "passes_unreadable",
            "the number of passes could not be read",
            format!("give a whole number from 1 to {MOST_PASSES}"),
        )),
    };
    finish(&state, &headers, outcome.map(|()| Notice::Cut), "The cut was not entered").await
}

/// Enters the advised bands as they were made.
fn enter_cut(bench: &mut Bench, form: &CutForm) -> Result<(), Refused> {
    if form.revision != bench.revision() {
        return Err(Refused::new(
            "page_out_of_date",
            "the bench has changed since this page was shown, perhaps by pressing twice",
            "look at the advice as it stands now, and enter the cut again if it is still missing",
        ));
    }
    if !(1..=MOST_PASSES).contains(&form.passes) {
        return Err(Refused::new(
            "passes_out_of_range",
            format!("{} passes were entered", form.passes),
            format!("give a whole number from 1 to {MOST_PASSES}"),
        ));
    }
    let advice = bench.advise()?;
    if advice.bands.is_empty() {
        return Err(Refused::new(
            "no_cut_advised",
            "no cut is advised now, so none can be entered here",
            "strike the bar and read it first",
        ));
    }
    bench.cut(&bands_as_made(&advice.bands, advice.passes, form.passes), Some(form.passes))
}

async fn undo(State(state): State<PageState>, headers: HeaderMap) -> Response {
    let outcome = state.with_bench(Bench::undo).await.and_then(|undone| undone).and_then(|entry| match entry {
        Some(entry) => Ok(Notice::Undone(report::bouts::done(&entry))),
        None => Err(Refused::new(
            "nothing_to_undo",
            "nothing was entered since the program was started",
            "older entries stand in the bar's file",
        )),
    });
    finish(&state, &headers, outcome, "Nothing was taken back").await
}

/// Remembers the outcome and sends the browser back to the bench, or answers a program in JSON.
async fn finish(
    state: &PageState,
    headers: &HeaderMap,
    outcome: Result<Notice, Refused>,
    what: &'static str,
) -> Response {
    let notice = outcome.unwrap_or_else(|why| Notice::Refused { what, why });
    let refused = if let Notice::Refused { why, .. } = &notice { Some(why.clone()) } else { None };
    state.set_notice(notice);
    if !wants_json(headers) {
        return Redirect::to("/").into_response();
    }
    match refused {
        Some(why) => (StatusCode::UNPROCESSABLE_ENTITY, axum::Json(why.to_json())).into_response(),
        None => api_bench(State(state.clone())).await,
    }
}

fn wants_json(headers: &HeaderMap) -> bool {
    headers.get(header::ACCEPT).and_then(|v| v.to_str().ok()).is_some_and(|v| v.contains("application/json"))
}

async fn pulse(State(state): State<PageState>) -> Response {
    axum::Json(state.pulse()).into_response()
}

/// The bench as JSON.
async fn api_bench(State(state): State<PageState>) -> Response {
    match state.with_bench(|bench| BenchView::of(bench)).await {
        Ok(view) => axum::Json(to_json(&view)).into_response(),
        Err(refused) => (StatusCode::INTERNAL_SERVER_ERROR, axum::Json(refused.to_json())).into_response(),
    }
}

/// The bench's public JSON: what the page shows, the advice as `barwright next --json` gives it.
fn to_json(view: &BenchView) -> Value {
    let (advice, error) = match &view.advice {
        Ok(advice) => (report::next::to_json(advice), Value::Null),
        Err(refused) => (Value::Null, refused.to_json()["error"].clone()),
    };
    let bouts: Vec<Value> = view
        .bouts
        .iter()
        .map(|b| {
            let modes: Vec<Value> =
                b.modes.iter().map(|m| json!({ "mode": m.mode, "cents": m.cents, "sigma": m.sigma_cents })).collect();
            json!({ "bout": b.bout, "done": b.done, "modes": modes, "thinnest_x_mm": b.thinnest_x_mm, "thinnest_mm": b.thinnest_mm })
        })
        .collect();
    json!({
        "note": view.note, "stage": view.stage(), "invented": view.invented, "revision": view.revision,
        "can_undo": view.can_undo, "advice": advice, "error": error, "bouts": bouts,
    })
}

async fn not_found() -> Response {
    let refused =
        Refused::new("no_such_page", "there is no such page", "the bench is at the address without anything behind it");
    refusal_page(StatusCode::NOT_FOUND, &refused)
}

fn refusal_page(status: StatusCode, refused: &Refused) -> Response {
    (status, Html(words_page(&refused.message, &refused.hint).into_string())).into_response()
}
