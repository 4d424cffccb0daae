use super::*;
use bar_physics::units::cents;
use bar_physics::woods::climate::Basis;
use proptest::prelude::*;
use serde::Deserialize;

#[derive(Deserialize)]
struct File {
    follows_days: f64,
    log: Vec<(f64, f64, f64)>,
    readings: Vec<Line>,
    per_c: (f64, f64),
    per_moisture: (f64, f64),
    scatter_cents: f64,
    freedom: usize,
}

#[derive(Deserialize)]
struct Line {
    bar: usize,
    day: f64,
    temperature_c: f64,
    cents: f64,
    moisture: f64,
}

fn by_numpy() -> (File, Vec<AirAt>, Vec<ReferenceReading>) {
    // Made by reference/scripts/climate_by_numpy.py.
    let file: File = serde_json::from_str(include_str!("../../../../reference/climate_by_numpy.json")).unwrap();
    let air = |t: f64, h: f64| Air { temperature_c: t, humidity_percent: Some(h) };
    let log = file.log.iter().map(|(day, t, h)| AirAt { day: *day, air: air(*t, *h) }).collect();
    let reading = |line: &Line| ReferenceReading {
        bar: line.bar,
        day: line.day,
        temperature_c: line.temperature_c,
        cents: line.cents,
    };
    let readings = file.readings.iter().map(reading).collect();
    (file, log, readings)
}

#[test]
fn a_bars_moisture_follows_as_small_steps_do() {
    let (file, log, readings) = by_numpy();
    let days: Vec<f64> = readings.iter().map(|reading| reading.day).collect();
    let found = followed_moisture(&log, file.follows_days, &days).unwrap();
    for (found, line) in found.iter().zip(&file.readings) {
        // Midpoint steps of a hundredth of a day over 15 days: (0.01/15)² a step; the same equation for the air.
        assert!((found - line.moisture).abs() < 1e-6, "{found} {}", line.moisture);
    }
}

#[test]
fn the_regression_is_numpys() {
    let (file, log, readings) = by_numpy();
    let fit = fit_reference(&readings, &log).unwrap();
    // The time constant of the invented bars is among those looked at, and is found.
    assert!((fit.follows_days - file.follows_days).abs() < 1e-12, "{fit:?}");
    let (per_c, per_moisture) = (fit.per_c.unwrap(), fit.per_moisture.unwrap());
    // Least squares by normal equations of two columns against numpy's SVD; the moisture to a millionth of a percent.
    for (found, (value, sigma)) in [(per_c, file.per_c), (per_moisture, file.per_moisture)] {
        assert!((found.value - value).abs() < 1e-5 && (found.sigma - sigma).abs() < 1e-5, "{found:?} {value} {sigma}");
    }
    assert!((fit.scatter_cents - file.scatter_cents).abs() < 1e-5 && fit.freedom == file.freedom);
    // Student's t for 28 degrees of freedom, 97.5 %: 2.0484 (any table).
    assert!(((per_c.bounds[1] - per_c.value) / per_c.sigma - 2.0484).abs() < 1e-4);
    // What was invented lies within three standard deviations.
    assert!(
        (per_c.value + 1.2).abs() < 3.0 * per_c.sigma && (per_moisture.value + 11.0).abs() < 3.0 * per_moisture.sigma
    );
    let known = Coefficients::known(Some(&fit));
    assert_eq!((known.per_c.basis, known.per_moisture.basis), (Basis::ReferenceBar, Basis::ReferenceBar));
}

#[test]
fn few_readings_and_still_air_teach_nothing() {
    let (_, log, readings) = by_numpy();
    assert_eq!(fit_reference(&readings[..3], &log).unwrap_err().code, "too_few_readings");
    let same: Vec<ReferenceReading> = readings.iter().map(|r| ReferenceReading { temperature_c: 21.0, ..*r }).collect();
    assert_eq!(fit_reference(&same, &[]).unwrap_err().code, "too_few_readings");
    // Without humidities the temperature alone is learnt, and scatters by what the moisture did.
    let fit = fit_reference(&readings, &[]).unwrap();
    assert!(fit.per_moisture.is_none() && fit.scatter_cents > 3.0, "{fit:?}");
    let wild = ReferenceReading { cents: f64::NAN, ..readings[0] };
    assert_eq!(fit_reference(&[wild; 9], &log).unwrap_err().code, "out_of_range");
    assert_eq!(Coefficients::known(None), Coefficients::generic());
}

#[test]
fn the_cold_hall_is_answered_as_the_trade_has_it() {
    // "Hall 14 °C against 22 °C: bars some +16 cents, tubes some −24, mismatch some 40" with −2 cents a degree (TRADE §4, moment 5).
    let mut coefficients = Coefficients::generic();
    coefficients.per_c.value = -2.0;
    let air = |t: f64, h: f64| Air { temperature_c: t, humidity_percent: Some(h) };
    let bank = crate::tubes::Bank::default();
    let note = crate::tubes::Note { name: "C4".to_owned(), hz: 262.8, centre_x_m: 0.0, upper: false };
    let tubes = crate::tubes::tubes(&[note], &bank, crate::tubes::usual_diameter_m).unwrap().tubes;
    let told = hall(&coefficients, (air(22.0, 45.0), air(14.0, 45.0)), (&bank, &tubes)).unwrap();
    // The trade reckons with dry air; at 45 % the speed of sound moves by a twentieth more.
    assert!((told.bars.soon.0 - 16.0).abs() < 1e-9 && (told.tubes_cents + 1.05 * 23.8).abs() < 0.3, "{told:?}");
    // Cents that the tube must rise, back by the length of the tube in the cold air: within the end correction's tenth.
    let cold = bar_physics::air::sound_speed_m_s(14.0, 45.0).unwrap();
    let tube = bank.tube(tubes[0].diameter_m);
    let length_m = tube.length_m(262.8 * (16.0_f64 / 1200.0).exp2(), cold).unwrap();
    let by_m = tubes[0].stopper_m - length_m;
    assert!((told.notes[0].soon_towards_mouth_m / by_m - 1.0).abs() < 0.03, "{told:?} {by_m}");
    // Dry winter air sharpens the bars further.
    let dry = hall(&coefficients, (air(22.0, 45.0), air(14.0, 25.0)), (&bank, &tubes)).unwrap();
    assert!(dry.bars.settled.unwrap().0 > told.bars.soon.0 + 20.0, "{dry:?}");
    assert!(coefficients.reads(air(22.0, 45.0), air(70.0, 45.0)).is_err());
}

#[test]
fn a_bar_cools_within_the_hour_and_its_readings_say_where_it_goes() {
    // 20 mm of a 1000 kg/m³ bar: some 30 minutes to 1/e; "put back at least 10 minutes" (TRADE 1.15) is a third of that.
    let cooling = Cooling::of_bar(0.020, 1000.0).unwrap();
    assert!((1200.0..2400.0).contains(&cooling.time_s), "{cooling:?}");
    // Newton's law of a plate whose resistance inside is small: ρ c h / 2 over the heat given off, 10 W/(m² K) on each face.
    let thin = Cooling::of_bar(0.003, 1000.0).unwrap();
    assert!((thin.time_s / (1000.0 * 1500.0 * 0.0015 / 10.0) - 1.0).abs() < 0.03, "{thin:?}");
    let per_c = Coefficients::generic().per_c;
    let wait_s = cooling.wait_s(8.0, per_c, 1.0).unwrap();
    // 12 cents flat at first: e^(−t/τ) = 1/12.
    assert!((wait_s - cooling.time_s * 12.0_f64.ln()).abs() < 1e-9);
    assert!(cooling.wait_s(0.0, per_c, 1.0).unwrap().abs() < 1e-12);
    let at = |s: f64| (s, 4.0 - 12.0 * (-s / cooling.time_s).exp());
    let told = settled(&[at(0.0), at(300.0), at(900.0)], cooling, 0.3).unwrap();
    assert!((told.cents.0 - 4.0).abs() < 1e-9 && told.cents.1 > 0.3, "{told:?}");
    assert!((told.left_cents - 12.0 * (-900.0 / cooling.time_s).exp()).abs() < 1e-9, "{told:?}");
    for few in [&[at(0.0)][..], &[at(0.0), at(10.0)], &[]] {
        assert_eq!(settled(few, cooling, 0.3).unwrap_err().code, "too_few_readings");
    }
    assert_eq!(settled(&[at(900.0), at(0.0)], cooling, 0.3).unwrap_err().code, "out_of_range");
}

proptest! {
    /// Taking a bar there and back leaves it; a sum of two ways is the way.
    #[test]
    fn drift_is_a_difference_of_two_states(t in 10.0_f64..32.0, u in 10.0_f64..32.0, h in 20.0_f64..80.0, k in 20.0_f64..80.0) {
        let coefficients = Coefficients::generic();
        let a = Air { temperature_c: t, humidity_percent: Some(h) };
        let b = Air { temperature_c: u, humidity_percent: Some(k) };
        let there = coefficients.reads(a, b).unwrap().settled.unwrap();
        let back = coefficients.reads(b, a).unwrap().settled.unwrap();
        prop_assert!((there.0 + back.0).abs() < 1e-9 && (there.1 - back.1).abs() < 1e-9);
        prop_assert!(cents(2.0, 1.0) > there.1);
    }
}
