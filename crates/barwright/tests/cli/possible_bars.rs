//! Any bar that a bar file may describe: finite modes and advice within its limits, or a refusal with a next step.
use barwright::bench::Bench;
use proptest::prelude::*;
use records::BarFile;
use serde_json::json;

/// Bars between a toothpick and a plank, plain or of any underside, of known or unknown wood, heard rightly or wildly.
fn any_bar() -> impl Strategy<Value = serde_json::Value> {
    let size = (20.0_f64..2000.0, 5.0_f64..300.0, 2.0_f64..100.0);
    let underside = prop::option::of(prop::collection::vec(0.2_f64..1.0, 2..24));
    let wood = prop::option::of((200.0_f64..1500.0, 2.0_f64..50.0));
    let grain = prop::option::of((-15.0_f64..15.0, -15.0_f64..15.0));
    let note = prop::sample::select(vec!["C2", "A2", "C3", "F4", "C5", "B6", "C8"]);
    let heard = prop::collection::vec(prop::option::of(20.0_f64..20_000.0), 0..4);
    (size, underside, wood, grain, note, heard).prop_map(
        |((length, width, thickness), under, wood, grain, note, heard)| {
            let mut bar = json!({
                "format": "barwright-bar/1", "note": note,
                "length_mm": length, "width_mm": width, "thickness_mm": thickness,
            });
            if let Some(shares) = under {
                let steps = (shares.len() - 1) as f64;
                let x: Vec<f64> = (0..shares.len()).map(|i| length * i as f64 / steps).collect();
                let t: Vec<f64> = shares.iter().map(|share| share * thickness).collect();
                bar["underside"] = json!({ "x_mm": x, "thickness_mm": t });
            }
            if let Some((density, e_l)) = wood {
                bar["wood"] = json!({ "density_kg_m3": density, "E_L_GPa": e_l });
            }
            if let Some((plan, dip)) = grain {
                bar["grain"] = json!({ "plan_deg": plan, "dip_deg": dip });
            }
            if heard.iter().any(Option::is_some) {
                bar["log"] = json!([{ "heard": { "hz": { "bending": heard } } }]);
            }
            bar
        },
    )
}

proptest! {
    // Each bar costs up to a second of solving; the fuzz target `solver` runs for as long as one likes.
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]
    #[test]
    fn any_possible_bar_is_answered_or_refused_in_words(bar in any_bar()) {
        let file = match BarFile::from_bytes(bar.to_string().as_bytes()) {
            Ok(file) => file,
            Err(refused) => {
                prop_assert!(!refused.hint.is_empty(), "{refused:?}");
                return Ok(());
            }
        };
        let bench = Bench::in_memory(file, true);
        match bench.modes() {
            Ok(modes) => {
                for family in [&modes.bending, &modes.torsion, &modes.sideways] {
                    prop_assert!(family.iter().all(|mode| mode.hz.is_finite() && mode.hz > 0.0));
                    prop_assert!(family.windows(2).all(|pair| pair[0].hz <= pair[1].hz));
                }
            }
            Err(refused) => prop_assert!(!refused.hint.is_empty(), "{refused:?}"),
        }
        match bench.advise() {
            Ok(advice) => {
                prop_assert!(!advice.instruction.is_empty());
                for band in &advice.bands {
                    prop_assert!(band.depth_m.is_finite() && band.depth_m > 0.0, "{band:?}");
                }
            }
            Err(refused) => prop_assert!(!refused.hint.is_empty(), "{refused:?}"),
        }
    }
}
