//! The schedule of an instrument: pitch against the published table, row lengths against hand-worked sums.
use bar_physics::Wood;
use making::frame::Row;
use making::schedule::{
    BOARD_FOOT_M3, Bettered, Hands, Kind, Law, Specification, assemble, better, plan_bar, replan, row_length_m,
};

fn wood() -> Wood {
    // The wood of TRADE's beam examples: 20 GPa, 1000 kg/m³.
    Wood::generic_hardwood(1000.0, 20e9)
}

fn marimba(lowest: i32, highest: i32) -> Specification {
    Specification::proposal(Kind::Marimba, lowest, highest, 440.0, wood())
}

#[test]
fn pitch_is_iso_16_and_the_published_table() {
    let plain = marimba(36, 96);
    assert!((plain.hz(69) - 440.0).abs() < 1e-12);
    let table = include_str!("../../../../reference/equal_temperament.csv");
    let mut compared = 0;
    for line in table.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (midi, hz): (i32, f64) = (cells[0].parse().unwrap(), cells[2].parse().unwrap());
        // The table is printed to nine decimals.
        assert!((plain.hz(midi) - hz).abs() < 1e-8, "{line}");
        compared += 1;
    }
    assert!(compared >= 61, "{compared}");
}

#[test]
fn stretch_and_temperament_move_their_notes_only() {
    let mut stretched = marimba(36, 96);
    stretched.stretch = vec![(84, 0.0), (96, 12.0)];
    stretched.temperament_cents[4] = -14.0;
    let plain = marimba(36, 96);
    let cents = |midi: i32| bar_physics::units::cents(stretched.hz(midi), plain.hz(midi));
    for (midi, expected) in [(60, 0.0), (84, 0.0), (85, 1.0), (96, 12.0), (64, -14.0)] {
        assert!((cents(midi) - expected).abs() < 1e-9, "{midi}: {}", cents(midi));
    }
}

#[test]
fn compasses_have_the_counts_of_bars_the_trade_names() {
    for (lowest, bars, naturals) in [(48, 49, 29), (45, 52, 31), (41, 56, 33), (36, 61, 36)] {
        let wanted = marimba(lowest, 96).bars().unwrap();
        let of_row = wanted.iter().filter(|bar| bar.row == Row::Natural).count();
        assert_eq!((wanted.len(), of_row), (bars, naturals));
    }
}

#[test]
fn row_lengths_are_the_hand_worked_ones() {
    // Widths of the naturals and 12.7 mm between: 2263 and 1702 mm by the table of widths, 2460 and 1835 mm straight.
    for (lowest, widest_m, smooth_mm, straight_mm) in [(36, 0.072, 2263.0, 2460.0), (48, 0.062, 1702.0, 1835.0)] {
        for (law, expected_mm) in [(Law::Usual(1.0), smooth_mm), (Law::Straight(widest_m, 0.040), straight_mm)] {
            let specification = Specification { width: law, ..marimba(lowest, 96) };
            let wanted = specification.bars().unwrap();
            let naturals = wanted.iter().filter(|bar| bar.row == Row::Natural);
            let widths: Vec<f64> = naturals.map(|bar| bar.width_m).collect();
            let length_mm = 1e3 * row_length_m(&widths, 0.0127);
            // The figures are printed in whole millimetres; the straight one is 2460.5.
            assert!((length_mm - expected_mm).abs() <= 0.51, "{length_mm} {expected_mm}");
        }
    }
}

#[test]
fn net_wood_is_the_hand_worked_sum() {
    // 20.8 running metres and 0.025 m³ = 10.7 board feet for C2–C7; 14.5 m and 6.4 board feet for C3–C7.
    for (lowest, running_m, board_feet) in [(36, 20.8, 10.7), (48, 14.5, 6.4)] {
        let wanted = marimba(lowest, 96).bars().unwrap();
        let length_m: f64 = wanted.iter().map(|bar| bar.length_m).sum();
        let feet = wanted.iter().map(making::schedule::WantedBar::blank_m3).sum::<f64>() / BOARD_FOOT_M3;
        // Both are printed to one decimal, the half rounded either way.
        assert!((length_m - running_m).abs() < 0.06 && (feet - board_feet).abs() < 0.06, "{length_m} m, {feet} bd ft");
    }
}

#[test]
fn sizes_fall_towards_the_treble_and_steps_are_even() {
    let wanted = marimba(36, 108).bars().unwrap();
    assert!(wanted.windows(2).all(|w| w[1].length_m < w[0].length_m && w[1].width_m <= w[0].width_m));
    let stepped = Specification { width: Law::Stepped(1.0, 5), ..marimba(36, 96) }.bars().unwrap();
    let naturals: Vec<f64> = stepped.iter().filter(|b| b.row == Row::Natural).map(|b| b.width_m).collect();
    assert!(naturals.chunks(5).all(|step| step.iter().all(|w| (w - step[0]).abs() < 1e-12)));
    assert!(naturals[0] - naturals[5] > 1e-3);
}

#[test]
fn planned_centres_lie_in_the_trades_ranges_and_accidentals_over_gaps() {
    let specification = marimba(48, 72);
    let wanted = specification.bars().unwrap();
    let bars: Vec<_> = wanted.iter().map(|bar| plan_bar(&specification, bar)).collect();
    let plan = assemble(&specification, bars).unwrap();
    assert!(plan.is_possible(), "{:?}", plan.impossible);
    // Depth of the arch 12–19 mm from bass to middle, from memory; C3 7.1 and C4 7.8 mm by a beam.
    for (index, beam_mm) in [(0, 7.1), (12, 7.8)] {
        let centre_mm = 1e3 * plan.bars[index].made.as_ref().unwrap().arch.centre_m;
        let depth_mm = 1e3 * plan.bars[index].wanted.thickness_m - centre_mm;
        // The arch is another than the beam's quartic: its centre differs by up to a millimetre and a half.
        assert!((12.0..=19.0).contains(&depth_mm) && (centre_mm - beam_mm).abs() < 1.5, "{index}: {centre_mm}");
    }
    let edge = |i: usize, side: f64| plan.centres_x_m[i] + side * plan.bars[i].wanted.width_m / 2.0;
    let gap_middle = f64::midpoint(edge(0, 1.0), edge(2, -1.0));
    assert!((plan.centres_x_m[1] - gap_middle).abs() < 1e-9);
    assert!(plan.frame.is_ok() && plan.rows.iter().all(|row| row.misses_m.len() == row.bars));
    let naturals: Vec<f64> = wanted.iter().filter(|b| b.row == Row::Natural).map(|b| b.width_m).collect();
    assert!((plan.rows[0].overall_m - row_length_m(&naturals, 0.0127)).abs() < 1e-9);
}

#[test]
fn impossible_wishes_are_answered_with_what_would_make_them_possible() {
    let specification = Specification { longest_blank_m: Some(0.3), most_overall_m: Some(0.5), ..marimba(36, 72) };
    // Bars of both ends are enough to see it; the middle is left out, and the time with it.
    let wanted = specification.bars().unwrap();
    let some = wanted.iter().filter(|bar| [36, 38, 40, 69, 71, 72].contains(&bar.midi));
    let plan = assemble(&specification, some.map(|bar| plan_bar(&specification, bar)).collect()).unwrap();
    let words = plan.impossible.join("\n");
    assert!(words.contains("C2 to") && words.contains("blanks of 300 mm") && words.contains("580 mm"), "{words}");
    assert!(words.contains("as the lowest note"), "{words}");
}

#[test]
fn a_wish_out_of_range_names_value_limit_and_next_step() {
    let error = Specification { a4_hz: 4400.0, ..marimba(36, 96) }.bars().unwrap_err();
    assert!(error.message.contains("4400") && error.message.contains("480") && !error.hint.is_empty(), "{error:?}");
    assert_eq!(marimba(37, 96).bars().unwrap_err().code, "out_of_range");
}

fn bettered(specification: &Specification) -> Bettered {
    let plan: &making::schedule::BarRunner<'_> = &|bars, job| bars.iter().map(job).collect();
    better(specification, Hands { plan, told: &|_| () }).unwrap()
}

#[test]
fn better_lengths_bring_the_nodes_to_straight_rails() {
    let specification = marimba(43, 72);
    let Bettered { specification: new, before, after, traded } = bettered(&specification);
    let beyond = |plan: &making::schedule::InstrumentPlan| {
        plan.rows.iter().map(|row| row.beyond_tolerance(plan).len()).sum::<usize>()
    };
    let worst_m = |plan: &making::schedule::InstrumentPlan| {
        plan.rows.iter().flat_map(|row| &row.misses_m).map(|(_, miss_m)| *miss_m).fold(0.0, f64::max)
    };
    // Common lengths from G2 to C5 fall in a curve.
    assert!(worst_m(&before) > 2.0 * worst_m(&after), "{} {}", worst_m(&before), worst_m(&after));
    assert!(beyond(&after) == 0 && after.is_possible(), "{traded:?}");
    for (old, new) in before.bars.iter().zip(&after.bars) {
        let change = new.wanted.length_m / old.wanted.length_m - 1.0;
        let steps = new.wanted.length_m / 0.5e-3;
        // A fifth at the most, and a step of rounding; cut to half a millimetre where it was changed at all.
        assert!(change.abs() < 0.2 + 2e-3 && (steps - steps.round()).abs() < 1e-6, "{} {change}", new.wanted.name);
    }
    // What is written is what was planned.
    let again: Vec<f64> = new.bars().unwrap().iter().map(|bar| bar.length_m).collect();
    assert!(again.iter().zip(&after.bars).all(|(length_m, bar)| (length_m - bar.wanted.length_m).abs() < 1e-12));
    assert!(traded.iter().any(|words| words.contains("straight rails")), "{traded:?}");
}

#[test]
fn what_cannot_be_bettered_is_told_and_no_blank_is_made_longer_than_it_is() {
    let short = Specification { longest_blank_m: Some(0.300), ..marimba(36, 41) };
    let Bettered { after, traded, .. } = bettered(&short);
    assert!(!after.is_possible() && after.bars.iter().all(|bar| bar.wanted.length_m <= 0.300 + 1e-9));
    assert!(traded.iter().any(|words| words.contains("cannot be made")), "{traded:?}");
}

#[test]
fn listed_sizes_are_taken_as_they_are_and_must_rise() {
    let listed = |list: &[(i32, f64)]| Specification { length: Law::Listed(list.to_vec()), ..marimba(48, 60) };
    let bars = listed(&[(48, 0.48), (60, 0.36)]).bars().unwrap();
    let length_m = |midi: i32| bars.iter().find(|bar| bar.midi == midi).unwrap().length_m;
    // Linear between.
    assert!((length_m(48) - 0.48).abs() < 1e-12 && (length_m(54) - 0.42).abs() < 1e-12);
    for wrong in [&[][..], &[(60, 0.4), (48, 0.5)], &[(48, 0.5), (48, 0.4)], &[(48, f64::NAN)]] {
        assert_eq!(listed(wrong).bars().unwrap_err().code, "out_of_range", "{wrong:?}");
    }
}

#[test]
fn only_what_changed_is_planned_anew_and_comes_out_the_same() {
    let specification = marimba(60, 66);
    let count = std::cell::Cell::new(0);
    let run: &making::schedule::BarRunner<'_> = &|bars, job| {
        count.set(count.get() + bars.len());
        bars.iter().map(job).collect()
    };
    let first = assemble(&specification, replan(&specification, None, run).unwrap()).unwrap();
    assert_eq!(count.take(), 7);
    let wider = Specification { highest: 67, ..specification.clone() };
    let changed = Specification { modes: specification.modes.clone(), ..wider };
    let again = replan(&changed, Some((&specification, &first)), run).unwrap();
    assert_eq!((count.take(), again.len()), (1, 8));
    let fresh = replan(&changed, None, run).unwrap();
    count.take();
    for (a, b) in again.iter().zip(&fresh) {
        assert_eq!(a.wanted, b.wanted);
        let centre = |bar: &making::schedule::PlannedBar| bar.made.as_ref().unwrap().arch.centre_m;
        assert!((centre(a) - centre(b)).abs() < 1e-12);
    }
    // Of another wood nothing can be kept.
    let oak = Specification { wood: Wood::generic_hardwood(700.0, 12e9), ..changed };
    replan(&oak, Some((&specification, &first)), run).unwrap();
    assert_eq!(count.take(), 8);
}
