//! Writes the matrices of one bar for a general-purpose eigensolver and times our own on the same ones.
//!
//! `cargo run --release -p bar-physics --example matrices -- REFERENCE_BAR FOLDER`; run by
//! `reference/scripts/eigsh_ratio.py`, which reads what is written here. The matrices are Matrix Market
//! "coordinate real symmetric" files (Boisvert, Pozo & Remington 1996, NISTIR 5935): an open text format every
//! numerical library reads.
use bar_physics::solid::{Pencil, Resolution};
use std::io::Write;
use std::path::Path;
use std::time::Instant;

#[path = "../tests/common/mod.rs"]
mod common;

/// Lowest elastic modes asked of each solver.
const COUNT: usize = 6;
/// The best of this many runs is told: the machine has other work.
const RUNS: usize = 15;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, id, folder] = &arguments[..] else {
        return Err("usage: matrices REFERENCE_BAR FOLDER".into());
    };
    let bars = common::reference_bars();
    let reference = bars.iter().find(|b| b.id == *id).ok_or("no such bar in reference/solid_bars.json")?;
    let mut told = Vec::new();
    for (index, pencil) in Pencil::of(&reference.bar, Resolution::default())?.iter().enumerate() {
        let [stiffness, mass] = ["K", "M"].map(|name| Path::new(folder).join(format!("{id}_{name}{index}.mtx")));
        write(&stiffness, pencil.size(), &pencil.stiffness_lower())?;
        write(&mass, pencil.size(), &pencil.mass_lower())?;
        let mut best_ms = f64::INFINITY;
        let mut found = Vec::new();
        for _ in 0..RUNS {
            let begin = Instant::now();
            found = pencil.lowest_omega_squared(COUNT)?;
            best_ms = best_ms.min(begin.elapsed().as_secs_f64() * 1e3);
        }
        told.push(serde_json::json!({
            "stiffness": stiffness, "mass": mass, "shift": pencil.shift(), "rigid": pencil.rigid_motions(),
            "unknowns": pencil.size(), "best_ms": best_ms, "omega_squared": found,
        }));
    }
    println!("{}", serde_json::Value::from(told));
    Ok(())
}

fn write(path: &Path, size: usize, entries: &[(usize, usize, f64)]) -> std::io::Result<()> {
    let mut file = std::io::BufWriter::new(std::fs::File::create(path)?);
    writeln!(file, "%%MatrixMarket matrix coordinate real symmetric\n{size} {size} {}", entries.len())?;
    for (row, column, value) in entries {
        // Seventeen digits: the numbers read back are the ones solved here.
        writeln!(file, "{} {} {value:.16e}", row + 1, column + 1)?;
    }
    file.flush()
}
