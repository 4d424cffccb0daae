//! Torsion and sideways modes that come near a tuned mode: in the arch, on the way to it, and what can be done.
//!
//! Two modes a few hertz apart beat and cannot be told apart by ear. The arch that tunes the bending modes leaves
//! no freedom for torsion, so it must be led away early: by the width of the bar, before the arch is sawn
//! (common practice, no source; that width moves it is computed here).
use crate::arch::{Arch, ArchTask, Design, design};
use crate::error::MakingError;
use bar_physics::units::cents;
use bar_physics::{Bar, Mode, ModeKind, Modes, Underside, Wanted, modes_that_stand_out};

/// How near is too near.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nearness {
    /// In cents.
    Cents(f64),
    /// In hertz.
    Hz(f64),
}

impl Default for Nearness {
    /// 60 cents: a pair 48 cents apart (1090 and 1121 Hz) is reported to beat strongly (LITERATURE §2a, a
    /// builder's page); the solid itself knows torsion to some 10 cents.
    fn default() -> Self {
        Self::Cents(60.0)
    }
}

impl Nearness {
    fn holds(self, near: &NearMode) -> bool {
        match self {
            Self::Cents(limit) => near.cents.abs() < limit,
            Self::Hz(limit) => (near.hz - near.bending_hz).abs() < limit,
        }
    }
}

/// A torsion or sideways mode and the tuned mode nearest to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearMode {
    /// Torsion or sideways.
    pub kind: ModeKind,
    /// Its number.
    pub number: usize,
    /// Its frequency.
    pub hz: f64,
    /// The tuned bending mode nearest to it.
    pub bending: usize,
    /// Frequency of that.
    pub bending_hz: f64,
    /// How far it lies above that, in cents.
    pub cents: f64,
}

/// Every torsion and sideways mode with the tuned mode nearest to it.
pub fn neighbours(modes: &Modes, tuned: usize) -> Vec<NearMode> {
    let nearest = |mode: &Mode| {
        let all = modes.bending.iter().take(tuned).map(|bending| NearMode {
            kind: mode.kind,
            number: mode.number,
            hz: mode.hz,
            bending: bending.number,
            bending_hz: bending.hz,
            cents: cents(mode.hz, bending.hz),
        });
        all.min_by(|a, b| a.cents.abs().total_cmp(&b.cents.abs()))
    };
    modes.torsion.iter().chain(&modes.sideways).filter_map(nearest).collect()
}

/// One stage of the work.
#[derive(Debug, Clone)]
pub struct Stage {
    /// "blank", "3 mm above the line", "at the line", "tuned".
    pub name: String,
    /// Every torsion and sideways mode there.
    pub neighbours: Vec<NearMode>,
}

/// A mode that comes too near.
#[derive(Debug, Clone)]
pub struct TorsionWarning {
    /// The pair, where it is nearest.
    pub near: NearMode,
    /// Whether the bar would end like that, or only pass it.
    pub stays: bool,
    /// In words, with what can still be done.
    pub text: String,
}

/// Torsion along the cutting.
#[derive(Debug, Clone, Default)]
pub struct TorsionReport {
    /// From the blank to the tuned bar.
    pub stages: Vec<Stage>,
    /// What comes too near.
    pub warnings: Vec<TorsionWarning>,
    /// Another width that keeps all of them away at the end, metres, if one within 12 mm does.
    pub width_m: Option<f64>,
}

/// Wood above the line at the stages that are looked at, metres.
const ABOVE_LINE_M: [f64; 3] = [3.0e-3, 1.5e-3, 0.5e-3];
/// Widest change of width looked at, metres: more is another bar.
const MOST_WIDTH_M: f64 = 0.012;

/// Follows torsion and sideways modes from the blank to the tuned bar.
///
/// # Errors
/// Whatever the solid refuses.
pub fn along_the_cut(task: &ArchTask, arch: &Arch, nearness: Nearness) -> Result<TorsionReport, MakingError> {
    let thickness_m = task.blank.underside.thinnest().1;
    let at = |name: String, underside: Underside| -> Result<Stage, MakingError> {
        Ok(Stage { name, neighbours: of(&task.blank, underside, task.ratios.len())? })
    };
    let mut stages = vec![at("blank".to_owned(), task.blank.underside.clone())?];
    for above_m in ABOVE_LINE_M {
        let name = format!("{} mm above the line", above_m * 1e3);
        stages.push(at(name, above(&arch.underside, above_m, thickness_m)?)?);
    }
    stages.push(at("at the line".to_owned(), arch.underside.clone())?);
    let tuned = tuned_arch(task, arch)?;
    if let Some(tuned) = &tuned {
        stages.push(at("tuned".to_owned(), tuned.clone())?);
    }
    let last = tuned.unwrap_or_else(|| arch.underside.clone());
    let mut report = TorsionReport { stages, ..TorsionReport::default() };
    let pairs = worst_pairs(&report.stages, nearness);
    if pairs.iter().any(|(_, _, stays)| *stays) {
        report.width_m = other_width(task, &last, nearness)?;
    }
    report.warnings = pairs.into_iter().map(|(near, stage, stays)| report.warning(task, near, &stage, stays)).collect();
    Ok(report)
}

/// The arch without headroom, if it has any.
fn tuned_arch(task: &ArchTask, arch: &Arch) -> Result<Option<Underside>, MakingError> {
    // A cent of headroom changes nothing here.
    if task.headroom_cents.iter().all(|h| h.abs() < 1.0) {
        return Ok(None);
    }
    let headroom_cents = vec![0.0; task.ratios.len()];
    let last = ArchTask { headroom_cents, follow: Some(arch.underside.clone()), ..task.clone() };
    match design(&last)? {
        Design::Found(arch) => Ok(Some(arch.underside)),
        Design::OutOfReach(_) => Ok(None),
    }
}

fn of(blank: &Bar, underside: Underside, tuned: usize) -> Result<Vec<NearMode>, MakingError> {
    let bar = Bar { underside, ..blank.clone() };
    Ok(neighbours(&modes_that_stand_out(&bar, Wanted { bending: tuned, torsion: 2, sideways: 1 })?, tuned))
}

fn above(line: &Underside, above_m: f64, thickness_m: f64) -> Result<Underside, MakingError> {
    let t = line.thickness_m().iter().map(|t| (t + above_m).min(thickness_m)).collect();
    Ok(Underside::new(line.x_m().to_vec(), t, Vec::new())?)
}

/// Each mode that is too near somewhere after sawing: where it is nearest, and whether it ends there.
fn worst_pairs(stages: &[Stage], nearness: Nearness) -> Vec<(NearMode, String, bool)> {
    let Some(end) = stages.last() else { return Vec::new() };
    let mut out: Vec<(NearMode, String, bool)> = Vec::new();
    for last in &end.neighbours {
        if nearness.holds(last) {
            out.push((*last, end.name.clone(), true));
            continue;
        }
        // Nobody tunes a blank: only the way from the saw on counts.
        let on_the_way = stages[1..].iter().flat_map(|stage| stage.neighbours.iter().map(move |n| (n, stage)));
        let same = on_the_way.filter(|(n, _)| n.kind == last.kind && n.number == last.number && nearness.holds(n));
        if let Some((near, stage)) = same.min_by(|a, b| a.0.cents.abs().total_cmp(&b.0.cents.abs())) {
            out.push((*near, stage.name.clone(), false));
        }
    }
    out
}

/// The nearest width, in millimetre steps, narrower first, at which the tuned bar has no mode too near.
fn other_width(task: &ArchTask, last: &Underside, nearness: Nearness) -> Result<Option<f64>, MakingError> {
    let now_m = task.blank.width_m;
    let steps = (MOST_WIDTH_M / 1e-3).round() as u32;
    for change in (1..=steps).flat_map(|k| [-f64::from(k) * 1e-3, f64::from(k) * 1e-3]) {
        let width_m = now_m + change;
        // Half the width would be no bar of this row.
        if width_m < 0.6 * now_m {
            continue;
        }
        let blank = Bar { width_m, ..task.blank.clone() };
        if of(&blank, last.clone(), task.ratios.len())?.iter().all(|n| !nearness.holds(n)) {
            return Ok(Some(width_m));
        }
    }
    Ok(None)
}

impl TorsionReport {
    fn warning(&self, task: &ArchTask, near: NearMode, stage: &str, stays: bool) -> TorsionWarning {
        let name = if near.kind == ModeKind::Torsion { "Torsion" } else { "The sideways mode" };
        let what = format!(
            "{name} {} comes to {:.0} cents {} mode {} ({:.0} Hz beside {:.0} Hz)",
            near.number,
            near.cents.abs(),
            if near.cents < 0.0 { "below" } else { "above" },
            near.bending,
            near.hz,
            near.bending_hz
        );
        let text = if stays {
            format!("{what} in the tuned bar and may beat with it. {}", self.cure(task))
        } else {
            format!(
                "{what} when the bar is {stage}, and passes. Strike the centre line for mode {} and a corner for torsion, and enter both",
                near.bending
            )
        };
        TorsionWarning { near, stays, text }
    }

    fn cure(&self, task: &ArchTask) -> String {
        let now_mm = task.blank.width_m * 1e3;
        match self.width_m.map(|w| w * 1e3) {
            Some(mm) if mm < now_mm => {
                format!(
                    "Before the arch is sawn: ripping the bar to {mm:.0} mm leads it away; afterwards hardly anything does"
                )
            }
            Some(mm) => {
                format!(
                    "Before the arch is sawn: a blank {mm:.0} mm wide leads it away; afterwards hardly anything does"
                )
            }
            None => "No width within 12 mm of this one leads it away: another length or another arch would".to_owned(),
        }
    }
}
