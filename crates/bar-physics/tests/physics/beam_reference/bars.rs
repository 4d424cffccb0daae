//! The bars the reference tables were computed for.
use bar_physics::beam::{BeamModes, BeamWood, Profile, Theory};

/// Reference bars of undercut_bars.csv: length, blank thickness, edges of the cut and its thickness.
pub(crate) struct Undercut {
    pub(crate) length_m: f64,
    pub(crate) blank_m: f64,
    pub(crate) cut: Cut,
}

pub(crate) enum Cut {
    /// h = hc + (h0 − hc)(|x − L/2|/a)^q.
    Power { centre_m: f64, half_length_m: f64, exponent: f64 },
    /// Flat of half length c, then a parabola.
    Flat { centre_m: f64, half_length_m: f64, flat_half_m: f64 },
    /// (half length, thickness), widest first.
    Steps(&'static [(f64, f64)]),
}

impl Undercut {
    pub(crate) fn named(case: &str) -> Self {
        let power = |length_m, blank_m, centre_m, half_length_m, exponent| Self {
            length_m,
            blank_m,
            cut: Cut::Power { centre_m, half_length_m, exponent },
        };
        match case {
            "U1" => power(0.46, 0.0235, 0.0095, 0.14, 2.0),
            "U2" => power(0.46, 0.0235, 0.008, 0.16, 3.0),
            "U3" | "U4" => power(0.34, 0.022, 0.010, 0.10, 2.0),
            "U5" => power(0.34, 0.022, 0.012, 0.09, 4.0),
            "U6" => Self {
                length_m: 0.40,
                blank_m: 0.023,
                cut: Cut::Flat { centre_m: 0.009, half_length_m: 0.13, flat_half_m: 0.04 },
            },
            "U7" => Self { length_m: 0.30, blank_m: 0.020, cut: Cut::Steps(&[(0.09, 0.015), (0.05, 0.010)]) },
            "U8" => Self { length_m: 0.30, blank_m: 0.020, cut: Cut::Steps(&[(0.06, 0.010)]) },
            other => panic!("unknown bar {other}"),
        }
    }

    pub(crate) fn thickness_m(&self, x_m: f64) -> f64 {
        let from_centre = (x_m - 0.5 * self.length_m).abs();
        match self.cut {
            Cut::Power { centre_m, half_length_m, exponent } => {
                centre_m + (self.blank_m - centre_m) * (from_centre / half_length_m).min(1.0).powf(exponent)
            }
            Cut::Flat { centre_m, half_length_m, flat_half_m } => {
                let t = ((from_centre - flat_half_m) / (half_length_m - flat_half_m)).clamp(0.0, 1.0);
                centre_m + (self.blank_m - centre_m) * t * t
            }
            Cut::Steps(steps) => {
                steps.iter().rev().find(|(half, _)| from_centre < *half).map_or(self.blank_m, |(_, t)| *t)
            }
        }
    }

    /// Ends, middle, and every place where the thickness is not smooth, with `more` distances from the centre.
    pub(crate) fn edges_m(&self, more: &[f64]) -> Vec<f64> {
        let mut halves = match self.cut {
            Cut::Power { half_length_m, .. } => vec![half_length_m],
            Cut::Flat { half_length_m, flat_half_m, .. } => vec![half_length_m, flat_half_m],
            Cut::Steps(steps) => steps.iter().map(|s| s.0).collect(),
        };
        halves.extend(more);
        let middle = 0.5 * self.length_m;
        let mut edges = vec![0.0, middle, self.length_m];
        edges.extend(halves.iter().flat_map(|h| [middle - h, middle + h]));
        edges.sort_by(f64::total_cmp);
        // Places equal but for rounding are one edge.
        edges.dedup_by(|b, a| *b - *a < 1e-9);
        edges
    }

    pub(crate) fn profile(&self) -> Profile<'_> {
        Profile::new(&self.edges_m(&[]), |x| self.thickness_m(x)).unwrap()
    }
}

pub(crate) fn theory(letter: &str) -> Theory {
    match letter {
        "T" => Theory::Timoshenko,
        "E" => Theory::EulerBernoulli,
        other => panic!("unknown model {other}"),
    }
}

pub(crate) fn undercut_wood(case: &str) -> BeamWood {
    match case {
        "U1" | "U2" | "U3" => BeamWood::new(20e9, 2.0e9, 950.0),
        "U4" | "U6" | "U8" => BeamWood::new(12e9, 1.2e9, 740.0),
        _ => BeamWood::new(12.6e9, 1.4e9, 700.0),
    }
}

/// Nodes in the left half, the middle included, as x/L.
pub(crate) fn left_nodes(modes: &BeamModes, mode: usize, length_m: f64) -> Vec<f64> {
    let nodes = &modes.modes[mode - 1].nodes_m;
    assert_eq!(nodes.len(), mode + 1, "mode {mode} has nodes {nodes:?}");
    nodes.iter().map(|x| x / length_m).filter(|x| *x < 0.500_001).collect()
}
