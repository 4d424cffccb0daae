//! Temperature and humidity: what they do to bars and tubes, learnt from the shop's own reference bars where it has them.
//!
//! * [`Coefficients`] — cents per degree and per percent of moisture, with their doubt and where they come from; [`fit_reference`] learns them
//! * [`Coefficients::reads`] — what a bar that is right at the reference reads today; [`hall`] — bars and tubes in another room
//! * [`Cooling`] — how long a bar stays warm after sanding
mod coefficients;
mod cooling;
mod hall;
mod moisture;
mod reference;
#[cfg(test)]
mod tests;

pub use coefficients::{Air, Coefficient, Coefficients, Reads};
pub use cooling::{Cooling, Settled, settled};
pub use hall::{Hall, HallNote, hall};
pub use moisture::{AirAt, FOLLOWS_DAYS, followed_moisture};
pub use reference::{Fitted, ReferenceFit, ReferenceReading, fit_reference};
