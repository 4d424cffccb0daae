//! Better sizes: lengths whose nodes lie on straight rails, bars that can be made, torsion kept clear.
//!
//! All bars of a plan are of the same wood, so that arches along smooth lengths vary smoothly of themselves; how smoothly is told.
mod line;
mod widths;
mod words;

use super::bar::{PlannedBar, WantedBar};
use super::law::Law;
use super::plan::{InstrumentPlan, THIN_M, assemble};
use super::specification::Specification;
use crate::error::MakingError;
use crate::frame::{Row, tolerated_m};
use line::{Stop, line_nearest, line_within};

/// Runs a function over bars, in any order or at once; the results in the order of the bars.
pub type BarRunner<'r> = dyn Fn(&[WantedBar], &(dyn Fn(&WantedBar) -> PlannedBar + Sync)) -> Vec<PlannedBar> + 'r;

/// How work on many bars is done; `making` itself knows no threads.
#[derive(Clone, Copy)]
pub struct Hands<'r> {
    /// Plans bars.
    pub plan: &'r BarRunner<'r>,
    /// Is told what is being done.
    pub told: &'r dyn Fn(&str),
}

impl std::fmt::Debug for Hands<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Hands")
    }
}

/// A specification made better.
#[derive(Debug, Clone)]
pub struct Bettered {
    /// With listed lengths, and listed widths where torsion asked for it.
    pub specification: Specification,
    /// The plan before.
    pub before: InstrumentPlan,
    /// The plan after.
    pub after: InstrumentPlan,
    /// What it cost and what is left, in words.
    pub traded: Vec<String>,
}

/// Rounds of new lengths: nodes follow a bar's length so nearly in proportion that two or three settle them; the others find how
/// long a bar may be.
const ROUNDS: usize = 8;
/// Rounds without a better plan after which no more are made: the first ones try lengths that turn out impossible.
const MOST_IN_VAIN: usize = 4;
/// Lengths are cut to this.
const LENGTH_STEP_M: f64 = 0.5e-3;
/// Most that a length is changed, as a share of the maker's own law: between the common curve of lengths and a straight line from
/// its end to its end lie 16 % in the middle of the instrument (computed for C2 to C7).
const MOST_CHANGE: f64 = 0.20;
/// A bar that cannot be made is tried longer by this share at a time.
const LONGER: f64 = 1.03;
/// Share of the length from an end to the node where a bar's own is not known: a blank's 0.224, an arched bar's less (computed).
const NODE_SHARE: f64 = 0.2;

/// Looks for lengths within a fifth of the maker's that put all nodes on straight rails with every bar possible and not too thin,
/// and for widths that lead torsion away.
///
/// # Errors
/// As [`Specification::bars`] and [`assemble`].
pub fn better(specification: &Specification, hands: Hands<'_>) -> Result<Bettered, MakingError> {
    (hands.told)("the plan as it is");
    let planned = plan(specification, &specification.bars()?, hands);
    let before = assemble(specification, planned)?;
    let own: Vec<f64> = before.bars.iter().map(|bar| bar.wanted.length_m).collect();
    let mut now = straightened(specification, before.clone(), &own, hands)?;
    let widths = widths::clear_of_torsion(&now.0, &now.1.bars, hands);
    if !widths.is_empty() {
        (hands.told)("widths that lead torsion away");
        let changed = widths::with_widths(&now.0, &now.1.bars, &widths);
        let bars = plan(&changed, &changed.bars()?, hands);
        let plan = assemble(&changed, bars)?;
        now = straightened(&changed, plan, &own, hands)?;
    }
    let (specification, after) = now;
    let traded = words::traded(&before, &after, &widths);
    Ok(Bettered { specification, before, after, traded })
}

fn plan(specification: &Specification, wanted: &[WantedBar], hands: Hands<'_>) -> Vec<PlannedBar> {
    (hands.plan)(wanted, &|bar| super::bar::plan_bar(specification, bar))
}

/// How bad a plan is: a bar that cannot be made counts as one whose nodes are ten tolerances off.
fn badness(plan: &InstrumentPlan) -> f64 {
    const UNMADE: f64 = 10.0;
    let misses = plan.rows.iter().flat_map(|row| &row.misses_m);
    let over = misses.map(|(name, miss_m)| (tolerances(plan, name, *miss_m) - 1.0).max(0.0)).sum::<f64>();
    over + UNMADE * plan.bars.iter().filter(|bar| bar.made.is_err()).count() as f64
}

/// A miss in tolerances of its bar.
fn tolerances(plan: &InstrumentPlan, name: &str, miss_m: f64) -> f64 {
    plan.bars.iter().find(|b| b.wanted.name == name).map_or(0.0, |b| miss_m / tolerated_m(b.wanted.length_m))
}

/// Rounds of new lengths until no node is beyond half its tolerance and every bar can be made.
fn straightened(
    specification: &Specification,
    plan: InstrumentPlan,
    own: &[f64],
    hands: Hands<'_>,
) -> Result<(Specification, InstrumentPlan), MakingError> {
    let mut bounds: Vec<[f64; 2]> =
        plan.bars.iter().zip(own).map(|(bar, own_m)| bounds_m(specification, bar, *own_m)).collect();
    let mut best = (specification.clone(), plan);
    let mut now = best.clone();
    let mut in_vain = 0;
    // Lengths that serve are the maker's; only where some do not, all are looked for anew, with room to spare.
    if badness(&best.1) <= 0.0 {
        return Ok(best);
    }
    for round in 1..=ROUNDS {
        if settled(&best.1) || in_vain == MOST_IN_VAIN {
            break;
        }
        (hands.told)(&format!("lengths, round {round}"));
        for ((bounds, bar), own_m) in bounds.iter_mut().zip(&now.1.bars).zip(own) {
            learn(bounds, bar, *own_m);
        }
        let lengths = lengths(&now.1, own, &bounds);
        let Some(next) = with_lengths(&now.0, &now.1, &lengths, hands)? else { break };
        now = next;
        in_vain += 1;
        if badness(&now.1) < badness(&best.1) {
            best = now.clone();
            in_vain = 0;
        }
    }
    Ok(best)
}

/// The plan with these lengths; only bars whose length changes are planned anew. `None` if none does.
fn with_lengths(
    specification: &Specification,
    plan: &InstrumentPlan,
    lengths_m: &[f64],
    hands: Hands<'_>,
) -> Result<Option<(Specification, InstrumentPlan)>, MakingError> {
    let listed = plan.bars.iter().map(|bar| bar.wanted.midi).zip(lengths_m.iter().copied()).collect();
    let changed = Specification { length: Law::Listed(listed), ..specification.clone() };
    let wanted = changed.bars()?;
    let moved =
        |(new, old): &(&WantedBar, &PlannedBar)| (old.wanted.length_m - new.length_m).abs() > 0.5 * LENGTH_STEP_M;
    let new: Vec<WantedBar> = wanted.iter().zip(&plan.bars).filter(moved).map(|(new, _)| new.clone()).collect();
    if new.is_empty() {
        return Ok(None);
    }
    let mut planned = self::plan(&changed, &new, hands).into_iter().peekable();
    let bars = wanted.into_iter().zip(&plan.bars).map(|(wanted, old)| {
        let anew = planned.next_if(|bar| bar.wanted.midi == wanted.midi);
        anew.unwrap_or_else(|| PlannedBar { wanted, made: old.made.clone() })
    });
    let bars = bars.collect();
    let plan = assemble(&changed, bars)?;
    Ok(Some((changed, plan)))
}

fn settled(plan: &InstrumentPlan) -> bool {
    let straight = |(name, miss_m): &(String, f64)| tolerances(plan, name, *miss_m) <= 0.5;
    plan.rows.iter().all(|row| row.misses_m.iter().all(straight)) && plan.bars.iter().all(|bar| bar.made.is_ok())
}

fn thin(bar: &PlannedBar) -> bool {
    bar.made.as_ref().is_ok_and(|made| made.arch.underside.thinnest().1 < THIN_M)
}

/// Between which lengths a bar is looked for, by the maker's own: within [`MOST_CHANGE`] and the longest blank; one that is thin
/// already is not made shorter, for that makes it thinner.
fn bounds_m(specification: &Specification, bar: &PlannedBar, own_m: f64) -> [f64; 2] {
    let most_m = ((1.0 + MOST_CHANGE) * own_m).min(specification.longest_blank_m.unwrap_or(f64::INFINITY));
    let least_m = if thin(bar) { own_m } else { (1.0 - MOST_CHANGE) * own_m };
    [least_m.min(most_m), most_m]
}

/// What is learnt from a bar that cannot be made: it was made too long or too short, seen from the maker's own length.
fn learn([least_m, most_m]: &mut [f64; 2], bar: &PlannedBar, own_m: f64) {
    if bar.made.is_ok() {
        return;
    }
    let length_m = bar.wanted.length_m;
    match length_m.total_cmp(&own_m) {
        std::cmp::Ordering::Greater => *most_m = f64::midpoint(length_m, own_m).max(*least_m),
        std::cmp::Ordering::Less => *least_m = f64::midpoint(length_m, own_m).min(*most_m),
        // Not even at the maker's own length: most such bars are too short.
        std::cmp::Ordering::Equal => *least_m = (length_m * LONGER).min(*most_m),
    }
}

/// Lengths that put each row's node spacings on a straight line, within the bounds; the row's own where no line keeps them.
fn lengths(plan: &InstrumentPlan, own: &[f64], bounds: &[[f64; 2]]) -> Vec<f64> {
    let mut lengths: Vec<f64> = plan.bars.iter().map(|bar| bar.wanted.length_m).collect();
    for row in [Row::Natural, Row::Accidental] {
        let indices: Vec<usize> = (0..plan.bars.len()).filter(|i| plan.bars[*i].wanted.row == row).collect();
        let between = |i: usize| 1.0 - 2.0 * node_share(&plan.bars[i]);
        let stop = |i: &usize| Stop {
            x_m: plan.centres_x_m[*i],
            wanted_m: own[*i] * between(*i),
            // The least change of each length for its own size.
            weight: (own[*i] * between(*i)).powi(-2),
            within_m: bounds[*i].map(|m| m * between(*i)),
        };
        let stops: Vec<Stop> = indices.iter().map(stop).collect();
        let Some(line) = line_within(&stops).or_else(|| line_nearest(&stops)) else { continue };
        for (i, stop) in indices.iter().zip(&stops) {
            let [low, high] = bounds[*i];
            let length_m = (line.at_m(stop.x_m) / between(*i)).clamp(low, high);
            lengths[*i] = (length_m / LENGTH_STEP_M).round() * LENGTH_STEP_M;
        }
    }
    lengths
}

/// Share of the length from an end to its node.
fn node_share(bar: &PlannedBar) -> f64 {
    let Ok(made) = &bar.made else { return NODE_SHARE };
    let middle = |[left, right]: [f64; 2]| f64::midpoint(left, right);
    let span_m = middle(made.nodes.away_m) - middle(made.nodes.player_m);
    0.5 * (1.0 - span_m / bar.wanted.length_m)
}
