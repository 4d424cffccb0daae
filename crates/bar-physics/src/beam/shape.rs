//! Bending shape of a uniform free-free bar, common to both theories.
use super::zeros;

/// Bending shape of one mode of a uniform free-free bar, as a function of x/L from the left end.
///
/// With ξ = x/L − ½ it is cos Bξ + C cosh Aξ (even) or sin Bξ + C sinh Aξ (odd), scaled to 1 at the left
/// end. A = B for Euler–Bernoulli.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UniformShape {
    mode: usize,
    even: bool,
    hyperbolic: f64,
    circular: f64,
    /// Share of the hyperbolic part, as its value at the ends.
    edge_share: f64,
    /// Value at the left end before scaling.
    end_value: f64,
}

impl UniformShape {
    /// Shape of bending mode `mode` with wave numbers A = `hyperbolic` and B = `circular` per length.
    ///
    /// `ratio` is (B² − b²s²)/(A² + b²s²), which makes the bending moment vanish at the ends.
    pub(super) fn new(mode: usize, hyperbolic: f64, circular: f64, ratio: f64) -> Self {
        // Modes 1, 3, 5 … are even about the middle.
        let even = mode % 2 == 1;
        let half = 0.5 * circular;
        let edge = if even { half.cos() } else { half.sin() };
        let end_value = (1.0 + ratio) * if even { edge } else { -edge };
        Self { mode, even, hyperbolic, circular, edge_share: ratio * edge, end_value }
    }

    /// Deflection at x/L, 1 at the left end.
    pub fn at(&self, x_over_length: f64) -> f64 {
        let xi = x_over_length - 0.5;
        let (a, b) = (self.hyperbolic, self.circular);
        let wave = if self.even { (b * xi).cos() } else { (b * xi).sin() };
        (wave + self.edge_share * self.relative_hyperbolic(a * xi, self.even)) / self.end_value
    }

    /// Slope d/d(x/L) of [`UniformShape::at`].
    pub fn slope_at(&self, x_over_length: f64) -> f64 {
        let xi = x_over_length - 0.5;
        let (a, b) = (self.hyperbolic, self.circular);
        let wave = if self.even { -(b * xi).sin() } else { (b * xi).cos() };
        (b * wave + a * self.edge_share * self.relative_hyperbolic(a * xi, !self.even)) / self.end_value
    }

    /// Second derivative by x/L of [`UniformShape::at`].
    pub fn curvature_at(&self, x_over_length: f64) -> f64 {
        let xi = x_over_length - 0.5;
        let (a, b) = (self.hyperbolic, self.circular);
        let wave = if self.even { (b * xi).cos() } else { (b * xi).sin() };
        (a * a * self.edge_share * self.relative_hyperbolic(a * xi, self.even) - b * b * wave) / self.end_value
    }

    /// Nodes x/L from the left end, `mode` + 1 of them.
    pub fn nodes(&self) -> Vec<f64> {
        self.mirrored(zeros(self.samples(), |x| self.at(x)), !self.even)
    }

    /// Antinodes x/L between the ends, `mode` of them.
    pub fn antinodes(&self) -> Vec<f64> {
        // The slope keeps its sign from the end to the first antinode, well inside.
        self.mirrored(zeros(self.samples(), |x| self.slope_at(x)), self.even)
    }

    /// Places in the left half where the shape is sampled, about 20 to a half wave.
    ///
    /// The middle is left out: symmetry puts a zero there exactly, rounding would put it anywhere near.
    fn samples(&self) -> impl Iterator<Item = f64> {
        let pieces = 10 * (self.mode + 2);
        (0..pieces).map(move |i| 0.5 * i as f64 / pieces as f64)
    }

    /// Zeros of the left half, the middle if it is one, and their mirror images.
    fn mirrored(&self, left: Vec<f64>, middle: bool) -> Vec<f64> {
        let right: Vec<f64> = left.iter().rev().map(|x| 1.0 - x).collect();
        left.into_iter().chain(middle.then_some(0.5)).chain(right).collect()
    }

    /// cosh or sinh of `argument`, over the value of the shape's own function (cosh if even) at the right end.
    ///
    /// Written with decaying exponentials, since cosh itself overflows for high modes.
    fn relative_hyperbolic(&self, argument: f64, cosh: bool) -> f64 {
        let half = 0.5 * self.hyperbolic;
        let sign = |is_cosh: bool| if is_cosh { 1.0 } else { -1.0 };
        let magnitude = argument.abs();
        let numerator = (magnitude - half).exp() + sign(cosh) * (-magnitude - half).exp();
        let denominator = 1.0 + sign(self.even) * (-2.0 * half).exp();
        numerator / denominator * if cosh || argument >= 0.0 { 1.0 } else { -1.0 }
    }
}
