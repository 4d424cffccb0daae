//! Prints how long 200 invented blanks take to find their 61 places, and how even the row becomes.
use making::assign::{Place, Task, assign};
use making::virtual_bench::usual_size;
use making::wood::Blank;
use std::time::Instant;

fn main() -> Result<(), making::MakingError> {
    let mut rng = fastrand::Rng::with_seed(1);
    let hz = |i: u32| 440.0 * (f64::from(i as i32 - 33) / 12.0).exp2();
    let places: Vec<Place> = (0..61)
        .map(|i| Place {
            name: format!("note {i}"),
            size_m: usual_size(hz(i)),
            centre_m: Some(6e-3 + 1e-4 * f64::from(i)),
        })
        .collect();
    let blanks: Vec<Blank> = (0..200)
        .map(|i| {
            let [length_m, width_m, thickness_m] = usual_size(hz(rng.u32(0..61)));
            Blank {
                label: i.to_string(),
                size_m: [length_m * (1.01 + 0.05 * rng.f64()), width_m * (1.0 + 0.05 * rng.f64()), thickness_m + 1e-3],
                density_kg_m3: Some(900.0 + 150.0 * rng.f64()),
                e_over_rho: Some(18e6 + 6e6 * rng.f64()),
                quality: Some(200.0 + 200.0 * rng.f64()),
                tilt_m: None,
                moisture_percent: None,
                defects: Vec::new(),
                colour: None,
            }
        })
        .collect();
    let task =
        Task { places, blanks, plan_e_over_rho: 20e6, min_thickness_m: 5e-3, pins: Vec::new(), forbidden: Vec::new() };
    let start = Instant::now();
    let found = assign(&task)?;
    let seconds = start.elapsed().as_secs_f64();
    let steps: Vec<f64> = found
        .given
        .windows(2)
        .filter_map(|pair| {
            let e = |given: &making::assign::Given| task.blanks[given.blank].e_over_rho;
            Some((e(&pair[1])? / e(&pair[0])? - 1.0).abs())
        })
        .collect();
    println!(
        "200 blanks, 61 places: {seconds:.3} s; {} given, {} empty; stiffness over density steps by {:.1} % from bar to bar on average (at random some 10 %)",
        found.given.len(),
        found.empty.len(),
        100.0 * steps.iter().sum::<f64>() / steps.len() as f64
    );
    Ok(())
}
