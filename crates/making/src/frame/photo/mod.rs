//! A salt test read from a photograph: marks on the picture become millimetres on the bar, with what is doubtful about them.
mod plane;
mod ruler;
#[cfg(test)]
mod tests;

pub use plane::{Pixel, Plane};

use super::{BenchNodes, Doubt, SaltTest};
use crate::error::{MakingError, in_range};

/// A mark set through a magnifier lies within this share of the picture's longer side (judgement, no source: 2 px of 4000).
const MARK_SHARE: f64 = 5e-4;
/// Reading the middle of a ridge of salt two to four millimetres wide (judgement, no source).
const SALT_M: f64 = 0.5e-3;
/// Edges are broken by 0.5 to 1.5 mm (from memory), so that a corner itself is not there to be marked.
const CORNER_M: f64 = 0.5e-3;
/// Bending of straight lines by a telephone's lens at the picture's corner, as a share of half its diagonal (judgement, no
/// source; makers of cameras correct more than that away).
const LENS_SHARE: f64 = 5e-3;
/// Beyond this the photograph is no better than a ruler laid on the bar.
const STEEP_M: f64 = 1e-3;
/// Least length of a bar in the picture.
const LEAST_PX: f64 = 400.0;

/// Size of the picture as it is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PictureSize {
    /// Pixels from left to right.
    pub width_px: u32,
    /// Pixels from top to bottom.
    pub height_px: u32,
}

/// Ticks of a ruler that lies along the bar, a little lower or higher than its top face or level with it.
#[derive(Debug, Clone, PartialEq)]
pub struct RulerTicks {
    /// The ticks, each with what the ruler says there, rising; two or more. Three tell perspective along the bar, which the
    /// corners of a slender bar hardly do.
    pub ticks: Vec<(Pixel, f64)>,
}

/// What was marked on the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoMarks {
    /// The bar's corners: left near, right near, right far, left far.
    pub corners: [Pixel; 4],
    /// Along the left node line, from the near edge to the far one; two marks or more.
    pub left: Vec<Pixel>,
    /// Along the right node line.
    pub right: Vec<Pixel>,
    /// Ticks of a ruler.
    pub ruler: Option<RulerTicks>,
}

/// What a photograph says.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoReading {
    /// The node lines.
    pub test: SaltTest,
    /// Largest standard uncertainty of the numbers at the edges: of the marks, the salt, the broken corners and the lens.
    pub sigma_m: f64,
    /// Length of the ruler by the marked corners over what it says, less one.
    pub ruler_off: Option<f64>,
    /// What is doubtful about the picture.
    pub doubts: Vec<Doubt>,
    /// The way between picture and bar.
    pub plane: Plane,
}

/// Reads the node lines of a bar of that size off its photograph.
///
/// # Errors
/// `mark_outside_picture`, `corners_crossed`, `corners_turned`, `picture_too_small`, `corners_in_line`, `line_too_short`,
/// `edges_mixed`, `ticks_mixed`; `out_of_range` for a tick's reading or a line off the bar; as [`SaltTest::checked`].
pub fn read_photo(
    name: &str,
    marks: &PhotoMarks,
    picture: PictureSize,
    [length_m, width_m]: [f64; 2],
) -> Result<PhotoReading, MakingError> {
    within_picture(marks, picture)?;
    corners_fit(&marks.corners)?;
    let size = [length_m, width_m];
    let fitted = ruler::fit(marks, picture, size)?;
    for (side, line) in [("left", &marks.left), ("right", &marks.right)] {
        line_fits(side, line, &fitted.plane, width_m)?;
    }
    let test = lines(marks, &fitted.plane, width_m).checked(length_m)?;
    let sigma_m = sigma_m(marks, picture, size)?;
    let doubts = fitted.doubt(name).into_iter().chain(not_sure(name, sigma_m)).collect();
    Ok(PhotoReading { test, sigma_m, ruler_off: fitted.ruler_off, doubts, plane: fitted.plane })
}

fn not_sure(name: &str, sigma_m: f64) -> Option<Doubt> {
    (sigma_m > STEEP_M).then(|| Doubt {
        name: name.to_owned(),
        code: "photo_not_sure",
        message: format!("the photograph tells the lines to {:.1} mm only (one standard deviation)", sigma_m * 1e3),
        hint: "mark three ticks of a ruler beside the bar: near its left end, its middle and its right end; photograph from \
               straight above, the bar as large as the picture allows; or measure by ruler"
            .to_owned(),
    })
}

/// The six numbers that marks on a plane tell.
fn lines(marks: &PhotoMarks, plane: &Plane, width_m: f64) -> SaltTest {
    let [left, right] = [&marks.left, &marks.right].map(|line| {
        let places: Vec<[f64; 2]> = line.iter().map(|mark| plane.on_bar_m(*mark)).collect();
        let at = |y_m: f64| x_at(&places, y_m);
        ([at(-0.5 * width_m), at(0.5 * width_m)], (places.len() > 2).then(|| at(0.0)))
    });
    SaltTest { nodes: BenchNodes { left_m: left.0, right_m: right.0 }, centres_m: [left.1, right.1] }
}

/// Where a traced line crosses y: straight from mark to mark, and on beyond the first and the last.
fn x_at(places: &[[f64; 2]], y_m: f64) -> f64 {
    let last = places.len() - 1;
    let after = places[..last].iter().skip(1).take_while(|place| place[1] < y_m).count();
    let ([x0, y0], [x1, y1]) = (places[after], places[after + 1]);
    x0 + (x1 - x0) * (y_m - y0) / (y1 - y0)
}

fn all_marks(marks: &PhotoMarks) -> impl Iterator<Item = (String, Pixel)> + '_ {
    const CORNERS: [&str; 4] = ["left near", "right near", "right far", "left far"];
    let corners = CORNERS.iter().zip(marks.corners).map(|(name, mark)| (format!("the {name} corner"), mark));
    let line = |side: &'static str, line: &'_ [Pixel]| {
        let named = |(index, mark): (usize, &Pixel)| (format!("mark {} of the {side} line", index + 1), *mark);
        line.iter().enumerate().map(named).collect::<Vec<_>>()
    };
    let ticks = marks.ruler.iter().flat_map(|ruler| &ruler.ticks);
    let ticks = ticks.map(|(mark, reading_m)| (format!("the tick at {} mm", reading_m * 1e3), *mark));
    corners.chain(line("left", &marks.left)).chain(line("right", &marks.right)).chain(ticks)
}

fn within_picture(marks: &PhotoMarks, picture: PictureSize) -> Result<(), MakingError> {
    let size = [picture.width_px, picture.height_px].map(f64::from);
    let outside = |mark: &Pixel| !mark.iter().zip(size).all(|(x, most)| (0.0..=most).contains(x));
    let Some((what, [x, y])) = all_marks(marks).find(|(_, mark)| outside(mark)) else { return Ok(()) };
    Err(MakingError::new(
        "mark_outside_picture",
        format!(
            "{what} at ({x:.0}, {y:.0}) lies outside the picture of {} × {} pixels",
            picture.width_px, picture.height_px
        ),
        "mark it in the picture as it is looked at; the whole bar must be in it",
    ))
}

/// Corners in their order around the bar, the long sides long.
fn corners_fit(corners: &[Pixel; 4]) -> Result<(), MakingError> {
    let side = |a: usize, b: usize| [corners[b][0] - corners[a][0], corners[b][1] - corners[a][1]];
    let turn = |a: usize, b: usize, c: usize| side(a, b)[0] * side(b, c)[1] - side(a, b)[1] * side(b, c)[0];
    let turns = [turn(0, 1, 2), turn(1, 2, 3), turn(2, 3, 0), turn(3, 0, 1)];
    // Down is positive in a picture: around the bar from left near to right near and right far it turns to the left there.
    if !turns.iter().all(|turn| *turn < 0.0) {
        let message = if turns.iter().all(|turn| *turn > 0.0) {
            "the corners go round the wrong way: near and far, or left and right, were exchanged, or the picture is mirrored"
        } else {
            "the corners are not in their order around the bar"
        };
        let hint = "mark left near, right near, right far, left far, as the bar lay before you";
        return Err(MakingError::new("corners_crossed", message, hint));
    }
    let long = |a: usize, b: usize| side(a, b)[0].hypot(side(a, b)[1]);
    let (along, across) = (f64::midpoint(long(0, 1), long(2, 3)), f64::midpoint(long(1, 2), long(3, 0)));
    if along < across {
        let message = format!("the bar would be {along:.0} pixels long and {across:.0} wide");
        let hint = "begin at the left near corner: the first and second corner lie along the near edge";
        return Err(MakingError::new("corners_turned", message, hint));
    }
    if along < LEAST_PX {
        let message = format!("the bar is {along:.0} pixels long in the picture; at least {LEAST_PX:.0} are needed");
        return Err(MakingError::new(
            "picture_too_small",
            message,
            "send the picture as the camera took it, not a small copy",
        ));
    }
    Ok(())
}

/// A line is marked from near to far, over at least half of the width.
fn line_fits(side: &str, line: &[Pixel], plane: &Plane, width_m: f64) -> Result<(), MakingError> {
    let across: Vec<f64> = line.iter().map(|mark| plane.on_bar_m(*mark)[1]).collect();
    let (Some(first), Some(last)) = (across.first(), across.last()) else {
        let message = format!("the {side} line is not marked");
        return Err(MakingError::new("line_too_short", message, "mark it at the near and at the far edge"));
    };
    if across.windows(2).any(|pair| pair[1] <= pair[0]) {
        let message = format!("the marks of the {side} line do not go from the near edge to the far one");
        return Err(MakingError::new("edges_mixed", message, "mark a line at its near edge first"));
    }
    let covered = (last - first) / width_m;
    if covered < 0.5 {
        let message = format!("the {side} line is marked over {:.0} % of the width; 50 % are needed", covered * 100.0);
        return Err(MakingError::new("line_too_short", message, "mark it at the near and at the far edge"));
    }
    let hint = "mark the line on the bar, at its edges";
    for (y_m, what) in [(*first, "first"), (*last, "last")] {
        let most_mm = 0.6 * width_m * 1e3;
        let what = format!("the {what} mark of the {side} line, from the middle of the width,");
        in_range(&what, y_m * 1e3, -most_mm, most_mm, "mm", hint)?;
    }
    Ok(())
}

/// Largest standard uncertainty of a number: every mark off by itself (differences of a pixel), and the lens.
fn sigma_m(marks: &PhotoMarks, picture: PictureSize, size: [f64; 2]) -> Result<f64, MakingError> {
    let px_per_m = px_per_m(marks, size);
    let numbers = |marks: &PhotoMarks| -> Result<[f64; 4], MakingError> {
        let plane = ruler::fit(marks, picture, size)?.plane;
        let BenchNodes { left_m: [a, b], right_m: [c, d] } = lines(marks, &plane, size[1]).nodes;
        Ok([a, b, c, d])
    };
    let line_px = mark_px(picture).hypot(SALT_M * px_per_m);
    let corner_px = corner_px(marks, picture, size);
    let sigmas_px = std::iter::repeat_n(corner_px, 4)
        .chain(std::iter::repeat_n(line_px, marks.left.len() + marks.right.len()))
        .chain(std::iter::repeat_n(mark_px(picture), marks.ruler.as_ref().map_or(0, |ruler| ruler.ticks.len())));
    let mut variance = [0.0; 4];
    for (mark, sigma_px) in sigmas_px.enumerate() {
        for axis in 0..2 {
            let moved = |by: f64| {
                let mut marks = marks.clone();
                let ticks = marks.ruler.iter_mut().flat_map(|ruler| ruler.ticks.iter_mut().map(|(tick, _)| tick));
                let lines = marks.left.iter_mut().chain(marks.right.iter_mut());
                if let Some(pixel) = marks.corners.iter_mut().chain(lines).chain(ticks).nth(mark) {
                    pixel[axis] += by;
                }
                numbers(&marks)
            };
            for (sum, (up, down)) in variance.iter_mut().zip(moved(0.5)?.into_iter().zip(moved(-0.5)?)) {
                *sum += ((up - down) * sigma_px).powi(2);
            }
        }
    }
    let lens_m = lens_px(marks, picture) / px_per_m;
    Ok(variance.iter().fold(0.0_f64, |most, sum| most.max(sum.sqrt())).hypot(lens_m))
}

/// Scale of the picture along the near edge.
fn px_per_m(marks: &PhotoMarks, [length_m, _]: [f64; 2]) -> f64 {
    let [a, b, ..] = marks.corners;
    (b[0] - a[0]).hypot(b[1] - a[1]) / length_m
}

fn corner_px(marks: &PhotoMarks, picture: PictureSize, size: [f64; 2]) -> f64 {
    mark_px(picture).hypot(CORNER_M * px_per_m(marks, size))
}

fn mark_px(picture: PictureSize) -> f64 {
    MARK_SHARE * f64::from(picture.width_px.max(picture.height_px))
}

/// What a lens bends between the corners, which are right by definition, and the lines (third-order radial distortion).
fn lens_px(marks: &PhotoMarks, picture: PictureSize) -> f64 {
    let centre = [picture.width_px, picture.height_px].map(|px| 0.5 * f64::from(px));
    let half_px = centre[0].hypot(centre[1]);
    let radius = |mark: &Pixel| (mark[0] - centre[0]).hypot(mark[1] - centre[1]) / half_px;
    let corner = 0.25 * marks.corners.iter().map(radius).sum::<f64>();
    let bend = |r: f64| LENS_SHARE * half_px * (r * (r * r - corner * corner)).abs();
    marks.left.iter().chain(&marks.right).map(radius).map(bend).fold(0.0, f64::max)
}
