#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
//! What belongs to more than one file of the frame. Bars here are invented.
use super::*;

/// A row whose nodes lie on known rails, the outer one converging by `slopes[0]`, but for normal noise.
pub(super) fn invented_row(slopes: [f64; 2], noise_m: f64, seed: u64) -> FitTask {
    let mut random = fastrand::Rng::with_seed(seed);
    // The sum of twelve even numbers less six is as good as normal here.
    let mut normal = move || (0..12).map(|_| random.f64()).sum::<f64>() - 6.0;
    let mut edge_m = 0.0;
    let bars = (0..36).map(|i| {
        let t = f64::from(i) / 35.0;
        let width_m = 0.072 - 0.032 * t;
        let centre_x_m = edge_m + width_m / 2.0;
        edge_m += width_m + 0.0127;
        let span_m = 0.384 + (slopes[1] - slopes[0]) * (centre_x_m - 0.036);
        // Nodes at 0.169 of the length in the bass and 0.219 in the treble (`reference/node_drift.csv`).
        let length_m = span_m / (0.662 - 0.1 * t);
        let mut line = |y_m: f64, slope: f64| [-0.5, 0.5].map(|side| y_m + side * slope * width_m + noise_m * normal());
        let first_m = (length_m - span_m) / 2.0;
        let nodes = NodeLines { player_m: line(first_m, slopes[0]), away_m: line(first_m + span_m, slopes[1]) };
        FitBar {
            name: format!("bar {}", i + 1),
            centre_x_m,
            width_m,
            length_m,
            nodes: Some(nodes),
            sigma_m: noise_m.max(1e-4),
            motion_per_m: None,
        }
    });
    FitTask::new(Row::Natural, bars.collect())
}

/// Equal up to rounding.
fn same(a: [f64; 2], b: [f64; 2]) -> bool {
    a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-12)
}

fn slopes(fit: &RowFit) -> [f64; 2] {
    [0, 1].map(|i| fit.rails[i].slope_at(0.5))
}

#[test]
fn a_row_without_noise_gives_its_rails_back() {
    let fit = fit_row(&invented_row([0.10, -0.02], 0.0, 1)).unwrap();
    // Normal equations of a well-posed problem: some ten digits are left.
    assert!((slopes(&fit)[0] - 0.10).abs() < 1e-9 && (slopes(&fit)[1] + 0.02).abs() < 1e-9, "{:?}", slopes(&fit));
    assert!(fit.bars.iter().all(|b| b.worst_m() < 1e-10));
    assert!((fit.outer_share.unwrap() - 0.10 / 0.12).abs() < 1e-8);
    assert!(doubts(&fit).is_empty(), "{:?}", doubts(&fit));
}

#[test]
fn noise_moves_the_rails_by_no_more_than_the_stated_doubt() {
    let span_at = |fit: &RowFit, x: f64| fit.rails[1].y_at(x) - fit.rails[0].y_at(x);
    let mut squares = 0.0;
    for seed in 0..100 {
        let task = invented_row([0.10, -0.02], 1e-3, seed);
        let fit = fit_row(&task).unwrap();
        let last = task.bars.last().map(|b| b.centre_x_m + b.width_m / 2.0).unwrap();
        for (x, sigma) in [0.0, last].into_iter().zip(fit.span_sigma_m) {
            squares += ((span_at(&fit, x) - (0.384 - 0.12 * (x - 0.036))) / sigma).powi(2);
        }
        assert!(fit.bars.iter().all(|b| !b.misread), "seed {seed}");
    }
    // Mean square of 200 standard normal values, two and two of one fit correlated: 1 ± 0.14 at worst; three of these.
    assert!((0.58..1.42).contains(&(squares / 200.0)), "{}", squares / 200.0);
}

#[test]
fn least_squares_by_another_program_agree() {
    #[derive(serde::Deserialize)]
    struct File {
        cases: Vec<Case>,
    }
    #[derive(serde::Deserialize)]
    struct Case {
        name: String,
        row: String,
        bars: Vec<Bar>,
        found: Found,
    }
    #[derive(serde::Deserialize)]
    struct Bar {
        x: f64,
        width: f64,
        length: f64,
        nodes: [[f64; 2]; 2],
    }
    #[derive(serde::Deserialize)]
    struct Found {
        span: f64,
        slopes: [f64; 2],
        ends: Vec<f64>,
    }
    // Made by reference/scripts/rails_by_numpy.py.
    let file: File = serde_json::from_str(include_str!("../../../../reference/rails_by_numpy.json")).unwrap();
    for case in file.cases {
        let bars = case.bars.iter().enumerate().map(|(i, b)| FitBar {
            name: format!("bar {i}"),
            centre_x_m: b.x,
            width_m: b.width,
            length_m: b.length,
            nodes: Some(NodeLines { player_m: b.nodes[0], away_m: b.nodes[1] }),
            sigma_m: 1e-3,
            motion_per_m: None,
        });
        let row = if case.row == "accidental" { Row::Accidental } else { Row::Natural };
        let outer_share = if case.row == "free" { (0.0, 1.0) } else { (1.0, 1.0) };
        let fit = fit_row(&FitTask { outer_share, ..FitTask::new(row, bars.collect()) }).unwrap();
        let origin = case.bars[0].x;
        // Both are direct solutions of one linear problem; the normal equations cost half the digits of sixteen.
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-8, "{}: {a} against {b}", case.name);
        near(fit.rails[0].y_at(origin), 0.0);
        near(fit.rails[1].y_at(origin), case.found.span);
        for rail in [0, 1] {
            near(slopes(&fit)[rail], case.found.slopes[rail]);
        }
        for (bar, end) in fit.bars.iter().zip(&case.found.ends) {
            near(bar.ends_y_m()[0], *end);
        }
    }
}

#[test]
fn a_bar_read_from_the_wrong_end_is_named_and_turns_no_rail() {
    let clean = invented_row([0.10, -0.02], 5e-4, 3);
    let mut wrong = clean.clone();
    if let Some(nodes) = &mut wrong.bars[20].nodes {
        nodes.away_m = nodes.away_m.map(|y| y - 0.022);
    }
    let (clean, fit) = (fit_row(&clean).unwrap(), fit_row(&wrong).unwrap());
    let named: Vec<&str> = fit.bars.iter().filter(|b| b.misread).map(|b| b.bar.name.as_str()).collect();
    assert_eq!(named, ["bar 21"]);
    assert_eq!(doubts(&fit)[0].code, "misread");
    // The rest are one reading in 36 fewer.
    assert!((slopes(&fit)[0] - slopes(&clean)[0]).abs() < 1e-3 && (slopes(&fit)[1] - slopes(&clean)[1]).abs() < 1e-3);
}

#[test]
fn a_bar_salted_with_the_other_face_up_is_named() {
    let mut task = invented_row([0.12, 0.0], 2e-4, 4);
    for bar in &mut task.bars {
        let lean = |[left, right]: [f64; 2], by: f64| [left - by / 2.0, right + by / 2.0];
        let nodes = bar.nodes.as_mut().unwrap();
        // Both lines of a bar lean alike: by turned grain.
        *nodes = NodeLines {
            player_m: lean([nodes.middles_m()[0]; 2], 0.0055),
            away_m: lean([nodes.middles_m()[1]; 2], 0.0055),
        };
    }
    let swapped = task.bars[7]
        .nodes
        .map(|n| NodeLines { player_m: [n.player_m[1], n.player_m[0]], away_m: [n.away_m[1], n.away_m[0]] });
    task.bars[7].nodes = swapped;
    let doubts = doubts(&fit_row(&task).unwrap());
    assert_eq!(doubts.len(), 1, "{doubts:?}");
    assert!(
        doubts[0].name == "bar 8" && doubts[0].code == "leans_across" && doubts[0].hint.contains("other face"),
        "{doubts:?}"
    );
}

#[test]
fn a_bar_not_yet_read_gets_its_neighbours_shares_and_says_so() {
    let mut task = invented_row([0.10, -0.02], 0.0, 5);
    task.bars[10].nodes = None;
    let fit = fit_row(&task).unwrap();
    assert!(fit.bars[10].interpolated && fit.bars[10].worst_middle_m() < 1e-3);
    assert_eq!(doubts(&fit)[0].code, "not_read");
}

#[test]
fn a_bent_row_wants_a_second_segment_where_it_bends() {
    let mut task = invented_row([0.10, -0.02], 0.0, 6);
    let bend_m = task.bars[17].centre_x_m;
    for bar in &mut task.bars {
        let more = 0.06 * (bar.centre_x_m - bend_m).max(0.0);
        let nodes = bar.nodes.as_mut().unwrap();
        nodes.away_m = nodes.away_m.map(|y| y + more);
        bar.length_m += 1.6 * more;
    }
    let straight = fit_row(&task).unwrap();
    let (x_m, bent) = best_kink(&task, &straight).unwrap().unwrap();
    assert!((x_m - bend_m).abs() < 0.06, "within a bar of the bend: {x_m} against {bend_m}");
    assert!(bent.rms_motion() < straight.rms_motion() / 5.0, "{} {}", bent.rms_motion(), straight.rms_motion());
}

#[test]
fn fair_ends_cost_little_at_the_nodes() {
    let task = invented_row([0.10, -0.02], 1e-3, 8);
    let rough = |fit: &RowFit| fit.unfair_m().iter().map(|u| u * u).sum::<f64>().sqrt();
    let free = fit_row(&task).unwrap();
    let fair = fit_row(&FitTask { fairness: 1.0, ..task }).unwrap();
    assert!(rough(&fair) < rough(&free), "{} {}", rough(&fair), rough(&free));
    assert!(fair.rms_motion() >= free.rms_motion() - 1e-12);
}

#[test]
fn rows_of_two_and_three_bars_and_parallel_rails_are_laid() {
    for count in [2, 3] {
        let mut task = invented_row([0.10, -0.02], 0.0, 9);
        task.bars.truncate(count);
        assert!(fit_row(&task).unwrap().bars.iter().all(|b| b.worst_m() < 1e-9));
    }
    let parallel = fit_row(&invented_row([0.0, 0.0], 0.0, 10)).unwrap();
    assert!(parallel.outer_share.is_none() && parallel.rails.iter().all(|r| r.slope_at(0.3).abs() < 1e-9));
    let mut one = invented_row([0.1, 0.0], 0.0, 11);
    one.bars.truncate(1);
    assert_eq!(fit_row(&one).unwrap_err().code, "too_few_bars");
}

#[test]
fn a_number_from_the_other_end_is_refused_with_its_name() {
    let mut task = invented_row([0.1, 0.0], 0.0, 12);
    task.bars[4].nodes.as_mut().unwrap().away_m[1] = 0.12;
    let error = fit_row(&task).unwrap_err();
    assert!(error.message.contains("bar 5") && error.hint.contains("from the end that faces the player"), "{error:?}");
}

#[test]
fn holes_follow_the_rails_as_built() {
    let task = invented_row([0.10, -0.02], 5e-4, 13);
    let planned = fit_row(&task).unwrap();
    let end = planned.rails[0].points()[1].0;
    // The far rail was set 3 mm too far away at the treble end and bows 2 mm in the middle.
    let line = |rail: &Rail, x: f64, off: f64| (x, rail.y_at(x) + off);
    let built = BuiltRails {
        player: vec![line(&planned.rails[0], 0.0, 0.0), line(&planned.rails[0], end, 0.0)],
        away: vec![
            line(&planned.rails[1], 0.0, 0.0),
            line(&planned.rails[1], end / 2.0, 2e-3),
            line(&planned.rails[1], end, 3e-3),
        ],
    };
    let standing = follow(&task, &built, 5e-4).unwrap();
    let last = |fit: &RowFit| fit.bars.last().unwrap().clone();
    let spans =
        |bar: &FittedBar| f64::midpoint(bar.cords_m[1][0] - bar.cords_m[0][0], bar.cords_m[1][1] - bar.cords_m[0][1]);
    let more = spans(&last(&standing)) - spans(&last(&planned));
    // At the last bar's middle the rail is nearly 3 mm off (it ends 20 mm beyond, with 1 mm over half the frame).
    assert!((more - 3e-3).abs() < 1e-4, "{more}");
    assert!(standing.rms_motion() > planned.rms_motion());
}

#[test]
fn the_drill_chart_tells_both_views_and_the_wood_that_is_left() {
    let fit = fit_row(&invented_row([0.10, -0.02], 0.0, 14)).unwrap();
    let task = DrillTask { below_top_m: 0.010, diameter_m: 0.006, faces: FacesPlayer::LeftEnd };
    let bars = drill(&fit, task, |index, _| (index == 0).then_some(0.0165)).unwrap();
    let [player, away] = bars[0].holes;
    assert_eq!((player.slant().sign(), away.slant().sign()), ("/", "\\"));
    assert!((player.angle_rad.tan() - 0.10).abs() < 1e-9 && (player.over_m - 0.007).abs() < 1e-12);
    // 16.5 mm of wood, the hole's lower edge at 13 mm.
    assert!((player.under_m.unwrap() - 0.0035).abs() < 1e-12 && player.is_weak());
    assert!(bars[1].holes[0].under_m.is_none() && !bars[1].holes[0].is_weak());
    // Bench view is the inverse of the way the nodes came: near edge is the right side when the left end faces the player.
    assert!(same(player.bench_m, [player.from_player_end_m[1], player.from_player_end_m[0]]));
    assert!(
        drill(&fit, DrillTask { below_top_m: 0.002, ..task }, |_, _| None).is_err(),
        "it would break out of the top"
    );
}

#[test]
fn bench_numbers_come_to_the_instrument_and_keep_their_lean() {
    // A positive tilt (far less near) leans "\" in instrument view whichever end faces the player; rolled over it leans "/".
    let bench = BenchNodes { left_m: [0.080, 0.084], right_m: [0.386, 0.390] };
    for faces in [FacesPlayer::LeftEnd, FacesPlayer::RightEnd] {
        let lines = bench.on_instrument(0.470, faces);
        for (rise, rolled) in lines.rises_m().into_iter().zip(bench.rolled().on_instrument(0.470, faces).rises_m()) {
            assert!((rise + 0.004).abs() < 1e-12 && (rolled - 0.004).abs() < 1e-12, "{faces:?}");
            assert_eq!(Slant::of(rise / 0.06).sign(), "\\");
        }
    }
    let left = bench.on_instrument(0.470, FacesPlayer::LeftEnd);
    assert!(same(left.player_m, [0.084, 0.080]));
}

#[test]
fn accidentals_lie_over_their_gaps() {
    let names = ["C3", "C♯3", "D3", "D♯3", "E3", "F3", "F♯3"];
    let bars: Vec<LayoutBar> = names
        .iter()
        .enumerate()
        .map(|(i, name)| LayoutBar { name: (*name).to_owned(), semitone: 36 + i as i32, width_m: 0.06 })
        .collect();
    let layout = lay_out(&bars, Gap::default(), false).unwrap();
    let x: Vec<f64> = layout.places.iter().map(|p| p.centre_x_m * 1e3).collect();
    // By hand: naturals at 30, 102.7, 175.4, 248.1; C♯ over the gap 60–72.7; F♯ half a gap beyond F's edge at 278.1.
    for (got, hand) in x.iter().zip([30.0, 66.35, 102.7, 139.05, 175.4, 248.1, 284.45]) {
        assert!((got - hand).abs() < 1e-9, "{x:?}");
    }
    // From C's edge at 0 to F♯'s edge.
    assert!((layout.overall_m - 0.31445).abs() < 1e-12, "{}", layout.overall_m);
    assert!(layout.tight.is_empty(), "{:?}", layout.tight);
    let one = lay_out(&bars, Gap { between_m: 0.01 }, true).unwrap();
    assert!((one.overall_m - (7.0 * 0.06 + 6.0 * 0.01)).abs() < 1e-12);
    let alone = lay_out(&bars[1..2], Gap::default(), false).unwrap_err();
    assert_eq!(alone.code, "no_natural");
}

#[test]
fn overlaps_are_told_against_the_longer_natural() {
    let naturals = [(0.0, 0.5), (0.1, 0.48), (0.2, 0.46)];
    let told = layout::overlaps_m(&naturals, &[(0.05, 0.49), (0.15, 0.47)]);
    // Longer neighbour's end 0.50 and 0.48.
    assert!(told.iter().all(|(_, overlap)| (overlap - 0.01).abs() < 1e-12), "{told:?}");
}

#[test]
fn a_whole_frame_sets_the_accidentals_over_the_naturals_ends() {
    let bar = |semitone: i32| {
        let t = f64::from(semitone - 48) / 24.0;
        let length_m = 0.36 - 0.14 * t;
        let (share, lean) = (0.2 + 0.015 * t, 0.002);
        let line = |y_m: f64| [y_m - lean, y_m + lean];
        FrameBar {
            name: format!("note {semitone}"),
            semitone,
            length_m,
            width_m: 0.05 - 0.008 * t,
            nodes: Some(NodeLines { player_m: line(share * length_m), away_m: line((1.0 - share) * length_m) }),
            sigma_m: 1e-3,
            motion_per_m: None,
        }
    };
    let task = FrameTask::new((48..=72).map(bar).collect());
    let plan = lay_frame(&task).unwrap();
    assert_eq!(plan.rows.iter().map(|r| r.bars.len()).collect::<Vec<_>>(), [15, 10]);
    // Every accidental's end lies over the longer natural beside it, by 10 mm on average.
    let overlaps: Vec<f64> = plan.rows[1]
        .bars
        .iter()
        .map(|accidental| {
            let x = accidental.bar.centre_x_m;
            let beside =
                plan.rows[0].bars.iter().filter(|n| (n.bar.centre_x_m - x).abs() < 0.05).map(|n| n.ends_y_m()[1]);
            beside.fold(f64::NEG_INFINITY, f64::max) - accidental.ends_y_m()[0]
        })
        .collect();
    let mean = overlaps.iter().sum::<f64>() / overlaps.len() as f64;
    assert!((mean - 0.01).abs() < 1e-9, "{overlaps:?}");
    assert!((plan.overlap.unwrap().mean_m - 0.01).abs() < 1e-9);
    // The share it proposes evens the overlap out.
    let even = plan.overlap.unwrap().even_share.unwrap();
    let evened = lay_frame(&FrameTask { outer_share: (even, even), ..task.clone() }).unwrap().overlap.unwrap();
    let drift = |o: Overlap| (o.ends_m[0] - o.ends_m[1]).abs();
    // Turning the rails slides the bars a little in their own frames too: a twentieth of the drift, or a millimetre.
    assert!(drift(evened) < drift(plan.overlap.unwrap()) / 20.0 + 1e-3, "{even} {evened:?}");
    // Rails that stand as planned change nothing but the lean of bars not square to them.
    let built: Vec<BuiltRow> = plan
        .rows
        .iter()
        .map(|r| BuiltRow {
            row: r.row,
            rails: BuiltRails { player: r.rails[0].points().to_vec(), away: r.rails[1].points().to_vec() },
        })
        .collect();
    let standing = on_built(&task, &built, 1e-3).unwrap();
    for (planned, stands) in plan.rows.iter().zip(&standing.rows) {
        for (a, b) in planned.bars.iter().zip(&stands.bars) {
            assert!((a.centre_y_m - b.centre_y_m).abs() < 1e-9, "{}", a.bar.name);
        }
    }
    assert_eq!(on_built(&task, &built[..1], 1e-3).unwrap_err().code, "rails_missing");
    let one_row = lay_frame(&FrameTask { one_row: true, bend_after: vec![12], ..task.clone() }).unwrap();
    assert!(one_row.rows.len() == 1 && one_row.rows[0].rails[0].points().len() == 3);
    assert_eq!(lay_frame(&FrameTask { bend_after: vec![24], ..task }).unwrap_err().code, "kink_at_the_end");
}
