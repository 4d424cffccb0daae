//! What is doubtful about a row on its rails, and what helps.
use super::drill::STEEPEST_RAD;
use super::{FittedBar, RowFit};

/// Miss that is tolerated at a cord, per length of the bar: 4 mm at C2 (580 mm) and 1.5 mm at C6 (215 mm), about 3 % of
/// the centre's motion at either (judgement of the trade, common practice, no source).
const TOLERATED_PER_LENGTH: f64 = 1.0 / 145.0;
/// A lean read against the rails' by more than this over the width is doubted: salt tells tilt to half a millimetre
/// (common practice, no source), and the wood's own lean rarely reaches this.
const LEAN_M: f64 = 0.006;

/// A doubt about one bar, or about a row: what is wrong, and cures in the order in which they are cheap.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The bar, or the row.
    pub name: String,
    /// Stable name for programs.
    pub code: &'static str,
    /// What is wrong, with its figures.
    pub message: String,
    /// What helps.
    pub hint: String,
}

/// Miss at a cord that is tolerated on a bar of this length.
pub fn tolerated_m(length_m: f64) -> f64 {
    TOLERATED_PER_LENGTH * length_m
}

/// Everything doubtful about a row, bass to treble.
pub fn doubts(fit: &RowFit) -> Vec<Doubt> {
    let of_bars = fit.bars.iter().flat_map(|bar| [interpolated(bar), misread(bar), leaning(bar), missed(bar)]);
    of_bars.chain([steep(fit)]).flatten().collect()
}

fn doubt(bar: &FittedBar, code: &'static str, message: String, hint: String) -> Option<Doubt> {
    Some(Doubt { name: bar.bar.name.clone(), code, message, hint })
}

fn interpolated(bar: &FittedBar) -> Option<Doubt> {
    if !bar.interpolated {
        return None;
    }
    let name = &bar.bar.name;
    doubt(
        bar,
        "not_read",
        format!("{name} has not been read; its nodes are taken from its neighbours"),
        format!("do not drill {name} by these numbers; read it with salt when it is rough-tuned"),
    )
}

fn misread(bar: &FittedBar) -> Option<Doubt> {
    if !bar.misread {
        return None;
    }
    let span_mm = (span_of_cords_m(bar) - bar.nodes.span_m()) * 1e3;
    let words = if span_mm > 0.0 { "closer together" } else { "farther apart" };
    doubt(
        bar,
        "misread",
        format!("{}: its node lines lie {:.1} mm {words} than the row's rails", bar.bar.name, span_mm.abs()),
        "read it again: one number from the other end, or a line of another mode, is the usual mistake; it had no say in the rails".to_owned(),
    )
}

/// A mean lean against the rails' own: the other face was up, or the sides were mixed.
fn leaning(bar: &FittedBar) -> Option<Doubt> {
    if bar.interpolated || bar.misread {
        return None;
    }
    let mean = |rises: [f64; 2]| f64::midpoint(rises[0], rises[1]);
    let wood = mean(bar.nodes.rises_m());
    let rails = mean(bar.cords_m.map(|[left, right]| right - left));
    if (wood - rails).abs() < LEAN_M || wood * rails > 0.0 && wood.abs() < LEAN_M {
        return None;
    }
    let mirrored_helps = (-wood - rails).abs() < (wood - rails).abs() / 2.0;
    let hint = if mirrored_helps {
        "with the other face up it would lean with the rails: was the salt read from the other side, or the wrong face up?"
    } else {
        "read it again; if it really leans so, the hole at the rails' angle splits the miss between both sides"
    };
    doubt(
        bar,
        "leans_across",
        format!(
            "{}: its node lines lean {:+.1} mm over the width, the rails {:+.1} mm",
            bar.bar.name,
            wood * 1e3,
            rails * 1e3
        ),
        hint.to_owned(),
    )
}

fn missed(bar: &FittedBar) -> Option<Doubt> {
    let (miss_m, tolerated) = (bar.worst_middle_m(), tolerated_m(bar.bar.length_m));
    if bar.interpolated || bar.misread || miss_m <= tolerated {
        return None;
    }
    // Sliding is already at its best, so what is left is the span's.
    let span_mm = (span_of_cords_m(bar) - bar.nodes.span_m()) * 1e3;
    let words = if span_mm > 0.0 { "farther apart" } else { "closer together" };
    doubt(
        bar,
        "off_the_node",
        format!(
            "{}: the cords miss its nodes by {:.1} mm (tolerated {:.1}); they move {:.0} % as much as the centre there",
            bar.bar.name,
            miss_m * 1e3,
            tolerated * 1e3,
            1e2 * miss_m * super::fit::motion_per_m(&bar.bar)
        ),
        format!(
            "sliding cannot cure it: its nodes would have to lie {:.1} mm {words}; bend the rails at a post, re-arch the bar while it is undrilled, or bend this rail a little under it",
            span_mm.abs()
        ),
    )
}

/// A rail that asks for holes steeper than is usual, once for the whole row.
fn steep(fit: &RowFit) -> Option<Doubt> {
    let slopes = fit.rails.iter().flat_map(|rail| rail.points().iter().map(|(x, _)| rail.slope_at(*x).atan().abs()));
    let steepest = slopes.fold(0.0, f64::max);
    if steepest <= STEEPEST_RAD {
        return None;
    }
    let row = fit.row.name();
    Some(Doubt {
        name: row.to_owned(),
        code: "steep_cord",
        message: format!(
            "a rail of the {row} runs {:.1}° off square; holes up to {:.0}° are usual",
            steepest.to_degrees(),
            STEEPEST_RAD.to_degrees()
        ),
        hint: "give the outer rail a smaller share of the convergence, or let the row's lengths fall less steeply"
            .to_owned(),
    })
}

fn span_of_cords_m(bar: &FittedBar) -> f64 {
    let middle = |[left, right]: [f64; 2]| f64::midpoint(left, right);
    middle(bar.cords_m[1]) - middle(bar.cords_m[0])
}
