//! The bar as the file gives it: shape, wood, and the log's happenings one by one.
use super::{believe, grain, mm};
use crate::error::Refused;
use bar_physics::{Bar, Underside, Wood};
use making::{Band, Event, Reading, Side};
use records::{BandRecord, BarFile, LogEntry, SideName, UndersideRecord, WoodRecord};

/// Uncertainty of a reading that gives none, in cents (the bar file's documented default).
const READING_SIGMA_CENTS: f64 = 1.0;
/// Uncertainty of a profile that gives none, in metres (the bar file's documented default).
const PROFILE_SIGMA_M: f64 = 0.5e-3;
/// The wood of the file; what it leaves out is generic hardwood's share of E_L.
pub fn wood(record: &WoodRecord) -> Wood {
    const GPA: f64 = 1e9;
    let generic = Wood::generic_hardwood(record.density_kg_m3, record.e_l_gpa * GPA);
    let or = |given: Option<f64>, generic: f64| given.map_or(generic, |gpa| gpa * GPA);
    Wood {
        name: record.name.clone().unwrap_or_else(|| generic.name.clone()),
        density_kg_m3: record.density_kg_m3,
        e_l_pa: record.e_l_gpa * GPA,
        e_w_pa: or(record.e_w_gpa, generic.e_w_pa),
        e_h_pa: or(record.e_h_gpa, generic.e_h_pa),
        g_lw_pa: or(record.g_lw_gpa, generic.g_lw_pa),
        g_lh_pa: or(record.g_lh_gpa, generic.g_lh_pa),
        g_wh_pa: or(record.g_wh_gpa, generic.g_wh_pa),
        nu_lw: record.nu_lw.unwrap_or(generic.nu_lw),
        nu_lh: record.nu_lh.unwrap_or(generic.nu_lh),
        nu_wh: record.nu_wh.unwrap_or(generic.nu_wh),
    }
}

pub(crate) fn start(record: &UndersideRecord, length_m: f64) -> Result<Underside, Refused> {
    underside(&record.x_mm, &record.thickness_mm, record.kinks_mm.as_deref().unwrap_or(&[]), length_m)
}

/// An underside whose end stations are moved onto the ends of the bar (records allows half a millimetre).
fn underside(x_mm: &[f64], thickness_mm: &[f64], kinks_mm: &[f64], length_m: f64) -> Result<Underside, Refused> {
    let last = x_mm.len().saturating_sub(1);
    let stations = x_mm.iter().zip(thickness_mm).enumerate().filter_map(|(i, (x, t))| {
        let x_m = match i {
            0 => 0.0,
            i if i == last => length_m,
            _ => mm(*x),
        };
        let beyond = i != 0 && i != last && (x_m <= 0.0 || x_m >= length_m);
        (!beyond).then_some((x_m, mm(*t)))
    });
    let (x_m, thickness_m) = stations.unzip();
    Ok(Underside::new(x_m, thickness_m, kinks_mm.iter().copied().map(mm).collect())?)
}

/// One log entry; `length_m` is the bar's length at that time.
pub(crate) fn event(entry: &LogEntry, length_m: &mut f64) -> Result<Event, Refused> {
    Ok(match entry {
        LogEntry::Heard(heard) => Event::Heard(Reading {
            bending_hz: heard.hz.bending.clone().unwrap_or_default(),
            torsion_hz: heard.hz.torsion.clone().unwrap_or_default(),
            sigma_cents: heard.sigma_cents.unwrap_or(READING_SIGMA_CENTS),
            temperature_c: heard.temperature_c,
        }),
        LogEntry::Shaped(shaped) => Event::Shaped {
            underside: underside(
                &shaped.x_mm,
                &shaped.thickness_mm,
                shaped.kinks_mm.as_deref().unwrap_or(&[]),
                *length_m,
            )?,
            sigma_m: shaped.sigma_mm.map_or(PROFILE_SIGMA_M, mm),
        },
        LogEntry::Cut(cut) => {
            Event::Cut { bands: cut.bands.iter().map(|b| band(b, *length_m)).collect(), passes: cut.passes }
        }
        LogEntry::Caliper(caliper) => Event::Caliper {
            x_m: caliper.x_mm.iter().map(|x| mm(*x).min(*length_m)).collect(),
            thickness_m: caliper.thickness_mm.iter().copied().map(mm).collect(),
        },
        LogEntry::Trim(trim) => {
            let (left_m, right_m) = (mm(trim.left_mm.unwrap_or(0.0)), mm(trim.right_mm.unwrap_or(0.0)));
            *length_m -= left_m + right_m;
            Event::Trim { left_m, right_m }
        }
        LogEntry::Weighed(weighed) => Event::Weighed { mass_kg: weighed.mass_g * 1e-3 },
    })
}

/// A band as [`making`] takes it, its farther edge no farther than the end of the bar.
fn band(record: &BandRecord, length_m: f64) -> Band {
    Band {
        from_m: mm(record.from_mm),
        to_m: mm(record.to_mm).min(0.5 * length_m),
        depth_m: mm(record.depth_mm),
        side: match record.side {
            None | Some(SideName::Both) => Side::Both,
            Some(SideName::Left) => Side::Left,
            Some(SideName::Right) => Side::Right,
        },
    }
}

/// A bar with where its wood came from.
#[derive(Debug, Clone)]
pub struct GivenBar {
    /// The bar as the log leaves it.
    pub bar: Bar,
    /// Where the wood's constants come from, in words.
    pub wood_source: String,
}

/// The bar of the file. With the wood given: that wood in the newest shape, cuts as intended. Without: the
/// bar that mass and readings make most likely, its shape included.
///
/// # Errors
/// [`Refused`] if the shape or wood is impossible, or the log cannot be believed.
pub fn bar(file: &BarFile) -> Result<GivenBar, Refused> {
    let record = file.record();
    let as_intended = intended_underside(file)?;
    let (bar, wood_source) = match &record.wood {
        Some(given) => (Bar::new(mm(record.width_mm), as_intended, wood(given), grain(record)), "as the file gives it"),
        None => (believe(file)?.bar()?, estimate_source(file)),
    };
    Ok(GivenBar { bar, wood_source: wood_source.to_owned() })
}

fn estimate_source(file: &BarFile) -> &'static str {
    let heard = file.log().iter().any(|entry| matches!(entry, LogEntry::Heard(_)));
    let weighed =
        file.record().mass_g.is_some() || file.log().iter().any(|entry| matches!(entry, LogEntry::Weighed(_)));
    match (weighed, heard) {
        (true, true) => "and shape estimated from mass and readings",
        (false, true) => "and shape estimated from readings; the bar was not weighed",
        (true, false) => "density from the mass, stiffness guessed as a usual hardwood's: strike the bar to know it",
        (false, false) => "guessed as a usual hardwood's: weigh and strike the bar to know it",
    }
}

/// The newest shape the log gives, later cuts and trims applied as intended.
fn intended_underside(file: &BarFile) -> Result<Underside, Refused> {
    let record = file.record();
    let mut length_m = mm(record.length_mm);
    let mut shape = match &record.underside {
        Some(given) => start(given, length_m)?,
        None => Underside::flat(length_m, mm(record.thickness_mm))?,
    };
    for entry in file.log() {
        match event(entry, &mut length_m)? {
            Event::Shaped { underside, .. } => shape = underside,
            Event::Cut { bands, .. } => {
                let long_m = shape.length_m();
                let stations = making::stations(&bands, long_m);
                shape = shape.lowered(&stations, |x_m| making::depth_at(&bands, long_m, x_m))?;
            }
            Event::Trim { left_m, right_m } => shape = shape.trimmed(left_m, right_m)?,
            Event::Heard(_) | Event::Caliper { .. } | Event::Weighed { .. } => {}
        }
    }
    Ok(shape)
}
