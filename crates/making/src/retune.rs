//! An instrument that comes back: how far every bar went, and what each needs.
//!
//! Bars mostly come back sharp (drying, ageing): that is lowered. A flat one has taken up water, lost wood from its top, or is hurt: it is dried and looked at before
//! anything is cut (common practice, no source). A drilled bar's holes stay where they are: a trim moves its nodes.
use crate::MakingError;
use crate::climate::Coefficient;
use crate::fine::{Class, Stroke, stroke};
use crate::priors::USUAL_TRIM_M;
use bar_physics::units::cents;
use bar_physics::{Bar, Modes, NodeLine, Wanted};
use words::{figure, tell};

/// A bar that came back.
#[derive(Debug, Clone)]
pub struct BackBar {
    /// Its note.
    pub name: String,
    /// The note's pitch as it is wanted now.
    pub note_hz: f64,
    /// Tuned modes in cents above what is wanted now, at the reference's air; `None` for one that was not heard since it came back.
    pub now_cents: Vec<Option<f64>>,
    /// Standard uncertainty of the reading, in cents.
    pub sigma_cents: f64,
    /// The same as the certificate has it, against what was wanted then.
    pub certified_cents: Option<Vec<f64>>,
    /// Cents by which what is wanted was moved since.
    pub moved_cents: f64,
    /// Mass at the certificate and now, in grams.
    pub mass_g: (Option<f64>, Option<f64>),
    /// Taken off each end since it was drilled, in metres.
    pub trimmed_m: f64,
    /// The bar as it is believed to be, with its modes; without it no millimetres are told.
    pub solid: Option<(Bar, Modes)>,
    /// Thinnest wood allowed, in metres.
    pub least_m: f64,
    /// What the maker saw on it: a crack, a loose hole, a worn top. It is not cut before that is looked at.
    pub damage: Option<String>,
}

/// One mode to lower.
#[derive(Debug, Clone, PartialEq)]
pub struct Lowering {
    /// The mode, from 1.
    pub mode: usize,
    /// By so many cents in all.
    pub by_cents: f64,
    /// Where, and how deep in all, to first order; why not, where the bar is not known or there is no such place.
    pub stroke: Result<Stroke, String>,
}

/// What a trim does.
#[derive(Debug, Clone, PartialEq)]
pub struct Trimming {
    /// Off each end, in metres.
    pub each_end_m: f64,
    /// Tuned modes afterwards, in cents above what is wanted.
    pub then_cents: Vec<f64>,
    /// How far the holes, if they were on the nodes, then lie off them, in metres.
    pub holes_off_m: f64,
}

/// What a bar needs.
#[derive(Debug, Clone, PartialEq)]
pub enum Work {
    /// It is within tolerance.
    Leave,
    /// It is to be struck first: why.
    Strike(String),
    /// It is to be looked at first: what the maker saw.
    LookAt(String),
    /// Sharp: modes to lower, highest first.
    Lower(Vec<Lowering>),
    /// Flat: let it dry and strike it again; with how far it should rise, in cents and one standard uncertainty, if that is known.
    DryFirst(Option<(f64, f64)>),
    /// Flat and dry: saw the ends, then lower what is sharp.
    Trim(Trimming),
    /// No trim that its holes allow will do: why.
    Replace(String),
}

/// A bar and what it needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Triaged {
    /// How far each tuned mode went since the certificate, in cents, the climate taken out and what is wanted left as it was then.
    pub drift_cents: Vec<Option<f64>>,
    /// What it needs.
    pub work: Work,
    /// Minutes at the bench.
    pub minutes: f64,
}

/// How the set went as a whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetDrift {
    /// Median of mode 1 over all bars, in cents.
    pub median_cents: f64,
    /// Half of the bars lie within so much of it.
    pub half_within_cents: f64,
    /// How many bars.
    pub bars: usize,
}

/// Minutes at the bench a piece of work takes: guesses, no source; the maker's own are taken instead.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Minutes {
    /// Striking a bar.
    pub strike: f64,
    /// Taking a bar off and putting it back, with the strikes between.
    pub lower: f64,
    /// … and for each mode.
    pub each_mode: f64,
    /// Sawing both ends and lowering afterwards.
    pub trim: f64,
    /// Weighing and putting away.
    pub dry: f64,
    /// A new bar.
    pub replace: f64,
}

impl Default for Minutes {
    fn default() -> Self {
        Self { strike: 0.5, lower: 6.0, each_mode: 4.0, trim: 25.0, dry: 5.0, replace: 300.0 }
    }
}

/// A bar that gained this share of its mass took up water: twice what a scale that is good to half a gram shows on a treble bar.
const WATER_SHARE: f64 = 0.005;
/// Less off an end is no saw cut (a judgement).
const LEAST_TRIM_M: f64 = 0.0002;

/// What each bar needs, with `per_moisture` cents a percent of moisture.
pub fn triage(bars: &[BackBar], class: Class, per_moisture: Coefficient, minutes: &Minutes) -> Vec<Triaged> {
    bars.iter().map(|bar| triaged(bar, class, per_moisture, minutes)).collect()
}

/// One bar; a set is triaged bar by bar, on all cores if there are several.
pub fn triaged(bar: &BackBar, class: Class, per_moisture: Coefficient, minutes: &Minutes) -> Triaged {
    let tolerances: Vec<f64> = (1..=bar.now_cents.len()).map(|mode| class.tolerance_cents(bar.note_hz, mode)).collect();
    let work = work(bar, &tolerances, per_moisture);
    let minutes = minutes.strike
        + match &work {
            Work::Leave | Work::Strike(_) => 0.0,
            Work::LookAt(_) | Work::DryFirst(_) => minutes.dry,
            Work::Lower(modes) => minutes.lower + minutes.each_mode * modes.len() as f64,
            Work::Trim(_) => minutes.trim,
            Work::Replace(_) => minutes.replace,
        };
    Triaged { drift_cents: drift(bar), work, minutes }
}

fn drift(bar: &BackBar) -> Vec<Option<f64>> {
    let was = |i: usize| bar.certified_cents.as_ref().and_then(|cents| cents.get(i).copied());
    bar.now_cents.iter().enumerate().map(|(i, now)| Some((*now)? + bar.moved_cents - was(i)?)).collect()
}

fn work(bar: &BackBar, tolerances: &[f64], per_moisture: Coefficient) -> Work {
    if let Some(damage) = &bar.damage {
        return Work::LookAt(damage.clone());
    }
    if let Some(mode) = bar.now_cents.iter().position(Option::is_none) {
        return Work::Strike(tell!("strike-unheard", mode = mode + 1));
    }
    let now: Vec<f64> = bar.now_cents.iter().copied().flatten().collect();
    let unsure = |i: &usize| bar.sigma_cents > 0.5 * tolerances[*i];
    if let Some(i) = (0..now.len()).find(unsure) {
        return Work::Strike(tell!("strike-unsure", mode = i + 1, sigma = figure(bar.sigma_cents, 1)));
    }
    let flat = (0..now.len()).any(|i| now[i] < -tolerances[i]);
    if flat {
        return flat_work(bar, &now, per_moisture);
    }
    let sharp: Vec<usize> = (0..now.len()).rev().filter(|i| now[*i] > tolerances[*i]).collect();
    if sharp.is_empty() {
        return Work::Leave;
    }
    Work::Lower(sharp.into_iter().map(|i| lowering(bar, i, &now, tolerances)).collect())
}

fn lowering(bar: &BackBar, i: usize, now: &[f64], tolerances: &[f64]) -> Lowering {
    let above: Vec<f64> = now.iter().zip(tolerances).map(|(now, tolerance)| now + tolerance).collect();
    let stroke = match &bar.solid {
        Some((solid, modes)) => {
            stroke(solid, modes, i + 1, (now[i], &above, bar.least_m)).map_err(|error| error.message)
        }
        None => Err(tell!("shape-unknown")),
    };
    Lowering { mode: i + 1, by_cents: now[i], stroke }
}

fn flat_work(bar: &BackBar, now: &[f64], per_moisture: Coefficient) -> Work {
    // A pitch that is wanted higher than before makes every bar flat: that is no water.
    let fell = drift(bar).iter().flatten().any(|cents| *cents < 0.0)
        || (bar.certified_cents.is_none() && bar.moved_cents.abs() < 0.01);
    let gained = match bar.mass_g {
        (Some(was), Some(is)) => Some((is - was) / was),
        _ => None,
    };
    match gained {
        // A share of the mass is the same share of 1.08 times the dry mass, at 8 % moisture.
        Some(share) if share > WATER_SHARE => {
            let percent = 108.0 * share;
            Work::DryFirst(Some((-per_moisture.value * percent, per_moisture.sigma * percent)))
        }
        // Whether it took up water is not known: a cut does not come back, a week in dry air costs nothing.
        None if fell => Work::DryFirst(None),
        _ => match trimming(bar, now) {
            Ok(trim) => Work::Trim(trim),
            Err(error) => Work::Replace(error.message),
        },
    }
}

/// The least trim after which no tuned mode is flat.
fn trimming(bar: &BackBar, now: &[f64]) -> Result<Trimming, MakingError> {
    let none = |message: String| MakingError::new("no_trim", message, "replace it, or let it serve a lower note");
    let Some((solid, modes)) = &bar.solid else {
        return Err(none(tell!("shape-unknown-trim")));
    };
    let most_m = USUAL_TRIM_M - bar.trimmed_m;
    let per_m: Vec<f64> =
        modes.bending.iter().take(now.len()).map(|mode| mode.end_trim_cents_per_m.iter().sum()).collect();
    let need = |now: &[f64]| now.iter().zip(&per_m).map(|(now, per_m)| -now / per_m).fold(0.0, f64::max);
    let mut each_end_m = need(now).max(LEAST_TRIM_M);
    for _ in 0..3 {
        if each_end_m > most_m {
            break;
        }
        let (then_cents, trimmed) = trimmed(solid, modes, now, each_end_m)?;
        let more_m = need(&then_cents);
        // A hundredth of a millimetre is finer than any end is sawn.
        if more_m < 1e-5 {
            let holes_off_m = holes_off(&modes.bending[0].node_lines, &trimmed.bending[0].node_lines, each_end_m);
            return Ok(Trimming { each_end_m, then_cents, holes_off_m });
        }
        each_end_m += 1.05 * more_m;
    }
    Err(none(tell!(
        "trim-too-much",
        each = figure(each_end_m * 1e3, 1),
        left = figure(most_m.max(0.0) * 1e3, 1),
        usual = figure(USUAL_TRIM_M * 1e3, 0),
    )))
}

fn trimmed(bar: &Bar, before: &Modes, now: &[f64], each_end_m: f64) -> Result<(Vec<f64>, Modes), MakingError> {
    let underside = bar.underside.trimmed(each_end_m, each_end_m)?;
    let shorter = Bar { underside, ..bar.clone() };
    let after = bar_physics::solid::modes(&shorter, Wanted { bending: now.len(), torsion: 0, sideways: 0 })?;
    let then = now.iter().zip(before.bending.iter().zip(&after.bending));
    Ok((then.map(|(now, (before, after))| now + cents(after.hz, before.hz)).collect(), after))
}

/// How far holes on the old node lines lie off the new ones at most, x counted from the new left end.
fn holes_off(before: &[NodeLine], after: &[NodeLine], each_end_m: f64) -> f64 {
    before.iter().zip(after).map(|(was, is)| (was.centre_m - each_end_m - is.centre_m).abs()).fold(0.0, f64::max)
}

/// How the set went as a whole; `None` with fewer than three bars that can be compared.
pub fn set_drift(triaged: &[Triaged]) -> Option<SetDrift> {
    let mut first: Vec<f64> = triaged.iter().filter_map(|bar| bar.drift_cents.first().copied().flatten()).collect();
    if first.len() < 3 {
        return None;
    }
    let median_cents = median(&mut first);
    let mut off: Vec<f64> = first.iter().map(|cents| (cents - median_cents).abs()).collect();
    Some(SetDrift { median_cents, half_within_cents: median(&mut off), bars: first.len() })
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    let last = values.len() - 1;
    0.5 * (values[last / 2] + values[last.div_ceil(2)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::climate::Coefficients;
    use crate::fine::Class::Working;
    use crate::schedule::{Kind, Specification, plan_bar};
    use bar_physics::{Grain, Wood};

    /// A C4 of the trade's size with an arch of our own, in tune.
    fn c4() -> BackBar {
        let wood = Wood::generic_hardwood(1000.0, 20e9);
        let specification = Specification::proposal(Kind::Marimba, 60, 72, 442.0, wood.clone());
        let wanted = specification.bars().unwrap().remove(0);
        let made = plan_bar(&specification, &wanted).made.unwrap();
        let solid = Bar::new(wanted.width_m, made.arch.underside, wood, Grain::default());
        let modes = bar_physics::solid::modes(&solid, Wanted { bending: 3, torsion: 0, sideways: 0 }).unwrap();
        BackBar {
            name: wanted.name,
            note_hz: wanted.hz,
            now_cents: vec![Some(0.0), Some(1.0), Some(-3.0)],
            sigma_cents: 0.3,
            certified_cents: Some(vec![0.5, 1.0, 2.0]),
            moved_cents: 0.0,
            mass_g: (Some(300.0), Some(299.5)),
            trimmed_m: 0.0,
            solid: Some((solid, modes)),
            least_m: 0.005,
            damage: None,
        }
    }

    fn of(bar: &BackBar) -> Triaged {
        triaged(bar, Working, Coefficients::generic().per_moisture, &Minutes::default())
    }

    fn heard(bar: BackBar, cents: [f64; 3]) -> BackBar {
        BackBar { now_cents: cents.map(Some).to_vec(), ..bar }
    }

    #[test]
    fn a_bar_within_tolerance_is_left_and_its_drift_told() {
        let told = of(&c4());
        assert_eq!(told.work, Work::Leave);
        assert_eq!(told.drift_cents, [Some(-0.5), Some(0.0), Some(-5.0)]);
        // With the pitch wanted 7.85 cents higher the bar went nowhere, though it reads flat.
        let moved = of(&BackBar { moved_cents: 7.85, ..heard(c4(), [-7.35, -6.85, -5.85]) });
        assert!((moved.drift_cents[0].unwrap() - 0.0).abs() < 1e-9, "{moved:?}");
        assert!(matches!(moved.work, Work::Trim(_)), "{moved:?}");
    }

    #[test]
    fn sharp_bars_are_lowered_highest_mode_first() {
        let told = of(&heard(c4(), [9.0, 8.0, 4.0]));
        let Work::Lower(modes) = &told.work else { panic!("{told:?}") };
        assert_eq!(modes.iter().map(|lowering| lowering.mode).collect::<Vec<_>>(), [2, 1]);
        // "0.1 mm all over the arch is −22 cents at C4" (TRADE 1.8): one strip takes some tenths for 9 cents.
        let depth_m = modes[1].stroke.as_ref().unwrap().depth_m;
        assert!((0.02e-3..0.4e-3).contains(&depth_m), "{told:?}");
        assert!(told.minutes > of(&c4()).minutes);
    }

    #[test]
    fn a_flat_bar_is_dried_before_it_is_cut() {
        let flat = heard(c4(), [-9.0, -6.0, -4.0]);
        let heavier = BackBar { mass_g: (Some(300.0), Some(303.0)), ..flat.clone() };
        let Work::DryFirst(Some((rise, sigma))) = of(&heavier).work else { panic!("{heavier:?}") };
        // One percent of mass is 1.08 of moisture: 15.5 cents a percent.
        assert!((rise - 16.7).abs() < 0.1 && sigma > 4.0, "{rise} {sigma}");
        let unweighed = BackBar { mass_g: (None, None), ..flat.clone() };
        assert_eq!(of(&unweighed).work, Work::DryFirst(None));
        let Work::Trim(trim) = of(&flat).work else { panic!("{:?}", of(&flat)) };
        // 16 cents a millimetre off both ends at C4 (TRADE 1.15, by a beam): 9 cents take half a millimetre and more.
        assert!((0.4e-3..0.9e-3).contains(&trim.each_end_m), "{trim:?}");
        assert!(trim.then_cents.iter().all(|cents| *cents > -0.2) && trim.holes_off_m < 1e-3, "{trim:?}");
    }

    #[test]
    fn a_trim_past_what_holes_allow_is_a_new_bar() {
        let lost = of(&heard(c4(), [-120.0, -90.0, -60.0]));
        assert!(matches!(&lost.work, Work::Replace(why) if why.contains("off each end")), "{lost:?}");
        let trimmed = of(&BackBar { trimmed_m: 3.9e-3, ..heard(c4(), [-9.0, -6.0, -4.0]) });
        assert!(matches!(&trimmed.work, Work::Replace(_)), "{trimmed:?}");
    }

    #[test]
    fn hurt_unheard_and_unsure_bars_are_not_judged() {
        assert!(matches!(of(&BackBar { damage: Some("crack at the hole".to_owned()), ..c4() }).work, Work::LookAt(_)));
        let deaf = BackBar { now_cents: vec![Some(9.0), None, Some(1.0)], ..c4() };
        assert!(matches!(of(&deaf).work, Work::Strike(_)));
        assert!(matches!(of(&BackBar { sigma_cents: 1.5, ..c4() }).work, Work::Strike(_)));
    }

    #[test]
    fn the_set_as_a_whole_is_a_median() {
        let sets: Vec<Triaged> = [3.0, 5.0, 40.0, 4.0, 6.0].iter().map(|c| of(&heard(c4(), [*c, 0.0, 0.0]))).collect();
        let told = set_drift(&sets).unwrap();
        // Certified at 0.5: 2.5, 3.5, 4.5, 5.5 and one outlier that moves nothing.
        assert!(
            (told.median_cents - 4.5).abs() < 1e-9 && (told.half_within_cents - 1.0).abs() < 1e-9 && told.bars == 5
        );
        assert!(set_drift(&sets[..2]).is_none());
    }
}
