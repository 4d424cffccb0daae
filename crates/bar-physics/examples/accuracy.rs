//! Benchmark: what does each resolution cost, and how close does it come to the converged solids?
//!
//! `cargo run --release -p bar-physics --example accuracy`
use bar_physics::solid::{ModeKind, Resolution, Wanted, modes_at};
use bar_physics::units::cents;
use std::time::Instant;

#[path = "../tests/common/mod.rs"]
mod common;

fn main() {
    let bars = common::reference_bars();
    println!(
        "orders along/across/through, elements | ms per bar (median) | worst cents bending 1-3, torsion 1-2 | worst node mm"
    );
    for (along, across, through, elements) in
        [(3, 3, 3, 16), (3, 5, 3, 16), (3, 5, 4, 12), (3, 5, 4, 16), (3, 5, 4, 24), (4, 5, 4, 16), (4, 7, 5, 24)]
    {
        let resolution = Resolution { order_along: along, order_across: across, order_through: through, elements };
        report(&bars, resolution, std::env::args().any(|a| a == "--each"));
    }
}

fn report(bars: &[common::ReferenceBar], resolution: Resolution, each: bool) {
    let (mut worst_bending, mut worst_torsion, mut worst_node) = (0.0_f64, 0.0_f64, 0.0_f64);
    let mut times = Vec::new();
    for reference in bars {
        let begin = Instant::now();
        let modes = modes_at(&reference.bar, Wanted::default(), resolution).expect("a reference bar solves");
        let ms = begin.elapsed().as_secs_f64() * 1e3;
        times.push(ms);
        let mut line = format!("  {:14} {ms:6.1} ms", reference.id);
        for entry in &reference.modes {
            let number = entry["mode"].as_u64().unwrap_or(0) as usize;
            let (kind, list) = match entry["kind"].as_str() {
                Some("bending") => (ModeKind::Bending, &modes.bending),
                Some("torsion") if number <= 2 => (ModeKind::Torsion, &modes.torsion),
                _ => continue,
            };
            let Some(mode) = list.get(number - 1) else { continue };
            let error = cents(mode.hz, entry["hz"].as_f64().unwrap_or(f64::NAN));
            line += &format!("  {}{number} {error:+.2}", if kind == ModeKind::Bending { 'b' } else { 't' });
            if kind == ModeKind::Bending {
                worst_bending = worst_bending.max(error.abs());
                for (which, pick) in [("near", 0), ("centre", 1), ("far", 2)] {
                    // Nearest, not by rank: on a turned blank an edge may lose a crossing over the end.
                    for x in common::numbers(&entry["nodes_top_face_mm"][which]) {
                        let ours = |n: &bar_physics::NodeLine| [n.near_m, n.centre_m, n.far_m][pick] * 1e3;
                        let off_mm = mode.node_lines.iter().map(|n| (ours(n) - x).abs()).fold(f64::INFINITY, f64::min);
                        if off_mm > 0.2 && each {
                            line += &format!("  [{number} {which} {x:.2} off {off_mm:.2}]");
                        }
                        worst_node = worst_node.max(off_mm);
                    }
                }
            } else {
                worst_torsion = worst_torsion.max(error.abs());
            }
        }
        if each {
            println!("{line}");
        }
    }
    times.sort_by(f64::total_cmp);
    println!(
        "{}/{}/{} {:2} | {:6.1} | {worst_bending:5.2} {worst_torsion:6.2} | {worst_node:.3}",
        resolution.order_along,
        resolution.order_across,
        resolution.order_through,
        resolution.elements,
        times[times.len() / 2]
    );
}
