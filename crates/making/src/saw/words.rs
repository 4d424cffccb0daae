//! Reasons and cautions of the saw steps, in short sentences.
use super::{Blade, SHORT_M, SawSetup, SawStep, Sawn};
use bar_physics::Underside;

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
    let mut out = vec![
        "Follow the saw's manual and your local rules. Guard and splitter may not stay on for cuts that do not go through: use a sled with clamps, keep hands out of the line of cut".to_owned(),
        "Pull the plug before you set the height. Measure it from the table to the top of a tooth, and try it on scrap".to_owned(),
        "No gloves, loose cuffs or jewellery at the blade; stand out of line; never reach over it".to_owned(),
    ];
    if let Blade::Along { .. } = setup.blade {
        out.push("Dropping a bar onto a turning blade can throw it: clamp it in a carrier between two fixed stops, or saw across instead".to_owned());
    }
    if length_m < SHORT_M {
        out.push("This bar is under 250 mm: clamp it in a holder, or take another method (band saw, drum)".to_owned());
    }
    out.push("Check each stop twice: a wrong one is sawn into both halves".to_owned());
    out
}
