//! Torsion near tuned modes: warned within the distance chosen, silent beyond it, and a cure that works.
use bar_physics::units::cents;
use bar_physics::{Bar, Grain, Underside, Wanted, Wood, solid};
use making::arch::{Arch, ArchTask, Design, design};
use making::torsion::{Nearness, along_the_cut, neighbours};
use making::{Limits, Targets};

fn designed(headroom_cents: f64) -> (ArchTask, Arch) {
    let flat = Underside::flat(0.39, 0.022).unwrap();
    let blank = Bar::new(0.052, flat, Wood::generic_hardwood(950.0, 19e9), Grain::default());
    let targets = Targets { ratios: vec![1.0, 4.0, 10.0], headroom_cents };
    let task = ArchTask::usual(&blank, 220.0, &targets, Limits { min_thickness_m: 0.006 });
    match design(&task).unwrap() {
        Design::Found(arch) => (task, arch),
        Design::OutOfReach(out) => panic!("{}", out.error),
    }
}

#[test]
fn a_pair_is_warned_of_within_the_distance_and_not_beyond_and_the_cure_works() {
    let (task, arch) = designed(0.0);
    let wanted = Wanted { bending: 3, torsion: 2, sideways: 1 };
    let at = |width_m: f64| {
        let bar = Bar { underside: arch.underside.clone(), width_m, ..task.blank.clone() };
        neighbours(&solid::modes(&bar, wanted).unwrap(), 3)
    };
    let pairs = at(task.blank.width_m);
    assert_eq!(pairs.len(), 3);
    let nearest = pairs.iter().map(|n| n.cents.abs()).fold(f64::INFINITY, f64::min);
    // A cent either way of the nearest pair.
    let near = along_the_cut(&task, &arch, Nearness::Cents(nearest + 1.0)).unwrap();
    let warning = near.warnings.iter().find(|w| w.stays).expect("warned");
    assert!((warning.near.cents.abs() - nearest).abs() < 0.1);
    let width_m = near.width_m.expect("a millimetre or more of width moves torsion by cents");
    assert!(at(width_m).iter().all(|n| n.cents.abs() >= nearest + 1.0));
    assert!(warning.text.contains("Before the arch is sawn"), "{}", warning.text);
    let far = along_the_cut(&task, &arch, Nearness::Cents(nearest - 1.0)).unwrap();
    assert!(far.warnings.iter().all(|w| !w.stays) && far.width_m.is_none());
    // The same limit in hertz.
    let pair = pairs.iter().min_by(|a, b| (a.hz - a.bending_hz).abs().total_cmp(&(b.hz - b.bending_hz).abs())).unwrap();
    let apart_hz = (pair.hz - pair.bending_hz).abs();
    assert!(along_the_cut(&task, &arch, Nearness::Hz(apart_hz + 0.5)).unwrap().warnings.iter().any(|w| w.stays));
    assert!(along_the_cut(&task, &arch, Nearness::Hz(apart_hz - 0.5)).unwrap().warnings.iter().all(|w| !w.stays));
}

#[test]
fn with_headroom_the_last_stage_is_the_tuned_bar() {
    let (task, arch) = designed(100.0);
    let report = along_the_cut(&task, &arch, Nearness::default()).unwrap();
    let names: Vec<&str> = report.stages.iter().map(|s| s.name.as_str()).collect();
    assert_eq!(names.first(), Some(&"blank"));
    assert_eq!(names.last(), Some(&"tuned"));
    for n in &report.stages.last().unwrap().neighbours {
        let off = cents(n.bending_hz, 220.0 * task.ratios[n.bending - 1]);
        // What a design may miss by.
        assert!(off.abs() < 1.0, "{off}");
    }
    // The arch lowers torsion too, but less than it lowers bending 1: that is why the two trade places.
    let first = |stage: &making::torsion::Stage| stage.neighbours[0].hz;
    let fall = cents(first(&report.stages[0]), first(report.stages.last().unwrap()));
    let blank_hz = solid::modes(&task.blank, Wanted::bending(1)).unwrap().bending[0].hz;
    assert!(fall > 0.0 && fall < cents(blank_hz, 220.0), "{fall} of {}", cents(blank_hz, 220.0));
}
