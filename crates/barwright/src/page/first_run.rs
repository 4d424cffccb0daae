//! The first page of a new workshop: five questions, each with a proposal, and nothing written before they are answered.
//!
//! It is a page by itself on the loopback address, served until the workshop is set up; then the program goes on with the real one on
//! the same socket, so that who knocks meanwhile waits and is let in.
use super::guard::home_only;
use super::html::{FirstAnswers, begun_page, first_page};
use super::places::{A4_HZ, UnitsShown, number};
use super::{assets, manual};
use crate::error::Refused;
use crate::lan::turned_true;
use axum::extract::rejection::FormRejection;
use axum::extract::{Form, Request, State};
use axum::http::header;
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::get;
use axum::{Router, middleware};
use jiff::Timestamp;
use records::workshop::{Body, Kind, OrderRecord, PersonRecord, Workshop};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::{oneshot, watch};

/// The answer to the last question gets this long to be sent.
const FAREWELL: Duration = Duration::from_secs(3);
/// The door takes far less to close.
const CLOSING: Duration = Duration::from_millis(100);
/// As long as a name may be: it stands on sheets.
const LONGEST_NAME: usize = 80;

/// What the page's requests share.
#[derive(Debug, Clone)]
struct SetUp {
    folder: Arc<PathBuf>,
    done: Arc<Mutex<Option<oneshot::Sender<()>>>>,
}

/// Asks on that listener until the workshop in `folder` is set up.
///
/// # Errors
/// [`Refused`] `page_failed` if the connection to the network is lost.
pub async fn ask(listener: TcpListener, folder: &Path) -> Result<(), Refused> {
    let (done, is_done) = oneshot::channel::<()>();
    let set_up = SetUp { folder: Arc::new(folder.to_owned()), done: Arc::new(Mutex::new(Some(done))) };
    let router = Router::new()
        .route("/", get(questions).post(begin))
        .route("/assets/{name}", get(assets::asset))
        .route("/manual", get(manual::contents))
        .route("/manual/{page}", get(manual::page))
        .route("/manual/pictures/{name}", get(manual::picture))
        .layer(middleware::from_fn_with_state(set_up.clone(), knock_again))
        .layer(middleware::from_fn(home_only))
        .with_state(set_up);
    let (stopping, stopped) = watch::channel(false);
    let ended = async move {
        // The sender goes only with the router.
        let _ = is_done.await;
        stopping.send_replace(true);
        // Nothing more is accepted, and the answer under way gets this long.
        tokio::time::sleep(FAREWELL).await;
    };
    let serving = axum::serve(listener, router).with_graceful_shutdown(turned_true(stopped));
    tokio::select! {
        served = serving => served.map_err(|error| {
            Refused::new("page_failed", format!("the page stopped answering ({error})"), "start the program again")
        }),
        () = ended => Ok(()),
    }
}

/// Who was let in just before the door closed knocks again, and is let in by the real page.
async fn knock_again(State(set_up): State<SetUp>, request: Request, next: Next) -> Response {
    if set_up.done.lock().unwrap_or_else(PoisonError::into_inner).is_some() {
        return next.run(request).await;
    }
    let here = request.uri().path_and_query().map_or("/", |here| here.as_str()).to_owned();
    ([(header::CONNECTION, "close")], Redirect::temporary(&here)).into_response()
}

async fn questions(State(set_up): State<SetUp>) -> Response {
    Html(first_page(&FirstAnswers::default(), &set_up.folder, None).into_string()).into_response()
}

async fn begin(State(set_up): State<SetUp>, form: Result<Form<FirstAnswers>, FormRejection>) -> Response {
    let Ok(Form(answers)) = form else {
        let refused = Refused::new("form_unreadable", "these answers could not be read", "load the page anew");
        return Html(first_page(&FirstAnswers::default(), &set_up.folder, Some(&refused)).into_string())
            .into_response();
    };
    let (folder, given) = (Arc::clone(&set_up.folder), answers.clone());
    // Writing waits for the disk.
    let outcome = tokio::task::spawn_blocking(move || create(&folder, &given)).await;
    let outcome = outcome.unwrap_or_else(|_| {
        Err(Refused::new("not_set_up", "the workshop could not be set up", "see barwright doctor"))
    });
    // Answered twice, or half done before the disk was full: there is a workshop, and the program goes on with it.
    let outcome = match outcome {
        Err(refused) if refused.code == "exists" => Ok(vec![format!("{} It is opened.", refused.message)]),
        other => other,
    };
    match outcome {
        Ok(told) => {
            if let Some(done) = set_up.done.lock().unwrap_or_else(PoisonError::into_inner).take() {
                // Nobody waits any more only if the program is being ended.
                let _ = done.send(());
            }
            // The door closes meanwhile: hardly anybody has to knock twice.
            tokio::time::sleep(CLOSING).await;
            let units = UnitsShown::named(&answers.units).unwrap_or_default();
            let headers = [(header::SET_COOKIE, UnitsShown::cookie(units)), (header::CONNECTION, "close".to_owned())];
            (headers, Html(begun_page(&told).into_string())).into_response()
        }
        Err(refused) => Html(first_page(&answers, &set_up.folder, Some(&refused)).into_string()).into_response(),
    }
}

/// Sets the workshop up by the answers; what was done beside that, or could not be, in words.
fn create(folder: &Path, answers: &FirstAnswers) -> Result<Vec<String>, Refused> {
    let name = named("the workshop's name", &answers.name)?.ok_or_else(|| {
        Refused::new("name_missing", "the workshop has no name", "give it one; it stands on every sheet")
    })?;
    let person = named("your name", &answers.person)?;
    let instrument = named("the instrument's name", &answers.instrument)?;
    let a4_hz = number("A4", &answers.a4, "Hz", A4_HZ)?;
    let order = match (instrument, a4_hz) {
        (Some(name), Some(a4_hz)) => Some(order(name, a4_hz)),
        (Some(_), None) => {
            return Err(Refused::new("a4_missing", "the instrument has no pitch", "give A4 in hertz, such as 442"));
        }
        (None, _) => None,
    };
    let now = Timestamp::now();
    let mut workshop = Workshop::create(folder, &name, now)?;
    let mut told = vec![format!("The workshop is set up in {}.", folder.display())];
    workshop.write(|step| {
        if let Some(name) = person {
            step.begin(Kind::Person, Body::Person(PersonRecord { name }).into(), now)?;
        }
        if let Some(order) = order {
            step.begin(Kind::Instrument, Body::Order(order).into(), now)?;
        }
        Ok(())
    })?;
    let copies = answers.copies.trim();
    if !copies.is_empty() {
        told.push(match workshop.backup(Path::new(copies)) {
            Ok(_) => format!("A first copy lies in {copies}. Make another now and then: Workshop, then Copies."),
            // The workshop is there all the same; a copy can be made at any time.
            Err(error) => format!("No copy could be made: {error}"),
        });
    }
    Ok(told)
}

fn order(name: String, a4_hz: f64) -> OrderRecord {
    OrderRecord { name, customer: None, a4_hz, reference: None, lowest: None, highest: None }
}

/// A name without blanks around it; `None` for an empty field.
fn named(what: &str, text: &str) -> Result<Option<String>, Refused> {
    let text = text.trim();
    let length = text.chars().count();
    if length > LONGEST_NAME {
        return Err(Refused::new(
            "too_long",
            format!("{what} has {length} letters"),
            format!("give at most {LONGEST_NAME}"),
        ));
    }
    Ok((!text.is_empty()).then(|| text.to_owned()))
}
