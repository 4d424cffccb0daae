//! The drawings as a maker sees them: nothing collides, nothing panics, and small ones stay as they are.
use paper::sheets::{
    BandMark, BarShape, HalfMark, Ladder, NodeMark, PlanView, Rung, SawView, Sheet, SideView, ladder, plan_view,
    saw_view, side_view,
};
use paper::{Drawing, Item, PaperError, Pen, svg};
use proptest::prelude::*;

/// Lettering keeps at least this from every line: about a fine pen's width, below which ink runs together in print.
const CLEARANCE_MM: f64 = 0.2;

fn blank(length_mm: f64) -> BarShape {
    BarShape {
        name: "C3".into(),
        length_mm,
        width_mm: 50.0,
        underside_mm: vec![
            (0.0, 22.0),
            (length_mm * 0.25, 22.0),
            (length_mm * 0.5, 9.0),
            (length_mm * 0.75, 22.0),
            (length_mm, 22.0),
        ],
    }
}

fn side(length_mm: f64) -> SideView {
    SideView {
        shape: blank(length_mm),
        bands: vec![BandMark { from_mm: 30.0, to_mm: 60.0, depth_mm: 0.3, half: HalfMark::Both }],
        nodes_mm: vec![length_mm * 0.2, length_mm * 0.8],
        least_mm: Some(6.0),
        height_factor: 3.0,
        sheet: Sheet::NARROW,
    }
}

fn assert_readable(drawing: &Drawing) {
    let collisions = drawing.collisions(CLEARANCE_MM);
    assert!(collisions.is_empty(), "{collisions:?}");
}

#[test]
fn a_small_side_view_stays_as_it_is() {
    insta::assert_snapshot!(svg::render(&side_view(&side(365.0)).unwrap(), &svg::Options::on_page("side")));
}

#[test]
fn a_small_ladder_stays_as_it_is() {
    let rungs =
        vec![Rung { name: "mode 1 (×1)".into(), now: 12.0, now_sigma: 2.0, aim: 0.0, expected: Some((5.0, 3.0)) }];
    let drawing = ladder(&Ladder { name: "C4".into(), rungs, sheet: Sheet::NARROW }).unwrap();
    insta::assert_snapshot!(svg::render(&drawing, &svg::Options::on_page("modes")));
}

#[test]
fn the_side_view_says_in_words_what_it_shows() {
    let drawing = side_view(&side(365.0)).unwrap();
    assert_eq!(
        drawing.description,
        "Side view of a bar 365 mm (14 3/8 in) long and 22.0 mm thick, top face up, left end at the left. \
         Take off 0.30 mm of the underside from 30 mm (1 3/16 in) to 60 mm (2 3/8 in) from the centre, on both sides of the centre. \
         Node lines at 73 mm (2 7/8 in) and 292 mm (11 1/2 in) from the left end."
    );
}

#[test]
fn a_band_on_one_side_is_hatched_there_only() {
    for (half, is_left) in [(HalfMark::Left, true), (HalfMark::Right, false)] {
        let mut view = side(365.0);
        view.bands[0].half = half;
        // The legend's patch lies below the wood; take the hatch of the view, the first one.
        let drawing = side_view(&view).unwrap();
        let hatch = drawing.items().iter().find(|i| matches!(i, Item::Hatch { .. })).and_then(Item::bounds).unwrap();
        let middle = Sheet::NARROW.width_mm / 2.0;
        assert_eq!(hatch.max.x < middle, is_left);
        assert_eq!(hatch.min.x > middle, !is_left);
    }
}

#[test]
fn lengths_are_to_scale_and_heights_say_how_much_they_are_not() {
    let view = side(400.0);
    let drawing = side_view(&view).unwrap();
    let wood = drawing
        .items()
        .iter()
        .find(|i| matches!(i, Item::Polygon { pen: Pen::Outline, .. }))
        .and_then(Item::bounds)
        .unwrap();
    // Exact up to rounding: 400 mm on 100 mm of sheet, 22 mm three times too high.
    assert!((wood.width() - 100.0).abs() < 1e-9 && (wood.height() - 22.0 * 0.25 * 3.0).abs() < 1e-9, "{wood:?}");
    let says =
        |drawing: &Drawing, words: &str| drawing.items().iter().any(|i| matches!(i, Item::Text(t) if t.text == words));
    assert!(says(&drawing, "heights × 3"));
    assert!(says(&side_view(&SideView { height_factor: 1.0, ..view }).unwrap(), "true heights"));
}

#[test]
fn a_positive_tilt_leans_like_a_slash_in_bench_view() {
    let node = NodeMark { near_mm: 70.0, centre_mm: 75.0, far_mm: 80.0 };
    let drawing = plan_view(&PlanView { shape: blank(365.0), nodes: vec![node], sheet: Sheet::NARROW }).unwrap();
    let Some(Item::Line { points, .. }) =
        drawing.items().iter().find(|i| matches!(i, Item::Line { pen: Pen::Node, .. }))
    else {
        panic!("no node line");
    };
    let (near, far) = (points[0], points[2]);
    assert!(near.y > far.y, "the near edge is at the bottom of the sheet");
    assert!(far.x > near.x, "the far end lies to the right: /");
}

#[test]
fn names_are_escaped_and_odd_values_are_named() {
    let mut view = side(365.0);
    view.shape.name = "<script>&\u{1}".into();
    let svg = svg::render(&side_view(&view).unwrap(), &svg::Options::picture());
    assert!(svg.contains("&lt;script&gt;&amp;") && !svg.contains("<script") && !svg.contains('\u{1}'));
    view.bands[0].depth_mm = f64::NAN;
    assert!(matches!(side_view(&view), Err(PaperError::NotFinite { .. })));
    view.bands[0] = BandMark { from_mm: -4.0, to_mm: 60.0, depth_mm: 0.3, half: HalfMark::Both };
    let words = side_view(&view).unwrap_err().to_string();
    assert!(words.contains("band") && words.contains("-4") && words.contains('0'), "{words}");
    assert!(matches!(
        ladder(&Ladder { name: String::new(), rungs: vec![], sheet: Sheet::WIDE }),
        Err(PaperError::Empty { .. })
    ));
}

fn any_sheet() -> impl Strategy<Value = Sheet> {
    prop_oneof![Just(Sheet::NARROW), Just(Sheet::WIDE)]
}

fn any_half() -> impl Strategy<Value = HalfMark> {
    prop_oneof![3 => Just(HalfMark::Both), 1 => Just(HalfMark::Left), 1 => Just(HalfMark::Right)]
}

fn any_bands() -> impl Strategy<Value = Vec<(f64, f64, f64, HalfMark)>> {
    prop::collection::vec((0.0..0.9f64, 0.05..1.0f64, 0.02..4.0f64, any_half()), 0..4)
}

proptest! {
    // Each case lays out one drawing; 200 are a second or two.
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_figure_of_a_side_view_is_crossed(length in 140.0..620.0f64, bands in any_bands(), node in 0.1..0.4f64, least in prop::option::of(1.0..9.0f64), factor in 1.0..5.0f64, sheet in any_sheet()) {
        let bands = bands.into_iter().map(|(from, share, depth_mm, half)| {
            let from_mm = from * length / 2.0;
            BandMark { from_mm, to_mm: from_mm + share * (length / 2.0 - from_mm), depth_mm, half }
        }).collect();
        let view = SideView { shape: blank(length), bands, nodes_mm: vec![node * length, (1.0 - node) * length], least_mm: least, height_factor: factor, sheet };
        let drawing = side_view(&view).unwrap();
        let collisions = drawing.collisions(CLEARANCE_MM);
        prop_assert!(collisions.is_empty(), "{:?}", collisions);
        let bounds = drawing.bounds().unwrap();
        // Half a heavy line and the arrow tails of a band at the very end stick out.
        prop_assert!(bounds.min.x > -4.0 && bounds.max.x < sheet.width_mm + 4.0, "{:?}", bounds);
    }

    #[test]
    fn no_figure_of_a_plan_is_crossed(length in 140.0..620.0f64, node in 0.1..0.35f64, tilt in -30.0..30.0f64, sheet in any_sheet()) {
        let mark = |centre_mm: f64| NodeMark { near_mm: (centre_mm - tilt / 2.0).clamp(0.0, length), centre_mm, far_mm: (centre_mm + tilt / 2.0).clamp(0.0, length) };
        let view = PlanView { shape: blank(length), nodes: vec![mark(node * length), mark((1.0 - node) * length)], sheet };
        let collisions = plan_view(&view).unwrap().collisions(CLEARANCE_MM);
        prop_assert!(collisions.is_empty(), "{:?}", collisions);
    }

    #[test]
    fn no_figure_of_a_ladder_is_crossed(values in prop::collection::vec((-700.0..3000.0f64, 0.0..80.0f64, -20.0..120.0f64, prop::option::of((-300.0..300.0f64, 0.0..60.0f64))), 1..4), sheet in any_sheet()) {
        let rungs = values.into_iter().enumerate().map(|(i, (now, now_sigma, aim, expected))| Rung { name: format!("mode {} (×{})", i + 1, [1, 4, 10][i]), now, now_sigma, aim, expected }).collect();
        let drawing = ladder(&Ladder { name: "C3".into(), rungs, sheet }).unwrap();
        let collisions = drawing.collisions(CLEARANCE_MM);
        prop_assert!(collisions.is_empty(), "{:?}", collisions);
    }

    #[test]
    fn no_numbers_panic(length in any::<f64>(), x in any::<f64>(), thickness in any::<f64>(), edge in any::<f64>(), factor in any::<f64>()) {
        let shape = BarShape { name: "x".into(), length_mm: length, width_mm: 40.0, underside_mm: vec![(0.0, thickness), (x, thickness)] };
        let band = BandMark { from_mm: edge, to_mm: edge, depth_mm: thickness, half: HalfMark::Both };
        let _ = side_view(&SideView { shape: shape.clone(), bands: vec![band], nodes_mm: vec![x], least_mm: Some(thickness), height_factor: factor, sheet: Sheet::WIDE });
        let _ = plan_view(&PlanView { shape, nodes: vec![NodeMark { near_mm: x, centre_mm: edge, far_mm: x }], sheet: Sheet::WIDE });
    }
}

#[test]
fn the_sample_sheets_are_readable() {
    for sheet in [Sheet::NARROW, Sheet::WIDE] {
        assert_readable(&side_view(&SideView { sheet, ..side(470.0) }).unwrap());
    }
}

/// A C3 bar, its saw steps and the line they stay away from; invented.
fn saw(length_mm: f64, sheet: Sheet) -> SawView {
    let line = BarShape {
        name: "C3".into(),
        length_mm,
        width_mm: 62.0,
        underside_mm: vec![
            (0.0, 23.0),
            (0.2 * length_mm, 23.0),
            (0.4 * length_mm, 9.0),
            (0.5 * length_mm, 7.0),
            (0.6 * length_mm, 9.0),
            (0.8 * length_mm, 23.0),
            (length_mm, 23.0),
        ],
    };
    let u = |share: f64| share * length_mm;
    SawView {
        line,
        blank_mm: 23.0,
        sawn_half_mm: vec![
            (0.0, 11.0),
            (u(0.1), 11.0),
            (u(0.1), 15.0),
            (u(0.17), 15.0),
            (u(0.17), 21.0),
            (u(0.22), 21.0),
            (u(0.22), 23.0),
            (u(0.5), 23.0),
        ],
        steps_mm: vec![(2.0, u(0.22)), (8.0, u(0.17)), (12.0, u(0.1))],
        height_factor: 3.0,
        sheet,
    }
}

#[test]
fn saw_steps_are_readable_on_narrow_and_wide_sheets() {
    for sheet in [Sheet::NARROW, Sheet::WIDE] {
        for length_mm in [160.0, 470.0, 600.0] {
            assert_readable(&saw_view(&saw(length_mm, sheet)).unwrap());
        }
    }
}

#[test]
fn saw_steps_say_in_words_what_they_show_and_refuse_what_cannot_be_drawn() {
    let drawing = saw_view(&saw(470.0, Sheet::WIDE)).unwrap();
    assert!(
        drawing.description.contains("23.0 mm") || drawing.description.contains("23 mm"),
        "{}",
        drawing.description
    );
    assert!(drawing.items().iter().any(|item| item.pen() == Pen::Cut));
    let broken: [fn(&mut SawView); 3] =
        [|v| v.sawn_half_mm.clear(), |v| v.blank_mm = f64::NAN, |v| v.steps_mm[0].0 = -1.0];
    for breakage in broken {
        let mut view = saw(470.0, Sheet::WIDE);
        breakage(&mut view);
        assert!(saw_view(&view).is_err());
    }
}
