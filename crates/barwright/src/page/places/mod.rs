//! The places beside the bench: all bars, the workshop, the settings.
//!
//! They speak of a workshop's record; a page about one bar file has none of them.
pub mod bars;
mod choice;
pub mod climate;
pub mod frame;
mod new;
pub mod plan;
pub mod set;
pub mod settings;
pub mod workshop;

pub use choice::UnitsShown;
pub(super) use new::BlankView;
pub(super) use settings::{A4_HZ, number};

use super::state::PageState;
use crate::bench::{Desk, SharedWorkshop};
use crate::error::Refused;
use axum::Router;
use axum::routing::{get, post};
use records::workshop::Kind;

/// What the places answer to.
pub fn router() -> Router<PageState> {
    Router::new()
        .route("/bars", get(bars::page))
        .route("/new", get(new::page).post(new::enter))
        .route("/settings/instrument", post(new::instrument))
        .route("/frame", get(frame::page))
        .route("/frame/bar", get(frame::one_bar))
        .route("/frame/board.svg", get(frame::board))
        .route("/frame/try", get(frame::trial))
        .route("/frame/plan", post(frame::keep_plan))
        .route("/frame/rails", post(frame::keep_rails))
        .route("/frame/fit", post(frame::fit_again))
        .route("/frame/built", post(frame::built))
        .route("/frame/drilled", post(frame::drilled))
        .route("/frame/undo", post(frame::undo))
        .route("/climate", get(climate::page).post(climate::enter))
        .route("/tubes", get(set::tubes))
        .route("/fine", get(set::fine))
        .route("/certificate", get(set::certificate).post(set::give))
        .route("/api/certificate/{name}", get(set::certificate_file))
        .route("/retune", get(set::retune))
        .route("/api/sheet/{word}/{name}", get(set::sheet))
        .route("/plan", get(plan::page).post(plan::planned))
        .route("/workshop", get(workshop::page))
        .route("/workshop/copy", post(workshop::copy))
        .route("/workshop/check", post(workshop::check))
        .route("/settings", get(settings::page))
        .route("/settings/order", post(settings::order))
        .route("/settings/units", post(settings::units))
}

/// Whose place it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct House {
    /// Name of the workshop.
    pub name: String,
    /// Whether it is simulated.
    pub invented: bool,
}

impl House {
    /// The house of the record.
    ///
    /// # Errors
    /// [`Refused`] `not_found` without a record; if it cannot be read.
    pub(super) fn of(desk: &Desk) -> Result<Self, Refused> {
        let names = crate::bench::hold(record(desk)?).list(Kind::Workshop)?;
        let name = names.into_iter().next().map(|named| named.name).unwrap_or_default();
        Ok(Self { name, invented: desk.invented() })
    }
}

/// The record that the places speak of.
fn record(desk: &Desk) -> Result<&SharedWorkshop, Refused> {
    desk.workshop().ok_or_else(|| {
        Refused::new(
            "not_found",
            "this page is about one bar file, which has no workshop around it",
            "set up a record with barwright workshop new, then start barwright serve without a file",
        )
    })
}
