//! What was hidden comes back, with honest uncertainties.
use crate::estimate::blanks::*;
use bar_physics::estimate::*;
use bar_physics::{Bar, Grain, Underside, solid, units};

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
        // The beam has κ = 5/6 and the solid its own shear, worth κ = 0.85 (reference/README.md): G_LH comes out
        // 1 − (5/6)/0.85 = 2 % low, and no more than half as much again for the six proportions. What is
        // left for E_L is the solid's 0.04 % above the beam in bending 1, doubled (E goes with f²), and its like.
        assert!(e_off.abs() < 0.002, "{name}: E_L off by {e_off}");
        assert!((-0.035..0.0).contains(&g_off), "{name}: G_LH off by {g_off}");
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
