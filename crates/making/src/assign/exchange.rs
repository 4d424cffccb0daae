//! From the matching that loses least wood to one that is even as well: blanks are exchanged as long as that helps.
use super::EMPTY;
use super::cost::Costs;

/// Passes over all exchanges; a dozen settle a hundred places.
const PASSES: usize = 60;
/// Gains below this are rounding.
const LEAST_GAIN: f64 = 1e-9;

/// Loss of all places, empty ones at their price, and unevenness from bar to bar.
pub(super) fn total(costs: &Costs<'_>, chosen: &[Option<usize>]) -> f64 {
    (0..chosen.len()).map(|place| at(costs, chosen, place)).sum::<f64>()
        + chosen.windows(2).map(|pair| step(costs, pair[0], pair[1])).sum::<f64>()
}

fn at(costs: &Costs<'_>, chosen: &[Option<usize>], place: usize) -> f64 {
    chosen[place].map_or(EMPTY, |blank| costs.cost(place, blank).unwrap_or(4.0 * EMPTY))
}

/// Beside an empty place nothing is uneven.
fn step(costs: &Costs<'_>, one: Option<usize>, other: Option<usize>) -> f64 {
    one.zip(other).map_or(0.0, |(one, other)| costs.between(one, other))
}

/// What a change of these places can alter.
fn around(costs: &Costs<'_>, chosen: &[Option<usize>], places: [usize; 2]) -> f64 {
    let mut steps: Vec<usize> = places.iter().flat_map(|place| [place.wrapping_sub(1), *place]).collect();
    steps.sort_unstable();
    steps.dedup();
    let [one, other] = places;
    let own = at(costs, chosen, one) + if one == other { 0.0 } else { at(costs, chosen, other) };
    own + steps
        .iter()
        .filter(|left| **left < chosen.len().saturating_sub(1))
        .map(|left| step(costs, chosen[*left], chosen[left + 1]))
        .sum::<f64>()
}

/// Exchanges until none helps; pinned places stay.
pub(super) fn improved(
    costs: &Costs<'_>,
    mut chosen: Vec<Option<usize>>,
    pins: &[(usize, usize)],
    blanks: usize,
) -> Vec<Option<usize>> {
    let free: Vec<usize> = (0..chosen.len()).filter(|place| !pins.iter().any(|(pin, _)| pin == place)).collect();
    let pinned = |blank: &usize| pins.iter().any(|(_, own)| own == blank);
    for _ in 0..PASSES {
        let mut gained = false;
        for (i, one) in free.iter().enumerate() {
            for other in &free[i + 1..] {
                let before = around(costs, &chosen, [*one, *other]);
                chosen.swap(*one, *other);
                if around(costs, &chosen, [*one, *other]) < before - LEAST_GAIN {
                    gained = true;
                } else {
                    chosen.swap(*one, *other);
                }
            }
            for blank in (0..blanks).filter(|blank| !pinned(blank)) {
                if chosen.contains(&Some(blank)) {
                    continue;
                }
                let (before, old) = (around(costs, &chosen, [*one; 2]), chosen[*one]);
                chosen[*one] = Some(blank);
                if around(costs, &chosen, [*one; 2]) < before - LEAST_GAIN {
                    gained = true;
                } else {
                    chosen[*one] = old;
                }
            }
        }
        if !gained {
            break;
        }
    }
    chosen
}
