//! `serve`: the local page on the workshop's record, or on one bar file.
use super::args::ServeArgs;
use super::workshop;
use crate::bench::{Bench, Desk};
use crate::diary::{self, Happened};
use crate::error::Refused;
use crate::lan::address;
use crate::page::{self, ServeOptions};
use jiff::Timestamp;
use records::workshop::RECORD_FILE;
use std::net::TcpListener;
use std::path::Path;
use std::sync::{Arc, Mutex};

pub(super) fn run(at: Option<&Path>, args: &ServeArgs) -> Result<String, Refused> {
    let lan = match &args.lan {
        None => None,
        Some(None) => Some(address::found()?),
        Some(Some(typed)) => Some(address::typed(typed)?),
    };
    let options = ServeOptions { port: args.port, open: !args.no_open, lan };
    let (desk, bound) = match &args.bar {
        Some(bar) => (Desk::from(Arc::new(Mutex::new(Bench::from_file(bar)?))), None),
        None => {
            let folder = workshop::folder(at)?;
            let is_new = !folder.join(RECORD_FILE).exists();
            let bound = if is_new { Some(runtime()?.block_on(page::set_up(&folder, options))?) } else { None };
            (Desk::from(workshop::open(at)?), bound)
        }
    };
    // Where the questions were asked a browser is open already.
    let options = ServeOptions { open: options.open && bound.is_none(), ..options };
    answer_on(desk, options, bound)
}

/// Serves the page until it is interrupted; the answer is empty.
pub(super) fn open_page(desk: Desk, options: ServeOptions) -> Result<String, Refused> {
    answer_on(desk, options, None)
}

fn answer_on(desk: Desk, options: ServeOptions, bound: Option<TcpListener>) -> Result<String, Refused> {
    diary::note(Happened::Began("serve"), Timestamp::now());
    runtime()?.block_on(page::serve(desk, options, bound))?;
    Ok(String::new())
}

fn runtime() -> Result<tokio::runtime::Runtime, Refused> {
    tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().map_err(|error| {
        Refused::new(
            "not_served",
            format!("the page could not be started: {error}"),
            "close other programs and try again",
        )
    })
}
