//! What it costs to make a bar of a blank, and why that may be impossible.
use super::Task;

/// A blank may be this much thinner than planned: the arch is measured from the top, and the centre changes by 0.07 mm (TRADE 1.7, computed).
const THINNER_M: f64 = 1.0e-3;
/// How the needed centre falls as stiffness over density rises: 7.7 mm at 12 GPa and 6.8 mm at 24 GPa of one density at C3 (TRADE 1.3,
/// computed by the solid): ln(7.7/6.8)/ln 2.
const CENTRE_POWER: f64 = 0.18;
/// A tenth of the length cut away counts as much as a step of 10 % in stiffness over density to the next bar, or of a third in ring, or two of
/// colour (judgement, no source).
const LENGTH: f64 = 10.0;
const WIDTH: f64 = 4.0;
const STIFFNESS: f64 = 10.0;
const RING: f64 = 3.0;
const COLOUR: f64 = 0.5;
/// A blank of which stiffness or ring is not known costs a little: a known one is the safer choice.
const UNKNOWN: f64 = 0.2;
/// Neighbours on each side whose mean is told.
const REACH: usize = 3;

/// Why a blank cannot become a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Unfit {
    Short { by_m: f64 },
    Narrow { by_m: f64 },
    Thin { by_m: f64 },
    Centre { needs_m: f64, least_m: f64 },
    Forbidden,
    Damaged,
}

impl Unfit {
    pub(super) fn words(&self) -> String {
        match self {
            Self::Short { by_m } => format!("{:.1} mm too short", by_m * 1e3),
            Self::Narrow { by_m } => format!("{:.1} mm too narrow", by_m * 1e3),
            Self::Thin { by_m } => format!("{:.1} mm too thin", by_m * 1e3),
            Self::Centre { needs_m, least_m } => {
                format!(
                    "its wood asks for a centre of {:.1} mm, under the {:.1} mm allowed",
                    needs_m * 1e3,
                    least_m * 1e3
                )
            }
            Self::Forbidden => "that was ruled out".to_owned(),
            Self::Damaged => "the plan's own bar cannot be made there".to_owned(),
        }
    }
}

/// Costs, with what the neighbours are like as far as that is known.
#[derive(Debug, Clone)]
pub(super) struct Costs<'t> {
    task: &'t Task,
    /// Mean stiffness over density and ring of each place's neighbours.
    near: Vec<[Option<f64>; 2]>,
}

impl<'t> Costs<'t> {
    pub(super) fn new(task: &'t Task) -> Self {
        Self { task, near: vec![[None; 2]; task.places.len()] }
    }

    /// Why this blank cannot become this bar; `None` if it can.
    pub(super) fn unfit(&self, place: usize, blank: usize) -> Option<Unfit> {
        let (wanted, blank) = (&self.task.places[place], &self.task.blanks[blank]);
        let same = |(note, label): &&(String, String)| *note == wanted.name && *label == blank.label;
        if self.task.forbidden.iter().find(same).is_some() {
            return Some(Unfit::Forbidden);
        }
        let by = [0, 1, 2].map(|i| wanted.size_m[i] - blank.size_m[i]);
        // A hair of rounding is no lack of wood.
        if by[0] > 1e-6 {
            return Some(Unfit::Short { by_m: by[0] });
        }
        if by[1] > 1e-6 {
            return Some(Unfit::Narrow { by_m: by[1] });
        }
        if by[2] > THINNER_M + 1e-6 {
            return Some(Unfit::Thin { by_m: by[2] });
        }
        let Some(centre_m) = wanted.centre_m else { return Some(Unfit::Damaged) };
        let needs_m = self.needs_m(centre_m, blank.e_over_rho);
        let least_m = self.task.min_thickness_m;
        (needs_m < least_m).then_some(Unfit::Centre { needs_m, least_m })
    }

    /// The centre that the arch will have in this wood.
    fn needs_m(&self, centre_m: f64, e_over_rho: Option<f64>) -> f64 {
        e_over_rho.map_or(centre_m, |own| centre_m * (self.task.plan_e_over_rho / own).powf(CENTRE_POWER))
    }

    /// What is lost when this blank becomes this bar; `None` if it cannot be.
    pub(super) fn cost(&self, place: usize, blank: usize) -> Option<f64> {
        if self.unfit(place, blank).is_some() {
            return None;
        }
        let (wanted, blank) = (&self.task.places[place], &self.task.blanks[blank]);
        let over = |i: usize| (blank.size_m[i] / wanted.size_m[i] - 1.0).max(0.0);
        let unknown = [blank.e_over_rho, blank.quality].iter().filter(|value| value.is_none()).count();
        Some(LENGTH * over(0) + WIDTH * over(1) + UNKNOWN * unknown as f64)
    }

    /// How unlike two blanks are that stand side by side.
    pub(super) fn between(&self, one: usize, other: usize) -> f64 {
        let (one, other) = (&self.task.blanks[one], &self.task.blanks[other]);
        let off = |a: Option<f64>, b: Option<f64>| a.zip(b).map_or(0.0, |(a, b)| (a / b).ln().abs());
        let colour = one.colour.as_ref().zip(other.colour.as_ref()).is_some_and(|(a, b)| a != b);
        STIFFNESS * off(one.e_over_rho, other.e_over_rho)
            + RING * off(one.quality, other.quality)
            + if colour { COLOUR } else { 0.0 }
    }

    /// Takes the neighbours' values from a matching, to tell how even it is.
    pub(super) fn follow(&mut self, chosen: &[Option<usize>]) {
        let blanks = &self.task.blanks;
        let near = |place: usize| {
            let span = place.saturating_sub(REACH)..(place + REACH + 1).min(chosen.len());
            let near: Vec<_> = span.filter(|i| *i != place).filter_map(|i| Some(&blanks[chosen[i]?])).collect();
            let mean =
                |values: Vec<f64>| (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64);
            [
                mean(near.iter().filter_map(|blank| blank.e_over_rho).collect()),
                mean(near.iter().filter_map(|blank| blank.quality).collect()),
            ]
        };
        self.near = (0..chosen.len()).map(near).collect();
    }

    /// How far a blank is from its neighbours: stiffness over density and ring, as shares.
    pub(super) fn beside(&self, place: usize, blank: usize) -> [Option<f64>; 2] {
        let (own, [e_over_rho, quality]) = (&self.task.blanks[blank], self.near[place]);
        let share = |own: Option<f64>, near: Option<f64>| Some(own? / near? - 1.0);
        [share(own.e_over_rho, e_over_rho), share(own.quality, quality)]
    }
}
