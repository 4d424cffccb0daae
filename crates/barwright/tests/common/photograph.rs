//! A photograph of an invented salted bar, rendered by rays through a pinhole, and an eye that finds the marks in its pixels.
//!
//! The bar is 470 × 62 × 23 mm and lies on a bench with a ruler before it on the bench, so that the ruler lies lower than the
//! top face and seems shorter. Wood has grain, salt is grains around a bent line, some of them astray.
use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, GrayImage, ImageEncoder, Luma, RgbImage};
use serde_json::{Value, json};

/// Length, width, thickness.
pub const SIZE_M: [f64; 3] = [0.47, 0.062, 0.023];
/// The lines at the near edge, the middle and the far edge: both lean, the left one is bent.
pub const LINES_M: [[f64; 3]; 2] = [[0.1034, 0.1062, 0.1074], [0.3636, 0.3651, 0.3666]];
/// The ruler's zero lies this far from the bar's left end.
const ZERO_M: f64 = 0.012;
/// What its marked ticks say.
const TICKS_M: [f64; 3] = [0.02, 0.22, 0.43];
/// The ruler's far edge, where its ticks begin, and its width.
const RULER_M: [f64; 2] = [-0.040, 0.028];

/// Where the camera hangs and how it is turned: about the bar's length, its width, and the view; and how sharp it is.
#[derive(Debug, Clone, Copy)]
pub struct Shot {
    /// Pixels.
    pub size_px: [u32; 2],
    /// From the top face.
    pub away_m: f64,
    /// Turns, in radians.
    pub roll_pitch_yaw: [f64; 3],
    /// Standard deviation of the blur.
    pub blur_px: f32,
}

impl Shot {
    /// Twelve megapixels from above, held as well as a hand can.
    pub const HAND_HELD: Self =
        Self { size_px: [4000, 3000], away_m: 0.62, roll_pitch_yaw: [0.05, -0.03, 0.02], blur_px: 0.0 };

    /// From the maker's side, 20° from the vertical, a little from one end.
    pub const SLANTING: Self = Self { away_m: 0.66, roll_pitch_yaw: [0.35, -0.1, 0.06], ..Self::HAND_HELD };

    fn focal_px(&self) -> f64 {
        0.89 * f64::from(self.size_px[0])
    }

    /// Rows of the rotation from the bar's directions to the camera's.
    fn turn(&self) -> [[f64; 3]; 3] {
        let [(sr, cr), (sp, cp), (sy, cy)] = self.roll_pitch_yaw.map(f64::sin_cos);
        [
            [cy * cp, cy * sp * sr - sy * cr, cy * sp * cr + sy * sr],
            [sy * cp, sy * sp * sr + cy * cr, sy * sp * cr - cy * sr],
            [-sp, cp * sr, cp * cr],
        ]
    }

    /// The pixel of a place from the left end, from the middle of the width and over the top face.
    pub fn pixel(&self, [x_m, y_m, z_m]: [f64; 3]) -> [f64; 2] {
        let p = [x_m - 0.5 * SIZE_M[0], y_m, z_m];
        let [x, y, z] = self.turn().map(|row| row[0] * p[0] + row[1] * p[1] + row[2] * p[2]);
        let scale = self.focal_px() / (self.away_m - z);
        [0.5 * f64::from(self.size_px[0]) + scale * x, 0.5 * f64::from(self.size_px[1]) - scale * y]
    }

    /// What the camera sees.
    pub fn render(&self) -> RgbImage {
        let turn = self.turn();
        // The camera in the bar's directions: over the middle by its distance, along the turned third row.
        let eye = [0, 1, 2].map(|i| turn[2][i] * self.away_m);
        let [cx, cy] = self.size_px.map(|px| 0.5 * f64::from(px));
        let focal_px = self.focal_px();
        let picture = RgbImage::from_fn(self.size_px[0], self.size_px[1], |u, v| {
            let (a, b) = ((f64::from(u) + 0.5 - cx) / focal_px, -(f64::from(v) + 0.5 - cy) / focal_px);
            let ray = [0, 1, 2].map(|i| a * turn[0][i] + b * turn[1][i] - turn[2][i]);
            let at = |z_m: f64| {
                let t = (z_m - eye[2]) / ray[2];
                [eye[0] + t * ray[0] + 0.5 * SIZE_M[0], eye[1] + t * ray[1]]
            };
            top_face(at(0.0)).unwrap_or_else(|| bench(at(-SIZE_M[2])))
        });
        if self.blur_px > 0.0 { image::imageops::fast_blur(&picture, self.blur_px) } else { picture }
    }

    /// The marks that an eye finds in the pixels.
    pub fn marks(&self, picture: &RgbImage) -> Value {
        let eye = Eye { shot: self, grey: image::imageops::grayscale(picture) };
        let half_m = 0.5 * SIZE_M[1];
        let sides = [[[0.0, -half_m], [SIZE_M[0], -half_m]], [[SIZE_M[0], -half_m], [SIZE_M[0], half_m]]];
        let sides = [sides[0], sides[1], [[SIZE_M[0], half_m], [0.0, half_m]], [[0.0, half_m], [0.0, -half_m]]];
        let lines = sides.map(|side| eye.edge(side));
        let corner = |i: usize| crossing(lines[(i + 3) % 4], lines[i]);
        let salt = |[near, centre, far]: [f64; 3]| {
            let at = |x_m: f64, share: f64| eye.salt([x_m, share * half_m]);
            // As near the edges as grains can be told from the edge itself.
            json!([at(near + 0.04 * (centre - near), -0.96), at(centre, 0.0), at(far - 0.04 * (far - centre), 0.96)])
        };
        json!({
            "corners_px": [corner(0), corner(1), corner(2), corner(3)],
            "left_px": salt(LINES_M[0]), "right_px": salt(LINES_M[1]),
            "ruler": TICKS_M.map(|reads_m| json!({ "px": eye.tick(reads_m), "reads_mm": reads_m * 1e3 })),
        })
    }
}

/// A number from 0 to 1 that belongs to a place, the same in every picture.
fn grain(x: f64, y: f64) -> f64 {
    let mut bits = (x.floor() as i64 as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15)
        ^ (y.floor() as i64 as u64).wrapping_mul(0xC2B2_AE3D_27D4_EB4F);
    bits ^= bits >> 31;
    bits = bits.wrapping_mul(0xD6E8_FEB8_6659_FD93);
    (bits >> 40) as f64 / f64::from(1_u32 << 24)
}

fn bent(line: [f64; 3], y_m: f64) -> f64 {
    let share = y_m / (0.5 * SIZE_M[1]);
    if share < 0.0 { line[1] - share * (line[0] - line[1]) } else { line[1] + share * (line[2] - line[1]) }
}

fn top_face([x_m, y_m]: [f64; 2]) -> Option<image::Rgb<u8>> {
    if !(0.0..SIZE_M[0]).contains(&x_m) || y_m.abs() > 0.5 * SIZE_M[1] {
        return None;
    }
    let [x_mm, y_mm] = [x_m * 1e3, y_m * 1e3];
    let near_line = LINES_M.iter().map(|line| (x_m - bent(*line, y_m)).abs() * 1e3).fold(f64::MAX, f64::min);
    // Grains of a quarter millimetre, dense within a ridge of some 3 mm, here and there one astray.
    let dense = 0.9 * (-(near_line / 1.6).powi(2)).exp() + 0.004;
    if grain(x_mm * 4.0, y_mm * 4.0 + 0.5) < dense {
        return Some(image::Rgb([240, 240, 236]));
    }
    let stripe = 14.0 * (y_mm * 1.9 + 2.0 * (x_mm * 0.013).sin()).sin() + 10.0 * grain(x_mm * 0.5, y_mm * 6.0);
    Some(image::Rgb([125.0 + stripe, 75.0 + 0.7 * stripe, 48.0 + 0.5 * stripe].map(|c: f64| c as u8)))
}

fn bench([x_m, y_m]: [f64; 2]) -> image::Rgb<u8> {
    let (along_m, down_m) = (x_m - ZERO_M, RULER_M[0] - y_m);
    if (0.0..RULER_M[1]).contains(&down_m) && (-0.005..0.46).contains(&along_m) {
        let millimetre = (along_m * 1e3).round();
        let off_mm = (along_m * 1e3 - millimetre).abs();
        let long_m = if millimetre % 10.0 == 0.0 {
            9e-3
        } else if millimetre % 5.0 == 0.0 {
            6e-3
        } else {
            4e-3
        };
        let ink = off_mm < 0.16 && down_m < long_m && millimetre >= 0.0;
        return image::Rgb([if ink { 20 } else { 225 }; 3]);
    }
    let worn = (12.0 * grain(x_m * 900.0, y_m * 900.0)) as u8;
    image::Rgb([38 + worn, 42 + worn, 46 + worn])
}

struct Eye<'a> {
    shot: &'a Shot,
    grey: GrayImage,
}

impl Eye<'_> {
    fn luma(&self, [u, v]: [f64; 2]) -> f64 {
        let found: Option<Luma<u8>> =
            image::imageops::interpolate_bilinear(&self.grey, (u - 0.5) as f32, (v - 0.5) as f32);
        found.map_or(0.0, |luma| f64::from(luma.0[0]))
    }

    /// The straight edge between two corners of the top face: where dark turns to wood, at many places between them.
    fn edge(&self, [a, b]: [[f64; 2]; 2]) -> [[f64; 2]; 2] {
        let between = |share: f64, out_m: f64| {
            let along = [b[0] - a[0], b[1] - a[1]];
            let long_m = along[0].hypot(along[1]);
            // Outwards of a face gone round with the left hand inside is to the right.
            let out = [along[1] / long_m, -along[0] / long_m];
            self.shot.pixel([a[0] + share * along[0] + out_m * out[0], a[1] + share * along[1] + out_m * out[1], 0.0])
        };
        let places: Vec<[f64; 2]> = (0..41)
            .map(|i| {
                let share = 0.03 + 0.94 * f64::from(i) / 40.0;
                let steps: Vec<f64> = (0..=120).map(|k| -3e-3 + 5e-5 * f64::from(k)).collect();
                let light: Vec<f64> = steps.iter().map(|out_m| self.luma(between(share, *out_m))).collect();
                // The steepest fall from wood to bench, over half a millimetre.
                let fall = |k: usize| light[k - 5] - light[k + 5];
                let steepest = (5..light.len() - 5).max_by(|i, j| fall(*i).total_cmp(&fall(*j))).expect("many places");
                between(share, steps[steepest])
            })
            .collect();
        straight(&places)
    }

    /// The middle of the bright grains along the bar.
    fn salt(&self, [x_m, y_m]: [f64; 2]) -> [f64; 2] {
        let (mut sum, mut weight) = (0.0, 0.0);
        for row in -6..=6 {
            for step in -120..=120 {
                let off_m = 5e-5 * f64::from(step);
                let y_m = (y_m + 2e-4 * f64::from(row)).clamp(-0.49 * SIZE_M[1], 0.49 * SIZE_M[1]);
                let bright = (self.luma(self.shot.pixel([x_m + off_m, y_m, 0.0])) - 150.0).max(0.0);
                sum += bright * off_m;
                weight += bright;
            }
        }
        assert!(weight > 0.0, "no salt to be seen");
        self.shot.pixel([x_m + sum / weight, y_m, 0.0])
    }

    /// The middle of a tick's ink, a millimetre below the ruler's edge.
    fn tick(&self, reads_m: f64) -> [f64; 2] {
        let at = |off_m: f64| self.shot.pixel([ZERO_M + reads_m + off_m, RULER_M[0] - 7.5e-3, -SIZE_M[2]]);
        let (mut sum, mut weight) = (0.0, 0.0);
        for step in -50..=50 {
            let off_m = 2e-5 * f64::from(step);
            let dark = (215.0 - self.luma(at(off_m))).max(0.0);
            sum += dark * off_m;
            weight += dark;
        }
        assert!(weight > 0.0, "no tick to be seen");
        at(sum / weight)
    }
}

/// Least squares: a point of the line and its direction.
fn straight(places: &[[f64; 2]]) -> [[f64; 2]; 2] {
    let n = places.len() as f64;
    let mean = [0, 1].map(|i| places.iter().map(|place| place[i]).sum::<f64>() / n);
    let second = |i: usize, j: usize| places.iter().map(|p| (p[i] - mean[i]) * (p[j] - mean[j])).sum::<f64>();
    let angle = 0.5 * (2.0 * second(0, 1)).atan2(second(0, 0) - second(1, 1));
    [mean, [angle.cos(), angle.sin()]]
}

fn crossing([p, d]: [[f64; 2]; 2], [q, e]: [[f64; 2]; 2]) -> [f64; 2] {
    let t = ((q[0] - p[0]) * e[1] - (q[1] - p[1]) * e[0]) / (d[0] * e[1] - d[1] * e[0]);
    [p[0] + t * d[0], p[1] + t * d[1]]
}

/// As a telephone keeps it; `upright` false: taken with the camera turned, as its note says (Exif 2.32, tag 0x0112, value 6).
pub fn jpeg(picture: &RgbImage, upright: bool) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut bytes, 88);
    let turned;
    let kept = if upright {
        picture
    } else {
        encoder
            .set_exif_metadata(b"II\x2a\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0".to_vec())
            .expect("a note of a few bytes");
        turned = image::imageops::rotate270(picture);
        &turned
    };
    encoder.write_image(kept, kept.width(), kept.height(), ExtendedColorType::Rgb8).expect("written to memory");
    bytes
}
