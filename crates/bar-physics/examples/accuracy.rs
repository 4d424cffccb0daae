//! Benchmark: what does each resolution cost, and how close does it come to the converged solids?
//!
//! `cargo run --release -p bar-physics --example accuracy`
use bar_physics::solid::{ModeKind, Resolution, Wanted, modes, modes_at, modes_near};
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
    warm(&bars);
}

/// Time of a warm restart after 0.05 mm less wood at the centre, and how far it is from the cold answer.
fn warm(bars: &[common::ReferenceBar]) {
    let wanted = Wanted::default();
    println!("warm restart after 0.05 mm off 40 mm at the centre | ms cold | ms warm | worst difference in cents");
    for reference in bars {
        let before = modes(&reference.bar, wanted).expect("a reference bar solves");
        let mut after = reference.bar.clone();
        let centre_m = 0.5 * after.length_m();
        let off = |x: f64| 5e-5 * (-((x - centre_m) / 0.02).powi(2)).exp();
        after.underside = after.underside.lowered(&[], off).expect("a little less wood");
        let timed = |solve: &dyn Fn() -> bar_physics::Modes| {
            let mut times: Vec<f64> = Vec::new();
            let mut found = solve();
            for _ in 0..9 {
                let begin = Instant::now();
                found = solve();
                times.push(begin.elapsed().as_secs_f64() * 1e3);
            }
            times.sort_by(f64::total_cmp);
            (found, times[4])
        };
        let (cold, cold_ms) = timed(&|| modes(&after, wanted).expect("it solves"));
        let (near, warm_ms) = timed(&|| modes_near(&after, wanted, &before).expect("it solves"));
        let pairs = cold.bending.iter().chain(&cold.torsion).zip(near.bending.iter().chain(&near.torsion));
        let worst = pairs.map(|(a, b)| cents(a.hz, b.hz).abs()).fold(0.0, f64::max);
        println!("  {:14} | {cold_ms:5.1} | {warm_ms:5.1} | {worst:.1e}", reference.id);
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
        for off in common::departures(reference, &modes) {
            let (letter, worst) = match off.kind {
                ModeKind::Bending => ('b', &mut worst_bending),
                _ => ('t', &mut worst_torsion),
            };
            *worst = worst.max(off.cents.abs());
            worst_node = worst_node.max(off.node_mm);
            line += &format!("  {letter}{} {:+.2} ({:.2} mm)", off.number, off.cents, off.node_mm);
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
