//! What a bar file says, as typed values in the shop's units (millimetres, grams, hertz, cents).
//!
//! The ranges and sentences written here become the JSON Schema, and files are checked against that
//! schema: there is one place to change a limit.
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize};

/// The only value of `format` understood by this version.
pub const FORMAT: &str = "barwright-bar/1";

/// One wooden bar: its blank, what it shall become, and what has happened to it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BarRecord {
    /// Kind and version of this file.
    pub format: FormatName,
    /// The note the bar is meant for, e.g. C3, F#4 or Bb2; C4 is middle C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Frequency of A4 that the instrument is tuned to, in hertz; 440 if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 380.0, max = 480.0))]
    pub a4_hz: Option<f64>,
    /// Length of the blank, in millimetres.
    #[schemars(range(min = 60.0, max = 1500.0))]
    pub length_mm: f64,
    /// Width of the bar, in millimetres.
    #[schemars(range(min = 10.0, max = 200.0))]
    pub width_mm: f64,
    /// Thickness of the blank, in millimetres.
    #[schemars(range(min = 3.0, max = 80.0))]
    pub thickness_mm: f64,
    /// Mass before the first log entry, in grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1.0, max = 30000.0))]
    pub mass_g: Option<f64>,
    /// Shape of the underside before the first log entry; a blank if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub underside: Option<UndersideRecord>,
    /// Constants of the wood; estimated from mass and readings if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wood: Option<WoodRecord>,
    /// How the grain runs; straight if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grain: Option<GrainRecord>,
    /// What the bar is tuned to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub targets: Option<TargetsRecord>,
    /// What must not be passed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits: Option<LimitsRecord>,
    /// The hand that cuts it, as known from earlier bars; common practice if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hand: Option<HandRecord>,
    /// What happened to the bar, in order of time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub log: Option<Vec<LogEntry>>,
}

/// What is known of a maker's hand on one belt and species before the first cut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandRecord {
    /// Depth taken over depth intended; 1 is an exact hand.
    #[schemars(range(min = 0.2, max = 5.0))]
    pub depth_ratio: f64,
    /// Standard uncertainty of that ratio, in percent.
    #[schemars(range(min = 1.0, max = 100.0))]
    pub depth_ratio_pct: f64,
    /// Wood that one pass takes, in millimetres.
    #[schemars(range(min = 0.001, max = 5.0))]
    pub pass_mm: f64,
    /// Standard uncertainty of that depth, in percent.
    #[schemars(range(min = 1.0, max = 100.0))]
    pub pass_pct: f64,
    /// The bars it was learnt on, for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(max = 100))]
    pub from: Option<Vec<String>>,
}

/// Kind and version of a bar file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum FormatName {
    /// Bar file, version 1.
    #[serde(rename = "barwright-bar/1")]
    BarwrightBar1,
}

/// The wood left under the flat top face, linear between stations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UndersideRecord {
    /// Places of the stations from the left end, rising, the first at 0 and the last at the bar's length, in millimetres.
    #[schemars(length(min = 2, max = 5000), inner(range(min = 0.0, max = 1500.0)))]
    pub x_mm: Vec<f64>,
    /// Wood left at each station, measured from the top face, in millimetres.
    #[schemars(length(min = 2, max = 5000), inner(range(min = 0.5, max = 100.0)))]
    pub thickness_mm: Vec<f64>,
    /// Places where the slope jumps, in millimetres from the left end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(max = 100), inner(range(min = 0.0, max = 1500.0)))]
    pub kinks_mm: Option<Vec<f64>>,
}

/// Elastic constants of the wood (L along the bar, W across its width, H through its thickness).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WoodRecord {
    /// Name of the wood, for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Density, in kilograms per cubic metre.
    #[schemars(range(min = 150.0, max = 1500.0))]
    pub density_kg_m3: f64,
    /// Young's modulus along the grain, in gigapascals.
    #[serde(rename = "E_L_GPa")]
    #[schemars(range(min = 1.0, max = 50.0))]
    pub e_l_gpa: f64,
    /// Young's modulus across the width, in gigapascals; generic hardwood's share of E_L if missing.
    #[serde(rename = "E_W_GPa", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.05, max = 50.0))]
    pub e_w_gpa: Option<f64>,
    /// Young's modulus through the thickness, in gigapascals; generic hardwood's share of E_L if missing.
    #[serde(rename = "E_H_GPa", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.05, max = 50.0))]
    pub e_h_gpa: Option<f64>,
    /// Shear modulus in the plane of the top face, in gigapascals; generic hardwood's share of E_L if missing.
    #[serde(rename = "G_LW_GPa", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.02, max = 20.0))]
    pub g_lw_gpa: Option<f64>,
    /// Shear modulus in the side view, in gigapascals; generic hardwood's share of E_L if missing.
    #[serde(rename = "G_LH_GPa", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.02, max = 20.0))]
    pub g_lh_gpa: Option<f64>,
    /// Rolling shear modulus in the end grain, in gigapascals; generic hardwood's share of E_L if missing.
    #[serde(rename = "G_WH_GPa", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.01, max = 20.0))]
    pub g_wh_gpa: Option<f64>,
    /// Poisson ratio: stretch along L, shrink along W; generic hardwood's if missing.
    #[serde(rename = "nu_LW", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1.5))]
    pub nu_lw: Option<f64>,
    /// Poisson ratio: stretch along L, shrink along H; generic hardwood's if missing.
    #[serde(rename = "nu_LH", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1.5))]
    pub nu_lh: Option<f64>,
    /// Poisson ratio: stretch along W, shrink along H; generic hardwood's if missing.
    #[serde(rename = "nu_WH", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1.5))]
    pub nu_wh: Option<f64>,
}

/// How the grain is turned in the bar.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GrainRecord {
    /// Turn in plan, from the left–right direction toward the far edge, in degrees; 0 if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = -45.0, max = 45.0))]
    pub plan_deg: Option<f64>,
    /// Dip, from the left–right direction upward, in degrees; 0 if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = -45.0, max = 45.0))]
    pub dip_deg: Option<f64>,
}

/// What the bar is tuned to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TargetsRecord {
    /// Wanted ratios of bending modes 1, 2, … to the note, rising, e.g. 1, 4, 10; as many as are tuned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 3), inner(range(min = 0.5, max = 20.0)))]
    pub ratios: Option<Vec<f64>>,
    /// How far above its target each mode is aimed at in this stage, in cents (100 in rough tuning); 0 if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 600.0))]
    pub headroom_cents: Option<f64>,
}

/// What must not be passed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LimitsRecord {
    /// Thinnest wood allowed anywhere, measured from the top face, in millimetres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.5, max = 50.0))]
    pub min_thickness_mm: Option<f64>,
}

/// One thing that happened to the bar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase", deny_unknown_fields)]
pub enum LogEntry {
    /// It was struck and heard.
    Heard(HeardRecord),
    /// It was sawn or measured to this whole profile.
    Shaped(ShapedRecord),
    /// Bands were removed, as intended.
    Cut(CutRecord),
    /// The thickness was measured at some places.
    Caliper(CaliperRecord),
    /// The ends were sawn off; x then counts from the new left end.
    Trim(TrimRecord),
    /// The bar was weighed.
    Weighed(WeighedRecord),
}

/// A reading of the bar's modes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeardRecord {
    /// Frequencies heard.
    pub hz: HeardHz,
    /// Standard uncertainty of the frequencies, in cents; 1 if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.01, max = 200.0))]
    pub sigma_cents: Option<f64>,
    /// Temperature of the bar, in degrees Celsius.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = -30.0, max = 60.0))]
    pub temperature_c: Option<f64>,
}

/// Frequencies by family; the first is mode 1, null was not heard.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeardHz {
    /// Bending modes 1, 2, …, in hertz.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(max = 8), inner(range(min = 20.0, max = 20000.0)))]
    pub bending: Option<Vec<Option<f64>>>,
    /// Torsion modes 1, 2, …, in hertz.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(max = 8), inner(range(min = 20.0, max = 20000.0)))]
    pub torsion: Option<Vec<Option<f64>>>,
}

/// A newly sawn or measured whole profile.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShapedRecord {
    /// Places of the stations from the left end, rising, the first at 0 and the last at the bar's length, in millimetres.
    #[schemars(length(min = 2, max = 5000), inner(range(min = 0.0, max = 1500.0)))]
    pub x_mm: Vec<f64>,
    /// Wood left at each station, measured from the top face, in millimetres.
    #[schemars(length(min = 2, max = 5000), inner(range(min = 0.5, max = 100.0)))]
    pub thickness_mm: Vec<f64>,
    /// Places where the slope jumps, in millimetres from the left end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(max = 100), inner(range(min = 0.0, max = 1500.0)))]
    pub kinks_mm: Option<Vec<f64>>,
    /// Standard uncertainty of the profile, in millimetres; 0.5 if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 10.0))]
    pub sigma_mm: Option<f64>,
}

/// Bands just removed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CutRecord {
    /// The bands, as intended.
    #[schemars(length(min = 1, max = 100))]
    pub bands: Vec<BandRecord>,
    /// Passes made, if counted.
    #[serde(default, skip_serializing_if = "Option::is_none", deserialize_with = "whole_number")]
    #[schemars(range(min = 1, max = 10000))]
    pub passes: Option<u32>,
}

/// A band of wood on the underside.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BandRecord {
    /// Nearer edge, from the centre of the bar, in millimetres.
    #[schemars(range(min = 0.0, max = 750.0))]
    pub from_mm: f64,
    /// Farther edge, from the centre of the bar, in millimetres.
    #[schemars(range(min = 0.0, max = 750.0))]
    pub to_mm: f64,
    /// Depth taken off, in millimetres.
    #[schemars(range(min = 0.001, max = 100.0))]
    pub depth_mm: f64,
    /// Side of the centre, in bench view; both if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<SideName>,
}

/// A side of the centre, the bar lying left–right before the maker with its top face up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum SideName {
    /// Both sides alike.
    Both,
    /// Left of the centre.
    Left,
    /// Right of the centre.
    Right,
}

/// Spot readings of thickness.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CaliperRecord {
    /// Places from the left end, in millimetres.
    #[schemars(length(min = 1, max = 1000), inner(range(min = 0.0, max = 1500.0)))]
    pub x_mm: Vec<f64>,
    /// Thickness there, in millimetres.
    #[schemars(length(min = 1, max = 1000), inner(range(min = 0.5, max = 105.0)))]
    pub thickness_mm: Vec<f64>,
}

/// Ends sawn off.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TrimRecord {
    /// Sawn off the left end, in millimetres; 0 if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1500.0))]
    pub left_mm: Option<f64>,
    /// Sawn off the right end, in millimetres; 0 if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1500.0))]
    pub right_mm: Option<f64>,
}

/// A weighing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WeighedRecord {
    /// Mass, in grams.
    #[schemars(range(min = 1.0, max = 30000.0))]
    pub mass_g: f64,
}

impl LogEntry {
    /// The key the entry stands under in the file.
    pub fn key(&self) -> &'static str {
        match self {
            Self::Heard(_) => "heard",
            Self::Shaped(_) => "shaped",
            Self::Cut(_) => "cut",
            Self::Caliper(_) => "caliper",
            Self::Trim(_) => "trim",
            Self::Weighed(_) => "weighed",
        }
    }
}

/// Accepts 4 and 4.0 alike, as JSON Schema does for an integer.
fn whole_number<'de, D: Deserializer<'de>>(from: D) -> Result<Option<u32>, D::Error> {
    let Some(value) = Option::<f64>::deserialize(from)? else { return Ok(None) };
    if value.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&value) {
        Ok(Some(value as u32))
    } else {
        Err(serde::de::Error::custom(format!("{value} is not a whole number")))
    }
}
