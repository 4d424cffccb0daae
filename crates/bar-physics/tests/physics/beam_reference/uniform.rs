//! Closed forms of uniform bars.
use crate::beam_reference::{check_absolute, check_relative, number, numbers, table};
use bar_physics::beam::{BeamError, BeamWood, UniformBar, euler_bernoulli_root, timoshenko_frequency_function};

#[test]
fn euler_bernoulli_roots_and_ratios() {
    let bar = UniformBar::new(0.4, 0.02, BeamWood::new(12e9, 1.2e9, 740.0)).unwrap();
    let unit_hz = 0.02 / 0.4f64.powi(2) * (12e9f64 / 740.0).sqrt();
    for row in table("eb_uniform_eigen.csv") {
        let mode: usize = row[0].parse().unwrap();
        // The table has more digits than a double; two roundings of a root, four of its square.
        check_relative("root", euler_bernoulli_root(mode).unwrap(), number(&row[1]), 2.0 * f64::EPSILON);
        let hz = bar.euler_bernoulli_hz(mode).unwrap();
        check_relative("ratio", hz / bar.euler_bernoulli_hz(1).unwrap(), number(&row[2]), 8.0 * f64::EPSILON);
        check_relative("constant K", hz / unit_hz, number(&row[4]), 8.0 * f64::EPSILON);
    }
}

#[test]
fn euler_bernoulli_nodes_and_antinodes() {
    let mut counted = [[0; 2]; 6];
    for row in table("eb_uniform_nodes.csv") {
        let mode: usize = row[0].parse().unwrap();
        let shape = UniformBar::euler_bernoulli_shape(mode).unwrap();
        let (index, want) = (row[2].parse::<usize>().unwrap(), number(&row[3]));
        // Shapes are of order 1 with slopes of order z: a root carries a few roundings.
        let got = match row[1].as_str() {
            "node" => shape.nodes()[index - 1],
            "antinode" => shape.antinodes()[index - 1],
            _ => shape.at(0.5),
        };
        check_absolute(&format!("mode {mode} {}", row[1]), got, want, 2e-15);
        match row[1].as_str() {
            "node" => counted[mode][0] += 1,
            "antinode" => counted[mode][1] += 1,
            _ => check_absolute("end", shape.at(0.0), 1.0, 2e-15),
        }
    }
    // The table is complete, so no node too many or too few was found.
    for (mode, [nodes, antinodes]) in counted.into_iter().enumerate().skip(1) {
        let shape = UniformBar::euler_bernoulli_shape(mode).unwrap();
        assert_eq!((shape.nodes().len(), shape.antinodes().len()), (nodes, antinodes));
    }
}

#[test]
fn high_modes_keep_their_node_count() {
    for mode in [20, 101, 400] {
        let shape = UniformBar::euler_bernoulli_shape(mode).unwrap();
        assert_eq!((shape.nodes().len(), shape.antinodes().len()), (mode + 1, mode));
        // Free ends: no bending moment, and no shear force, which is the slope of the moment.
        let moment = |x: f64| shape.curvature_at(x) / euler_bernoulli_root(mode).unwrap().powi(2);
        check_absolute("moment at the left end", moment(0.0), 0.0, 1e-13 * mode as f64);
        check_absolute("moment at the right end", moment(1.0), 0.0, 1e-13 * mode as f64);
    }
}

/// Uniform bars of the Timoshenko table: (row cells, bar).
pub(crate) fn timoshenko_rows() -> Vec<(Vec<String>, UniformBar)> {
    let rows = table("timoshenko_uniform.csv");
    assert_eq!(rows.len(), 35);
    rows.into_iter()
        .map(|row| {
            assert_eq!(row[6], "5/6");
            let wood = BeamWood::new(number(&row[1]), number(&row[2]), number(&row[3]));
            let bar = UniformBar::new(number(&row[4]), number(&row[5]), wood).unwrap();
            (row, bar)
        })
        .collect()
}

#[test]
fn timoshenko_frequencies_and_nodes() {
    for (row, bar) in timoshenko_rows() {
        let (name, mode) = (&row[0], row[7].parse::<usize>().unwrap());
        let got = bar.timoshenko(mode).unwrap();
        // 14 digits are printed; the table claims about 10, and all bars agree to 13.
        check_relative(name, got.hz, number(&row[8]), 2e-13);
        check_relative(name, bar.euler_bernoulli_hz(mode).unwrap(), number(&row[9]), 1e-13);
        check_relative(name, got.pulsation, number(&row[11]), 2e-13);
        let nodes = got.shape.nodes();
        assert_eq!(nodes.len(), mode + 1);
        for (node, want) in nodes.iter().zip(numbers(&row[13])) {
            // 13 digits printed.
            check_absolute(name, *node, want, 2e-13);
        }
    }
}

#[test]
fn timoshenko_modes_are_the_zeros_of_the_frequency_equation_and_none_is_skipped() {
    for (length_m, thickness_m, shear_ratio) in [
        (0.46, 0.0235, 10.0),
        (0.34, 0.022, 10.0),
        (0.16, 0.024, 9.0),
        (0.3, 0.02, 2.6),
        (0.1, 0.03, 16.0),
        (0.3, 0.02, 0.4),
    ] {
        let bar = UniformBar::new(length_m, thickness_m, BeamWood::new(12e9, 12e9 / shear_ratio, 740.0)).unwrap();
        let rotary = (thickness_m / length_m).powi(2) / 12.0;
        let shear = rotary * shear_ratio * 6.0 / 5.0;
        let cutoff = 1.0 / (rotary * shear).sqrt();
        // Sign changes of the published equation on a fine grid, independent of the search by phase.
        let top = cutoff.min(2000.0) * (1.0 - 1e-9);
        const PIECES: usize = 200_000;
        let value = |i: usize| timoshenko_frequency_function(top * i as f64 / PIECES as f64, rotary, shear);
        let scanned: Vec<f64> =
            (2..=PIECES).filter(|i| value(*i) * value(i - 1) < 0.0).map(|i| top * i as f64 / PIECES as f64).collect();
        assert!(scanned.len() >= 2, "{} zeros", scanned.len());
        for (index, upper) in scanned.iter().enumerate() {
            let mode = bar.timoshenko(index + 1).unwrap();
            assert!(
                mode.pulsation <= *upper && mode.pulsation >= upper - top / PIECES as f64 * 1.000_001,
                "mode {} at {} but the equation's zero is below {upper}",
                index + 1,
                mode.pulsation
            );
            assert_eq!(mode.shape.nodes().len(), index + 2);
        }
        if top < cutoff * 0.9 {
            continue;
        }
        let error = bar.timoshenko(scanned.len() + 1).unwrap_err();
        assert!(matches!(error, BeamError::BeyondCutoff { .. }), "{error}");
    }
}

#[test]
fn a_thin_timoshenko_bar_is_an_euler_bernoulli_bar() {
    let wood = BeamWood::new(12e9, 1.2e9, 740.0);
    let bar = UniformBar::new(10.0, 1e-3, wood).unwrap();
    for mode in 1..6 {
        // Shear and rotary inertia lower f by about z²(r² + s²)-fold a few: 1e-8 · 13/12 · z² here.
        let (got, want) = (bar.timoshenko(mode).unwrap().hz, bar.euler_bernoulli_hz(mode).unwrap());
        let size = 1e-8 / 12.0 * 13.0 * euler_bernoulli_root(mode).unwrap().powi(2);
        assert!(got < want);
        check_relative("thin", got, want, size);
    }
}
