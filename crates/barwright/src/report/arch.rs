//! The arch, as text and as JSON.
use super::units::{self, Units, hz, plain};
use crate::convert::rounded;
use crate::error::sentence;
use bar_physics::{Mode, ModeKind};
use making::ArchAdvice;
use making::saw::SawPlan;
use serde_json::{Value, json};

/// The public JSON of `arch`; see docs/arch.md.
pub fn to_json(advice: &ArchAdvice, saw: Option<&SawPlan>) -> Value {
    let arch = &advice.arch;
    let mm = |values: &[f64]| -> Vec<f64> { values.iter().map(|v| rounded(v * 1e3, 3)).collect() };
    let bending = advice.modes.bending.iter().map(|mode| bending(advice, mode)).collect::<Vec<_>>();
    let torsion =
        |mode: &Mode| json!({ "mode": mode.number, "hz": rounded(mode.hz, 3), "sigma_cents": sigma(advice, mode) });
    let nodes = advice.modes.bending.first().map_or(&[][..], |m| m.node_lines.as_slice());
    let node = |line: &bar_physics::NodeLine| {
        json!({
            "near": rounded(line.near_m * 1e3, 2), "centre": rounded(line.centre_m * 1e3, 2),
            "far": rounded(line.far_m * 1e3, 2), "tilt": rounded(line.tilt_m() * 1e3, 2),
        })
    };
    json!({
        "feasible": advice.feasible,
        "underside": {
            "x_mm": mm(arch.underside.x_m()), "thickness_mm": mm(arch.underside.thickness_m()),
            "kinks_mm": mm(arch.underside.kinks_m()),
        },
        "stations": advice.stations.iter().map(|(u, t)| json!({
            "from_centre_mm": rounded(u * 1e3, 2), "thickness_mm": rounded(t * 1e3, 2),
        })).collect::<Vec<_>>(),
        "centre_mm": rounded(arch.centre_m * 1e3, 3),
        "half_length_mm": rounded(arch.half_length_m * 1e3, 2),
        "at_node_mm": rounded(arch.at_node_m * 1e3, 2),
        "steepest_slope": rounded(arch.steepest_slope, 3),
        "tightest_radius_mm": rounded(arch.tightest_radius_m * 1e3, 1),
        "bending": bending,
        "torsion": advice.modes.torsion.iter().map(torsion).collect::<Vec<_>>(),
        "torsion_along_the_cut": advice.torsion.stages.iter().map(stage).collect::<Vec<_>>(),
        "nodes_mm": nodes.iter().map(node).collect::<Vec<_>>(),
        "saw_steps": saw.map_or_else(Vec::new, super::saw::steps_json),
        "reasons": sentences(&advice.reasons),
        "options": advice.options.iter().map(option).collect::<Vec<_>>(),
        "cautions": sentences(&advice.cautions),
    })
}

fn sentences(texts: &[String]) -> Vec<String> {
    texts.iter().map(|text| sentence(text)).collect()
}

fn bending(advice: &ArchAdvice, mode: &Mode) -> Value {
    let i = mode.number - 1;
    let mut value = json!({ "mode": mode.number, "hz": rounded(mode.hz, 3), "sigma_cents": sigma(advice, mode) });
    if let Some(ratio) = advice.task.ratios.get(i) {
        value["ratio"] = json!(ratio);
        value["target_hz"] = json!(rounded(advice.task.note_hz * ratio, 3));
        value["cents"] = json!(rounded(bar_physics::units::cents(mode.hz, advice.task.note_hz * ratio), 2));
        value["aim_cents"] = json!(advice.task.headroom_cents[i]);
    }
    value
}

/// Standard uncertainty of a predicted mode, in cents; null where it was not computed.
fn sigma(advice: &ArchAdvice, mode: &Mode) -> Value {
    let expected = advice.expected.iter().find(|e| e.kind == mode.kind && e.number == mode.number);
    expected.map_or(Value::Null, |e| json!(rounded(e.sigma_cents, 1)))
}

fn stage(stage: &making::torsion::Stage) -> Value {
    let kind = |kind: ModeKind| if kind == ModeKind::Torsion { "torsion" } else { "sideways" };
    json!({
        "stage": stage.name,
        "modes": stage.neighbours.iter().map(|n| json!({
            "kind": kind(n.kind), "mode": n.number, "hz": rounded(n.hz, 2), "nearest_bending": n.bending,
            "bending_hz": rounded(n.bending_hz, 2), "cents": rounded(n.cents, 1),
        })).collect::<Vec<_>>(),
    })
}

fn option(remedy: &making::arch::remedies::Remedy) -> Value {
    let amount = if matches!(remedy.code, "stiffer_wood" | "less_stiff_wood" | "fewer_modes") {
        rounded(remedy.amount, 4)
    } else {
        rounded(remedy.amount * 1e3, 3)
    };
    json!({
        "code": remedy.code, "action": sentence(&remedy.action), "amount": amount,
        "centre_mm": rounded(remedy.arch.centre_m * 1e3, 2),
        "cents": remedy.arch.cents.iter().map(|c| rounded(*c, 1)).collect::<Vec<_>>(),
    })
}

/// The instruction first, then the stations, then what it will sound like, then why.
pub fn to_text(advice: &ArchAdvice, units: Units) -> String {
    let mut text = format!("{}\n\n", instruction(advice, units));
    if advice.feasible {
        text.push_str(&format!("{}\n\n", stations(advice, units)));
    }
    text.push_str(&format!("{}\n", modes(advice)));
    if advice.feasible {
        text.push_str(&format!("\n{}\n", nodes(advice, units)));
    }
    if !advice.reasons.is_empty() {
        text.push_str(&format!("\nWhy:\n{}", indented(&advice.reasons)));
    }
    if !advice.options.is_empty() {
        text.push_str("\nWhat would make it possible:\n");
    }
    for (i, remedy) in advice.options.iter().enumerate() {
        let centre = units.depth(remedy.arch.centre_m * 1e3);
        text.push_str(&format!("{}. {} The centre then has {centre}.\n", i + 1, sentence(&remedy.action)));
    }
    if advice.feasible {
        advice.cautions.iter().for_each(|c| text.push_str(&format!("Caution: {}\n", sentence(c))));
    }
    text
}

fn indented(texts: &[String]) -> String {
    texts.iter().map(|text| format!("  {}\n", sentence(text))).collect()
}

fn instruction(advice: &ArchAdvice, units: Units) -> String {
    let arch = &advice.arch;
    if !advice.feasible {
        return "Do not saw this blank for this note: no arch brings its modes to their targets.".to_owned();
    }
    format!(
        "Draw the arch: {} of wood at the centre, shoulders {} from the centre on both sides.",
        units.depth(arch.centre_m * 1e3),
        units.place(arch.half_length_m * 1e3)
    )
}

fn stations(advice: &ArchAdvice, units: Units) -> String {
    let mut table = super::table();
    table.set_header(["from centre", "wood left, from the top face", "depth from the underside"]);
    let thickness_m = advice.task.blank.underside.thickness_at(0.0);
    for (u, t) in &advice.stations {
        table.add_row([units.place(u * 1e3), units.depth(t * 1e3), units.depth((thickness_m - t) * 1e3)]);
    }
    table.trim_fmt()
}

fn modes(advice: &ArchAdvice) -> String {
    let mut table = super::table();
    table.set_header(["mode", "Hz", "cents from target", "aim", "±"]);
    let doubt = |mode: &Mode| sigma(advice, mode).as_f64().map_or_else(|| "—".to_owned(), |s| plain(s, 0));
    for mode in &advice.modes.bending {
        let i = mode.number - 1;
        let row = match advice.task.ratios.get(i) {
            Some(ratio) => [
                format!("mode {} ({})", mode.number, units::ratio(*ratio)),
                hz(mode.hz),
                units::cents(bar_physics::units::cents(mode.hz, advice.task.note_hz * ratio)),
                units::cents(advice.task.headroom_cents[i]),
                doubt(mode),
            ],
            None => [format!("mode {}", mode.number), hz(mode.hz), "not tuned".to_owned(), "—".to_owned(), doubt(mode)],
        };
        table.add_row(row);
    }
    for mode in &advice.modes.torsion {
        table.add_row([format!("torsion {}", mode.number), hz(mode.hz), "—".to_owned(), "—".to_owned(), doubt(mode)]);
    }
    table.trim_fmt()
}

fn nodes(advice: &ArchAdvice, units: Units) -> String {
    let lines = advice.modes.bending.first().map_or(&[][..], |m| m.node_lines.as_slice());
    let places: Vec<String> = lines.iter().map(|line| units.place(line.centre_m * 1e3)).collect();
    format!(
        "Node lines of mode 1 at {} from the left end. Do not drill by them: find them with salt once the bar is rough-tuned.",
        places.join(" and ")
    )
}
