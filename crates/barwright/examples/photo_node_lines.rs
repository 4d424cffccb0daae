//! Prints how long a photograph of twelve megapixels takes to become node lines, and how far they are off.
//!
//! `cargo run --release -p barwright --example photo_node_lines`. The bar is invented and rendered through a pinhole, so that
//! its lines are known; the marks are found in the pixels.
#[path = "../tests/common/photograph.rs"]
mod photograph;

use barwright::photo::{Marks, PhotographedBar, Picture, strip, to_png};
use making::frame::BenchNodes;
use photograph::{LINES_M, SIZE_M, Shot, jpeg};
use std::error::Error;
use std::time::Instant;

fn main() -> Result<(), Box<dyn Error>> {
    let bar = PhotographedBar { name: "invented bar".to_owned(), length_m: SIZE_M[0], width_m: SIZE_M[1] };
    let shots = [
        ("hand held", Shot::HAND_HELD, true),
        ("blurred by 3 px", Shot { blur_px: 3.0, ..Shot::HAND_HELD }, true),
        ("slanting, camera turned", Shot::SLANTING, false),
    ];
    for (name, shot, upright) in shots {
        let seen = shot.render();
        let bytes = jpeg(&seen, upright);
        let marks = Marks::parse(&shot.marks(&seen).to_string())?;
        let size = bytes.len();
        let start = Instant::now();
        let picture = Picture::of_bytes(bytes)?;
        let reading = bar.read(&marks, picture.size)?;
        let read_s = start.elapsed().as_secs_f64();
        let png = to_png(&strip(&picture.pixels()?, &reading, [bar.length_m, bar.width_m]))?;
        let all_s = start.elapsed().as_secs_f64();
        let BenchNodes { left_m, right_m } = reading.test.nodes;
        let truth = LINES_M.map(|[near, _, far]| [near, far]).concat();
        let off = left_m.into_iter().chain(right_m).zip(truth).map(|(x, known)| (x - known).abs() * 1e3);
        println!(
            "{name} ({:.1} MB): lines in {:.0} ms, with the straight strip ({:.1} MB) {:.2} s; worst edge {:.2} mm off, stated ± {:.2} mm",
            size as f64 * 1e-6,
            read_s * 1e3,
            png.len() as f64 * 1e-6,
            all_s,
            off.fold(0.0, f64::max),
            reading.sigma_m * 1e3,
        );
        if let Some(path) = std::env::args().nth(1) {
            std::fs::write(format!("{path}-{}.png", name.replace(' ', "-")), png)?;
            seen.save(format!("{path}-{}-seen.jpg", name.replace(' ', "-")))?;
        }
    }
    Ok(())
}
