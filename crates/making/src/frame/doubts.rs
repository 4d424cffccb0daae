//! What is doubtful about a row on its rails, and what helps.
use super::drill::STEEPEST_RAD;
use super::{FittedBar, RowFit};
use words::{figure, figure_with_sign, tell};

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
    let name = words::note(&bar.bar.name);
    doubt(
        bar,
        "not_read",
        tell!("doubt-unread", name = name.as_str()),
        tell!("doubt-unread-hint", name = name.as_str()),
    )
}

fn misread(bar: &FittedBar) -> Option<Doubt> {
    if !bar.misread {
        return None;
    }
    let span_mm = (span_of_cords_m(bar) - bar.nodes.span_m()) * 1e3;
    let lie = if span_mm > 0.0 { tell!("closer-together") } else { tell!("farther-apart") };
    doubt(
        bar,
        "misread",
        tell!("doubt-misread", name = words::note(&bar.bar.name), mm = figure(span_mm.abs(), 1), lie = lie),
        tell!("doubt-misread-hint"),
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
    let hint = if mirrored_helps { tell!("doubt-leans-face") } else { tell!("doubt-leans-split") };
    doubt(
        bar,
        "leans_across",
        tell!(
            "doubt-leans",
            name = words::note(&bar.bar.name),
            wood = figure_with_sign(wood * 1e3, 1),
            rails = figure_with_sign(rails * 1e3, 1),
        ),
        hint,
    )
}

fn missed(bar: &FittedBar) -> Option<Doubt> {
    let (miss_m, tolerated) = (bar.worst_middle_m(), tolerated_m(bar.bar.length_m));
    if bar.interpolated || bar.misread || miss_m <= tolerated {
        return None;
    }
    // Sliding is already at its best, so what is left is the span's.
    let span_mm = (span_of_cords_m(bar) - bar.nodes.span_m()) * 1e3;
    let lie = if span_mm > 0.0 { tell!("farther-apart") } else { tell!("closer-together") };
    doubt(
        bar,
        "off_the_node",
        tell!(
            "doubt-missed",
            name = words::note(&bar.bar.name),
            mm = figure(miss_m * 1e3, 1),
            tolerated = figure(tolerated * 1e3, 1),
            percent = figure(1e2 * miss_m * super::fit::motion_per_m(&bar.bar), 0),
        ),
        tell!("doubt-missed-hint", mm = figure(span_mm.abs(), 1), lie = lie),
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
        message: tell!(
            "doubt-steep",
            row = fit.row.words(),
            degrees = figure(steepest.to_degrees(), 1),
            most = figure(STEEPEST_RAD.to_degrees(), 0),
        ),
        hint: tell!("doubt-steep-hint"),
    })
}

fn span_of_cords_m(bar: &FittedBar) -> f64 {
    let middle = |[left, right]: [f64; 2]| f64::midpoint(left, right);
    middle(bar.cords_m[1]) - middle(bar.cords_m[0])
}
