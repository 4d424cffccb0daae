//! Air: the speed of sound in it, and tubes that are stopped at one end.
mod coupled;
mod sound;
mod tube;

pub use coupled::BarOverTube;
pub use sound::sound_speed_m_s;
pub use tube::{AirError, Mouth, StoppedTube, end_correction};
