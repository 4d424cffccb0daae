//! Whether a bar is lost, as text and as JSON.
use super::units::{self, Units, cents_with_sigma};
use crate::convert::rounded;
use crate::error::sentence;
use making::{HoleOutcome, Rescue, RescueAdvice};
use serde_json::{Value, json};

/// The public JSON of `rescue`; see docs/rescue.md.
pub fn to_json(advice: &RescueAdvice) -> Value {
    json!({
        "verdict": advice.verdict,
        "now": advice.now.iter().enumerate().map(|(i, (c, s))| json!({
            "mode": i + 1, "cents": rounded(*c, 2), "sigma": rounded(*s, 2),
        })).collect::<Vec<_>>(),
        "flat": advice.flat,
        "options": advice.options.iter().map(option).collect::<Vec<_>>(),
        "cautions": advice.cautions.iter().map(|c| sentence(c)).collect::<Vec<_>>(),
    })
}

fn option(rescue: &Rescue) -> Value {
    let cents = |values: &[f64]| values.iter().map(|c| rounded(*c, 1)).collect::<Vec<_>>();
    let mm = |m: f64| rounded(m * 1e3, 2);
    json!({
        "code": rescue.option.code, "action": sentence(&rescue.option.action), "effect": sentence(&rescue.option.effect),
        "works": rescue.works, "cost": rounded(rescue.cost, 2),
        "amount_mm": rescue.option.amount_m.map(mm), "semitones_lower": rescue.semitones,
        "predicted_cents": cents(&rescue.option.predicted_cents), "final_cents": cents(&rescue.final_cents),
        "thinnest_mm": rescue.thinnest_m.map(mm), "length_mm": rescue.length_m.map(mm),
        "nodes_mm": rescue.nodes_m.iter().map(|n| mm(*n)).collect::<Vec<_>>(),
        "holes": rescue.holes.iter().map(hole).collect::<Vec<_>>(),
    })
}

fn hole(hole: &HoleOutcome) -> Value {
    json!({
        "from_left_mm": rounded(hole.from_left_m * 1e3, 2),
        "off_now_mm": rounded(hole.off_now_m * 1e3, 2), "off_then_mm": rounded(hole.off_then_m * 1e3, 2),
        "motion_now": rounded(hole.motion_now, 4), "motion_then": rounded(hole.motion_then, 4),
    })
}

/// The verdict first, then where the modes are, then the ways out.
pub fn to_text(advice: &RescueAdvice, units: Units) -> String {
    let now: Vec<String> = advice
        .now
        .iter()
        .enumerate()
        .map(|(i, (c, s))| format!("mode {} {}", i + 1, cents_with_sigma(*c, *s)))
        .collect();
    let mut text = format!("{}\n\nNow: {} cents from target.\n", advice.verdict, now.join(", "));
    for (i, rescue) in advice.options.iter().enumerate() {
        text.push_str(&format!(
            "\n{}. {}\n   {}\n",
            i + 1,
            sentence(&rescue.option.action),
            sentence(&rescue.option.effect)
        ));
        text.push_str(&details(rescue, units));
    }
    if !advice.cautions.is_empty() {
        text.push('\n');
    }
    advice.cautions.iter().for_each(|c| text.push_str(&format!("Caution: {}\n", sentence(c))));
    text
}

fn details(rescue: &Rescue, units: Units) -> String {
    let mut parts = Vec::new();
    if !rescue.final_cents.is_empty() {
        let cents: Vec<String> = rescue.final_cents.iter().map(|c| units::cents(*c)).collect();
        parts.push(format!("ends at {} cents", cents.join(", ")));
    }
    if let Some(length_m) = rescue.length_m {
        parts.push(format!("{} long", units.place(length_m * 1e3)));
    }
    if !rescue.nodes_m.is_empty() {
        let nodes: Vec<String> = rescue.nodes_m.iter().map(|n| units.place(n * 1e3)).collect();
        parts.push(format!("node lines at {} from the left end", nodes.join(" and ")));
    }
    if parts.is_empty() { String::new() } else { format!("   {}\n", sentence(&parts.join("; "))) }
}
