//! Corners and ruler together: perspective along a slender bar is told by a ruler's ticks, hardly by the bar's own outline.
use super::plane::{Pixel, Plane};
use super::{Doubt, PhotoMarks, PictureSize, corner_px, mark_px};
use crate::error::{MakingError, in_range};
use nalgebra::{DMatrix, DVector};

/// A ruler on the bench lies lower than the top face by the bar's thickness, and seems shorter by that over the camera's
/// distance: 23 mm from 0.7 m are 3 %. All stretches alike, so that only their differences tell perspective.
const HEIGHT_SHARE: f64 = 0.03;
/// A thick bar (25 mm) from as near as a long one fits into a picture (0.5 m) is 5 %: a ruler further off than that lies beside
/// another bar, or its readings are wrong.
const HEIGHT_MOST: f64 = 0.055;
/// The fit is a few iterated steps of a problem that is nearly linear; the last moves far less than a pixel.
const STEPS: usize = 4;

/// The plane of the bar by all marks.
#[derive(Debug, Clone)]
pub(super) struct Fitted {
    pub(super) plane: Plane,
    /// Length of the ruler by the corners alone over what it says, less one.
    pub(super) ruler_off: Option<f64>,
    /// Squared distance of the ticks from what the corners say, in standard deviations, and the number of stretches.
    misfit: Option<(f64, usize)>,
}

/// Fits the plane to the corners, and to the ticks if there are any: the least change of all these marks, each weighed by its
/// doubt, after which every stretch of the ruler is as long as it says but for one common factor of its height.
pub(super) fn fit(marks: &PhotoMarks, picture: PictureSize, size: [f64; 2]) -> Result<Fitted, MakingError> {
    let plane = |corners: &[Pixel; 4]| Plane::of_corners(corners, size[0], size[1]);
    let Some(ruler) = &marks.ruler else {
        return Ok(Fitted { plane: plane(&marks.corners)?, ruler_off: None, misfit: None });
    };
    let apart_m = stretches(&ruler.ticks)?;
    let marked: Vec<Pixel> = marks.corners.into_iter().chain(ruler.ticks.iter().map(|(tick, _)| *tick)).collect();
    let start = DVector::from_iterator(2 * marked.len(), marked.into_iter().flatten());
    let off = |z: &DVector<f64>| -> Result<DVector<f64>, MakingError> {
        let plane = plane(&corners_of(z))?;
        let ticks: Vec<[f64; 2]> = (4..z.len() / 2).map(|i| plane.on_bar_m([z[2 * i], z[2 * i + 1]])).collect();
        let long_m = ticks.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1]));
        Ok(DVector::from_iterator(apart_m.len(), long_m.zip(&apart_m).map(|(long_m, apart_m)| long_m / apart_m - 1.0)))
    };
    let (corner_px, mark_px) = (corner_px(marks, picture, size), mark_px(picture));
    let doubt = |i: usize| if i < 8 { corner_px * corner_px } else { mark_px * mark_px };
    let variance = DMatrix::from_diagonal(&DVector::from_fn(start.len(), |i, _| doubt(i)));
    let height = DMatrix::from_element(apart_m.len(), apart_m.len(), HEIGHT_SHARE * HEIGHT_SHARE);
    let (mut z, mut misfit) = (start.clone(), 0.0);
    for step in 0..STEPS {
        let slopes = slopes(&z, &off)?;
        let expected = &slopes * &variance * slopes.transpose() + &height;
        let miss = off(&z)? - &slopes * (&z - &start);
        let Some(weighed) = expected.cholesky().map(|cholesky| cholesky.solve(&miss)) else { break };
        if step == 0 {
            misfit = miss.dot(&weighed);
        }
        z = &start - &variance * slopes.transpose() * weighed;
    }
    let all_m: f64 = apart_m.iter().sum();
    let ruler_off = off(&start)?.iter().zip(&apart_m).map(|(off, apart_m)| off * apart_m / all_m).sum();
    let misfit = Some((misfit, apart_m.len()));
    Ok(Fitted { plane: plane(&corners_of(&z))?, ruler_off: Some(ruler_off), misfit })
}

/// What lies between the ticks by the ruler.
fn stretches(ticks: &[(Pixel, f64)]) -> Result<Vec<f64>, MakingError> {
    let hint = "mark ticks far apart: near the bar's left end, its middle and its right end";
    in_range("the number of ticks", ticks.len() as f64, 2.0, 20.0, "ticks", hint)?;
    for (_, reading_m) in ticks {
        in_range("a tick's reading", reading_m * 1e3, 0.0, 3000.0, "mm", "give what the ruler says there")?;
    }
    let apart_m: Vec<f64> = ticks.windows(2).map(|pair| pair[1].1 - pair[0].1).collect();
    if let Some(short) = apart_m.iter().find(|apart_m| **apart_m < 0.02) {
        let message = format!("two ticks in a row are {:.1} mm apart; at least 20 mm are needed", short * 1e3);
        return Err(MakingError::new("ticks_mixed", message, hint));
    }
    Ok(apart_m)
}

fn corners_of(z: &DVector<f64>) -> [Pixel; 4] {
    std::array::from_fn(|i| [z[2 * i], z[2 * i + 1]])
}

/// Derivatives by differences of a pixel: pixels are in the thousands and the plane is smooth.
fn slopes(
    z: &DVector<f64>,
    off: &impl Fn(&DVector<f64>) -> Result<DVector<f64>, MakingError>,
) -> Result<DMatrix<f64>, MakingError> {
    let mut columns = Vec::with_capacity(z.len());
    for i in 0..z.len() {
        let moved = |by: f64| {
            let mut z = z.clone();
            z[i] += by;
            off(&z)
        };
        columns.push(moved(0.5)? - moved(-0.5)?);
    }
    Ok(DMatrix::from_columns(&columns))
}

impl Fitted {
    /// Ticks that would fit the corners so badly less than once in some three hundred pictures.
    pub(super) fn doubt(&self, name: &str) -> Option<Doubt> {
        let ((misfit, stretches), off) = (self.misfit?, self.ruler_off?);
        // Chi-square's 99.7 % points are 8.8, 11.6 and 13.9 for one to three stretches; this is within 15 % of them.
        let most = 5.0 + 3.6 * stretches as f64;
        let than = if off > 0.0 { "longer" } else { "shorter" };
        (misfit > most || off.abs() > HEIGHT_MOST).then(|| Doubt {
            name: name.to_owned(),
            code: "ruler_differs",
            message: format!(
                "the ruler's ticks do not fit the bar's corners: by these the ruler is {:.1} % {than} than it says",
                100.0 * off.abs()
            ),
            hint:
                "is it this bar, are its length and width right, and was every tick and corner marked where it is? The \
                   ruler lies along the bar, best at the height of its top face"
                    .to_owned(),
        })
    }
}
