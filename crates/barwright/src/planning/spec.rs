//! A specification as the maker writes it: TOML with the unit in each key's name, five keys enough.
use crate::error::Refused;
use bar_physics::Wood;
use bar_physics::woods::{self, Sawn};
use making::frame::Gap;
use making::schedule::{A4, Kind, Law, ModeRange, Specification};
use records::Note;
use serde::Deserialize;

const GENERIC: &str = "generic hardwood";

/// The file.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SpecFile {
    kind: KindWord,
    lowest: String,
    highest: String,
    a4_hz: f64,
    wood: String,
    density_kg_m3: Option<f64>,
    e_l_gpa: Option<f64>,
    one_row: Option<bool>,
    temperature_c: Option<f64>,
    humidity_percent: Option<f64>,
    temperament_cents: Option<[f64; 12]>,
    stretch: Option<Vec<StretchLine>>,
    modes: Option<Vec<ModesLine>>,
    length: Option<LawWords>,
    width: Option<LawWords>,
    thickness: Option<LawWords>,
    gap_mm: Option<f64>,
    min_thickness_mm: Option<f64>,
    longest_blank_mm: Option<f64>,
    most_overall_mm: Option<f64>,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
enum KindWord {
    Marimba,
    Xylophone,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct StretchLine {
    note: String,
    cents: f64,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct ModesLine {
    up_to: String,
    ratios: Vec<f64>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "law", rename_all = "lowercase", deny_unknown_fields)]
enum LawWords {
    Usual { factor: Option<f64> },
    Stepped { factor: Option<f64>, every: usize },
    Straight { lowest_mm: f64, highest_mm: f64 },
    Constant { mm: f64 },
    Listed { sizes: Vec<SizeLine> },
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct SizeLine {
    note: String,
    mm: f64,
}

impl LawWords {
    fn law(&self) -> Result<Law, Refused> {
        Ok(match self {
            Self::Usual { factor } => Law::Usual(factor.unwrap_or(1.0)),
            Self::Stepped { factor, every } => Law::Stepped(factor.unwrap_or(1.0), *every),
            Self::Straight { lowest_mm, highest_mm } => Law::Straight(lowest_mm * 1e-3, highest_mm * 1e-3),
            Self::Constant { mm } => Law::Constant(mm * 1e-3),
            Self::Listed { sizes } => {
                let sizes = sizes.iter().map(|size| Ok((midi(&size.note)?, size.mm * 1e-3)));
                Law::Listed(sizes.collect::<Result<_, Refused>>()?)
            }
        })
    }
}

impl SpecFile {
    /// From its text.
    ///
    /// # Errors
    /// [`Refused`] `not_a_specification` with the line and the key.
    pub(crate) fn read(text: &str) -> Result<Self, Refused> {
        toml::from_str(text).map_err(|error| {
            let line = error.span().map(|span| 1 + text[..span.start.min(text.len())].matches('\n').count());
            let place = line.map_or_else(String::new, |line| format!("line {line}: "));
            let hint = "barwright plan --new marimba C3 C7 writes one with every key explained";
            Refused::new("not_a_specification", format!("{place}{}", error.message()), hint)
        })
    }

    /// What is to be planned: the first proposal, and what the file says over it.
    ///
    /// # Errors
    /// [`Refused`] naming the value and its limit.
    pub(crate) fn specification(&self) -> Result<Specification, Refused> {
        let kind = match self.kind {
            KindWord::Marimba => Kind::Marimba,
            KindWord::Xylophone => Kind::Xylophone,
        };
        let mut plan =
            Specification::proposal(kind, midi(&self.lowest)?, midi(&self.highest)?, self.a4_hz, self.wood()?);
        plan.one_row = self.one_row.unwrap_or(plan.one_row);
        plan.temperature_c = self.temperature_c.unwrap_or(plan.temperature_c);
        plan.humidity_percent = self.humidity_percent.unwrap_or(plan.humidity_percent);
        plan.temperament_cents = self.temperament_cents.unwrap_or(plan.temperament_cents);
        if let Some(lines) = &self.stretch {
            plan.stretch =
                lines.iter().map(|line| Ok((midi(&line.note)?, line.cents))).collect::<Result<_, Refused>>()?;
        }
        if let Some(lines) = &self.modes {
            plan.modes = lines.iter().map(ModesLine::range).collect::<Result<_, _>>()?;
        }
        for (to, law) in
            [(&mut plan.length, &self.length), (&mut plan.width, &self.width), (&mut plan.thickness, &self.thickness)]
        {
            if let Some(words) = law {
                *to = words.law()?;
            }
        }
        if let Some(gap_mm) = self.gap_mm {
            plan.gap = Gap { between_m: gap_mm * 1e-3 };
        }
        if let Some(least_mm) = self.min_thickness_mm {
            within("min_thickness_mm", least_mm, 2.0, 20.0, "mm", "5 mm is a usual least, from memory")?;
            plan.min_thickness_m = least_mm * 1e-3;
        }
        if let Some(most_mm) = self.most_overall_mm {
            within("most_overall_mm", most_mm, 200.0, 6000.0, "mm", "give the longest row that still fits")?;
        }
        plan.longest_blank_m = self.longest_blank_mm.map(|mm| mm * 1e-3);
        plan.most_overall_m = self.most_overall_mm.map(|mm| mm * 1e-3);
        Ok(plan)
    }

    fn wood(&self) -> Result<Wood, Refused> {
        if self.wood.eq_ignore_ascii_case(GENERIC) {
            let (Some(density), Some(e_l_gpa)) = (self.density_kg_m3, self.e_l_gpa) else {
                let hint = "give both, from the mass and the pitch of a blank: barwright next estimates them";
                return Err(Refused::new("wood_not_known", "generic hardwood needs density_kg_m3 and e_l_gpa", hint));
            };
            within("density_kg_m3", density, 200.0, 1500.0, "kg/m³", "weigh and measure a planed blank")?;
            within("e_l_gpa", e_l_gpa, 2.0, 50.0, "GPa", "woods for bars lie between some 10 and 26")?;
            return Ok(Wood::generic_hardwood(density, e_l_gpa * 1e9));
        }
        if self.density_kg_m3.is_some() || self.e_l_gpa.is_some() {
            let message = format!("density_kg_m3 and e_l_gpa go with \"{GENERIC}\", not with {}", self.wood);
            return Err(Refused::new("wood_twice", message, "leave them out, or write wood = \"generic hardwood\""));
        }
        let named = woods::find(&self.wood).map_err(|unknown| {
            Refused::new("unknown_wood", format!("no wood is known as {}", unknown.name), &unknown.hint)
        })?;
        Ok(named.wood(Sawn::Plain))
    }
}

impl ModesLine {
    fn range(&self) -> Result<ModeRange, Refused> {
        let hint = "one to three rising ratios that begin with 1, e.g. [1, 4, 10]";
        let rising = self.ratios.windows(2).all(|pair| pair[1] > pair[0]);
        let first = self.ratios.first().is_some_and(|first| (first - 1.0).abs() < 1e-9);
        if !(first && rising && self.ratios.len() <= 3 && self.ratios.iter().all(|ratio| *ratio <= 20.0)) {
            let message = format!("the ratios {:?} up to {} cannot be tuned", self.ratios, self.up_to);
            return Err(Refused::new("wrong_ratios", message, hint));
        }
        Ok(ModeRange { up_to: midi(&self.up_to)?, ratios: self.ratios.clone() })
    }
}

fn midi(note: &str) -> Result<i32, Refused> {
    Ok(note.parse::<Note>()?.semitones_above_a4() + A4)
}

fn within(key: &str, value: f64, low: f64, high: f64, unit: &str, hint: &str) -> Result<(), Refused> {
    if (low..=high).contains(&value) {
        return Ok(());
    }
    let message = format!("{key} is {value} {unit}; it must lie between {low} and {high} {unit}");
    Err(Refused::new("out_of_range", message, hint))
}
