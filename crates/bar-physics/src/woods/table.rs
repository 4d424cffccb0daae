//! The table itself. Rows are data, so the file is longer than code would be.

use super::figure::Figure;
use super::figure::Mark::{FromMemory, Generic, Read, Transcribed};
use super::{NamedWood, Ratios, Shrinkage};

const TABLE_5_1: &str = "Wood Handbook, USDA FPL-GTR-190 (2010) and FPL-GTR-282 (2021), tables 5-1 and 5-2 \
     (research.fs.usda.gov/download/treesearch/62244.pdf); seen in a public transcription of both tables, not in the original";
const TABLE_5_3: &str = "1.10 × bending modulus of Wood Handbook table 5-3 (12 %); the 1.10 for shear is the note to table 5-1; \
     both seen in public transcriptions";
const TABLE_5_3_SG: &str =
    "1120 kg/m³ × specific gravity at 12 % of Wood Handbook table 5-3, seen in public transcriptions";
const TABLE_5_5: &str = "1.10 × bending modulus of Wood Handbook table 5-5 (12 %), quoted in \
     seaintarchive.org/mailarchive/2004d/msg00003.html (older edition, table 4-5b)";
const TABLE_5_5_SG: &str = "green specific gravity of Wood Handbook table 5-5, brought to 12 % (quoted in \
     seaintarchive.org/mailarchive/2004d/msg00003.html)";
const TABLE_4_3: &str = "Wood Handbook tables 4-3 and 4-4, seen in a public transcription";
const PADAUK_SHEET: &str = "USDA Wood Technical Fact Sheet (Chudnoff 1984), \
     fpl.fs.fed.us/documnts/TechSheets/Chudnoff/African/htmlDocs_africa/pterocarpsoy.html";
const ROSEWOOD_SHEET: &str = "USDA Wood Technical Fact Sheet (Chudnoff 1984), \
     fpl.fs.fed.us/documnts/TechSheets/Chudnoff/TropAmerican/htmlDocs_tropamerican/dalbergiastevensonii.html";
const ROSEWOOD_E: &str = "Brémaud et al., figure 3a: 17 to 26 GPa, dynamic, as quoted on a builder's page; \
     the USDA sheet has no mechanical data";
const PURPLEHEART_SHEET: &str = "species sheet docslib.org/doc/13193684 (52 lb/ft³ air-dry; stiffness 2.27 Mpsi dry)";
const OWN_MEMORY: &str = "recalled from Wood Handbook tables 5-3 to 5-5; not seen";
const HEARMON: &str = "Hearmon 1948, beech at 750 kg/m³; recalled, not seen";
const EIGHT_HARDWOODS: &str = "mean of the eight hardwoods of Wood Handbook tables 5-1 and 5-2 that are in this table";

/// Piece-to-piece spread of bending modulus and of specific gravity within a species: 22 % and 10 %, Wood
/// Handbook table 5-6, from memory.
const E_SPREAD: f64 = 0.22;
const DENSITY_SPREAD: f64 = 0.10;
/// The ratios of the eight hardwoods scatter by 20 to 30 %; within one species no spread is published.
const RATIO_SPREAD: f64 = 0.25;
/// Judgement: published pairs ν_RT, ν_TR miss reciprocity by up to 18 %.
const POISSON_SPREAD: f64 = 0.20;
/// The handbook's note: bending moduli at a span of 14 depths are low by about a tenth through shear.
const SHEAR_ALLOWANCE: f64 = 1.10;

/// Table 5-1 and 5-2 in the order ET, ER, GLR, GLT, GRT; LR, LT, TR. A missing GRT is generic.
const fn handbook(e_and_g: [f64; 4], g_rt: Option<f64>, nu: [f64; 3]) -> Ratios {
    let [e_t, e_r, g_lr, g_lt] = e_and_g;
    let [nu_lr, nu_lt, nu_tr] = nu;
    Ratios {
        e_t: Figure::relative(e_t, RATIO_SPREAD, Transcribed, TABLE_5_1),
        e_r: Figure::relative(e_r, RATIO_SPREAD, Transcribed, TABLE_5_1),
        g_lr: Figure::relative(g_lr, RATIO_SPREAD, Transcribed, TABLE_5_1),
        g_lt: Figure::relative(g_lt, RATIO_SPREAD, Transcribed, TABLE_5_1),
        g_rt: match g_rt {
            Some(value) => Figure::relative(value, RATIO_SPREAD, Transcribed, TABLE_5_1),
            None => GENERIC.g_rt,
        },
        nu_lr: Figure::relative(nu_lr, POISSON_SPREAD, Transcribed, TABLE_5_1),
        nu_lt: Figure::relative(nu_lt, POISSON_SPREAD, Transcribed, TABLE_5_1),
        nu_tr: Figure::relative(nu_tr, POISSON_SPREAD, Transcribed, TABLE_5_1),
    }
}

/// The ratios of [`crate::Wood::generic_hardwood`].
pub(super) const GENERIC: Ratios = Ratios {
    e_t: Figure::relative(0.065, RATIO_SPREAD, Generic, EIGHT_HARDWOODS),
    e_r: Figure::relative(0.125, RATIO_SPREAD, Generic, EIGHT_HARDWOODS),
    g_lr: Figure::relative(0.102, RATIO_SPREAD, Generic, EIGHT_HARDWOODS),
    g_lt: Figure::relative(0.073, RATIO_SPREAD, Generic, EIGHT_HARDWOODS),
    g_rt: Figure::relative(0.022, RATIO_SPREAD, Generic, EIGHT_HARDWOODS),
    nu_lr: Figure::relative(0.39, POISSON_SPREAD, Generic, EIGHT_HARDWOODS),
    nu_lt: Figure::relative(0.51, POISSON_SPREAD, Generic, EIGHT_HARDWOODS),
    nu_tr: Figure::relative(0.36, POISSON_SPREAD, Generic, EIGHT_HARDWOODS),
};

/// Hearmon's beech: E_L 13.7, E_R 2.24, E_T 1.14, G_LR 1.61, G_LT 1.06, G_RT 0.46 GPa.
const HEARMON_BEECH: Ratios = Ratios {
    e_t: Figure::relative(1.14 / 13.7, RATIO_SPREAD, FromMemory, HEARMON),
    e_r: Figure::relative(2.24 / 13.7, RATIO_SPREAD, FromMemory, HEARMON),
    g_lr: Figure::relative(1.61 / 13.7, RATIO_SPREAD, FromMemory, HEARMON),
    g_lt: Figure::relative(1.06 / 13.7, RATIO_SPREAD, FromMemory, HEARMON),
    g_rt: Figure::relative(0.46 / 13.7, RATIO_SPREAD, FromMemory, HEARMON),
    nu_lr: Figure::relative(0.45, POISSON_SPREAD, FromMemory, HEARMON),
    nu_lt: Figure::relative(0.51, POISSON_SPREAD, FromMemory, HEARMON),
    nu_tr: Figure::relative(0.36, POISSON_SPREAD, FromMemory, HEARMON),
};

/// Density at 12 % moisture from the specific gravity at that moisture (oven-dry mass, 12 % volume).
const fn density(specific_gravity: f64) -> Figure {
    Figure::relative(1120.0 * specific_gravity, DENSITY_SPREAD, Transcribed, TABLE_5_3_SG)
}

/// E_L from the bending modulus of table 5-3 in GPa.
const fn e_l(bending_gpa: f64) -> Figure {
    Figure::relative(SHEAR_ALLOWANCE * bending_gpa * 1e9, E_SPREAD, Transcribed, TABLE_5_3)
}

/// Spread of shrinkage within a species: 15 %, judgement.
const fn shrinkage(radial_percent: f64, tangential_percent: f64) -> Shrinkage {
    Shrinkage {
        radial_percent: Figure::relative(radial_percent, 0.15, Transcribed, TABLE_4_3),
        tangential_percent: Figure::relative(tangential_percent, 0.15, Transcribed, TABLE_4_3),
    }
}

/// Specific gravity at 12 % from the green (basic) one: G/(1 − 0.256·0.6·G) (Wood Handbook ch. 4, fibre
/// saturation 30 %; coefficient seen in a public implementation of an older edition).
const fn from_green(basic_gravity: f64) -> f64 {
    basic_gravity / (1.0 - 0.256 * 0.6 * basic_gravity)
}

/// One row per wood; bar woods first, then practice woods.
pub(super) static WOODS: [NamedWood; 14] = [
    NamedWood {
        name: "Honduras rosewood",
        botanical: "Dalbergia stevensonii",
        aliases: &["rosewood", "palissandre du Honduras", "palisandro de Honduras"],
        density_kg_m3: Figure::range(929.0, 1089.0, Read, ROSEWOOD_SHEET),
        e_l_pa: Figure::range(17e9, 26e9, Transcribed, ROSEWOOD_E),
        ratios: GENERIC,
        shrinkage: Shrinkage {
            radial_percent: Figure::relative(
                2.9,
                0.25,
                Generic,
                "Dalbergia nigra, Wood Handbook table 4-4; the USDA sheet says similar",
            ),
            tangential_percent: Figure::relative(
                4.6,
                0.25,
                Generic,
                "Dalbergia nigra, Wood Handbook table 4-4; the USDA sheet says similar",
            ),
        },
        published_loss_factor: Some(super::damping::ROSEWOOD),
        note: "\"Rosewood\" is sold for some thirty species: ask for the botanical name. The whole genus was on the trade lists \
               when this was written. The dust is a known contact allergen.",
    },
    NamedWood {
        name: "African padauk",
        botanical: "Pterocarpus soyauxii",
        aliases: &["padauk", "padouk", "African padouk"],
        density_kg_m3: Figure::range(673.0, 817.0, Read, PADAUK_SHEET),
        // 1.56 and 1.75 Mpsi (10.76 and 12.07 GPa), two samples of 2 cm.
        e_l_pa: Figure::relative(SHEAR_ALLOWANCE * 11.41e9, 0.20, Read, PADAUK_SHEET),
        ratios: GENERIC,
        shrinkage: Shrinkage {
            radial_percent: Figure::relative(3.3, 0.15, Read, PADAUK_SHEET),
            tangential_percent: Figure::relative(5.2, 0.15, Read, PADAUK_SHEET),
        },
        published_loss_factor: Some(super::damping::PADAUK),
        note: "Related species are on the trade lists. The sheet warns of respiratory problems from the sawdust.",
    },
    NamedWood {
        name: "sugar maple",
        botanical: "Acer saccharum",
        aliases: &["hard maple", "rock maple"],
        density_kg_m3: density(0.63),
        e_l_pa: e_l(12.6),
        ratios: handbook([0.065, 0.132, 0.111, 0.063], None, [0.424, 0.476, 0.349]),
        shrinkage: shrinkage(4.8, 9.9),
        published_loss_factor: None,
        note: "",
    },
    NamedWood {
        name: "red maple",
        botanical: "Acer rubrum",
        aliases: &["soft maple"],
        density_kg_m3: density(0.54),
        e_l_pa: e_l(11.3),
        ratios: handbook([0.067, 0.140, 0.133, 0.074], None, [0.434, 0.509, 0.354]),
        shrinkage: shrinkage(4.0, 8.2),
        published_loss_factor: None,
        note: "",
    },
    NamedWood {
        name: "Honduras mahogany",
        botanical: "Swietenia macrophylla",
        aliases: &["true mahogany", "big-leaf mahogany", "genuine mahogany"],
        density_kg_m3: Figure::relative(1120.0 * from_green(0.45), DENSITY_SPREAD, Transcribed, TABLE_5_5_SG),
        e_l_pa: Figure::relative(SHEAR_ALLOWANCE * 10.34e9, E_SPREAD, Transcribed, TABLE_5_5),
        ratios: handbook([0.064, 0.107, 0.066, 0.086], Some(0.028), [0.314, 0.533, 0.326]),
        shrinkage: shrinkage(3.0, 4.1),
        published_loss_factor: None,
        note: "Wild stands were on the trade lists when this was written.",
    },
    NamedWood {
        name: "African mahogany",
        botanical: "Khaya spp.",
        aliases: &["Khaya", "Khaya ivorensis"],
        density_kg_m3: Figure::relative(1120.0 * from_green(0.42), DENSITY_SPREAD, Transcribed, TABLE_5_5_SG),
        e_l_pa: Figure::relative(SHEAR_ALLOWANCE * 9.65e9, E_SPREAD, Transcribed, TABLE_5_5),
        ratios: handbook([0.050, 0.111, 0.088, 0.059], Some(0.021), [0.297, 0.641, 0.264]),
        shrinkage: shrinkage(2.5, 4.5),
        published_loss_factor: None,
        note: "",
    },
    NamedWood {
        name: "black walnut",
        botanical: "Juglans nigra",
        aliases: &["walnut", "American walnut"],
        density_kg_m3: Figure::relative(1120.0 * 0.55, DENSITY_SPREAD, FromMemory, OWN_MEMORY),
        e_l_pa: Figure::relative(SHEAR_ALLOWANCE * 11.6e9, E_SPREAD, FromMemory, OWN_MEMORY),
        ratios: handbook([0.056, 0.106, 0.085, 0.062], Some(0.021), [0.495, 0.632, 0.367]),
        shrinkage: shrinkage(5.5, 7.8),
        published_loss_factor: None,
        note: "",
    },
    NamedWood {
        name: "yellow birch",
        botanical: "Betula alleghaniensis",
        aliases: &["birch"],
        density_kg_m3: density(0.62),
        e_l_pa: e_l(13.9),
        ratios: handbook([0.050, 0.078, 0.074, 0.068], Some(0.017), [0.426, 0.451, 0.426]),
        shrinkage: shrinkage(7.3, 9.5),
        published_loss_factor: None,
        note: "",
    },
    NamedWood {
        name: "black cherry",
        botanical: "Prunus serotina",
        aliases: &["cherry", "American cherry"],
        density_kg_m3: density(0.50),
        e_l_pa: e_l(10.3),
        ratios: handbook([0.086, 0.197, 0.147, 0.097], None, [0.392, 0.428, 0.282]),
        shrinkage: shrinkage(3.7, 7.1),
        published_loss_factor: None,
        note: "",
    },
    NamedWood {
        name: "white ash",
        botanical: "Fraxinus americana",
        aliases: &["ash", "American ash"],
        density_kg_m3: density(0.60),
        e_l_pa: e_l(12.0),
        ratios: handbook([0.080, 0.125, 0.109, 0.077], None, [0.371, 0.440, 0.360]),
        shrinkage: shrinkage(4.9, 7.8),
        published_loss_factor: None,
        note: "",
    },
    NamedWood {
        name: "American beech",
        botanical: "Fagus grandifolia",
        aliases: &[],
        density_kg_m3: density(0.64),
        e_l_pa: e_l(11.9),
        ratios: GENERIC,
        shrinkage: shrinkage(5.5, 11.9),
        published_loss_factor: None,
        note: "",
    },
    NamedWood {
        name: "European beech",
        botanical: "Fagus sylvatica",
        aliases: &["beech"],
        density_kg_m3: Figure::relative(750.0, DENSITY_SPREAD, FromMemory, HEARMON),
        e_l_pa: Figure::relative(13.7e9, E_SPREAD, FromMemory, HEARMON),
        ratios: HEARMON_BEECH,
        shrinkage: Shrinkage {
            radial_percent: Figure::relative(5.8, 0.15, FromMemory, "general handbooks, not seen"),
            tangential_percent: Figure::relative(11.8, 0.15, FromMemory, "general handbooks, not seen"),
        },
        published_loss_factor: None,
        note: "",
    },
    NamedWood {
        name: "purpleheart",
        botanical: "Peltogyne spp.",
        aliases: &["amaranth", "purple heart"],
        density_kg_m3: Figure::relative(833.0, DENSITY_SPREAD, Read, PURPLEHEART_SHEET),
        e_l_pa: Figure::relative(SHEAR_ALLOWANCE * 15.65e9, E_SPREAD, Read, PURPLEHEART_SHEET),
        ratios: GENERIC,
        shrinkage: shrinkage(3.2, 6.1),
        published_loss_factor: None,
        note: "About twenty species share the name.",
    },
    NamedWood {
        name: "bubinga",
        botanical: "Guibourtia spp.",
        aliases: &["kevazingo", "Guibourtia tessmannii"],
        density_kg_m3: Figure::relative(1120.0 * from_green(0.71), DENSITY_SPREAD, FromMemory, OWN_MEMORY),
        e_l_pa: Figure::relative(SHEAR_ALLOWANCE * 17.1e9, E_SPREAD, FromMemory, OWN_MEMORY),
        ratios: GENERIC,
        shrinkage: shrinkage(5.8, 8.4),
        published_loss_factor: None,
        note: "Several species of the genus may be on the trade lists.",
    },
];
