//! Symmetric frames, rails set by hand, and the frame's members. Bars here are invented.
use making::frame::{
    BuiltRails, BuiltRow, FrameBar, FramePlan, FrameTask, MembersTask, NodeLines, Row, lay_frame, members,
};

/// Two octaves of bars whose nodes lie at this share of their length, leaning with the usual rails.
fn octaves(lean_m: f64) -> FrameTask {
    let bar = |semitone: i32| {
        let t = f64::from(semitone - 48) / 24.0;
        let length_m = 0.36 - 0.14 * t;
        let share = 0.2 + 0.015 * t;
        let accidental = matches!(semitone.rem_euclid(12), 1 | 3 | 6 | 8 | 10);
        let sign = if accidental { -1.0 } else { 1.0 };
        let line = |y_m: f64, lean: f64| [y_m - sign * lean, y_m + sign * lean];
        let (first, second) = if accidental { (0.0, lean_m) } else { (lean_m, 0.0) };
        FrameBar {
            name: format!("note {semitone}"),
            semitone,
            length_m,
            width_m: 0.05 - 0.008 * t,
            nodes: Some(NodeLines {
                player_m: line(share * length_m, first),
                away_m: line((1.0 - share) * length_m, second),
            }),
            sigma_m: 1e-3,
            motion_per_m: None,
        }
    };
    FrameTask::new((48..=72).map(bar).collect())
}

fn outer_slopes(plan: &FramePlan) -> [f64; 2] {
    [plan.rows[0].rails[0].slope_at(0.3), plan.rows[1].rails[1].slope_at(0.3)]
}

fn motion(plan: &FramePlan) -> f64 {
    plan.rows.iter().map(|row| row.rms_motion().powi(2) * row.bars.len() as f64).sum()
}

#[test]
fn a_symmetric_frame_has_outer_rails_of_one_slope_and_no_other_one_is_better() {
    let task = FrameTask { symmetric: true, outer_share: (0.0, 2.0), ..octaves(0.002) };
    let plan = lay_frame(&task).unwrap();
    let [naturals, accidentals] = outer_slopes(&plan);
    assert!((naturals + accidentals).abs() < 1e-12 && naturals > 0.02, "{naturals} {accidentals}");
    let free = lay_frame(&FrameTask { symmetric: false, ..task.clone() }).unwrap();
    assert!(motion(&free) <= motion(&plan) + 1e-12, "a condition can only cost");
    // The slope is a lowest point: rails of both rows turned a little either way, by the shares that do it, cost more.
    for turn in [-0.01, 0.01] {
        let turned = |row: usize| (naturals + turn) / plan.rows[row].converging();
        let cost: f64 = [0, 1]
            .map(|row| {
                let share = turned(row);
                let other = lay_frame(&FrameTask { symmetric: false, outer_share: (share, share), ..task.clone() });
                let fit = &other.unwrap().rows[row];
                fit.rms_motion().powi(2) * fit.bars.len() as f64
            })
            .iter()
            .sum();
        assert!(cost > motion(&plan), "{turn}: {cost} {}", motion(&plan));
    }
    // The shares bind it too: all of the convergence at least, in the row that converges less.
    let bound = lay_frame(&FrameTask { outer_share: (1.0, 1.2), ..task }).unwrap();
    let least = bound.rows.iter().map(|row| row.outer_share.unwrap()).fold(f64::INFINITY, f64::min);
    // The convergence itself moves a little with the slope.
    assert!(least > 0.97, "{least}");
}

#[test]
fn rails_set_by_hand_are_followed_and_the_other_row_is_still_fitted() {
    let task = octaves(0.002);
    let fitted = lay_frame(&task).unwrap();
    let hand = |row: usize, up_m: f64| BuiltRow {
        row: fitted.rows[row].row,
        rails: BuiltRails {
            player: fitted.rows[row].rails[0].points().to_vec(),
            away: fitted.rows[row].rails[1].points().iter().map(|(x, y)| (*x, y + up_m)).collect(),
        },
    };
    let same = lay_frame(&FrameTask { by_hand: vec![hand(0, 0.0), hand(1, 0.0)], ..task.clone() }).unwrap();
    for (a, b) in fitted.rows.iter().zip(&same.rows) {
        assert!((a.rms_motion() - b.rms_motion()).abs() < 1e-9);
        assert_eq!(a.rails, b.rails);
    }
    // The far rail 6 mm farther: each cord misses by half of that, on the same bars.
    let moved = lay_frame(&FrameTask { by_hand: vec![hand(0, 0.006)], ..task }).unwrap();
    for (a, b) in fitted.rows[0].bars.iter().zip(&moved.rows[0].bars) {
        let middle = |bar: &making::frame::FittedBar| bar.misses_m().map(|[l, r]| f64::midpoint(l, r));
        let ([a_player, a_far], [b_player, b_far]) = (middle(a), middle(b));
        assert!((b_player - a_player + 0.003).abs() < 1e-9 && (b_far - a_far - 0.003).abs() < 1e-9);
    }
    assert!((moved.rows[1].rms_motion() - fitted.rows[1].rms_motion()).abs() < 1e-12);
    assert!((moved.overlap.unwrap().mean_m - 0.01).abs() < 1e-9, "the accidentals keep their overlap");
}

/// Three naturals of 60 mm (C, D, E) with their accidentals, on parallel rails that rise by 1 in 10.
fn small() -> (FramePlan, FrameTask) {
    let lean = 0.003;
    let bar = |semitone: i32| FrameBar {
        name: ["C", "C♯", "D", "D♯", "E"][semitone as usize].to_owned(),
        semitone,
        length_m: 0.3,
        width_m: 0.06,
        nodes: Some(NodeLines { player_m: [0.06 - lean, 0.06 + lean], away_m: [0.24 - lean, 0.24 + lean] }),
        sigma_m: 1e-3,
        motion_per_m: None,
    };
    let mut task = FrameTask::new((0..5).map(bar).collect());
    let row = |row, y: f64| BuiltRow {
        row,
        rails: BuiltRails { player: vec![(0.0, y), (0.2, y + 0.02)], away: vec![(0.0, y + 0.18), (0.2, y + 0.2)] },
    };
    task.by_hand = vec![row(Row::Natural, 0.0), row(Row::Accidental, 0.29)];
    (lay_frame(&task).unwrap(), task)
}

#[test]
fn rails_posts_and_end_boards_are_those_worked_out_by_hand() {
    let (plan, task) = small();
    let parts = members(&plan, &task, &MembersTask::default()).unwrap();
    // The first bar begins at 0 and the last ends at 3 × 60 + 2 × 12.7; beyond lie half a gap and a post of 8 mm.
    let [bass, treble] = parts.between_x_m;
    assert!((bass + 0.01435).abs() < 1e-12 && (treble - 0.2054 - 0.01435).abs() < 1e-12, "{bass} {treble}");
    let rises = 1.01_f64.sqrt();
    assert_eq!(parts.rails.len(), 4);
    for rail in &parts.rails {
        assert!((rail.length_m() - (treble - bass) * rises).abs() < 1e-12 && rail.pieces.len() == 1);
        assert!(rail.cuts_rad().iter().all(|cut| (cut - 0.1_f64.atan()).abs() < 1e-12));
    }
    // Naturals: before C, two gaps, beyond E. Accidentals: before C♯, the gap between, beyond D♯.
    let on = |row, rail| parts.posts.iter().filter(move |p| p.row == row && p.rail == rail).collect::<Vec<_>>();
    let x: Vec<f64> = on(Row::Natural, 0).iter().map(|p| p.x_m).collect();
    for (got, hand) in x.iter().zip([-0.00635, 0.06635, 0.13905, 0.21175]) {
        assert!((got - hand).abs() < 1e-12, "{x:?}");
    }
    assert_eq!((x.len(), on(Row::Accidental, 1).len()), (4, 3));
    for post in &parts.posts {
        assert!((post.along_m - (post.x_m - bass) * rises).abs() < 1e-12);
        let rail = &plan.rows.iter().find(|r| r.row == post.row).unwrap().rails[post.rail];
        assert!((post.y_m - rail.y_at(post.x_m)).abs() < 1e-12);
    }
    let board = &parts.end_boards[0];
    assert!(board.bass && board.notches.len() == 4);
    // 20 mm of rail cut at that angle; cord lines 180 mm apart; the accidentals 35 mm higher.
    assert!(board.notches.iter().all(|n| (n.width_m - 0.02 * rises).abs() < 1e-12));
    assert!((board.notches[1].centre_m - board.notches[0].centre_m - 0.18).abs() < 1e-12);
    assert!((board.notches[2].bottom_m - board.notches[0].bottom_m - 0.035).abs() < 1e-12);
    assert!((board.notches[0].centre_m + board.player_end_y_m - plan.rows[0].rails[0].y_at(bass)).abs() < 1e-12);
    assert!((board.notches[3].centre_m + board.notches[3].width_m / 2.0 + 0.025 - board.size_m[0]).abs() < 1e-12);
    // Middles 72.7 mm apart, less 6 mm for the caps.
    assert!(parts.widest_tube_m.iter().all(|(_, widest)| (widest - 0.0667).abs() < 1e-12));
    assert!(parts.doubts.is_empty(), "{:?}", parts.doubts);
}

#[test]
fn a_wide_gap_has_a_post_beside_each_bar() {
    let task = octaves(0.002);
    let plan = lay_frame(&task).unwrap();
    let parts = members(&plan, &task, &MembersTask::default()).unwrap();
    let accidentals = plan.rows[1].bars.len();
    // C♯ to B♭ twice: wide gaps after D♯ and after B♭; with the ends one post more than bars, and one more a wide gap.
    let count = parts.posts.iter().filter(|p| p.row == Row::Accidental && p.rail == 0).count();
    assert_eq!((accidentals, count), (10, 11 + 3));
    let bent = FrameTask { bend_after: vec![12], ..task };
    let plan = lay_frame(&bent).unwrap();
    let parts = members(&plan, &bent, &MembersTask::default()).unwrap();
    assert_eq!(parts.rails.iter().map(|r| r.pieces.len()).collect::<Vec<_>>(), [2, 2, 1, 1]);
}

#[test]
fn what_does_not_fit_is_named() {
    let (plan, task) = small();
    let codes = |task_of: MembersTask| {
        members(&plan, &task, &task_of).unwrap().doubts.iter().map(|d| d.code).collect::<Vec<_>>()
    };
    let usual = MembersTask::default();
    assert_eq!(codes(MembersTask { post_m: 0.012, ..usual }), ["post_too_wide"]);
    // The inner rails lie 110 mm apart.
    assert_eq!(codes(MembersTask { rail_thickness_m: 0.099, ..usual }), Vec::<&str>::new());
    let close = BuiltRow {
        row: Row::Accidental,
        rails: BuiltRails { player: vec![(0.0, 0.19), (0.2, 0.21)], away: vec![(0.0, 0.37), (0.2, 0.39)] },
    };
    let mut near = task.clone();
    near.by_hand[1] = close;
    let near_plan = lay_frame(&near).unwrap();
    let parts = members(&near_plan, &near, &MembersTask { thickest_natural_m: Some(0.03), ..usual }).unwrap();
    let codes: Vec<_> = parts.doubts.iter().map(|d| d.code).collect();
    assert_eq!(codes, ["rails_collide", "too_low"]);
    let refused = members(&plan, &task, &MembersTask { post_m: 0.2, ..usual }).unwrap_err();
    assert!(refused.message.contains("200") && refused.message.contains("40"), "{refused:?}");
}
