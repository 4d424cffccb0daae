//! The commands `arch`, `saw` and `rescue`: from blank to sawn bar, and what to do when a bar seems lost.
use super::all_cores::on_all_cores;
use super::answer::{Form, read_bar};
use super::args::{ArchArgs, BladeName, RescueArgs, SawArgs, SawSettings, ScaleName};
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
use records::BarFile;
use std::path::Path;

pub(super) fn arch(args: &ArchArgs, form: Form) -> Result<String, Refused> {
    let wishes = wishes(args)?;
    let setup = setup(&args.saw);
    if let [path] = args.bars.as_slice() {
        let (file, job) = job_of(path, args)?;
        let about = |error: Refused| error.about(path.display());
        let advice = layout::arch(&job, &wishes).map_err(|e| about(e.into()))?;
        draw(args.picture.as_deref(), || report::pictures::arch(&advice, &file)).map_err(about)?;
        let saw = saw_if_possible(&advice, &setup);
        return Ok(
            form.put(|| report::arch::to_json(&advice, saw.as_ref()), || report::arch::to_text(&advice, form.units))
        );
    }
    if args.picture.is_some() {
        let hint = "ask for one bar at a time with --picture";
        return Err(Refused::new("usage", "a picture shows one bar, and several were given", hint));
    }
    row(args, &wishes, &setup, form)
}

/// Several bars of one row, bass to treble: designed together, so that neighbours look alike.
fn row(args: &ArchArgs, wishes: &ArchWishes, setup: &SawSetup, form: Form) -> Result<String, Refused> {
    let mut jobs = Vec::new();
    let mut tasks = Vec::new();
    for path in &args.bars {
        let about = |error: Refused| error.about(path.display());
        let (_, job) = job_of(path, args)?;
        let belief = making::believe(&job).map_err(|e| about(e.into()))?;
        tasks.push(layout::task(&job, &belief, wishes).map_err(|e| about(e.into()))?);
        jobs.push((job, belief));
    }
    let designs = design_row(&tasks, &on_all_cores);
    let mut values = Vec::new();
    let mut text = String::new();
    for (((path, (job, belief)), task), design) in args.bars.iter().zip(&jobs).zip(tasks).zip(designs) {
        let about = |error: making::MakingError| Refused::from(error).about(path.display());
        let advice = layout::advise(job, belief, task, design.map_err(about)?, wishes).map_err(about)?;
        if form.json {
            let mut value = report::arch::to_json(&advice, saw_if_possible(&advice, setup).as_ref());
            value["bar"] = serde_json::json!(path.display().to_string());
            values.push(value);
        } else {
            text.push_str(&format!("{}\n{}\n", path.display(), report::arch::to_text(&advice, form.units)));
        }
    }
    Ok(form.put(|| serde_json::json!({ "bars": values }), || text))
}

pub(super) fn saw(args: &SawArgs, form: Form) -> Result<String, Refused> {
    let about = |error: Refused| error.about(args.bar.display());
    let file = read_bar(&args.bar)?;
    let job = convert::job(&file).map_err(about)?;
    let advice = layout::arch(&job, &ArchWishes::default()).map_err(|e| about(e.into()))?;
    if !advice.feasible {
        let why = advice.reasons.first().map_or("no arch reaches the targets", String::as_str);
        return Err(about(Refused::new("arch_out_of_reach", why, "ask barwright arch what would make it possible")));
    }
    let setup = setup(&args.saw);
    let plan = plan_saw(&advice, &setup).map_err(about)?;
    let after = after_sawing(&advice, &plan).map_err(about)?;
    draw(args.picture.as_deref(), || report::pictures::saw(&plan, &advice, &file)).map_err(about)?;
    Ok(form.put(
        || report::saw::to_json(&plan, &setup, &after),
        || report::saw::to_text(&plan, &setup, &advice, &after, form.units),
    ))
}

pub(super) fn rescue(args: &RescueArgs, form: Form) -> Result<String, Refused> {
    let about = |error: Refused| error.about(args.bar.display());
    let file = read_bar(&args.bar)?;
    let job = convert::job(&file).map_err(about)?;
    let holes_m: Vec<f64> = args.holes.iter().copied().map(mm).collect();
    let advice = making::rescue(&job, &holes_m).map_err(|e| about(e.into()))?;
    Ok(form.put(|| report::rescue::to_json(&advice), || report::rescue::to_text(&advice, form.units)))
}

fn job_of(path: &Path, args: &ArchArgs) -> Result<(BarFile, Job), Refused> {
    let file = read_bar(path)?;
    let mut job = convert::job(&file).map_err(|error| error.about(path.display()))?;
    if !args.ratios.is_empty() {
        job.targets.ratios = args.ratios.clone();
    }
    Ok((file, job))
}

fn wishes(args: &ArchArgs) -> Result<ArchWishes, Refused> {
    let neighbour = args.neighbour.as_deref().map(neighbour).transpose()?;
    let nearness = match (args.torsion_cents, args.torsion_hz) {
        (_, Some(hz)) => Nearness::Hz(hz),
        (Some(cents), None) => Nearness::Cents(cents),
        (None, None) => Nearness::default(),
    };
    Ok(ArchWishes {
        headroom_cents: (!args.headroom.is_empty()).then(|| args.headroom.clone()),
        end_m: args.end.map(mm),
        station_m: mm(args.station),
        nearness,
        neighbour,
    })
}

/// The neighbour as its file leaves it, with the pitch of its mode 1.
fn neighbour(path: &Path) -> Result<(Bar, f64), Refused> {
    let about = |error: Refused| error.about(path.display());
    let bar = convert::bar(&read_bar(path)?).map_err(about)?.bar;
    let modes = modes_that_stand_out(&bar, Wanted::bending(1)).map_err(|e| about(e.into()))?;
    let thick_m = bar.underside.thickness_m().iter().copied().fold(0.0, f64::max);
    match modes.bending.first() {
        // Half a millimetre is no arch.
        Some(mode) if thick_m - bar.underside.thinnest().1 > 0.5e-3 => Ok((bar, mode.hz)),
        _ => Err(about(Refused::new(
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
