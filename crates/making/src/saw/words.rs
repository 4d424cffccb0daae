//! Reasons and cautions of the saw steps, in short sentences.
use super::{Blade, SHORT_M, SawSetup, SawStep, Sawn};
use bar_physics::Underside;
use words::tell;

pub(super) fn reasons(steps: &[SawStep], sawn: &Sawn, line: &Underside, setup: &SawSetup) -> Vec<String> {
    let half_m = 0.5 * line.length_m();
    let above = |k: usize| {
        let u = half_m * k as f64 / 500.0;
        // Where the line is the face of the blank nothing is sawn and nothing is left over.
        let spare = sawn.thickness_at(u) - line.thickness_at(half_m + u);
        if spare < setup.margin_m - 1e-6 { 0.0 } else { spare }
    };
    let most_m = (0..=500).map(above).fold(0.0, f64::max);
    let deepest_bite_m = steps.iter().map(|s| s.bite_m).fold(0.0, f64::max);
    let mut out = vec![
        format!(
            "Everywhere at least {:.1} mm stay above the line; on the stairs up to {:.1} mm",
            setup.margin_m * 1e3,
            most_m * 1e3
        ),
        format!("No pass goes deeper than {:.1} mm into wood; the blade is only ever raised", deepest_bite_m * 1e3),
        "The minutes are an estimate from common practice".to_owned(),
    ];
    if let Blade::Along { radius_m } = setup.blade {
        out.push(format!("A blade of {:.0} mm radius leaves round ends: the stops allow for them", radius_m * 1e3));
    } else {
        out.push("One stop serves both halves: saw, turn the bar end for end, saw again".to_owned());
    }
    out
}

pub(super) fn cautions(length_m: f64, setup: &SawSetup) -> Vec<String> {
    let mut out = vec![tell!("saw-caution-1"), tell!("saw-caution-2"), tell!("saw-caution-3")];
    if let Blade::Along { .. } = setup.blade {
        out.push(tell!("saw-caution-4"));
    }
    if length_m < SHORT_M {
        out.push(tell!("saw-caution-5"));
    }
    out.push(tell!("saw-caution-6"));
    out
}
