//! `serve`: the local page on a bar file.
use super::args::ServeArgs;
use crate::bench::Bench;
use crate::error::Refused;
use crate::page::{self, ServeOptions};
use std::sync::{Arc, Mutex};

pub(super) fn run(args: &ServeArgs) -> Result<String, Refused> {
    open_page(Bench::from_file(&args.bar)?, args.port, !args.no_open)
}

/// Serves the page until it is interrupted; the answer is empty.
pub(super) fn open_page(bench: Bench, port: u16, open: bool) -> Result<String, Refused> {
    let runtime =
        tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().map_err(|error| {
            Refused::new(
                "not_served",
                format!("the page could not be started: {error}"),
                "close other programs and try again",
            )
        })?;
    runtime.block_on(page::serve(Arc::new(Mutex::new(bench)), ServeOptions { port, open }))?;
    Ok(String::new())
}
