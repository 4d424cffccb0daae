//! From the bar file to what the pure crates take, and back.
//!
//! * here — the task a file describes, what is believed and advised
//! * [`given`] — the bar as the file gives it, without belief
//! * [`entries`] — readings, cuts and whole jobs as they stand in a file
//! * [`predictions`] — what the listener may expect
//! * [`salted`] — salt tests against the model and each other
pub mod entries;
pub mod given;
pub mod predictions;
pub mod salted;

pub use entries::{cut_record, file_of_job, hand_record, heard_event, heard_record, place_word, side_name};
pub use given::{GivenBar, bar, wood};
pub use predictions::expected;
pub use salted::salted_nodes;

use crate::error::Refused;
use bar_physics::Grain;
use given::{event, start};
use making::virtual_bench::usual_ratios;
use making::{Advice, Belief, Hand, Job, Limits, Targets};
use records::{BarFile, BarRecord, HandRecord};

/// Thinnest wood allowed where the file names no limit: common practice for bass bars, from memory.
const MIN_THICKNESS_M: f64 = 6e-3;
/// … and never more than this share of the blank, so that a thin bar can be worked at all.
const MIN_THICKNESS_SHARE: f64 = 0.3;

/// Tuning targets of the file, the usual ratios for its note if it gives none; `None` if it names no note.
pub fn targets(file: &BarFile) -> Option<(f64, Targets)> {
    let note_hz = file.note_hz()?;
    let given = file.record().targets.as_ref();
    let ratios = given.and_then(|t| t.ratios.clone()).unwrap_or_else(|| usual_ratios(note_hz));
    let headroom_cents = given.and_then(|t| t.headroom_cents).unwrap_or(0.0);
    Some((note_hz, Targets { ratios, headroom_cents }))
}

/// The task the file describes.
///
/// # Errors
/// [`Refused`] `no_note` if the file names no note.
pub fn job(file: &BarFile) -> Result<Job, Refused> {
    let (note_hz, targets) = targets(file).ok_or_else(|| {
        Refused::new(
            "no_note",
            "the bar file names no note",
            "add \"note\": \"C3\" (the note the bar is for) to the file",
        )
    })?;
    job_for(file, note_hz, targets)
}

fn job_for(file: &BarFile, note_hz: f64, targets: Targets) -> Result<Job, Refused> {
    let record = file.record();
    let mut length_m = mm(record.length_mm);
    let underside = record.underside.as_ref().map(|u| start(u, length_m)).transpose()?;
    let mut log = Vec::new();
    for entry in file.log() {
        log.push(event(entry, &mut length_m)?);
    }
    Ok(Job {
        note_hz,
        length_m: mm(record.length_mm),
        width_m: mm(record.width_mm),
        thickness_m: mm(record.thickness_mm),
        mass_kg: record.mass_g.map(|g| g * 1e-3),
        underside,
        wood: record.wood.as_ref().map(wood),
        grain: grain(record),
        targets,
        limits: limits(record),
        hand: record.hand.as_ref().map(hand),
        log,
    })
}

/// The advice for the bar of the file.
///
/// # Errors
/// [`Refused`] as [`job`], or if the log cannot be believed.
pub fn advise(file: &BarFile) -> Result<Advice, Refused> {
    advise_job(file, &job(file)?)
}

/// The advice for a job made of the file, however it was changed since; says on which bars the hand was learnt.
///
/// # Errors
/// [`Refused`] if the log cannot be believed.
pub fn advise_job(file: &BarFile, job: &Job) -> Result<Advice, Refused> {
    let mut advice = making::next(job)?;
    let hand = file.record().hand.as_ref();
    if let Some((hand, from)) = hand.and_then(|hand| Some((hand, hand.from.as_ref()?))) {
        advice.reasons.push(format!(
            "Before this bar's first cut the hand is taken as on bar {}: {:.2} of the depth asked for, ± {:.0} %; {:.2} mm a \
             pass, ± {:.0} %.",
            from.join(", bar "),
            hand.depth_ratio,
            hand.depth_ratio_pct,
            hand.pass_mm,
            hand.pass_pct
        ));
    }
    Ok(advice)
}

/// What the log lets us believe of the bar; needs no note.
///
/// # Errors
/// [`Refused`] if the log cannot be believed.
pub fn believe(file: &BarFile) -> Result<Belief, Refused> {
    // A belief is about wood, shape and hand: any note will do.
    let (note_hz, targets) = targets(file).unwrap_or((440.0, Targets { ratios: vec![1.0], headroom_cents: 0.0 }));
    Ok(making::believe(&job_for(file, note_hz, targets)?)?)
}

fn limits(record: &BarRecord) -> Limits {
    let usual_m = MIN_THICKNESS_M.min(MIN_THICKNESS_SHARE * mm(record.thickness_mm));
    let given = record.limits.as_ref().and_then(|l| l.min_thickness_mm).map(mm);
    Limits { min_thickness_m: given.unwrap_or(usual_m) }
}

fn hand(record: &HandRecord) -> Hand {
    Hand {
        gain: record.depth_ratio,
        gain_ln_sigma: 1e-2 * record.depth_ratio_pct,
        pass_m: mm(record.pass_mm),
        pass_ln_sigma: 1e-2 * record.pass_pct,
    }
}

pub(crate) fn grain(record: &BarRecord) -> Grain {
    let turn = record.grain.as_ref();
    Grain::from_degrees(turn.and_then(|g| g.plan_deg).unwrap_or(0.0), turn.and_then(|g| g.dip_deg).unwrap_or(0.0))
}

pub(crate) fn mm(length_mm: f64) -> f64 {
    bar_physics::units::mm(length_mm)
}

/// `value` to `digits` decimals, for files and JSON.
pub fn rounded(value: f64, digits: i32) -> f64 {
    let scale = 10f64.powi(digits);
    (value * scale).round() / scale
}
