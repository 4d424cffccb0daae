//! What the frame is made of: rails cut to length, end boards with their notches, posts in the gaps.
use super::{Doubt, FramePlan, FrameTask, Rail, Row, RowFit};
use crate::error::{MakingError, in_range};
use words::{figure, tell};

/// Least space between a post with its felt and the bars beside it (both sides together); a bar must hang free
/// (common practice, no source).
const FREE_M: f64 = 2e-3;
/// Least air between a natural's top and the accidentals' undersides over it (10 to 15 mm; common practice, from memory).
const AIR_M: f64 = 10e-3;
/// Room between the tubes of neighbouring bars, and between tubes and rails: caps are wider than tubes (a bank whose caps
/// touch cannot be hung; common practice, no source for the figure).
const TUBE_ROOM_M: f64 = 6e-3;
/// An end board reaches so far beyond its outermost rails, to hold the notch.
const BEYOND_M: f64 = 25e-3;
/// And so far below the lowest rail.
const BELOW_M: f64 = 40e-3;

/// The wood and the posts. Lengths in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MembersTask {
    /// Thickness of the rails, seen from above (5 to 100 mm).
    pub rail_thickness_m: f64,
    /// Height of the rails (10 to 300 mm).
    pub rail_height_m: f64,
    /// Thickness of the end boards (5 to 100 mm).
    pub end_board_m: f64,
    /// Diameter of a post with its felt (1 to 40 mm).
    pub post_m: f64,
    /// How much higher the accidentals' rails lie than the naturals' (0 to 150 mm).
    pub raise_m: f64,
    /// Wood of the thickest natural where accidentals lie over it, if it is known.
    pub thickest_natural_m: Option<f64>,
}

impl Default for MembersTask {
    /// Rails of 20 × 60 mm, end boards of 22 mm, posts of 8 mm, accidentals raised by 35 mm: a beginning to be changed.
    fn default() -> Self {
        Self {
            rail_thickness_m: 20e-3,
            rail_height_m: 60e-3,
            end_board_m: 22e-3,
            post_m: 8e-3,
            raise_m: 35e-3,
            thickest_natural_m: None,
        }
    }
}

/// A rail cut to length, between the inner faces of the end boards.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// Its row.
    pub row: Row,
    /// 0 the player's, 1 the far one.
    pub rail: usize,
    /// Straight pieces from the bass end: length along the middle, and angle off the frame's length in radians.
    pub pieces: Vec<(f64, f64)>,
}

impl Member {
    /// Length along its middle.
    pub fn length_m(&self) -> f64 {
        self.pieces.iter().map(|(length, _)| length).sum()
    }

    /// Angle off square of the cut at the bass end and at the treble end, radians.
    pub fn cuts_rad(&self) -> [f64; 2] {
        let angle = |piece: Option<&(f64, f64)>| piece.map_or(0.0, |(_, angle)| *angle);
        [angle(self.pieces.first()), angle(self.pieces.last())]
    }
}

/// Where a rail meets an end board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Notch {
    /// The rail's row.
    pub row: Row,
    /// 0 the player's, 1 the far one.
    pub rail: usize,
    /// Its middle, from the end of the board that lies towards the player.
    pub centre_m: f64,
    /// Width along the board: the rail's thickness, cut at its angle.
    pub width_m: f64,
    /// From the board's lower edge to the rail's lower edge.
    pub bottom_m: f64,
    /// From the board's lower edge to the rail's upper edge.
    pub top_m: f64,
}

/// An end board, seen from above its length runs from the player to the far side.
#[derive(Debug, Clone, PartialEq)]
pub struct EndBoard {
    /// True for the one at the bass.
    pub bass: bool,
    /// Length, height and thickness.
    pub size_m: [f64; 3],
    /// y of its end towards the player.
    pub player_end_y_m: f64,
    /// The rails it holds, from the player away.
    pub notches: Vec<Notch>,
}

/// A post, or cord support, on a rail.
#[derive(Debug, Clone, PartialEq)]
pub struct Post {
    /// The rail's row.
    pub row: Row,
    /// 0 the player's, 1 the far one.
    pub rail: usize,
    /// The bar on its bass side, if there is one.
    pub after: Option<String>,
    /// Place along the frame.
    pub x_m: f64,
    /// Place away from the datum.
    pub y_m: f64,
    /// Along the rail's middle, from its end at the bass.
    pub along_m: f64,
}

/// The frame's parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Members {
    /// x of the inner faces of the end boards.
    pub between_x_m: [f64; 2],
    /// Rails, naturals' player's rail first.
    pub rails: Vec<Member>,
    /// At the bass, at the treble.
    pub end_boards: [EndBoard; 2],
    /// Posts of each rail, bass to treble.
    pub posts: Vec<Post>,
    /// Widest tube, caps included, that fits under each bar: between its neighbours' tubes and its rails.
    pub widest_tube_m: Vec<(String, f64)>,
    /// What does not fit.
    pub doubts: Vec<Doubt>,
}

/// The parts of a frame laid by `plan`.
///
/// # Errors
/// [`MakingError`] for a size out of range, or a plan without rows.
pub fn members(plan: &FramePlan, frame: &FrameTask, task: &MembersTask) -> Result<Members, MakingError> {
    check(task)?;
    let half_gap = frame.gap.between_m / 2.0;
    // Beyond the outermost bars there is a post, and room for it.
    let beyond = half_gap.max(task.post_m / 2.0 + FREE_M) + task.post_m;
    let edges =
        |sign: f64| plan.rows.iter().flat_map(|r| &r.bars).map(move |b| b.bar.centre_x_m + sign * b.bar.width_m / 2.0);
    let between_x_m =
        [edges(-1.0).fold(f64::INFINITY, f64::min) - beyond, edges(1.0).fold(f64::NEG_INFINITY, f64::max) + beyond];
    if !between_x_m.iter().all(|x| x.is_finite()) {
        return Err(MakingError::new(
            "no_bars",
            "there are no bars on the frame",
            "read the node lines of the bars first",
        ));
    }
    let each_rail = || plan.rows.iter().flat_map(|row| [(row, 0), (row, 1)]);
    let rails: Vec<Member> = each_rail().map(|(row, rail)| member(row, rail, between_x_m)).collect();
    let end_boards = [true, false].map(|bass| end_board(plan, task, bass, between_x_m[usize::from(!bass)]));
    let posts = each_rail().flat_map(|(row, rail)| posts(row, rail, frame.gap.between_m, between_x_m[0])).collect();
    let widest_tube_m = plan.rows.iter().flat_map(|row| widest_tubes(row, task.rail_thickness_m)).collect();
    let doubts = doubts(plan, frame, task, between_x_m);
    Ok(Members { between_x_m, rails, end_boards, posts, widest_tube_m, doubts })
}

fn check(task: &MembersTask) -> Result<(), MakingError> {
    let mm = |what: &str, value_m: f64, least: f64, most: f64, hint: &str| {
        in_range(what, value_m * 1e3, least, most, "mm", hint)
    };
    mm("the thickness of the rails", task.rail_thickness_m, 5.0, 100.0, "20 mm to begin with")?;
    mm("the height of the rails", task.rail_height_m, 10.0, 300.0, "60 mm to begin with")?;
    mm("the thickness of the end boards", task.end_board_m, 5.0, 100.0, "22 mm to begin with")?;
    mm("the diameter of the posts", task.post_m, 1.0, 40.0, "measure it over the felt")?;
    mm("the raise of the accidentals' rails", task.raise_m, 0.0, 150.0, "0 for rows of one height")
}

/// The places where a rail begins, bends and ends between two x.
fn corners(rail: &Rail, [from, to]: [f64; 2]) -> Vec<(f64, f64)> {
    let inner = rail.points().iter().copied().filter(|(x, _)| *x > from && *x < to);
    // The fitted line's own ends are no bends.
    let bends = inner.filter(|(x, _)| {
        let step = 1e-6;
        (rail.slope_at(x + step) - rail.slope_at(x - step)).abs() > 1e-12
    });
    let mut points = vec![(from, rail.y_at(from))];
    points.extend(bends);
    points.push((to, rail.y_at(to)));
    points
}

fn member(row: &RowFit, rail: usize, between_x_m: [f64; 2]) -> Member {
    let points = corners(&row.rails[rail], between_x_m);
    let pieces = points.windows(2).map(|pair| {
        let (dx, dy) = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
        (dx.hypot(dy), dy.atan2(dx))
    });
    Member { row: row.row, rail, pieces: pieces.collect() }
}

fn end_board(plan: &FramePlan, task: &MembersTask, bass: bool, x_m: f64) -> EndBoard {
    let raise = |row: Row| if row == Row::Accidental { task.raise_m } else { 0.0 };
    let mut notches: Vec<Notch> = plan
        .rows
        .iter()
        .flat_map(|row| [(row, 0), (row, 1)])
        .map(|(row, rail)| {
            let line = &row.rails[rail];
            let bottom_m = BELOW_M + raise(row.row);
            Notch {
                row: row.row,
                rail,
                centre_m: line.y_at(x_m),
                width_m: task.rail_thickness_m * line.slope_at(x_m).hypot(1.0),
                bottom_m,
                top_m: bottom_m + task.rail_height_m,
            }
        })
        .collect();
    notches.sort_by(|a, b| a.centre_m.total_cmp(&b.centre_m));
    let least = notches.iter().map(|n| n.centre_m - n.width_m / 2.0).fold(f64::INFINITY, f64::min) - BEYOND_M;
    let most = notches.iter().map(|n| n.centre_m + n.width_m / 2.0).fold(f64::NEG_INFINITY, f64::max) + BEYOND_M;
    for notch in &mut notches {
        notch.centre_m -= least;
    }
    let height_m = notches.iter().map(|n| n.top_m).fold(0.0, f64::max);
    EndBoard { bass, size_m: [most - least, height_m, task.end_board_m], player_end_y_m: least, notches }
}

/// A post in the middle of each gap; where the gap is wide, one beside each bar; one beyond either end.
fn posts(row: &RowFit, rail: usize, gap_m: f64, from_x_m: f64) -> Vec<Post> {
    let edge = |bar: &super::FittedBar, sign: f64| bar.bar.centre_x_m + sign * bar.bar.width_m / 2.0;
    let mut places: Vec<(Option<String>, f64)> = Vec::new();
    if let Some(first) = row.bars.first() {
        places.push((None, edge(first, -1.0) - gap_m / 2.0));
    }
    for pair in row.bars.windows(2) {
        let (left, right) = (edge(&pair[0], 1.0), edge(&pair[1], -1.0));
        let after = Some(pair[0].bar.name.clone());
        if right - left <= 2.0 * gap_m {
            places.push((after, f64::midpoint(left, right)));
        } else {
            places.push((after.clone(), left + gap_m / 2.0));
            places.push((after, right - gap_m / 2.0));
        }
    }
    if let Some(last) = row.bars.last() {
        places.push((Some(last.bar.name.clone()), edge(last, 1.0) + gap_m / 2.0));
    }
    let line = &row.rails[rail];
    let along =
        |x_m: f64| corners(line, [from_x_m, x_m]).windows(2).map(|p| (p[1].0 - p[0].0).hypot(p[1].1 - p[0].1)).sum();
    let post = |(after, x_m): (Option<String>, f64)| Post {
        row: row.row,
        rail,
        after,
        x_m,
        y_m: line.y_at(x_m),
        along_m: along(x_m),
    };
    places.into_iter().map(post).collect()
}

/// Tubes hang under the bars' middles: neighbours in the row and the rails' inner sides leave so much room.
fn widest_tubes(row: &RowFit, rail_thickness_m: f64) -> Vec<(String, f64)> {
    let x = |i: usize| row.bars[i].bar.centre_x_m;
    let room = |i: usize| {
        let below = (i > 0).then(|| x(i) - x(i - 1));
        let above = (i + 1 < row.bars.len()).then(|| x(i + 1) - x(i));
        let apart = below.into_iter().chain(above).fold(f64::INFINITY, f64::min);
        let between = row.rails[1].y_at(x(i)) - row.rails[0].y_at(x(i)) - rail_thickness_m;
        (apart.min(between) - TUBE_ROOM_M).max(0.0)
    };
    row.bars.iter().enumerate().map(|(i, bar)| (bar.bar.name.clone(), room(i))).collect()
}

/// What does not fit together.
fn doubts(plan: &FramePlan, frame: &FrameTask, task: &MembersTask, between_x_m: [f64; 2]) -> Vec<Doubt> {
    let doubt = |name: &str, code, message: String, hint: String| Doubt { name: name.to_owned(), code, message, hint };
    let mut found = Vec::new();
    let free_mm = (frame.gap.between_m - task.post_m) * 1e3;
    if free_mm < FREE_M * 1e3 {
        found.push(doubt(
            "the posts",
            "post_too_wide",
            tell!(
                "doubt-posts",
                posts = figure(task.post_m * 1e3, 1),
                free = figure(free_mm, 1),
                gaps = figure(frame.gap.between_m * 1e3, 1),
                need = figure(FREE_M * 1e3, 0),
            ),
            tell!("doubt-posts-hint"),
        ));
    }
    if let [naturals, accidentals] = plan.rows.as_slice() {
        let apart = |x: f64| accidentals.rails[0].y_at(x) - naturals.rails[1].y_at(x) - task.rail_thickness_m;
        let least = between_x_m.map(apart).into_iter().fold(f64::INFINITY, f64::min);
        if least < 0.0 {
            found.push(doubt(
                "the inner rails",
                "rails_collide",
                tell!("doubt-inner", mm = figure(-least * 1e3, 1)),
                tell!("doubt-inner-hint"),
            ));
        }
        let lies_over = plan.overlap.is_some_and(|overlap| overlap.ends_m.iter().any(|m| *m > 0.0));
        let air = task.thickest_natural_m.map(|thick| task.raise_m - thick);
        if let Some(air) = air.filter(|air| lies_over && *air < AIR_M) {
            found.push(doubt(
                "the accidentals",
                "too_low",
                tell!(
                    "doubt-low",
                    raised = figure(task.raise_m * 1e3, 0),
                    air = figure(air * 1e3, 0),
                    usual = figure(AIR_M * 1e3, 0),
                ),
                tell!("doubt-low-hint"),
            ));
        }
    }
    found
}
