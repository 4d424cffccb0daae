//! Looking for a good cutting: the longest piece first into the part that it fills best, many times over with small changes.
use super::part::{Part, Split};
use super::{Allowances, Area, Board, Cut, CutBoard, CutList, Missing, Piece, Placed, Way};
use crate::error::{MakingError, in_range};

/// Is told how many trials are done, of how many.
pub type Progress<'p> = dyn FnMut(usize, usize) + 'p;

/// What one trial changes: drawn anew each time, none in the first.
#[derive(Debug, Clone, Copy)]
struct Taste {
    /// How far a piece may slip in the order, as a share of its size.
    disorder: f64,
    /// Above this share of the rest along, the part is cut across first.
    across_first: f64,
    /// What width that is left over counts against length.
    width_weight: f64,
    /// How often a part is chosen, or cut, against better knowledge.
    whim: f64,
}

/// Cuts the pieces from the boards in the best of `trials` tries; the same trials give the same list.
///
/// # Errors
/// `out_of_range` for a board, a piece or an allowance, with the limit and the next step.
pub fn cut(
    boards: &[Board],
    pieces: &[Piece],
    allowances: Allowances,
    trials: usize,
    progress: &mut Progress<'_>,
) -> Result<CutList, MakingError> {
    allowances.check()?;
    boards.iter().try_for_each(Board::check)?;
    for piece in pieces {
        let hint = "check the plan's sizes";
        in_range(&format!("the length of {}", piece.name), piece.length_m * 1e3, 20.0, 3000.0, "mm", hint)?;
        in_range(&format!("the width of {}", piece.name), piece.width_m * 1e3, 5.0, 500.0, "mm", hint)?;
        in_range(&format!("the thickness of {}", piece.name), piece.thickness_m * 1e3, 3.0, 100.0, "mm", hint)?;
    }
    let trials = trials.max(1);
    let mut rng = fastrand::Rng::with_seed(1);
    let task = Task { boards, pieces, allowances };
    let mut best: Option<(Score, Cutting)> = None;
    for trial in 0..trials {
        let taste = if trial == 0 {
            Taste { disorder: 0.0, across_first: 0.5, width_weight: 1.0, whim: 0.0 }
        } else {
            drawn(&mut rng)
        };
        let cutting = task.trial(taste, &mut rng);
        let score = task.score(&cutting);
        if best.as_ref().is_none_or(|(other, _)| score.better_than(other)) {
            best = Some((score, cutting));
        }
        progress(trial + 1, trials);
    }
    Ok(task.list(best.map(|(_, cutting)| cutting).unwrap_or_default()))
}

/// Mostly near the rules, now and then far from them.
fn drawn(rng: &mut fastrand::Rng) -> Taste {
    let wild = rng.f64() < 0.3;
    Taste {
        disorder: if wild { 4.0 } else { 0.3 } * rng.f64(),
        across_first: rng.f64(),
        width_weight: 0.2 + 3.0 * rng.f64(),
        whim: if wild { 0.5 } else { 0.05 } * rng.f64(),
    }
}

struct Task<'t> {
    boards: &'t [Board],
    pieces: &'t [Piece],
    allowances: Allowances,
}

/// What a part was split into, with the indices of its rests; `None` while it is whole.
type Sawn = Option<(Split, Vec<usize>)>;

/// One cutting: what became of each part, parents before their parts.
#[derive(Debug, Clone, Default)]
struct Cutting {
    parts: Vec<(Part, Sawn)>,
    missing: Vec<usize>,
}

/// What counts, in this order: bars placed before spares, then area of boards that are cut, then the largest rest.
#[derive(Debug, Clone, Copy)]
struct Score {
    missing_bars_m2: f64,
    missing_spares_m2: f64,
    used_m2: f64,
    largest_left_m2: f64,
}

impl Score {
    fn better_than(&self, other: &Self) -> bool {
        let key =
            |score: &Self| [score.missing_bars_m2, score.missing_spares_m2, score.used_m2, -score.largest_left_m2];
        // A square millimetre is no difference.
        let differs = key(self).into_iter().zip(key(other)).find(|(a, b)| (a - b).abs() > 1e-6);
        differs.is_some_and(|(a, b)| a < b)
    }
}

impl Task<'_> {
    fn fits_thickness(&self, piece: &Piece, board: usize) -> bool {
        self.boards[board].thickness_m + 1e-9 >= piece.thickness_m + self.allowances.over_thickness_m
    }

    fn trial(&self, taste: Taste, rng: &mut fastrand::Rng) -> Cutting {
        let board = |(index, board): (usize, &Board)| (Part::of_board(index, board, self.allowances.end_m), None);
        let mut cutting = Cutting { parts: self.boards.iter().enumerate().map(board).collect(), missing: Vec::new() };
        for piece in self.order(taste, rng) {
            if !self.place(&mut cutting, piece, taste, rng) {
                cutting.missing.push(piece);
            }
        }
        cutting
    }

    /// Long ones first, then wide ones, bars before spares of the same size.
    fn order(&self, taste: Taste, rng: &mut fastrand::Rng) -> Vec<usize> {
        let rank = |index: usize, rng: &mut fastrand::Rng| {
            let piece = &self.pieces[index];
            let size = piece.length_m + 0.5 * piece.width_m;
            (index, size * (1.0 + taste.disorder * (rng.f64() - 0.5)) - if piece.spare { 1e-6 } else { 0.0 })
        };
        let mut ranked: Vec<(usize, f64)> = (0..self.pieces.len()).map(|index| rank(index, rng)).collect();
        ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
        ranked.into_iter().map(|(index, _)| index).collect()
    }

    /// Puts a piece into the part that it fills best; boards that are begun before new ones, small new ones before large ones.
    fn place(&self, cutting: &mut Cutting, index: usize, taste: Taste, rng: &mut fastrand::Rng) -> bool {
        let piece = &self.pieces[index];
        let rough = self.allowances.rough_m(piece);
        let begun = |board: usize| cutting.parts[board].1.is_some();
        let mut best: Option<(f64, usize, super::part::Spot)> = None;
        for (at, (part, split)) in cutting.parts.iter().enumerate() {
            if split.is_some() || !self.fits_thickness(piece, part.board) {
                continue;
            }
            let Some(spot) = part.spot(rough, self.allowances.kerf_m) else { continue };
            let [over_length_m, over_width_m] = [0, 1].map(|i| part.area.size_m()[i] - rough[i]);
            let (length_m, width_m) = (over_length_m / rough[0], taste.width_weight * over_width_m / rough[1]);
            // A thick board is not planed away for a thin piece while another will do.
            let thick = (self.boards[part.board].thickness_m - piece.thickness_m) / piece.thickness_m;
            let opened = if begun(part.board) { 0.0 } else { 1e3 + part.area.m2() };
            let whim = if rng.f64() < taste.whim { 10.0 * rng.f64() } else { 0.0 };
            let cost = opened + whim + length_m.min(width_m) + 1e-3 * (length_m + width_m) + 0.1 * thick;
            if best.is_none_or(|(least, ..)| cost < least) {
                best = Some((cost, at, spot));
            }
        }
        let Some((_, at, spot)) = best else { return false };
        let part = &cutting.parts[at].0;
        let rest_along = (part.area.along_m[1] - spot.along_m - rough[0]) * part.area.size_m()[1];
        let rest_across = (part.area.across_m[1] - spot.across_m - rough[1]) * part.area.size_m()[0];
        let share = rest_along / (rest_along + rest_across).max(1e-12);
        let across = (share >= taste.across_first) != (rng.f64() < taste.whim);
        let first = if across { Way::Crosscut } else { Way::Rip };
        let split = part.split(index, spot, rough, first, self.allowances.kerf_m);
        let next = cutting.parts.len();
        let rests: Vec<Part> = split.rests.clone();
        let children = (next..next + rests.len()).collect();
        cutting.parts[at].1 = Some((split, children));
        cutting.parts.extend(rests.into_iter().map(|rest| (rest, None)));
        true
    }

    fn score(&self, cutting: &Cutting) -> Score {
        let area = |spare: bool| {
            let missing = cutting.missing.iter().map(|index| &self.pieces[*index]);
            missing.filter(|piece| piece.spare == spare).map(|piece| piece.length_m * piece.width_m).sum()
        };
        let begun = (0..self.boards.len()).filter(|board| cutting.parts[*board].1.is_some());
        let used_m2 = begun.map(|board| self.boards[board].length_m * self.boards[board].width_m).sum();
        let largest_left_m2 = cutting
            .parts
            .iter()
            .filter(|(part, split)| split.is_none() && part.defects.is_empty() && cutting.parts[part.board].1.is_some())
            .map(|(part, _)| part.area.m2())
            .fold(0.0, f64::max);
        Score { missing_bars_m2: area(false), missing_spares_m2: area(true), used_m2, largest_left_m2 }
    }

    fn list(&self, cutting: Cutting) -> CutList {
        let begun =
            (0..self.boards.len()).filter(|board| cutting.parts.get(*board).is_some_and(|part| part.1.is_some()));
        let boards: Vec<CutBoard> = begun.map(|board| self.cut_board(&cutting, board)).collect();
        let used_m2: f64 = boards.iter().map(|b| self.boards[b.board].length_m * self.boards[b.board].width_m).sum();
        let placed = boards.iter().flat_map(|board| &board.placed);
        let pieces_m2: f64 =
            placed.map(|placed| self.pieces[placed.piece].length_m * self.pieces[placed.piece].width_m).sum();
        let left_m2: f64 = boards.iter().flat_map(|board| &board.left).map(Area::m2).sum();
        let waste = if used_m2 > 0.0 { 1.0 - (pieces_m2 + left_m2) / used_m2 } else { 0.0 };
        let missing = cutting.missing.iter().map(|index| (*index, self.why(&self.pieces[*index])));
        let missing = missing.collect();
        let boards_at_least = self.boards_at_least(&boards);
        CutList { boards, missing, waste, boards_at_least }
    }

    fn cut_board(&self, cutting: &Cutting, board: usize) -> CutBoard {
        let (mut placed, mut cuts, mut left) = (Vec::new(), self.ends(board), Vec::new());
        // Depth first: a part is cut up before the next one is taken up.
        let mut waiting = vec![board];
        while let Some(at) = waiting.pop() {
            let (part, split) = &cutting.parts[at];
            match split {
                Some((split, rests)) => {
                    cuts.extend(split.cuts.iter().copied());
                    placed.push(split.placed);
                    waiting.extend(rests.iter().rev());
                }
                None if part.defects.is_empty() && self.usable(&part.area) => left.push(part.area),
                None => {}
            }
        }
        placed.sort_by(|a: &Placed, b| a.area.along_m[0].total_cmp(&b.area.along_m[0]));
        left.sort_by(|a, b| b.m2().total_cmp(&a.m2()));
        CutBoard { board, placed, cuts, left }
    }

    /// The two ends first.
    fn ends(&self, board: usize) -> Vec<Cut> {
        let (end_m, whole) = (self.allowances.end_m, self.boards[board].clear(0.0));
        if end_m <= 0.0 {
            return Vec::new();
        }
        let kerf_m = self.allowances.kerf_m;
        let rest = Area { along_m: [end_m, whole.along_m[1]], ..whole };
        vec![
            Cut { part: whole, way: Way::Crosscut, at_m: (end_m - kerf_m).max(0.0) },
            Cut { part: rest, way: Way::Crosscut, at_m: whole.along_m[1] - end_m },
        ]
    }

    /// Whether a rest could hold the smallest piece wanted.
    fn usable(&self, area: &Area) -> bool {
        let [length_m, width_m] = area.size_m();
        self.pieces.iter().any(|piece| {
            let rough = self.allowances.rough_m(piece);
            rough[0] <= length_m + 1e-9 && rough[1] <= width_m + 1e-9
        })
    }

    fn why(&self, piece: &Piece) -> Missing {
        let rough = self.allowances.rough_m(piece);
        let thick: Vec<usize> = (0..self.boards.len()).filter(|board| self.fits_thickness(piece, *board)).collect();
        let wide = |board: &&usize| self.boards[**board].width_m + 1e-9 >= rough[1];
        let holds = |board: &usize| {
            let part = Part::of_board(*board, &self.boards[*board], self.allowances.end_m);
            part.spot(rough, self.allowances.kerf_m).is_some()
        };
        if thick.is_empty() {
            Missing::Thickness
        } else if !thick.iter().any(|board| wide(&board)) {
            Missing::Width
        } else if !thick.iter().any(holds) {
            Missing::Length
        } else {
            Missing::Room
        }
    }

    /// No cutting of the pieces that were placed needs fewer boards: the largest ones' clear areas must hold the pieces, each with its
    /// over-size; saw cuts left aside.
    fn boards_at_least(&self, cut: &[CutBoard]) -> usize {
        let wanted_m2: f64 = cut.iter().flat_map(|board| &board.placed).map(|placed| placed.area.m2()).sum();
        let mut clear_m2: Vec<f64> = self.boards.iter().map(|board| board.clear(self.allowances.end_m).m2()).collect();
        clear_m2.sort_by(|a, b| b.total_cmp(a));
        let mut held_m2 = 0.0;
        for (count, m2) in clear_m2.iter().enumerate() {
            if held_m2 + 1e-12 >= wanted_m2 {
                return count;
            }
            held_m2 += m2;
        }
        clear_m2.len()
    }
}
