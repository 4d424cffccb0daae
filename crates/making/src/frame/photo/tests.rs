//! Marks made by a pinhole camera, whose geometry is exact, against what is read from them.
use super::*;
use proptest::prelude::*;

/// An invented bar: length and width.
const SIZE_M: [f64; 2] = [0.47, 0.062];
const PICTURE: PictureSize = PictureSize { width_px: 4000, height_px: 3000 };
/// Leaning by 4 mm and, at the right, by 3 mm.
const LINES_M: [[f64; 2]; 2] = [[0.1034, 0.1074], [0.3636, 0.3666]];

/// A camera over the bar's middle, turned about the bar's length (`roll`), its width (`pitch`) and the view (`yaw`).
#[derive(Debug, Clone, Copy)]
struct Camera {
    away_m: f64,
    roll: f64,
    pitch: f64,
    yaw: f64,
}

/// A focal length with which 70 % of the picture's width are the bar, from 0.6 m away.
const FOCAL_PX: f64 = 3570.0;

impl Camera {
    /// The pixel of a place `x_m` from the left end, `y_m` from the middle of the width, `z_m` over the top face.
    fn pixel(self, [x_m, y_m, z_m]: [f64; 3]) -> Pixel {
        let p = nalgebra::Vector3::new(x_m - 0.5 * SIZE_M[0], y_m, z_m);
        let turn = nalgebra::Rotation3::from_euler_angles(self.roll, self.pitch, self.yaw) * p;
        // Looking down: what lies further away across the bar is higher up in the picture.
        let depth = self.away_m - turn.z;
        [2000.0 + FOCAL_PX * turn.x / depth, 1500.0 - FOCAL_PX * turn.y / depth]
    }

    fn marks(self, ruler_z_m: f64) -> PhotoMarks {
        let half_m = 0.5 * SIZE_M[1];
        let at = |x: f64, y: f64| self.pixel([x, y, 0.0]);
        let line = |[near, far]: [f64; 2]| vec![at(near, -half_m), at(f64::midpoint(near, far), 0.0), at(far, half_m)];
        PhotoMarks {
            corners: [at(0.0, -half_m), at(SIZE_M[0], -half_m), at(SIZE_M[0], half_m), at(0.0, half_m)],
            left: line(LINES_M[0]),
            right: line(LINES_M[1]),
            // Its zero lies 10 mm to the right of the bar's end.
            ruler: Some(RulerTicks {
                ticks: [0.0, 0.23, 0.45]
                    .map(|reading_m| (self.pixel([reading_m + 0.01, half_m + 0.02, ruler_z_m]), reading_m))
                    .to_vec(),
            }),
        }
    }
}

const ABOVE: Camera = Camera { away_m: 0.6, roll: 0.0, pitch: 0.0, yaw: 0.0 };

fn read(marks: &PhotoMarks) -> Result<PhotoReading, MakingError> {
    read_photo("C3", marks, PICTURE, SIZE_M)
}

fn numbers(reading: &PhotoReading) -> [f64; 4] {
    let BenchNodes { left_m: [a, b], right_m: [c, d] } = reading.test.nodes;
    [a, b, c, d]
}

proptest! {
    /// Perspective is taken out exactly: up to 35° from the vertical, any turn of the picture.
    #[test]
    fn what_a_camera_without_faults_sees_comes_back(
        roll in -0.6_f64..0.6, pitch in -0.35_f64..0.35, yaw in -0.2_f64..0.2, away_m in 0.65_f64..1.5,
    ) {
        let marks = Camera { away_m, roll, pitch, yaw }.marks(0.0);
        let reading = read(&marks).unwrap();
        for (got, true_m) in numbers(&reading).into_iter().zip(LINES_M.concat()) {
            // Eight equations solved in double precision, pixels in the thousands.
            prop_assert!((got - true_m).abs() < 1e-10, "{got} {true_m}");
        }
        prop_assert!(reading.test.centres_m.iter().zip(LINES_M).all(|(centre, [near, far])|
            (centre.unwrap() - f64::midpoint(near, far)).abs() < 1e-10));
        prop_assert!(reading.ruler_off.unwrap().abs() < 1e-9);
    }
}

#[test]
fn shaky_marks_miss_by_what_is_stated() {
    let mut rng = fastrand::Rng::with_seed(20_261_126);
    // Sum of twelve even numbers less six: near enough to a normal one, of variance one.
    let mut normal = move || (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0;
    let exact = ABOVE.marks(0.0);
    let sigma_m = read(&exact).unwrap().sigma_m;
    let px_per_m = FOCAL_PX / ABOVE.away_m;
    // Two pixels of 4000; the salt's middle and a broken corner are each half a millimetre.
    let (mark_px, line_px, corner_px) = (2.0, 2.0_f64.hypot(SALT_M * px_per_m), 2.0_f64.hypot(CORNER_M * px_per_m));
    let mut squares = [0.0; 4];
    let trials = 400;
    for _ in 0..trials {
        let mut marks = exact.clone();
        let mut shake = |pixel: &mut Pixel, sigma_px: f64| pixel.iter_mut().for_each(|x| *x += sigma_px * normal());
        marks.corners.iter_mut().for_each(|pixel| shake(pixel, corner_px));
        marks.left.iter_mut().chain(marks.right.iter_mut()).for_each(|pixel| shake(pixel, line_px));
        marks.ruler.iter_mut().flat_map(|ruler| &mut ruler.ticks).for_each(|(pixel, _)| shake(pixel, mark_px));
        let reading = read(&marks).unwrap();
        for (sum, (got, true_m)) in squares.iter_mut().zip(numbers(&reading).into_iter().zip(LINES_M.concat())) {
            *sum += (got - true_m).powi(2);
        }
    }
    let worst_m = squares.iter().map(|sum| (sum / f64::from(trials)).sqrt()).fold(0.0, f64::max);
    let lens_m = lens_px(&exact, PICTURE) / px_per_m;
    let marks_m = (sigma_m.powi(2) - lens_m.powi(2)).sqrt();
    // A standard deviation from 400 trials is uncertain by 3.5 %; four of these.
    assert!((worst_m / marks_m - 1.0).abs() < 0.14, "seen {worst_m}, stated {marks_m}");
    // The aim: a node line within a millimetre at 12 megapixels.
    assert!(sigma_m < 1e-3, "{sigma_m}");
}

#[test]
fn a_lens_that_bends_as_much_as_allowed_for_stays_within_it() {
    let bent = |pixel: Pixel| {
        let half_px = 2500.0;
        let [x, y] = [(pixel[0] - 2000.0) / half_px, (pixel[1] - 1500.0) / half_px];
        let out = 1.0 + LENS_SHARE * (x * x + y * y);
        [2000.0 + half_px * out * x, 1500.0 + half_px * out * y]
    };
    let mut marks = ABOVE.marks(0.0);
    marks.corners = marks.corners.map(bent);
    marks.left = marks.left.into_iter().map(bent).collect();
    marks.right = marks.right.into_iter().map(bent).collect();
    let reading = read(&marks).unwrap();
    let off = numbers(&reading).into_iter().zip(LINES_M.concat()).map(|(got, x)| (got - x).abs());
    let (worst_m, allowed_m) = (off.fold(0.0, f64::max), lens_px(&marks, PICTURE) / (FOCAL_PX / ABOVE.away_m));
    assert!(worst_m > 1e-4 && worst_m < 1.05 * allowed_m, "{worst_m} {allowed_m}");
}

#[test]
fn a_ruler_tells_perspective_that_a_slender_bar_hardly_does_at_whatever_height_it_lies() {
    let sigma_m = |ticks: usize| {
        let mut marks = ABOVE.marks(0.0);
        match ticks {
            0 => marks.ruler = None,
            _ => marks.ruler.as_mut().unwrap().ticks.truncate(ticks),
        }
        let reading = read(&marks).unwrap();
        (reading.sigma_m, reading.doubts.iter().map(|d| d.code).collect::<Vec<_>>())
    };
    let ((none, doubts), (two, _), (three, sure)) = (sigma_m(0), sigma_m(2), sigma_m(3));
    assert!(none > 1.5e-3 && doubts == ["photo_not_sure"], "{none} {doubts:?}");
    assert!(two < none && three < 0.6 * none && sure.is_empty(), "{none} {two} {three} {sure:?}");
    // Marks off by 3 px at two corners, as a hasty finger sets them: the ruler keeps the lines where they are.
    let mut marks = Camera { pitch: 0.2, ..ABOVE }.marks(-0.023);
    marks.corners[1][1] += 3.0;
    marks.corners[2][1] -= 3.0;
    let off = |marks: &PhotoMarks| {
        let numbers = numbers(&read(marks).unwrap()).into_iter().zip(LINES_M.concat());
        numbers.map(|(got, x)| (got - x).abs()).fold(0.0, f64::max)
    };
    let with_m = off(&marks);
    marks.ruler = None;
    let without_m = off(&marks);
    assert!(without_m > 1e-3 && with_m < 0.4 * without_m, "{without_m} {with_m}");
}

#[test]
fn a_ruler_on_the_bench_is_no_doubt_but_another_bar_is() {
    let reading = read(&ABOVE.marks(-0.023)).unwrap();
    // Similar triangles: 0.6 m to the top face, 0.623 m to the bench.
    assert!((reading.ruler_off.unwrap() - (0.6 / 0.623 - 1.0)).abs() < 1e-9, "{reading:?}");
    assert!(reading.doubts.is_empty());
    // The bar's record says 470 mm, the bar in the picture is a tenth longer.
    let mut marks = ABOVE.marks(0.0);
    marks.ruler.as_mut().unwrap().ticks.iter_mut().for_each(|(_, reading_m)| *reading_m *= 1.1);
    let reading = read(&marks).unwrap();
    assert_eq!(reading.doubts[0].code, "ruler_differs");
    assert!(reading.doubts[0].message.contains("9.1 % shorter"), "{}", reading.doubts[0].message);
}

#[test]
fn marks_that_cannot_be_are_refused_with_what_is_wrong() {
    let code = |change: &dyn Fn(&mut PhotoMarks)| {
        let mut marks = ABOVE.marks(0.0);
        change(&mut marks);
        read(&marks).map(|_| "").unwrap_or_else(|error| error.code)
    };
    assert_eq!(code(&|_| ()), "");
    assert_eq!(code(&|m| m.corners[1][0] = 4200.0), "mark_outside_picture");
    assert_eq!(code(&|m| m.left[0][1] = f64::NAN), "mark_outside_picture");
    assert_eq!(code(&|m| m.corners.swap(0, 1)), "corners_crossed");
    assert_eq!(code(&|m| m.corners.reverse()), "corners_crossed");
    assert_eq!(code(&|m| m.corners.rotate_left(1)), "corners_turned");
    assert_eq!(code(&|m| m.left.reverse()), "edges_mixed");
    assert_eq!(code(&|m| m.left.truncate(1)), "line_too_short");
    assert_eq!(code(&|m| m.left.truncate(2)), "", "near edge and middle: half of the width");
    assert_eq!(code(&|m| m.right.clear()), "line_too_short");
    assert_eq!(code(&|m| std::mem::swap(&mut m.left, &mut m.right)), "lines_in_one_place");
    assert_eq!(code(&|m| m.left[2][1] -= 60.0), "out_of_range");
    assert_eq!(code(&|m| m.ruler.as_mut().unwrap().ticks[2].1 = f64::NAN), "out_of_range");
    assert_eq!(code(&|m| m.ruler.as_mut().unwrap().ticks.truncate(1)), "out_of_range");
    assert_eq!(code(&|m| m.ruler.as_mut().unwrap().ticks.swap(0, 1)), "ticks_mixed");
    let small = |m: &mut PhotoMarks| m.corners.iter_mut().flatten().for_each(|x| *x *= 0.1);
    assert_eq!(code(&small), "picture_too_small");
}

#[test]
fn a_picture_from_far_aslant_is_doubted() {
    let marks = Camera { away_m: 2.0, roll: 1.2, ..ABOVE }.marks(0.0);
    let reading = read(&marks).unwrap();
    assert!(reading.sigma_m > STEEP_M && reading.doubts.iter().any(|d| d.code == "photo_not_sure"), "{reading:?}");
}
