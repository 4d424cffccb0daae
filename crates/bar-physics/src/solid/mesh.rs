//! Elements along the bar: edges on the kinks of the underside, thickness as a polynomial in each.
use crate::polynomial::{gauss, lagrange, lobatto_points};
use crate::{Bar, Underside};

/// Slope jumps below this are left to the thickness polynomial, which keeps area and first moment.
const KINK_SLOPE: f64 = 0.05;
/// Edges are not placed closer than this fraction of the length: tiny elements cost and gain nothing.
const CLOSEST_EDGES: f64 = 1.0 / 60.0;

/// One element along x.
#[derive(Debug, Clone)]
pub(super) struct Element {
    pub start_m: f64,
    pub length_m: f64,
    /// Thickness at the Gauss–Lobatto nodes.
    pub thickness_m: Vec<f64>,
    /// Half of far minus near thickness at the nodes; zero when level.
    pub lean_m: Vec<f64>,
}

/// Quadrature along one element: everything about the bar that depends on x.
#[derive(Debug, Clone, Copy)]
pub(super) struct Station {
    pub weight_m: f64,
    pub thickness_m: f64,
    pub slope: f64,
    pub lean_m: f64,
    pub lean_slope: f64,
    pub stiffness_factor: f64,
    pub density_kg_m3: f64,
}

/// The elements of a bar.
#[derive(Debug, Clone)]
pub(super) struct Mesh {
    pub order: usize,
    pub nodes: Vec<f64>,
    pub elements: Vec<Element>,
    pub length_m: f64,
    pub width_m: f64,
}

impl Mesh {
    pub fn new(bar: &Bar, order: usize, elements: usize) -> Self {
        let nodes = lobatto_points(order);
        let edges = edges(&bar.underside, elements);
        let elements = edges.windows(2).map(|e| Element::fitted(bar, &nodes, e[0], e[1])).collect();
        Self { order, nodes, elements, length_m: bar.length_m(), width_m: bar.width_m }
    }

    /// Number of nodes along x.
    pub fn node_count(&self) -> usize {
        self.elements.len() * self.order + 1
    }

    /// Place of node `node`.
    pub fn node_x_m(&self, node: usize) -> f64 {
        let (element, local) = self.locate_node(node);
        let e = &self.elements[element];
        e.start_m + 0.5 * (self.nodes[local] + 1.0) * e.length_m
    }

    /// Thickness at node `node`.
    pub fn node_thickness_m(&self, node: usize) -> f64 {
        let (element, local) = self.locate_node(node);
        self.elements[element].thickness_m[local]
    }

    /// Half of far minus near thickness at node `node`.
    pub fn node_lean_m(&self, node: usize) -> f64 {
        let (element, local) = self.locate_node(node);
        self.elements[element].lean_m[local]
    }

    fn locate_node(&self, node: usize) -> (usize, usize) {
        let element = (node / self.order).min(self.elements.len() - 1);
        (element, node - element * self.order)
    }

    /// Element and local coordinate of a place along the bar.
    pub fn locate(&self, x_m: f64) -> (usize, f64) {
        let element = self.elements.partition_point(|e| e.start_m <= x_m).saturating_sub(1);
        let e = &self.elements[element];
        (element, (2.0 * (x_m - e.start_m) / e.length_m - 1.0).clamp(-1.0, 1.0))
    }
}

impl Element {
    /// Thickness polynomial through the true ends that keeps area and first moment of the true shape.
    fn fitted(bar: &Bar, nodes: &[f64], start_m: f64, end_m: f64) -> Self {
        let length_m = end_m - start_m;
        let place = |s: f64| start_m + 0.5 * (s + 1.0) * length_m;
        let true_thickness = |s: f64| bar.underside.thickness_at(place(s));
        let lean_m = nodes.iter().map(|s| 0.5 * bar.crook.at(place(*s))).collect();
        let mut thickness_m: Vec<f64> = nodes.iter().map(|s| true_thickness(*s)).collect();
        let n = nodes.len();
        if n >= 4 {
            let (defect, gram) = moment_defect(nodes, &thickness_m, true_thickness);
            let determinant = gram[0][0] * gram[1][1] - gram[0][1] * gram[1][0];
            let a = (defect[0] * gram[1][1] - gram[0][1] * defect[1]) / determinant;
            let b = (gram[0][0] * defect[1] - gram[1][0] * defect[0]) / determinant;
            for i in 1..n - 1 {
                thickness_m[i] += a + b * nodes[i];
            }
        }
        // A fit may undershoot a step; it never may reach zero.
        let floor_m = 0.5 * thickness_m[0].min(thickness_m[n - 1]).min(true_thickness(0.0));
        for t in &mut thickness_m {
            *t = t.max(floor_m);
        }
        Self { start_m, length_m, thickness_m, lean_m }
    }

    /// Quadrature stations of this element at local points `points` with basis tables.
    pub fn stations(
        &self,
        bar: &Bar,
        points: &[f64],
        weights: &[f64],
        tables: &[(Vec<f64>, Vec<f64>)],
    ) -> Vec<Station> {
        let half_m = 0.5 * self.length_m;
        let along = |a: &[f64], nodal: &[f64]| -> f64 { a.iter().zip(nodal).map(|(a, t)| a * t).sum() };
        points
            .iter()
            .zip(weights)
            .zip(tables)
            .map(|((s, w), (values, slopes))| {
                let (stiffness_factor, density_factor) = bar.unevenness.at(self.start_m + (s + 1.0) * half_m);
                Station {
                    weight_m: w * half_m,
                    thickness_m: along(values, &self.thickness_m),
                    slope: along(slopes, &self.thickness_m) / half_m,
                    lean_m: along(values, &self.lean_m),
                    lean_slope: along(slopes, &self.lean_m) / half_m,
                    stiffness_factor,
                    density_kg_m3: bar.wood.density_kg_m3 * density_factor,
                }
            })
            .collect()
    }
}

/// What the nodal polynomial lacks in area and first moment, and the moments of the two bubble corrections.
fn moment_defect(nodes: &[f64], thickness_m: &[f64], truth: impl Fn(f64) -> f64) -> ([f64; 2], [[f64; 2]; 2]) {
    let (points, weights) = gauss(16);
    let mut defect = [0.0; 2];
    let mut gram = [[0.0; 2]; 2];
    let last = nodes.len() - 1;
    for (s, w) in points.iter().zip(&weights) {
        let (values, _) = lagrange(nodes, *s);
        let fit: f64 = values.iter().zip(thickness_m).map(|(v, t)| v * t).sum();
        let bubble: f64 = (1..last).map(|i| values[i]).sum();
        let tilted: f64 = (1..last).map(|i| values[i] * nodes[i]).sum();
        for (row, moment) in [1.0, *s].into_iter().enumerate() {
            defect[row] += w * moment * (truth(*s) - fit);
            gram[row][0] += w * moment * bubble;
            gram[row][1] += w * moment * tilted;
        }
    }
    (defect, gram)
}

/// Element edges: the ends, the named kinks and the sharpest slope jumps, then evenly divided.
fn edges(underside: &Underside, elements: usize) -> Vec<f64> {
    let length_m = underside.length_m();
    let closest_m = CLOSEST_EDGES * length_m;
    let mut fixed = vec![0.0, length_m];
    let mut place = |x: f64| {
        if fixed.iter().all(|e: &f64| (e - x).abs() > closest_m) {
            fixed.push(x);
        }
    };
    underside.kinks_m().iter().copied().for_each(&mut place);
    let (x, t) = (underside.x_m(), underside.thickness_m());
    let slope = |i: usize| (t[i + 1] - t[i]) / (x[i + 1] - x[i]);
    let mut jumps: Vec<(f64, f64)> = (1..x.len() - 1)
        .map(|i| ((slope(i) - slope(i - 1)).abs(), x[i]))
        .filter(|(jump, _)| *jump > KINK_SLOPE)
        .collect();
    jumps.sort_by(|a, b| b.0.total_cmp(&a.0));
    jumps.into_iter().for_each(|(_, x)| place(x));
    fixed.sort_by(f64::total_cmp);
    let target_m = length_m / elements as f64;
    let mut out = vec![0.0];
    for pair in fixed.windows(2) {
        let pieces = ((pair[1] - pair[0]) / target_m).round().max(1.0) as usize;
        out.extend((1..=pieces).map(|i| pair[0] + (pair[1] - pair[0]) * i as f64 / pieces as f64));
    }
    out
}
