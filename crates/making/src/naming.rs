//! Which mode is bending 1 where turned grain mixes bending with torsion: the one most like it.
//!
//! A mode's own shares of motion fail where two modes mix half and half: both may then count as torsion, and
//! bending 2 would pass for bending 1. So the modes of the turned bar are named after those of the same bar with
//! straight grain, which are pure: the likest pair first, each used once (modal assurance criterion, Allemang &
//! Brown 1982).
use bar_physics::{Bar, Grain, Mode, ModeKind, Modes, PhysicsError, Wanted, solid};

/// Modes of `bar`, named by likeness to the straight-grained bar if the grain turns in plan.
pub(crate) fn modes(bar: &Bar, wanted: Wanted) -> Result<Modes, PhysicsError> {
    if bar.grain.is_symmetric_across() {
        return solid::modes(bar, wanted);
    }
    let torsion = wanted.torsion.max(1);
    let straight = Bar { grain: Grain { plan_rad: 0.0, ..bar.grain }, ..bar.clone() };
    let pure = solid::modes(&straight, Wanted { torsion, ..wanted })?;
    // More of each, so that a mode counted under the wrong kind is still in the pool: a third bending mode that is
    // half torsion may count as torsion 4.
    let spare = if wanted.bending > 2 { 2 } else { 1 };
    let more = Wanted { bending: wanted.bending + 1, torsion: torsion + spare, sideways: wanted.sideways };
    let mut mixed = solid::modes(bar, more).or_else(|_| solid::modes(bar, Wanted { torsion, ..wanted }))?;
    let pool: Vec<Mode> = mixed.bending.drain(..).chain(mixed.torsion.drain(..)).collect();
    let named: Vec<&Mode> = pure.bending.iter().chain(&pure.torsion).collect();
    for (name, index) in pair(&named, &pool) {
        let mode = Mode { kind: named[name].kind, number: named[name].number, ..pool[index].clone() };
        match mode.kind {
            ModeKind::Torsion => mixed.torsion.push(mode),
            _ => mixed.bending.push(mode),
        }
    }
    mixed.bending.sort_by_key(|m| m.number);
    mixed.torsion.sort_by_key(|m| m.number);
    mixed.torsion.truncate(wanted.torsion);
    mixed.sideways.truncate(wanted.sideways);
    Ok(mixed)
}

/// Pairs of (name, mode), the likest first, each used once.
fn pair(named: &[&Mode], pool: &[Mode]) -> Vec<(usize, usize)> {
    let likeness = |(i, j): (usize, usize)| (solid::likeness(named[i], &pool[j]), i, j);
    let mut all: Vec<(f64, usize, usize)> =
        (0..named.len()).flat_map(|i| (0..pool.len()).map(move |j| (i, j))).map(likeness).collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    let (mut name_used, mut mode_used) = (vec![false; named.len()], vec![false; pool.len()]);
    let mut out = Vec::new();
    for (_, i, j) in all {
        if !name_used[i] && !mode_used[j] {
            (name_used[i], mode_used[j]) = (true, true);
            out.push((i, j));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use bar_physics::{Underside, Wood};

    #[test]
    fn every_mode_of_a_turned_broad_bar_gets_one_name() {
        let flat = Underside::flat(0.16, 0.019).unwrap_or_else(|error| panic!("{error}"));
        let straight = Bar::new(0.04, flat, Wood::generic_hardwood(950.0, 18e9), Grain::default());
        let wanted = Wanted { bending: 2, torsion: 2, sideways: 0 };
        let pure = modes(&straight, wanted).unwrap_or_else(|error| panic!("{error}"));
        for plan_deg in [0.5, 2.0, 3.0] {
            let turned = Bar { grain: Grain::from_degrees(plan_deg, 0.0), ..straight.clone() };
            let named = modes(&turned, wanted).unwrap_or_else(|error| panic!("{error}"));
            let numbers = |list: &[Mode]| list.iter().map(|m| m.number).collect::<Vec<_>>();
            assert_eq!((numbers(&named.bending), numbers(&named.torsion)), (vec![1, 2], vec![1, 2]));
            for (a, b) in pure.bending.iter().zip(&named.bending) {
                // 3° take some 4 % off the stiffness along the bar and the mixing repels by at most 150 cents here.
                assert!(bar_physics::units::cents(b.hz, a.hz).abs() < 200.0, "{plan_deg}°: {} and {}", a.hz, b.hz);
            }
        }
    }
}
