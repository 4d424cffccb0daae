//! Tests of the table: against its own sources, against the generic hardwood, and for possible solids.

use super::*;
use proptest::prelude::*;

/// Species in table 5-2 with the published ν_RT, which the table does not use.
const PUBLISHED_NU_RT: [(&str, f64); 8] = [
    ("sugar maple", 0.774),
    ("red maple", 0.762),
    ("Honduras mahogany", 0.600),
    ("African mahogany", 0.604),
    ("black walnut", 0.718),
    ("yellow birch", 0.697),
    ("black cherry", 0.695),
    ("white ash", 0.684),
];

fn near(value: f64, expected: f64, relative: f64) -> bool {
    (value / expected - 1.0).abs() <= relative
}

#[test]
fn nominal_woods_are_solids_in_both_cuts() {
    for named in woods() {
        for sawn in [Sawn::Plain, Sawn::Quarter] {
            named.wood(sawn).check().unwrap_or_else(|e| panic!("{}: {e}", named.name));
        }
    }
}

#[test]
fn two_sigma_corners_are_solids() {
    // All 2^10 corners of every wood: the property test below seldom reaches them.
    for named in woods() {
        for corner in 0..1024_u32 {
            let z = |bit: u32| if corner >> bit & 1 == 1 { 2.0 } else { -2.0 };
            let by = Deviates {
                density: z(0),
                e_l: z(1),
                e_t: z(2),
                e_r: z(3),
                g_lt: z(4),
                g_lr: z(5),
                g_rt: z(6),
                nu_lt: z(7),
                nu_lr: z(8),
                nu_tr: z(9),
            };
            named.varied(Sawn::Plain, &by).check().unwrap_or_else(|e| panic!("{} {by:?}: {e}", named.name));
            named.varied(Sawn::Quarter, &by).check().unwrap_or_else(|e| panic!("{} {by:?}: {e}", named.name));
        }
    }
}

proptest! {
    #[test]
    fn pieces_within_two_sigma_are_solids(index in 0..woods().len(), z in prop::array::uniform10(-2.0..2.0_f64)) {
        let [density, e_l, e_t, e_r, g_lt, g_lr, g_rt, nu_lt, nu_lr, nu_tr] = z;
        let by = Deviates { density, e_l, e_t, e_r, g_lt, g_lr, g_rt, nu_lt, nu_lr, nu_tr };
        let plain = woods()[index].varied(Sawn::Plain, &by);
        let quarter = woods()[index].varied(Sawn::Quarter, &by);
        prop_assert!(plain.check().is_ok() && quarter.check().is_ok());
        prop_assert_eq!(plain.e_l_pa.to_bits(), quarter.e_l_pa.to_bits());
    }

    #[test]
    fn no_name_panics(name in ".{0,40}") {
        if let Err(unknown) = find(&name) {
            prop_assert!(!unknown.hint.is_empty());
        }
    }
}

#[test]
fn quarter_sawn_is_the_same_solid_turned() {
    let plain = find("sugar maple").unwrap().wood(Sawn::Plain).stiffness().unwrap();
    let quarter = find("sugar maple").unwrap().wood(Sawn::Quarter).stiffness().unwrap();
    // Voigt order xx yy zz yz xz xy: exchanging y and z maps the indices so.
    let exchanged = [0, 2, 1, 3, 5, 4];
    for i in 0..6 {
        for j in 0..6 {
            // Rounding of a 3 × 3 inverse of numbers up to 1e10.
            assert!((quarter[i][j] - plain[exchanged[i]][exchanged[j]]).abs() < 1e-2, "[{i}][{j}]");
        }
    }
}

#[test]
fn exchanging_twice_gives_the_wood_back() {
    let plain = find("padauk").unwrap().wood(Sawn::Plain);
    let back = on_edge(&on_edge(&plain));
    assert_eq!(back.name, plain.name);
    assert!(near(back.nu_wh, plain.nu_wh, 1e-12));
    assert_eq!(on_edge(&plain).name, "African padauk, quarter-sawn");
}

#[test]
fn published_ratios_nearly_obey_reciprocity() {
    // A check of the transcription: nu_RT/E_R = nu_TR/E_T. The handbook warns that measured values miss it; here by 18 % at most.
    for (name, published) in PUBLISHED_NU_RT {
        let r = find(name).unwrap().ratios;
        let from_symmetry = r.nu_tr.value * r.e_r.value / r.e_t.value;
        assert!(near(from_symmetry, published, 0.20), "{name}: {from_symmetry} against {published}");
    }
}

#[test]
fn generic_ratios_are_those_of_the_generic_hardwood() {
    let (generic, r) = (Wood::generic_hardwood(800.0, 1.0), table::GENERIC);
    let pairs = [
        (r.e_t.value, generic.e_w_pa),
        (r.e_r.value, generic.e_h_pa),
        (r.g_lt.value, generic.g_lw_pa),
        (r.g_lr.value, generic.g_lh_pa),
        (r.g_rt.value, generic.g_wh_pa),
        (r.nu_lt.value, generic.nu_lw),
        (r.nu_lr.value, generic.nu_lh),
        (r.nu_tr.value, generic.nu_wh),
    ];
    for (i, (table, generic)) in pairs.into_iter().enumerate() {
        assert!(near(table, generic, 1e-12), "constant {i}: {table} against {generic}");
    }
}

#[test]
fn generic_ratios_are_the_means_of_the_eight_hardwoods() {
    let eight: Vec<Ratios> = PUBLISHED_NU_RT.iter().map(|(name, _)| find(name).unwrap().ratios).collect();
    let mean = |pick: fn(&Ratios) -> Figure| {
        let known: Vec<f64> = eight.iter().map(pick).filter(|f| f.mark != Mark::Generic).map(|f| f.value).collect();
        known.iter().sum::<f64>() / known.len() as f64
    };
    let g = table::GENERIC;
    // 1.5 %: the generic values are rounded to two or three digits.
    assert!(near(g.e_t.value, mean(|r| r.e_t), 0.015));
    assert!(near(g.e_r.value, mean(|r| r.e_r), 0.015));
    assert!(near(g.g_lt.value, mean(|r| r.g_lt), 0.015));
    assert!(near(g.g_lr.value, mean(|r| r.g_lr), 0.015));
    assert!(near(g.g_rt.value, mean(|r| r.g_rt), 0.015));
    assert!(near(g.nu_lt.value, mean(|r| r.nu_lt), 0.015));
    assert!(near(g.nu_lr.value, mean(|r| r.nu_lr), 0.015));
    // 6 %: the generic value lies between this mean (0.341) and what reciprocity makes of nu_RT (0.373).
    assert!(near(g.nu_tr.value, mean(|r| r.nu_tr), 0.06));
}

#[test]
fn names_are_found_in_any_writing_and_are_unique() {
    assert_eq!(find("Maple, sugar").unwrap().name, "sugar maple");
    assert_eq!(find("  dalbergia STEVENSONII ").unwrap().name, "Honduras rosewood");
    assert_eq!(find("Padouk").unwrap().botanical, "Pterocarpus soyauxii");
    let mut all: Vec<Vec<String>> = woods().iter().flat_map(|w| names(w).map(words)).collect();
    let count = all.len();
    all.sort();
    all.dedup();
    assert_eq!(all.len(), count, "a name stands for two woods");
}

#[test]
fn an_unknown_wood_is_refused_with_a_next_step() {
    let mahogany = find("mahogany").unwrap_err();
    assert!(mahogany.hint.contains("Honduras mahogany") && mahogany.hint.contains("African mahogany"));
    assert!(find("granite").unwrap_err().hint.contains("sugar maple"));
    assert!(find("").is_err());
}

#[test]
fn published_values_come_out_in_their_own_units() {
    const LB_FT3: f64 = 16.018_463;
    const MPSI: f64 = 6.894_757e9;
    let padauk = find("padauk").unwrap();
    // Sheet: 42 to 51 lb/ft³, 1.56 and 1.75 Mpsi; E_L adds the tenth for shear. Tolerance: rounding to kg/m³ and 0.01 GPa.
    assert!(near(padauk.density_kg_m3.value, 0.5 * (42.0 + 51.0) * LB_FT3, 1e-3));
    assert!(near(padauk.e_l_pa.value, 1.10 * 0.5 * (1.56 + 1.75) * MPSI, 1e-3));
    let rosewood = find("rosewood").unwrap();
    assert!(near(rosewood.density_kg_m3.value - 2.0 * rosewood.density_kg_m3.sigma, 58.0 * LB_FT3, 1e-3));
    assert!(near(rosewood.density_kg_m3.value + 2.0 * rosewood.density_kg_m3.sigma, 68.0 * LB_FT3, 1e-3));
    // Handbook maple 1.83 Mpsi; its metric table rounds to 12.6 GPa.
    assert!(near(find("sugar maple").unwrap().e_l_pa.value, 1.10 * 1.83 * MPSI, 3e-3));
}

#[test]
fn figures_are_positive_and_sourced() {
    for named in woods() {
        for (what, figure) in named.figures() {
            assert!(figure.value > 0.0 && figure.sigma > 0.0 && figure.sigma < figure.value, "{} {what}", named.name);
            assert!(!figure.source.is_empty(), "{} {what} has no source", named.name);
        }
    }
    assert!(find("rosewood").unwrap().is_partly_generic());
    assert_eq!(find("purpleheart").unwrap().ratios.e_t.mark, Mark::Generic);
}

#[test]
fn the_written_table_agrees() {
    let page = include_str!("../../../../docs/woods.md");
    for named in woods() {
        let row = page
            .lines()
            .find(|line| line.starts_with(&format!("| {} |", named.name)))
            .unwrap_or_else(|| panic!("{} is not in docs/woods.md", named.name));
        let density = format!("| {:.0} ± {:.0} |", named.density_kg_m3.value, named.density_kg_m3.sigma);
        let e_l = format!("| {:.1} ± {:.1} |", named.e_l_pa.value / 1e9, named.e_l_pa.sigma / 1e9);
        assert!(row.contains(named.botanical) && row.contains(&density) && row.contains(&e_l), "{row}\n{density}{e_l}");
    }
    assert!(page.contains(TRADE_CAUTION));
}
