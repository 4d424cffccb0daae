//! The wood of a blank from its weight and pitches: recovery of hidden constants, honesty of the uncertainties,
//! what cannot be told, and readings that contradict.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
use bar_physics::estimate::{
    BENDING_MODEL_CENTS, Culprit, EstimateError, KnownBar, Observed, PitchReading, Quantity, Readings, Size, Stopped,
    TORSION_MODEL_CENTS, WoodEstimate, WoodPrior, estimate_wood,
};
use bar_physics::woods::{Sawn, woods};
use bar_physics::{Bar, Grain, ModeKind, Modes, Underside, Wanted, Wood, solid, units};

/// Reproducible normal deviates: splitmix64 (Steele, Lea & Flood 2014) and Box–Muller.
struct Dice(u64);

impl Dice {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64 + 1e-17
    }

    fn normal(&mut self) -> f64 {
        (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

const ALL_MODES: Wanted = Wanted { bending: 3, torsion: 2, sideways: 0 };

/// Sizes in millimetres with their errors, and the error of the scale in grams.
#[derive(Clone, Copy)]
struct Errors {
    length_mm: f64,
    width_mm: f64,
    thickness_mm: f64,
    mass_g: f64,
}

/// A tape, a caliper and a kitchen scale.
const SHOP: Errors = Errors { length_mm: 0.3, width_mm: 0.1, thickness_mm: 0.05, mass_g: 1.0 };
/// Nothing wrong but the reading; 0.01 g because a weight is never exact.
const EXACT: Errors = Errors { length_mm: 0.0, width_mm: 0.0, thickness_mm: 0.0, mass_g: 0.01 };

fn blank([length, width, thickness]: [f64; 3], errors: Errors, mass_kg: Option<f64>) -> KnownBar {
    let known = KnownBar::blank(
        Size::from_mm(length, errors.length_mm),
        Size::from_mm(width, errors.width_mm),
        Size::from_mm(thickness, errors.thickness_mm),
    )
    .unwrap();
    match mass_kg {
        Some(kg) => known.weighed(kg, errors.mass_g * 1e-3),
        None => known,
    }
}

fn bar_of([length, width, thickness]: [f64; 3], wood: &Wood) -> Bar {
    let underside = Underside::flat(length * 1e-3, thickness * 1e-3).unwrap();
    Bar::new(width * 1e-3, underside, wood.clone(), Grain::default())
}

/// The first so many bending and torsion modes as readings.
fn heard(modes: &Modes, bending: usize, torsion: usize, sigma_cents: f64) -> Readings {
    let pitch = |mode: &bar_physics::Mode| PitchReading { hz: mode.hz, sigma_cents };
    let mut out = Readings::default();
    out.bending.iter_mut().zip(modes.bending.iter().take(bending)).for_each(|(r, m)| *r = Some(pitch(m)));
    out.torsion.iter_mut().zip(modes.torsion.iter().take(torsion)).for_each(|(r, m)| *r = Some(pitch(m)));
    out
}

/// An invented wood, away from the prior's mean by about one spread in every direction.
fn hidden() -> Wood {
    let mut wood = Wood::generic_hardwood(905.0, 15.2e9);
    wood.g_lh_pa *= 0.8;
    wood.g_lw_pa *= 1.25;
    wood.e_h_pa *= 1.2;
    wood
}

fn truth(wood: &Wood) -> [f64; 4] {
    [wood.density_kg_m3, wood.e_l_pa, wood.g_lh_pa, wood.g_lw_pa]
}

/// Departure of each constant from the truth in its standard uncertainty, of the logarithms.
fn departures(estimate: &WoodEstimate, wood: &Wood) -> [f64; 4] {
    let truth = truth(wood);
    std::array::from_fn(|i| (estimate.parameters[i].value / truth[i]).ln() / estimate.parameters[i].ln_sigma)
}

/// xᵀ R⁻¹ x with the correlations R, by elimination: chi-square with four degrees of freedom.
fn chi_squared(x: [f64; 4], correlations: [[f64; 4]; 4]) -> f64 {
    let (mut a, mut b) = (correlations, x);
    for i in 0..4 {
        for j in i + 1..4 {
            let factor = a[j][i] / a[i][i];
            (i..4).for_each(|k| a[j][k] -= factor * a[i][k]);
            b[j] -= factor * b[i];
        }
    }
    // With LDLᵀ the eliminated b is L⁻¹x and the pivots are D.
    (0..4).map(|i| b[i] * b[i] / a[i][i]).sum()
}

fn determined(estimate: &WoodEstimate) -> [bool; 4] {
    Quantity::ALL.map(|q| estimate.parameter(q).determined)
}

/// A wood drawn from the prior, all ten quantities.
fn drawn(prior: &WoodPrior, dice: &mut Dice) -> Wood {
    let mean = &prior.mean;
    let mut factor = |sigma: f64| (sigma * dice.normal()).exp();
    let density = factor(prior.ln_density_sigma);
    let e = mean.e_l_pa * density * factor(prior.ln_specific_modulus_sigma);
    let (lh, lw) = (factor(prior.ln_g_lh_sigma), factor(prior.ln_g_lw_sigma));
    let (w, h, wh) =
        (factor(prior.ln_other_ratio_sigma), factor(prior.ln_other_ratio_sigma), factor(prior.ln_other_ratio_sigma));
    let mut poisson = || factor(prior.ln_poisson_sigma);
    let times_e = |value: f64| e * value / mean.e_l_pa;
    Wood {
        name: "drawn".into(),
        density_kg_m3: mean.density_kg_m3 * density,
        e_l_pa: e,
        e_w_pa: times_e(mean.e_w_pa) * w,
        e_h_pa: times_e(mean.e_h_pa) * h,
        g_lw_pa: times_e(mean.g_lw_pa) * lw,
        g_lh_pa: times_e(mean.g_lh_pa) * lh,
        g_wh_pa: times_e(mean.g_wh_pa) * wh,
        // The couplings ν √(E_j/E_i) are what is drawn.
        nu_lw: mean.nu_lw * poisson() / w.sqrt(),
        nu_lh: mean.nu_lh * poisson() / h.sqrt(),
        nu_wh: mean.nu_wh * poisson() * (w / h).sqrt(),
    }
}

/// One invented blank measured with every error the estimate allows for; (chi-square of the four errors, largest
/// departure, chi-square of the readings, number of observations).
fn one_blank(seed: u64) -> (f64, f64, f64, usize) {
    let mut dice = Dice(seed);
    let wood = drawn(&WoodPrior::generic(), &mut dice);
    let length_mm = 160.0 + 340.0 * dice.uniform();
    // No stubbier than 1 to 4.5: there bending 2 meets the bending of the section, and the step may not settle.
    let width_mm = (38.0 + 30.0 * dice.uniform()).min(length_mm / 4.5);
    let given = [length_mm, width_mm, 18.0 + 7.0 * dice.uniform()];
    let wrong = [SHOP.length_mm, SHOP.width_mm, SHOP.thickness_mm].map(|sigma| sigma * dice.normal());
    let bar = bar_of(std::array::from_fn(|i| given[i] + wrong[i]), &wood);
    let modes = solid::modes(&bar, ALL_MODES).unwrap();
    let mut readings = heard(&modes, 3, 2, 1.5);
    let all = readings.bending.iter_mut().map(|r| (r, BENDING_MODEL_CENTS));
    for (reading, model) in all.chain(readings.torsion.iter_mut().map(|r| (r, TORSION_MODEL_CENTS))) {
        let reading_value = reading.as_mut().unwrap();
        reading_value.hz = units::shifted(reading_value.hz, 1.5 * dice.normal() + model * dice.normal());
        // About every third reading was not made.
        if dice.uniform() < 0.33 {
            *reading = None;
        }
    }
    let weighed = dice.uniform() < 0.8;
    let mass = weighed.then(|| bar.mass_kg() + SHOP.mass_g * 1e-3 * dice.normal());
    let estimate = estimate_wood(&blank(given, SHOP, mass), &readings).unwrap();
    println!("{seed}: {:?} {} {:?} {:.2?}", estimate.stopped, estimate.steps, given, departures(&estimate, &wood));
    assert_eq!(estimate.stopped, Stopped::Converged, "seed {seed}");
    let off = departures(&estimate, &wood);
    let largest = off.iter().fold(0.0_f64, |m, d| m.max(d.abs()));
    (chi_squared(off, estimate.correlations), largest, estimate.chi_squared, estimate.checks.len())
}

#[test]
fn hidden_constants_are_recovered_within_the_stated_uncertainty() {
    const CASES: u64 = 40;
    let results: Vec<_> = (1..=CASES).map(|seed| one_blank(seed * 7919)).collect();
    let mean = results.iter().map(|r| r.0).sum::<f64>() / CASES as f64;
    let largest = results.iter().map(|r| r.1).fold(0.0, f64::max);
    let observations: usize = results.iter().map(|r| r.3).sum();
    let surprise = results.iter().map(|r| r.2).sum::<f64>() / observations as f64;
    println!("chi² per case {mean:.2} of 4; largest departure {largest:.2} σ; surprise per reading {surprise:.2}");
    // A mean of 40 chi-squares with 4 degrees of freedom is 4 ± √(8/40) = 4 ± 0.45: three of these.
    assert!((mean - 4.0).abs() < 1.35, "mean chi² {mean}");
    // 160 departures: one in 16 000 is beyond 4 σ.
    assert!(largest < 4.0, "{largest} σ");
    // About 150 observations: 1 ± √(2/150) = 1 ± 0.12: three of these.
    assert!((surprise - 1.0).abs() < 0.36, "{surprise}");
}

#[test]
fn exact_readings_give_back_the_wood() {
    let wood = hidden();
    let sizes = [400.0, 55.0, 22.0];
    let bar = bar_of(sizes, &wood);
    let modes = solid::modes(&bar, ALL_MODES).unwrap();
    let estimate = estimate_wood(&blank(sizes, EXACT, Some(bar.mass_kg())), &heard(&modes, 3, 2, 0.01)).unwrap();
    assert!(estimate.is_sound());
    assert_eq!(determined(&estimate), [true; 4]);
    let e_l = estimate.parameter(Quantity::ELengthwise);
    // One cent of model error is 1/433 of E_L; three pitches share it between E_L and G_LH.
    assert!(e_l.ln_sigma < 0.006, "{}", e_l.ln_sigma);
    // What is left over is E_W, E_H and Poisson, which no reading tells: within the σ that they cause.
    for (quantity, off) in Quantity::ALL.iter().zip(departures(&estimate, &wood)) {
        assert!(off.abs() < 1.0, "{}: {off} σ", quantity.symbol());
    }
    // 0.01 g of 380 g, exact sizes.
    assert!((estimate.wood.density_kg_m3 / wood.density_kg_m3 - 1.0).abs() < 1e-4);
}

#[test]
fn each_reading_adds_what_it_can_tell_and_no_more() {
    let wood = hidden();
    let sizes = [340.0, 55.0, 22.0];
    let bar = bar_of(sizes, &wood);
    let modes = solid::modes(&bar, ALL_MODES).unwrap();
    let known = blank(sizes, SHOP, Some(bar.mass_kg()));
    let with = |bending, torsion| estimate_wood(&known, &heard(&modes, bending, torsion, 1.0)).unwrap();

    let (one, three, all) = (with(1, 0), with(3, 0), with(3, 1));
    assert_eq!(determined(&one), [true, true, false, false]);
    assert_eq!(determined(&three), [true, true, true, false]);
    assert_eq!(determined(&all), [true, true, true, true]);
    let advice = |e: &WoodEstimate, q| e.parameter(q).to_learn_it.clone().unwrap();
    let (g_lh, g_lw) = (Quantity::GLengthHeight, Quantity::GLengthWidth);
    assert!(advice(&one, g_lh).contains("hear bending"), "{}", advice(&one, g_lh));
    assert_eq!(advice(&three, g_lw), "strike a corner and hear torsion 1 to learn G_LW");
    assert!(all.parameters.iter().all(|p| p.to_learn_it.is_none()));
    // A better-known G_LH can only narrow E_L, and f1 alone cannot know E_L better than it knows the shear.
    let e_sigma = |e: &WoodEstimate| e.parameter(Quantity::ELengthwise).ln_sigma;
    assert!(e_sigma(&three) < e_sigma(&one));
    // The pitch of f1 falls with both: more shear stiffness leaves less for E_L.
    assert!(one.correlations[1][2] < one.correlations[1][0].abs());
}

#[test]
fn the_advice_is_true_when_followed() {
    let wood = hidden();
    let sizes = [340.0, 55.0, 22.0];
    let bar = bar_of(sizes, &wood);
    let modes = solid::modes(&bar, ALL_MODES).unwrap();
    let mut known = blank(sizes, SHOP, None);
    let one = estimate_wood(&known, &heard(&modes, 1, 0, 2.0)).unwrap();
    // Unweighed, pitch tells only E_L/ρ.
    assert_eq!(determined(&one), [false; 4]);
    let e_l = one.parameter(Quantity::ELengthwise);
    assert_eq!(e_l.to_learn_it.as_deref(), Some("weigh the bar to learn E_L"));
    known = known.weighed(bar.mass_kg(), 0.001);
    assert!(estimate_wood(&known, &heard(&modes, 1, 0, 2.0)).unwrap().parameter(Quantity::ELengthwise).determined);

    // Sizes known only to a fifth: no reading helps before they are measured.
    let rough = Errors { length_mm: 60.0, width_mm: 10.0, thickness_mm: 4.0, mass_g: 1.0 };
    let poor = estimate_wood(&blank(sizes, rough, Some(bar.mass_kg())), &heard(&modes, 1, 0, 1.0)).unwrap();
    let advice = poor.parameter(Quantity::ELengthwise).to_learn_it.clone().unwrap();
    assert!(advice.starts_with("measure length, width and thickness more closely"), "{advice}");
}

/// A prior that leaves E_L free, so that the posterior shows the measuring errors alone.
fn free_stiffness(mut prior: WoodPrior) -> WoodPrior {
    prior.ln_specific_modulus_sigma = 1.0;
    prior
}

#[test]
fn an_error_of_thickness_goes_into_e_l() {
    let wood = hidden();
    // Slender (1/40) so that shear, which softens the powers below, is small.
    let sizes = [600.0, 40.0, 15.0];
    let bar = bar_of(sizes, &wood);
    let modes = solid::modes(&bar, ALL_MODES).unwrap();
    let readings = heard(&modes, 1, 0, 0.1);
    let thickness_off = 0.01 * sizes[2];
    let estimate = |sigma_mm: f64, off_mm: f64, weighed: bool| {
        let errors = Errors { thickness_mm: sigma_mm, ..EXACT };
        let sizes = [sizes[0], sizes[1], sizes[2] + off_mm];
        let mut known = blank(sizes, errors, weighed.then(|| bar.mass_kg()));
        known.prior = free_stiffness(known.prior);
        if !weighed {
            // The density known from elsewhere.
            known.prior.mean.density_kg_m3 = wood.density_kg_m3;
            known.prior.ln_density_sigma = 1e-4;
        }
        estimate_wood(&known, &readings).unwrap().parameter(Quantity::ELengthwise).clone()
    };
    // f² ∝ E t²/(ρ L⁴): at known density E goes with t⁻²; weighed, ρ = m/(L b t), with t⁻³.
    for (weighed, power) in [(false, 2.0), (true, 3.0)] {
        let without = estimate(0.0, 0.0, weighed);
        for percent in [0.5, 1.0, 2.0] {
            let with = estimate(percent * thickness_off, 0.0, weighed);
            let added = (with.ln_sigma.powi(2) - without.ln_sigma.powi(2)).sqrt();
            let measured = added / (0.01 * percent);
            println!("weighed {weighed}, δt/t {percent} %: power {measured:.3}");
            // Shear and rotary inertia take 2 % off at 1/40; the prior of 100 % takes 0.2 % off.
            assert!((measured - power).abs() < 0.04 * power, "{measured} for {power}");
        }
        // And a thickness read 1 % too large is not absorbed: E_L comes out lower by as much as its σ allows for.
        let off = (estimate(thickness_off, thickness_off, weighed).value / estimate(0.0, 0.0, weighed).value).ln();
        assert!((off + 0.01 * power).abs() < 0.04 * 0.01 * power + 5e-4, "{off}");
    }
}

/// Rows of `reference/timoshenko_uniform.csv`: name, E, G, density, length, thickness and three frequencies.
fn timoshenko_bars() -> Vec<(String, [f64; 5], [f64; 3])> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/timoshenko_uniform.csv");
    let text = std::fs::read_to_string(path).unwrap();
    let mut out: Vec<(String, [f64; 5], [f64; 3])> = Vec::new();
    for line in text.lines().skip(1) {
        let cell: Vec<&str> = line.split(',').collect();
        let number = |i: usize| cell[i].parse::<f64>().unwrap();
        let mode = cell[7].parse::<usize>().unwrap();
        if mode == 1 {
            out.push((cell[0].into(), std::array::from_fn(|i| number(i + 1)), [0.0; 3]));
        }
        if mode <= 3 {
            out.last_mut().unwrap().2[mode - 1] = number(8);
        }
    }
    out
}

#[test]
fn closed_form_beams_give_back_their_constants() {
    let bars = timoshenko_bars();
    let wooden: Vec<_> = bars.iter().filter(|b| !b.0.contains("isotropic")).collect();
    assert_eq!(wooden.len(), 6);
    for (name, [e, g, density, length_m, thickness_m], hz) in wooden {
        let sizes = [length_m * 1e3, 30.0, thickness_m * 1e3];
        let mass_kg = density * length_m * 0.03 * thickness_m;
        let mut readings = Readings::default();
        let reading = |hz: f64| Some(PitchReading { hz, sigma_cents: 0.1 });
        readings.bending = hz.map(reading);
        let estimate = estimate_wood(&blank(sizes, EXACT, Some(mass_kg)), &readings).unwrap();
        let off = |q: Quantity, truth: f64| estimate.parameter(q).value / truth - 1.0;
        let (e_off, g_off) = (off(Quantity::ELengthwise, *e), off(Quantity::GLengthHeight, *g));
        println!(
            "{name}: E_L {:+.2} % (σ {:.2}), G_LH {:+.2} % (σ {:.2}), {} steps",
            100.0 * e_off,
            100.0 * estimate.parameter(Quantity::ELengthwise).ln_sigma,
            100.0 * g_off,
            100.0 * estimate.parameter(Quantity::GLengthHeight).ln_sigma,
            estimate.steps
        );
        assert!(estimate.is_sound(), "{name}: {:?}", estimate.checks);
        // The beam has κ = 5/6, no squeezing of the section and no widening of its edges; the solid has all
        // three, and differs from it by up to 4 cents in bending 1 to 3: 1 % of E_L. Shear is a tenth to a
        // half of the compliance, so the same cents are several times as much of G_LH.
        assert!(e_off.abs() < 0.01, "{name}: E_L off by {e_off}");
        assert!(g_off.abs() < 0.06, "{name}: G_LH off by {g_off}");
    }
}

#[test]
fn an_arched_bar_of_known_shape_tells_its_wood_too() {
    let wood = hidden();
    let x_m: Vec<f64> = (0..=40).map(|i| 0.4 * f64::from(i) / 40.0).collect();
    let thickness = x_m.iter().map(|x| 0.022 - 0.012 * (1.0 - ((x - 0.2) / 0.13).powi(2)).max(0.0)).collect();
    let underside = Underside::new(x_m, thickness, vec![0.07, 0.33]).unwrap();
    let bar = Bar::new(0.055, underside.clone(), wood.clone(), Grain::from_degrees(3.0, 1.0));
    let modes = solid::modes(&bar, ALL_MODES).unwrap();
    let mut known = blank([400.0, 55.0, 22.0], SHOP, Some(bar.mass_kg()));
    (known.underside, known.grain) = (underside, bar.grain);
    let estimate = estimate_wood(&known, &heard(&modes, 3, 1, 1.0)).unwrap();
    assert!(estimate.is_sound());
    assert_eq!(determined(&estimate), [true; 4]);
    // Readings without error: what is off comes from the prior's pull on what they do not tell.
    assert!(departures(&estimate, &wood).iter().all(|d| d.abs() < 1.0), "{:?}", departures(&estimate, &wood));
}

#[test]
fn a_mode_taken_for_another_is_named() {
    let wood = hidden();
    let sizes = [400.0, 55.0, 22.0];
    let bar = bar_of(sizes, &wood);
    let modes = solid::modes(&bar, ALL_MODES).unwrap();
    let known = blank(sizes, SHOP, Some(bar.mass_kg()));
    let mut readings = heard(&modes, 3, 0, 1.0);
    assert!(estimate_wood(&known, &readings).unwrap().culprits.is_empty());
    readings.bending[1] = Some(PitchReading { hz: modes.torsion[0].hz, sigma_cents: 1.0 });
    let estimate = estimate_wood(&known, &readings).unwrap();
    assert!(!estimate.is_sound());
    let wrong = Observed::Pitch { kind: ModeKind::Bending, number: 2 };
    let check = estimate.checks.iter().find(|c| c.observed == wrong).unwrap();
    assert!(check.contradicts && check.sigmas < 0.0, "{check:?}");
    let named = estimate.culprits.iter().find_map(|c| match c {
        Culprit::Observation { observed, rather, .. } if *observed == wrong => *rather,
        _ => None,
    });
    println!("{}", estimate.culprits.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "));
    assert_eq!(named, Some(Observed::Pitch { kind: ModeKind::Torsion, number: 1 }), "{:?}", estimate.culprits);
}

#[test]
fn a_size_entered_wrong_is_suspected() {
    let wood = hidden();
    let sizes = [400.0, 55.0, 22.0];
    let bar = bar_of(sizes, &wood);
    let modes = solid::modes(&bar, ALL_MODES).unwrap();
    let readings = heard(&modes, 3, 2, 1.0);
    for (axis, which, wrong_mm) in [(0, "length", 300.0), (2, "thickness", 12.0)] {
        let mut given = sizes;
        given[axis] = wrong_mm;
        let estimate = estimate_wood(&blank(given, SHOP, Some(bar.mass_kg())), &readings).unwrap();
        println!("{which}: {}", estimate.culprits.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "));
        assert!(!estimate.is_sound());
        let likely_m = estimate.culprits.iter().find_map(|c| match c {
            Culprit::Size { which: w, likely_m, .. } if *w == which => Some(*likely_m),
            _ => None,
        });
        let off = likely_m.unwrap_or(f64::NAN) * 1e3 / sizes[axis] - 1.0;
        // One linear step over a fifth or a third of the size: good enough to recognise the number meant.
        assert!(off.abs() < 0.1, "{which}: {off}, {:?}", estimate.culprits);
    }
}

#[test]
fn a_named_wood_is_a_narrower_start() {
    let generic = WoodPrior::generic();
    println!(
        "generic: {:.0} kg/m³ ± {:.0} %, {:.1} GPa, E_L/ρ ± {:.0} %",
        generic.mean.density_kg_m3,
        100.0 * generic.ln_density_sigma,
        generic.mean.e_l_pa * 1e-9,
        100.0 * generic.ln_specific_modulus_sigma
    );
    for wood in woods() {
        for sawn in [Sawn::Plain, Sawn::Quarter] {
            let named = WoodPrior::named(wood, sawn);
            assert!(named.ln_density_sigma < generic.ln_density_sigma, "{}", wood.name);
            assert!(named.ln_specific_modulus_sigma < generic.ln_specific_modulus_sigma, "{}", wood.name);
            assert!(named.source.contains(wood.name));
            // Every wood of the table lies within three spreads of the generic one.
            let far = (named.mean.density_kg_m3 / generic.mean.density_kg_m3).ln() / generic.ln_density_sigma;
            assert!(far.abs() < 3.0, "{}: {far}", wood.name);
        }
    }
}

#[test]
fn bad_input_is_refused_with_the_next_step() {
    let sizes = [400.0, 55.0, 22.0];
    let good = blank(sizes, SHOP, Some(0.4));
    let reading = |hz, sigma_cents| Some(PitchReading { hz, sigma_cents });
    let bending = |bending| Readings { bending, ..Readings::default() };
    let refused = |known: &KnownBar, readings: &Readings| estimate_wood(known, readings).unwrap_err();

    assert_eq!(refused(&blank(sizes, SHOP, None), &Readings::default()), EstimateError::NothingMeasured);
    let exchanged = refused(&good, &bending([reading(900.0, 1.0), reading(400.0, 1.0), None]));
    assert!(matches!(exchanged, EstimateError::OutOfOrder { number: 2, below: 1, .. }), "{exchanged}");
    for (hz, sigma) in [(0.0, 1.0), (-400.0, 1.0), (f64::NAN, 1.0), (400.0, 0.0), (400.0, f64::INFINITY)] {
        let error = refused(&good, &bending([reading(hz, sigma), None, None]));
        assert!(matches!(error, EstimateError::OutOfRange { .. }), "{error}");
    }
    let changed = |change: &dyn Fn(&mut KnownBar)| {
        let mut known = good.clone();
        change(&mut known);
        refused(&known, &bending([reading(400.0, 1.0), None, None])).to_string()
    };
    assert!(changed(&|k| k.thickness_sigma_m = 0.01).contains("the error of the thickness is 10 mm"));
    assert!(changed(&|k| k.width.m = f64::NAN).contains("the width is NaN"));
    assert!(
        changed(&|k| k.mass = None.or(Some(bar_physics::estimate::MassReading { kg: 0.4, sigma_kg: 0.0 })))
            .contains("the error of the mass")
    );
    assert!(changed(&|k| k.prior.ln_g_lh_sigma = 0.0).contains("the spread of G_LH/E_L"));
    assert!(changed(&|k| k.prior.mean.e_l_pa = -1.0).contains("E_L"));
    assert!(changed(&|k| k.grain.plan_rad = f64::NAN).contains("plan angle"));
}

mod any_input {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        // Each case is up to 15 solves of 15 ms when readings are absurd.
        #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

        /// Whatever is entered, the answer is finite or an error; σ never exceeds the prior's.
        #[test]
        fn is_answered_or_refused(
            length in 60.0..600.0_f64, width in 20.0..80.0_f64, thickness in 6.0..40.0_f64,
            grams in prop::option::of(5.0..3000.0_f64), first in 40.0..4000.0_f64, second in 1.05..5.0_f64,
            torsion in prop::option::of(60.0..9000.0_f64),
        ) {
            let known = blank([length, width, thickness], SHOP, grams.map(|g| g * 1e-3));
            let reading = |hz| PitchReading { hz, sigma_cents: 1.0 };
            let readings = Readings {
                bending: [Some(reading(first)), Some(reading(first * second)), None],
                torsion: [torsion.map(reading), None],
            };
            match estimate_wood(&known, &readings) {
                Ok(estimate) => {
                    for p in &estimate.parameters {
                        prop_assert!(p.value.is_finite() && p.value > 0.0 && p.sigma.is_finite());
                        prop_assert!(p.ln_sigma <= p.prior_ln_sigma * (1.0 + 1e-9));
                        prop_assert_eq!(p.determined, p.to_learn_it.is_none());
                    }
                    prop_assert!(estimate.checks.iter().all(|c| c.sigmas.is_finite() && c.expected > 0.0));
                    prop_assert!(!estimate.checks.iter().any(|c| c.contradicts) || !estimate.culprits.is_empty());
                }
                Err(error) => prop_assert!(!error.to_string().is_empty()),
            }
        }
    }
}
