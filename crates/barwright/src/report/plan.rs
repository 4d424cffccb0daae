//! The plan of an instrument as text, JSON and table.
use super::table;
use super::units::{Units, plain, signed};
use crate::convert::rounded;
use crate::error::Refused;
use making::schedule::{BOARD_FOOT_M3, InstrumentPlan, Made, PlannedBar, PlannedRow, Specification};
use serde_json::{Value, json};

/// Bars named where a list would be long.
const NAMED: usize = 5;
/// What is bought for one part of net wood (from memory: 1.8 to 2.5).
const BOUGHT: [f64; 2] = [1.8, 2.5];

fn mm(m: f64) -> f64 {
    rounded(m * 1e3, 1)
}

/// Middle of each node line from its own end.
fn nodes_m(bar: &PlannedBar, made: &Made) -> [f64; 2] {
    let middle = |[left, right]: [f64; 2]| f64::midpoint(left, right);
    [middle(made.nodes.player_m), bar.wanted.length_m - middle(made.nodes.away_m)]
}

/// The public JSON of `plan`; see docs/planning.md.
pub fn to_json(specification: &Specification, plan: &InstrumentPlan) -> Value {
    let bars = plan.bars.iter().zip(&plan.centres_x_m).map(|(bar, centre_x_m)| bar_json(bar, *centre_x_m));
    let rows = plan.rows.iter().map(|row| {
        json!({
            "row": row.row.name(), "bars": row.bars, "overall_mm": mm(row.overall_m),
            "beyond_tolerance": row.beyond_tolerance(plan).iter()
                .map(|(note, miss_m)| json!({ "note": note, "miss_mm": mm(*miss_m) })).collect::<Vec<_>>(),
        })
    });
    json!({
        "a4_hz": specification.a4_hz,
        "reference": { "temperature_c": specification.temperature_c, "humidity_percent": specification.humidity_percent },
        "possible": plan.is_possible(),
        "impossible": plan.impossible,
        "warnings": plan.warnings,
        "bars": bars.collect::<Vec<_>>(),
        "rows": rows.collect::<Vec<_>>(),
        "wood_net": { "m3": rounded(plan.wood_net_m3, 5), "board_feet": rounded(plan.wood_net_m3 / BOARD_FOOT_M3, 2) },
        "mass_kg": rounded(plan.mass_kg, 2),
    })
}

fn bar_json(bar: &PlannedBar, centre_x_m: f64) -> Value {
    let wanted = &bar.wanted;
    let made = bar.made.as_ref().ok().map(|made| {
        let [player_m, far_m] = nodes_m(bar, made);
        json!({
            "centre_mm": rounded(made.arch.centre_m * 1e3, 2),
            "thinnest_mm": rounded(made.arch.underside.thinnest().1 * 1e3, 2),
            "mass_g": rounded(made.mass_kg * 1e3, 1),
            "nodes_from_end_mm": { "player": mm(player_m), "far": mm(far_m) },
            "torsion": made.torsion.as_ref().map(|near| json!({
                "number": near.number, "bending": near.bending, "cents": rounded(near.cents, 0) })),
        })
    });
    json!({
        "note": wanted.name, "row": wanted.row.name(), "hz": rounded(wanted.hz, 3),
        "length_mm": mm(wanted.length_m), "width_mm": mm(wanted.width_m), "thickness_mm": mm(wanted.thickness_m),
        "ratios": wanted.ratios, "centre_x_mm": mm(centre_x_m), "made": made,
        "why_not": bar.made.as_ref().err().map(|error| format!("{error}")),
    })
}

/// The plan in words and a table.
pub fn to_text(specification: &Specification, plan: &InstrumentPlan, units: Units) -> String {
    let (first, last) = (plan.bars.first(), plan.bars.last());
    let name = |bar: Option<&PlannedBar>| bar.map_or_else(String::new, |bar| bar.wanted.name.clone());
    let mut text = format!(
        "{} to {}, {} bars, A4 {} Hz at {} °C and {} % humidity, {}.\n",
        name(first),
        name(last),
        plan.bars.len(),
        plain(specification.a4_hz, 2),
        plain(specification.temperature_c, 1),
        plain(specification.humidity_percent, 0),
        specification.wood.name,
    );
    if plan.is_possible() {
        text.push_str("Every bar can be made.\n");
    }
    for words in &plan.impossible {
        text.push_str(&format!("! {}\n", crate::error::sentence(words)));
    }
    text.push_str(&format!("\n{}\n", bars_table(plan, units)));
    for row in &plan.rows {
        text.push_str(&row_words(row, plan, units));
    }
    if let Err(error) = &plan.frame {
        text.push_str(&format!("No rails: {error}\n"));
    }
    text.push_str(&format!(
        "Planed blanks {} m³ ({} board feet); some {} to {} times as much is bought (from memory): check the trade rules for this species first. The bars weigh {} kg.\n",
        plain(plan.wood_net_m3, 4),
        plain(plan.wood_net_m3 / BOARD_FOOT_M3, 1),
        plain(BOUGHT[0], 1),
        plain(BOUGHT[1], 1),
        plain(plan.mass_kg, 1),
    ));
    for words in &plan.warnings {
        text.push_str(&format!("! {}\n", crate::error::sentence(words)));
    }
    text.push_str(
        "\nBy the full solid, straight-grained wood of the table's mean, no headroom: your blanks differ, and each gets its own arch.\n",
    );
    text
}

fn bars_table(plan: &InstrumentPlan, units: Units) -> comfy_table::Table {
    let mut table = table();
    table.set_header([
        "bar",
        "Hz",
        "length",
        "width",
        "thickness",
        "tuned",
        "centre",
        "node from end",
        "g",
        "nearest torsion",
    ]);
    for bar in &plan.bars {
        let wanted = &bar.wanted;
        let made = bar.made.as_ref().ok();
        let or_none = |words: Option<String>| words.unwrap_or_else(|| "–".to_owned());
        table.add_row([
            wanted.name.clone(),
            plain(wanted.hz, 2),
            units.place(wanted.length_m * 1e3),
            units.place(wanted.width_m * 1e3),
            units.place(wanted.thickness_m * 1e3),
            wanted.ratios.iter().map(|ratio| plain(*ratio, 2)).collect::<Vec<_>>().join(":"),
            made.map_or_else(|| "cannot be made".to_owned(), |made| units.depth(made.arch.centre_m * 1e3)),
            or_none(made.map(|made| units.place(nodes_m(bar, made)[0] * 1e3))),
            or_none(made.map(|made| plain(made.mass_kg * 1e3, 0))),
            or_none(
                made.and_then(|made| made.torsion.as_ref())
                    .map(|near| format!("{} at {} cents of mode {}", near.number, signed(near.cents, 0), near.bending)),
            ),
        ]);
    }
    table
}

fn row_words(row: &PlannedRow, plan: &InstrumentPlan, units: Units) -> String {
    let head = format!("{}: {} bars, {} long", row.row.name(), row.bars, units.place(row.overall_m * 1e3));
    let head = crate::error::sentence(&head);
    let head = head.trim_end_matches('.');
    if row.misses_m.is_empty() {
        return format!("{head}.\n");
    }
    let beyond = row.beyond_tolerance(plan);
    if beyond.is_empty() {
        return format!("{head}; straight rails lie under all nodes.\n");
    }
    let worst: Vec<String> =
        beyond.iter().take(NAMED).map(|(name, miss_m)| format!("{name} {} mm", plain(miss_m * 1e3, 1))).collect();
    format!(
        "{head}; {} nodes lie too far from straight rails, most {}: bend the rails at a post, or give lengths that fall straighter.\n",
        beyond.len(),
        worst.join(", "),
    )
}

/// The bars as a table, in millimetres; a bar that cannot be made leaves its cells empty.
///
/// # Errors
/// [`Refused`] if the table cannot be put together.
pub fn csv(plan: &InstrumentPlan) -> Result<Vec<u8>, Refused> {
    let failed = |error: &dyn std::fmt::Display| Refused::new("no_table", format!("no table: {error}"), "try again");
    let mut out = csv::Writer::from_writer(Vec::new());
    let head = [
        "note",
        "row",
        "hz",
        "length_mm",
        "width_mm",
        "thickness_mm",
        "ratios",
        "centre_mm",
        "player_node_mm",
        "far_node_mm",
        "mass_g",
    ];
    out.write_record(head).map_err(|error| failed(&error))?;
    for bar in &plan.bars {
        let (wanted, made) = (&bar.wanted, bar.made.as_ref().ok());
        let cell = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
        let nodes = made.map(|made| nodes_m(bar, made));
        let ratios: Vec<String> = wanted.ratios.iter().map(ToString::to_string).collect();
        out.write_record([
            wanted.name.clone(),
            wanted.row.name().to_owned(),
            rounded(wanted.hz, 3).to_string(),
            mm(wanted.length_m).to_string(),
            mm(wanted.width_m).to_string(),
            mm(wanted.thickness_m).to_string(),
            ratios.join(":"),
            cell(made.map(|made| rounded(made.arch.centre_m * 1e3, 2))),
            cell(nodes.map(|nodes| mm(nodes[0]))),
            cell(nodes.map(|nodes| mm(nodes[1]))),
            cell(made.map(|made| rounded(made.mass_kg * 1e3, 1))),
        ])
        .map_err(|error| failed(&error))?;
    }
    out.into_inner().map_err(|error| failed(&error))
}
