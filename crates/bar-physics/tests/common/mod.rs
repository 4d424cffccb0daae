//! Reads the reference bars of `reference/solid_bars.json` (provenance in that file and its README).
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
#![allow(dead_code, reason = "each test uses a part")]
use bar_physics::units::cents;
use bar_physics::{Bar, Crook, Grain, Mode, ModeKind, Modes, NodeLine, Underside, Wood};
use serde_json::Value;

/// One reference bar: its name, shape and the modes computed elsewhere.
pub struct ReferenceBar {
    pub id: String,
    pub bar: Bar,
    pub modes: Vec<Value>,
}

pub fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().map(|a| a.iter().filter_map(Value::as_f64).collect()).unwrap_or_default()
}

pub fn reference_bars() -> Vec<ReferenceBar> {
    reference("solid_bars.json")["bars"].as_array().unwrap().iter().map(reference_bar).collect()
}

fn reference_bar(entry: &Value) -> ReferenceBar {
    ReferenceBar {
        id: entry["id"].as_str().unwrap().to_owned(),
        bar: bar(&entry["bar"]),
        modes: entry["reference"]["modes"].as_array().unwrap().clone(),
    }
}

/// A bar as the reference files write it.
pub fn bar(file: &Value) -> Bar {
    let number = |v: &Value| v.as_f64().unwrap();
    let metres = |v: &Value| numbers(v).into_iter().map(|x| x * 1e-3).collect::<Vec<_>>();
    let length_m = number(&file["length_mm"]) * 1e-3;
    let underside = match file.get("underside") {
        Some(u) => Underside::new(metres(&u["x_mm"]), metres(&u["thickness_mm"]), metres(&u["kinks_mm"])).unwrap(),
        None => Underside::flat(length_m, number(&file["thickness_mm"]) * 1e-3).unwrap(),
    };
    let (w, gpa) = (&file["wood"], |key: &str| number(&file["wood"][key]) * 1e9);
    let wood = Wood {
        name: "invented".into(),
        density_kg_m3: number(&w["density_kg_m3"]),
        e_l_pa: gpa("E_L_GPa"),
        e_w_pa: gpa("E_W_GPa"),
        e_h_pa: gpa("E_H_GPa"),
        g_lw_pa: gpa("G_LW_GPa"),
        g_lh_pa: gpa("G_LH_GPa"),
        g_wh_pa: gpa("G_WH_GPa"),
        nu_lw: number(&w["nu_LW"]),
        nu_lh: number(&w["nu_LH"]),
        nu_wh: number(&w["nu_WH"]),
    };
    let grain = Grain::from_degrees(number(&file["grain"]["plan_deg"]), number(&file["grain"]["dip_deg"]));
    let mut bar = Bar::new(number(&file["width_mm"]) * 1e-3, underside, wood, grain);
    if let Some(lean) = file.get("far_minus_near_mm") {
        bar.crook = Crook { x_m: metres(&file["underside"]["x_mm"]), far_minus_near_m: metres(lean) };
    }
    bar
}

/// The parsed reference file of this name.
pub fn reference(name: &str) -> Value {
    let path = format!("{}/../../reference/{name}", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// How far one mode is from the same mode of the converged solid.
pub struct Departure {
    pub kind: ModeKind,
    pub number: usize,
    pub cents: f64,
    /// Farthest node (bending only). Nearest, not by rank: on a turned blank an edge may lose a crossing over the end.
    pub node_mm: f64,
}

/// Departures of bending 1–3 and torsion 1–2.
pub fn departures(reference: &ReferenceBar, modes: &Modes) -> Vec<Departure> {
    let one = |entry: &Value| {
        let number = entry["mode"].as_u64()? as usize;
        let (kind, list) = match entry["kind"].as_str()? {
            "bending" if number <= 3 => (ModeKind::Bending, &modes.bending),
            "torsion" if number <= 2 => (ModeKind::Torsion, &modes.torsion),
            _ => return None,
        };
        let mode = list.get(number - 1)?;
        let node_mm = if kind == ModeKind::Bending { farthest_node_mm(mode, &entry["nodes_top_face_mm"]) } else { 0.0 };
        Some(Departure { kind, number, cents: cents(mode.hz, entry["hz"].as_f64()?), node_mm })
    };
    reference.modes.iter().filter_map(one).collect()
}

fn farthest_node_mm(mode: &Mode, places: &Value) -> f64 {
    let mut worst: f64 = 0.0;
    for (edge, pick) in [("near", 0), ("centre", 1), ("far", 2)] {
        for x in numbers(&places[edge]) {
            let off = |n: &NodeLine| ([n.near_m, n.centre_m, n.far_m][pick] * 1e3 - x).abs();
            worst = worst.max(mode.node_lines.iter().map(off).fold(f64::INFINITY, f64::min));
        }
    }
    worst
}
