//! Time and accuracy of rails under 61 invented bars: `cargo run --release -p making --example rails`.
//!
//! Prints the median time of a fit of both rows without and with the search for a bend, and how far the fitted
//! distance between the naturals' rails is from the true one, with 1 mm of noise on every number.
use making::frame::{FrameBar, FrameTask, NodeLines, Row, fit_row, lay_frame, row_of};
use std::time::Instant;

const RUNS: usize = 200;

fn main() -> Result<(), making::MakingError> {
    let mut random = fastrand::Rng::with_seed(7);
    let task = invented(&mut random);
    let plan = lay_frame(&task)?;
    let mut whole: Vec<f64> = Vec::new();
    for _ in 0..RUNS {
        let began = Instant::now();
        lay_frame(&task)?;
        whole.push(began.elapsed().as_secs_f64() * 1e3);
    }
    let rows: Vec<_> = plan
        .rows
        .iter()
        .map(|fit| making::frame::FitTask::new(fit.row, fit.bars.iter().map(|b| b.bar.clone()).collect()))
        .collect();
    let mut fits: Vec<f64> = Vec::new();
    for _ in 0..RUNS {
        let began = Instant::now();
        for row in &rows {
            fit_row(row)?;
        }
        fits.push(began.elapsed().as_secs_f64() * 1e3);
    }
    println!("{} bars: both rows fitted in {:.2} ms (median of {RUNS})", task.bars.len(), median(&mut fits));
    println!("whole frame with the search for a bend where one is wanted: {:.2} ms", median(&mut whole));
    for fit in plan.rows.iter().filter(|fit| fit.row == Row::Natural) {
        let [bass, treble] = fit.span_sigma_m.map(|s| s * 1e3);
        println!(
            "distance between the naturals' rails known to ± {bass:.2} mm (bass) and ± {treble:.2} mm (treble); worst miss {:.1} mm",
            fit.bars.iter().map(|b| b.worst_middle_m() * 1e3).fold(0.0, f64::max)
        );
    }
    Ok(())
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// C2 to C7, spans on a straight line, 1 mm of noise.
fn invented(random: &mut fastrand::Rng) -> FrameTask {
    let bars = (36..=96).map(|semitone| {
        let t = f64::from(semitone - 36) / 60.0;
        let width_m = 0.072 - 0.032 * t;
        let (span_m, share) = (0.384 - 0.29 * t, 0.169 + 0.05 * t);
        let length_m = span_m / (1.0 - 2.0 * share);
        let lean_m = if row_of(semitone) == Row::Natural { 0.003 } else { -0.003 } * (1.0 - t);
        let mut noise = || (0..12).map(|_| random.f64()).sum::<f64>() - 6.0;
        let mut line = |y_m: f64| [y_m - lean_m, y_m + lean_m].map(|y| y + 1e-3 * noise());
        let first_m = share * length_m;
        let nodes = Some(NodeLines { player_m: line(first_m), away_m: line(first_m + span_m) });
        FrameBar {
            name: format!("note {semitone}"),
            semitone,
            length_m,
            width_m,
            nodes,
            sigma_m: 1e-3,
            motion_per_m: None,
        }
    });
    FrameTask::new(bars.collect())
}
