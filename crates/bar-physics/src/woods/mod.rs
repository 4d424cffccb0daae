//! Named woods used for bars and for practice bars, what climate does to them, and how they ring.
//!
//! * [`woods`], [`find`] — the table: density, lengthwise stiffness, elastic ratios, shrinkage, damping
//! * [`climate`] — equilibrium moisture, temperature and moisture drift in cents
//! * [`damping`] — loss factor, quality factor, ring time
//!
//! Every number is a [`Figure`]: value, standard uncertainty for one piece, source, and a [`Mark`] saying how
//! far the source was seen. A measured blank always beats this table; the table only starts the estimate.
mod figure;
mod table;

pub mod climate;
pub mod damping;

pub use figure::{Figure, Mark};

use crate::Wood;

/// To be shown wherever a wood is bought, shipped or exported.
pub const TRADE_CAUTION: &str =
    "Check the trade rules for this species before buying, shipping or exporting; keep the papers.";

/// To be shown wherever a wood is sawn or sanded.
pub const DUST_CAUTION: &str = "The dust can sensitise skin and lungs, and hardwood dust can cause cancer: extract it at the \
     source and wear a fitted respirator when sanding; stop at a rash or a wheeze.";

/// How the bar lies in the log: which growth-ring direction runs across the bar's width.
///
/// Rings at other angles (rift-sawn) lie between the two and are not offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sawn {
    /// Flat-sawn: rings run across the width, W tangential and H radial.
    #[default]
    Plain,
    /// Rings stand on edge, W radial and H tangential.
    Quarter,
}

/// Elastic constants over E_L in tree axes (L along the grain, R radial, T tangential), about 12 % moisture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratios {
    /// E_T / E_L.
    pub e_t: Figure,
    /// E_R / E_L.
    pub e_r: Figure,
    /// G_LT / E_L.
    pub g_lt: Figure,
    /// G_LR / E_L.
    pub g_lr: Figure,
    /// G_RT / E_L, rolling shear.
    pub g_rt: Figure,
    /// Poisson ratio: stretch along L, shrink along T.
    pub nu_lt: Figure,
    /// Poisson ratio: stretch along L, shrink along R.
    pub nu_lr: Figure,
    /// Poisson ratio: stretch along T, shrink along R.
    pub nu_tr: Figure,
}

/// Shrinkage from green to oven-dry, in percent of the green size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shrinkage {
    /// Along the radius.
    pub radial_percent: Figure,
    /// Along the rings.
    pub tangential_percent: Figure,
}

/// A wood of the table, at about 12 % moisture content and 20 °C.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedWood {
    /// Common name.
    pub name: &'static str,
    /// Botanical name: the one that trade rules go by.
    pub botanical: &'static str,
    /// Other names it is found under.
    pub aliases: &'static [&'static str],
    /// Density in kg/m³.
    pub density_kg_m3: Figure,
    /// Young's modulus along the grain in pascals.
    pub e_l_pa: Figure,
    /// The other elastic constants.
    pub ratios: Ratios,
    /// Green to oven-dry.
    pub shrinkage: Shrinkage,
    /// Published loss factor (tan δ) in bending, if any; else [`NamedWood::loss_factor`] estimates it.
    pub published_loss_factor: Option<Figure>,
    /// What to know before buying or cutting it, besides the general cautions.
    pub note: &'static str,
}

/// Departures from the table in standard uncertainties, all zero by default.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Deviates {
    /// Of the density.
    pub density: f64,
    /// Of E_L; the ratios are kept, so the other moduli follow.
    pub e_l: f64,
    /// Of E_T / E_L.
    pub e_t: f64,
    /// Of E_R / E_L.
    pub e_r: f64,
    /// Of G_LT / E_L.
    pub g_lt: f64,
    /// Of G_LR / E_L.
    pub g_lr: f64,
    /// Of G_RT / E_L.
    pub g_rt: f64,
    /// Of the coupling of L and T.
    pub nu_lt: f64,
    /// Of the coupling of L and R.
    pub nu_lr: f64,
    /// Of the coupling of T and R.
    pub nu_tr: f64,
}

impl NamedWood {
    /// The wood as the solver takes it.
    pub fn wood(&self, sawn: Sawn) -> Wood {
        self.varied(sawn, &Deviates::default())
    }

    /// A possible piece of this wood, so many standard uncertainties away from the table.
    ///
    /// Poisson ratios are varied through the symmetric coupling ν_ij √(E_j/E_i), which is what the elastic energy
    /// limits (|coupling| < 1): varying moduli and ratios independently would give solids that cannot exist.
    pub fn varied(&self, sawn: Sawn, by: &Deviates) -> Wood {
        let r = &self.ratios;
        let e_l_pa = self.e_l_pa.varied(by.e_l);
        let (e_t, e_r) = (r.e_t.varied(by.e_t), r.e_r.varied(by.e_r));
        let plain = Wood {
            name: self.name.to_owned(),
            density_kg_m3: self.density_kg_m3.varied(by.density),
            e_l_pa,
            e_w_pa: e_t * e_l_pa,
            e_h_pa: e_r * e_l_pa,
            g_lw_pa: r.g_lt.varied(by.g_lt) * e_l_pa,
            g_lh_pa: r.g_lr.varied(by.g_lr) * e_l_pa,
            g_wh_pa: r.g_rt.varied(by.g_rt) * e_l_pa,
            nu_lw: r.nu_lt.varied(by.nu_lt) * (r.e_t.value / e_t).sqrt(),
            nu_lh: r.nu_lr.varied(by.nu_lr) * (r.e_r.value / e_r).sqrt(),
            nu_wh: r.nu_tr.varied(by.nu_tr) * ((r.e_r.value / r.e_t.value) / (e_r / e_t)).sqrt(),
        };
        match sawn {
            Sawn::Plain => plain,
            Sawn::Quarter => on_edge(&plain),
        }
    }

    /// Whether any elastic constant or the density of this wood is not its own.
    pub fn is_partly_generic(&self) -> bool {
        self.figures().iter().any(|(_, figure)| figure.mark == Mark::Generic)
    }

    /// All figures with their names, for a table.
    pub fn figures(&self) -> Vec<(&'static str, Figure)> {
        let (r, s) = (&self.ratios, &self.shrinkage);
        vec![
            ("density, kg/m³", self.density_kg_m3),
            ("E_L, Pa", self.e_l_pa),
            ("E_T/E_L", r.e_t),
            ("E_R/E_L", r.e_r),
            ("G_LT/E_L", r.g_lt),
            ("G_LR/E_L", r.g_lr),
            ("G_RT/E_L", r.g_rt),
            ("nu_LT", r.nu_lt),
            ("nu_LR", r.nu_lr),
            ("nu_TR", r.nu_tr),
            ("radial shrinkage, %", s.radial_percent),
            ("tangential shrinkage, %", s.tangential_percent),
            ("loss factor", self.loss_factor()),
        ]
    }
}

/// The same wood with width and thickness exchanged: plain-sawn becomes quarter-sawn and back.
///
/// ν_HW follows from ν_WH by the symmetry of the compliance, ν_HW = ν_WH E_H/E_W.
pub fn on_edge(wood: &Wood) -> Wood {
    Wood {
        name: match wood.name.strip_suffix(QUARTER_SUFFIX) {
            Some(plain) => plain.to_owned(),
            None => format!("{}{QUARTER_SUFFIX}", wood.name),
        },
        density_kg_m3: wood.density_kg_m3,
        e_l_pa: wood.e_l_pa,
        e_w_pa: wood.e_h_pa,
        e_h_pa: wood.e_w_pa,
        g_lw_pa: wood.g_lh_pa,
        g_lh_pa: wood.g_lw_pa,
        g_wh_pa: wood.g_wh_pa,
        nu_lw: wood.nu_lh,
        nu_lh: wood.nu_lw,
        nu_wh: wood.nu_wh * wood.e_h_pa / wood.e_w_pa,
    }
}

const QUARTER_SUFFIX: &str = ", quarter-sawn";

/// The table.
pub fn woods() -> &'static [NamedWood] {
    &table::WOODS
}

/// No wood of the table goes by this name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no wood is called \"{name}\"; {hint}")]
pub struct UnknownWood {
    /// The name asked for.
    pub name: String,
    /// Which names to try instead.
    pub hint: String,
}

/// The wood of this name, botanical name or alias; case, punctuation and the order of words do not matter.
///
/// # Errors
/// [`UnknownWood`] names the woods that share a word with the name, or else all woods of the table.
pub fn find(name: &str) -> Result<&'static NamedWood, UnknownWood> {
    let wanted = words(name);
    let answers_to = |wood: &&NamedWood| names(wood).any(|known| words(known) == wanted);
    woods().iter().find(answers_to).ok_or_else(|| {
        let near = |wood: &&NamedWood| names(wood).any(|known| words(known).iter().any(|w| wanted.contains(w)));
        let mut listed: Vec<&str> = woods().iter().filter(near).map(|wood| wood.name).collect();
        let mut lead = "near it:";
        if listed.is_empty() {
            listed = woods().iter().map(|wood| wood.name).collect();
            lead = "give density and stiffness of your own, or one of:";
        }
        UnknownWood { name: name.trim().to_owned(), hint: format!("{lead} {}", listed.join(", ")) }
    })
}

/// Every name a wood answers to.
fn names(wood: &NamedWood) -> impl Iterator<Item = &'static str> {
    [wood.name, wood.botanical].into_iter().chain(wood.aliases.iter().copied())
}

/// Lower-case words in a fixed order, so that "Maple, sugar" is "sugar maple".
fn words(name: &str) -> Vec<String> {
    let lower = name.to_lowercase();
    let mut words: Vec<String> =
        lower.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_owned).collect();
    words.sort();
    words
}

#[cfg(test)]
mod tests;
