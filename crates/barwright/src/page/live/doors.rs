//! The live line without its socket, for the fuzz targets.
use super::session::Session;
use super::{Hello, Told};
use crate::bench::{Bench, Desk, ONLY_BAR};
use crate::error::Refused;
use crate::page::state::PageState;
use serde_json::Value;
use std::sync::{Arc, Mutex};

/// The page of one bench.
#[derive(Debug)]
pub struct Line(PageState);

/// A stream that has begun on it.
#[derive(Debug)]
pub struct OpenLine(PageState, Session);

/// The name of the only bench of a page.
const BAR: &str = ONLY_BAR;

impl Line {
    /// The page of that bench.
    pub fn new(bench: Bench) -> Self {
        Self(PageState::new(Desk::from(Arc::new(Mutex::new(bench))), None))
    }

    /// A page's first word.
    ///
    /// # Errors
    /// As the program's own.
    pub fn hello(&self, words: &[u8]) -> Result<OpenLine, Refused> {
        let hello: Hello = serde_json::from_slice(words)
            .map_err(|error| Refused::new("bad_hello", error.to_string(), "load the page anew"))?;
        Ok(OpenLine(self.0.clone(), Session::begin(&self.0, BAR, &hello)?))
    }
}

impl OpenLine {
    /// A frame of sound.
    pub fn sound(&mut self, frame: &[u8]) -> Vec<Value> {
        self.1.frame(&self.0, frame)
    }

    /// Words of the maker.
    pub fn word(&mut self, words: &[u8]) -> Vec<Value> {
        serde_json::from_slice::<Told>(words)
            .map_or_else(|_| Vec::new(), |told| self.1.told(&self.0, &told).unwrap_or_default())
    }
}
