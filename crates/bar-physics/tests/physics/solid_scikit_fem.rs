//! One-sided and crooked undersides and a turned xylophone bar against a general-purpose finite-element
//! library: reference/solid_bars_scikit_fem.json, made by reference/scripts/solid_by_scikit_fem.py.
use bar_physics::solid::{Wanted, modes};
use bar_physics::units::cents;

#[test]
fn bars_solved_by_another_library_agree() {
    let document = crate::common::reference("solid_bars_scikit_fem.json");
    let bars = document["bars"].as_array().unwrap();
    assert_eq!(bars.len(), 4);
    for entry in bars {
        let found = modes(&crate::common::bar(&entry["bar"]), Wanted { bending: 3, torsion: 2, sideways: 1 }).unwrap();
        let mut compared = 0;
        for mode in entry["modes"].as_array().unwrap() {
            let number = mode["mode"].as_u64().unwrap() as usize;
            // Two cents for bending and ten for torsion are the project's targets; the reference itself still moves
            // by 0.1–0.6 cents (bending) and 2–5 cents (torsion, sideways) between its two meshes.
            let (list, limit) = match mode["kind"].as_str() {
                Some("bending") if number <= 3 => (&found.bending, 2.0),
                Some("torsion") if number <= 2 => (&found.torsion, 10.0),
                Some("sideways") if number == 1 => (&found.sideways, 10.0),
                _ => continue,
            };
            let error = cents(list[number - 1].hz, mode["hz"].as_f64().unwrap());
            println!("{} {} {number}: {error:+.2} cents", entry["id"], mode["kind"]);
            assert!(error.abs() < limit, "{} {} {number}: {error:.2} cents", entry["id"], mode["kind"]);
            compared += 1;
        }
        assert_eq!(compared, 6, "{}", entry["id"]);
    }
}
