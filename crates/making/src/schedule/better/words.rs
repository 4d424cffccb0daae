//! What better sizes cost, in words.
use super::super::bar::PlannedBar;
use super::super::note::note_name;
use super::super::plan::InstrumentPlan;
use super::widths::clear;
use crate::arch::Arch;
use crate::arch::row::unevenness_m;
use crate::frame::Row;

/// What changed, what it cost and what is left.
pub(super) fn traded(before: &InstrumentPlan, after: &InstrumentPlan, widths: &[(i32, f64)]) -> Vec<String> {
    let mut out = vec![rails(before, after)];
    out.extend(left(after));
    out.extend(lengths(before, after));
    out.extend(widths.iter().map(|(midi, width_m)| {
        let was = before.bars.iter().find(|bar| bar.wanted.midi == *midi).map_or(0.0, |bar| bar.wanted.width_m);
        format!(
            "{} is {:.1} mm wide instead of {:.1} mm, to lead torsion away",
            note_name(*midi),
            width_m * 1e3,
            was * 1e3
        )
    }));
    out.extend(thinnest(before, after));
    let near = |plan: &InstrumentPlan| plan.bars.iter().filter(|bar| !clear(bar)).count();
    if near(before) > 0 || near(after) > 0 {
        out.push(format!("torsion too near a tuned mode in {}, {} before", bars(near(after)), near(before)));
    }
    let unmade = |plan: &InstrumentPlan| plan.bars.iter().filter(|bar| bar.made.is_err()).count();
    if unmade(before) > 0 {
        out.push(format!("{} cannot be made, {} before", bars(unmade(after)), unmade(before)));
    }
    out.push(format!(
        "wood {:+.1} %, mass {:+.1} %",
        100.0 * (after.wood_net_m3 / before.wood_net_m3 - 1.0),
        100.0 * (after.mass_kg / before.mass_kg - 1.0)
    ));
    out.extend(evenness(before, after));
    out
}

fn bars(count: usize) -> String {
    if count == 1 { "1 bar".to_owned() } else { format!("{count} bars") }
}

fn rails(before: &InstrumentPlan, after: &InstrumentPlan) -> String {
    let count = |plan: &InstrumentPlan| plan.rows.iter().map(|row| row.beyond_tolerance(plan).len()).sum::<usize>();
    let worst_mm = |plan: &InstrumentPlan| {
        1e3 * plan.rows.iter().flat_map(|row| &row.misses_m).map(|(_, miss_m)| *miss_m).fold(0.0, f64::max)
    };
    format!(
        "{} too far from straight rails, {} before; the worst {:.1} mm off, {:.1} mm before",
        bars(count(after)),
        count(before),
        worst_mm(after),
        worst_mm(before)
    )
}

/// The bars that no length within the bounds brings to the rails.
fn left(after: &InstrumentPlan) -> Option<String> {
    let beyond: Vec<String> =
        after.rows.iter().flat_map(|row| row.beyond_tolerance(after)).map(|(name, _)| name).collect();
    (!beyond.is_empty()).then(|| {
        format!(
            "{} stay beyond: they would have to be longer than their tuned modes allow, shorter than is safe, or more than a \
             fifth off your law; bend the rails at a post, tune one mode fewer there, or begin with other lengths",
            beyond.join(", ")
        )
    })
}

fn lengths(before: &InstrumentPlan, after: &InstrumentPlan) -> Option<String> {
    let pairs = before.bars.iter().zip(&after.bars);
    let change = |(old, new): &(&PlannedBar, &PlannedBar)| new.wanted.length_m - old.wanted.length_m;
    let most = pairs.max_by(|a, b| change(a).abs().total_cmp(&change(b).abs()))?;
    let change_mm = change(&most) * 1e3;
    (change_mm.abs() > 0.25).then(|| {
        format!(
            "lengths changed, most {}: {:.1} mm instead of {:.1} mm",
            most.0.wanted.name,
            most.1.wanted.length_m * 1e3,
            most.0.wanted.length_m * 1e3
        )
    })
}

fn thinnest(before: &InstrumentPlan, after: &InstrumentPlan) -> Option<String> {
    let least = |plan: &InstrumentPlan| {
        let made = plan.bars.iter().filter_map(|bar| Some((&bar.wanted.name, bar.made.as_ref().ok()?)));
        made.map(|(name, made)| (name.clone(), made.arch.underside.thinnest().1)).min_by(|a, b| a.1.total_cmp(&b.1))
    };
    let ((old, old_m), (new, new_m)) = (least(before)?, least(after)?);
    Some(format!("the thinnest wood is {:.1} mm in {new}, {:.1} mm in {old} before", new_m * 1e3, old_m * 1e3))
}

/// How unevenly arches vary from neighbour to neighbour, at its median.
fn evenness(before: &InstrumentPlan, after: &InstrumentPlan) -> Option<String> {
    let median_mm = |plan: &InstrumentPlan| -> Option<f64> {
        let mut off: Vec<f64> = [Row::Natural, Row::Accidental]
            .into_iter()
            .flat_map(|row| {
                let arches: Vec<&Arch> = plan
                    .bars
                    .iter()
                    .filter(|bar| bar.wanted.row == row)
                    .filter_map(|bar| Some(&bar.made.as_ref().ok()?.arch))
                    .collect();
                unevenness_m(&arches)
            })
            .collect();
        off.sort_by(f64::total_cmp);
        off.get(off.len() / 2).map(|m| m * 1e3)
    };
    let (old, new) = (median_mm(before)?, median_mm(after)?);
    Some(format!("an arch differs from its neighbours' mean by {new:.2} mm at the median, {old:.2} mm before"))
}
