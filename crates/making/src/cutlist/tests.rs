//! Cut lists against what can be cut: known fits, all cuttings of small cases, and what no list may break.
use super::part::Part;
use super::*;
use proptest::prelude::*;

const TRIALS: usize = 6000;

fn board(length_m: f64, width_m: f64, defects: &[([f64; 2], [f64; 2])]) -> Board {
    let defect = |(along_m, across_m): &([f64; 2], [f64; 2])| Defect {
        along_m: *along_m,
        across_m: *across_m,
        what: "knot".to_owned(),
    };
    Board { name: "A".to_owned(), length_m, width_m, thickness_m: 0.026, defects: defects.iter().map(defect).collect() }
}

fn piece(length_m: f64, width_m: f64) -> Piece {
    Piece { name: "C4".to_owned(), length_m, width_m, thickness_m: 0.022, spare: false }
}

/// Nothing added: sizes as the saw leaves them.
const BARE: Allowances =
    Allowances { over_length_m: 0.0, over_width_m: 0.0, over_thickness_m: 0.0, end_m: 0.0, kerf_m: 0.003 };

fn list(boards: &[Board], pieces: &[Piece], allowances: Allowances) -> CutList {
    cut(boards, pieces, allowances, TRIALS, &mut |_, _| ()).unwrap()
}

/// What every list must keep.
fn sound(boards: &[Board], pieces: &[Piece], allowances: Allowances, list: &CutList) {
    let placed: Vec<(usize, &Placed)> =
        list.boards.iter().flat_map(|b| b.placed.iter().map(move |placed| (b.board, placed))).collect();
    let mut seen: Vec<usize> = placed.iter().map(|(_, placed)| placed.piece).collect();
    seen.extend(list.missing.iter().map(|(piece, _)| *piece));
    seen.sort_unstable();
    assert_eq!(seen, (0..pieces.len()).collect::<Vec<_>>(), "every piece once");
    for (i, (at, one)) in placed.iter().enumerate() {
        let board = &boards[*at];
        let clear = board.clear(allowances.end_m);
        let inside = |inner: [f64; 2], outer: [f64; 2]| inner[0] >= outer[0] - 1e-9 && inner[1] <= outer[1] + 1e-9;
        assert!(inside(one.area.along_m, clear.along_m) && inside(one.area.across_m, clear.across_m), "{one:?}");
        let rough = allowances.rough_m(&pieces[one.piece]);
        assert!(one.area.size_m().iter().zip(rough).all(|(is, wanted)| (is - wanted).abs() < 1e-9), "{one:?}");
        assert!(board.thickness_m >= pieces[one.piece].thickness_m + allowances.over_thickness_m - 1e-9);
        for defect in &board.defects {
            let defect = Area { along_m: defect.along_m, across_m: defect.across_m };
            assert!(!defect.overlaps(&one.area), "{one:?} {defect:?}");
        }
        // A saw cut's width lies between any two pieces.
        let grown = Area {
            along_m: [one.area.along_m[0] - allowances.kerf_m, one.area.along_m[1] + allowances.kerf_m],
            across_m: [one.area.across_m[0] - allowances.kerf_m, one.area.across_m[1] + allowances.kerf_m],
        };
        for (other_at, other) in &placed[i + 1..] {
            assert!(other_at != at || !grown.overlaps(&other.area), "{one:?} {other:?}");
        }
    }
    for board in &list.boards {
        for cut in &board.cuts {
            let kerf = match cut.way {
                Way::Crosscut => Area { along_m: [cut.at_m, cut.at_m + allowances.kerf_m], ..cut.part },
                Way::Rip => Area { across_m: [cut.at_m, cut.at_m + allowances.kerf_m], ..cut.part },
            };
            assert!(board.placed.iter().all(|placed| !placed.area.overlaps(&kerf)), "a piece is sawn through: {cut:?}");
        }
        for left in &board.left {
            assert!(board.placed.iter().all(|placed| !placed.area.overlaps(left)));
        }
    }
    assert!(list.boards_at_least <= list.boards.len(), "the bound is above what was done");
}

#[test]
fn pieces_that_fill_a_board_to_the_last_saw_cut_are_found() {
    // Two lengths of 498.5 mm and one cut of 3 mm make 1 m; two widths of 98.5 mm and one cut make 200 mm.
    let (boards, pieces) = ([board(1.0, 0.2, &[])], vec![piece(0.4985, 0.0985); 4]);
    let full = list(&boards, &pieces, BARE);
    sound(&boards, &pieces, BARE, &full);
    assert!(full.missing.is_empty() && full.boards_at_least == 1);
    // The saw's cuts are the only waste: 1 − 4 · 0.4985 · 0.0985 / 0.2.
    assert!((full.waste - (1.0 - 4.0 * 0.4985 * 0.0985 / 0.2)).abs() < 1e-9, "{}", full.waste);
    // A hair more, and one row of them has no place.
    let more = list(&boards, &vec![piece(0.4985, 0.0986); 4], BARE);
    assert_eq!(more.missing.len(), 2);
    assert!(more.missing.iter().all(|(_, why)| *why == Missing::Room));
}

#[test]
fn a_long_piece_goes_beside_a_knot_and_no_piece_over_one() {
    // Between the knot and the far edge 100 mm stay clear over the whole length.
    let boards = [board(1.0, 0.2, &[([0.45, 0.5], [0.0, 0.09])])];
    let pieces = [piece(0.95, 0.1), piece(0.44, 0.08), piece(0.48, 0.08)];
    let all = list(&boards, &pieces, BARE);
    sound(&boards, &pieces, BARE, &all);
    assert!(all.missing.is_empty(), "{:?}", all.missing);
}

#[test]
fn what_has_no_place_is_told_why() {
    let boards = [board(0.3, 0.1, &[])];
    let thick = Piece { thickness_m: 0.03, ..piece(0.2, 0.05) };
    let pieces = [thick, piece(0.2, 0.12), piece(0.5, 0.06), piece(0.29, 0.09), piece(0.29, 0.09)];
    let told = list(&boards, &pieces, BARE);
    let mut missing = told.missing;
    missing.sort_by_key(|(piece, _)| *piece);
    let why: Vec<Missing> = missing.iter().map(|(_, why)| *why).collect();
    assert_eq!(why, [Missing::Thickness, Missing::Width, Missing::Length, Missing::Room]);
}

#[test]
fn a_knot_can_make_a_long_board_short() {
    let boards = [board(1.0, 0.1, &[([0.48, 0.52], [0.0, 0.1])])];
    let told = list(&boards, &[piece(0.6, 0.05)], BARE);
    assert_eq!(told.missing, [(0, Missing::Length)]);
}

#[test]
fn bars_come_before_spares_and_wrong_sizes_are_named() {
    let boards = [board(0.5, 0.1, &[])];
    let spare = Piece { spare: true, ..piece(0.49, 0.09) };
    let told = list(&boards, &[spare, piece(0.48, 0.09)], BARE);
    assert_eq!(told.missing, [(0, Missing::Room)]);
    let refused = |board: Board| cut(&[board], &[piece(0.4, 0.05)], BARE, 1, &mut |_, _| ()).unwrap_err();
    let wrong = refused(board(0.5, 0.1, &[([0.4, 0.7], [0.0, 0.05])]));
    assert!(wrong.code == "out_of_range" && wrong.message.contains("knot of board A ends along"), "{wrong}");
    assert_eq!(refused(board(f64::NAN, 0.1, &[])).code, "out_of_range");
    let no_kerf = Allowances { kerf_m: 0.0, ..BARE };
    assert!(cut(&boards, &[piece(0.4, 0.05)], no_kerf, 1, &mut |_, _| ()).is_err());
}

#[test]
fn spares_are_one_in_six_in_the_bass_and_one_in_ten_above_and_serve_their_group() {
    let bars: Vec<Piece> = (0..61).map(|i| piece(0.58 - 0.007 * f64::from(i), 0.07 - 0.0005 * f64::from(i))).collect();
    let more = spares(&bars);
    // Twelve bars: two; the other forty-nine: five.
    assert_eq!(more.len(), 7);
    assert!((more[2].length_m - bars[12].length_m).abs() < 1e-12 && more.iter().all(|piece| piece.spare));
    assert!(spares(&[]).is_empty());
}

/// The most of the pieces' area that any order, any part and any way of cutting gets out of one board.
fn best_m2(parts: Vec<Part>, pieces: &[Piece], left: &[usize]) -> f64 {
    let mut best = 0.0_f64;
    for (taken, index) in left.iter().enumerate() {
        let rough = BARE.rough_m(&pieces[*index]);
        let rest: Vec<usize> = left.iter().enumerate().filter(|(i, _)| *i != taken).map(|(_, index)| *index).collect();
        for at in 0..parts.len() {
            let Some(spot) = parts[at].spot(rough, BARE.kerf_m) else { continue };
            for first in [Way::Crosscut, Way::Rip] {
                let mut next = parts.clone();
                let split = next.swap_remove(at).split(*index, spot, rough, first, BARE.kerf_m);
                next.extend(split.rests);
                best = best.max(rough[0] * rough[1] + best_m2(next, pieces, &rest));
            }
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]
    /// Against all cuttings of this kind: with up to five pieces the search finds the best of them.
    #[test]
    fn small_cases_are_cut_as_well_as_can_be(
        sizes in prop::collection::vec((0.1_f64..0.6, 0.03_f64..0.12), 2..5),
        knot in (0.1_f64..0.8, 0.0_f64..0.15),
    ) {
        let boards = [board(1.0, 0.2, &[([knot.0, knot.0 + 0.05], [knot.1, knot.1 + 0.04])])];
        let pieces: Vec<Piece> = sizes.iter().map(|(length_m, width_m)| piece(*length_m, *width_m)).collect();
        let found = list(&boards, &pieces, BARE);
        sound(&boards, &pieces, BARE, &found);
        let got: f64 = found.boards.iter().flat_map(|b| &b.placed).map(|placed| placed.area.m2()).sum();
        let all: Vec<usize> = (0..pieces.len()).collect();
        let best = best_m2(vec![Part::of_board(0, &boards[0], 0.0)], &pieces, &all);
        prop_assert!(got > best - 1e-9, "{got} of {best}");
    }

    #[test]
    fn every_list_is_sound(
        sizes in prop::collection::vec((0.1_f64..0.6, 0.03_f64..0.08, 0.015_f64..0.03, any::<bool>()), 1..25),
        racks in prop::collection::vec((0.4_f64..2.5, 0.08_f64..0.25, 0.0_f64..0.9, 0.0_f64..0.9), 1..5),
    ) {
        let boards: Vec<Board> = racks.iter().map(|(length_m, width_m, x, y)| {
            let (x, y) = (x * length_m, y * width_m);
            board(*length_m, *width_m, &[([x, (x + 0.06).min(*length_m)], [y, (y + 0.03).min(*width_m)])])
        }).collect();
        let pieces: Vec<Piece> = sizes.iter().map(|(length_m, width_m, thickness_m, spare)| {
            Piece { thickness_m: *thickness_m, spare: *spare, ..piece(*length_m, *width_m) }
        }).collect();
        let usual = Allowances::default();
        let found = cut(&boards, &pieces, usual, 10, &mut |_, _| ()).unwrap();
        sound(&boards, &pieces, usual, &found);
    }
}
