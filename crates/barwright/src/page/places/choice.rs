//! Units of the places' tables, as chosen in this browser and kept in its cookie.
use crate::report::units::Units;
use axum::extract::FromRequestParts;
use axum::http::header;
use axum::http::request::Parts;
use std::convert::Infallible;

/// Name of the cookie.
const COOKIE: &str = "units";

/// The units chosen; both if none were.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UnitsShown(pub Units);

impl UnitsShown {
    /// The word that forms and the cookie use.
    pub fn word(units: Units) -> &'static str {
        match units {
            Units::Mm => "mm",
            Units::Inch => "inch",
            Units::Both => "both",
        }
    }

    /// The cookie that keeps the choice for a year; scripts have no use for it, other pages do not get it.
    pub fn cookie(units: Units) -> String {
        format!("{COOKIE}={}; Path=/; Max-Age=31536000; SameSite=Strict; HttpOnly", Self::word(units))
    }

    /// The units of that word.
    pub fn named(word: &str) -> Option<Units> {
        [Units::Mm, Units::Inch, Units::Both].into_iter().find(|units| Self::word(*units) == word)
    }
}

impl<S: Send + Sync> FromRequestParts<S> for UnitsShown {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Self::Rejection> {
        let cookies = parts.headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
        let mut pairs = cookies.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='));
        let chosen = pairs.find(|(name, _)| *name == COOKIE).and_then(|(_, word)| Self::named(word));
        Ok(Self(chosen.unwrap_or_default()))
    }
}
