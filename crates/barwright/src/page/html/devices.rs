//! Devices of the workshop's network: the page that pairs and revokes them, and the page on the phone.
use super::layout::{self, Place};
use super::{help, marks};
use crate::error::Refused;
use crate::lan::Ended;
use crate::lan::devices::{Device, LONGEST_NAME};
use crate::page::devices::{DevicesView, DoorView, OpenCode};
use crate::page::state::DEVICES;
use crate::report::record::when;
use maud::{Markup, html};

/// Modules of clear ground that a QR code needs around it (ISO/IEC 18004, 6.3.8).
const QUIET: usize = 4;

/// The whole page.
pub fn devices_page(view: &DevicesView) -> Markup {
    let body = html! {
        main #main data-bench=(DEVICES) data-version="" {
            (layout::head(&view.house.name, view.house.invented, "simulated bars"))
            h1 .unseen { "Devices" }
            @if let Some(settled) = &view.settled { (notice(settled)) }
            section #pairing {
                h2 { "Pair a phone or tablet" }
                @match &view.door { Some(door) => (pairing(door)), None => (no_door()) }
                (help::fold("devices-help", &help::DEVICES))
            }
            section #paired {
                h2 { "Paired devices" }
                (list(&view.devices))
            }
            p #progress .progress role="status" aria-live="polite" {}
            (layout::foot(Place::Other))
        }
    };
    layout::page(&format!("Devices: {}", view.house.name), &body)
}

fn notice(settled: &Result<String, Refused>) -> Markup {
    html! {
        div #notice .notice .refused[settled.is_err()] role="status" {
            @match settled {
                Ok(done) => p { (marks::double_tick()) " " (done) "." },
                Err(why) => { p { (marks::triangle()) " " strong { "Nothing was changed. " } (why.message) } p { (why.hint) } }
            }
        }
    }
}

fn no_door() -> Markup {
    html! {
        p { "The page answers this computer alone now. To let phones and tablets in the workshop's network in, stop the program and start it with:" }
        p { code { "barwright serve --lan" } }
    }
}

fn pairing(door: &DoorView) -> Markup {
    html! {
        @match &door.code { Ok(code) => (open_code(door, code)), Err(ended) => (no_code(*ended)) }
        form method="post" action="/devices/code" {
            button .button type="submit" { (if door.code.is_ok() { "Another code" } else { "New code" }) }
        }
        h3 { "Is it really this computer?" }
        p { "The first visit warns that the certificate is unknown: no authority vouches for a workshop. Open its details there and compare "
            "the SHA-256 fingerprint. If it is another one, somebody stands between: turn back." }
        p .fingerprint { @for half in halves(&door.fingerprint) { code { (half) } " " } }
        p .small {
            "The certificate ends on " (door.certificate.0) "; it is made anew a month before, or when this computer's address changes. Then each device warns once more. "
            @if door.certificate.1 { (marks::triangle()) " It was made anew when the program was started." }
        }
    }
}

/// Two lines of sixteen pairs can be compared; one of thirty-two cannot.
fn halves(fingerprint: &str) -> Vec<String> {
    let pairs: Vec<&str> = fingerprint.split_inclusive(':').collect();
    pairs.chunks(16).map(<[&str]>::concat).collect()
}

fn open_code(door: &DoorView, code: &OpenCode) -> Markup {
    html! {
        div .pairing {
            (qr(&code.qr))
            div {
                p { "Point the phone's camera here. Or open" }
                p .pair-address { (door.url) "pair" }
                p { "on it and type" }
                p .pair-code { (code.code) }
                p .small { "For one device, until " (code.until) "." }
            }
        }
    }
}

fn no_code(ended: Option<Ended>) -> Markup {
    html! {
        @match ended {
            Some(Ended::Used) => p { (marks::double_tick()) " A device was paired with the last code; it stands in the list below." },
            Some(Ended::TooOld) => p { "The last code has ended: a code lives ten minutes." },
            Some(Ended::TooManyTries) => p { (marks::triangle()) " The last code was closed after five wrong tries. If nobody here mistyped it, look who is in the workshop's network." },
            None => p { "No code is open." },
        }
    }
}

/// Dark on light whatever the page's colours: not every camera reads the other way round.
fn qr(modules: &[Vec<bool>]) -> Markup {
    let size = modules.len() + 2 * QUIET;
    let mut dark = String::new();
    for (y, row) in modules.iter().enumerate() {
        for (x, _) in row.iter().enumerate().filter(|(_, dark)| **dark) {
            dark += &format!("M{} {}h1v1h-1z", x + QUIET, y + QUIET);
        }
    }
    html! {
        svg .qr viewBox={ "0 0 " (size) " " (size) } role="img" aria-label="QR code of the address and the code" {
            rect width=(size) height=(size) fill="#ffffff" {}
            path d=(dark) fill="#000000" {}
        }
    }
}

fn list(devices: &Result<Vec<Device>, Refused>) -> Markup {
    html! {
        @match devices {
            Err(why) => div .notice .refused role="status" {
                p { (marks::triangle()) " " strong { "No device can come in. " } (why.message) } p { (why.hint) }
            },
            Ok(devices) if devices.is_empty() => p { "None." },
            Ok(devices) => ul .devices { @for device in devices { (line(device)) } },
        }
    }
}

fn line(device: &Device) -> Markup {
    html! {
        li {
            p .device-name { (device.name) }
            p .small { "last seen " (when(device.seen_at)) ", paired " (when(device.paired_at)) }
            details id={ "revoke-" (device.id) } {
                summary { "Revoke…" }
                form method="post" action="/devices/revoke" {
                    input type="hidden" name="device" value=(device.id);
                    p { "What it has open is closed at once, also a microphone that listens; to come back it needs a new code." }
                    button .button type="submit" { "Revoke " (device.name) }
                }
            }
        }
    }
}

/// The page on the phone, with what was wrong with the last try.
pub fn pair_page(name: &str, wrong: Option<&Refused>) -> Markup {
    let body = html! {
        main #main .alone {
            h1 .section { "Pair this device with the workshop" }
            @if let Some(why) = wrong {
                div .notice .refused role="alert" { p { (marks::triangle()) " " strong { (why.message) } } p { (why.hint) } }
            }
            form #pair .pair method="post" action="/pair" {
                label { span { "Code on the workshop's computer" }
                    input #code type="text" name="code" required autocomplete="off" autocapitalize="characters" spellcheck="false" maxlength="20" placeholder="XXXX-XXXX"; }
                label { span { "What shall this device be called?" }
                    input #name type="text" name="name" required autocomplete="off" maxlength=(LONGEST_NAME) value=(name); }
                button .button .main type="submit" { "Pair" }
            }
            p .small { "The code stands on the workshop's computer: in the window of the program, and on its page under Workshop, Devices. A paired device can do everything that the bench can." }
            p .small { "Before you go on: is the SHA-256 fingerprint in your browser's certificate details the one on the workshop's computer?" }
        }
    };
    layout::bare("Pair this device", "/assets/pair.js", &body)
}
