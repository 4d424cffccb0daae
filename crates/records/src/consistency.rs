//! What a schema cannot say: stations in order, a log that could have happened to this bar.
use crate::error::BarFileError;
use crate::note::Note;
use crate::profile::{LENGTH_TOLERANCE_MM, Outline};
use crate::record::{BandRecord, BarRecord, CaliperRecord, CutRecord, HeardRecord, LogEntry, TrimRecord};

/// A bar cannot get thicker than its blank; this much is left to the caliper, glue and swelling.
pub(crate) const THICKER_THAN_BLANK_MM: f64 = 5.0;
/// A bar shorter than this share of what it was before a trim is a slip of the pen.
const LEAST_SHARE_AFTER_TRIM: f64 = 0.1;
/// Air-dry woods lie between balsa and the heaviest ironwoods (from memory; wide on purpose).
const DENSITY_KG_M3: std::ops::RangeInclusive<f64> = 100.0..=1600.0;

/// Checks what the values mean together; returns the outline before each log entry and after the last, as intended.
pub(crate) fn check_record(record: &BarRecord) -> Result<Vec<Outline>, BarFileError> {
    if let Some(note) = &record.note {
        note.parse::<Note>().map_err(|error| {
            BarFileError::new(
                "wrong_note",
                "note",
                format!("note is \"{}\", which names no note.", error.text),
                error.hint,
            )
        })?;
    }
    check_targets(record)?;
    let mut outline = Outline::flat(record.length_mm, record.thickness_mm);
    if let Some(underside) = &record.underside {
        let stations = Stations { path: "underside", x_mm: &underside.x_mm, thickness_mm: &underside.thickness_mm };
        stations.check(record.length_mm, record.thickness_mm)?;
        outline = stations.outline(record.length_mm);
    }
    if let Some(mass_g) = record.mass_g {
        check_mass("mass_g", mass_g, record.width_mm, &outline)?;
    }
    let mut walk = Walk { record, outline, spare_mm: 0.0 };
    let mut outlines = vec![walk.outline.clone()];
    for (index, entry) in record.log.iter().flatten().enumerate() {
        walk.apply(entry, &format!("log[{index}].{}", entry.key()))?;
        outlines.push(walk.outline.clone());
    }
    Ok(outlines)
}

/// The bar while its log is followed.
struct Walk<'a> {
    record: &'a BarRecord,
    outline: Outline,
    /// Wood that a caliper found above the intended outline: a light hand leaves more than was meant.
    spare_mm: f64,
}

fn check_targets(record: &BarRecord) -> Result<(), BarFileError> {
    let ratios = record.targets.as_ref().and_then(|t| t.ratios.as_deref()).unwrap_or(&[]);
    match (1..ratios.len()).find(|&i| ratios[i] <= ratios[i - 1]) {
        Some(i) => Err(BarFileError::new(
            "out_of_order",
            format!("targets.ratios[{i}]"),
            format!("targets.ratios[{i}] is {}, not above the {} before it.", ratios[i], ratios[i - 1]),
            "Give the ratios of bending modes 1, 2, 3 in rising order, e.g. 1, 4, 10.",
        )),
        None => Ok(()),
    }
}

impl Walk<'_> {
    fn apply(&mut self, entry: &LogEntry, path: &str) -> Result<(), BarFileError> {
        let Self { record, outline, .. } = self;
        match entry {
            LogEntry::Heard(heard) => check_heard(heard, path),
            LogEntry::Shaped(shaped) => {
                let stations = Stations { path, x_mm: &shaped.x_mm, thickness_mm: &shaped.thickness_mm };
                stations.check(outline.length_mm(), record.thickness_mm)?;
                *outline = stations.outline(outline.length_mm());
                self.spare_mm = 0.0;
                Ok(())
            }
            LogEntry::Cut(cut) => self.cut(cut, path),
            LogEntry::Caliper(caliper) => {
                check_caliper(caliper, path, record.thickness_mm, outline)?;
                let found = caliper.x_mm.iter().zip(&caliper.thickness_mm).map(|(x, t)| t - outline.thickness_at(*x));
                self.spare_mm = found.fold(self.spare_mm, f64::max);
                Ok(())
            }
            LogEntry::Trim(trim) => apply_trim(trim, path, outline),
            LogEntry::Weighed(weighed) => {
                check_mass(&format!("{path}.mass_g"), weighed.mass_g, record.width_mm, outline)
            }
        }
    }
}

/// The stations of a whole profile.
struct Stations<'a> {
    path: &'a str,
    x_mm: &'a [f64],
    thickness_mm: &'a [f64],
}

impl Stations<'_> {
    fn check(&self, length_mm: f64, blank_mm: f64) -> Result<(), BarFileError> {
        let Self { path, x_mm, thickness_mm } = *self;
        same_count(path, x_mm, thickness_mm)?;
        if let Some(i) = (1..x_mm.len()).find(|&i| x_mm[i] <= x_mm[i - 1]) {
            return Err(BarFileError::new(
                "out_of_order",
                format!("{path}.x_mm[{i}]"),
                format!("{path}.x_mm[{i}] is {} mm, not beyond the {} mm before it.", x_mm[i], x_mm[i - 1]),
                "Give the stations in rising order from the left end, each place once.",
            ));
        }
        let (first, last) = (x_mm[0], x_mm[x_mm.len() - 1]);
        if first.abs() > LENGTH_TOLERANCE_MM || (last - length_mm).abs() > LENGTH_TOLERANCE_MM {
            return Err(BarFileError::new(
                "wrong_length",
                format!("{path}.x_mm"),
                format!(
                    "{path}.x_mm runs from {first} to {last} mm, but the bar is {} mm long at that time; the ends must agree within {LENGTH_TOLERANCE_MM} mm.",
                    rounded(length_mm)
                ),
                "Give a station at each end; after a trim x counts from the new left end.",
            ));
        }
        too_thick(path, thickness_mm, blank_mm)
    }

    /// The outline, its ends moved onto the ends of the bar.
    fn outline(&self, length_mm: f64) -> Outline {
        let mut outline = Outline { x_mm: self.x_mm.to_vec(), thickness_mm: self.thickness_mm.to_vec() };
        let last = outline.x_mm.len() - 1;
        outline.x_mm[0] = 0.0;
        outline.x_mm[last] = length_mm;
        // A station within the tolerance of an end may now lie on it or beyond.
        let mut keep =
            outline.x_mm.iter().enumerate().map(|(i, x)| i == 0 || i == last || (*x > 0.0 && *x < length_mm));
        let kept: Vec<bool> = keep.by_ref().collect();
        let mut flags = kept.iter();
        outline.x_mm.retain(|_| flags.next() == Some(&true));
        let mut flags = kept.iter();
        outline.thickness_mm.retain(|_| flags.next() == Some(&true));
        outline
    }
}

fn same_count(path: &str, x_mm: &[f64], thickness_mm: &[f64]) -> Result<(), BarFileError> {
    if x_mm.len() == thickness_mm.len() {
        return Ok(());
    }
    Err(BarFileError::new(
        "counts_differ",
        path,
        format!("{path} has {} places in x_mm but {} values in thickness_mm.", x_mm.len(), thickness_mm.len()),
        "Give one thickness for each place.",
    ))
}

fn too_thick(path: &str, thickness_mm: &[f64], blank_mm: f64) -> Result<(), BarFileError> {
    let limit_mm = blank_mm + THICKER_THAN_BLANK_MM;
    match thickness_mm.iter().position(|t| *t > limit_mm) {
        Some(i) => Err(BarFileError::new(
            "contradictory_log",
            format!("{path}.thickness_mm[{i}]"),
            format!(
                "{path}.thickness_mm[{i}] is {} mm, but the blank is {blank_mm} mm thick; the limit is {THICKER_THAN_BLANK_MM} mm more.",
                thickness_mm[i]
            ),
            "Measure again from the top face, or correct thickness_mm of the blank.",
        )),
        None => Ok(()),
    }
}

fn check_heard(heard: &HeardRecord, path: &str) -> Result<(), BarFileError> {
    let heard_any = [&heard.hz.bending, &heard.hz.torsion].into_iter().flatten().flatten().any(Option::is_some);
    if !heard_any {
        return Err(BarFileError::new(
            "contradictory_log",
            format!("{path}.hz"),
            format!("{path}.hz holds no frequency; a reading must hold at least one."),
            "Give the modes that were heard in hertz (null for one not heard), or take the entry out.",
        ));
    }
    for (family, list) in [("bending", &heard.hz.bending), ("torsion", &heard.hz.torsion)] {
        let known: Vec<(usize, f64)> =
            list.iter().flatten().enumerate().filter_map(|(i, hz)| hz.map(|hz| (i, hz))).collect();
        if let Some(pair) = known.windows(2).find(|pair| pair[1].1 <= pair[0].1) {
            let (i, hz) = pair[1];
            return Err(BarFileError::new(
                "out_of_order",
                format!("{path}.hz.{family}[{i}]"),
                format!(
                    "{path}.hz.{family}[{i}] is {hz} Hz, not above the {} Hz of mode {}.",
                    pair[0].1,
                    pair[0].0 + 1
                ),
                "Give the modes of a family in rising order; write null for one not heard.",
            ));
        }
    }
    Ok(())
}

impl Walk<'_> {
    fn cut(&mut self, cut: &CutRecord, path: &str) -> Result<(), BarFileError> {
        for (index, band) in cut.bands.iter().enumerate() {
            let place = format!("{path}.bands[{index}]");
            check_band(band, &place, 0.5 * self.outline.length_mm())?;
            self.outline.remove(band);
            let (x_mm, left_mm) = self.outline.thinnest();
            if left_mm + self.spare_mm <= 0.0 {
                return Err(BarFileError::new(
                    "contradictory_log",
                    format!("{place}.depth_mm"),
                    format!(
                        "{place} takes {} mm off where {} mm of wood were left ({} mm from the left end); more than 0 mm must remain.",
                        band.depth_mm,
                        rounded(left_mm + self.spare_mm + band.depth_mm),
                        rounded(x_mm),
                    ),
                    "Correct the depth or the band, or add the profile measured before this cut as a \"shaped\" entry.",
                ));
            }
        }
        Ok(())
    }
}

fn check_band(band: &BandRecord, place: &str, half_mm: f64) -> Result<(), BarFileError> {
    if band.from_mm >= band.to_mm {
        return Err(BarFileError::new(
            "out_of_order",
            format!("{place}.to_mm"),
            format!(
                "{place} runs from {} to {} mm; to_mm must be farther from the centre than from_mm.",
                band.from_mm, band.to_mm
            ),
            "Give the nearer edge first.",
        ));
    }
    if band.to_mm > half_mm + LENGTH_TOLERANCE_MM {
        return Err(BarFileError::new(
            "contradictory_log",
            format!("{place}.to_mm"),
            format!(
                "{place}.to_mm is {} mm from the centre, but the bar ends {} mm from it at that time.",
                band.to_mm,
                rounded(half_mm)
            ),
            "Bands are measured from the centre of the bar, not from its end.",
        ));
    }
    Ok(())
}

fn check_caliper(caliper: &CaliperRecord, path: &str, blank_mm: f64, outline: &Outline) -> Result<(), BarFileError> {
    same_count(path, &caliper.x_mm, &caliper.thickness_mm)?;
    let length_mm = outline.length_mm();
    if let Some(i) = caliper.x_mm.iter().position(|x| *x > length_mm + LENGTH_TOLERANCE_MM) {
        return Err(BarFileError::new(
            "contradictory_log",
            format!("{path}.x_mm[{i}]"),
            format!(
                "{path}.x_mm[{i}] is {} mm, but the bar is {} mm long at that time.",
                caliper.x_mm[i],
                rounded(length_mm)
            ),
            "Places are measured from the left end; after a trim from the new left end.",
        ));
    }
    too_thick(path, &caliper.thickness_mm, blank_mm)
}

fn apply_trim(trim: &TrimRecord, path: &str, outline: &mut Outline) -> Result<(), BarFileError> {
    let (left_mm, right_mm) = (trim.left_mm.unwrap_or(0.0), trim.right_mm.unwrap_or(0.0));
    let length_mm = outline.length_mm();
    let left_over_mm = length_mm - left_mm - right_mm;
    let least_mm = LEAST_SHARE_AFTER_TRIM * length_mm;
    if left_over_mm < least_mm {
        return Err(BarFileError::new(
            "contradictory_log",
            path,
            format!(
                "{path} saws off {left_mm} + {right_mm} mm of a bar {} mm long; at least {} mm must remain.",
                rounded(length_mm),
                rounded(least_mm)
            ),
            "Give what was sawn off each end, not the length that is left.",
        ));
    }
    outline.trim(left_mm, right_mm);
    Ok(())
}

fn check_mass(path: &str, mass_g: f64, width_mm: f64, outline: &Outline) -> Result<(), BarFileError> {
    let volume_mm3 = outline.side_area_mm2() * width_mm;
    let density_kg_m3 = mass_g / volume_mm3 * 1e6;
    if DENSITY_KG_M3.contains(&density_kg_m3) {
        return Ok(());
    }
    Err(BarFileError::new(
        "contradictory_mass",
        path,
        format!(
            "{path} is {mass_g} g, but the bar's volume is {:.1} cm³: a density of {density_kg_m3:.0} kg/m³; wood lies between {} and {} kg/m³.",
            volume_mm3 / 1000.0,
            DENSITY_KG_M3.start(),
            DENSITY_KG_M3.end()
        ),
        "Weigh again, and check length, width and thickness and their units.",
    ))
}

/// A length for a message: at most a thousandth of a millimetre.
fn rounded(length_mm: f64) -> f64 {
    (length_mm * 1e3).round() / 1e3
}
