//! A perfect bar: even wood, known exactly, cut exactly as told.
use bar_physics::units::{cents, shifted};
use bar_physics::{Bar, Grain, Underside, Wanted, Wood, solid};
use making::{Band, Event, Job, Limits, Reading, Targets, depth_at, design_arch, stations};

/// Cents of the tuned modes of `bar` above their targets.
pub fn cents_of(bar: &Bar, job: &Job) -> Vec<f64> {
    let modes = solid::modes(bar, Wanted::bending(job.targets.ratios.len())).unwrap();
    modes.bending.iter().zip(&job.targets.ratios).map(|(m, r)| cents(m.hz, job.note_hz * r)).collect()
}

/// A C3 bar designed for its note, with `margin_m` of wood left above the line, and its job.
pub fn perfect_bar(margin_m: f64) -> (Bar, Job) {
    let (length_m, width_m, thickness_m) = (0.47, 0.062, 0.023);
    let wood = Wood::generic_hardwood(950.0, 18e9);
    let flat = Underside::flat(length_m, thickness_m).unwrap();
    let blank = Bar::new(width_m, flat, wood.clone(), Grain::default());
    let targets = Targets { ratios: vec![1.0, 4.0, 10.0], headroom_cents: 0.0 };
    let limits = Limits { min_thickness_m: 0.005 };
    let arch = design_arch(&blank, 130.8, &targets, limits).unwrap();
    let line = &arch.underside;
    let t_m = line.thickness_m().iter().map(|t| if t + margin_m < thickness_m { t + margin_m } else { thickness_m });
    let sawn = Underside::new(line.x_m().to_vec(), t_m.collect(), line.kinks_m().to_vec()).unwrap();
    let job = Job {
        note_hz: 130.8,
        length_m,
        width_m,
        thickness_m,
        mass_kg: None,
        underside: Some(sawn.clone()),
        wood: Some(wood),
        grain: Grain::default(),
        targets,
        limits,
        hand: None,
        log: Vec::new(),
    };
    (Bar { underside: sawn, ..blank }, job)
}

/// Enters a reading without error.
pub fn hear(bar: &Bar, job: &mut Job) {
    let heard = cents_of(bar, job);
    let hz = |(c, r): (&f64, &f64)| Some(shifted(job.note_hz * r, *c));
    let reading = Reading {
        bending_hz: heard.iter().zip(&job.targets.ratios).map(hz).collect(),
        torsion_hz: Vec::new(),
        sigma_cents: 0.5,
        temperature_c: Some(21.0),
    };
    job.log.push(Event::Heard(reading));
}

/// Takes the bands off exactly and enters them.
#[allow(dead_code)] // Each test crate uses its own part of this file.
pub fn cut(bar: &mut Bar, job: &mut Job, bands: &[Band]) {
    let length_m = bar.length_m();
    let extra = stations(bands, length_m);
    bar.underside = bar.underside.lowered(&extra, |x| depth_at(bands, length_m, x)).unwrap();
    job.log.push(Event::Cut { bands: bands.to_vec(), passes: None });
}
