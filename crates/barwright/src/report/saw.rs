//! Saw steps, as text and as JSON.
use super::units::{Units, fraction_of_inch, plain};
use crate::convert::rounded;
use crate::error::sentence;
use making::ArchAdvice;
use making::saw::{Blade, SawPlan, SawScale, SawSetup, SawStep};
use serde_json::{Value, json};
use words::tell;

/// The steps in the public form, as `arch` and `saw` give them.
pub fn steps_json(plan: &SawPlan) -> Vec<Value> {
    let step = |s: &SawStep| {
        json!({
            "order": s.order, "height_mm": rounded(s.height_m * 1e3, 3),
            "from_centre_mm": [rounded(s.from_m * 1e3, 2), rounded(s.to_m * 1e3, 2)],
            "stops_mm": s.stops_m.iter().map(|m| rounded(m * 1e3, 2)).collect::<Vec<_>>(),
            "kerfs": s.kerfs, "bite_mm": rounded(s.bite_m * 1e3, 2), "minutes": rounded(s.minutes, 1),
        })
    };
    plan.steps.iter().map(step).collect()
}

/// The public JSON of `saw`; see docs/saw.md.
pub fn to_json(plan: &SawPlan, setup: &SawSetup, after: &[(usize, f64)]) -> Value {
    let sentences = |texts: &[String]| texts.iter().map(|t| sentence(t)).collect::<Vec<_>>();
    json!({
        "saw_steps": steps_json(plan),
        "blade": if matches!(setup.blade, Blade::Across) { "across" } else { "along" },
        "kerf_mm": rounded(setup.kerf_m * 1e3, 3), "margin_mm": rounded(setup.margin_m * 1e3, 3),
        "pass_mm": rounded(setup.pass_m * 1e3, 3), "scale_mm": rounded(setup.scale.finest_m() * 1e3, 5),
        "kerfs": plan.kerfs, "minutes": rounded(plan.minutes, 0),
        "sawn_half": plan.sawn.half.iter().map(|(u, t)| json!({
            "from_centre_mm": rounded(u * 1e3, 2), "thickness_mm": rounded(t * 1e3, 3),
        })).collect::<Vec<_>>(),
        "expect_after": after.iter().map(|(mode, cents)| json!({ "mode": mode, "cents": rounded(*cents, 0) })).collect::<Vec<_>>(),
        "reasons": sentences(&plan.reasons), "cautions": sentences(&plan.cautions),
    })
}

/// The first setting first, then the table, then what to expect.
pub fn to_text(plan: &SawPlan, setup: &SawSetup, advice: &ArchAdvice, after: &[(usize, f64)], units: Units) -> String {
    let length = units.place(advice.arch.underside.length_m() * 1e3);
    let mut text = format!(
        "Set the blade to {} and saw step 1; then raise it step by step. {} steps, {} kerfs, about {} minutes.\n\n{}\n",
        setting(plan.steps.first().map_or(0.0, |s| s.height_m), setup, units),
        plan.steps.len(),
        plan.kerfs,
        plain(plan.minutes, 0),
        table(plan, setup, units)
    );
    text.push_str(&format!("\n{}\n", how(setup, &length)));
    let cents: Vec<String> =
        after.iter().map(|(mode, cents)| format!("mode {mode} about {:+.0}", (cents / 10.0).round() * 10.0)).collect();
    text.push_str(&format!(
        "Strike the sawn bar before you sand: {} cents above target, give or take 50 for wood and stairs.\n",
        cents.join(", ").replace('-', "−")
    ));
    text.push_str("\nWhy:\n");
    plan.reasons.iter().for_each(|r| text.push_str(&format!("  {}\n", sentence(r))));
    plan.cautions.iter().for_each(|c| text.push_str(&format!("Caution: {}\n", sentence(c))));
    text
}

/// How heights and stops are measured.
pub(crate) fn how(setup: &SawSetup, length: &str) -> String {
    match setup.blade {
        Blade::Across => tell!("saw-how-across", length = length),
        Blade::Along { .. } => tell!("saw-how-along", length = length),
    }
}

/// A length on the saw's own scale first; the other unit after it as a decimal, for the nearest mark of another
/// scale might be deeper.
fn setting(length_m: f64, setup: &SawSetup, units: Units) -> String {
    let mm = length_m * 1e3;
    let (own, other) = match setup.scale {
        SawScale::HalfMillimetre => (format!("{} mm", plain(mm, 1)), format!("{:.3} in", mm / 25.4)),
        SawScale::ThirtySecondInch => (format!("{} in", fraction_of_inch(mm)), format!("{} mm", plain(mm, 2))),
    };
    if units == Units::Both { format!("{own} ({other})") } else { own }
}

fn table(plan: &SawPlan, setup: &SawSetup, units: Units) -> String {
    let mut table = super::table();
    table.set_header([
        "step",
        "blade height",
        "from centre",
        "to",
        "stops: first",
        "last",
        "each side",
        "kerfs",
        "minutes",
    ]);
    for step in &plan.steps {
        let (first, last) = (step.stops_m.first().copied().unwrap_or(0.0), step.stops_m.last().copied().unwrap_or(0.0));
        table.add_row([
            step.order.to_string(),
            setting(step.height_m, setup, units),
            units.place(step.from_m * 1e3),
            units.place(step.to_m * 1e3),
            setting(first, setup, units),
            setting(last, setup, units),
            step.stops_m.len().to_string(),
            step.kerfs.to_string(),
            plain(step.minutes, 0),
        ]);
    }
    table.trim_fmt()
}
