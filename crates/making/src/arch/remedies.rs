//! What would make an arch possible that is not: each way out found by solving, and designed to the end.
use super::{Arch, ArchTask, Design, design};
use crate::error::MakingError;
use bar_physics::{Bar, Underside};

/// One change that makes the targets reachable.
#[derive(Debug, Clone)]
pub struct Remedy {
    /// Stable name: `shorter`, `longer`, `thicker`, `thinner_blank`, `stiffer_wood`, `less_stiff_wood`,
    /// `thinner_centre`, `longer_arch`, `fewer_modes`.
    pub code: &'static str,
    /// What to do, in workshop words.
    pub action: String,
    /// How much, in metres; for wood the share by which E/ρ differs; for `fewer_modes` the modes left.
    pub amount: f64,
    /// The arch it leads to, by the full solid.
    pub arch: Arch,
}

/// A quantity of the task that can be changed by `amount`.
struct Lever {
    code: &'static str,
    /// First amount tried; the answer is a multiple of it.
    step: f64,
    /// Largest amount that makes sense.
    most: f64,
    apply: fn(&ArchTask, f64) -> Option<ArchTask>,
    say: fn(&ArchTask, f64) -> String,
}

/// Centre thickness below which nothing is ever advised, metres. Memory ("stop at 5").
const NEVER_THINNER_M: f64 = 0.005;

/// The changes that make `task` possible, the smallest share of what is sensible first.
///
/// Width is not among them: bending hardly depends on it.
///
/// # Errors
/// Whatever the solid refuses of the changed bars.
pub fn remedies(task: &ArchTask) -> Result<Vec<Remedy>, MakingError> {
    let mut out: Vec<(f64, Remedy)> = Vec::new();
    for lever in levers(task) {
        if let Some((amount, arch)) = least(task, &lever)? {
            let action = (lever.say)(task, amount);
            // A thinner centre costs the bar its strength: the last thing to allow.
            let last_resort = if lever.code == "thinner_centre" { 1.0 } else { 0.0 };
            out.push((last_resort + amount / lever.most, Remedy { code: lever.code, action, amount, arch }));
        }
    }
    out.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut ranked: Vec<Remedy> = out.into_iter().map(|(_, remedy)| remedy).collect();
    ranked.extend(fewer_modes(task)?);
    Ok(ranked)
}

/// The smallest multiple of the step that is possible: doubled until it is, then halved in between.
fn least(task: &ArchTask, lever: &Lever) -> Result<Option<(f64, Arch)>, MakingError> {
    let possible = |steps: u32| -> Result<Option<Arch>, MakingError> {
        let Some(changed) = (lever.apply)(task, lever.step * f64::from(steps)) else { return Ok(None) };
        match design(&changed) {
            Ok(Design::Found(arch)) => Ok(Some(arch)),
            Ok(Design::OutOfReach(_)) => Ok(None),
            // A change so large that the task makes no sense any more helps nobody.
            Err(error) if error.code == "arch_out_of_reach" || error.code == "out_of_range" => Ok(None),
            Err(error) => Err(error),
        }
    };
    let most = (lever.most / lever.step).floor() as u32;
    let (mut fails, mut works) = (0, 1);
    let mut arch = loop {
        if works > most {
            return Ok(None);
        }
        match possible(works)? {
            Some(arch) => break arch,
            None => (fails, works) = (works, 2 * works),
        }
    };
    while works - fails > 1 {
        let middle = fails.midpoint(works);
        match possible(middle)? {
            Some(found) => (works, arch) = (middle, found),
            None => fails = middle,
        }
    }
    Ok(Some((lever.step * f64::from(works), arch)))
}

fn levers(task: &ArchTask) -> Vec<Lever> {
    let length_m = task.blank.length_m();
    let (_, thickness_m) = task.blank.underside.thinnest();
    let step_m = if length_m > 0.25 { 0.002 } else { 0.001 };
    vec![
        Lever {
            code: "shorter",
            step: step_m,
            most: 0.15 * length_m,
            apply: |t, d| resized(t, -d, 0.0),
            say: |t, d| format!("make the bar {} mm shorter ({} mm)", mm(d), mm(t.blank.length_m() - d)),
        },
        Lever {
            code: "longer",
            step: step_m,
            most: 0.15 * length_m,
            apply: |t, d| resized(t, d, 0.0),
            say: |t, d| format!("take a bar {} mm longer ({} mm)", mm(d), mm(t.blank.length_m() + d)),
        },
        Lever {
            code: "thicker",
            step: 0.5e-3,
            most: 0.3 * thickness_m,
            apply: |t, d| resized(t, 0.0, d),
            say: |t, d| {
                format!("take a blank {} mm thicker ({} mm)", mm(d), mm(t.blank.underside.thickness_at(0.0) + d))
            },
        },
        Lever {
            code: "thinner_blank",
            step: 0.5e-3,
            most: 0.3 * thickness_m,
            apply: |t, d| resized(t, 0.0, -d),
            say: |t, d| {
                format!("plane the blank {} mm thinner ({} mm)", mm(d), mm(t.blank.underside.thickness_at(0.0) - d))
            },
        },
        Lever {
            code: "thinner_centre",
            step: 0.1e-3,
            most: 3e-3,
            apply: thinner_centre,
            say: |t, d| {
                format!(
                    "allow {} mm at the centre instead of {} mm",
                    mm(t.limits.min_thickness_m - d),
                    mm(t.limits.min_thickness_m)
                )
            },
        },
        Lever {
            code: "longer_arch",
            step: step_m,
            most: 0.08 * length_m,
            apply: longer_arch,
            say: |t, d| {
                format!(
                    "let the arch run {} mm nearer to the ends (full thickness over {} mm)",
                    mm(d),
                    mm(t.limits.end_m - d)
                )
            },
        },
        Lever {
            code: "stiffer_wood",
            step: 0.02,
            most: 0.4,
            apply: |t, d| Some(other_wood(t, 1.0 + d)),
            say: |t, d| wood_words(t, 1.0 + d),
        },
        Lever {
            code: "less_stiff_wood",
            step: 0.02,
            most: 0.4,
            apply: |t, d| Some(other_wood(t, 1.0 - d)),
            say: |t, d| wood_words(t, 1.0 - d),
        },
    ]
}

/// Millimetres without trailing zeros.
fn mm(length_m: f64) -> String {
    let text = format!("{:.1}", length_m * 1e3);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn wood_words(task: &ArchTask, factor: f64) -> String {
    let wood = &task.blank.wood;
    format!(
        "take wood {:.0} % {} for its weight (E/ρ {:.1} instead of {:.1} MN·m/kg)",
        100.0 * (factor - 1.0).abs(),
        if factor > 1.0 { "stiffer" } else { "less stiff" },
        factor * wood.e_l_pa / wood.density_kg_m3 * 1e-6,
        wood.e_l_pa / wood.density_kg_m3 * 1e-6
    )
}

fn resized(task: &ArchTask, longer_m: f64, thicker_m: f64) -> Option<ArchTask> {
    let old = &task.blank;
    let (_, thickness_m) = old.underside.thinnest();
    let flat = Underside::flat(old.length_m() + longer_m, thickness_m + thicker_m).ok()?;
    let stretch = flat.length_m() / old.length_m();
    let mut blank = Bar { underside: flat, ..old.clone() };
    blank.unevenness.x_m.iter_mut().for_each(|x| *x *= stretch);
    let mut out = ArchTask { blank, follow: None, ..task.clone() };
    out.limits.end_m *= stretch;
    Some(out)
}

fn thinner_centre(task: &ArchTask, thinner_m: f64) -> Option<ArchTask> {
    let mut out = task.clone();
    out.limits.min_thickness_m -= thinner_m;
    // Rounding must not forbid the last step.
    (out.limits.min_thickness_m > NEVER_THINNER_M - 1e-6).then_some(out)
}

fn longer_arch(task: &ArchTask, nearer_m: f64) -> Option<ArchTask> {
    let mut out = task.clone();
    out.limits.end_m -= nearer_m;
    (out.limits.end_m >= 0.0).then_some(out)
}

fn other_wood(task: &ArchTask, factor: f64) -> ArchTask {
    let mut out = task.clone();
    let wood = &mut out.blank.wood;
    for modulus in
        [&mut wood.e_l_pa, &mut wood.e_w_pa, &mut wood.e_h_pa, &mut wood.g_lw_pa, &mut wood.g_lh_pa, &mut wood.g_wh_pa]
    {
        *modulus *= factor;
    }
    out
}

/// The highest mode left untuned, if that is enough.
fn fewer_modes(task: &ArchTask) -> Result<Option<Remedy>, MakingError> {
    let mut fewer = task.clone();
    while fewer.ratios.len() > 1 {
        fewer.ratios.pop();
        fewer.headroom_cents.pop();
        if let Design::Found(arch) = design(&fewer)? {
            let left = fewer.ratios.len();
            let action = if left == 1 { "tune mode 1 only".to_owned() } else { format!("tune modes 1 to {left} only") };
            return Ok(Some(Remedy { code: "fewer_modes", action, amount: left as f64, arch }));
        }
    }
    Ok(None)
}
