//! The next step, as text and as JSON.
use super::units::{self, Units, cents_with_sigma, hz, plain};
use crate::convert::{rounded, side_name};
use bar_physics::Wood;
use making::{Advice, Band, BeliefSummary, Decision, Learnt, Side, Stage};
use serde_json::{Value, json};

/// The word for a decision in JSON.
pub fn decision_name(decision: Decision) -> &'static str {
    match decision {
        Decision::Cut => "cut",
        Decision::Finished => "finished",
        Decision::Wait => "wait",
        Decision::Rescue => "rescue",
    }
}

/// The word for a stage in JSON.
pub fn stage_name(stage: Stage) -> &'static str {
    match stage {
        Stage::Rough => "rough",
        Stage::Fine => "fine",
    }
}

/// The public JSON of `next`; see docs/command-line.md.
pub fn to_json(advice: &Advice) -> Value {
    let band = |b: &Band| {
        json!({
            "from_mm": rounded(b.from_m * 1e3, 2), "to_mm": rounded(b.to_m * 1e3, 2),
            "depth_mm": rounded(b.depth_m * 1e3, 3), "side": side_name(b.side),
        })
    };
    let expect = |o: &making::ModeOutlook| {
        json!({
            "mode": o.mode, "cents": rounded(o.expected_cents, 2), "sigma": rounded(o.expected_sigma_cents, 2),
            "target_hz": rounded(o.target_hz, 4), "aim_cents": rounded(o.aim_cents, 2),
            "now_cents": rounded(o.now_cents, 2), "now_sigma": rounded(o.now_sigma_cents, 2),
            "risk_flat": rounded(o.risk_flat, 5),
        })
    };
    let option = |o: &making::RescueOption| {
        json!({
            "code": o.code, "action": o.action, "effect": o.effect, "amount_mm": o.amount_m.map(|m| rounded(m * 1e3, 2)),
            "predicted_cents": o.predicted_cents.iter().map(|c| rounded(*c, 1)).collect::<Vec<_>>(),
        })
    };
    json!({
        "decision": decision_name(advice.decision),
        "instruction": advice.instruction,
        "stage": stage_name(advice.stage),
        "pause": advice.pause,
        "reasons": advice.reasons,
        "learnt": advice.learnt.iter().map(learnt).collect::<Vec<_>>(),
        "bands": advice.bands.iter().map(band).collect::<Vec<_>>(),
        "passes": advice.passes.map(|(low, high)| json!({ "low": low, "high": high })),
        "expect": advice.outlook.iter().map(expect).collect::<Vec<_>>(),
        "risk_flat": rounded(advice.risk_flat, 5),
        "stop_when": advice.stop_when.map(|s| json!({ "mode": s.mode, "cents": rounded(s.cents, 2), "hz": rounded(s.hz, 3) })),
        "belief": belief(&advice.belief),
        "options": advice.options.iter().map(option).collect::<Vec<_>>(),
        "cautions": advice.cautions,
    })
}

/// `entry` counts the log from 0.
fn learnt(learnt: &Learnt) -> Value {
    json!({ "entry": learnt.entry, "kind": learnt.kind, "lines": learnt.lines })
}

fn belief(belief: &BeliefSummary) -> Value {
    let mm = |values: &[f64]| -> Vec<f64> { values.iter().map(|v| rounded(v * 1e3, 4)).collect() };
    let estimate = |e: &making::Estimate| json!({ "name": e.name, "value": rounded(e.value, 4), "sigma": rounded(e.sigma, 4), "unit": e.unit });
    json!({
        "estimates": belief.estimates.iter().map(estimate).collect::<Vec<_>>(),
        "wood": wood(&belief.wood),
        "length_mm": rounded(belief.length_m * 1e3, 3),
        "underside": {
            "x_mm": mm(belief.underside.x_m()),
            "thickness_mm": mm(belief.underside.thickness_m()),
            "kinks_mm": mm(belief.underside.kinks_m()),
            "sigma_mm": mm(&belief.thickness_sigma_m),
        },
    })
}

/// Keys as in the bar file.
fn wood(wood: &Wood) -> Value {
    let gpa = |pa: f64| rounded(pa / 1e9, 4);
    json!({
        "name": wood.name, "density_kg_m3": rounded(wood.density_kg_m3, 2),
        "E_L_GPa": gpa(wood.e_l_pa), "E_W_GPa": gpa(wood.e_w_pa), "E_H_GPa": gpa(wood.e_h_pa),
        "G_LW_GPa": gpa(wood.g_lw_pa), "G_LH_GPa": gpa(wood.g_lh_pa), "G_WH_GPa": gpa(wood.g_wh_pa),
        "nu_LW": rounded(wood.nu_lw, 4), "nu_LH": rounded(wood.nu_lh, 4), "nu_WH": rounded(wood.nu_wh, 4),
    })
}

/// Lines on what the last entry taught that the text shows; the JSON has them all.
const LEARNT_LINES: usize = 2;

/// The instruction first, then what to expect, then why.
pub fn to_text(advice: &Advice, ratios: &[f64], units: Units) -> String {
    let mut text = format!("{}\n", advice.instruction);
    if !advice.bands.is_empty() {
        text.push_str(&format!("\n{}\n", bands(&advice.bands, units)));
    }
    if let Some(stop) = advice.stop_when {
        let (cents, at_hz) = (units::cents(stop.cents), hz(stop.hz));
        text.push_str(&format!("Stop when mode {} reads {cents} cents ({at_hz} Hz).\n", stop.mode));
    }
    if !advice.pause.is_empty() {
        let steps: Vec<String> = (1..).zip(&advice.pause).map(|(i, step)| format!("  {i}. {step}\n")).collect();
        text.push_str(&format!("\nBefore fine tuning, in this order:\n{}", steps.concat()));
    }
    text.push_str(&format!("\n{}\n", outlook(advice, ratios)));
    if let Some(last) = advice.learnt.last() {
        let lines: Vec<String> = last.lines.iter().take(LEARNT_LINES).map(|line| format!("  {line}\n")).collect();
        text.push_str(&format!("\nLearnt last:\n{}", lines.concat()));
    }
    if !advice.reasons.is_empty() {
        let reasons: Vec<String> = advice.reasons.iter().map(|reason| format!("  {reason}\n")).collect();
        text.push_str(&format!("\nWhy:\n{}", reasons.concat()));
    }
    for (i, option) in advice.options.iter().enumerate() {
        let cents: Vec<String> = option.predicted_cents.iter().map(|c| units::cents(*c)).collect();
        let after =
            if cents.is_empty() { String::new() } else { format!(" Then the modes read {}.", cents.join(", ")) };
        text.push_str(&format!("{}. {} {}{after}\n", i + 1, option.action, option.effect));
    }
    text.push_str(&format!("\nBelieved of this bar:\n{}\n", estimates(&advice.belief, units)));
    for caution in &advice.cautions {
        text.push_str(&format!("Caution: {caution}\n"));
    }
    text
}

fn bands(bands: &[Band], units: Units) -> String {
    let mut table = super::table();
    table.set_header(["order", "from centre", "to", "side", "depth"]);
    for (i, band) in bands.iter().enumerate() {
        let side = match band.side {
            Side::Both => "both sides",
            Side::Left => "left",
            Side::Right => "right",
        };
        let cells = [
            (i + 1).to_string(),
            units.place(band.from_m * 1e3),
            units.place(band.to_m * 1e3),
            side.to_owned(),
            units.depth(band.depth_m * 1e3),
        ];
        table.add_row(cells);
    }
    table.trim_fmt()
}

fn outlook(advice: &Advice, ratios: &[f64]) -> String {
    let cutting = advice.decision == Decision::Cut;
    let mut table = super::table();
    let mut head = vec!["mode", "target Hz", "now, cents", "aim"];
    if cutting {
        head.push("after the cut");
    }
    table.set_header(head);
    for o in &advice.outlook {
        let name =
            ratios.get(o.mode - 1).map_or(format!("{}", o.mode), |r| format!("{} ({})", o.mode, units::ratio(*r)));
        let mut cells =
            vec![name, hz(o.target_hz), cents_with_sigma(o.now_cents, o.now_sigma_cents), units::cents(o.aim_cents)];
        if cutting {
            cells.push(cents_with_sigma(o.expected_cents, o.expected_sigma_cents));
        }
        table.add_row(cells);
    }
    table.trim_fmt()
}

fn estimates(belief: &BeliefSummary, units: Units) -> String {
    let mut table = super::table();
    for e in &belief.estimates {
        let decimals = if e.value.abs() >= 100.0 { 0 } else { 2 };
        table.add_row([
            e.name.to_owned(),
            format!("{} ± {}", plain(e.value, decimals), plain(e.sigma, decimals)),
            e.unit.to_owned(),
        ]);
    }
    let (x_m, thickness_m) = belief.underside.thinnest();
    let sigma_m = belief.thickness_sigma_m.iter().copied().fold(0.0, f64::max);
    let where_mm = units.place(x_m * 1e3);
    table.add_row([
        "thinnest".to_owned(),
        format!("{} ± {}", units.depth(thickness_m * 1e3), plain(sigma_m * 1e3, 2)),
        format!("at {where_mm} from the left end"),
    ]);
    table.trim_fmt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use bar_physics::Underside;
    use making::{Estimate, ModeOutlook, RescueOption, StopReading};

    /// Invented advice that uses every part.
    fn advice() -> Advice {
        let outlook = |mode: usize, target_hz: f64| ModeOutlook {
            mode,
            target_hz,
            now_cents: 143.2 - 10.0 * mode as f64,
            now_sigma_cents: 0.5,
            aim_cents: 100.0,
            expected_cents: 112.04,
            expected_sigma_cents: 6.04,
            risk_flat: 0.004,
        };
        Advice {
            decision: Decision::Cut,
            instruction: "Sand the middle, 30 mm to each side of the centre, 2 passes.".to_owned(),
            stage: Stage::Rough,
            pause: vec!["Rest the bar.".to_owned()],
            reasons: vec!["Mode 1 is sharp.".to_owned()],
            learnt: vec![Learnt { entry: 2, kind: "heard", lines: vec!["This reading moved E_L up 2 %.".to_owned()] }],
            bands: vec![Band { from_m: 0.0, to_m: 0.0301, depth_m: 0.17e-3, side: Side::Left }],
            passes: Some((1, 3)),
            outlook: vec![outlook(1, 130.8128), outlook(2, 523.2511)],
            risk_flat: 0.0042,
            stop_when: Some(StopReading { mode: 1, cents: 115.0, hz: 139.79 }),
            belief: BeliefSummary {
                estimates: vec![Estimate { name: "E_L", value: 16.2, sigma: 0.22, unit: "GPa" }],
                wood: Wood::generic_hardwood(845.0, 16.2e9),
                length_m: 0.47,
                underside: Underside::new(vec![0.0, 0.235, 0.47], vec![0.023, 0.0075, 0.023], vec![0.235]).unwrap(),
                thickness_sigma_m: vec![0.1e-3, 0.3e-3, 0.1e-3],
            },
            options: vec![RescueOption {
                code: "trim_ends",
                action: "Saw 1 mm off each end.".to_owned(),
                effect: "The nodes move outward.".to_owned(),
                amount_m: Some(1.0e-3),
                predicted_cents: vec![12.0, -3.0],
            }],
            cautions: vec!["Dust: extraction on first.".to_owned()],
        }
    }

    #[test]
    fn the_text_puts_the_instruction_first_and_the_json_has_the_public_keys() {
        let text = to_text(&advice(), &[1.0, 4.0], Units::Both);
        insta::assert_snapshot!(text);
        let value = to_json(&advice());
        assert_eq!(value["bands"][0], json!({ "from_mm": 0.0, "to_mm": 30.1, "depth_mm": 0.17, "side": "left" }));
        assert_eq!(value["passes"], json!({ "low": 1, "high": 3 }));
        assert_eq!(value["stop_when"], json!({ "mode": 1, "cents": 115.0, "hz": 139.79 }));
        assert_eq!((&value["expect"][1]["cents"], &value["expect"][1]["sigma"]), (&json!(112.04), &json!(6.04)));
        assert_eq!(value["options"][0]["predicted_cents"], json!([12.0, -3.0]));
        assert_eq!(value["options"][0]["amount_mm"], json!(1.0));
        assert_eq!((&value["stage"], &value["pause"]), (&json!("rough"), &json!(["Rest the bar."])));
        assert_eq!(
            value["learnt"][0],
            json!({ "entry": 2, "kind": "heard", "lines": ["This reading moved E_L up 2 %."] })
        );
        assert_eq!(value["belief"]["underside"]["thickness_mm"], json!([23.0, 7.5, 23.0]));
        for (decision, name) in
            [(Decision::Finished, "finished"), (Decision::Wait, "wait"), (Decision::Rescue, "rescue")]
        {
            assert_eq!(decision_name(decision), name);
        }
    }
}
