//! The bar's top face cut out of its photograph and laid straight, so that the lines read from it can be seen on it.
use crate::error::Refused;
use image::{DynamicImage, Rgb, RgbImage};
use making::frame::{PhotoReading, Plane, SaltTest};
use std::io::Cursor;

/// Widest strip.
const MOST_PX: f64 = 2400.0;
/// Room around the bar, so that its edges are seen to be where they were marked.
const ROOM_M: f64 = 4e-3;
/// Ink of lines and scale on wood: dark blue, edged white, so that it stands out from light and dark woods alike.
const INK: Rgb<u8> = Rgb([0, 40, 130]);
const EDGE: Rgb<u8> = Rgb([255, 255, 255]);

/// The top face of that size, near edge below, with the lines as they were read and a scale in centimetres.
pub fn strip(pixels: &DynamicImage, reading: &PhotoReading, [length_m, width_m]: [f64; 2]) -> RgbImage {
    let corner = |x_m: f64| reading.plane.in_picture([x_m, -0.5 * width_m]);
    let along_px = (corner(length_m)[0] - corner(0.0)[0]).hypot(corner(length_m)[1] - corner(0.0)[1]);
    let px_per_m = along_px.clamp(400.0, MOST_PX) / length_m;
    let lay = Lay { px_per_m, length_m, width_m };
    let mut strip = laid(pixels, &reading.plane, lay);
    scale(&mut strip, lay);
    for side in 0..2 {
        line(&mut strip, &reading.test, side, lay);
    }
    strip
}

/// How the face lies in the strip.
#[derive(Debug, Clone, Copy)]
struct Lay {
    px_per_m: f64,
    length_m: f64,
    width_m: f64,
}

impl Lay {
    fn size(self) -> [u32; 2] {
        [self.length_m, self.width_m].map(|m| ((m + 2.0 * ROOM_M) * self.px_per_m).round() as u32)
    }

    /// Place on the bar of a pixel's middle.
    fn on_bar_m(self, x: u32, y: u32) -> [f64; 2] {
        let [x, y] = [x, y].map(|px| (f64::from(px) + 0.5) / self.px_per_m - ROOM_M);
        [x, 0.5 * self.width_m - y]
    }

    fn column(self, x_m: f64) -> f64 {
        (x_m + ROOM_M) * self.px_per_m - 0.5
    }
}

fn laid(pixels: &DynamicImage, plane: &Plane, lay: Lay) -> RgbImage {
    let pixels = pixels.to_rgb8();
    let [width, height] = lay.size();
    RgbImage::from_fn(width, height, |x, y| {
        // Marks count from the picture's corner, the library from the middle of its first pixel.
        let [u, v] = plane.in_picture(lay.on_bar_m(x, y)).map(|px| (px - 0.5) as f32);
        image::imageops::interpolate_bilinear(&pixels, u, v).unwrap_or(Rgb([128; 3]))
    })
}

/// A tick at every centimetre of the far edge, a longer one at every fifth.
fn scale(strip: &mut RgbImage, lay: Lay) {
    let centimetres = (lay.length_m * 100.0) as u32;
    for centimetre in 0..=centimetres {
        let long_m = if centimetre % 5 == 0 { 6e-3 } else { 3e-3 };
        let rows = ((ROOM_M + long_m) * lay.px_per_m) as u32;
        let column = lay.column(f64::from(centimetre) * 0.01);
        for y in (ROOM_M * lay.px_per_m) as u32..rows {
            dab(strip, column, y, 0.5);
        }
    }
}

/// The line at the left or the right node: straight from edge to edge, or by its middle where that was marked.
fn line(strip: &mut RgbImage, test: &SaltTest, side: usize, lay: Lay) {
    let [near, far] = [test.nodes.left_m, test.nodes.right_m][side];
    let centre = test.centres_m[side].unwrap_or(f64::midpoint(near, far));
    for y in 0..strip.height() {
        let across = lay.on_bar_m(0, y)[1] / lay.width_m;
        // Dashes, so that the salt under the line stays visible.
        if across.abs() <= 0.5 && (y / 8) % 2 == 0 {
            let x_m = if across < 0.0 {
                centre - 2.0 * across * (near - centre)
            } else {
                centre + 2.0 * across * (far - centre)
            };
            dab(strip, lay.column(x_m), y, 1.0);
        }
    }
}

/// Ink in a row around a column, with a pale edge at either side.
fn dab(strip: &mut RgbImage, column: f64, y: u32, half_px: f64) {
    for (reach, ink) in [(half_px + 1.0, EDGE), (half_px, INK)] {
        let columns = (column - reach).round().max(0.0) as u32..=(column + reach).round().max(0.0) as u32;
        for x in columns {
            if let Some(pixel) = strip.get_pixel_mut_checked(x, y) {
                *pixel = ink;
            }
        }
    }
}

/// The strip as a PNG.
///
/// # Errors
/// [`Refused`] `not_drawn` if there is no memory for it.
pub fn to_png(strip: &RgbImage) -> Result<Vec<u8>, Refused> {
    let mut png = Cursor::new(Vec::new());
    strip.write_to(&mut png, image::ImageFormat::Png).map_err(|error| {
        Refused::new("not_drawn", format!("the strip could not be drawn ({error})"), "close other programs, try again")
    })?;
    Ok(png.into_inner())
}
