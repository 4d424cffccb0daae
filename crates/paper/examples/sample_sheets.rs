//! Writes the drawings of an invented bar as SVG pictures into the folder given, or into the current one.
//!
//! `cargo run -p paper --example sample_sheets -- some/folder`
use paper::sheets::{
    BandMark, BarShape, Compass, CompassBar, HalfMark, Ladder, NodeMark, PlanView, Rung, Sheet, SideView, compass,
    ladder, plan_view, side_view,
};
use paper::svg;
use std::error::Error;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| ".".to_owned()));
    std::fs::create_dir_all(&folder)?;
    for (name, sheet) in [("narrow", Sheet::NARROW), ("wide", Sheet::WIDE)] {
        let shape = invented_bar();
        let side = side_view(&SideView {
            shape: shape.clone(),
            bands: vec![
                BandMark { from_mm: 85.0, to_mm: 110.0, depth_mm: 0.3, half: HalfMark::Both },
                BandMark { from_mm: 32.0, to_mm: 62.0, depth_mm: 0.2, half: HalfMark::Both },
            ],
            nodes_mm: vec![86.5, 383.5],
            least_mm: Some(6.0),
            height_factor: 3.0,
            sheet,
        })?;
        let nodes = vec![
            NodeMark { near_mm: 85.0, centre_mm: 86.5, far_mm: 88.0 },
            NodeMark { near_mm: 382.0, centre_mm: 383.5, far_mm: 385.0 },
        ];
        let plan = plan_view(&PlanView { shape, nodes, sheet })?;
        let modes = ladder(&Ladder { name: "C3".into(), rungs: invented_rungs(), sheet })?;
        let all = compass(&invented_compass(sheet))?;
        for (what, drawing) in [("side", side), ("plan", plan), ("ladder", modes), ("compass", all)] {
            std::fs::write(folder.join(format!("{what}-{name}.svg")), svg::render(&drawing, &svg::Options::picture()))?;
        }
    }
    Ok(())
}

/// An invented bar with a plain cosine arch.
fn invented_bar() -> BarShape {
    let length_mm = 470.0;
    let underside_mm = (0..=94)
        .map(|i| {
            let x = f64::from(i) * 5.0;
            let from_centre = ((x - length_mm / 2.0) / 144.0).abs().min(1.0);
            (x, 23.0 - 14.0 * 0.5 * (1.0 + (std::f64::consts::PI * from_centre).cos()))
        })
        .collect();
    BarShape { name: "C3 (invented)".into(), length_mm, width_mm: 62.0, underside_mm }
}

/// Invented readings.
fn invented_rungs() -> Vec<Rung> {
    [("mode 1 (×1)", 212.0, 150.0), ("mode 2 (×4)", 168.0, 104.0), ("mode 3 (×10)", 131.0, 102.0)]
        .into_iter()
        .map(|(name, now, then)| Rung {
            name: name.into(),
            now,
            now_sigma: 3.0,
            aim: 100.0,
            expected: Some((then, 9.0)),
        })
        .collect()
}

/// An invented instrument half done: the low bars tuned, the high ones sharp.
fn invented_compass(sheet: Sheet) -> Compass {
    let names = ["C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B"];
    let bars = (0..52_u8)
        .map(|index| {
            let (place, length_mm) = (f64::from(index), 470.0 - 5.4 * f64::from(index));
            let sharp = (place - 20.0).max(0.0) * 4.0 + 1.5 * (place * 1.7).sin();
            let heard = index % 11 != 9;
            CompassBar {
                name: format!("{}{}", names[usize::from(index % 12)], 3 + index / 12),
                cents: [
                    heard.then_some(sharp),
                    heard.then_some(0.8 * sharp - 3.0),
                    (index < 30).then_some(sharp - 6.0),
                ],
                sigma_cents: 0.8,
                stale: index % 13 == 5,
                length_mm,
                thickness_mm: (23.0 - 0.06 * place, 8.0 + 0.12 * place),
                nodes_mm: if index < 40 { vec![0.21 * length_mm, 0.79 * length_mm] } else { Vec::new() },
            }
        })
        .collect();
    Compass { name: "an invented marimba".into(), bars, tolerance_cents: [2.0, 5.0, 10.0], sheet }
}
