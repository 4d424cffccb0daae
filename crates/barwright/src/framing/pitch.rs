//! What drilling does to a bar's modes.
use crate::convert;
use bar_physics::{Wanted, solid};
use making::frame::DrilledBar;
use records::BarFile;

/// Modes told.
const MODES: usize = 3;

/// Cents by which bending 1 to 3 change when the two holes are drilled; `None` if the bar cannot be computed.
///
/// First order, of the bar as its log has it; [`bar_physics::solid::Hole::cents`] says how far it can be trusted (about half).
pub fn drilling_cents(file: &BarFile, drilled: &DrilledBar, below_top_m: f64, diameter_m: f64) -> Option<Vec<f64>> {
    let given = convert::bar(file).ok()?;
    let modes = solid::modes(&given.bar, Wanted::bending(MODES)).ok()?;
    let holes = drilled.holes.map(|hole| bar_physics::solid::Hole {
        near_m: hole.bench_m[0],
        far_m: hole.bench_m[1],
        below_top_m,
        diameter_m,
    });
    Some(
        modes
            .bending
            .iter()
            .take(MODES)
            .map(|mode| holes.iter().map(|hole| hole.cents(&given.bar, mode)).sum())
            .collect(),
    )
}
