//! What the maker marks on the wood: the arch with its stations, what it will sound like, and the doubts.
use super::{Arch, ArchTask, Design, OutOfReach, design, remedies, traced};
use crate::belief::{Belief, ExpectedMode, believe};
use crate::error::MakingError;
use crate::torsion::{self, Nearness, TorsionReport};
use crate::{Event, Job};
use bar_physics::units::cents;
use bar_physics::{Bar, Modes, Underside, Wanted, modes_that_stand_out};

/// Below this the centre is called thin, metres. Common practice from memory ("warn at 6.5").
pub const THIN_M: f64 = 6.5e-3;
/// A hollow tighter than this is not reached by a usual drum, metres. Memory: drums of 50 mm.
const DRUM_RADIUS_M: f64 = 0.025;
/// How well a drawn arch is met before it is calipered, 1 σ, metres: what tells apart "as drawn". Memory.
const DRAWN_SIGMA_M: f64 = 0.05e-3;

/// Wishes beyond what the bar file holds.
#[derive(Debug, Clone)]
pub struct ArchWishes {
    /// Headroom of each tuned mode; the job's for all if `None`.
    pub headroom_cents: Option<Vec<f64>>,
    /// Full thickness at each end; the usual if `None`.
    pub end_m: Option<f64>,
    /// Distance between stations.
    pub station_m: f64,
    /// How near torsion may come to a tuned mode.
    pub nearness: Nearness,
    /// A neighbour's bar as it is now, and the pitch of its mode 1.
    pub neighbour: Option<(Bar, f64)>,
}

impl Default for ArchWishes {
    fn default() -> Self {
        Self { headroom_cents: None, end_m: None, station_m: 0.02, nearness: Nearness::default(), neighbour: None }
    }
}

/// The answer to "how do I draw the arch?".
#[derive(Debug, Clone)]
pub struct ArchAdvice {
    /// What it was designed from.
    pub task: ArchTask,
    /// Whether the arch reaches its targets; if not, it is the nearest one and not to be sawn.
    pub feasible: bool,
    /// The arch.
    pub arch: Arch,
    /// (distance from the centre, wood left), centre first; every station and the shoulder.
    pub stations: Vec<(f64, f64)>,
    /// Modes of the bar with this arch.
    pub modes: Modes,
    /// The same with the doubt of the wood, as far as they were computed with it.
    pub expected: Vec<ExpectedMode>,
    /// Torsion and sideways modes near tuned ones, in the arch and on the way to it.
    pub torsion: TorsionReport,
    /// Why, and what to know, in short sentences.
    pub reasons: Vec<String>,
    /// What would make it possible, if it is not.
    pub options: Vec<remedies::Remedy>,
    /// Short cautions.
    pub cautions: Vec<String>,
}

/// The arch for the bar of `job`: its blank as it was measured, of the wood that the log lets us believe.
///
/// # Errors
/// As [`design`], and if the log cannot be believed.
pub fn arch(job: &Job, wishes: &ArchWishes) -> Result<ArchAdvice, MakingError> {
    let belief = believe(job)?;
    let task = task(job, &belief, wishes)?;
    let design = design(&task)?;
    advise(job, &belief, task, design, wishes)
}

/// What is told of a design: stations, modes, torsion, doubts, and ways out where there is no arch.
///
/// # Errors
/// Whatever the solid refuses.
pub fn advise(
    job: &Job,
    belief: &Belief,
    task: ArchTask,
    design: Design,
    wishes: &ArchWishes,
) -> Result<ArchAdvice, MakingError> {
    let (feasible, arch, why) = match design {
        Design::Found(arch) => (true, arch, None),
        Design::OutOfReach(out) => {
            let OutOfReach { nearest, error } = *out;
            (false, nearest, Some(error.message))
        }
    };
    let bar = Bar { underside: arch.underside.clone(), ..task.blank.clone() };
    let wanted = Wanted { bending: task.ratios.len().max(3), ..Wanted::default() };
    let mut advice = ArchAdvice {
        stations: stations(&arch, wishes.station_m),
        expected: expected(belief, &arch, task.ratios.len()),
        modes: modes_that_stand_out(&bar, wanted)?,
        torsion: if feasible {
            torsion::along_the_cut(&task, &arch, wishes.nearness)?
        } else {
            TorsionReport::default()
        },
        reasons: why.into_iter().collect(),
        options: if feasible { Vec::new() } else { remedies::remedies(&task)? },
        cautions: Vec::new(),
        feasible,
        arch,
        task,
    };
    advice.tell(belief, job);
    Ok(advice)
}

/// The task of a bar's job: believed wood, flat underside at the thickness measured.
///
/// # Errors
/// `out_of_range` naming the wish that cannot be met.
pub fn task(job: &Job, belief: &Belief, wishes: &ArchWishes) -> Result<ArchTask, MakingError> {
    let flat = Underside::flat(belief.length_m(), job.thickness_m)?;
    let blank = Bar { underside: flat, ..belief.bar()? };
    let mut task = ArchTask::usual(&blank, job.note_hz, &job.targets, job.limits);
    if let Some(headroom_cents) = &wishes.headroom_cents {
        task.headroom_cents = headroom_cents.clone();
    }
    if let Some(end_m) = wishes.end_m {
        task.limits.end_m = end_m;
    }
    task.check()?;
    task.follow = wishes.neighbour.as_ref().and_then(|(bar, hz)| traced(bar, *hz, &task));
    Ok(task)
}

/// Stations from the centre outward, the shoulder last.
fn stations(arch: &Arch, step_m: f64) -> Vec<(f64, f64)> {
    let half_m = 0.5 * arch.underside.length_m();
    let count = (arch.half_length_m / step_m.max(1e-3)).floor() as usize;
    let mut out: Vec<f64> = (0..=count).map(|k| step_m * k as f64).collect();
    // A shoulder within 2 mm of a station is that station.
    if out.last().is_none_or(|u| arch.half_length_m - u > 2e-3) {
        out.push(arch.half_length_m);
    }
    out.into_iter().map(|u| (u, arch.underside.thickness_at(half_m + u))).collect()
}

/// The tuned modes of the arch with the doubt of the wood; empty where the log already holds a deeper shape.
fn expected(belief: &Belief, arch: &Arch, tuned: usize) -> Vec<ExpectedMode> {
    let mut later = belief.clone();
    let drawn = Event::Shaped { underside: arch.underside.clone(), sigma_m: DRAWN_SIGMA_M };
    let taken = later.take(&drawn).and_then(|()| later.expected(tuned));
    taken.unwrap_or_default()
}

impl ArchAdvice {
    fn tell(&mut self, belief: &Belief, job: &Job) {
        let arch = &self.arch;
        let mut say = |text: String| self.reasons.push(text);
        if self.task.follow.is_some() {
            say("It stays as near as the pitch allows to the neighbour's arch, scaled to this bar".to_owned());
        }
        if self.feasible && arch.centre_m < THIN_M {
            let mm = arch.centre_m * 1e3;
            say(format!("The centre is thin: {mm:.1} mm. Many makers stop at 6.5 mm"));
        }
        if self.feasible && arch.at_node_m < self.task.limits.hole_wood_m - 1e-5 {
            say(format!(
                "At the node line of mode 1 only {:.1} mm are left, {:.1} mm are wanted for the cord hole",
                arch.at_node_m * 1e3,
                self.task.limits.hole_wood_m * 1e3
            ));
        }
        if self.feasible && arch.tightest_radius_m < DRUM_RADIUS_M {
            say(format!(
                "Its tightest curve has a radius of {:.0} mm: a drum of 50 mm will not reach into it",
                arch.tightest_radius_m * 1e3
            ));
        }
        if let Some(depth_m) = deeper_than(belief, arch) {
            say(format!(
                "The bar lies up to {:.1} mm below this line already: this is the arch its wood would have wanted",
                depth_m * 1e3
            ));
        }
        if !job.log.iter().any(|event| matches!(event, Event::Heard(_))) && job.wood.is_none() {
            say("The blank was not struck: its stiffness is a guess. Strike it and enter the reading before you saw"
                .to_owned());
        }
        self.reasons.extend(self.task.ratios.get(2).and_then(|ratio| third_mode(*ratio)));
        self.reasons.extend(self.torsion.warnings.iter().map(|w| w.text.clone()));
        self.cautions.push("Measure from the top face, never from the underside of the blank".to_owned());
        self.cautions
            .push("Print or draw it full size and check the length with a rule before you mark the wood".to_owned());
    }
}

/// How far the believed shape lies below the arch, if by more than half a millimetre anywhere.
fn deeper_than(belief: &Belief, arch: &Arch) -> Option<f64> {
    let below = |x: &f64| arch.underside.thickness_at(*x) - belief.thickness_at(*x).0;
    let deepest_m = belief.hats.places().iter().map(below).fold(0.0, f64::max);
    (deepest_m > 0.5e-3).then_some(deepest_m)
}

/// What a ratio near ten means: 1 : 10 is three octaves and a pure third, 13.7 cents below the tempered one.
fn third_mode(ratio: f64) -> Option<String> {
    // 3 octaves and 4 semitones; both to half a cent.
    let tempered = (40.0_f64 / 12.0).exp2();
    let is = |wanted: f64| cents(ratio, wanted).abs() < 0.5;
    if is(10.0) {
        return Some(
            "Mode 3 is aimed at ×10.00, three octaves and a pure third: 13.7 cents below a tempered one".to_owned(),
        );
    }
    is(tempered)
        .then(|| "Mode 3 is aimed at ×10.08, three octaves and a tempered third: 13.7 cents above ×10.00".to_owned())
}
