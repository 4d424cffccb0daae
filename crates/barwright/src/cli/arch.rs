//! The commands `arch`, `saw` and `rescue`: from blank to sawn bar, and what to do when a bar seems lost.
use super::all_cores::on_all_cores;
use super::answer::{Form, Subject};
use super::args::{ArchWanted, BladeName, RescueWanted, SawSettings, SawWanted, ScaleName};
use super::new_file::write_new;
use crate::convert;
use crate::error::Refused;
use crate::report;
use bar_physics::units::{cents, mm};
use bar_physics::{Bar, Wanted, modes_that_stand_out};
use making::arch::layout::{self, ArchWishes};
use making::arch::row::design_row;
use making::saw::{Blade, SawPlan, SawScale, SawSetup, saw_steps};
use making::torsion::Nearness;
use making::{ArchAdvice, Job};
use std::path::Path;

/// Finds the neighbour that is named.
pub(super) type FindBar<'a> = &'a dyn Fn(&str) -> Result<Subject, Refused>;

pub(super) fn arch(
    subjects: &[Subject],
    wanted: &ArchWanted,
    find: FindBar<'_>,
    form: Form,
) -> Result<String, Refused> {
    let wishes = wishes(wanted, find)?;
    let setup = setup(&wanted.saw);
    if let [subject] = subjects {
        let job = job_of(subject, wanted)?;
        let about = |error: Refused| subject.about(error);
        let advice = layout::arch(&job, &wishes).map_err(|e| about(e.into()))?;
        draw(wanted.picture.as_deref(), || report::pictures::arch(&advice, &subject.file)).map_err(about)?;
        let saw = saw_if_possible(&advice, &setup);
        return Ok(
            form.put(|| report::arch::to_json(&advice, saw.as_ref()), || report::arch::to_text(&advice, form.units))
        );
    }
    if wanted.picture.is_some() {
        let hint = "ask for one bar at a time with --picture";
        return Err(Refused::new("usage", "a picture shows one bar, and several were given", hint));
    }
    row(subjects, wanted, &wishes, &setup, form)
}

/// Several bars of one row, bass to treble: designed together, so that neighbours look alike.
fn row(
    subjects: &[Subject],
    wanted: &ArchWanted,
    wishes: &ArchWishes,
    setup: &SawSetup,
    form: Form,
) -> Result<String, Refused> {
    let mut jobs = Vec::new();
    let mut tasks = Vec::new();
    for subject in subjects {
        let job = job_of(subject, wanted)?;
        let belief = making::believe(&job).map_err(|e| subject.about(e))?;
        tasks.push(layout::task(&job, &belief, wishes).map_err(|e| subject.about(e))?);
        jobs.push((job, belief));
    }
    let designs = design_row(&tasks, &on_all_cores);
    let mut values = Vec::new();
    let mut text = String::new();
    for (((subject, (job, belief)), task), design) in subjects.iter().zip(&jobs).zip(tasks).zip(designs) {
        let about = |error: making::MakingError| subject.about(error);
        let advice = layout::advise(job, belief, task, design.map_err(about)?, wishes).map_err(about)?;
        if form.json {
            let mut value = report::arch::to_json(&advice, saw_if_possible(&advice, setup).as_ref());
            value["bar"] = serde_json::json!(subject.name);
            values.push(value);
        } else {
            text.push_str(&format!("{}\n{}\n", subject.name, report::arch::to_text(&advice, form.units)));
        }
    }
    Ok(form.put(|| serde_json::json!({ "bars": values }), || text))
}

pub(super) fn saw(subject: &Subject, wanted: &SawWanted, form: Form) -> Result<String, Refused> {
    let about = |error: Refused| subject.about(error);
    let job = subject.job()?;
    let advice = layout::arch(&job, &ArchWishes::default()).map_err(|e| about(e.into()))?;
    if !advice.feasible {
        let why = advice.reasons.first().map_or("no arch reaches the targets", String::as_str);
        return Err(about(Refused::new("arch_out_of_reach", why, "ask barwright arch what would make it possible")));
    }
    let setup = setup(&wanted.saw);
    let plan = plan_saw(&advice, &setup).map_err(about)?;
    let after = after_sawing(&advice, &plan).map_err(about)?;
    draw(wanted.picture.as_deref(), || report::pictures::saw(&plan, &advice, &subject.file)).map_err(about)?;
    if let Some(to) = &wanted.sheet {
        let name = Path::new(&subject.name)
            .file_name()
            .map_or_else(|| subject.name.clone(), |n| n.to_string_lossy().into_owned());
        // Its cautions are worded anew in the sheet's language.
        let listing = || {
            let plan = plan_saw(&advice, &setup).map_err(about)?;
            crate::sheets::wood::saw(&name, &plan, &setup, &advice, &subject.file).map_err(about)
        };
        super::sheet::write_a4(form, listing, to)?;
    }
    Ok(form.put(
        || report::saw::to_json(&plan, &setup, &after),
        || report::saw::to_text(&plan, &setup, &advice, &after, form.units),
    ))
}

pub(super) fn rescue(subject: &Subject, wanted: &RescueWanted, form: Form) -> Result<String, Refused> {
    let holes_m: Vec<f64> = wanted.holes.iter().copied().map(mm).collect();
    let advice = making::rescue(&subject.job()?, &holes_m).map_err(|e| subject.about(e))?;
    Ok(form.put(|| report::rescue::to_json(&advice), || report::rescue::to_text(&advice, form.units)))
}

fn job_of(subject: &Subject, wanted: &ArchWanted) -> Result<Job, Refused> {
    let mut job = subject.job()?;
    if !wanted.ratios.is_empty() {
        job.targets.ratios = wanted.ratios.clone();
    }
    Ok(job)
}

fn wishes(wanted: &ArchWanted, find: FindBar<'_>) -> Result<ArchWishes, Refused> {
    let neighbour = wanted.neighbour.as_deref().map(|name| neighbour(&find(name)?)).transpose()?;
    let nearness = match (wanted.torsion_cents, wanted.torsion_hz) {
        (_, Some(hz)) => Nearness::Hz(hz),
        (Some(cents), None) => Nearness::Cents(cents),
        (None, None) => Nearness::default(),
    };
    Ok(ArchWishes {
        headroom_cents: (!wanted.headroom.is_empty()).then(|| wanted.headroom.clone()),
        end_m: wanted.end.map(mm),
        station_m: mm(wanted.station),
        nearness,
        neighbour,
    })
}

/// The neighbour as its log leaves it, with the pitch of its mode 1.
fn neighbour(subject: &Subject) -> Result<(Bar, f64), Refused> {
    let bar = convert::bar(&subject.file).map_err(|e| subject.about(e))?.bar;
    let modes = modes_that_stand_out(&bar, Wanted::bending(1)).map_err(|e| subject.about(e))?;
    let thick_m = bar.underside.thickness_m().iter().copied().fold(0.0, f64::max);
    match modes.bending.first() {
        // Half a millimetre is no arch.
        Some(mode) if thick_m - bar.underside.thinnest().1 > 0.5e-3 => Ok((bar, mode.hz)),
        _ => Err(subject.about(Refused::new(
            "no_arch",
            "the neighbour has no arch to trace",
            "give a neighbour that is sawn and measured",
        ))),
    }
}

fn setup(settings: &SawSettings) -> SawSetup {
    let usual = SawSetup::default();
    SawSetup {
        blade: match settings.blade {
            BladeName::Across => Blade::Across,
            BladeName::Along => Blade::Along { radius_m: 0.5 * mm(settings.blade_diameter) },
        },
        kerf_m: mm(settings.kerf),
        margin_m: mm(settings.margin),
        pass_m: mm(settings.pass),
        stair_m: mm(settings.stair),
        scale: match settings.scale {
            ScaleName::HalfMm => SawScale::HalfMillimetre,
            ScaleName::Inch32 => SawScale::ThirtySecondInch,
        },
        ..usual
    }
}

/// Steps for an arch that can be sawn; an arch out of reach, or no deeper than the margin, has none.
fn saw_if_possible(advice: &ArchAdvice, setup: &SawSetup) -> Option<SawPlan> {
    advice.feasible.then(|| plan_saw(advice, setup).ok()).flatten()
}

fn plan_saw(advice: &ArchAdvice, setup: &SawSetup) -> Result<SawPlan, Refused> {
    let blank = &advice.task.blank;
    let thickness_m = blank.underside.thickness_at(0.0);
    let least_m = advice.task.limits.min_thickness_m;
    Ok(saw_steps(&advice.arch.underside, thickness_m, blank.width_m, least_m, setup)?)
}

/// Each tuned mode after sawing, in cents above its target, by the solid on the stairs.
fn after_sawing(advice: &ArchAdvice, plan: &SawPlan) -> Result<Vec<(usize, f64)>, Refused> {
    let Some(underside) = plan.sawn.underside.clone() else { return Ok(Vec::new()) };
    let bar = Bar { underside, ..advice.task.blank.clone() };
    let modes = modes_that_stand_out(&bar, Wanted::bending(advice.task.ratios.len()))?;
    let above = |(mode, ratio): (&bar_physics::Mode, &f64)| (mode.number, cents(mode.hz, advice.task.note_hz * ratio));
    Ok(modes.bending.iter().zip(&advice.task.ratios).map(above).collect())
}

/// Writes a picture to a new file, if one was asked for.
fn draw(path: Option<&Path>, svg: impl FnOnce() -> Result<String, Refused>) -> Result<(), Refused> {
    match path {
        Some(path) => write_new(path, svg()?.as_bytes()),
        None => Ok(()),
    }
}
