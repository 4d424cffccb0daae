//! The plane of the bar's top face in a picture of it: a homography from the four corners.
use crate::error::MakingError;
use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

/// A place in a picture, in pixels to the right and down from its upper left corner.
pub type Pixel = [f64; 2];

/// The way between a picture and the plane of the bar's top face: x along the bar from its left end, y across it from the
/// middle of the width towards the far edge, in metres.
#[derive(Debug, Clone, PartialEq)]
pub struct Plane {
    to_bar: Matrix3<f64>,
    to_picture: Matrix3<f64>,
    /// Pixels are counted in these while solving, so that the equations are well scaled.
    unit_px: f64,
}

impl Plane {
    /// From the corners left near, right near, right far, left far of a face of that size (direct linear transform; Hartley
    /// and Zisserman, Multiple View Geometry, 2nd ed. 2004, ch. 4.1, with four points exact).
    ///
    /// # Errors
    /// `corners_in_line` if three of them lie in one line.
    pub fn of_corners(corners: &[Pixel; 4], length_m: f64, width_m: f64) -> Result<Self, MakingError> {
        let half_m = 0.5 * width_m;
        let face = [[0.0, -half_m], [length_m, -half_m], [length_m, half_m], [0.0, half_m]];
        let unit_px = corners.iter().flatten().fold(1.0_f64, |most, x| most.max(x.abs()));
        let mut equations = SMatrix::<f64, 8, 8>::zeros();
        let mut right = SVector::<f64, 8>::zeros();
        for (i, (corner, place)) in corners.iter().zip(face).enumerate() {
            let [u, v] = corner.map(|x| x / unit_px);
            for (row, x) in [(2 * i, place[0] / length_m), (2 * i + 1, place[1] / length_m)] {
                let at = if row % 2 == 0 { 0 } else { 3 };
                for (column, value) in [(at, u), (at + 1, v), (at + 2, 1.0), (6, -u * x), (7, -v * x)] {
                    equations[(row, column)] = value;
                }
                right[row] = x;
            }
        }
        let in_line = || {
            let message = "three of the marked corners lie in one line";
            MakingError::new("corners_in_line", message, "mark the four corners of the bar's top face")
        };
        let h = equations.lu().solve(&right).ok_or_else(in_line)?;
        let scaled = Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1.0);
        let to_bar = Matrix3::from_diagonal(&Vector3::new(length_m, length_m, 1.0)) * scaled;
        let to_picture = to_bar.try_inverse().ok_or_else(in_line)?;
        Ok(Self { to_bar, to_picture, unit_px })
    }

    /// Where on the bar a place in the picture lies.
    pub fn on_bar_m(&self, pixel: Pixel) -> [f64; 2] {
        through(&self.to_bar, pixel.map(|x| x / self.unit_px))
    }

    /// Where in the picture a place on the bar lies.
    pub fn in_picture(&self, place_m: [f64; 2]) -> Pixel {
        through(&self.to_picture, place_m).map(|x| x * self.unit_px)
    }
}

fn through(matrix: &Matrix3<f64>, [x, y]: [f64; 2]) -> [f64; 2] {
    let v = matrix * Vector3::new(x, y, 1.0);
    [v.x / v.z, v.y / v.z]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_from_straight_above_is_a_scale() {
        // Ten pixels a millimetre, the near edge below.
        let corners = [[100.0, 820.0], [4800.0, 820.0], [4800.0, 200.0], [100.0, 200.0]];
        let plane = Plane::of_corners(&corners, 0.47, 0.062).unwrap();
        let [x, y] = plane.on_bar_m([1150.0, 510.0]);
        // Rounding of eight equations in numbers near one.
        assert!((x - 0.105).abs() < 1e-12 && y.abs() < 1e-12, "{x} {y}");
        let back = plane.in_picture([0.105, 0.031]);
        assert!((back[0] - 1150.0).abs() < 1e-8 && (back[1] - 200.0).abs() < 1e-8, "{back:?}");
    }

    #[test]
    fn corners_in_a_line_are_refused() {
        let corners = [[0.0, 0.0], [100.0, 0.0], [200.0, 0.0], [0.0, 50.0]];
        assert_eq!(Plane::of_corners(&corners, 0.47, 0.062).unwrap_err().code, "corners_in_line");
    }
}
