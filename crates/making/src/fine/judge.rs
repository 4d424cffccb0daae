//! Every bar of a row before its last strokes.
use super::class::Class;

/// A bar as it was last heard.
#[derive(Debug, Clone, PartialEq)]
pub struct FineBar {
    /// Its note.
    pub name: String,
    /// The note's pitch.
    pub note_hz: f64,
    /// Cents of each tuned mode above its target, brought to the reference's air; `None` for one that was not heard.
    pub cents: Vec<Option<f64>>,
    /// Standard uncertainty of the reading alone: what the air does is common to all bars.
    pub sigma_cents: f64,
    /// Whether it was heard since wood was last taken off.
    pub heard_after_work: bool,
    /// Minutes since wood was last taken off, if ever.
    pub worked_min: Option<f64>,
    /// Minutes since wood was last taken off until it was heard, if it was heard since.
    pub heard_after_min: Option<f64>,
    /// What must be done first, if anything: drilling, the finish.
    pub not_yet: Option<String>,
}

/// What to do with a bar.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// Something comes first.
    NotYet(String),
    /// It is warm: so many minutes more.
    Cool(f64),
    /// Strike it: not heard since the last cut, a mode missing, or not surely enough.
    Strike(String),
    /// Good enough: stop.
    Good,
    /// Lower one mode (from 1).
    Lower {
        /// The mode, the highest tuned one first.
        mode: usize,
        /// By so many cents at the most: half of what is left.
        by_cents: f64,
        /// Stop when it reads this.
        stop_cents: f64,
    },
    /// These modes (from 1) are flat beyond tolerance: dry it, then see what a trim does.
    Flat(Vec<usize>),
}

/// A bar with its verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// What to do.
    pub verdict: Verdict,
    /// Tolerance of each tuned mode.
    pub tolerances: Vec<f64>,
    /// How far mode 1 stands above the mean of its neighbours, both heard, where that is more than is good.
    pub step_cents: Option<f64>,
    /// Why to look at it again tomorrow.
    pub tomorrow: Option<String>,
}

/// Minutes a sanded bar rests before it is struck (common practice, no source: 10 or more).
const REST_MIN: f64 = 10.0;
/// Heard sooner than this after a cut, a bar may have been warm still: three times a bar's half hour to a third.
const SURELY_COOL_MIN: f64 = 90.0;
/// A bar cut within so many minutes is looked at again the next day ("overnight for the last look": common practice, no source).
const OVERNIGHT_MIN: f64 = 12.0 * 60.0;
/// What is left is halved each bout, but no stroke is smaller than that in cents.
const SMALLEST_CENTS: f64 = 0.5;

/// Every bar of a row, bass to treble.
pub fn judge(bars: &[FineBar], class: Class) -> Vec<Judged> {
    bars.iter()
        .enumerate()
        .map(|(i, bar)| {
            let tolerances: Vec<f64> =
                (1..=bar.cents.len()).map(|mode| class.tolerance_cents(bar.note_hz, mode)).collect();
            let verdict = verdict(bar, &tolerances);
            let tomorrow = if verdict == Verdict::Good { tomorrow(bar) } else { None };
            Judged { step_cents: step(bars, i, class), verdict, tolerances, tomorrow }
        })
        .collect()
}

fn verdict(bar: &FineBar, tolerances: &[f64]) -> Verdict {
    if let Some(first) = &bar.not_yet {
        return Verdict::NotYet(first.clone());
    }
    if let (false, Some(minutes)) = (bar.heard_after_work, bar.worked_min)
        && minutes < REST_MIN
    {
        return Verdict::Cool(REST_MIN - minutes);
    }
    if !bar.heard_after_work {
        return Verdict::Strike("not heard since the last cut".to_owned());
    }
    if let Some(mode) = bar.cents.iter().position(Option::is_none) {
        return Verdict::Strike(format!("mode {} was not heard", mode + 1));
    }
    let cents: Vec<f64> = bar.cents.iter().copied().flatten().collect();
    let flat: Vec<usize> = (0..cents.len()).filter(|i| cents[*i] < -tolerances[*i]).map(|i| i + 1).collect();
    if !flat.is_empty() {
        return Verdict::Flat(flat);
    }
    let sharp = (0..cents.len()).rev().find(|i| cents[*i] > tolerances[*i]);
    // A reading that is not twice as sure as the tolerance it is held against says nothing about it.
    if let Some(i) = (0..cents.len()).find(|i| bar.sigma_cents > 0.5 * tolerances[*i]) {
        return Verdict::Strike(format!(
            "mode {} is known to ±{:.1} cents only: three even blows",
            i + 1,
            bar.sigma_cents
        ));
    }
    match sharp {
        // Modes 3, 2, 1: mode 1 moves with the others' cuts as well, so it comes last.
        Some(i) => {
            let by_cents = (0.5 * cents[i]).max(SMALLEST_CENTS);
            Verdict::Lower { mode: i + 1, by_cents, stop_cents: cents[i] - by_cents }
        }
        None => Verdict::Good,
    }
}

fn tomorrow(bar: &FineBar) -> Option<String> {
    if bar.heard_after_min.is_some_and(|minutes| minutes < SURELY_COOL_MIN) {
        return Some("heard soon after its last cut: it may rise as it cools".to_owned());
    }
    bar.worked_min.filter(|minutes| *minutes < OVERNIGHT_MIN).map(|_| "cut within the last half day".to_owned())
}

fn step(bars: &[FineBar], i: usize, class: Class) -> Option<f64> {
    let first = |bar: &FineBar| bar.cents.first().copied().flatten().filter(|_| bar.heard_after_work);
    let own = first(&bars[i])?;
    let beside: Vec<f64> =
        [i.checked_sub(1), Some(i + 1)].into_iter().flatten().filter_map(|j| first(bars.get(j)?)).collect();
    if beside.is_empty() {
        return None;
    }
    let step = own - beside.iter().sum::<f64>() / beside.len() as f64;
    (step.abs() > class.step_cents(bars[i].note_hz)).then_some(step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn bar(cents: &[f64]) -> FineBar {
        FineBar {
            name: "C4".to_owned(),
            note_hz: 261.6,
            cents: cents.iter().copied().map(Some).collect(),
            sigma_cents: 0.3,
            heard_after_work: true,
            worked_min: Some(3000.0),
            heard_after_min: Some(2000.0),
            not_yet: None,
        }
    }

    fn one(bar: FineBar) -> Verdict {
        judge(&[bar], Class::Concert)[0].verdict.clone()
    }

    #[test]
    fn what_is_good_enough_is_told_to_be_left_alone() {
        assert_eq!(one(bar(&[0.8, -2.0, 4.9])), Verdict::Good);
        // The same bar, one cent higher, is good for a working instrument.
        assert_eq!(judge(&[bar(&[1.8, -2.0, 4.9])], Class::Working)[0].verdict, Verdict::Good);
        assert_eq!(one(bar(&[1.8, -2.0, 4.9])), Verdict::Lower { mode: 1, by_cents: 0.9, stop_cents: 0.9 });
    }

    #[test]
    fn the_highest_mode_comes_first_and_flat_ones_stop_everything() {
        assert_eq!(one(bar(&[6.0, 8.0, 9.0])), Verdict::Lower { mode: 3, by_cents: 4.5, stop_cents: 4.5 });
        assert_eq!(one(bar(&[6.0, -8.0, 9.0])), Verdict::Flat(vec![2]));
    }

    #[test]
    fn warm_unheard_and_unsure_bars_are_not_judged() {
        let worked = FineBar { heard_after_work: false, worked_min: Some(4.0), ..bar(&[1.0]) };
        assert_eq!(one(worked.clone()), Verdict::Cool(6.0));
        assert!(matches!(one(FineBar { worked_min: Some(40.0), ..worked }), Verdict::Strike(_)));
        assert!(matches!(one(FineBar { sigma_cents: 0.8, ..bar(&[0.2]) }), Verdict::Strike(_)));
        assert!(matches!(one(FineBar { cents: vec![Some(0.0), None], ..bar(&[]) }), Verdict::Strike(_)));
        let undrilled = FineBar { not_yet: Some("drill it first".to_owned()), ..bar(&[9.0]) };
        assert!(matches!(one(undrilled), Verdict::NotYet(_)));
    }

    #[test]
    fn neighbours_that_step_and_bars_for_tomorrow_are_named() {
        let row = [bar(&[0.9]), bar(&[-0.9]), bar(&[0.9])];
        let judged = judge(&row, Class::Concert);
        assert!(judged.iter().all(|judged| judged.verdict == Verdict::Good));
        assert!((judged[1].step_cents.unwrap() + 1.8).abs() < 1e-12, "{judged:?}");
        let fresh = FineBar { worked_min: Some(300.0), heard_after_min: Some(200.0), ..bar(&[0.0]) };
        assert!(
            judge(std::slice::from_ref(&fresh), Class::Concert)[0].tomorrow.as_deref().unwrap().contains("half day")
        );
        let warm = FineBar { heard_after_min: Some(15.0), ..fresh };
        assert!(judge(&[warm], Class::Concert)[0].tomorrow.as_deref().unwrap().contains("cools"));
        assert!(judged[0].tomorrow.is_none());
    }

    proptest! {
        /// Never more than half of what is left, never below the target, and nothing is cut where a mode is flat.
        #[test]
        fn no_stroke_takes_more_than_half(cents in prop::collection::vec(-20.0_f64..40.0, 1..4)) {
            match one(bar(&cents)) {
                Verdict::Lower { mode, by_cents, stop_cents } => {
                    prop_assert!(by_cents <= (0.5 * cents[mode - 1]).max(0.5) && stop_cents > 0.0);
                    prop_assert!(cents.iter().enumerate().all(|(i, c)| *c >= -Class::Concert.tolerance_cents(261.6, i + 1)));
                }
                Verdict::Flat(modes) => prop_assert!(modes.iter().all(|mode| cents[mode - 1] < 0.0)),
                other => prop_assert_eq!(other, Verdict::Good),
            }
        }
    }
}
