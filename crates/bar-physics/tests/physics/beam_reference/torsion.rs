//! Saint-Venant torsion of rectangles.
use crate::beam_reference::{check_absolute, check_relative, number, table};
use bar_physics::beam::{saint_venant_constant_m4, torsion_hz, torsional_rigidity_n_m2};

#[test]
fn the_torsion_constant_of_a_rectangle() {
    for row in table("torsion.csv") {
        let (aspect, h) = (number(&row[0]), 0.022);
        for (width_m, thickness_m) in [(aspect * h, h), (h, aspect * h)] {
            let constant = saint_venant_constant_m4(width_m, thickness_m).unwrap();
            // 10 decimals.
            check_absolute("J/h⁴", constant / h.powi(4), number(&row[1]), 6e-11);
            check_absolute("J/bh³", constant / (aspect * h.powi(4)), number(&row[2]), 6e-11);
            let rigidity = torsional_rigidity_n_m2(width_m, thickness_m, 1.2e9, 1.2e9).unwrap();
            let hz = torsion_hz(1, 0.34, width_m, thickness_m, rigidity, 740.0).unwrap();
            check_absolute("f", hz * 2.0 * 0.34 / (1.2e9f64 / 740.0).sqrt(), number(&row[3]), 6e-11);
        }
    }
    // Computed for this project: 340 × 50 × 22 mm, G = 1.2 GPa, 740 kg/m³.
    let rigidity = torsional_rigidity_n_m2(0.05, 0.022, 1.2e9, 1.2e9).unwrap();
    for (mode, want) in [(1, 1282.70462786), (2, 2565.40925573)] {
        // The figure came from J to ten digits or a few more; summed to 30 digits it is 1282.704627845.
        check_relative("hz", torsion_hz(mode, 0.34, 0.05, 0.022, rigidity, 740.0).unwrap(), want, 5e-11);
    }
}

#[test]
fn torsion_of_unequal_shear_moduli() {
    let (width_m, thickness_m) = (0.06, 0.022);
    // Turned by a quarter, width and thickness change places and so do the moduli.
    let lying = torsional_rigidity_n_m2(width_m, thickness_m, 0.8e9, 1.5e9).unwrap();
    let standing = torsional_rigidity_n_m2(thickness_m, width_m, 1.5e9, 0.8e9).unwrap();
    check_relative("turned", lying, standing, 1e-14);
    // A thin plate twists with the modulus of its own plane alone: G_LW b h³/3 (1 − 0.63 h/b √(G_LW/G_LH)).
    let plate = torsional_rigidity_n_m2(1.0, 1e-4, 0.8e9, 1.5e9).unwrap();
    check_relative("plate", plate, 0.8e9 * 1e-12 / 3.0, 1e-4);
    // Softer in either plane is softer altogether.
    assert!(torsional_rigidity_n_m2(width_m, thickness_m, 0.8e9, 1.4e9).unwrap() < lying);
    assert!(torsional_rigidity_n_m2(width_m, thickness_m, 0.7e9, 1.5e9).unwrap() < lying);
}
