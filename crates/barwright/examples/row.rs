//! Prints how long the arches of a 61-bar instrument take on all cores, and how smoothly they vary.
//!
//! `cargo run --release -p barwright --example row`. Sizes are common ones (from memory), the wood is invented and
//! scatters by 5 % in stiffness from bar to bar.
use bar_physics::{Bar, Grain, Underside, Wood};
use barwright::cli::on_all_cores;
use making::arch::row::{Outcome, design_row, unevenness_m};
use making::arch::{Arch, ArchTask, Design, design};
use making::virtual_bench::usual_size;
use making::{Limits, Targets};
use std::time::Instant;

fn main() {
    let tasks: Vec<ArchTask> = (0..61).filter_map(task).collect();
    let start = Instant::now();
    let alone = on_all_cores(&tasks, &design);
    let alone_s = start.elapsed().as_secs_f64();
    let start = Instant::now();
    let row = design_row(&tasks, &on_all_cores);
    let row_s = start.elapsed().as_secs_f64();
    println!("{} bars, {} cores", tasks.len(), std::thread::available_parallelism().map_or(1, std::num::NonZero::get));
    for (name, outcomes, seconds) in
        [("each by itself", &alone, alone_s), ("as a row (designs every bar twice)", &row, row_s)]
    {
        let arches: Vec<&Arch> = outcomes.iter().filter_map(found).collect();
        let solves: usize = arches.iter().map(|a| a.solves).sum();
        let mut off: Vec<f64> = unevenness_m(&arches).iter().map(|m| m * 1e3).collect();
        off.sort_by(f64::total_cmp);
        println!(
            "{name}: {seconds:.2} s, {} found, last design {solves} solves; off the neighbours' mean: median {:.2} mm, worst {:.2} mm",
            arches.len(),
            off[off.len() / 2],
            off[off.len() - 1]
        );
    }
}

fn found(outcome: &Outcome) -> Option<&Arch> {
    match outcome {
        Ok(Design::Found(arch)) => Some(arch),
        _ => None,
    }
}

/// Bar `k` from C2, three modes to C4, two to G5, one above.
fn task(k: u32) -> Option<ArchTask> {
    let note_hz = 65.406_39 * (f64::from(k) / 12.0).exp2();
    let [length_m, width_m, thickness_m] = usual_size(note_hz);
    let ratios = match k {
        0..=24 => vec![1.0, 4.0, 10.0],
        25..=43 => vec![1.0, 4.0],
        _ => vec![1.0],
    };
    // Invented scatter: golden-section steps fill ±5 % evenly.
    let scatter = 0.95 + 0.1 * (f64::from(k) * 0.618_034).fract();
    let wood = Wood::generic_hardwood(950.0, 19.5e6 * 950.0 * scatter);
    let blank = Bar::new(width_m, Underside::flat(length_m, thickness_m).ok()?, wood, Grain::default());
    let min_thickness_m = if k < 12 { 0.005 } else { 0.006 };
    let targets = Targets { ratios, headroom_cents: 100.0 };
    Some(ArchTask::usual(&blank, note_hz, &targets, Limits { min_thickness_m }))
}
