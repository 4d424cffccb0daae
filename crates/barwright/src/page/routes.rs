//! What the page answers to.
use super::html::{Shown, bench_page, queue_page, words_page};
use super::queue::QueueView;
use super::state::{Notice, PageState};
use super::upload::{self, SentTake};
use super::view::{BenchView, bands_as_made};
use super::{assets, changes, compare, devices, guard, history, live, manual, photo, places, salt};
use crate::bench::{Bench, ONLY_BAR};
use crate::error::Refused;
use crate::report;
use crate::report::units::Units;
use axum::Router;
use axum::extract::multipart::MultipartRejection;
use axum::extract::rejection::{FormRejection, QueryRejection};
use axum::extract::{DefaultBodyLimit, Form, FromRequestParts, Multipart, Path, Query, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use jiff::Timestamp;
use records::{CaliperRecord, Length, LengthUnit, LogEntry};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::HashMap;

/// Most passes that can be entered at once.
const MOST_PASSES: u32 = 200;

/// The page about what is on the desk.
pub fn router(state: PageState) -> Router {
    Router::new()
        .route("/", get(front))
        .route("/bench/{bench}", get(bench))
        .route("/history/{bench}", get(history::page))
        .route("/history/{bench}/compare", get(compare::page))
        .route("/takes/{name}", get(history::sound))
        .route("/salt/{bench}", get(salt::page).post(salt::enter))
        .route("/salt/{bench}/top", post(salt::top))
        .route("/salt/{bench}/photo", get(photo::send).post(photo::sent).layer(DefaultBodyLimit::disable()))
        .route("/salt/{bench}/photo/{file}", get(photo::mark).post(photo::marked))
        .route("/salt/{bench}/strip/{file}", get(photo::strip))
        .route("/photos/{file}", get(photo::picture))
        // A single bar's page may also be addressed without its name.
        .merge(actions())
        .nest("/bench/{bench}", actions())
        .merge(places::router())
        .merge(devices::router())
        .route("/changes", get(changes::changes))
        .route("/live/{bench}", get(live::live))
        .route("/assets/{name}", get(assets::asset))
        .route("/manual", get(manual::contents))
        .route("/manual/{page}", get(manual::page))
        .route("/manual/pictures/{name}", get(manual::picture))
        .fallback(not_found)
        .layer(axum::middleware::from_fn_with_state(state.clone(), guard::guard))
        .with_state(state)
}

/// What can be done with one bar.
fn actions() -> Router<PageState> {
    Router::new()
        // The upload counts its own bytes, so that it can answer in words.
        .route("/take", post(take).layer(DefaultBodyLimit::disable()))
        .route("/cut", post(cut))
        .route("/undo", post(undo))
        .route("/redo", post(redo))
        .route("/caliper", post(caliper))
        .route("/api/bench", get(api_bench))
        .route("/api/pulse", get(pulse))
}

/// The bar that a request is about: by name, or the only one.
#[derive(Debug)]
pub(super) struct Which(pub(super) String);

impl<S: Send + Sync> FromRequestParts<S> for Which {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Self::Rejection> {
        let named = Path::<HashMap<String, String>>::from_request_parts(parts, state).await;
        let name = named.ok().and_then(|Path(mut names)| names.remove("bench"));
        Ok(Self(name.unwrap_or_else(|| ONLY_BAR.to_owned())))
    }
}

/// What may stand behind the page's address.
#[derive(Debug, Default, Deserialize)]
struct PageQuery {
    /// Passes chosen with − and + where there is no script.
    passes: Option<u32>,
}

/// The bench of the only bar, or the list of all.
async fn front(state: State<PageState>, query: Result<Query<PageQuery>, QueryRejection>) -> Response {
    if state.desk().only().is_some() {
        return bench(state, Which(ONLY_BAR.to_owned()), query).await;
    }
    match state.with_desk(|state| QueueView::of(state.desk())).await {
        Ok(view) => Html(queue_page(&view).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

async fn bench(
    State(state): State<PageState>,
    Which(name): Which,
    query: Result<Query<PageQuery>, QueryRejection>,
) -> Response {
    let passes = query.ok().and_then(|q| q.0.passes).map(|p| p.clamp(1, MOST_PASSES));
    let queue = state.with_desk(|state| QueueView::of(state.desk())).await;
    let shown = state.with_bench(&name, |bench| Ok(BenchView::of(bench))).await;
    match shown.and_then(|view| Ok((view, queue?))) {
        Ok((view, queue)) => {
            let shown = Shown {
                name: &name,
                version: state.version_of(&name, view.revision),
                notice: state.notice(&name),
                passes,
                queue: &queue,
                now: Timestamp::now(),
            };
            Html(bench_page(&view, &shown).into_string()).into_response()
        }
        Err(refused) => refusal_page(&refused),
    }
}

async fn take(
    State(state): State<PageState>,
    Which(name): Which,
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
        Ok(SentTake { wav, struck }) => state.with_bench(&name, move |bench| bench.hear(&wav, struck)).await,
        Err(refused) => Err(refused),
    };
    drop(listening);
    finish(&state, &name, &headers, outcome.map(|_| Notice::Heard), "The recording was not entered").await
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
    Which(name): Which,
    headers: HeaderMap,
    form: Result<Form<CutForm>, FormRejection>,
) -> Response {
    let outcome = match form {
        Ok(Form(form)) => state.with_bench(&name, move |bench| enter_cut(bench, &form)).await,
        Err(_) => Err(Refused::new(
            "passes_unreadable",
            "the number of passes could not be read",
            format!("give a whole number from 1 to {MOST_PASSES}"),
        )),
    };
    finish(&state, &name, &headers, outcome.map(|()| Notice::Cut), "The cut was not entered").await
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

async fn undo(State(state): State<PageState>, Which(name): Which, headers: HeaderMap) -> Response {
    let outcome = state.with_bench(&name, Bench::undo).await.and_then(|undone| {
        undone.map(Notice::Undone).ok_or_else(|| {
            let (message, hint) = if state.desk().workshop().is_some() {
                ("nothing that could be taken back was entered for this bar", "its history shows everything")
            } else {
                ("nothing was entered since the program was started", "older entries stand in the bar's file")
            };
            Refused::new("nothing_to_undo", message, hint)
        })
    });
    finish(&state, &name, &headers, outcome, "Nothing was taken back").await
}

async fn redo(State(state): State<PageState>, Which(name): Which, headers: HeaderMap) -> Response {
    let outcome = state.with_bench(&name, Bench::redo).await.and_then(|redone| {
        redone.map(Notice::Redone).ok_or_else(|| {
            Refused::new("nothing_to_redo", "nothing was taken back just before", "enter it anew instead")
        })
    });
    finish(&state, &name, &headers, outcome, "Nothing was brought back").await
}

/// Thickness at one place as the form sends it; lengths as people write them.
#[derive(Debug, Deserialize)]
struct CaliperForm {
    /// Place from the left end.
    at: String,
    /// Thickness there.
    thickness: String,
    /// Unit of bare numbers: "mm" or "in".
    #[serde(default)]
    unit: String,
}

async fn caliper(
    State(state): State<PageState>,
    Which(name): Which,
    headers: HeaderMap,
    form: Result<Form<CaliperForm>, FormRejection>,
) -> Response {
    let outcome = match form {
        Ok(Form(form)) => state.with_bench(&name, move |bench| enter_caliper(bench, &form)).await,
        Err(_) => Err(Refused::new("caliper_unreadable", "the reading could not be read", "give place and thickness")),
    };
    finish(&state, &name, &headers, outcome.map(Notice::Entered), "The caliper reading was not entered").await
}

fn enter_caliper(bench: &mut Bench, form: &CaliperForm) -> Result<String, Refused> {
    let bare = if form.unit == "in" { LengthUnit::Inch } else { LengthUnit::Mm };
    let length = |what: &str, text: &str| {
        let parsed = Length::parse(text.trim(), bare);
        parsed.map(|length| length.mm).map_err(|error| {
            Refused::new("wrong_length", format!("{what}: {error}"), "give it as the caliper shows it")
        })
    };
    let (x_mm, thickness_mm) = (length("Place", &form.at)?, length("Thickness", &form.thickness)?);
    let record = CaliperRecord { x_mm: vec![x_mm], thickness_mm: vec![thickness_mm] };
    bench.enter(&LogEntry::Caliper(record))?;
    Ok(format!("{} at {} from the left end", Units::Both.depth(thickness_mm), Units::Both.place(x_mm)))
}

/// Remembers the outcome and sends the browser back to the bench, or answers a program in JSON.
async fn finish(
    state: &PageState,
    name: &str,
    headers: &HeaderMap,
    outcome: Result<Notice, Refused>,
    what: &'static str,
) -> Response {
    let notice = outcome.unwrap_or_else(|why| Notice::Refused { what, why });
    let refused = if let Notice::Refused { why, .. } = &notice { Some(why.clone()) } else { None };
    if let Some(why) = &refused
        && why.code == "not_found"
        && state.desk().bench(name).is_err()
    {
        return refusal_page(why);
    }
    state.set_notice(name, notice);
    if !wants_json(headers) {
        return Redirect::to(&page_of(state, name)).into_response();
    }
    match refused {
        Some(why) => (StatusCode::UNPROCESSABLE_ENTITY, axum::Json(why.to_json())).into_response(),
        None => api_bench(State(state.clone()), Which(name.to_owned())).await,
    }
}

/// Where the bench of a bar is shown.
fn page_of(state: &PageState, name: &str) -> String {
    if state.desk().only().is_some() { "/".to_owned() } else { format!("/bench/{name}") }
}

fn wants_json(headers: &HeaderMap) -> bool {
    headers.get(header::ACCEPT).and_then(|v| v.to_str().ok()).is_some_and(|v| v.contains("application/json"))
}

async fn pulse(State(state): State<PageState>, Which(name): Which) -> Response {
    match state.with_desk(move |state| state.pulse(&name)).await {
        Ok(pulse) => axum::Json(pulse).into_response(),
        Err(refused) => (status_of(&refused), axum::Json(refused.to_json())).into_response(),
    }
}

/// The bench as JSON.
async fn api_bench(State(state): State<PageState>, Which(name): Which) -> Response {
    match state.with_bench(&name, |bench| Ok(BenchView::of(bench))).await {
        Ok(view) => axum::Json(to_json(&view)).into_response(),
        Err(refused) => (status_of(&refused), axum::Json(refused.to_json())).into_response(),
    }
}

/// What is asked for is missing, cannot be done as asked, or the machine failed: only the last is the program's own affair.
fn status_of(refused: &Refused) -> StatusCode {
    match refused.code.as_str() {
        "not_found" | "no_such_page" | "take_missing" | "photo_missing" => StatusCode::NOT_FOUND,
        "busy" => StatusCode::SERVICE_UNAVAILABLE,
        "damaged" | "disk_full" | "disk_failed" | "not_writable" | "not_saved" | "vanished" | "record_failed"
        | "migration_failed" | "key_damaged" | "no_randomness" | "not_drawn" | "cannot_write" | "page_failed" => {
            StatusCode::INTERNAL_SERVER_ERROR
        }
        _ => StatusCode::UNPROCESSABLE_ENTITY,
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
        "can_undo": view.undo.is_some(), "advice": advice, "error": error, "bouts": bouts,
    })
}

async fn not_found() -> Response {
    let refused =
        Refused::new("no_such_page", "there is no such page", "the bench is at the address without anything behind it");
    refusal_page(&refused)
}

/// A page that says what was refused and what to do.
pub(super) fn refusal_page(refused: &Refused) -> Response {
    (status_of(refused), Html(words_page(&refused.message, &refused.hint).into_string())).into_response()
}
