//! Benchmark: time and heap of one cold solve against orders and element count, with the accuracy reached.
//!
//! `cargo run --release -p bar-physics --example cost`
//!
//! Each table changes one figure of the default. Time is the best of five solves, mean over the bars of a kind
//! (straight grain, turned grain); heap is the highest of any bar, counted by a counting allocator from before the
//! solve to its end, the answer included; "against solids" is the worst of nine bars against the converged solids of
//! `reference/solid_bars.json`, whose own torsion is good to 5 cents only; "against own finest" is the worst of
//! bending 1–3 and torsion 1–2 against orders 4/7/5 on 24 elements.
use bar_physics::Modes;
use bar_physics::solid::{ModeKind, Resolution, Wanted, modes_at, modes_near};
use bar_physics::units::cents;
use peak_alloc::PeakAlloc;
use std::time::Instant;

#[path = "../tests/common/mod.rs"]
mod common;

#[global_allocator]
static HEAP: PeakAlloc = PeakAlloc;

const RUNS: usize = 5;
const FINEST: Resolution = Resolution { order_along: 4, order_across: 7, order_through: 5, elements: 24 };

fn main() {
    let bars = common::reference_bars();
    let finest: Vec<Modes> = bars.iter().map(|b| solved(b, FINEST)).collect();
    println!(
        "| along / across / through, elements | straight, ms | turned, ms | peak heap, MB | bending against solids, cents | torsion | node, mm | against own finest, cents |"
    );
    println!("|---|---|---|---|---|---|---|---|");
    let usual = Resolution::default();
    let along = [2, 3, 4].map(|order_along| Resolution { order_along, ..usual });
    let across = [3, 4, 5, 6].map(|order_across| Resolution { order_across, ..usual });
    let through = [2, 3, 4].map(|order_through| Resolution { order_through, ..usual });
    let elements = [8, 12, 16, 24, 32].map(|elements| Resolution { elements, ..usual });
    let all = [&along[..], &across, &through, &elements, &[FINEST]];
    for resolution in all.into_iter().flatten() {
        row(&bars, &finest, *resolution);
    }
    heap_per_bar(&bars);
}

fn solved(reference: &common::ReferenceBar, resolution: Resolution) -> Modes {
    modes_at(&reference.bar, Wanted::default(), resolution).expect("a reference bar solves")
}

/// Highest heap in megabytes above what was held before, while `work` runs.
fn peak_mb<T>(work: impl FnOnce() -> T) -> (T, f64) {
    HEAP.reset_peak_usage();
    let before = HEAP.current_usage();
    let out = work();
    (out, (HEAP.peak_usage() - before) as f64 / 1e6)
}

fn row(bars: &[common::ReferenceBar], finest: &[Modes], resolution: Resolution) {
    let mut times = [Vec::new(), Vec::new()];
    let (mut heap_mb, mut bending, mut torsion, mut node_mm, mut own) = (0.0_f64, 0.0_f64, 0.0_f64, 0.0_f64, 0.0_f64);
    for (reference, finest) in bars.iter().zip(finest) {
        let (modes, mb) = peak_mb(|| solved(reference, resolution));
        heap_mb = heap_mb.max(mb);
        let timed = |_| {
            let begin = Instant::now();
            std::hint::black_box(solved(reference, resolution));
            begin.elapsed().as_secs_f64() * 1e3
        };
        times[usize::from(reference.bar.grain.plan_rad != 0.0)]
            .push((0..RUNS).map(timed).fold(f64::INFINITY, f64::min));
        for off in common::departures(reference, &modes) {
            let worst = if off.kind == ModeKind::Bending { &mut bending } else { &mut torsion };
            *worst = worst.max(off.cents.abs());
            node_mm = node_mm.max(off.node_mm);
        }
        own = own.max(apart(&modes, finest));
    }
    let [straight, turned] = times.map(|t| t.iter().sum::<f64>() / t.len() as f64);
    let Resolution { order_along, order_across, order_through, elements } = resolution;
    println!(
        "| {order_along} / {order_across} / {order_through}, {elements} | {straight:.1} | {turned:.1} | {heap_mb:.1} | {bending:.2} | {torsion:.2} | {node_mm:.2} | {own:.2} |"
    );
}

/// Worst difference of bending 1–3 and torsion 1–2 in cents.
fn apart(a: &Modes, b: &Modes) -> f64 {
    let pairs = a.bending.iter().chain(&a.torsion).zip(b.bending.iter().chain(&b.torsion));
    pairs.map(|(p, q)| cents(p.hz, q.hz).abs()).fold(0.0, f64::max)
}

/// Heap of a cold solve, of what its answer keeps, and of a warm restart, at the default resolution.
fn heap_per_bar(bars: &[common::ReferenceBar]) {
    println!("\n| bar | cold solve, peak MB | kept by the answer, MB | warm restart, peak MB |\n|---|---|---|---|");
    for reference in bars {
        let before = HEAP.current_usage();
        let (modes, cold_mb) = peak_mb(|| solved(reference, Resolution::default()));
        let kept_mb = (HEAP.current_usage() - before) as f64 / 1e6;
        let mut after = reference.bar.clone();
        after.underside = after.underside.lowered(&[], |_| 2e-5).expect("a little less wood");
        let (_, warm_mb) = peak_mb(|| modes_near(&after, Wanted::default(), &modes).expect("it solves"));
        println!("| {} | {cold_mb:.1} | {kept_mb:.1} | {warm_mb:.1} |", reference.id);
    }
}
