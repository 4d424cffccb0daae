//! Modes of a bar: frequencies, node lines, sensitivity.
use super::units::{self, Units, hz, plain};
use crate::convert::{GivenBar, rounded, targets};
use bar_physics::{Mode, Modes};
use records::BarFile;
use serde_json::{Value, json};

/// Area in m² of the strip that the published sensitivity is about: 0.1 mm deep, 1 mm long.
const STRIP_M2: f64 = 0.1e-3 * 1e-3;

/// The public JSON of `modes`; see docs/command-line.md.
pub fn to_json(modes: &Modes, given: &GivenBar) -> Value {
    let strip =
        |mode: &Mode| -> Vec<f64> { mode.underside_cents_per_m2.iter().map(|c| rounded(c * STRIP_M2, 6)).collect() };
    json!({
        "bending": family(&modes.bending),
        "torsion": family(&modes.torsion),
        "sideways": family(&modes.sideways),
        "lengthwise": family(&modes.lengthwise),
        "mass_g": rounded(modes.mass_kg * 1e3, 3),
        "wood": given.wood_source,
        "sensitivity": {
            "x_mm": modes.grid_m.iter().map(|x| rounded(x * 1e3, 3)).collect::<Vec<_>>(),
            "cents_per_mm": modes.bending.iter().map(strip).collect::<Vec<_>>(),
        },
    })
}

fn family(modes: &[Mode]) -> Vec<Value> {
    let one = |mode: &Mode| {
        let nodes = mode.node_lines.iter().map(|line| {
            let mm = |x_m: f64| rounded(x_m * 1e3, 3);
            json!({
                "near": mm(line.near_m), "centre": mm(line.centre_m), "far": mm(line.far_m), "tilt": mm(line.tilt_m()),
            })
        });
        let mut value = json!({ "mode": mode.number, "hz": rounded(mode.hz, 4), "share": rounded(mode.share, 4) });
        if mode.kind == bar_physics::ModeKind::Bending {
            value["nodes_mm"] = nodes.collect();
        }
        value
    };
    modes.iter().map(one).collect()
}

/// Modes and nodes as text.
pub fn to_text(modes: &Modes, given: &GivenBar, file: &BarFile, units: Units) -> String {
    let tuned = targets(file);
    let mut table = super::table();
    table.set_header(["mode", "Hz", "cents from target"]);
    for mode in &modes.bending {
        let target = tuned.as_ref().and_then(|(note_hz, t)| t.ratios.get(mode.number - 1).map(|r| (note_hz * r, *r)));
        let cells = match target {
            Some((target_hz, ratio)) => [
                format!("bending {} ({})", mode.number, units::ratio(ratio)),
                hz(mode.hz),
                units::cents(bar_physics::units::cents(mode.hz, target_hz)),
            ],
            None => [format!("bending {}", mode.number), hz(mode.hz), "—".to_owned()],
        };
        table.add_row(cells);
    }
    for (name, family) in [("torsion", &modes.torsion), ("sideways", &modes.sideways)] {
        for mode in family {
            table.add_row([format!("{name} {}", mode.number), hz(mode.hz), "—".to_owned()]);
        }
    }
    format!(
        "{}\n{}\n{}\n\n{}",
        bar_line(given, file, units),
        sentence_of_wood(given, modes.mass_kg),
        table.trim_fmt(),
        nodes(modes, units)
    )
}

fn bar_line(given: &GivenBar, file: &BarFile, units: Units) -> String {
    let note = file.note().map_or(String::new(), |note| format!("{note}, "));
    let (x_m, thickness_m) = given.bar.underside.thinnest();
    format!(
        "{note}{} long, {} wide, {}.",
        units.place(given.bar.length_m() * 1e3),
        units.place(given.bar.width_m * 1e3),
        units.thinnest(x_m * 1e3, thickness_m * 1e3, given.bar.underside.thickness_m().iter().map(|t| t * 1e3)),
    )
}

fn sentence_of_wood(given: &GivenBar, mass_kg: f64) -> String {
    let wood = &given.bar.wood;
    format!(
        "Wood {}: {} kg/m³, E along the grain {} GPa. Mass {} g.\n",
        given.wood_source,
        plain(wood.density_kg_m3, 0),
        plain(wood.e_l_pa / 1e9, 2),
        plain(mass_kg * 1e3, 1)
    )
}

/// Node lines of every bending mode; the cord goes where bending 1 stands still.
fn nodes(modes: &Modes, units: Units) -> String {
    let mut text = "Node lines on the top face, from the left end (the cord goes on those of bending 1):\n".to_owned();
    let mut table = super::table();
    table.set_header(["mode", "near edge", "centre", "far edge", "tilt"]);
    for mode in &modes.bending {
        for line in &mode.node_lines {
            let place = |x_m: f64| units.place(x_m * 1e3);
            let name = format!("bending {}", mode.number);
            table.add_row([
                name,
                place(line.near_m),
                place(line.centre_m),
                place(line.far_m),
                lean(line.tilt_m() * 1e3, units),
            ]);
        }
    }
    text.push_str(&format!("{}\n", table.trim_fmt()));
    text
}

/// Tilt in words: less than the width of a pencil line is straight.
fn lean(tilt_mm: f64, units: Units) -> String {
    match tilt_mm {
        t if t > 0.25 => format!("{} \"/\"", units.place(t)),
        t if t < -0.25 => format!("{} \"\\\"", units.place(t)),
        _ => "straight across".to_owned(),
    }
}
