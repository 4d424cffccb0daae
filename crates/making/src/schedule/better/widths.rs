//! Widths that lead torsion away from the tuned modes: bending hardly depends on the width, torsion does.
use super::super::bar::{PlannedBar, WantedBar};
use super::super::law::Law;
use super::super::specification::Specification;
use super::Hands;
use crate::torsion::Nearness;

/// Changes looked at, as shares of the width, small ones first: more is a stranger among its neighbours (judgement, no source).
const CHANGES: [f64; 8] = [-0.02, 0.02, -0.04, 0.04, -0.06, 0.06, -0.08, 0.08];
/// Widths are cut to this.
const WIDTH_STEP_M: f64 = 0.5e-3;

/// (MIDI number, new width) of each bar whose torsion lies too near a tuned mode and that another width clears.
pub(super) fn clear_of_torsion(
    specification: &Specification,
    bars: &[PlannedBar],
    hands: Hands<'_>,
) -> Vec<(i32, f64)> {
    let near: Vec<&PlannedBar> = bars.iter().filter(|bar| !clear(bar)).collect();
    let tries: Vec<WantedBar> = near.iter().flat_map(|bar| CHANGES.map(|change| wider(&bar.wanted, change))).collect();
    if tries.is_empty() {
        return Vec::new();
    }
    let planned = super::plan(specification, &tries, hands);
    let first_clear = |tries: &[PlannedBar]| {
        let clear = tries.iter().find(|bar| bar.made.is_ok() && clear(bar));
        clear.map(|bar| (bar.wanted.midi, bar.wanted.width_m))
    };
    planned.chunks(CHANGES.len()).filter_map(first_clear).collect()
}

fn wider(bar: &WantedBar, change: f64) -> WantedBar {
    let width_m = (bar.width_m * (1.0 + change) / WIDTH_STEP_M).round() * WIDTH_STEP_M;
    WantedBar { width_m, ..bar.clone() }
}

/// Whether torsion keeps clear; a bar that cannot be made has none.
pub(super) fn clear(bar: &PlannedBar) -> bool {
    let Nearness::Cents(limit) = Nearness::default() else { return true };
    bar.made.as_ref().is_ok_and(|made| made.torsion.is_none_or(|near| near.cents.abs() >= limit)) || bar.made.is_err()
}

/// The specification with these widths and the others as they were, all listed.
pub(super) fn with_widths(specification: &Specification, bars: &[PlannedBar], widths: &[(i32, f64)]) -> Specification {
    let width = |bar: &PlannedBar| {
        let new = widths.iter().find(|(midi, _)| *midi == bar.wanted.midi);
        (bar.wanted.midi, new.map_or(bar.wanted.width_m, |(_, width_m)| *width_m))
    };
    Specification { width: Law::Listed(bars.iter().map(width).collect()), ..specification.clone() }
}
