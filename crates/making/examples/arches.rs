//! Prints figures of the arch designer: time per bar, and which sizes of the compass C2–C7 can be tuned how.
//!
//! `cargo run --release -p making --example arches`. Sizes are common ones (from memory), also 4 % shorter and
//! longer, in a light, a middling and a stiff wood; all of it is invented.
use bar_physics::{Bar, Grain, Underside, Wood};
use making::arch::{ArchTask, Design, design};
use making::virtual_bench::usual_size;
use making::{Limits, Targets};
use std::time::Instant;

/// (E in GPa, density in kg/m³): a light, a middling and a stiff bar wood.
const WOODS: [(f64, f64); 3] = [(12.0, 750.0), (17.0, 900.0), (23.0, 1050.0)];
const STRETCH: [f64; 3] = [0.96, 1.0, 1.04];

fn main() {
    println!("compass C2–C7, 3 lengths × 3 woods a note, minimum 6 mm (5 mm below C3); found of 9");
    println!("{:>8} {:>9} {:>7} {:>6} {:>8} {:>10}", "octave", "1:4:10", "1:4", "1", "ms/bar", "solves");
    for octave in 0..5 {
        let mut found = [0_usize; 3];
        let mut tried = [0_usize; 3];
        let (mut seconds, mut solves, mut designs) = (0.0, 0, 0);
        for step in (0..12).step_by(2) {
            let note_hz = 65.406_39 * (f64::from(octave * 12 + step) / 12.0).exp2();
            for (i, ratios) in [vec![1.0, 4.0, 10.0], vec![1.0, 4.0], vec![1.0]].into_iter().enumerate() {
                for task in tasks(note_hz, &ratios) {
                    let start = Instant::now();
                    let outcome = design(&task);
                    seconds += start.elapsed().as_secs_f64();
                    designs += 1;
                    tried[i] += 1;
                    match outcome {
                        Ok(Design::Found(arch)) => {
                            found[i] += 1;
                            solves += arch.solves;
                        }
                        Ok(Design::OutOfReach(out)) => solves += out.nearest.solves,
                        Err(error) => println!("{note_hz:.1} Hz: {error}"),
                    }
                }
            }
        }
        let share = |i: usize| format!("{}/{}", found[i], tried[i]);
        println!(
            "{:>8} {:>9} {:>7} {:>6} {:>8.0} {:>10.1}",
            format!("C{}", octave + 2),
            share(0),
            share(1),
            share(2),
            1e3 * seconds / f64::from(designs),
            solves as f64 / f64::from(designs)
        );
    }
}

fn tasks(note_hz: f64, ratios: &[f64]) -> Vec<ArchTask> {
    let [length_m, width_m, thickness_m] = usual_size(note_hz);
    let min_thickness_m = if note_hz < 130.0 { 0.005 } else { 0.006 };
    let mut out = Vec::new();
    for (e_gpa, density) in WOODS {
        for stretch in STRETCH {
            let Ok(flat) = Underside::flat(stretch * length_m, thickness_m) else { continue };
            let wood = Wood::generic_hardwood(density, e_gpa * 1e9);
            let blank = Bar::new(width_m, flat, wood, Grain::default());
            let targets = Targets { ratios: ratios.to_vec(), headroom_cents: 0.0 };
            out.push(ArchTask::usual(&blank, note_hz, &targets, Limits { min_thickness_m }));
        }
    }
    out
}
