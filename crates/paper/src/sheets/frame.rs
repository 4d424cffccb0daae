//! Plan of a frame: bars in their rows, node lines as read, and the cord lines of the rails.
use super::{Sheet, furniture};
use crate::error::within;
use crate::lettering::{ASCENT, DESCENT, width_mm};
use crate::{Anchor, Drawing, Fill, PaperError, Pen, Point, Rect};
use words::tell;

/// A bar as it lies on the frame, in millimetres: x to the right, y away from the player.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameBarMark {
    /// How it is called.
    pub name: String,
    /// True for the upper row.
    pub accidental: bool,
    /// Middle of its width.
    pub centre_x_mm: f64,
    /// Width.
    pub width_mm: f64,
    /// y of the end that faces the player, and of the far end.
    pub ends_y_mm: [f64; 2],
    /// Node lines: y at the left side and at the right side; none for a bar not yet read.
    pub nodes_y_mm: Vec<[f64; 2]>,
    /// True for a bar that is to be looked at again.
    pub doubtful: bool,
}

/// What the plan shows.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameView {
    /// A short title.
    pub title: String,
    /// What is to be seen, with figures, for those who do not see it.
    pub description: String,
    /// The bars, naturals before accidentals.
    pub bars: Vec<FrameBarMark>,
    /// The cord lines: points from the bass to the treble.
    pub rails_mm: Vec<Vec<(f64, f64)>>,
    /// Posts: x and y.
    pub posts_mm: Vec<(f64, f64)>,
    /// Room for a tube under each bar: x, y, diameter.
    pub tubes_mm: Vec<(f64, f64, f64)>,
    /// x of the inner faces of the end boards, if they are drawn.
    pub boards_x_mm: Option<[f64; 2]>,
    /// The paper.
    pub sheet: Sheet,
}

/// Radius of a post on the sheet, so that it is seen at any scale.
const POST_MM: f64 = 0.6;

/// Longest frame that can be drawn, in millimetres.
const LONGEST_MM: f64 = 10_000.0;

/// The frame from above, player at the bottom, treble to the right, in its true shape.
///
/// # Errors
/// [`PaperError`] naming a value that is not finite or out of range.
pub fn frame_view(view: &FrameView) -> Result<Drawing, PaperError> {
    let sheet = view.sheet.checked()?;
    let world = extent(view)?;
    let size = sheet.lettering_mm;
    let scale = sheet.width_mm / (world.max.x - world.min.x);
    let mut drawing = Drawing::new(view.title.clone(), view.description.clone());
    let base = furniture::row_baseline(0.0, size);
    drawing.text(Pen::Faint, Point::new(0.0, base), Anchor::Start, size, tell!("bass"));
    drawing.text(Pen::Faint, Point::new(sheet.width_mm, base), Anchor::End, size, tell!("treble"));
    // Names stand beyond the bars' ends, a row of them above and a row below.
    let top = base + DESCENT * size + furniture::row_mm(size);
    let at = |x: f64, y: f64| Point::new((x - world.min.x) * scale, top + (world.max.y - y) * scale);
    for bar in &view.bars {
        draw_bar(&mut drawing, bar, &at, size);
    }
    draw_parts(&mut drawing, view, &world, &at, scale);
    for rail in &view.rails_mm {
        drawing.polyline(Pen::Outline, rail.iter().map(|(x, y)| at(*x, *y)).collect());
    }
    let bottom = at(0.0, world.min.y).y + furniture::row_mm(size);
    let base = furniture::row_baseline(bottom, size);
    drawing.text(Pen::Faint, Point::new(sheet.width_mm / 2.0, base), Anchor::Middle, size, tell!("end-board-player"));
    legend(&mut drawing, view, base + DESCENT * size + 2.0, scale);
    drawing.checked()
}

/// The corners of all there is, in millimetres of the frame.
fn extent(view: &FrameView) -> Result<Rect, PaperError> {
    let mut corners: Vec<Point> = view.rails_mm.iter().flatten().map(|(x, y)| Point::new(*x, *y)).collect();
    for bar in &view.bars {
        let half = bar.width_mm / 2.0;
        corners.extend(bar.ends_y_mm.map(|y| Point::new(bar.centre_x_mm - half, y)));
        corners.extend(bar.ends_y_mm.map(|y| Point::new(bar.centre_x_mm + half, y)));
    }
    corners.extend(
        view.boards_x_mm
            .into_iter()
            .flatten()
            .map(|x| Point::new(x, view.bars.first().map_or(0.0, |bar| bar.ends_y_mm[0]))),
    );
    corners.extend(view.posts_mm.iter().map(|(x, y)| Point::new(*x, *y)));
    for corner in &corners {
        within("a place on the frame in mm", corner.x, -LONGEST_MM, LONGEST_MM)?;
        within("a place on the frame in mm", corner.y, -LONGEST_MM, LONGEST_MM)?;
    }
    let least = |of: fn(&Point) -> f64| corners.iter().map(of).fold(f64::INFINITY, f64::min);
    let most = |of: fn(&Point) -> f64| corners.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let rect = Rect::new(least(|p| p.x), least(|p| p.y), most(|p| p.x), most(|p| p.y));
    within("the length of the frame in mm", rect.max.x - rect.min.x, 10.0, LONGEST_MM)?;
    Ok(rect)
}

/// End boards, tubes and posts.
fn draw_parts(drawing: &mut Drawing, view: &FrameView, world: &Rect, at: &impl Fn(f64, f64) -> Point, scale: f64) {
    for x in view.boards_x_mm.into_iter().flatten() {
        drawing.line(Pen::Outline, at(x, world.min.y), at(x, world.max.y));
    }
    for (x, y, diameter) in &view.tubes_mm {
        drawing.circle(Pen::Faint, at(*x, *y), 0.5 * diameter * scale, Fill::None);
    }
    for (x, y) in &view.posts_mm {
        drawing.circle(Pen::Outline, at(*x, *y), POST_MM, Fill::Sheet);
    }
}

/// A bar with its node lines and its name beyond the end where its row is seen.
fn draw_bar(drawing: &mut Drawing, bar: &FrameBarMark, at: &impl Fn(f64, f64) -> Point, size: f64) {
    let half = bar.width_mm / 2.0;
    let (left, right) = (bar.centre_x_mm - half, bar.centre_x_mm + half);
    let [player, away] = bar.ends_y_mm;
    let (low, high) = (at(left, player), at(right, away));
    drawing.rectangle(Pen::Outline, Rect::new(low.x, high.y, high.x, low.y), Fill::Sheet);
    for [at_left, at_right] in &bar.nodes_y_mm {
        drawing.line(Pen::Node, at(left, *at_left), at(right, *at_right));
    }
    let name = if bar.doubtful { format!("! {}", bar.name) } else { bar.name.clone() };
    let pen = if bar.doubtful { Pen::Caution } else { Pen::Text };
    // As large as the bar's width lets it be.
    let fitting = (high.x - low.x) * 0.92 / width_mm(&name, 1.0);
    let size = size.min(fitting);
    let y = if bar.accidental { high.y - DESCENT * size - 0.5 } else { low.y + ASCENT * size + 0.5 };
    drawing.text(pen, Point::new(f64::midpoint(low.x, high.x), y), Anchor::Middle, size, name);
}

/// What the lines mean, and a rule.
fn legend(drawing: &mut Drawing, view: &FrameView, top_y: f64, scale: f64) {
    let size = view.sheet.lettering_mm;
    let entry = |pen, sample, words: String| furniture::Entry { pen, sample, words };
    let mut entries = vec![
        entry(Pen::Outline, furniture::Sample::Line, tell!("legend-cord-line")),
        entry(Pen::Node, furniture::Sample::Line, tell!("legend-node-as-read")),
    ];
    if view.bars.iter().any(|b| b.doubtful) {
        entries[1].words.push_str(&tell!("legend-look-again"));
    }
    if !view.posts_mm.is_empty() {
        entries.push(entry(Pen::Faint, furniture::Sample::Line, tell!("legend-tube-room")));
    }
    let (right, _) = furniture::scale_bar(drawing, 0.0, top_y, view.sheet.width_mm / 2.0, scale, size);
    furniture::legend(drawing, (right + 6.0, view.sheet.width_mm), top_y, size, &entries);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(index: usize, accidental: bool) -> FrameBarMark {
        #[allow(clippy::cast_precision_loss)] // a few bars
        let x = 30.0 + 60.0 * index as f64;
        let ends_y_mm = if accidental { [380.0, 680.0] } else { [0.0, 400.0] };
        let middle = f64::midpoint(ends_y_mm[0], ends_y_mm[1]);
        FrameBarMark {
            name: format!("C{}{index}", if accidental { "♯" } else { "" }),
            accidental,
            centre_x_mm: x + if accidental { 30.0 } else { 0.0 },
            width_mm: 48.0,
            ends_y_mm,
            nodes_y_mm: vec![[middle - 110.0, middle - 105.0], [middle + 105.0, middle + 110.0]],
            doubtful: accidental && index == 2,
        }
    }

    fn view() -> FrameView {
        let bars = (0..8).map(|i| bar(i, false)).chain((0..7).map(|i| bar(i, true))).collect();
        let rail = |y: f64| vec![(0.0, y), (480.0, y + 10.0)];
        FrameView {
            title: "A frame".to_owned(),
            description: "An invented frame.".to_owned(),
            bars,
            rails_mm: vec![rail(90.0), rail(310.0), rail(420.0), rail(640.0)],
            posts_mm: vec![(-6.0, 90.0), (60.0, 91.0)],
            tubes_mm: vec![(30.0, 200.0, 50.0)],
            boards_x_mm: None,
            sheet: Sheet::WIDE,
        }
    }

    #[test]
    fn the_plan_is_true_to_scale_and_nothing_written_is_crossed_by_writing() {
        let drawing = frame_view(&view()).unwrap();
        // From the first natural's edge at 6 to the last accidental's at 444 or the rails' end at 480: 0 to 480 mm.
        let scale = 240.0 / 480.0;
        let bounds = drawing.bounds().unwrap();
        assert!(bounds.max.x <= 240.0 + 1.0 && (bounds.max.y - bounds.min.y) > 680.0 * scale);
        let collisions = drawing.collisions(0.0);
        assert!(collisions.is_empty(), "{collisions:?}");
    }

    #[test]
    fn a_place_that_is_no_number_is_refused() {
        let mut wrong = view();
        wrong.bars[0].ends_y_mm[0] = f64::NAN;
        assert!(frame_view(&wrong).is_err());
    }
}
