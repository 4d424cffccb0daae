//! Pairing and revoking the phones and tablets of the workshop's network.
//!
//! `/devices` is answered on the workshop's own computer only, `/pair` in its network only (module `guard`).
use super::guard::{COOKIE, PAIR, too_many};
use super::html::{devices_page, pair_page};
use super::places::House;
use super::routes::refusal_page;
use super::state::PageState;
use crate::bench::{Desk, hold};
use crate::error::Refused;
use crate::lan::devices::{Device, DeviceFile, remove};
use crate::lan::{Door, Ended, Lan};
use crate::report::record::when;
use axum::Router;
use axum::extract::rejection::FormRejection;
use axum::extract::{DefaultBodyLimit, Extension, Form, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use fast_qr::qr::QRBuilder;
use jiff::Timestamp;
use serde::Deserialize;
use std::sync::Arc;

/// A code and a name are far shorter.
const LARGEST_FORM: usize = 2048;
/// Lifetime of the cookie, in seconds: browsers cut at 400 days (RFC 6265bis, 5.5), a device is revoked long before.
const COOKIE_LIVES_S: u32 = 400 * 24 * 3600;

/// What they answer to.
pub fn router() -> Router<PageState> {
    Router::new()
        .route("/devices", get(page))
        .route("/devices/code", post(code))
        .route("/devices/revoke", post(revoke))
        .route(PAIR, get(pair).post(try_to_pair).layer(DefaultBodyLimit::max(LARGEST_FORM)))
}

/// The code that is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenCode {
    /// As people read it.
    pub code: String,
    /// When it ends.
    pub until: String,
    /// The QR code of its address: rows of dark (true) and light modules.
    pub qr: Vec<Vec<bool>>,
}

/// The door to the network as the page shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DoorView {
    /// The address to open on a phone.
    pub url: String,
    /// SHA-256 of the certificate.
    pub fingerprint: String,
    /// The day the certificate ends, and whether it was made when the program was started.
    pub certificate: (String, bool),
    /// The code, or how the last one ended.
    pub code: Result<OpenCode, Option<Ended>>,
}

/// What the page shows.
#[derive(Debug)]
pub struct DevicesView {
    /// The workshop.
    pub house: House,
    /// The door, if the program was started with it.
    pub door: Option<DoorView>,
    /// The paired devices, last seen first.
    pub devices: Result<Vec<Device>, Refused>,
    /// What came of the last thing done here.
    pub settled: Option<Result<String, Refused>>,
}

impl DevicesView {
    fn of(state: &PageState, now: Timestamp) -> Result<Self, Refused> {
        let house = House::of(state.desk())?;
        let door = state.lan().map(|lan| DoorView::of(lan, now)).transpose()?;
        let mut devices = match state.lan() {
            Some(lan) => lan.registry().list(),
            None => file(state.desk())?.read(),
        };
        if let Ok(devices) = &mut devices {
            devices.sort_by_key(|device| std::cmp::Reverse(device.seen_at));
        }
        Ok(Self { house, door, devices, settled: state.settled() })
    }
}

impl DoorView {
    fn of(lan: &Lan, now: Timestamp) -> Result<Self, Refused> {
        let (open, ended) = {
            let mut pairing = lan.pairing();
            (pairing.open(now), pairing.ended())
        };
        let code = match open {
            Some((code, until)) => {
                Ok(OpenCode { code: code.to_string(), until: when(until), qr: qr(&lan.pair_url(&code))? })
            }
            None => Err(ended),
        };
        let (expires, is_new) = lan.certificate();
        Ok(Self {
            url: lan.url(),
            fingerprint: lan.fingerprint().to_owned(),
            certificate: (expires.to_string(), is_new),
            code,
        })
    }
}

/// The modules of a QR code.
fn qr(text: &str) -> Result<Vec<Vec<bool>>, Refused> {
    let code = QRBuilder::new(text).build().map_err(|error| {
        Refused::new("no_qr_code", format!("no QR code could be made ({error:?})"), "type address and code instead")
    })?;
    let row = |row: usize| (0..code.size).map(|column| code[row][column].value()).collect();
    Ok((0..code.size).map(row).collect())
}

/// The list where the program was started without the door.
fn file(desk: &Desk) -> Result<DeviceFile, Refused> {
    let workshop = desk.workshop().ok_or_else(|| {
        Refused::new("not_found", "a bar file by itself has no paired devices", "serve the workshop's record instead")
    })?;
    Ok(DeviceFile::in_workshop(hold(workshop).folder()))
}

/// The devices, and the code to pair another.
async fn page(State(state): State<PageState>) -> Response {
    match state.with_desk(|state| DevicesView::of(state, Timestamp::now())).await {
        Ok(view) => Html(devices_page(&view).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

/// Opens a new code.
async fn code(State(state): State<PageState>) -> Response {
    let made = state.lan().map(|lan| (lan, lan.new_code(Timestamp::now())));
    match made {
        Some((lan, Ok(code))) => eprintln!("To pair a device, open {}pair on it and type {code}.", lan.url()),
        Some((_, Err(refused))) => state.set_settled(Err(refused)),
        None => state.set_settled(Err(no_door())),
    }
    state.tell_devices();
    Redirect::to("/devices").into_response()
}

/// Which device.
#[derive(Debug, Deserialize)]
struct RevokeForm {
    device: String,
}

/// Revokes a device.
async fn revoke(State(state): State<PageState>, form: Result<Form<RevokeForm>, FormRejection>) -> Response {
    let outcome = match form {
        Ok(Form(form)) => {
            let revoked = move |state: &PageState| match state.lan() {
                Some(lan) => lan.registry().revoke(&form.device),
                None => Ok(file(state.desk())?.change(|devices| remove(devices, &form.device))?.0),
            };
            state.with_desk(revoked).await.map(|device| format!("{} is revoked", device.name))
        }
        Err(_) => Err(Refused::new("form_unreadable", "this form could not be read", "open the page anew")),
    };
    state.set_settled(outcome);
    state.tell_devices();
    Redirect::to("/devices").into_response()
}

/// What a device sends to be paired.
#[derive(Debug, Default, Deserialize)]
struct PairForm {
    code: String,
    name: String,
}

/// The page on the phone.
async fn pair(Extension(door): Extension<Door>) -> Response {
    match door {
        Door::Home => Redirect::to("/devices").into_response(),
        Door::Network(_) => Html(pair_page("", None).into_string()).into_response(),
    }
}

/// Pairs the device that sends the right code.
async fn try_to_pair(
    State(state): State<PageState>,
    Extension(door): Extension<Door>,
    form: Result<Form<PairForm>, FormRejection>,
) -> Response {
    let (Door::Network(wire), Some(lan)) = (door, state.lan().map(Arc::clone)) else {
        return Redirect::to("/devices").into_response();
    };
    if let Err(wait) = lan.try_to_pair(wire.peer()) {
        return too_many(wait);
    }
    let Ok(Form(form)) = form else {
        let why = Refused::new("form_unreadable", "this form could not be read", "open the page anew");
        return refused(&why, "");
    };
    let name = form.name.clone();
    let paired = state.with_desk(move |_| lan.pair(&form.code, &form.name, Timestamp::now())).await;
    state.tell_devices();
    match paired {
        Ok((name, token)) => {
            eprintln!("Paired: {}", name.escape_debug());
            let cookie =
                format!("{COOKIE}={token}; Path=/; Max-Age={COOKIE_LIVES_S}; Secure; HttpOnly; SameSite=Strict");
            ([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response()
        }
        Err(why) => refused(&why, &name),
    }
}

/// The pairing page again, with what was wrong.
fn refused(why: &Refused, name: &str) -> Response {
    let status = match why.code.as_str() {
        "wrong_code" | "code_closed" | "no_code_open" => StatusCode::FORBIDDEN,
        "no_name" | "long_name" | "form_unreadable" => StatusCode::UNPROCESSABLE_ENTITY,
        _ => StatusCode::INTERNAL_SERVER_ERROR,
    };
    (status, Html(pair_page(name, Some(why)).into_string())).into_response()
}

fn no_door() -> Refused {
    Refused::new(
        "no_lan",
        "the program was started for this computer alone, so that no device can be paired",
        "stop it and start it with barwright serve --lan",
    )
}
